"""What a walk's words make of each sentence in it, by the language model of encoder.py.

In: the lines of a walk. Out: for each line how it leans, in log odds, to a station beginning with it, to being part of a station at all, to
ruling for the whole course, and to telling what a demonstration came to. cues.py sees the usual words of a turn; this sees where the talk
takes one, also in words that nobody had listed. scripts/fit_sentences.py fitted it on walks that have been read. Where the model is not
installed nothing is added, and the cues decide alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from annotator.rules.encoder import Encoder, Floats, Model, load_model
from annotator.rules.reading import Line

HEADS = {"begins": 1, "inside": 1, "course": 1, "shown": 2}
"""What is asked of each sentence, with the number of answers: whether a station begins with it, whether it belongs to one, whether it rules
for the whole course, whether it tells that a demonstration was clear or failed."""
WINDOW = 480
"""Pieces of words that are read at once; the model knows 512 places."""
OVERLAP = 80
"""Pieces that two windows share at least, so that no sentence is read without what stands beside it."""
LONGEST = 120
"""Pieces of a sentence that are read; what it does is told by then."""
_BEGIN, _END, _UNKNOWN = 101, 102, 100


@dataclass(frozen=True, slots=True)
class Leanings:
    """How each line of a walk leans to what is asked, in log odds: arrays of a row a line."""

    begins: NDArray[np.float64]
    inside: NDArray[np.float64]
    course: NDArray[np.float64]
    shown: NDArray[np.float64]
    """(n, 2): clear, failed; against nothing told."""


@lru_cache(maxsize=1)
def model() -> Model | None:
    """The model as fitted; None where its weights are not installed."""
    return load_model(Path(str(files("annotator.rules").joinpath("sentences.safetensors"))), HEADS)


def leanings(lines: Sequence[Line]) -> Leanings | None:
    """Read a walk sentence by sentence; None where the model is not installed. Linear in its words."""
    read_by = model()
    return None if read_by is None or not lines else _read(read_by, lines)


def leanings_by(fitted_file: Path, lines: Sequence[Line]) -> Leanings:
    """The same by the corrections and maps of a file. Raises FileNotFoundError where the model is not installed."""
    read_by = load_model(fitted_file, HEADS)
    if read_by is None:
        raise FileNotFoundError("The language model is not installed.")
    return _read(read_by, lines)


def _read(read_by: Model, lines: Sequence[Line]) -> Leanings:
    pieces = [pieces_of(read_by.encoder, [token.text for token in line.skeleton.sentence.tokens]) for line in lines]
    out = {name: np.zeros((len(lines), answers)) for name, answers in HEADS.items()}
    sizes = [len(each) for each in pieces]
    for first, kept, last in windows(sizes):
        seen = _sentences_of(read_by.encoder, pieces[first : _past(sizes, first)])[kept - first : last - first]
        for name, (weight, bias) in read_by.heads.items():
            out[name][kept:last] = seen @ weight + bias
    return Leanings(out["begins"][:, 0], out["inside"][:, 0], out["course"][:, 0], out["shown"])


def pieces_of(encoder: Encoder, words: Sequence[str]) -> list[int]:
    """The pieces of a sentence's words, without the marks at both ends; one unknown piece for a sentence of none."""
    ids, of_word = encoder.pieces(words)
    return [piece for piece, word in zip(ids, of_word, strict=True) if word is not None][:LONGEST] or [_UNKNOWN]


def windows(sizes: Sequence[int]) -> list[tuple[int, int, int]]:
    """Runs of sentences that are read at once: the first, the first whose reading is kept, past the last kept.

    The last sentences of a run lack what follows them and the first what was before; both are read again in the run beside it.

    >>> windows([200, 200, 30, 200, 30])
    [(0, 0, 1), (0, 1, 2), (1, 2, 5)]
    """
    out: list[tuple[int, int, int]] = []
    first = kept = 0
    while kept < len(sizes):
        last = _past(sizes, first)
        if last < len(sizes):
            margin = 0
            while last > kept + 1 and margin < OVERLAP // 2:
                last -= 1
                margin += sizes[last]
        out.append((first, kept, last))
        first, margin = last, 0
        while first > 0 and margin < OVERLAP // 2 and _past(sizes, first - 1) > last:
            first -= 1
            margin += sizes[first]
        kept = last
    return out


def _past(sizes: Sequence[int], first: int) -> int:
    """Past the last sentence that fits into a window with sentence `first`."""
    last, size = first + 1, 2 + sizes[first]
    while last < len(sizes) and size + sizes[last] <= WINDOW:
        size += sizes[last]
        last += 1
    return last


def _sentences_of(encoder: Encoder, pieces: Sequence[Sequence[int]]) -> Floats:
    """A vector for each sentence of a window: the mean of its pieces, and those of the sentences before and after."""
    states = encoder.read([_BEGIN, *(piece for each in pieces for piece in each), _END])
    ends = 1 + np.cumsum([len(each) for each in pieces])
    means = np.stack([states[end - len(each) : end].mean(0) for end, each in zip(ends, pieces, strict=True)])
    none = np.zeros_like(means[:1])
    return np.concatenate([means, np.concatenate([none, means[:-1]]), np.concatenate([means[1:], none])], axis=1)
