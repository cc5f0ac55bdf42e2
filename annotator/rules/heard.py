"""A walk as it is heard: patterns and language model together make its phrases.

In: the words of a walk. Out: its lines, in which the model has spotted words of things, told parts by their wholes and said what it makes
of each phrase; and what the model read, which is asked again later. Where it is not installed the patterns hear alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.course import Word
from annotator.rules.belonging import with_wholes
from annotator.rules.phrases import NONE_SPOTTED, Spotted
from annotator.rules.reading import Line, Reading, read_walk
from annotator.rules.sentences import Listened, listen, spotted
from annotator.rules.skeleton import Skeleton
from annotator.rules.text import Sentence


class _Ear:
    """What the model hears of a walk while patterns read it."""

    def __init__(self) -> None:
        self.listened: Listened | None = None

    def spot(self, sentences: Sequence[Sentence]) -> Sequence[Spotted]:
        self.listened = listen(sentences)
        return spotted(self.listened) if self.listened else [NONE_SPOTTED] * len(sentences)

    def wholes(self, skeletons: Sequence[Skeleton]) -> Sequence[Skeleton]:
        return with_wholes(skeletons, self.listened) if self.listened else skeletons


def heard(words: Sequence[Word], names: Sequence[str]) -> tuple[Reading, Listened | None]:
    """The walk as patterns and model read it, and as the model read it."""
    ear = _Ear()
    reading = read_walk(words, names, ear)
    return replace(reading, lines=_with_opinions(reading.lines, ear.listened)) if ear.listened else reading, ear.listened


def _with_opinions(lines: Sequence[Line], listened: Listened) -> tuple[Line, ...]:
    """The walk's lines with what the model takes each phrase for at its station."""
    places, vectors = listened.of_phrases(lines)
    opinions: list[dict[tuple[int, int], tuple[float, ...]]] = [{} for _ in lines]
    for (at, index), odds in zip(places, listened.odds("kind", vectors).tolist() if places else (), strict=True):
        mention = lines[at].mentions[index]
        opinions[at][mention.first, mention.last] = tuple(odds)
    return tuple(replace(line, opinions=mine) for line, mine in zip(lines, opinions, strict=True))
