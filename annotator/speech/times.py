"""Times of words that follow each other: rising, not overlapping, whole milliseconds. Pure arithmetic."""

from __future__ import annotations

from collections.abc import Sequence

Span = tuple[float, float]


def settle(spans: Sequence[Span]) -> list[Span]:
    """The same spans in the same order, mended so that starts never fall and no span overlaps the next.

    A span may end up without length; none is dropped, none changes place.

    >>> settle([(1, 2.5), (2, 2), (1.9, 3)])
    [(1, 2), (2, 2), (2, 3)]
    """
    starts: list[float] = []
    for start, _ in spans:
        starts.append(max(round(start, 3), starts[-1] if starts else 0.0))
    limits = [*starts, float("inf")][1:] if starts else []
    return [(start, min(max(round(end, 3), start), limit)) for (_, end), start, limit in zip(spans, starts, limits, strict=True)]


def spread(words: Sequence[str], start_s: float, end_s: float) -> list[Span]:
    """A span shared out to words by their length, the blank after each counted in.

    >>> spread(["one", "three", "of"], 0.0, 13.0)
    [(0.0, 4.0), (4.0, 10.0), (10.0, 13.0)]
    """
    weights = [len(word) + 1 for word in words]
    whole, length = sum(weights), max(0.0, end_s - start_s)
    spans, so_far = [], 0
    for weight in weights:
        first = start_s + length * so_far / whole
        so_far += weight
        spans.append((first, start_s + length * so_far / whole))
    return spans
