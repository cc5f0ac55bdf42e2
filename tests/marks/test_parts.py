"""The top and the sides of boxes laid over a real photo, lit from above; things without an edge across them."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon

from annotator.marks.parts import part_named, part_of
from tests.marks.photos import Picture, opencv_doc
from tests.marks.test_snap import iou, laid_over

TOP = Polygon([(90, 100), (130, 70), (330, 70), (300, 100)])
FRONT = Polygon([(90, 100), (300, 100), (300, 220), (90, 220)])
WHOLE = Polygon([(90, 100), (130, 70), (330, 70), (300, 100), (300, 220), (90, 220)])


def picture(top: int, front: int) -> Picture:
    ground = np.asarray(cv2.resize(opencv_doc("fruits.jpg"), (420, 300)), np.uint8)
    for shape, light in ((TOP, top), (FRONT, front)):
        ground = laid_over(ground, np.full((300, 420, 3), (light // 3, light // 2, light), np.uint8), shape)
    return ground


@pytest.mark.parametrize(("part", "truth"), [("tops", TOP), ("the sides", FRONT), ("front", FRONT)])
def test_a_box_is_parted_along_the_edge_between_its_top_and_its_front(part: str, truth: Polygon) -> None:
    named = part_named(part)
    assert named is not None
    found = part_of(picture(230, 150), [(float(x), float(y)) for x, y in WHOLE.exterior.coords[:-1]], named)
    assert found is not None
    assert iou(Polygon(found), truth) >= 0.85


def test_nothing_is_parted_where_no_edge_runs_across_and_no_other_part_is_known() -> None:
    outline = [(float(x), float(y)) for x, y in WHOLE.exterior.coords[:-1]]
    assert part_of(picture(150, 150), outline, "top") is None
    assert part_of(picture(230, 150), [(5.0, 5.0), (9.0, 5.0), (9.0, 9.0)], "top") is None
    assert part_named("left half") is None
