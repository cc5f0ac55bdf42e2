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
                ring = found.rings[0] if found is not None and found.rings is not None else rough
                after.setdefault(name, []).append(iou(Polygon(ring).buffer(0), shape))
    assert np.median([value for values in after.values() for value in values]) >= 0.98
    for name in SHAPES:
        assert np.median(after[name]) > np.median(before[name]) + 0.05, name


def test_a_pad_with_a_hole_snaps_at_both_its_edges() -> None:
    whole, gap = Point(200, 150).buffer(90), Point(205, 150).buffer(45)
    pad = whole.difference(gap)
    ground, thing = (cv2.resize(opencv_doc(name), (420, 300)) for name in ("building.jpg", "orange.jpg"))
    picture = laid_over(np.asarray(ground, np.uint8), np.asarray(thing, np.uint8), whole)
    picture = laid_over(picture, np.asarray(ground, np.uint8), gap)
    outer, hole = jittered(whole, 1, 0.03, 1.08), jittered(gap, 2, 0.03, 0.95)
    drawn = Polygon(outer).buffer(0).difference(Polygon(hole).buffer(0))
    found = snap(picture, outer, holes=[hole])
    assert found is not None and found.rings is not None
    assert len(found.rings) == 2
    assert iou(Polygon(found.rings[0], found.rings[1:]), pad) >= 0.93
    assert iou(drawn, pad) < 0.86
    without = snap(picture, outer)
    assert without is None or without.rings is None or len(without.rings) == 1


def test_a_ring_of_tube_is_a_closed_line_with_a_width() -> None:
    tube = Point(200, 150).buffer(60).exterior.buffer(4)
    y, x = np.mgrid[0:300, 0:420] + 0.5
    cover = np.clip(4.5 - np.abs(np.hypot(x - 200, y - 150) - 60), 0, 1)[..., None]
    picture = np.asarray(cover * (200, 40, 40) + (1 - cover) * (120, 120, 110), np.uint8)
    rng = np.random.default_rng(3)
    around = [
        (200 + 60 * np.cos(turn) + rng.normal(0, 1.5), 150 + 60 * np.sin(turn) + rng.normal(0, 1.5))
        for turn in np.linspace(0, 2 * np.pi, 24)
    ]
    around[-1] = around[0]
    found = snap(picture, around, width=10)
    assert found is not None and found.line is not None and found.width is not None
    assert found.line[0] == found.line[-1]
    assert found.width == pytest.approx(8, abs=1.2)
    before = iou(LineString(around).buffer(5, cap_style="flat"), tube)
    assert iou(LineString(found.line).buffer(found.width / 2, cap_style="flat"), tube) > max(0.78, before)


def test_where_the_ways_of_looking_disagree_the_offer_says_so() -> None:
    """A square of the same texture as its ground, parted from it by nothing on two sides: no edge to find there."""
    ground = np.asarray(cv2.resize(opencv_doc("building.jpg"), (420, 300)), np.uint8)
    found = snap(ground, [(120.0, 90.0), (260.0, 95.0), (255.0, 210.0), (118.0, 205.0)])
    assert found is None or found.doubt is not None
    disc = SHAPES["disc"]()
    clear = laid_over(np.full((300, 420, 3), (70, 90, 60), np.uint8), np.full((300, 420, 3), (200, 60, 50), np.uint8), disc)
    sure = snap(clear, jittered(disc, 1, 0.02, 1.05))
    assert sure is not None and sure.doubt is None


def test_a_million_points_and_a_crossing_outline_snap_like_plain_ones() -> None:
    disc = SHAPES["disc"]()
    picture = laid_over(np.full((300, 420, 3), (70, 90, 60), np.uint8), np.full((300, 420, 3), (200, 60, 50), np.uint8), disc)
    turn = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    many = list(zip((200 + 66 * np.cos(turn)).tolist(), (150 + 66 * np.sin(turn)).tolist(), strict=True))
    loop = [(140.0, 150.0), (200.0, 85.0), (262.0, 150.0), (200.0, 212.0), (150.0, 165.0), (150.0, 140.0), (136.0, 168.0)]
    for rough in (many, loop):
        found = snap(picture, rough)
        assert found is not None and found.rings is not None
        assert iou(Polygon(found.rings[0]), disc) >= 0.95


