"""Speech: recognition, timed text that staff already have, and names heard wrong."""

from annotator.speech.recognise import RECOGNISER_VERSION, recognise
from annotator.speech.weights import find_weights

__all__ = ["RECOGNISER_VERSION", "find_weights", "recognise"]
