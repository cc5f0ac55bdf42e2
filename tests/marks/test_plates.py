"""Which mark each plate tells of: on the demo's true marks in five languages, and on drawn scenes.

What holds is worked out here with a geometry library (GEOS), not with the grids that places are looked for in.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from annotator.booklet import LANGUAGES, Wording
from annotator.course import Course, Mark, Station, Still, Surface
from annotator.marks import Overlay, OverlayItem, Plate, overlay, plate_costs
from annotator.marks.outlines import Area, polygons_of
from annotator.marks.plate_lines import segments_meet, segments_meet_boxes
from annotator.marks.plates import place_plates
from annotator.recent import Recent
from tests.marks.makers import course as course_of
from tests.marks.makers import mark, square, station, surface

SAMPLE = Path(__file__).resolve().parents[2] / "sample_media"
SIZE = (1280, 720)
UNIT = SIZE[0] / 400
NEAR = 16.0
"""Screen pixels: "beside" its mark."""


@cache
def demo() -> tuple[tuple[Course, Station], ...]:
    """The demo's stills with their true marks, a station each, ruled as its answers say."""
    gold = json.loads((SAMPLE / "truth" / "gold.json").read_text("utf-8"))
    told = json.loads((SAMPLE / "marks.json").read_text("utf-8"))
    truth = {one["still"]: one for one in json.loads((SAMPLE / "truth" / "stills.json").read_text("utf-8"))["stills"]}
    return tuple(_still(entry, gold, told["marks"], truth[entry["still"]]) for entry in told["stills"])


def _still(entry: dict[str, Any], gold: dict[str, Any], marks: Sequence[dict[str, Any]], truth: dict[str, Any]) -> tuple[Course, Station]:
    sheet = next(one for one in gold["stations"] if one["number"] == entry["station"])
    ruled = {(one["surface"], one.get("part")): one for one in gold["blanket"] if one["rule"] == "surface"}
    ruled |= {(one["name"], one.get("part")): one for one in sheet["surfaces"]}
    surfaces: dict[tuple[str, str | None], Surface] = {}
    drawn = []
    for number, one in enumerate(each for each in marks if each["still"] == entry["still"]):
        key = (one["surface"], one.get("part"))
        said = ruled.get(key) or ruled.get((key[0], None)) or {}
        kept = {name: said[name] for name in ("role", "ruling", "contact", "overshoot") if name in said}
        surfaces.setdefault(
            key,
            Surface.model_validate(
                {"id": f"u{len(surfaces)}", "name": key[0], "part": key[1], "ruling": "out", "state": "accepted", **kept}
            ),
        )
        shape = {name: one[name] for name in ("rings", "line", "width") if name in one}
        drawn.append(
            Mark.model_validate({"id": f"m{number}", "still": entry["still"], "surface": surfaces[key].id, "state": "accepted", **shape})
        )
    width, height = truth["width"], truth["height"]
    still = Still(id=entry["still"], time_s=1.0, clip=1, pts=0, width=width, height=height, file="0" * 64, state="accepted")
    there = Station(
        id="t1", number=entry["station"], name=sheet["name"], start=0, end=1, contact=sheet.get("contact"), state="accepted",
        surfaces=tuple(surfaces.values()), stills=(still,), marks=tuple(drawn),
    )  # fmt: skip
    return Course(name="demo", title="Demo", order=("t1",)), there


@cache
def drawings() -> tuple[Overlay, ...]:
    """Each still in five languages, as on a phone and on a card."""
    return tuple(_drawings())


def _drawings() -> Iterator[Overlay]:
    for course, there in demo():
        (still,) = there.stills
        for language in LANGUAGES:
            for shown_px in (480, 400) if still.width >= still.height else (400, 240):
                yield overlay(course, there, still.id, unit=still.width / shown_px, words=Wording(language).plates)


def shape(item: OverlayItem) -> Area:
    return polygons_of(shapely.union_all([shapely.Polygon(rings[0], rings[1:]).buffer(0) for rings in item.polygons]))


def named(drawing: Overlay) -> list[tuple[Plate, Area, list[Area]]]:
    """Each plate with its own mark and the others."""
    shapes = [shape(item) for item in drawing.items]
    return [
        (plate, own, [other for other in shapes if other is not own])
        for item, own in zip(drawing.items, shapes, strict=True)
        for plate in item.plates
    ]


def told(drawing: Overlay, plate: Plate) -> str:
    return f"{drawing.still} at {drawing.unit:.2f}: {plate.lines}"


def test_plates_of_the_demo_tell_of_their_own_mark() -> None:
    seen = 0
    for drawing in drawings():
        plates = named(drawing)
        for plate, own, others in plates:
            seen += 1
            if plate.leader is not None:
                assert all(plate.box.intersection(other).area < 1.0 for other in others), f"{told(drawing, plate)} stands on another thing"
            else:
                px = plate.box.distance(own)
                assert px <= NEAR * drawing.unit, f"{told(drawing, plate)} is far from its own"
                nearest = min((plate.box.distance(other) for other in others), default=np.inf)
                assert px <= 5 * drawing.unit or nearest >= 0.8 * px - 1e-6, f"{told(drawing, plate)} is nearer to another thing"
        for (one, _, _), (other, _, _) in combinations(plates, 2):
            assert not one.box.intersects(other.box), f"{told(drawing, one)} and {other.lines} lie on each other"
    assert seen > 700


