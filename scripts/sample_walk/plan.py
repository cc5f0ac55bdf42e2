"""Direct the demo walk: when the camera goes where, which frames exist, which of them are stills, and who demonstrates what when.

In: the walk, what was spoken, the hall. Out: a shooting plan a clip. Pure; the filming is film.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scripts.sample_walk.camera import Key, Lens
from scripts.sample_walk.figure import body_in, shirt_of, solids_of
from scripts.sample_walk.hall import Hall
from scripts.sample_walk.solids import Solid
from scripts.sample_walk.speech import Take, TimedSentence
from scripts.sample_walk.walkfile import Section, Shape, Walk

LENSES: dict[Shape, Lens] = {"landscape": Lens(960, 540, 711.0), "portrait": Lens(540, 960, 640.0)}
TICKS_A_SECOND = 600
"""Presentation times are whole numbers of these in both clips."""
FRAME_TICKS = 40
"""15 frames a second, before the second clip loses some."""

SIGHT_M = 13.0

Place = tuple[float, float, float]

STATION_X = (3.2, 9.0, 15.3, 20.7, 29.3, 33.7, 39.9, 44.1)
STATION_Y = (0.75, 1.15, 0.80, 1.25, 1.30, 1.00, 1.30, 1.35)
STATION_AWAY = (5.7, 5.7, 5.7, 5.7, 4.5, 5.0, 4.5, 5.2)
VIEWS: dict[str, tuple[Place, Place]] = {
    "hall": ((-2.4, 1.75, 4.9), (5.5, 1.0, -0.6)),
    "first post": ((0.9, 1.75, 3.6), (2.3, 0.85, -1.5)),
    "onward": ((22.6, 1.75, 5.4), (26.5, 1.3, -1.2)),
    "back": ((46.5, 1.75, 5.4), (40.5, 0.9, -0.8)),
}
SECOND_HALL: tuple[Place, Place] = ((26.4, 1.75, 5.2), (33.0, 1.0, -0.8))


@dataclass(frozen=True)
class StillPlan:
    """A frame whose truth is kept."""

    id: str
    station: int
    frame: int


@dataclass(frozen=True)
class Act:
    """A demonstration and when it runs."""

    act: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Shoot:
    """How one clip is filmed. Times in seconds of the clip; `ticks` are the presentation times of its frames."""

    clip: int
    lens: Lens
    keys: tuple[Key, ...]
    ticks: tuple[int, ...]
    end_tick: int
    stills: tuple[StillPlan, ...]
    acts: tuple[Act, ...]


def plan_clip(walk: Walk, take: Take, hall: Hall) -> Shoot:
    """The shooting plan of one clip."""
    shape = walk.clips[take.clip - 1].shape
    end_tick = int(np.ceil(take.duration_s * TICKS_A_SECOND / FRAME_TICKS)) * FRAME_TICKS
    ticks = frame_ticks(end_tick, steady=shape == "landscape", seed=walk.seed)
    keys: list[Key] = []
    stills: list[StillPlan] = []
    acts: list[Act] = []
    for index, section in enumerate(walk.sections):
        if section.clip != take.clip:
            continue
        said = [s for s in take.sentences if s.section == index]
        whole = _whole(section, shape, keys)
        if section.station is not None:
            keys.append(_go(keys, said[0].start_s - 1.2, 3.4, whole))
        for sentence, written in zip(said, section.say, strict=True):
            if written.look is not None:
                view = _view(written.look, whole, section, hall, shape, take.clip)
                slow = 3.4 if section.station is None and keys else 1.5
                keys.append(_go(keys, sentence.start_s - 0.3, slow, view))
            if written.still is not None and section.station is not None:
                frame = still_frame(ticks, sentence)
                stills.append(StillPlan(f"s{section.station:02}-{written.still}", section.station, frame))
            if written.act is not None:
                start = sentence.start_s + 0.5
                acts.append(Act(written.act, start, sentence.until_s - 0.3))
    return Shoot(take.clip, LENSES[shape], tuple(keys), tuple(ticks), end_tick, tuple(stills), tuple(acts))


def frame_ticks(end_tick: int, steady: bool, seed: int) -> list[int]:
    """Presentation times: every FRAME_TICKS, or as a phone in poor light does it: some frames late or early, some missing.

    >>> frame_ticks(160, steady=True, seed=1)
    [0, 40, 80, 120]
    """
    regular = list(range(0, end_tick, FRAME_TICKS))
    if steady:
        return regular
    rng = np.random.default_rng(seed)
    found = [0]
    for tick in regular[1:]:
        missing, late = rng.random() < 0.12, int(rng.integers(-6, 7))
        if not missing:
            found.append(tick + late)
    return found


def still_frame(ticks: Sequence[int], sentence: TimedSentence) -> int:
    """The frame at three quarters of a sentence, but not before the camera has come to rest."""
    wanted = max(sentence.start_s + 1.7, sentence.start_s + 0.75 * (sentence.end_s - sentence.start_s))
    return int(np.searchsorted(ticks, wanted * TICKS_A_SECOND, side="right")) - 1


def figure_at(shoot: Shoot, time_s: float, number: int, near_x: float) -> list[Solid]:
    """The demonstrators who stand or move within SIGHT_M of `near_x` at `time_s`."""
    found: list[Solid] = []
    for act in shoot.acts:
        share = (time_s - act.start_s) / (act.end_s - act.start_s)
        body = body_in(act.act, min(1.0, max(0.0, share)))
        if abs(float(body.hip[0]) - near_x) < SIGHT_M:
            found += _posed(act.act, min(1.0, max(0.0, share)), number)
    return found


@lru_cache(maxsize=8)
def _posed(act: str, share: float, number: int) -> tuple[Solid, ...]:
    """A demonstrator; the same solids again while they stand still."""
    return tuple(solids_of(body_in(act, share), number, shirt_of(act)))


def _go(keys: Sequence[Key], start_s: float, over_s: float, view: tuple[Place, Place]) -> Key:
    if not keys:
        return Key(0.0, 0.0, *view)
    return Key(max(start_s, keys[-1].start_s + 0.05), over_s, *view)


def _whole(section: Section, shape: Shape, keys: Sequence[Key]) -> tuple[Place, Place]:
    """The view of a whole station, or where the camera already is."""
    if section.station is None:
        return (keys[-1].place, keys[-1].target) if keys else VIEWS["hall"]
    x, y = STATION_X[section.station - 1], STATION_Y[section.station - 1]
    return (x, 1.75 if shape == "landscape" else 1.85, STATION_AWAY[section.station - 1]), (x, y, 0.0)


def _view(look: str, whole: tuple[Place, Place], section: Section, hall: Hall, shape: Shape, clip: int) -> tuple[Place, Place]:
    if look == "whole":
        return whole
    if look == "hall" and clip > 1:
        return SECOND_HALL
    if look in VIEWS:
        return VIEWS[look]
    if section.station is None:
        raise KeyError(f"only a station can look at {look!r}; elsewhere use one of {', '.join(VIEWS)}")
    (px, py, pz), (tx, ty, _) = whole
    thing = hall.middle_of(look, tx)
    turn, step = (0.25, 0.1) if shape == "landscape" else (0.7, 0.6)
    target = (tx + turn * (float(thing[0]) - tx), ty + 0.35 * (float(thing[1]) - ty), 0.0)
    return (px + step * (float(thing[0]) - tx), py, pz), target
