"""The middle of outlines, on discs and squares whose middle is known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from annotator.marks.crops import coverage
from annotator.marks.middle import middle_of

SHAPE = (120, 140)


def _disc(radius: float) -> NDArray[np.float64]:
    return np.asarray(Point(70, 60).buffer(radius, quad_segs=64).exterior.coords[:-1])


def test_the_likely_one_stands_where_it_is_all_but_sure() -> None:
    rings = [_disc(30), _disc(40)]
    assert middle_of(rings, np.array([2.0, 0.0]), SHAPE) is rings[0]
    assert middle_of(rings, np.array([0.0, 2.0]), SHAPE) is rings[1]
    assert middle_of(rings[:1], np.array([-7.0]), SHAPE) is rings[0]


def test_of_three_equally_likely_discs_it_is_the_middle_one() -> None:
    found = Polygon(middle_of([_disc(24), _disc(30), _disc(41)], np.zeros(3), SHAPE))
    assert found.area == pytest.approx(np.pi * 30**2, rel=0.01)


def test_where_they_part_more_than_half_of_the_likelihood_decides() -> None:
    whole = np.array([(20.0, 20.0), (100.0, 20.0), (100.0, 90.0), (20.0, 90.0)])
    notched = np.array([(20.0, 20.0), (50.0, 20.0), (50.0, 45.0), (70.0, 45.0), (70.0, 20.0), (100.0, 20.0), (100.0, 90.0), (20.0, 90.0)])
    for weights, expected in (([0.1, 0.0], whole), ([0.0, 0.1], notched)):
        assert Polygon(middle_of([whole, notched], np.array(weights), SHAPE)).symmetric_difference(Polygon(expected)).area < 25


def test_outlines_that_have_nothing_in_common_leave_the_likeliest() -> None:
    rings = [_disc(8) + np.array(off) for off in ((-50, -40), (50, -40), (50, 40))]
    assert middle_of(rings, np.array([0.0, 0.02, 0.0]), SHAPE) is rings[1]


def test_coverage_sums_to_the_area_that_shapely_tells() -> None:
    ring = _disc(30.3) + 0.37
    assert coverage(ring, SHAPE).sum() == pytest.approx(Polygon(ring).area, rel=0.005)
    assert coverage(ring + 500, SHAPE).sum() == 0
