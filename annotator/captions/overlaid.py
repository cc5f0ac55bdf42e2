"""Where a station's zones lie on each frame of a film: carried from its stills to frames nearby, moved evenly between those.

In: marks on stills, pictures, and the times and pictures of some frames ("posts") of a film. Out: marks for any moment between two posts
that both could be matched. Matching itself is annotator/marks; where it is not certain, there is nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.captions.moving import Motions, motions, moved, points_of, with_plates_of
from annotator.course import Course, Mark, Point, Station, Still
from annotator.errors import InvalidMark
from annotator.marks import LEAST_CONFIDENCE, Overlay, area, carry, overlay

Picture = NDArray[np.uint8]
Carry = Callable[[Sequence[Mark], Picture, Sequence[Picture]], Sequence[tuple[Mark, ...]]]
"""Marks on one picture carried to others: for each of those, the marks that are there with certainty."""

WORK_PX = 640
"""Between near frames as good as full size and four times as fast."""
UNSEEN_SHARE = 0.0004
"""Of the picture's shorter side: what moves less is drawn where it was, a quarter of a line of a film of 720."""
BENDS_SHARE = 0.0015
"""Of the same: a mark whose points do not move together to this is described anew at each moment."""
PLATES_STAY_S = 2.0
"""Plates that were placed anew for every picture would jump to and fro; nobody reads one in less. Common practice, no published source."""


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
    """The zones of one station over a film. `size` is the width and height in whose pixels the carried marks are.

    `kept_free` are rectangles of the same pixels over which something else is written; plates stand elsewhere.
    """

    def __init__(
        self,
        course: Course,
        station: Station,
        posts: Sequence[Post],
        size: tuple[int, int],
        *,
        drafts: bool,
        kept_free: Sequence[Polygon] = (),
    ) -> None:
        self._course, self._station, self._drafts, self._size = course, station, drafts, size
        self._kept_free = tuple(kept_free)
        self._posts = sorted(posts, key=lambda post: post.time_s)
        self._times = [post.time_s for post in self._posts]
        self._way: _Way | None = None
        self._placed_s = 0.0
        """When plates were last placed."""

    @property
    def shown_s(self) -> float:
        """Seconds of the film over which there are zones."""
        return sum(later.time_s - earlier.time_s for earlier, later in pairwise(self._posts) if _in_both(earlier, later))

    def shows_at(self, time_s: float) -> bool:
        """Whether there are zones at a moment."""
        after = bisect_right(self._times, time_s)
        if after == len(self._posts):
            return bool(self._posts) and self._times[-1] == time_s and bool(self._posts[-1].marks)
        return after > 0 and bool(_in_both(self._posts[after - 1], self._posts[after]))

    def at(self, time_s: float) -> Overlay | None:
        """What is drawn at a moment, None where nothing is certain.

        Between two posts what was described at the first one goes along with its marks; plates stay with their surfaces for
        `PLATES_STAY_S` before better places are looked for.
        """
        after = bisect_right(self._times, time_s)
        if after == 0:
            return None
        earlier = self._posts[after - 1]
        if after == len(self._posts):
            return self._described(earlier.still, earlier.marks) if earlier.time_s == time_s and earlier.marks else None
        later = self._posts[after]
        if self._way is None or self._way.number != after:
            self._way = self._way_to(after)
        share = (time_s - earlier.time_s) / (later.time_s - earlier.time_s)
        return self._way.at(share) if self._way is not None else None

    def _way_to(self, number: int) -> _Way | None:
        """From the post before this one to this one, None where no mark is on both."""
        earlier, later = self._posts[number - 1], self._posts[number]
        both = _in_both(earlier, later)
        if not both:
            return None
        start, end = (tuple(pair[which] for pair in both) for which in (0, 1))
        short_px = min(self._size)
        described = self._with_plates(earlier, start, number)

        def anew(marks: Sequence[Mark], plates: bool) -> Overlay:
            return self._described(earlier.still, marks, plates=plates)

        return _Way(number, described, motions(described, start, end), start, end, short_px, anew)

    def _with_plates(self, post: Post, marks: tuple[Mark, ...], number: int) -> Overlay:
        """What is drawn at a post: the plates of the moment before it where those still do."""
        before = self._way
        if before is not None and before.number == number - 1 and post.time_s - self._placed_s < PLATES_STAY_S:
            kept = with_plates_of(self._described(post.still, marks, plates=False), before.at(1.0), self._kept_free)
            if kept is not None:
                return kept
        self._placed_s = post.time_s
        return self._described(post.still, marks)

    def _described(self, still_id: str, marks: Sequence[Mark], *, plates: bool = True) -> Overlay:
        width, height = self._size
        still = next(still for still in self._station.stills if still.id == still_id)
        here = still.model_copy(update={"width": width, "height": height})
        station = self._station.model_copy(update={"stills": (here,), "marks": tuple(marks)})
        return overlay(self._course, station, still_id, plates=plates, drafts=self._drafts, kept_free=self._kept_free)


@dataclass
class _Way:
    """From one post to the next."""

    number: int
    described: Overlay
    how: tuple[Motions, float] | None
    start: tuple[Mark, ...]
    end: tuple[Mark, ...]
    short_px: float
    anew: Callable[[Sequence[Mark], bool], Overlay]
    """Describes marks, with plates or without."""
    _last: tuple[float, Overlay] | None = None

    def at(self, share: float) -> Overlay:
        """What is drawn a share of the way along; what was drawn last where nothing has moved so far that it would be seen."""
        if self._last is None or abs(share - self._last[0]) * self._length_px >= UNSEEN_SHARE * self.short_px:
            self._last = share, self._drawn(share)
        return self._last[1]

    def _drawn(self, share: float) -> Overlay:
        along = None if self.how is None else moved(self.described, self.how[0], share)
        if self.how is not None and along is not None and self.how[1] <= BENDS_SHARE * self.short_px:
            return along
        marks = [between(one, other, share) for one, other in zip(self.start, self.end, strict=True)]
        bent = None if along is None else with_plates_of(self.anew(marks, False), along)
        return bent or self.anew(marks, True)

    @cached_property
    def _length_px(self) -> float:
        """How far the farthest point goes."""
        first, last = (np.array([point for mark in marks for point in points_of(mark)]) for marks in (self.start, self.end))
        return float(np.hypot(*(last - first).T).max())


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