def test_the_same_call_gives_the_same_outline() -> None:
    shape = SHAPES["block"]()
    picture = _scene(shape, ("building.jpg", "orange.jpg"))
    rough = jittered(shape, 1, 0.03, 1.1)
    assert snap(picture, rough) == snap(picture, rough)


@pytest.mark.parametrize("slant", [0, 60, 110], ids=["upright", "aslant", "far-aslant"])
def test_a_box_drawn_around_a_mat_comes_to_the_mat_however_aslant_it_lies(slant: float) -> None:
    """As a hand drags from corner to corner: each side off by some pixels. Four corners, as the page sends what was drawn as a box."""
    mat = Polygon([(100 + slant, 130), (300, 130), (300 - slant, 180), (100, 180)])
    wood = np.zeros((300, 420, 3), np.uint8) + np.array((176, 136, 92), np.uint8)
    wood[np.arange(300) % 23 < 2] = (160, 120, 80)
    picture = laid_over(wood, np.zeros_like(wood) + np.array((190, 40, 50), np.uint8), mat)
    snapped = snap(picture, [(94.0, 120.0), (309.0, 120.0), (309.0, 187.0), (94.0, 187.0)])
    assert snapped is not None and snapped.rings is not None
    assert iou(Polygon(snapped.rings[0]), mat) > 0.95


def test_a_box_and_a_tap_find_the_thing() -> None:
    shape = SHAPES["disc"]()
    picture = laid_over(np.full((300, 420, 3), (70, 90, 60), np.uint8), np.full((300, 420, 3), (200, 60, 50), np.uint8), shape)
    for rough in ([(130.0, 80.0), (270.0, 220.0)], [(190.0, 140.0)]):
        found = snap(picture, rough)
        assert found is not None and found.rings is not None
        assert iou(Polygon(found.rings[0]), shape) >= 0.95


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


def tube(ground: Picture, line: LineString, width: float) -> Picture:
    """A round thing lit from one side: bright, then dark; what lies beside it is of between."""
    height, size = ground.shape[:2]
    across, down = np.meshgrid(np.arange(size) + 0.5, np.arange(height) + 0.5)
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    off = ((across - x0) * (y1 - y0) - (down - y0) * (x1 - x0)) / np.hypot(x1 - x0, y1 - y0)
    shade = np.clip(170 + 80 * np.sin(off / width * np.pi), 0, 255).astype(np.uint8)
    return laid_over(ground, np.dstack([shade] * 3), line.buffer(width / 2, cap_style="flat"))


@pytest.mark.parametrize("drawn", [8.0, 12.0])
@pytest.mark.parametrize(
    ("width", "least"),
    # Of four pixels a quarter of a pixel off on each side is an overlap of 0.88 and half a pixel 0.75.
    [pytest.param(4.0, 0.75, id="thin"), pytest.param(7.0, 0.85, id="middling"), pytest.param(12.0, 0.9, id="thick")],
)
def test_a_tube_lit_from_one_side_snaps_to_its_outer_sides_and_its_ends(width: float, least: float, drawn: float) -> None:
    line = LineString([(80.0, 60.0), (110.0, 230.0)])
    picture = tube(np.full((300, 420, 3), 150, np.uint8), line, width)
    found = snap(picture, [(82.0, 62.0), (108.5, 227.5)], width=drawn)
    assert found is not None and found.line is not None and found.width is not None
    assert found.width == pytest.approx(width, abs=1.0)
    assert iou(LineString(found.line).buffer(found.width / 2, cap_style="flat"), line.buffer(width / 2, cap_style="flat")) >= least
    for end, true in zip(found.line, line.coords, strict=True):
        assert np.hypot(end[0] - true[0], end[1] - true[1]) <= 1.2


