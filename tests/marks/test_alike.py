"""Other pieces of one thing: bars and plates of known places laid over real photos; pictures in which there is no other."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon, box

from annotator.marks.alike import alike
from annotator.marks.snap import Snapped
from tests.marks.photos import Picture, opencv_doc
from tests.marks.test_snap import iou, laid_over

BLUE = np.full((300, 420, 3), (40, 60, 170), np.uint8)


def ground(name: str) -> Picture:
    return np.asarray(cv2.resize(opencv_doc(name), (420, 300)), np.uint8)


def with_all(picture: Picture, pieces: list[Polygon]) -> Picture:
    for piece in pieces:
        picture = laid_over(picture, BLUE, piece)
    return picture


def covered(piece: Snapped) -> Polygon:
    if piece.line is not None and piece.width is not None:
        return LineString(piece.line).buffer(piece.width / 2, cap_style="flat")
    assert piece.rings is not None
    return Polygon(piece.rings[0], piece.rings[1:])


def ends_of(line: LineString) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in line.coords]


RUNGS = [LineString([(40.0 + 80 * at, 90.0 + 4 * at), (95.0 + 80 * at, 92.0 + 4 * at)]) for at in range(5)]


@pytest.mark.parametrize("first", [0, 2, 4])
@pytest.mark.parametrize("photo", ["fruits.jpg", "board.jpg"])
def test_one_rung_finds_the_other_four_and_nothing_else(photo: str, first: int) -> None:
    shapes = [rung.buffer(3, cap_style="flat") for rung in RUNGS]
    picture = with_all(ground(photo), shapes)
    found = alike(picture, ends_of(RUNGS[first]), width=6.0)
    others = [shape for at, shape in enumerate(shapes) if at != first]
    assert len(found) == 4
    assert all(iou(covered(piece), other) >= 0.8 for piece, other in zip(found, others, strict=True))


def test_one_plate_finds_the_others_of_its_shape_but_not_a_smaller_one_of_its_colour() -> None:
    plate = Polygon([(40, 60), (110, 60), (100, 110), (30, 110)])
    plates = [translate(plate, 100 * at, 30 * at) for at in range(3)]
    dot = box(320, 40, 332, 52)
    picture = with_all(ground("fruits.jpg"), [*plates, dot])
    found = alike(picture, ends_of(plates[1].exterior)[:-1])
    assert len(found) == 2
    assert all(iou(covered(piece), other) >= 0.85 for piece, other in zip(found, (plates[0], plates[2]), strict=True))


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(np.full((300, 420, 3), 128, np.uint8), id="plain"),
        pytest.param(np.random.default_rng(0).integers(0, 256, (300, 420, 3)).astype(np.uint8), id="noise"),
    ],
)
def test_where_there_is_no_other_none_is_offered(picture: Picture) -> None:
    assert alike(picture, ends_of(RUNGS[0]), width=6.0) == ()
    assert alike(with_all(picture, [RUNGS[0].buffer(3, cap_style="flat")]), ends_of(RUNGS[0]), width=6.0) == ()
