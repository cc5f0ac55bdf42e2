"""Pixels of outlines and outlines of pixels."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from annotator.marks.crops import Crop, along_sides, crop, filled

RAGGED = np.array([(3.2, 4.1), (30.7, 2.3), (25.4, 17.9), (36.1, 29.6), (9.8, 33.3), (14.9, 18.2)])


def _crop() -> Crop:
    picture = np.random.default_rng(4).integers(0, 255, (60, 80, 3)).astype(np.uint8)
    return crop(picture, Polygon(RAGGED + 12))


def test_a_pixel_is_filled_from_half_of_it_on() -> None:
    shape, taken = Polygon(RAGGED), filled([RAGGED], (40, 44))
    shares = np.array([[shape.intersection(box(x, y, x + 1, y + 1)).area for x in range(44)] for y in range(40)])
    clear = np.abs(shares - 0.5) > 0.2  # what is counted is sixteen places in a pixel
    assert (taken == (shares > 0.5))[clear].all()


def test_the_outline_of_pixels_fills_the_same_pixels() -> None:
    piece = filled([RAGGED, RAGGED[:3] * 0.2 + 14], (40, 44))
    around = along_sides(piece)
    assert isinstance(around, Polygon)
    assert around.area == pytest.approx(piece.sum(), rel=0.02)
    assert np.array_equal(filled([np.asarray(ring.coords[:-1]) for ring in (around.exterior, *around.interiors)], piece.shape), piece)


def test_pixels_at_the_border_are_outlined_up_to_it() -> None:
    piece = np.zeros((20, 30), bool)
    piece[:8, 22:] = True
    assert along_sides(piece).bounds == pytest.approx((22, 0, 30, 8), abs=0.01)


def test_each_colour_has_a_number_of_its_own_in_the_table() -> None:
    here = _crop()
    light, red, blue = (here.lab[..., channel].astype(int) // size for channel, size in enumerate((12, 6, 6)))
    assert np.array_equal(here.colours, (light * 43 + red) * 43 + blue)


def test_slopes_are_the_same_array_for_the_same_blur() -> None:
    here = _crop()
    assert here.slopes(1.5) is here.slopes(1.5)
    assert not np.array_equal(here.slopes(1.5), here.slopes(0.0))


def test_along_sides_leaves_holes_or_fills_them_and_is_empty_for_nothing() -> None:
    ring = np.zeros((40, 50), bool)
    ring[5:35, 5:45] = True
    ring[15:25, 15:35] = False
    assert along_sides(ring).area == pytest.approx(30 * 40 - 10 * 20, abs=4)
    assert along_sides(ring, with_holes=False).area == pytest.approx(30 * 40, abs=4)
    assert along_sides(np.zeros((40, 50), bool)).is_empty