def test_no_two_lines_of_the_demo_cross() -> None:
    for drawing in drawings():
        led = [(plate, LineString(plate.leader)) for plate, _, _ in named(drawing) if plate.leader is not None]
        assert not [(told(drawing, one), other.lines) for (one, line), (other, across) in combinations(led, 2) if line.intersects(across)]


def test_a_start_and_a_finish_side_by_side_each_have_their_own_plate() -> None:
    """A long plate of the finish must not take the start's only place: whichever is put down first."""
    there = station(
        [surface("u1", "purple platform", role="start"), surface("u2", "blue mat", role="finish", overshoot="allowed")],
        [mark("m1", "u1", square(15, 530, 320, 665)), mark("m2", "u2", ((390, 580), (930, 580), (985, 690), (350, 690)))],
        width=SIZE[0], height=SIZE[1],
    )  # fmt: skip
    for language in LANGUAGES:
        drawing = overlay(course_of(), there, "s1", unit=UNIT, words=Wording(language).plates)
        for plate, own, (other,) in named(drawing):
            assert plate.box.distance(own) < plate.box.distance(other), (language, plate.lines)
            assert plate.leader is None


MARKS = st.lists(st.tuples(st.integers(0, 1100), st.integers(0, 600), st.integers(20, 160), st.integers(20, 110)), min_size=2, max_size=5)


@settings(deadline=None, max_examples=25)
@given(MARKS)
def test_a_plate_with_a_line_stands_on_no_mark_while_there_is_room(marks: list[tuple[int, int, int, int]]) -> None:
    # Five marks and five plates of these sizes take at most a sixth of the picture.
    areas = [box(x, y, x + w, y + h) for x, y, w, h in marks]
    for area, plates in zip(areas, place_plates([(area, ("FINISH",)) for area in areas], SIZE, SIZE[0] / 480), strict=True):
        for plate in plates:
            assert plate.leader is None or all(plate.box.intersection(other).area == 0 for other in areas if other is not area)


@settings(deadline=None, max_examples=25)
@given(MARKS)
def test_lines_cross_only_where_changing_the_two_places_would_not_do(marks: list[tuple[int, int, int, int]]) -> None:
    """Two plates of one size whose lines cross could change places: then both lines are shorter, and cross no more."""
    areas = [box(x, y, x + w, y + h) for x, y, w, h in marks]
    placed = place_plates([(area, ("FINISH",)) for area in areas], SIZE, SIZE[0] / 480)
    led = [(plate, LineString(plate.leader)) for (plate,) in placed if plate.leader is not None]
    assert not [(one, other) for (one, line), (other, across) in combinations(led, 2) if line.intersects(across)]


ENDS = st.tuples(*[st.integers(0, 40)] * 4)


@settings(deadline=None, max_examples=200)
@given(ENDS, ENDS)
def test_lines_and_rectangles_meet_where_the_geometry_library_says_so(one: tuple[int, ...], other: tuple[int, ...]) -> None:
    line, across = (LineString([(ends[0], ends[1]), (ends[2], ends[3])]) for ends in (one, other))
    first, second = np.array([one], np.float64), np.array([other], np.float64)
    sides = (min(other[0], other[2]), min(other[1], other[3]), max(other[0], other[2]) + 1, max(other[1], other[3]) + 1)
    assert segments_meet_boxes(first, np.array([sides], np.float64))[0] == line.intersects(box(*sides))
    if line.length and across.length and shapely.convex_hull(shapely.union(line, across)).area:  # not along one line
        assert segments_meet(first, second)[0] == line.intersects(across)


def test_no_line_meets_nothing() -> None:
    nothing, line = np.full((1, 4), np.nan), np.array([[0.0, 0.0, 9.0, 9.0]])
    assert not segments_meet(nothing, line)[0]
    assert not segments_meet_boxes(nothing, np.array([[0.0, 0.0, 9.0, 9.0]]))[0]


@pytest.mark.parametrize("count", [0, 1])
def test_few_marks_have_their_plates(count: int) -> None:
    placed = place_plates([(box(100, 100, 300, 200), ("IN",))] * count, SIZE, UNIT)
    assert [len(plates) for plates in placed] == [1] * count


def test_places_that_were_found_before_are_those_that_are_found_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    mats = [box(200, 200, 330, 300), box(380, 210, 520, 290), box(240, 320, 420, 380)]
    drawn: list[tuple[list[Polygon], str, tuple[int, int], float]] = [
        (mats, "IN", SIZE, UNIT),
        (mats, "OUT OF PLAY", SIZE, UNIT),
        (mats, "IN", SIZE, 2 * UNIT),
        (mats, "IN", (720, 720), UNIT),
        ([*mats[:2], box(240, 320, 420, 400)], "IN", SIZE, UNIT),
        (mats[::-1], "IN", SIZE, UNIT),
    ]

    def placed(areas: Sequence[Polygon], line: str, size: tuple[int, int], unit: float) -> object:
        return place_plates([(area, (line,)) for area in areas], size, unit)

    together = [placed(*way) for way in (*drawn, *drawn)]
    alone = []
    for way in drawn:
        monkeypatch.setattr(plate_costs, "_listed", Recent(1))
        alone.append(placed(*way))
    assert together == [*alone, *alone]
    assert len({str(one) for one in alone}) > 3
