"""The last step of a snug outline, on a picture whose edge is known to parts of a pixel."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from annotator.marks.crops import Floats, Picture
from annotator.marks.tracing import _near, traced

Colour = tuple[int, int, int]
DISC = np.array([(120.3 + 40.6 * np.cos(angle), 90.7 + 25.2 * np.sin(angle)) for angle in np.linspace(0, 2 * np.pi, 60, endpoint=False)])
SLANTED = np.array([(60.4, 50.2), (181.7, 61.9), (170.1, 130.6), (52.8, 118.3)])


def _painted(ring: Floats, thing: Colour = (190, 60, 50), ground: Colour = (70, 90, 110), blur_px: float = 0.7) -> Picture:
    """Each pixel by how much of it the ring covers, sixteen times finer, as a lens sees it, with noise."""
    fine = np.zeros((180 * 16, 240 * 16), np.uint8)
    cv2.fillPoly(fine, [np.rint(ring * 16 - 0.5).astype(np.int32)], 255)
    share = (
        cv2.GaussianBlur(cv2.resize(fine, (240, 180), interpolation=cv2.INTER_AREA).astype(np.float64), (0, 0), blur_px)[..., None] / 255
    )
    noise = np.random.default_rng(3).normal(0, 3, (180, 240, 3))
    return np.asarray(np.clip(share * thing + (1 - share) * ground + noise, 0, 255), np.uint8)


def _overlap(ring: Floats, true: Floats) -> float:
    one, other = Polygon(ring), Polygon(true)
    return float(one.intersection(other).area / one.union(other).area)


@pytest.mark.parametrize("true", [pytest.param(DISC, id="round"), pytest.param(SLANTED, id="straight")])
@pytest.mark.parametrize("off", [(1.2, -0.9), (-1.4, 0.6)])
def test_an_outline_off_by_a_pixel_lands_on_the_edge(true: Floats, off: tuple[float, float]) -> None:
    beside = true + np.array(off)
    assert _overlap(beside, true) <= 0.96
    assert _overlap(traced(_painted(true), beside, 1.0), true) >= 0.98


@pytest.mark.parametrize(
    ("thing", "ground"),
    [
        pytest.param((170, 35, 40), (40, 70, 160), id="red on blue, as light"),
        pytest.param((240, 240, 240), (20, 60, 30), id="white on green"),
        pytest.param((250, 220, 40), (60, 20, 90), id="yellow on purple"),
    ],
)
def test_a_blurred_edge_lies_in_its_middle_whatever_the_colours(thing: Colour, ground: Colour) -> None:
    found = traced(_painted(SLANTED, thing, ground, 1.5), SLANTED + np.array([0.6, -0.5]), 1.0)
    assert Polygon(found).area == pytest.approx(Polygon(SLANTED).area, rel=0.01)


def test_a_coarse_outline_becomes_as_round_as_the_thing() -> None:
    assert _overlap(DISC[::6], DISC) <= 0.95
    assert _overlap(traced(_painted(DISC), DISC[::6], 1.0), DISC) >= 0.98


def test_where_there_is_no_edge_the_outline_stays() -> None:
    plain = np.full((180, 240, 3), 120, np.uint8)
    assert traced(plain, SLANTED, 1.0) is SLANTED


def test_what_lies_on_the_border_of_the_picture_stays_there() -> None:
    true = np.array([(-30.0, 40.0), (90.0, 50.0), (84.0, 120.0), (-30.0, 110.0)])
    seen = np.array([(0.0, 42.5), (90.0, 50.0), (84.0, 120.0), (0.0, 112.6)])
    found = traced(_painted(true), seen + np.array([(0, 1), (1, 1), (1, 1), (0, 1)]), 1.0)
    assert found[:, 0].min() == 0
    assert _overlap(found, seen) >= 0.97


def test_an_edge_further_off_is_left_alone() -> None:
    beside = SLANTED + np.array([0.0, 9.0])
    found = traced(_painted(SLANTED), beside, 1.0)
    assert Polygon(found).hausdorff_distance(Polygon(beside)) <= 5.5


@pytest.mark.parametrize("scale", [1.0, 7.0])
def test_near_an_outline_the_picture_is_blurred_as_a_whole_is(scale: float) -> None:
    picture = np.random.default_rng(5).integers(0, 255, (500, 700, 3)).astype(np.uint8)
    ring = np.array([(40.0, 30.0), (660.0, 45.0), (640.0, 470.0), (55.0, 440.0)])
    seen = _near(picture, ring, 12, scale, 0.6 * scale)
    whole = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), 0.6 * scale)
    near = np.zeros((500, 700), np.uint8)
    cv2.polylines(near, [ring.astype(np.int32)], True, 1, 20)
    assert np.abs(seen - whole)[near > 0].max() < 0.01
    assert not seen[250, 350].any()
