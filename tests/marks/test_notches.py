"""What stands before a thing takes a bite out of its outline; shade, texture and what lies in its middle take none.

Pictures are drawn here, so that what is covered is certain.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.marks.crops import crop, filled
from annotator.marks.notches import bitten, strange
from annotator.marks.outlines import Area, polygons_of

BOX = np.array([(60.0, 80.0), (240.0, 80.0), (240.0, 190.0), (60.0, 190.0)])


def _hall(*, shade: bool = False) -> NDArray[np.uint8]:
    """A green box, lit from its left, before a brown wall."""
    noise = np.random.default_rng(4).normal(0, 3, (260, 300, 3))
    picture = np.full((260, 300, 3), (150, 110, 80), np.float64)
    picture[80:190, 60:240] = np.array((40, 140, 60)) * np.linspace(1.15, 0.75, 180)[None, :, None]
    if shade:
        picture[80:110, 60:240] *= 0.7
    return np.asarray(np.clip(picture + noise, 0, 255), np.uint8)


def _ring_of(picture: NDArray[np.uint8], drawn: Area | None = None) -> NDArray[np.float64] | None:
    """The box's own ring less its bites, with the colours of what was drawn."""
    here = crop(picture, drawn or Polygon(BOX))
    ring = (BOX - here.corner) * here.ratio
    found = bitten(here, ring, strange(here))
    return None if found is None else found / here.ratio + here.corner


@pytest.mark.parametrize("colour", [(235, 235, 230), (25, 28, 45), (190, 40, 40)])
def test_feet_on_a_box_are_left_out(colour: tuple[int, int, int]) -> None:
    picture = _hall()
    feet = np.zeros(picture.shape[:2], np.uint8)
    for x in (130, 165):
        cv2.rectangle(feet, (x - 7, 20), (x + 7, 86), 1, -1)
        cv2.circle(feet, (x, 87), 10, 1, -1)
    picture[feet > 0] = colour
    truth = filled([BOX], feet.shape) & (feet == 0)
    found = _ring_of(picture)
    assert found is not None
    mask = filled([found], feet.shape)
    assert (mask & truth).sum() / (mask | truth).sum() > 0.985
    assert not mask[83:94, 128:133].any()


def test_shade_and_texture_take_no_bite() -> None:
    assert _ring_of(_hall()) is None
    assert _ring_of(_hall(shade=True)) is None


def test_a_sign_in_the_middle_stays() -> None:
    picture = _hall()
    picture[120:150, 120:170] = (240, 240, 240)
    assert _ring_of(picture) is None


def test_a_thin_strip_along_a_side_is_a_side_drawn_too_far_out() -> None:
    picture = _hall()
    picture[80:82, 60:240] = (150, 110, 80)
    assert _ring_of(picture) is None


def test_nothing_is_bitten_where_the_whole_is_of_one_colour() -> None:
    assert _ring_of(np.full((260, 300, 3), 120, np.uint8)) is None


def test_what_was_drawn_around_tells_that_a_larger_piece_is_something_else() -> None:
    picture = _hall()
    picture[60:130, 150:180] = (230, 230, 235)
    drawn = polygons_of(Polygon(BOX).difference(Polygon([(146, 70), (186, 70), (184, 127), (148, 124)])))
    truth = filled([BOX], picture.shape)
    truth[80:130, 150:180] = False
    found = _ring_of(picture, drawn)
    assert found is not None
    mask = filled([found], picture.shape)
    assert (mask & truth).sum() / (mask | truth).sum() > 0.985
