"""Speech: recognition, timed text that staff already have, and names heard wrong."""

from annotator.speech.names import apply_names, propose_names, read_names
from annotator.speech.recognise import RECOGNISER_VERSION, AudioPiece, recognise
from annotator.speech.timedtext import TimedText, read_timed_text, words_from_json, words_to_json
from annotator.speech.webvtt import TextCue
from annotator.speech.weights import find_weights, weights_id

__all__ = [
    "RECOGNISER_VERSION",
    "AudioPiece",
    "TextCue",
    "TimedText",
    "apply_names",
    "find_weights",
    "propose_names",
    "read_names",
    "read_timed_text",
    "recognise",
    "weights_id",
    "words_from_json",
    "words_to_json",
]
