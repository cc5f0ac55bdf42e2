"""Where in the walk a station's stills should come from: the moments at which the speaker names what may be touched.

In: a station with its evidence, and the clips. Out: spans of clip time. Which frame of a span is taken is media's business.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import count

from annotator.course import Clip, Station

BEFORE_S, AFTER_S = 0.4, 1.8  # people point while they speak and just after; common practice, no published source
JOIN_S = 4.0  # words that fall closer together than this are shown by one still
MOST = 4  # stills a station


@dataclass(frozen=True)
class StillWindow:
    """A span of one clip, in clip time, and what is said in it."""

    clip: int
    start_s: float
    end_s: float
    about: tuple[str, ...]


def clip_at(clips: Sequence[Clip], time_s: float) -> Clip:
    """The clip that runs at a walk time; the last one after the end."""
    return next((clip for clip in reversed(clips) if clip.start_s <= time_s), clips[0])


def free_still_id(station: Station, taken: Collection[str]) -> str:
    """An id for one more still of a station, which no still of the course has: pictures are kept by it.

    >>> free_still_id(Station(id="t1", number=4, start=0, end=9), {"s04-1"})
    's04-2'
    """
    return next(name for n in count(1) if (name := f"s{station.number:02}-{n}") not in taken)


def still_windows(station: Station, clips: Sequence[Clip]) -> tuple[StillWindow, ...]:
    """At most four spans of the station in which its surfaces are named, in order; the middle of the station where none is.

    Start and finish keep their span when there are too many; the spans that name the fewest surfaces go first.
    """
    moments = sorted({(said.start, said.end, surface.name, surface.role) for surface in station.surfaces for said in surface.said[:2]})
    groups: list[list[tuple[float, float, str, str]]] = []
    for moment in moments:
        if groups and moment[0] - groups[-1][0][0] < JOIN_S and clip_at(clips, moment[0]) == clip_at(clips, groups[-1][0][0]):
            groups[-1].append(moment)
        else:
            groups.append([moment])
    ends = {
        id(group) for role in ("start", "finish") for group in [next((g for g in groups if any(m[3] == role for m in g)), None)] if group
    }
    while len(groups) > MOST:
        spare = [group for group in groups if id(group) not in ends] or groups
        groups.remove(min(spare, key=len))
    if not groups:
        middle = (station.start + station.end) / 2
        groups = [[(middle, middle, "", "route")]]
    return tuple(_window(group, clips) for group in groups)


def _window(group: Sequence[tuple[float, float, str, str]], clips: Sequence[Clip]) -> StillWindow:
    clip = clip_at(clips, group[0][0])
    start = max(0.0, group[0][0] - clip.start_s - BEFORE_S)
    end = min(clip.duration_s, max(moment[1] for moment in group) - clip.start_s + AFTER_S)
    about = tuple(dict.fromkeys(moment[2] for moment in group if moment[2]))
    return StillWindow(clip.number, min(start, max(0.0, clip.duration_s - 0.1)), max(end, start + 0.1), about)
