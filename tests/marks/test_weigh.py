"""Weighing outlines of one thing, on a scene whose truth is exact."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import LinearRing, Point, Polygon

from annotator.marks.corners import likeness
from annotator.marks.crops import Floats, crop
from annotator.marks.rivals import rivals
from annotator.marks.weigh import CORNERS, VOTED, WAY, WEIGHTS, Outline, clues, weigh
from tests.marks.photos import opencv_doc
from tests.marks.test_snap import iou, laid_over

TRUE = np.array([(110.0, 90.0), (300.0, 110.0), (280.0, 220.0), (95.0, 190.0)])
DRAWN = TRUE + np.array([(-9, 6), (8, -7), (7, 9), (-6, -8)])
GROUND, THING = (np.asarray(cv2.resize(opencv_doc(name), (420, 300)), np.uint8) for name in ("building.jpg", "orange.jpg"))
PICTURE = laid_over(GROUND, THING, Polygon(TRUE))
HERE = crop(PICTURE, Polygon(DRAWN))
LIKE = likeness(HERE, HERE.rough, HERE.band_px)


def _into(ring: Floats) -> Floats:
    return np.asarray((ring - HERE.corner) * HERE.ratio)


@pytest.mark.parametrize("how", [VOTED, WAY, CORNERS])
def test_the_true_outline_weighs_more_than_one_beside_it(how: str) -> None:
    middle = TRUE.mean(axis=0)
    wrong = [TRUE + np.array([12, 0]), TRUE + np.array([0, -12]), middle + 0.85 * (TRUE - middle), middle + 1.15 * (TRUE - middle)]
    weights = weigh(HERE, LIKE, [Outline(_into(ring), how) for ring in (TRUE, *wrong)], _into(DRAWN), 200.0)
    assert int(np.argmax(weights)) == 0


def test_every_clue_has_a_weight_and_every_weight_a_clue() -> None:
    (seen,) = clues(HERE, LIKE, [Outline(_into(TRUE), VOTED)], _into(DRAWN), 200.0)
    assert list(seen) == list(WEIGHTS)
    assert all(np.isfinite(value) for value in seen.values())


@pytest.mark.parametrize("scale", [0.9, 1.15])
def test_what_was_drawn_too_large_or_too_small_tells_of_its_shape(scale: float) -> None:
    middle = TRUE.mean(axis=0)
    drawn, leaning = middle + scale * (TRUE - middle), TRUE + np.array([(24, 0), (24, 0), (-24, 0), (-24, 0)])
    here = crop(PICTURE, Polygon(drawn))
    into = [(ring - here.corner) * here.ratio for ring in (TRUE, leaning, drawn)]
    true, other = clues(here, likeness(here, here.rough, here.band_px), [Outline(ring, VOTED) for ring in into[:2]], into[2], 200.0)
    assert true["near, as large"] > 0.97
    assert other["near, as large"] < 0.9


def test_how_far_corners_are_off_is_what_shapely_says() -> None:
    ring, drawn = _into(TRUE), _into(DRAWN)
    (seen,) = clues(HERE, LIKE, [Outline(ring, VOTED)], drawn, 200.0)
    off = np.mean([LinearRing(ring).distance(Point(corner)) for corner in drawn])
    assert seen["corners off"] == pytest.approx(10 * off / np.hypot(*np.ptp(drawn, axis=0)))


@pytest.mark.parametrize("scale", [0.95, 1.0, 1.09])
def test_a_corner_that_was_left_out_tells_by_what_was_drawn_and_one_that_was_not_drawn_by_itself(scale: float) -> None:
    middle = TRUE.mean(axis=0)
    cut = np.vstack([TRUE[:2], (TRUE[1] + 2 * TRUE[2]) / 3, (TRUE[3] + 2 * TRUE[2]) / 3, TRUE[3:]])  # the third corner is missing
    outlines = [Outline(_into(ring), VOTED) for ring in (TRUE, cut)]

    def told(drawn: Floats) -> list[dict[str, float]]:
        return clues(HERE, LIKE, outlines, _into(middle + scale * (drawn - middle)), 200.0)

    right, wrong = told(TRUE)
    assert right["drawn off"] < 0.05 and right["passed, worst"] < 0.2  # at whatever size it was drawn
    assert wrong["drawn off"] > right["drawn off"] + 0.1
    wrong, right = told(cut)
    assert right["passed"] < 0.1
    assert wrong["passed"] > right["passed"] + 0.2 and wrong["passed, worst"] > 1.5


def test_an_outline_of_very_many_points_is_weighed() -> None:
    angles = np.linspace(0, 2 * np.pi, 200_000, endpoint=False)
    disc = np.column_stack([200 + 90 * np.cos(angles), 150 + 60 * np.sin(angles)])
    (seen,) = clues(HERE, LIKE, [Outline(_into(disc[::2000]), VOTED)], _into(disc), 200.0)
    assert seen["corners off"] < 0.01
    assert seen["bends"] == pytest.approx(1 / 3)  # once around, whatever its corners


def test_the_middle_of_rivals_is_nearer_than_what_was_drawn_and_within_the_picture() -> None:
    found = rivals(HERE, Polygon(DRAWN), [HERE.rough], [Polygon(DRAWN)], (420, 300))
    assert found is not None
    shape, agreed = found
    assert iou(shape, Polygon(TRUE)) > iou(Polygon(DRAWN), Polygon(TRUE))
    assert shape.is_valid
    x0, y0, x1, y1 = shape.bounds
    assert x0 >= 0 and y0 >= 0 and x1 <= 420 and y1 <= 300
    assert 0 <= agreed <= 1


def test_nothing_comes_of_rivals_that_all_stray() -> None:
    assert rivals(HERE, Polygon(DRAWN), [HERE.rough], [Polygon(DRAWN)], (420, 300), strays=lambda _: True) is None
