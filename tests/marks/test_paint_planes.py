"""Drawing on the planes of a film: the colours are those of libswscale, the picture is that of paint.py, faces are gone in every plane."""

from __future__ import annotations

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from annotator.course import Course, Station
from annotator.marks import Overlay, Planes, Tile, blur_planes, overlay, paint, paint_planes, planes_of
from annotator.marks.planes import tone
from tests.marks.makers import course, mark, square, station, surface

Picture = NDArray[np.uint8]
SIZE = (640, 360)


def soft_picture(size: tuple[int, int] = SIZE) -> Picture:
    """Slow waves of colour: what is half as wide says the same."""
    x, y = np.meshgrid(np.arange(size[0]) / 90, np.arange(size[1]) / 70)
    waves = [120 + 100 * np.sin(x + turn) * np.cos(y - turn) for turn in (0.0, 1.0, 2.0)]
    return np.asarray(np.stack(waves, axis=2), dtype=np.uint8)


def rgb_of(picture: Planes) -> Picture:
    frame = av.VideoFrame.from_ndarray(picture.whole, "yuv420p")
    frame.colorspace, frame.color_range = 1, 1
    return np.asarray(frame.reformat(format="rgb24").to_ndarray(), dtype=np.uint8)


def scene() -> tuple[Course, Station]:
    surfaces = [
        surface("u1", "platform", role="start"),
        surface("u2", "box"),
        surface("u3", "frame", "out"),
        surface("u4", "mat", role="finish"),
    ]
    marks = [
        mark("m1", "u1", square(30, 60, 170, 160)),
        mark("m2", "u2", square(230, 40, 390, 170), square(270, 80, 320, 130)),
        mark("m3", "u3", ((440, 50), (610, 80), (560, 170), (430, 150))),
        mark("m4", "u4", square(200, 230, 480, 330)),
    ]
    return course(), station(surfaces, marks, width=SIZE[0], height=SIZE[1])


def described(*, plates: bool = True) -> Overlay:
    return overlay(*scene(), "s1", plates=plates)


