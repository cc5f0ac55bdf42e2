"""When each word of a spoken sentence is heard, from the lengths of its phonemes.

In: the words as written, and the phonemes that were spoken with the samples each took. Out: one span a word. The speech engine runs short
words together ("from the" -> one group of phonemes) and may split others, so groups are matched to words by length. Pure; no speech here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

SILENT = frozenset("^$_,.;:!?…—–\"'()«»¡¿")
"""Phoneme symbols that are silence, not sound."""


@dataclass(frozen=True)
class Sound:
    """One phoneme and how many samples it took."""

    phoneme: str
    samples: int


@dataclass(frozen=True)
class Group:
    """Phonemes spoken together between two gaps: where they start and end, in samples, and how many there are."""

    start: int
    end: int
    size: int


def groups_of(sounds: Sequence[Sound]) -> list[Group]:
    """The groups between spaces and silences, in order.

    >>> groups_of([Sound("^", 10), Sound("h", 5), Sound("a", 5), Sound(" ", 4), Sound("o", 6), Sound("$", 9)])
    [Group(start=10, end=20, size=2), Group(start=24, end=30, size=1)]
    """
    found: list[Group] = []
    at, start, end, size = 0, 0, 0, 0
    for sound in [*sounds, Sound(" ", 0)]:
        if sound.phoneme.isspace() or sound.phoneme in SILENT:
            if size and (sound.phoneme.isspace() or sound.phoneme in "^$"):
                found.append(Group(start, end, size))
                size = 0
        else:
            if not size:
                start = at
            size += 1
            end = at + sound.samples
        at += sound.samples
    return found


def spans_of_words(words: Sequence[str], groups: Sequence[Group], size_of: Callable[[str], int]) -> list[tuple[int, int]]:
    """A span (first sample, last sample) for each word.

    One group may hold several words and one word several groups; the split with the smallest difference between the expected sizes
    (`size_of`, phonemes of a word spoken alone) and the heard ones is taken. A group of several words is shared out by expected size.
    """
    if not words or not groups:
        return [(0, 0) for _ in words]
    sizes = [max(1, size_of(word)) for word in words]
    best: dict[tuple[int, int], tuple[float, int, int]] = {}
    count_w, count_g = len(words), len(groups)
    cost = [[float("inf")] * (count_g + 1) for _ in range(count_w + 1)]
    cost[0][0] = 0.0
    for i in range(count_w + 1):
        for j in range(count_g + 1):
            if cost[i][j] == float("inf"):
                continue
            for take_w, take_g in ((1, 1), (2, 1), (3, 1), (4, 1), (5, 1), (1, 2), (1, 3), (1, 4)):
                if i + take_w > count_w or j + take_g > count_g:
                    continue
                expected, heard = sum(sizes[i : i + take_w]), sum(g.size for g in groups[j : j + take_g])
                total = cost[i][j] + abs(expected - heard) + 0.1 * (take_w + take_g - 2)
                if total < cost[i + take_w][j + take_g]:
                    cost[i + take_w][j + take_g] = total
                    best[i + take_w, j + take_g] = (total, take_w, take_g)
    if (count_w, count_g) not in best:
        return _share(groups[0].start, groups[-1].end, sizes)
    spans: list[tuple[int, int]] = []
    i, j = count_w, count_g
    while i > 0:
        _, take_w, take_g = best[i, j]
        spans = _share(groups[j - take_g].start, groups[j - 1].end, sizes[i - take_w : i]) + spans
        i, j = i - take_w, j - take_g
    return spans


def _share(start: int, end: int, sizes: Sequence[int]) -> list[tuple[int, int]]:
    """The span from `start` to `end` shared out in proportion to `sizes`."""
    total, done, spans = sum(sizes), 0, []
    for size in sizes:
        first = start + round((end - start) * done / total)
        done += size
        spans.append((first, start + round((end - start) * done / total)))
    return spans
