"""Colour that film keeps at half size: pictures that went through the encoder's own conversion (libav) and back."""

from __future__ import annotations

import av
import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from annotator.marks import snap
from annotator.marks.crops import Picture
from annotator.marks.film_colour import with_even_colours
from tests.marks.photos import opencv_doc
from tests.marks.test_snap import iou

LEDGE = Polygon([(60.5, 71.0), (121.0, 75.0), (120.0, 87.0), (59.5, 83.0)])
WHOLE = (0.0, 0.0, 240.0, 160.0)


def _through_film(picture: Picture) -> Picture:
    """As a film's decoder hands a frame back: 4:2:0 and RGB again."""
    frame = av.VideoFrame.from_ndarray(picture, format="rgb24").reformat(format="yuv420p", dst_colorspace="ITU709")
    return np.asarray(frame.reformat(format="rgb24").to_ndarray(), np.uint8)


def _red_on_blue() -> Picture:
    """A ledge on a wall of hardly another lightness."""
    fine = np.zeros((160 * 16, 240 * 16), np.uint8)
    cv2.fillPoly(fine, [np.rint(np.asarray(LEDGE.exterior.coords) * 16 - 0.5).astype(np.int32)], 255)
    share = cv2.resize(fine, (240, 160), interpolation=cv2.INTER_AREA)[..., None] / 255
    noise = np.random.default_rng(5).normal(0, 2, (160, 240, 3))
    return np.asarray(np.clip(share * (215, 40, 45) + (1 - share) * (55, 85, 200) + noise, 0, 255), np.uint8)


def test_a_coloured_edge_that_went_through_film_is_found_where_it_is() -> None:
    film = _through_film(_red_on_blue())
    overlaps = []
    for drawn in (
        [(58.5, 68.5), (123.0, 74.0), (121.5, 89.0), (58.0, 85.0)],
        [(62.0, 72.0), (119.5, 73.5), (121.5, 86.0), (58.0, 84.5)],
        [(59.0, 69.5), (122.5, 75.5), (121.0, 88.5), (60.5, 84.5)],
    ):
        found = snap(film, drawn)
        assert found is not None and found.rings is not None
        overlaps.append(iou(Polygon(found.rings[0]), LEDGE))
    assert np.mean(overlaps) >= 0.925  # in squares of two by two pixels: 0.918


def test_mended_colours_are_nearer_to_those_before_the_film() -> None:
    photo = np.asarray(cv2.resize(opencv_doc("fruits.jpg"), (240, 160), interpolation=cv2.INTER_AREA), np.uint8)
    film = _through_film(photo)
    before, after = (float(np.abs(one.astype(int) - photo).mean()) for one in (film, with_even_colours(film, WHOLE)))
    assert after < 0.95 * before


def test_lightness_and_what_lies_far_off_stay() -> None:
    film = _through_film(_red_on_blue())
    mended = with_even_colours(film, (60.0, 70.0, 120.0, 90.0))
    light, other = (cv2.cvtColor(one, cv2.COLOR_RGB2YCrCb)[..., 0].astype(int) for one in (film, mended))
    assert float(np.abs(light - other).mean()) < 0.6
    assert np.array_equal(film[144:], mended[144:])
    assert not np.array_equal(film[60:100], mended[60:100])


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(_red_on_blue(), id="drawn"),
        pytest.param(opencv_doc("fruits.jpg"), id="photo"),
        pytest.param(np.full((160, 240, 3), 90, np.uint8), id="plain"),
        pytest.param(np.random.default_rng(0).integers(0, 256, (160, 240, 3)).astype(np.uint8), id="noise"),
    ],
)
def test_a_picture_of_whole_colours_is_handed_back_itself(picture: Picture) -> None:
    assert with_even_colours(picture, WHOLE) is picture


@pytest.mark.parametrize("bounds", [(-50.0, -50.0, 900.0, 900.0), (239.0, 159.0, 240.0, 160.0), (0.0, 0.0, 0.5, 0.5)])
def test_bounds_beyond_the_picture_and_pictures_of_odd_size(bounds: tuple[float, float, float, float]) -> None:
    film = _through_film(_red_on_blue())
    for picture in (film, np.ascontiguousarray(film[:159, :239])):
        kept = picture.copy()
        assert with_even_colours(picture, bounds).shape == picture.shape
        assert np.array_equal(picture, kept)
