"""Pictures that went through film, for what is fitted on halls of random things: by what 4:2:0 is, and by how near they stay."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from annotator.marks.film_colour import with_even_colours
from scripts.sample_walk.filmed import through_film
from tests.marks.photos import opencv_doc


@pytest.mark.parametrize(("crf", "least_db"), [(18, 36.0), (32, 28.0)])
def test_a_filmed_picture_keeps_its_lightness_and_has_its_colours_at_half_size(crf: int, least_db: float) -> None:
    picture = np.asarray(cv2.resize(opencv_doc("fruits.jpg"), (320, 240), interpolation=cv2.INTER_AREA), np.uint8)
    film = through_film(picture, crf)
    assert film.shape == picture.shape
    light, other = (cv2.cvtColor(one, cv2.COLOR_RGB2GRAY) for one in (picture, film))
    assert cv2.PSNR(light, other) >= least_db
    assert with_even_colours(film, (0, 0, 320, 240)) is not film
    colour = cv2.cvtColor(film, cv2.COLOR_RGB2YCrCb)[..., 1:].astype(int)
    within, between = (np.abs(colour[:, at:-1:2] - colour[:, at + 1 :: 2][:, : len(colour[0, at:-1:2])]).mean() for at in (0, 1))
    assert within < 0.2 * between


def test_the_same_picture_is_filmed_the_same_way() -> None:
    picture = np.random.default_rng(3).integers(0, 256, (64, 96, 3)).astype(np.uint8)
    assert np.array_equal(through_film(picture, 28), through_film(picture, 28))
