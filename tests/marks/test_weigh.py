"""Weighing outlines of one thing, on a scene whose truth is exact."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from annotator.marks.corners import likeness
from annotator.marks.crops import Floats, crop
from annotator.marks.rivals import rivals
from annotator.marks.weigh import CORNERS, VOTED, WAY, WEIGHTS, Outline, clues, weigh
from tests.marks.photos import opencv_doc
from tests.marks.test_snap import iou, laid_over

TRUE = np.array([(110.0, 90.0), (300.0, 110.0), (280.0, 220.0), (95.0, 190.0)])
DRAWN = TRUE + np.array([(-9, 6), (8, -7), (7, 9), (-6, -8)])
GROUND, THING = (np.asarray(cv2.resize(opencv_doc(name), (420, 300)), np.uint8) for name in ("building.jpg", "orange.jpg"))
HERE = crop(laid_over(GROUND, THING, Polygon(TRUE)), Polygon(DRAWN))
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


def test_rivals_come_best_first_in_pixels_of_the_picture_and_within_it() -> None:
    found = rivals(HERE, Polygon(DRAWN), [HERE.rough], [Polygon(DRAWN)], (420, 300))
    assert iou(found[0][0], Polygon(TRUE)) > iou(Polygon(DRAWN), Polygon(TRUE))
    for shape, agreed in found:
        assert shape.is_valid
        x0, y0, x1, y1 = shape.bounds
        assert x0 >= 0 and y0 >= 0 and x1 <= 420 and y1 <= 300
        assert 0 <= agreed <= 1
