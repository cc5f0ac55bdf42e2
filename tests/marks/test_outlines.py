"""Outlines as areas, against worked values and against the standard on simple features."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks import area
from tests.marks.makers import mark

# Areas and rings of OGC 06-103r4 (well-known text examples) and of the shoelace formula, worked by hand.
U_SHAPE = ((0, 0), (6, 0), (6, 6), (4, 6), (4, 2), (2, 2), (2, 6), (0, 6))


@pytest.mark.parametrize(
    ("rings", "expected"),
    [
        pytest.param([U_SHAPE], 28, id="a-U"),
        pytest.param([((0, 0), (4, 0), (0, 3))], 6, id="triangle"),
        pytest.param([((0, 0), (0, 3), (4, 0))], 6, id="triangle-the-other-way-round"),
        pytest.param([((30, 10), (40, 40), (20, 40), (10, 20))], 550, id="ogc-polygon"),
        pytest.param([((35, 10), (45, 45), (15, 40), (10, 20)), ((20, 30), (35, 35), (30, 20))], 675, id="ogc-polygon-with-a-hole"),
        pytest.param([((1, 6), (3, 1), (7, 2), (4, 4), (8, 5))], 16.5, id="shoelace-example"),
        pytest.param([((0, 0), (10, 0), (10, 10), (0, 10)), ((3, 3), (7, 3), (7, 7), (3, 7))], 84, id="square-with-a-hole"),
        pytest.param([((0, 0), (2, 2), (2, 0), (0, 2))], 2, id="bow-tie-is-two-triangles"),
        pytest.param([((0, 0), (10, 0), (10, 10), (0, 10), (0, 0))], 100, id="closed-ring"),
        pytest.param([((0, 0), (0, 0), (10, 0), (10, 0), (10, 10), (0, 10))], 100, id="repeated-points"),
        pytest.param([((0, 0), (10, 0), (10, 10), (0, 10)), ((5, 5), (20, 5), (20, 20), (5, 20))], 75, id="hole-that-reaches-out"),
        pytest.param([((0, 0), (10, 0), (10, 10), (0, 10)), ((1, 1), (1, 1), (1, 1))], 100, id="hole-of-one-point-takes-nothing"),
        pytest.param(
            [((0, 0), (10, 0), (10, 10), (0, 10)), ((1, 1), (5, 1), (5, 5), (1, 5)), ((3, 3), (8, 3), (8, 8), (3, 8))],
            100 - 16 - 25 + 4,
            id="holes-that-overlap-count-once",
        ),
    ],
)
def test_an_outline_covers_its_worked_area(rings: list[tuple[tuple[float, float], ...]], expected: float) -> None:
    found = area(mark("m1", "u1", *rings))
    assert found.is_valid
    assert found.area == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("line", "width", "expected"),
    [
        pytest.param([(0, 50), (100, 50)], 8, 800, id="straight-bar-ends-where-it-was-drawn"),
        pytest.param([(0, 50), (50, 50), (50, 50), (100, 50)], 8, 800, id="repeated-point"),
        # Corner: two arms of 50 x 8 that share a 4 x 4 square, and a round quarter of radius 4 outside.
        pytest.param([(0, 0), (50, 0), (50, 50)], 8, 2 * 50 * 8 - 16 + math.pi * 16 / 4, id="round-corner"),
    ],
)
def test_a_line_covers_its_width(line: list[tuple[float, float]], width: float, expected: float) -> None:
    assert area(mark("m1", "u1", line=line, width=width)).area == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("made", "reason"),
    [
        pytest.param(mark("m1", "u1", ((5, 5), (5, 5), (5, 5))), "one point only", id="one-point"),
        pytest.param(mark("m1", "u1", ((5, 5), (9, 9), (5, 5))), "covers no area", id="there-and-back"),
        pytest.param(mark("m1", "u1", ((5, 5), (9, 9), (13, 13))), "covers no area", id="all-on-one-line"),
        pytest.param(mark("m1", "u1", line=[(5, 5), (5, 5)], width=4), "begins and ends at one point", id="line-of-one-point"),
        pytest.param(mark("m1", "u1", ((500, 5), (600, 5), (600, 90))), "outside the still, which is 400 x 300", id="outside"),
        pytest.param(mark("m1", "u1", ((-9, 0), (0, 0), (0, 30), (-9, 30))), "outside the still", id="touches-the-frame-from-outside"),
        pytest.param(
            mark("m1", "u1", ((0, 0), (9, 0), (9, 9), (0, 9)), ((-1, -1), (10, -1), (10, 10), (-1, 10))), "no area", id="all-hole"
        ),
    ],
)
def test_what_is_no_area_is_refused_with_its_reason(made: Mark, reason: str) -> None:
    with pytest.raises(InvalidMark, match=reason) as caught:
        area(made, (400, 300))
    assert caught.value.mark == "m1"


def test_an_area_is_cut_to_the_still() -> None:
    assert area(mark("m1", "u1", ((-50, -50), (50, -50), (50, 50), (-50, 50))), (400, 300)).bounds == (0, 0, 50, 50)


def test_a_million_points_around_a_thing_keep_its_area() -> None:
    turn = np.linspace(0, 2 * math.pi, 1_000_000, endpoint=False)
    ring = tuple(zip((500 + 300 * np.cos(turn)).tolist(), (500 + 300 * np.sin(turn)).tolist(), strict=True))
    found = area(mark("m1", "u1", ring))
    assert found.area == pytest.approx(math.pi * 300**2, rel=1e-4)
    assert shapely.get_num_coordinates(found) < 10_000


@pytest.mark.parametrize("count", [400, 9_000, 300_000])
def test_a_scribble_is_refused_soon_instead_of_mended_for_minutes(count: int) -> None:
    points = np.random.default_rng(count).uniform(0, 1000, (count, 2)).tolist()
    with pytest.raises(InvalidMark, match=r"crosses itself about|too long after thinning"):
        area(mark("m1", "u1", [tuple(point) for point in points]))


coordinates = st.floats(-50, 450, allow_nan=False).map(lambda value: round(value, 2))
points = st.tuples(coordinates, coordinates)


@given(st.lists(points, min_size=3, max_size=9), st.lists(points, min_size=3, max_size=5))
def test_any_outline_is_mended_to_a_valid_area_or_refused(outline: list[tuple[float, float]], hole: list[tuple[float, float]]) -> None:
    try:
        found = area(mark("m1", "u1", outline, hole))
    except InvalidMark:
        return
    assert found.is_valid
    assert found.area > 0


@given(
    st.one_of(
        st.fixed_dictionaries({"rings": st.lists(st.lists(points, min_size=3, max_size=6), min_size=1, max_size=3)}),
        st.fixed_dictionaries({"line": st.lists(points, min_size=2, max_size=6), "width": st.floats(0.1, 90)}),
    ),
    st.sampled_from(["draft", "accepted"]),
)
def test_a_mark_written_as_json_and_read_again_is_equal(shape: dict[str, object], state: str) -> None:
    made = mark("m1", "u1", state=state, **shape)
    assert Mark.model_validate_json(made.model_dump_json()) == made
