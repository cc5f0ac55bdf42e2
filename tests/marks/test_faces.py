"""Faces in photos that nobody here made, found and blurred.

Boxes by eye on two photos of opencv-doc; 100 faces and 100 crops that are none in scikit-image's excerpt of Labeled Faces in the Wild.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.marks import blur, find_faces
from tests.marks.photos import Picture, opencv_doc, skimage

BY_EYE = {
    "basketball1.png": [(70, 92, 103, 135), (510, 62, 550, 126)],
    "basketball2.png": [(70, 93, 104, 134), (515, 62, 554, 126)],
}


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    across = max(0.0, min(one[2], other[2]) - max(one[0], other[0]))
    down = max(0.0, min(one[3], other[3]) - max(one[1], other[1]))
    both = (one[2] - one[0]) * (one[3] - one[1]) + (other[2] - other[0]) * (other[3] - other[1])
    return across * down / (both - across * down)


@pytest.mark.parametrize("quarters", [pytest.param(0, id="upright"), pytest.param(1, id="on-its-side"), pytest.param(2, id="upside-down")])
@pytest.mark.parametrize("name", list(BY_EYE))
def test_every_face_is_found_whichever_way_up(name: str, quarters: int) -> None:
    photo = opencv_doc(name)
    height, width = photo.shape[:2]
    found = find_faces(np.ascontiguousarray(np.rot90(photo, quarters)))
    for x0, y0, x1, y1 in BY_EYE[name]:
        there = [(x0, y0, x1, y1), (y0, width - x1, y1, width - x0), (width - x1, height - y1, width - x0, height - y0)][quarters]
        assert max((overlap(there, one) for one in found), default=0) > 0.5


@pytest.mark.parametrize("name", ["graf1.png", "fruits.jpg"])
def test_no_face_is_found_where_there_is_none(name: str) -> None:
    assert find_faces(opencv_doc(name)) == ()


def test_labelled_faces_are_found_and_other_crops_are_not() -> None:
    data = pytest.importorskip("skimage.data", reason="scikit-image is not installed")
    crops = (data.lfw_subset() * 255).astype(np.uint8)

    def found(crop: Picture) -> bool:
        ground = np.full((96, 96, 3), 128, np.uint8)
        ground[23:73, 23:73] = np.kron(crop, np.ones((2, 2), np.uint8))[..., None]
        return bool(find_faces(ground, turned=False))

    assert sum(found(crop) for crop in crops[:100]) >= 97
    assert sum(found(crop) for crop in crops[100:]) <= 3


def test_a_blurred_face_is_no_longer_found() -> None:
    photo = skimage("astronaut")
    boxes = find_faces(photo)
    assert len(boxes) == 1
    assert find_faces(blur(photo, boxes)) == ()


def test_pictures_that_differ_only_inside_a_cell_blur_to_the_same() -> None:
    """What is lost is lost: shuffling the pixels inside every cell changes nothing in the result."""
    rng = np.random.default_rng(3)
    one = rng.integers(0, 256, (96, 96, 3)).astype(np.uint8)
    # A box over everything: six cells of 16 across, each one mean.
    cells = one.reshape(6, 16, 6, 16, 3).transpose(0, 2, 1, 3, 4).reshape(36, 256, 3)
    shuffled = np.stack([cell[rng.permutation(256)] for cell in cells])
    other = shuffled.reshape(6, 6, 16, 16, 3).transpose(0, 2, 1, 3, 4).reshape(96, 96, 3)
    assert not np.array_equal(one, other)
    assert np.array_equal(blur(one, [(0, 0, 96, 96)]), blur(other, [(0, 0, 96, 96)]))


@settings(deadline=None)
@given(st.tuples(*[st.floats(-40, 120)] * 4))
def test_blurring_any_box_touches_nothing_far_from_it(box: tuple[float, float, float, float]) -> None:
    picture = np.random.default_rng(1).integers(0, 256, (60, 80, 3)).astype(np.uint8)
    before = picture.copy()
    hidden = blur(picture, [box])
    assert np.array_equal(picture, before)
    x0, y0, x1, y1 = box
    reach_x, reach_y = 0.3 * abs(x1 - x0) + 1, 0.3 * abs(y1 - y0) + 1
    rows, columns = np.nonzero((hidden != picture).any(axis=2))
    assert all(min(x0, x1) - reach_x <= column <= max(x0, x1) + reach_x for column in columns)
    assert all(min(y0, y1) - reach_y <= row <= max(y0, y1) + reach_y for row in rows)


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(np.zeros((90, 160, 3), np.uint8), id="black"),
        pytest.param(np.full((90, 160, 3), 255, np.uint8), id="white"),
        pytest.param(np.random.default_rng(0).integers(0, 256, (90, 160, 3)).astype(np.uint8), id="noise"),
        pytest.param(np.zeros((1, 1, 3), np.uint8), id="one-pixel"),
        pytest.param(np.zeros((3, 4000, 3), np.uint8), id="a-sliver"),
    ],
)
def test_a_picture_of_nothing_has_no_faces(picture: Picture) -> None:
    assert find_faces(picture) == ()
