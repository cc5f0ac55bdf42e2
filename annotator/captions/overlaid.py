"""Where a station's zones lie on each frame of a film: carried from its stills to frames nearby, moved evenly between those.

In: marks on stills, pictures, and the times and pictures of some frames ("posts") of a film. Out: marks for any moment between two posts
that both could be matched. Matching itself is annotator/marks; where it is not certain, there is nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from annotator.course import Course, Mark, Point, Station, Still
from annotator.errors import InvalidMark
from annotator.marks import LEAST_CONFIDENCE, Overlay, area, carry, overlay

Picture = NDArray[np.uint8]
Carry = Callable[[Sequence[Mark], Picture, Sequence[Picture]], Sequence[tuple[Mark, ...]]]
"""Marks on one picture carried to others: for each of those, the marks that are there with certainty."""

WORK_PX = 640
"""Between near frames as good as full size and four times as fast."""
UNSEEN_SHARE = 0.0015
"""Of the picture's shorter side: what moves less is drawn where it was, two thirds of a line of a film of 480."""


def certain_carry(
    marks: Sequence[Mark], source: Picture, targets: Sequence[Picture], *, least_confidence: float = LEAST_CONFIDENCE
) -> tuple[tuple[Mark, ...], ...]:
    """The marks on each of the pictures. Marks that lie on each other come together or not at all.

    A pad whose top is out must not be shown as in play all over because only the top's outline got lost.
    """
    marks = [mark for mark in marks if _lies_in(mark, source)]
    if not marks:
        return ((),) * len(targets)
    groups = lying_together(marks, source)
    found: list[tuple[Mark, ...]] = []
    for carried in carry(marks, source, targets, work_px=WORK_PX, least_confidence=least_confidence):
        there = {mark.id: got.mark for mark, got in zip(marks, carried, strict=True) if got is not None}
        whole = [group for group in groups if all(mark.id in there for mark in group)]
        # Carrying makes drafts; on a film it is the still's mark that is shown, in its own state.
        found.append(tuple(there[mark.id].model_copy(update={"state": mark.state}) for group in whole for mark in group))
    return tuple(found)


def _lies_in(mark: Mark, picture: Picture) -> bool:
    """Whether anything of a mark is in the picture: what was carried from frame to frame may have left it."""
    try:
        area(mark, (picture.shape[1], picture.shape[0]))
    except InvalidMark:
        return False
    return True


def lying_together(marks: Sequence[Mark], picture: Picture) -> tuple[tuple[Mark, ...], ...]:
    """The marks in groups whose areas touch, each mark in one group, in their order."""
    size = (picture.shape[1], picture.shape[0])
    areas = {mark.id: area(mark, size) for mark in marks}
    groups: list[list[Mark]] = []
    for mark in marks:
        touching = [group for group in groups if any(areas[mark.id].intersects(areas[other.id]) for other in group)]
        joint = [other for group in touching for other in group] + [mark]
        groups = [group for group in groups if group not in touching] + [joint]
    return tuple(tuple(group) for group in groups)


@dataclass(frozen=True)
class Post:
    """A frame to which the marks of one still were carried. `time_s` is clip time; `marks` holds those that are there with certainty."""

    time_s: float
    still: str
    marks: tuple[Mark, ...]


