"""What lies under rectangles, against the exact areas of a geometry library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from annotator.marks.covering import Sums, drawn_area, drawn_edges
from annotator.marks.outlines import polygons_of

SIZE = (640, 360)
CELL = 4.0
Spot = tuple[float, float, float, float]
SPOTS = st.tuples(st.floats(0, 600), st.floats(0, 320), st.floats(8, 300), st.floats(8, 200)).map(
    lambda at: (at[0], at[1], at[0] + at[2], at[1] + at[3])
)


@settings(deadline=None, max_examples=80)
@given(
    corners=st.lists(st.tuples(st.floats(0, 640), st.floats(0, 360)), min_size=3, max_size=8), spots=st.lists(SPOTS, min_size=1, max_size=6)
)
def test_what_lies_under_a_rectangle_is_right_to_a_cell_along_its_edges(corners: list[tuple[float, float]], spots: list[Spot]) -> None:
    area = polygons_of(Polygon(corners).buffer(0))
    found = Sums(drawn_area(area, SIZE, CELL), CELL).under(np.array(spots))
    for spot, value in zip(spots, found, strict=True):
        edges = area.boundary.intersection(box(*spot).buffer(CELL)).length + box(*spot).length
        assert value == pytest.approx(area.intersection(box(*spot)).area, abs=1.5 * CELL * edges + 4 * CELL**2)


def test_holes_and_second_parts_are_drawn_as_they_are() -> None:
    ring = Polygon([(40, 40), (240, 40), (240, 240), (40, 240)], [[(80, 80), (80, 200), (200, 200), (200, 80)]])
    area = polygons_of(MultiPolygon([ring, box(100, 100, 160, 160), box(300, 40, 400, 80)]))
    sums = Sums(drawn_area(area, SIZE, 2.0), 2.0)
    assert sums.total_px2 == pytest.approx(area.area, abs=0.6 * 2.0 * area.length)  # half a cell along every edge, and corners
    assert sums.under(np.array([[84.0, 84.0, 96.0, 196.0], [104.0, 104.0, 156.0, 156.0]])).tolist() == [0.0, 52.0**2]


@settings(deadline=None, max_examples=80)
@given(corners=st.lists(st.tuples(st.integers(0, 640), st.integers(0, 360)), min_size=3, max_size=8), spot=SPOTS)
def test_an_edge_that_crosses_a_rectangle_by_more_than_a_cell_is_seen(corners: list[tuple[int, int]], spot: Spot) -> None:
    area = polygons_of(Polygon(corners).buffer(0))
    touched = Sums(drawn_edges([area], SIZE, CELL), CELL).touched(np.array([spot]))[0]
    if area.boundary.intersects(box(*spot).buffer(-CELL)):
        assert touched > 0
    if area.boundary.distance(box(*spot)) > 2 * CELL:
        assert touched == 0


def test_what_lies_outside_the_still_covers_nothing() -> None:
    sums = Sums(drawn_area(polygons_of(box(0, 0, 640, 360)), SIZE, CELL), CELL)
    assert sums.under(np.array([[-90.0, -90.0, -10.0, -10.0], [700.0, 10.0, 800.0, 60.0]])).tolist() == [0.0, 0.0]
