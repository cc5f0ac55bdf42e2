"""Following marks through a made handheld path over a photo nobody here made: every frame's truth is the path's own homography."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.marks import follow
from tests.marks.makers import mark
from tests.marks.photos import Picture, opencv_doc

SIZE = (640, 360)


def path(count: int) -> Iterator[NDArray[np.float64]]:
    """Pan, zoom, roll and shake from the photo to each frame."""
    rng = np.random.default_rng(6)
    for i in range(count):
        turn, zoom = np.deg2rad(0.25 * i + rng.normal(0, 0.2)), 0.8 * 1.006**i
        shift = np.array([-60 - 2.5 * i, -90 - 0.8 * i]) + rng.normal(0, 1.2, 2)
        c, s = zoom * np.cos(turn), zoom * np.sin(turn)
        yield np.array([[c, -s, shift[0]], [s, c, shift[1]], [1e-6 * i, -2e-6 * i, 1]])


def shot(photo: Picture, matrix: NDArray[np.float64], seed: int) -> Picture:
    frame = cv2.warpPerspective(photo, matrix, SIZE, flags=cv2.INTER_AREA)
    blurred = cv2.blur(frame, (3, 1)).astype(np.float32) * (1 - 0.004 * seed)
    return np.asarray(np.clip(blurred + np.random.default_rng(seed).normal(0, 3, blurred.shape), 0, 255), np.uint8)


def through(matrix: NDArray[np.float64], ring: NDArray[np.float64]) -> NDArray[np.float64]:
    moved = np.column_stack([ring - 0.5, np.ones(len(ring))]) @ matrix.T
    return np.asarray(moved[:, :2] / moved[:, 2:] + 0.5, np.float64)


def test_marks_stay_on_their_things_through_a_clip_and_are_found_again_after_a_cut() -> None:
    photo = opencv_doc("graf1.png")
    matrices = list(path(34))
    rings = [np.array(ring, float) for ring in ([(300, 180), (420, 170), (440, 300), (310, 310)], [(500, 260), (600, 240), (620, 380)])]
    start = [through(matrices[0], ring) for ring in rings]
    marks = [mark(f"m{i}", f"u{i}", [(float(x), float(y)) for x, y in ring]) for i, ring in enumerate(start)]
    other = np.asarray(cv2.resize(opencv_doc("building.jpg"), SIZE), np.uint8)
    frames = [shot(photo, matrix, i) for i, matrix in enumerate(matrices)]
    frames[20:22] = [other, other]
    followed = list(follow(marks, frames[0], iter(frames[1:])))
    assert len(followed) == 33
    overlaps = []
    for i, found in enumerate(followed, start=1):
        if i in (20, 21):
            assert found == (None, None)
            continue
        for one, ring in zip(found, rings, strict=True):
            if one is None:
                overlaps.append(0.0)
                continue
            assert one.mark.rings is not None
            got, want = Polygon(one.mark.rings[0]), Polygon(through(matrices[i], ring))
            overlaps.append(float(got.intersection(want).area / got.union(want).area))
    # A withheld one counts as 0.
    assert np.median(overlaps) >= 0.95
    assert np.percentile(overlaps, 5) >= 0.85
    assert followed[-1][0] is not None


def test_a_mark_that_somebody_hides_for_a_while_comes_back() -> None:
    """A grey body stands before one of two marks in frames 6 to 12."""
    photo = opencv_doc("graf1.png")
    matrices = list(path(26))
    rings = [np.array(ring, float) for ring in ([(300, 180), (420, 170), (440, 300), (310, 310)], [(560, 260), (660, 240), (680, 380)])]
    start = [through(matrices[0], ring) for ring in rings]
    marks = [mark(f"m{i}", f"u{i}", [(float(x), float(y)) for x, y in ring]) for i, ring in enumerate(start)]
    frames = [shot(photo, matrix, i) for i, matrix in enumerate(matrices)]
    for i in range(6, 13):
        around = through(matrices[i], rings[0])
        (left, top), (right, bottom) = np.floor(around.min(axis=0) - 8).astype(int), np.ceil(around.max(axis=0) + 8).astype(int)
        cv2.rectangle(frames[i], (int(left), int(top)), (int(right), int(bottom)), (120, 110, 130), -1)
    followed = list(follow(marks, frames[0], iter(frames[1:])))
    shown = [[one is not None for one in found] for found in zip(*followed, strict=True)]
    hidden = slice(5, 12)
    assert not any(shown[0][hidden])
    assert all(shown[1][hidden])
    back = followed[-1][0]
    assert back is not None and back.mark.rings is not None
    got, want = Polygon(back.mark.rings[0]), Polygon(through(matrices[-1], rings[0]))
    assert got.intersection(want).area / got.union(want).area >= 0.9


def test_no_frames_and_no_marks_are_nothing_to_do() -> None:
    picture = np.zeros((360, 640, 3), np.uint8)
    assert list(follow([], picture, [picture])) == [()]
    assert list(follow([], picture, [])) == []


@pytest.mark.parametrize("ground", [0, 128], ids=["black", "grey"])
def test_through_frames_of_nothing_everything_is_withheld(ground: int) -> None:
    blank = np.full((360, 640, 3), ground, np.uint8)
    photo = np.asarray(cv2.resize(opencv_doc("graf1.png"), SIZE), np.uint8)
    marks = [mark("m1", "u1", [(200, 100), (300, 100), (300, 200)])]
    assert list(follow(marks, photo, [blank] * 2)) == [(None,)] * 2


def test_through_noise_everything_is_withheld_and_a_still_of_nothing_carries_nothing() -> None:
    rng = np.random.default_rng(3)
    noise = [rng.integers(0, 256, (360, 640, 3)).astype(np.uint8) for _ in range(3)]
    photo = np.asarray(cv2.resize(opencv_doc("graf1.png"), SIZE), np.uint8)
    marks = [mark("m1", "u1", [(200, 100), (300, 100), (300, 200)])]
    assert list(follow(marks, photo, noise)) == [(None,)] * 3
    assert list(follow(marks, noise[0], [photo, noise[1]])) == [(None,)] * 2
    for ground in (0, 128):
        assert list(follow(marks, np.full((360, 640, 3), ground, np.uint8), [photo])) == [(None,)]


def test_frames_of_another_size_and_turned_by_a_quarter_take_the_marks_along() -> None:
    """As where two clips of one place were put together, one of them filmed upright."""
    photo = opencv_doc("graf1.png")
    ring = np.array([(300, 180), (420, 170), (440, 300), (310, 310)], float)
    larger = np.asarray(cv2.resize(photo, None, fx=1.5, fy=1.5, interpolation=cv2.INTER_CUBIC), np.uint8)
    turned = np.ascontiguousarray(np.rot90(photo))
    there = [ring * 1.5, np.column_stack([ring[:, 1], photo.shape[1] - ring[:, 0]])]
    for frame, want in zip((larger, turned), there, strict=True):
        ((found,),) = follow([mark("m", "u", [(float(x), float(y)) for x, y in ring])], photo, [frame])
        assert found is not None and found.mark.rings is not None
        got = Polygon(found.mark.rings[0])
        assert got.intersection(Polygon(want)).area / got.union(Polygon(want)).area >= 0.95


def test_outlines_of_very_many_points_and_that_cross_themselves_are_followed_with_all_their_points() -> None:
    photo = opencv_doc("graf1.png")
    turn = np.linspace(0, 2 * np.pi, 100_000, endpoint=False)
    many = list(zip((400 + 90 * np.cos(turn)).tolist(), (240 + 70 * np.sin(turn)).tolist(), strict=True))
    bow = [(300.0, 150.0), (500.0, 330.0), (500.0, 150.0), (300.0, 330.0)]
    moved = np.ascontiguousarray(photo[4:, 6:])
    (found,) = follow([mark("m1", "u1", many), mark("m2", "u2", bow)], photo, [moved])
    for one, given in zip(found, (many, bow), strict=True):
        assert one is not None and one.mark.rings is not None
        assert np.abs(np.asarray(one.mark.rings[0]) - (np.asarray(given) - (6, 4))).max() < 1.0