def test_a_bent_rail_snaps_piece_by_piece_and_keeps_its_corners() -> None:
    rail = LineString([(60.0, 250.0), (70.0, 80.0), (330.0, 60.0), (340.0, 240.0)])
    covered = rail.buffer(4, cap_style="flat", join_style="mitre")
    picture = laid_over(np.full((300, 420, 3), (90, 110, 100), np.uint8), np.full((300, 420, 3), (235, 235, 230), np.uint8), covered)
    rough = [(61.5, 248.5), (68.5, 81.5), (331.0, 58.5), (338.5, 241.5)]
    found = snap(picture, rough, width=12.0)
    assert found is not None and found.line is not None and found.width is not None
    assert iou(LineString(found.line).buffer(found.width / 2, cap_style="flat", join_style="mitre"), covered) >= 0.9


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
    if found is not None and found.rings is not None and len(rough) > 1:
        drawn = Polygon(rough) if len(rough) > 2 else box(*rough[0], *rough[1])
        assert iou(Polygon(found.rings[0]), drawn) == pytest.approx(found.overlap, abs=1e-6)
        assert found.overlap >= (0.55 if len(rough) > 2 else 0.3)
    assert len(rough) > 1 or found is None or found.overlap >= 0.55


@pytest.mark.parametrize("picture", NOTHING[:2])
def test_a_line_on_a_picture_of_nothing_stays_as_it_was_drawn(picture: Picture) -> None:
    assert snap(picture, [(60.0, 80.0), (340.0, 180.0)], width=9) is None


@pytest.mark.parametrize(
    ("rough", "width"),
    [
        pytest.param([(50.0, 10.0), (float("nan"), 10.0), (60.0, 90.0)], None, id="no-number"),
        pytest.param([(float("inf"), 10.0)], None, id="tap-at-no-number"),
        pytest.param([(50.0, 10.0), (90.0, 10.0)], -1.0, id="line-of-width-below-nothing"),
        pytest.param([(50.0, 10.0)], 5.0, id="line-of-one-end"),
        pytest.param([(50.0, 10.0)] * 3, None, id="outline-of-one-point"),
        pytest.param([(50.0, 10.0), (60.0, 20.0), (70.0, 30.0)], None, id="outline-along-a-line"),
        pytest.param([(float(x), float(y)) for x, y in np.random.default_rng(1).uniform(0, 300, (9_000, 2))], None, id="scribble"),
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


def test_a_frame_drawn_around_its_outside_gets_its_opening_and_a_plate_gets_none() -> None:
    outer, inner = box(80, 50, 330, 250), box(98, 70, 312, 236)
    frame = outer.difference(inner)
    ground = np.asarray(cv2.resize(opencv_doc("fruits.jpg"), (420, 300)), np.uint8)
    plate = laid_over(ground, np.full((300, 420, 3), (150, 110, 60), np.uint8), outer)
    picture = plate.copy()
    picture[72:234, 100:310] = ground[72:234, 100:310]
    rough = [(78.5, 51.5), (205.0, 48.8), (331.5, 48.5), (328.5, 150.0), (331.0, 251.0), (200.0, 249.0), (79.0, 251.5), (81.5, 150.0)]
    found = snap(picture, rough, opening=True)
    assert found is not None and found.rings is not None and len(found.rings) == 2
    assert iou(Polygon(found.rings[0], found.rings[1:]), frame) >= 0.85
    assert found.doubt is not None  # it is more than was drawn
    whole = snap(plate, rough, opening=True)
    assert whole is None or (whole.rings is not None and len(whole.rings) == 1)


def test_a_ring_drawn_around_its_outside_becomes_a_closed_line_with_a_width() -> None:
    ring = Point(200, 150).buffer(40).difference(Point(200, 150).buffer(34))
    picture = np.full((300, 420, 3), (90, 110, 100), np.uint8)
    picture = laid_over(picture, np.full((300, 420, 3), (200, 50, 40), np.uint8), Point(200, 150).buffer(40))
    picture = laid_over(picture, np.full((300, 420, 3), (90, 110, 100), np.uint8), Point(200, 150).buffer(34))
    found = snap(picture, jittered(Point(200, 150).buffer(40), 3, 0.01, 1.0), opening=True)
    assert found is not None and found.line is not None and found.width is not None
    assert found.line[0] == found.line[-1]
    assert iou(LineString(found.line).buffer(found.width / 2), ring) >= 0.85