class ZoneTrack:
    """The zones of one station over a film. `size` is the width and height in whose pixels the carried marks are."""

    def __init__(self, course: Course, station: Station, posts: Sequence[Post], size: tuple[int, int], *, drafts: bool) -> None:
        self._course, self._station, self._drafts, self._size = course, station, drafts, size
        self._posts = sorted(posts, key=lambda post: post.time_s)
        self._times = [post.time_s for post in self._posts]
        self._last: tuple[str, tuple[Mark, ...], Overlay] | None = None

    @property
    def shown_s(self) -> float:
        """Seconds of the film over which there are zones."""
        return sum(later.time_s - earlier.time_s for earlier, later in pairwise(self._posts) if _in_both(earlier, later))

    def at(self, time_s: float) -> Overlay | None:
        """What is drawn at a moment, None where nothing is certain."""
        after = bisect_right(self._times, time_s)
        if after == 0:
            return None
        earlier = self._posts[after - 1]
        if after == len(self._posts):
            marks = earlier.marks if earlier.time_s == time_s else ()
        else:
            later = self._posts[after]
            share = (time_s - earlier.time_s) / (later.time_s - earlier.time_s)
            marks = tuple(between(one, other, share) for one, other in _in_both(earlier, later))
        return self._overlay(earlier.still, marks) if marks else None

    def _overlay(self, still_id: str, marks: Sequence[Mark]) -> Overlay:
        """What is drawn for these marks; what was drawn last where none of them has moved so far that it would be seen."""
        if self._last is not None and self._last[0] == still_id and _moved(self._last[1], marks) < UNSEEN_SHARE * min(self._size):
            return self._last[2]
        width, height = self._size
        still = next(still for still in self._station.stills if still.id == still_id)
        here = still.model_copy(update={"width": width, "height": height})
        station = self._station.model_copy(update={"stills": (here,), "marks": tuple(marks)})
        drawn = overlay(self._course, station, still_id, drafts=self._drafts)
        self._last = (still_id, tuple(marks), drawn)
        return drawn


def _moved(before: Sequence[Mark], now: Sequence[Mark]) -> float:
    """How far the farthest point of these marks went, in pixels; infinite where they are others."""
    if [(mark.id, _shape(mark)) for mark in before] != [(mark.id, _shape(mark)) for mark in now]:
        return float("inf")
    points = (np.array([point for mark in marks for point in _points(mark)]) for marks in (before, now))
    first, second = points
    return float(np.hypot(*(second - first).T).max())


def _points(mark: Mark) -> list[Point]:
    return [point for ring in mark.rings for point in ring] if mark.rings is not None else list(mark.line or ())


def _in_both(earlier: Post, later: Post) -> list[tuple[Mark, Mark]]:
    """The marks that may be shown between two posts: of one still, found on both, with as many points."""
    if earlier.still != later.still:
        return []
    ends = {mark.id: mark for mark in later.marks}
    return [(mark, ends[mark.id]) for mark in earlier.marks if mark.id in ends and _shape(mark) == _shape(ends[mark.id])]


def _shape(mark: Mark) -> tuple[int, ...]:
    return tuple(len(ring) for ring in mark.rings) if mark.rings is not None else (-len(mark.line or ()),)


def between(one: Mark, other: Mark, share: float) -> Mark:
    """The mark a share of the way from one to the other: each point on the straight line between its two places.

    >>> first = Mark(id="m", still="s", surface="u", line=((0, 0), (10, 0)), width=2)
    >>> between(first, first.model_copy(update={"line": ((4, 0), (14, 8)), "width": 4}), 0.5).line
    ((2.0, 0.0), (12.0, 4.0))
    """
    if one.rings is not None and other.rings is not None:
        rings = tuple(tuple(map(_on_the_way(share), ring, end)) for ring, end in zip(one.rings, other.rings, strict=True))
        return one.model_copy(update={"rings": rings})
    line = tuple(map(_on_the_way(share), one.line or (), other.line or ()))
    width = (one.width or 1.0) * (1 - share) + (other.width or 1.0) * share
    return one.model_copy(update={"line": line, "width": width})


def _on_the_way(share: float) -> Callable[[Point, Point], Point]:
    return lambda start, end: (start[0] * (1 - share) + end[0] * share, start[1] * (1 - share) + end[1] * share)


def marks_of(station: Station, still: Still) -> tuple[Mark, ...]:
    """The marks of a station that lie on one still."""
    return tuple(mark for mark in station.marks if mark.still == still.id)
