"""Corners that move: shapes of one real texture laid over another, where the truth is exact."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from annotator.marks.corners import _sides, likeness, moved, steepest, thinned
from annotator.marks.crops import Crop, Floats, crop
from tests.marks.photos import opencv_doc
from tests.marks.test_snap import iou, laid_over

QUAD = np.array([(110.3, 90.6), (300.2, 110.4), (280.7, 220.1), (95.4, 190.8)])
FLAT = np.array([(150.2, 140.3), (240.8, 143.1), (239.6, 158.4), (149.5, 155.2)])
NOTCHED = np.array([(100.0, 90.0), (290.0, 95.0), (285.0, 220.0), (210.0, 215.0), (212.0, 160.0), (95.0, 150.0)])


def _scene(shape: Floats, off: Floats) -> tuple[Crop, Floats]:
    ground, thing = (np.asarray(cv2.resize(opencv_doc(name), (420, 300)), np.uint8) for name in ("building.jpg", "orange.jpg"))
    here = crop(laid_over(ground, thing, Polygon(shape)), Polygon(shape + off))
    return here, (shape + off - here.corner) * here.ratio


@pytest.mark.parametrize("shape", [pytest.param(QUAD, id="quad"), pytest.param(FLAT, id="flat"), pytest.param(NOTCHED, id="notched")])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_badly_drawn_corners_come_to_stand_on_the_true_ones(shape: Floats, seed: int) -> None:
    size = float(np.hypot(*np.ptp(shape, axis=0)))
    off = np.random.default_rng(seed).uniform(-0.025, 0.025, shape.shape) * size
    here, drawn = _scene(shape, off)
    found = moved(here, drawn, likeness(here, here.rough, here.band_px), steepest(here), 0.06 * size * here.ratio[0])
    truth = Polygon((shape - here.corner) * here.ratio)
    assert iou(Polygon(found), truth) > max(0.9, iou(Polygon(drawn), truth))


def test_the_same_call_gives_the_same_corners_and_changes_nothing_it_was_given() -> None:
    here, drawn = _scene(QUAD, np.full(QUAD.shape, 3.0))
    like, before = likeness(here, here.rough, here.band_px), drawn.copy()
    one, other = (moved(here, drawn, like, steepest(here), 8.0) for _ in range(2))
    assert np.array_equal(one, other)
    assert np.array_equal(drawn, before)


def test_colours_tell_inside_from_around() -> None:
    here, _ = _scene(QUAD, np.zeros(QUAD.shape))
    like = likeness(here, here.rough, here.band_px)
    assert like[here.core].mean() > 0.5
    assert like[here.far].mean() < -0.2
    assert np.abs(like).max() <= 1


def test_where_nothing_is_around_colours_tell_nothing() -> None:
    picture = np.full((40, 40, 3), 90, np.uint8)
    here = crop(picture, Polygon([(0, 0), (40, 0), (40, 40), (0, 40)]))
    assert not likeness(here, here.rough, here.band_px).any()


def test_a_ring_of_many_points_is_thinned_to_its_corners() -> None:
    line = np.linspace(0, 1, 20, endpoint=False)[:, None]
    many = np.vstack([one + line * (other - one) for one, other in zip(QUAD, np.roll(QUAD, -1, axis=0), strict=True)])
    found = thinned(many, 2.0)
    assert len(found) == 4
    assert {tuple(np.round(corner).astype(int)) for corner in found} == {tuple(np.round(corner).astype(int)) for corner in QUAD}


def test_a_side_is_worth_the_same_however_many_others_are_looked_at() -> None:
    field = np.random.default_rng(2).uniform(0, 50, (60, 80, 4)).astype(np.float32)
    field[..., 1] = 0
    around = np.stack(np.meshgrid(np.arange(9), np.arange(9)), axis=-1).reshape(-1, 2)
    own, following = around + np.array([12.3, 20.1]), around + np.array([60.7, 41.2])
    together = _sides(field, own, following, 3.0, 0.25, 0.001)
    alone = [_sides(field, own[at : at + 1], following[:4], 3.0, 0.25, 0.001)[0] for at in (0, 40, 80)]
    assert together.shape == (81, 81)
    assert together[[0, 40, 80], :4] == pytest.approx(np.array(alone), rel=1e-4)
