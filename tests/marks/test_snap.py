"""Snapping: shapes of one real texture laid over another, where the truth is exact, bars with known sides, and pictures of nothing."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from annotator.errors import InvalidMark
from annotator.marks import snap
from tests.marks.photos import Picture, opencv_doc

Ring = list[tuple[float, float]]


def iou(one: BaseGeometry, other: BaseGeometry) -> float:
    return float(one.intersection(other).area / one.union(other).area)


def laid_over(ground: Picture, thing: Picture, shape: Polygon) -> Picture:
    """The part of `thing` inside the shape over `ground`, with sides blurred as a lens would."""
    height, width = ground.shape[:2]
    fine = np.zeros((height * 4, width * 4), np.uint8)
    cv2.fillPoly(fine, [np.rint((np.asarray(shape.exterior.coords) * 4 - 0.5) * 16).astype(np.int32)], 255, shift=4)
    cover = cv2.GaussianBlur(cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA), (0, 0), 0.8)[..., None] / 255.0
    mixed = cover * cv2.resize(thing, (width, height)) + (1 - cover) * ground
    noise = np.random.default_rng(0).normal(0, 3, mixed.shape)
    return np.asarray(np.clip(mixed + noise, 0, 255), np.uint8)


def jittered(shape: Polygon, seed: int, share: float, grow: float) -> Ring:
    """Twelve points around a shape, each off by a normal error of a share of its diagonal, the whole too large or too small."""
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = shape.bounds
    points = np.array([shape.exterior.interpolate(i / 12, normalized=True).coords[0] for i in range(12)])
    middle = points.mean(axis=0)
    moved = middle + (points - middle) * grow + rng.normal(0, share * np.hypot(x1 - x0, y1 - y0) / 1.5, points.shape)
    return [(float(x), float(y)) for x, y in moved]


SHAPES: dict[str, Callable[[], Polygon]] = {
    "disc": lambda: Point(200, 150).buffer(60),
    "block": lambda: rotate(box(110, 100, 290, 190), 17),
    "slab": lambda: Polygon([(80, 210), (300, 190), (350, 240), (60, 270)]),
    "at-the-frame": lambda: box(0, 120, 110, 260),
}


def _scene(shape: Polygon, photos: tuple[str, str]) -> Picture:
    ground, thing = (cv2.resize(opencv_doc(name), (420, 300)) for name in photos)
    return laid_over(np.asarray(ground, np.uint8), np.asarray(thing, np.uint8), shape)


def test_rough_outlines_become_snug_ones() -> None:
    before: dict[str, list[float]] = {}
    after: dict[str, list[float]] = {}
    for name, make in SHAPES.items():
        shape = make()
        for photos in (("building.jpg", "orange.jpg"), ("fruits.jpg", "gradient.png")):
            picture = _scene(shape, photos)
            for seed, grow in ((1, 0.9), (2, 1.05), (3, 1.15)):
                rough = jittered(shape, seed, 0.03, grow)
                found = snap(picture, rough)
                before.setdefault(name, []).append(iou(Polygon(rough).buffer(0).intersection(box(0, 0, 420, 300)), shape))
                ring = found.ring if found is not None and found.ring is not None else rough
                after.setdefault(name, []).append(iou(Polygon(ring).buffer(0), shape))
    assert np.median([value for values in after.values() for value in values]) >= 0.93
    for name in SHAPES:
        assert np.median(after[name]) > np.median(before[name]) + 0.05, name


def test_the_same_call_gives_the_same_outline() -> None:
    shape = SHAPES["block"]()
    picture = _scene(shape, ("building.jpg", "orange.jpg"))
    rough = jittered(shape, 1, 0.03, 1.1)
    assert snap(picture, rough) == snap(picture, rough)


def test_a_box_and_a_tap_find_the_thing() -> None:
    shape = SHAPES["disc"]()
    picture = laid_over(np.full((300, 420, 3), (70, 90, 60), np.uint8), np.full((300, 420, 3), (200, 60, 50), np.uint8), shape)
    for rough in ([(130.0, 80.0), (270.0, 220.0)], [(190.0, 140.0)]):
        found = snap(picture, rough)
        assert found is not None and found.ring is not None
        assert iou(Polygon(found.ring), shape) >= 0.95


@pytest.mark.parametrize(
    ("off", "drawn_width"),
    [
        pytest.param((0.0, 4.0), 10.0, id="beside"),
        pytest.param((3.0, -3.0), 7.0, id="askew-and-thin"),
        pytest.param((1.0, 2.0), 14.0, id="thick"),
    ],
)
def test_a_bar_snaps_to_both_its_sides(off: tuple[float, float], drawn_width: float) -> None:
    ends = [(60.0, 80.0), (340.0, 180.0)]
    bar = LineString(ends).buffer(4.5, cap_style="flat")
    picture = laid_over(np.full((300, 420, 3), (120, 120, 110), np.uint8), np.full((300, 420, 3), (220, 190, 40), np.uint8), bar)
    rough = [(60.0, 80.0 + off[0]), (340.0, 180.0 + off[1])]
    found = snap(picture, rough, width=drawn_width)
    assert found is not None and found.line is not None and found.width is not None
    assert found.width == pytest.approx(9.0, abs=0.7)
    assert iou(LineString(found.line).buffer(found.width / 2, cap_style="flat"), bar) >= 0.88
    assert iou(LineString(rough).buffer(drawn_width / 2, cap_style="flat"), bar) < 0.75


NOTHING = [
    pytest.param(np.zeros((300, 420, 3), np.uint8), id="black"),
    pytest.param(np.full((300, 420, 3), 255, np.uint8), id="white"),
    pytest.param(np.random.default_rng(0).integers(0, 256, (300, 420, 3)).astype(np.uint8), id="noise"),
]


@pytest.mark.parametrize("picture", NOTHING)
@pytest.mark.parametrize(
    "rough", [[(100.0, 100.0), (200.0, 90.0), (210.0, 190.0), (110.0, 200.0)], [(90.0, 90.0), (200.0, 200.0)], [(150.0, 150.0)]]
)
def test_on_a_picture_of_nothing_it_does_not_stray(picture: Picture, rough: Ring) -> None:
    found = snap(picture, rough)
    if found is not None and found.ring is not None and len(rough) > 1:
        drawn = Polygon(rough) if len(rough) > 2 else box(*rough[0], *rough[1])
        assert iou(Polygon(found.ring), drawn) == pytest.approx(found.overlap, abs=1e-6)
        assert found.overlap >= (0.55 if len(rough) > 2 else 0.3)
    assert len(rough) > 1 or found is None or found.overlap >= 0.55


@pytest.mark.parametrize("picture", NOTHING[:2])
def test_a_line_on_a_picture_of_nothing_stays_as_it_was_drawn(picture: Picture) -> None:
    assert snap(picture, [(60.0, 80.0), (340.0, 180.0)], width=9) is None


@pytest.mark.parametrize(
    ("rough", "width"),
    [
        pytest.param([(500.0, 10.0), (600.0, 10.0), (600.0, 90.0)], None, id="outline-outside"),
        pytest.param([(500.0, 10.0)], None, id="tap-outside"),
        pytest.param([(50.0, 10.0), (50.0, 10.0)], None, id="box-of-one-point"),
        pytest.param([(50.0, 10.0), (50.0, 10.0)], 5.0, id="line-of-one-point"),
        pytest.param([], None, id="nothing"),
    ],
)
def test_what_covers_no_area_is_refused(rough: Ring, width: float | None) -> None:
    with pytest.raises(InvalidMark):
        snap(np.zeros((300, 420, 3), np.uint8), rough, width=width)
