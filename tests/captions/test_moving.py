"""Overlays that go along with their marks: against the overlay that is described anew from the moved marks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from annotator.captions.moving import motions, moved
from annotator.captions.overlaid import PLATES_STAY_S, Post, ZoneTrack, between
from annotator.course import Course, Mark, Point, Station, Still, Surface
from annotator.marks import Overlay, overlay

SIZE = (640, 360)
Way = Callable[[float, float], Point]


def station() -> Station:
    still = Still(id="s1", time_s=1.0, clip=1, pts=0, width=SIZE[0], height=SIZE[1], file="", state="accepted")
    box = ((100.0, 100.0), (240.0, 100.0), (240.0, 220.0), (100.0, 220.0))
    hole = ((140.0, 140.0), (180.0, 140.0), (180.0, 180.0), (140.0, 180.0))
    marks = (
        Mark(id="m1", still="s1", surface="u1", rings=(box, hole), state="accepted"),
        Mark(id="m2", still="s1", surface="u2", rings=(((200.0, 60.0), (420.0, 80.0), (400.0, 160.0), (220.0, 150.0)),), state="accepted"),
        Mark(id="m3", still="s1", surface="u3", line=((450.0, 100.0), (560.0, 260.0)), width=12.0, state="accepted"),
    )
    surfaces = (
        Surface(id="u1", name="box", ruling="in", state="accepted"),
        Surface(id="u2", name="frame", ruling="out", state="accepted"),
        Surface(id="u3", name="rail", ruling="in", state="accepted"),
    )
    return Station(id="t1", number=1, name="box", start=0, end=9, surfaces=surfaces, stills=(still,), marks=marks, state="accepted")


def gone(marks: tuple[Mark, ...], way: Way, width: float = 1.0) -> tuple[Mark, ...]:
    """The marks with each point moved, lines made wider."""

    def one(mark: Mark) -> Mark:
        if mark.rings is not None:
            return mark.model_copy(update={"rings": tuple(tuple(way(x, y) for x, y in ring) for ring in mark.rings)})
        return mark.model_copy(update={"line": tuple(way(x, y) for x, y in mark.line or ()), "width": (mark.width or 1) * width})

    return tuple(map(one, marks))


WAYS = [
    pytest.param(lambda x, y: (x + 9.0, y - 4.0), 1.0, id="pan"),
    pytest.param(lambda x, y: (320 + 1.05 * (x - 320), 180 + 1.05 * (y - 180)), 1.05, id="a step nearer"),
    pytest.param(
        lambda x, y: (320 + 0.9986 * (x - 320) - 0.0523 * (y - 180), 180 + 0.0523 * (x - 320) + 0.9986 * (y - 180)),
        1.0,
        id="a tilt of 3 degrees",
    ),
]


def outline(described: Overlay, surface: str) -> np.ndarray:
    item = next(item for item in described.items if item.surface == surface)
    return np.array([point for rings in item.polygons for ring in rings for point in ring])


def apart_px(one: np.ndarray, other: np.ndarray) -> float:
    """From each point of one outline to the nearest of the other, the farthest; drawing may begin a ring at another point."""
    return float(np.sqrt(((one[:, None] - other[None]) ** 2).sum(axis=2)).min(axis=1).max())


@pytest.mark.parametrize(("way", "width"), WAYS)
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_what_goes_along_lies_where_it_would_be_described_anew(way: Way, width: float, share: float) -> None:
    here, course = station(), Course(name="demo", title="Demo")
    end = gone(here.marks, way, width)
    start = overlay(course, here, "s1")
    found = motions(start, here.marks, end)
    assert found is not None
    how, bends_px = found
    assert bends_px < 0.01
    along = moved(start, how, share)
    marks = tuple(between(one, other, share) for one, other in zip(here.marks, end, strict=True))
    anew = overlay(course, here.model_copy(update={"marks": marks}), "s1")
    for name in ("u1", "u2", "u3"):
        assert apart_px(outline(along, name), outline(anew, name)) < 0.6, name
    for item in along.items:
        for plate in item.plates:
            assert 0 <= plate.x <= SIZE[0] - plate.width
            assert 0 <= plate.y <= SIZE[1] - plate.height


def test_a_mark_that_bends_is_described_anew() -> None:
    here, course = station(), Course(name="demo", title="Demo")

    def bent(x: float, y: float) -> Point:
        return (x + 12 * ((x - 100) / 140) * ((y - 100) / 120), y)

    posts = [Post(0.0, "s1", here.marks), Post(0.2, "s1", gone(here.marks, bent))]
    track = ZoneTrack(course, here, posts, SIZE, drafts=False)
    half = track.at(0.1)
    assert half is not None
    want = [between(one, other, 0.5) for one, other in zip(here.marks, posts[1].marks, strict=True)]
    anew = overlay(course, here.model_copy(update={"marks": tuple(want)}), "s1")
    assert apart_px(outline(half, "u2"), outline(anew, "u2")) < 1e-6


def test_plates_stay_with_their_surface_and_do_not_jump() -> None:
    here, course = station(), Course(name="demo", title="Demo")
    until_s = PLATES_STAY_S - 0.2
    posts = [Post(at * 0.2, "s1", gone(here.marks, lambda x, y, at=at: (x + at, y))) for at in range(round(until_s / 0.2) + 1)]  # type: ignore[misc]
    track = ZoneTrack(course, here, posts, SIZE, drafts=False)
    seen: dict[str, list[float]] = {}
    for at in range(round(until_s * 30)):
        shown = track.at(at / 30)
        assert shown is not None
        for item in shown.items:
            for plate in item.plates:
                seen.setdefault(item.surface, []).append(plate.x)
    for name, places in seen.items():
        assert np.abs(np.diff(places)).max() < 0.5, name
        assert places[-1] - places[0] == pytest.approx(5 * until_s, abs=0.3), name


def test_whether_zones_show_is_told_without_drawing() -> None:
    here, course = station(), Course(name="demo", title="Demo")
    posts = [Post(0.0, "s1", here.marks), Post(1.0, "s1", here.marks), Post(2.0, "s1", ()), Post(3.0, "s1", here.marks)]
    track = ZoneTrack(course, here, posts, SIZE, drafts=False)
    for time_s in (-0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5):
        assert track.shows_at(time_s) == (track.at(time_s) is not None), time_s
