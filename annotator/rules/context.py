"""What a whole station's words make of each thing said in it, by the language model of encoder.py.

In: a station's lines. Out: for each phrase how it leans to each class of weighed.py, to hands and feet, and to what is said of going past
it, in log odds. linear.py sees which words stand near a phrase; this sees what they mean together, also in words that nobody had listed.
Where lines bring a second opinion (sentences.py, which reads the walk across its stations), both count. Where the model is not installed,
nothing is added and the word classes decide alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np

from annotator.rules.encoder import MOST, Floats, Model, find_folder, load_model
from annotator.rules.reading import Line

HEADS = {"kind": 5, "limbs": 2, "past": 3}
"""What is asked of each phrase, with the number of answers: weighed.CLASSES; hands and feet; landing.CLASSES."""

SECOND = 0.4
"""What a second opinion of what a thing is counts of the log odds. On 80 walks that had taught neither: rules F1 .737 -> .743; of limbs and
of going past a finish a second opinion was of no use."""


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


Said = tuple[tuple[str, ...], tuple[tuple[int, int], ...]]
"""A line as the model reads it: its words, and the first and last word of each of its phrases."""


def context(lines: Sequence[Line]) -> Context:
    """Read a station. Linear in its words; a long one is read in windows of whole sentences."""
    read_by = model()
    if read_by is None:
        return NOTHING
    said = [
        (tuple(token.text for token in line.skeleton.sentence.tokens), tuple((mention.first, mention.last) for mention in line.mentions))
        for line in lines
    ]
    leanings: dict[tuple[int, int], dict[str, tuple[float, ...]]] = {}
    for first, last in _windows(lines):
        for (at, index), leaning in _read(tuple(said[first:last]), id(read_by)).items():
            opinion = lines[first + at].opinions.get(said[first + at][1][index])
            leanings[first + at, index] = _both(leaning, opinion) if opinion else leaning
    return Context(leanings)


def _both(leaning: Mapping[str, tuple[float, ...]], opinion: Sequence[float]) -> dict[str, tuple[float, ...]]:
    kind = tuple((1 - SECOND) * one + SECOND * other for one, other in zip(leaning["kind"], opinion, strict=True))
    return {**leaning, "kind": kind}


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


@lru_cache(maxsize=256)
def _read(said: tuple[Said, ...], _by: int) -> dict[tuple[int, int], dict[str, tuple[float, ...]]]:
    """The leanings of the phrases of some lines, by line and index; kept, since limbs and finishes ask again. Nobody changes them."""
    read_by = model()
    assert read_by is not None
    ids, of_word = read_by.encoder.pieces([word for words, _ in said for word in words])
    states = read_by.encoder.read(ids[:MOST])
    own = np.array([-1 if word is None else word for word in of_word[:MOST]], dtype=np.int64)
    places: list[tuple[int, int]] = []
    means: list[Floats] = []
    begin = 0
    for at, (words, phrases) in enumerate(said):
        for index, (first, last) in enumerate(phrases):
            mine = states[(own >= begin + first) & (own <= begin + last)]
            if len(mine):
                places.append((at, index))
                means.append(mine.mean(0))
        begin += len(words)
    if not places:
        return {}
    seen = np.concatenate([np.stack(means), np.tile(states.mean(0), (len(means), 1))], axis=1)
    told = {name: (seen @ weight + bias).tolist() for name, (weight, bias) in read_by.heads.items()}
    return {place: {name: tuple(rows[k]) for name, rows in told.items()} for k, place in enumerate(places)}