def test_planes_hold_the_colours_that_libswscale_makes_of_them() -> None:
    image = soft_picture()
    frame = av.VideoFrame.from_ndarray(image, "rgb24")
    peer = frame.reformat(format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG").to_ndarray().astype(int)
    off = np.abs(planes_of(image).whole.astype(int) - peer)
    assert off.max() <= 2
    assert off.mean() < 0.6


@pytest.mark.parametrize(
    ("colour", "told"),
    [
        # Recommendation ITU-R BT.709-6, part 1: 8-bit codes of the bars' colours, worked out from items 3.2 to 3.5.
        pytest.param("#FFFFFF", (235, 128, 128), id="white"),
        pytest.param("#FFFF00", (219, 16, 138), id="yellow"),
        pytest.param("#00FFFF", (188, 154, 16), id="cyan"),
        pytest.param("#00FF00", (173, 42, 26), id="green"),
        pytest.param("#FF00FF", (78, 214, 230), id="magenta"),
        pytest.param("#0000FF", (32, 240, 118), id="blue"),
    ],
)
def test_a_tone_is_that_of_hd_film(colour: str, told: tuple[int, int, int]) -> None:
    assert tone(colour) == told


def test_a_film_shows_what_a_still_shows() -> None:
    """The same overlay on RGB: light as good as equal but along edges, where lines are whole pixels wide."""
    image, what = soft_picture(), described()
    picture = planes_of(image)
    before = picture.whole.copy()
    paint_planes(picture, what)
    still = planes_of(paint(image, what))
    off = np.abs(picture.y.astype(int) - still.y.astype(int))
    drawn = np.abs(still.y.astype(int) - planes_of(image).y.astype(int)) > 30
    changed = np.abs(picture.y.astype(int) - before[: SIZE[1]].astype(int)) > 30
    assert (drawn & changed).sum() / (drawn | changed).sum() > 0.85
    assert np.percentile(off[drawn], 75) <= 15
    assert off.mean() < 3
    colour = np.abs(picture.whole[SIZE[1] :].astype(int) - still.whole[SIZE[1] :].astype(int))
    assert np.percentile(colour, 95) <= 12


def test_far_from_marks_a_film_stays_as_it_was() -> None:
    picture = planes_of(soft_picture())
    before = picture.copy()
    paint_planes(picture, described(plates=False))
    assert np.array_equal(picture.y[185:215], before.y[185:215])
    assert np.array_equal(picture.u[93:107], before.u[93:107])
    assert np.array_equal(picture.y[90:120, 285:305], before.y[90:120, 285:305]), "a hole is not filled"


@pytest.mark.parametrize("level", [0, 90, 150, 255])
@pytest.mark.parametrize("shown", [pytest.param((854, 480), id="480 lines"), pytest.param((1280, 720), id="720 lines")])
def test_a_films_outlines_are_seen_on_any_ground_by_light_alone(level: int, shown: tuple[int, int]) -> None:
    """WCAG 2.2 SC 1.4.11 (3:1) between pixels of the outline, and a dash that tells out from in, after all conversions."""
    scale = shown[0] / SIZE[0]
    swings = []
    for ruling in ("in", "out"):
        there = station([surface("u1", "box", ruling)], [mark("m1", "u1", square(80, 60, 320, 240))], width=SIZE[0], height=SIZE[1])
        picture = planes_of(np.full((shown[1], shown[0], 3), level, np.uint8))
        paint_planes(picture, overlay(course(), there, "s1", plates=False))
        there_rgb = rgb_of(picture)[round(70 * scale) : round(230 * scale), round(68 * scale) : round(92 * scale)] / 255
        linear = np.where(there_rgb <= 0.04045, there_rgb / 12.92, ((there_rgb + 0.055) / 1.055) ** 2.4)
        light = linear @ [0.2126, 0.7152, 0.0722] + 0.05
        across = light.max(axis=1) / light.min(axis=1)
        assert np.median(across) >= 3
        along = light[:, round(12 * scale)]
        swings.append(float(along.max() / along.min()))
    assert swings[0] < 1.1
    assert swings[1] >= 1.5


@pytest.mark.parametrize("corner", [(10, 20), (11, 20), (10, 21), (11, 21), (-5, -7), (630, 350)])
def test_a_tile_lies_on_its_pixel_wherever_that_is(corner: tuple[int, int]) -> None:
    tile = Tile(np.full((30, 41, 3), (200, 30, 60), np.uint8))
    picture = planes_of(np.full((360, 640, 3), 90, np.uint8))
    tile.lay(picture, *corner)
    ys, xs = np.nonzero(picture.y == tone("#C81E3C")[0])
    left, top = max(0, corner[0]), max(0, corner[1])
    right, bottom = min(640, corner[0] + 41), min(360, corner[1] + 30)
    assert (xs.min(), ys.min(), xs.max() + 1, ys.max() + 1) == (left, top, right, bottom)
    assert len(xs) == (right - left) * (bottom - top)
    inside = rgb_of(picture)[top + 2 : bottom - 2, left + 2 : right - 2].astype(int)
    assert np.abs(inside - (200, 30, 60)).max() <= 3


def test_a_face_is_a_few_cells_of_light_and_of_colour() -> None:
    picture = planes_of(np.random.default_rng(3).integers(0, 255, (360, 640, 3)).astype(np.uint8))
    before = picture.copy()
    blur_planes(picture, [(100, 100, 160, 160), (-30, 300, 30, 420), (700, 0, 800, 50)])
    for (plane, share), (was, _) in zip(picture.each(), before.each(), strict=True):
        face = plane[100 // share : 160 // share, 100 // share : 160 // share].astype(float)
        noise = was[100 // share : 160 // share, 100 // share : 160 // share].astype(float)
        steps = np.abs(np.diff(face, axis=1)).mean()
        assert steps < 0.05 * np.abs(np.diff(noise, axis=1)).mean()
        assert np.array_equal(plane[: 60 // share], was[: 60 // share])


def test_a_picture_of_other_proportions_is_refused() -> None:
    with pytest.raises(ValueError, match="360 x 640"):
        paint_planes(Planes.blank((360, 640)), described())
    with pytest.raises(ValueError, match="even"):
        planes_of(np.zeros((5, 4, 3), np.uint8))
