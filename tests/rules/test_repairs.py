"""Self-corrections as people make them: reparandum, interregnum, repair (the frame of Shriberg 1994; the sentences are our own)."""

from __future__ import annotations

import pytest

from annotator.rules.repairs import mend
from annotator.rules.text import Heard

CASES = [
    ("the red, sorry, the orange box", "the orange box"),
    ("land on the tall, no wait, the low bench", "land on the low bench"),
    ("the yellow pegs, no, hang on, not yellow, it's the white pegs", "the white pegs"),
    ("there are six, no, seven stumps", "there are seven stumps"),
    ("The red box. Ah, sorry. Not red. The pink box.", "The pink box."),
    ("on the, um, on the green mat", "on the green mat"),
    ("there's a, there's a knot", "there's a knot"),
    ("the, what d'you call it, the thick rope", "the thick rope"),
    ("the big poles, I mean the ones that hold the roof", "the big poles, I mean the ones that hold the roof"),
    ("can you touch it? No, the beam is out", "can you touch it? No, the beam is out"),
    ("no hands on the rail", "no hands on the rail"),
    ("bar, rings, bar again", "bar, rings, bar again"),
    ("um, er, uh", ""),
]


@pytest.mark.parametrize(("said", "kept"), [pytest.param(*case, id=case[0]) for case in CASES])
def test_mending_keeps_only_what_was_meant(said: str, kept: str) -> None:
    words = [Heard(text, i * 0.3, i * 0.3 + 0.3) for i, text in enumerate(said.split())]
    assert " ".join(word.text for word in mend(words)) == kept


def test_speech_that_was_taken_out_leaves_no_silence() -> None:
    words = [Heard(text, i * 1.0, i + 0.9) for i, text in enumerate(["on", "the", "um", "um", "um", "mat"])]
    assert [(w.text, w.end_s) for w in mend(words)] == [("on", 0.9), ("the", 4.9), ("mat", 5.9)]


def test_a_silence_before_a_filler_stays_a_silence() -> None:
    words = [Heard("go.", 0.0, 0.5), Heard("Ah,", 8.0, 8.3), Heard("clear.", 8.4, 9.0)]
    assert mend(words)[0].end_s == 0.5
