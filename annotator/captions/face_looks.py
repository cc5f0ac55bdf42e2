"""Where faces are in a clip, so that films can hide them: looked for at even moments of clip time, carried over to the moments between.

In: a clip. Out: looks, in pixels of the upright clip, that can be kept since any film of the clip asks for the same moments; and boxes for
any moment of them. Finding is annotator/marks; a detector misses some.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor
from pathlib import Path

from annotator.captions.overlaid import Picture
from annotator.marks import FaceTrack, Look, find_faces
from annotator.media import grab, read_frames
from annotator.units import Progress

EVERY_S = 0.3
TURNED_EVERY = 3
"""People hang and flip on obstacles: every so many looks the picture is searched turned, too."""
TOGETHER = 30
"""Looks that are made, and kept, in one go; a multiple of `TURNED_EVERY`."""
TICK_S = 0.0005

Box = tuple[float, float, float, float]
Find = Callable[[Picture, bool], tuple[Box, ...]]
"""Faces in a picture; whether to look for turned ones too."""


def find_in(picture: Picture, turned: bool) -> tuple[Box, ...]:
    """The detector's finds."""
    return find_faces(picture, turned=turned)


@dataclass(frozen=True)
class FaceLook:
    """What was found at a moment of the clip, and whether the picture was searched turned, too."""

    time_s: float
    turned: bool
    boxes: tuple[Box, ...]


def runs_over(start_s: float, end_s: float) -> range:
    """The numbers of the runs of `TOGETHER` looks that a stretch of a clip needs.

    >>> runs_over(0.0, 8.9), runs_over(8.0, 20.0)
    (range(0, 1), range(0, 3))
    """
    length_s = EVERY_S * TOGETHER
    return range(floor(start_s / length_s), max(floor(start_s / length_s) + 1, ceil(end_s / length_s)))


def looks_of_run(path: Path, number: int, find: Find = find_in, *, progress: Progress | None = None) -> tuple[FaceLook, ...]:
    """The looks of a run, and a turned one at its end, or at the end of the clip.

    `progress` is told after each look; what it raises ends the work.
    """
    start_s, end_s = (EVERY_S * TOGETHER * at for at in (number, number + 1))
    found: list[FaceLook] = []
    for at, frame in enumerate(read_frames(path, start_s, end_s - TICK_S, step_s=EVERY_S)):
        turned = at % TURNED_EVERY == 0
        found.append(FaceLook(max(start_s, frame.time_s), turned, find(frame.image, turned)))
        if progress:
            progress(min(0.99, len(found) / TOGETHER))
    last = grab(path, end_s)
    return (*found, FaceLook(max(last.time_s, found[-1].time_s if found else start_s), True, find(last.image, True)))


def told_within(progress: Progress | None, at: int, of: int) -> Progress | None:
    """Progress of one of several runs, as progress of all."""
    if progress is None:
        return None
    tell = progress
    return lambda share: tell((at + share) / of)


def faces_over(path: Path, start_s: float, end_s: float, *, find: Find = find_in, progress: Progress | None = None) -> FacesAt:
    """The faces of a stretch of a clip, looked for now."""
    runs = runs_over(start_s, end_s)
    looks: list[FaceLook] = []
    for at, number in enumerate(runs):
        looks += looks_of_run(path, number, find, progress=told_within(progress, at, len(runs)))
        if progress:
            progress((at + 1) / len(runs))
    return FacesAt(looks)


class FacesAt:
    """The boxes to hide at any moment: those of the look before and of the look after, of the turned looks around both, and on the way
    between finds, where one look missed a face that was found before and after it (`FaceTrack`).
    """

    def __init__(self, looks: Iterable[FaceLook]) -> None:
        self._looks = sorted(looks, key=lambda look: (look.time_s, look.turned))
        self._times = [look.time_s for look in self._looks]
        self._turned = [at for at, look in enumerate(self._looks) if look.turned]
        self._track = lru_cache(maxsize=4)(self._track_over)

    def at(self, time_s: float) -> tuple[Box, ...]:
        """Boxes in pixels of the upright clip."""
        if not self._looks:
            return ()
        here = min(max(0, bisect_right(self._times, time_s) - 1), len(self._looks) - 1)
        after = min(here + 1, len(self._looks) - 1)
        first = max((at for at in self._turned if at <= here), default=0)
        last = min((at for at in self._turned if at >= after), default=len(self._looks) - 1)
        boxes = [box for at in sorted({first, here, after, last}) for box in self._looks[at].boxes]
        return tuple(dict.fromkeys((*boxes, *self._track(first, last).at(time_s))))

    def _track_over(self, first: int, last: int) -> FaceTrack:
        return FaceTrack([Look(look.time_s, look.boxes) for look in self._looks[first : last + 1]])
