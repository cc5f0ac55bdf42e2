"""Where faces are between the moments at which they were looked for: on the way from one find to the next, a missed look bridged.

In: the boxes found at some moments. Out: boxes for any moment between them. Pure; finding is faces.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from annotator.marks.faces import Box

MOST_MISSED = 1
"""So many looks in a row may miss a face that was found before and after."""
FARTHEST = 1.5
"""Box sizes that a face's middle may move from one look to the next to be the same face; common practice, no published source."""
MOST_GROWTH = 1.6


@dataclass(frozen=True)
class Look:
    """The boxes found at a moment."""

    time_s: float
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class _Trail:
    """One face: its boxes at rising times. `before_s` and `after_s`: the looks beside them, at which it was not found."""

    times_s: tuple[float, ...]
    boxes: tuple[Box, ...]
    before_s: float
    after_s: float

    def at(self, time_s: float) -> Box | None:
        """Its box at a moment: between two finds on the straight way, before the first and after the last as it moved there."""
        if not self.before_s <= time_s <= self.after_s or len(self.boxes) < 2:
            return None
        here = int(np.clip(np.searchsorted(self.times_s, time_s) - 1, 0, len(self.times_s) - 2))
        start, end = self.times_s[here], self.times_s[here + 1]
        share = (time_s - start) / (end - start)
        x0, y0, x1, y1 = ((1 - share) * a + share * b for a, b in zip(self.boxes[here], self.boxes[here + 1], strict=True))
        return (x0, y0, x1, y1) if x1 > x0 and y1 > y0 else None


class FaceTrack:
    """Faces over several looks, given in rising time."""

    def __init__(self, looks: Sequence[Look]) -> None:
        self._trails = _trails(looks)

    def at(self, time_s: float) -> tuple[Box, ...]:
        """The boxes of faces that were found at least twice, at a moment between the first look and the last.

        >>> looks = [Look(0.0, ((10, 10, 30, 30),)), Look(0.3, ()), Look(0.6, ((22, 10, 42, 30),))]
        >>> FaceTrack(looks).at(0.3)
        ((16.0, 10.0, 36.0, 30.0),)
        """
        return tuple(box for box in (trail.at(time_s) for trail in self._trails) if box is not None)


def _trails(looks: Sequence[Look]) -> list[_Trail]:
    """The looks' boxes linked: nearest pairs first, over neighbouring looks, then over one that missed."""
    after: dict[tuple[int, int], tuple[int, int]] = {}
    linked: set[tuple[int, int]] = set()
    for gap in range(1, MOST_MISSED + 2):
        for first in range(len(looks) - gap):
            ends = [(first, i) for i in range(len(looks[first].boxes))], [(first + gap, j) for j in range(len(looks[first + gap].boxes))]
            pairs = [(_apart(looks[a[0]].boxes[a[1]], looks[b[0]].boxes[b[1]]), a, b) for a in ends[0] for b in ends[1]]
            for apart, start, end in sorted(pairs):
                if apart <= FARTHEST * gap and start not in after and end not in linked:
                    after[start] = end
                    linked.add(end)
    trails = []
    for first, look in enumerate(looks):
        for number in range(len(look.boxes)):
            if (first, number) in linked:
                continue
            chain = [(first, number)]
            while chain[-1] in after:
                chain.append(after[chain[-1]])
            times, boxes = tuple(looks[at].time_s for at, _ in chain), tuple(looks[at].boxes[one] for at, one in chain)
            before, behind = looks[max(0, first - 1)].time_s, looks[min(len(looks) - 1, chain[-1][0] + 1)].time_s
            if all(later > earlier for earlier, later in pairwise(times)):
                trails.append(_Trail(times, boxes, before, behind))
    return trails


def _apart(one: Box, other: Box) -> float:
    """How far apart the middles of two boxes are, in sizes of the larger; without end where they cannot be one face."""
    sizes = [max(box[2] - box[0], box[3] - box[1]) for box in (one, other)]
    if min(sizes) <= 0 or max(sizes) > MOST_GROWTH * min(sizes):
        return float("inf")
    across, down = (one[0] + one[2] - other[0] - other[2]) / 2, (one[1] + one[3] - other[1] - other[3]) / 2
    return float(np.hypot(across, down)) / max(sizes)
