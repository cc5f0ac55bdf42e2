"""Speech: recognition, timed text that staff already have, names heard wrong, and what people correct by hand."""

from annotator.speech.corrections import (
    Correction,
    Piece,
    WordsEdit,
    Written,
    corrected,
    corrections_from_json,
    corrections_to_json,
    pieces,
    rewritten,
)
from annotator.speech.names import apply_names, propose_names, read_names
from annotator.speech.recognise import RECOGNISER_VERSION, AudioPiece, recognise
from annotator.speech.timedtext import TimedText, read_timed_text, words_from_json, words_to_json
from annotator.speech.webvtt import TextCue
from annotator.speech.weights import find_weights, weights_id

__all__ = [
    "RECOGNISER_VERSION",
    "AudioPiece",
    "Correction",
    "Piece",
    "TextCue",
    "TimedText",
    "WordsEdit",
    "Written",
    "apply_names",
    "corrected",
    "corrections_from_json",
    "corrections_to_json",
    "find_weights",
    "pieces",
    "propose_names",
    "read_names",
    "read_timed_text",
    "recognise",
    "rewritten",
    "weights_id",
    "words_from_json",
    "words_to_json",
]
