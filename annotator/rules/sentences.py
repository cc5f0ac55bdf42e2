"""What a walk's words make of each sentence in it, by the language model of encoder.py.

In: the lines of a walk. Out: for each line how it leans, in log odds, to a station beginning with it, to being part of a station at all, to
ruling for the whole course, and to telling what a demonstration came to; and which of its words are of a thing's or a class's name. cues.py
sees the usual words of a turn; this sees where the talk takes one, also in words that nobody had listed. scripts/fit_sentences.py fitted it
on walks that have been read. Where the model is not installed nothing is added, and the cues decide alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from annotator.rules import context
from annotator.rules.encoder import Encoder, Floats, Model, load_model
from annotator.rules.phrases import Spotted
from annotator.rules.reading import Line
from annotator.rules.text import Sentence

HEADS = {"begins": 1, "inside": 1, "course": 1, "shown": 2}
"""What is asked of each sentence, with the number of answers: whether a station begins with it, whether it belongs to one, whether it rules
for the whole course, whether it tells that a demonstration was clear or failed."""
WITHIN = {"thing": 3, "class": 3, "all": 3, "for": 3, "of": 1, "kind": context.HEADS["kind"]}
"""What is asked within sentences: of each word whether it belongs to the name of a thing that is ruled, or to that of a class of athletes
(no, as its first word, as a later one); of each phrase what it is for the whole course, and beside a class what it is for that (nothing,
in, out), which reach.py asks; beside a thing whether it names a part of it (belonging.py); and, as a second opinion, what context.py asks:
what it is at its station."""
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


@dataclass(frozen=True, slots=True)
class Listened:
    """A walk as the model read it, sentence by sentence."""

    leanings: Leanings
    states: tuple[Floats, ...]
    """For each sentence a vector for each of its pieces that was read, (pieces, 384)."""
    owners: tuple[NDArray[np.int64], ...]
    """For each piece the word that it is of."""
    heads: Mapping[str, tuple[Floats, Floats]]

    def shares(self, asked: str, vectors: Floats) -> Floats:
        """How likely each answer is, for vectors (n, width) of what is asked: (n, answers), rows sum to 1."""
        odds = self.odds(asked, vectors)
        grown = np.exp(odds - odds.max(-1, keepdims=True))
        return np.asarray(grown / grown.sum(-1, keepdims=True), dtype=np.float32)

    def words(self, at: int, asked: str) -> dict[int, Floats]:
        """How likely each answer is for each word of sentence `at` that was read, by its first piece."""
        words, firsts = np.unique(self.owners[at], return_index=True)
        return dict(zip(words.tolist(), self.shares(asked, self.states[at][firsts]), strict=True))

    def odds(self, asked: str, vectors: Floats) -> Floats:
        """The same as log odds up to a constant."""
        weight, bias = self.heads[asked]
        return np.asarray(vectors @ weight + bias)

    def of_phrases(self, lines: Sequence[Line]) -> tuple[list[tuple[int, int]], Floats]:
        """The phrases of the walk's lines of which some was read, by line and index, and a vector each with that of its sentence."""
        places: list[tuple[int, int]] = []
        vectors: list[Floats] = []
        for at, line in enumerate(lines):
            whole = self.states[at].mean(0)
            for index, mention in enumerate(line.mentions):
                own = self.mean(at, mention.first, mention.last)
                if own is not None:
                    places.append((at, index))
                    vectors.append(np.concatenate([own, whole]))
        return places, np.stack(vectors) if vectors else np.zeros((0, 0), np.float32)

    def mean(self, at: int, first: int, last: int) -> Floats | None:
        """The mean vector of the words from `first` to `last` of sentence `at`; None where none of them was read."""
        mine = (self.owners[at] >= first) & (self.owners[at] <= last)
        return self.states[at][mine].mean(0) if mine.any() else None


@lru_cache(maxsize=1)
def model() -> Model | None:
    """The model as fitted; None where its weights are not installed."""
    return load_model(Path(str(files("annotator.rules").joinpath("sentences.safetensors"))), (*HEADS, *WITHIN))


def listen(sentences: Sequence[Sentence]) -> Listened | None:
    """Read a walk sentence by sentence; None where the model is not installed. Linear in its words."""
    read_by = model()
    return None if read_by is None or not sentences else listen_by(read_by, sentences)


def leanings(lines: Sequence[Line]) -> Leanings | None:
    """How the lines of a walk lean; None where the model is not installed."""
    listened = listen([line.skeleton.sentence for line in lines])
    return listened.leanings if listened else None


def listen_by(read_by: Model, sentences: Sequence[Sentence]) -> Listened:
    """The same by a model of one's own."""
    pieces, owners = [], []
    for sentence in sentences:
        ids, of_word = pieces_of(read_by.encoder, [token.text for token in sentence.tokens])
        pieces.append(ids)
        owners.append(np.array(of_word, dtype=np.int64))
    out = {name: np.zeros((len(sentences), answers)) for name, answers in HEADS.items()}
    states: list[Floats] = []
    sizes = [len(each) for each in pieces]
    for first, kept, last in windows(sizes):
        read = _states_of(read_by.encoder, pieces[first : _past(sizes, first)])
        states += read[kept - first : last - first]
        seen = _with_neighbours([each.mean(0) for each in read])[kept - first : last - first]
        for name in HEADS:
            weight, bias = read_by.heads[name]
            out[name][kept:last] = seen @ weight + bias
    leaning = Leanings(out["begins"][:, 0], out["inside"][:, 0], out["course"][:, 0], out["shown"])
    return Listened(leaning, tuple(states), tuple(owners), read_by.heads)


THING = 0.5
"""Share from which a word belongs to the name of a thing; chosen on walks that taught the model nothing."""
NO_THING = 0.2
"""Share up to which a word behind such a name is none of it."""


def spotted(listened: Listened) -> list[Spotted]:
    """For each sentence the words that belong to the name of a thing, and those that do not."""
    out = []
    for at in range(len(listened.states)):
        shares = {word: float(share[1] + share[2]) for word, share in listened.words(at, "thing").items() if word >= 0}
        things = frozenset(word for word, share in shares.items() if share > THING)
        out.append(Spotted(things, frozenset(word for word, share in shares.items() if share < NO_THING)))
    return out


def pieces_of(encoder: Encoder, words: Sequence[str]) -> tuple[list[int], list[int]]:
    """The pieces of a sentence's words, without the marks at both ends, and each one's word; an unknown one of word -1 for none."""
    ids, of_word = encoder.pieces(words)
    kept = [(piece, word) for piece, word in zip(ids, of_word, strict=True) if word is not None][:LONGEST] or [(_UNKNOWN, -1)]
    return [piece for piece, _ in kept], [word for _, word in kept]


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


def _states_of(encoder: Encoder, pieces: Sequence[Sequence[int]]) -> list[Floats]:
    """For each sentence of a window a vector for each of its pieces."""
    states = encoder.read([_BEGIN, *(piece for each in pieces for piece in each), _END])
    ends = 1 + np.cumsum([len(each) for each in pieces])
    return [states[end - len(each) : end] for end, each in zip(ends, pieces, strict=True)]


def _with_neighbours(means: Sequence[Floats]) -> Floats:
    """The vectors of sentences, each with those of the sentences before and after."""
    own = np.stack(means)
    none = np.zeros_like(own[:1])
    return np.concatenate([own, np.concatenate([none, own[:-1]]), np.concatenate([own[1:], none])], axis=1)
