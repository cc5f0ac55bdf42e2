"""What a whole station's words make of each thing said in it, by the language model of encoder.py.

In: a station's lines. Out: for each phrase how it leans to each class of weighed.py, to hands and feet, and to what is said of going past
it, in log odds. linear.py sees which words stand near a phrase; this sees what they mean together, also in words that nobody had listed.
Where the model is not installed, nothing is added and the word classes decide alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from annotator.rules.encoder import MOST, Floats, Model, find_folder, load_model
from annotator.rules.reading import Line

HEADS = {"kind": 5, "limbs": 2, "past": 3}
"""What is asked of each phrase, with the number of answers: weighed.CLASSES; hands and feet; landing.CLASSES."""


@lru_cache(maxsize=1)
def read_by() -> str:
    """What reads beside the patterns: SHA-256 of the language model's weights, or that only word lists do. Other readers, other drafts."""
    folder = find_folder()
    if folder is None:
        return "word lists"
    with (folder / "model.safetensors").open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@lru_cache(maxsize=1)
def model() -> Model | None:
    """The model as fitted; None where its weights are not installed."""
    return load_model(Path(str(files("annotator.rules").joinpath("context.safetensors"))), HEADS)


@dataclass(frozen=True, slots=True)
class Context:
    """A station as the model read it: for each phrase that it could read, by line and index, its leanings."""

    leanings: dict[tuple[int, int], dict[str, tuple[float, ...]]]

    def of(self, at: int, index: int, asked: str) -> tuple[float, ...] | None:
        """The leanings of a phrase: "kind" (5), "limbs" (2) or "past" (3); None where it was not read."""
        found = self.leanings.get((at, index))
        return found[asked] if found else None


NOTHING = Context({})


def context(lines: Sequence[Line]) -> Context:
    """Read a station. Linear in its words; a long one is read in windows of whole sentences."""
    read_by = model()
    if read_by is None:
        return NOTHING
    leanings: dict[tuple[int, int], dict[str, tuple[float, ...]]] = {}
    for first, last in _windows(lines):
        window = lines[first:last]
        states, words = _states(tuple(token.text for line in window for token in line.skeleton.sentence.tokens), id(read_by))
        begin = 0
        for at, line in enumerate(window, first):
            for index, mention in enumerate(line.mentions):
                mine = (words >= begin + mention.first) & (words <= begin + mention.last)
                if mine.any():
                    seen = np.concatenate([states[mine].mean(0), states.mean(0)])
                    leanings[at, index] = {
                        name: tuple(float(v) for v in seen @ weight + bias) for name, (weight, bias) in read_by.heads.items()
                    }
            begin += len(line.skeleton.sentence.tokens)
    return Context(leanings)


def _windows(lines: Sequence[Line]) -> list[tuple[int, int]]:
    """Runs of lines, by first and past the last, of which each is short enough to be read at once."""
    out: list[tuple[int, int]] = []
    first, size = 0, 0
    for at, line in enumerate(lines):
        mine = 2 * len(line.skeleton.sentence.tokens)  # a word has 1.3 pieces; rarely more than two
        if size and size + mine > MOST:
            out.append((first, at))
            first, size = at, 0
        size += mine
    if size:
        out.append((first, len(lines)))
    return out


@lru_cache(maxsize=64)
def _states(words: tuple[str, ...], _by: int) -> tuple[Floats, NDArray[np.int64]]:
    """The vectors of the pieces of the words and the word of each; kept, since limbs and finishes ask again."""
    read_by = model()
    assert read_by is not None
    ids, of_word = read_by.encoder.pieces(words)
    states = read_by.encoder.read(ids[:MOST])
    return states, np.array([-1 if word is None else word for word in of_word[:MOST]], dtype=np.int64)
