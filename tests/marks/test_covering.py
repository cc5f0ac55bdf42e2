"""What rectangles would lie on, against the exact areas and distances of a geometry library."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from annotator.marks.covering import FAR, Window, drawn_area, drawn_edges, empty
from annotator.marks.outlines import polygons_of

SIZE = (640, 360)
CELL = 4.0
CORNERS = st.lists(st.tuples(st.floats(0, 640), st.floats(0, 360)), min_size=3, max_size=8)
WINDOW = Window(wide=17, high=6, first=(3, 2), end=(140, 80))


def at(window: Window, column: int, row: int) -> Polygon:
    x, y = (window.first[0] + column) * CELL, (window.first[1] + row) * CELL
    return box(x, y, x + window.wide * CELL, y + window.high * CELL)


@settings(deadline=None, max_examples=60)
@given(CORNERS, st.integers(0, 136), st.integers(0, 77))
def test_what_lies_under_a_rectangle_is_right_to_a_cell_along_its_edges(corners: list[tuple[float, float]], column: int, row: int) -> None:
    area = polygons_of(Polygon(corners).buffer(0))
    spot = at(WINDOW, column, row)
    found = WINDOW.under(drawn_area(area, SIZE, CELL))[row, column] * CELL**2
    edges = area.boundary.intersection(spot.buffer(CELL)).length + spot.length
    assert found == pytest.approx(area.intersection(spot).area, abs=1.5 * CELL * edges + 4 * CELL**2)


@settings(deadline=None, max_examples=60)
@given(CORNERS, st.integers(0, 136), st.integers(0, 77))
def test_the_way_from_a_rectangle_is_right_to_two_cells(corners: list[tuple[float, float]], column: int, row: int) -> None:
    area = polygons_of(Polygon(corners).buffer(0))
    grid = drawn_area(area, SIZE, CELL)
    found = WINDOW.way(grid)[row, column] * CELL
    if grid.any():
        away = at(WINDOW, column, row).distance(area)
        assert found == pytest.approx(away, rel=0.03, abs=2 * CELL)
    else:
        assert found == FAR * CELL


@settings(deadline=None, max_examples=60)
@given(CORNERS, st.integers(0, 136), st.integers(0, 77))
def test_no_edge_under_a_rectangle_is_missed(corners: list[tuple[float, float]], column: int, row: int) -> None:
    area = polygons_of(Polygon(corners).buffer(0))
    touched = WINDOW.touched(drawn_edges([area], SIZE, CELL), air=2)[row, column]
    assert touched or not at(WINDOW, column, row).buffer(CELL).intersects(area.boundary)


def test_holes_and_second_parts_are_drawn_as_they_are() -> None:
    ring = Polygon([(40, 40), (240, 40), (240, 240), (40, 240)], [[(80, 80), (80, 200), (200, 200), (200, 80)]])
    area = polygons_of(MultiPolygon([ring, box(100, 100, 160, 160), box(300, 40, 400, 80)]))
    grid = drawn_area(area, SIZE, 2.0)
    assert grid.sum() * 4 == pytest.approx(area.area, abs=0.6 * 2.0 * area.length)  # half a cell along every edge, and corners
    in_the_hole, in_the_island = Window(6, 56, (42, 42), (43, 43)), Window(26, 26, (52, 52), (53, 53))
    assert [window.under(grid).tolist() for window in (in_the_hole, in_the_island)] == [[[0.0]], [[26.0 * 26]]]


def test_to_nothing_there_is_no_way() -> None:
    assert (WINDOW.way(empty(SIZE, CELL)) == FAR).all()
