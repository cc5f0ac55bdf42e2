"""An outline's strip compared between two pictures: made displacements of photos nobody here made are the truth."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks import follow
from annotator.marks.carry import agreement
from annotator.marks.rims import edges_hold, rim_of
from annotator.marks.views import view
from tests.marks.makers import mark
from tests.marks.photos import Picture, opencv_doc

BOX = [(300.0, 180.0), (420.0, 170.0), (440.0, 300.0), (310.0, 310.0)]


def moved(found: Mark, across: float, down: float) -> Mark:
    if found.rings is not None:
        return found.model_copy(update={"rings": tuple(tuple((x + across, y + down) for x, y in ring) for ring in found.rings)})
    assert found.line is not None
    return found.model_copy(update={"line": tuple((x + across, y + down) for x, y in found.line)})


def photo() -> Picture:
    return opencv_doc("graf1.png")


def test_lying_beside_is_told_and_costs_at_least_the_area_that_it_loses() -> None:
    """The same picture: what is lost is known from the two outlines alone. Texture along the sides that moved costs more."""
    here = view(photo(), 640)
    one = mark("m", "u", BOX)
    shifts = (0.0, 1.0, 3.0, 6.0)
    held = [edges_hold(rim_of(one, here), moved(one, shift, 0.0), here) for shift in shifts]
    assert held == sorted(held, reverse=True) and held[0] > 0.95
    for shift, value in zip(shifts, held, strict=True):
        assert value <= agreement(one, moved(one, shift, 0.0)) + 0.02
    assert held[1] > 0.85 and held[3] < 0.73


def test_a_thin_thing_bears_less_than_a_thick_one() -> None:
    here = view(photo(), 640)
    thick = mark("m1", "u1", BOX)
    thin = mark("m2", "u2", [(300.0, 180.0), (420.0, 170.0), (421.0, 182.0), (301.0, 192.0)])
    held = [edges_hold(rim_of(one, here), moved(one, 0.0, 2.0), here) for one in (thick, thin)]
    assert held[0] > 0.8 > 0.7 > held[1]


def test_the_same_through_a_larger_and_darker_picture() -> None:
    source = photo()
    larger = np.asarray(cv2.resize(source, None, fx=1.3, fy=1.3, interpolation=cv2.INTER_CUBIC) * 0.7, np.uint8)
    here, there = view(source, 640), view(larger, 640)
    one = mark("m", "u", BOX)
    carried = one.model_copy(update={"rings": (tuple((x * 1.3, y * 1.3) for x, y in BOX),)})
    assert edges_hold(rim_of(one, here), carried, there) > 0.9


def test_a_line_is_compared_along_both_its_sides() -> None:
    picture = np.full((200, 300, 3), 90, np.uint8)
    picture[95:103, 20:280] = (200, 60, 60)
    here = view(picture, 640)
    bar = Mark(id="m", still="s", surface="u", line=((20, 99), (280, 99)), width=8)
    assert edges_hold(rim_of(bar, here), bar, here) > 0.9
    assert edges_hold(rim_of(bar, here), moved(bar, 0.0, 2.0), here) < 0.7


@pytest.mark.parametrize("ground", ["black", "grey", "noise", "another place"])
def test_nothing_of_it_is_nothing_alike(ground: str) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (640, 800, 3)).astype(np.uint8)
    other = {
        "black": np.zeros((640, 800, 3), np.uint8),
        "grey": np.full((640, 800, 3), 128, np.uint8),
        "noise": noise,
        "another place": np.asarray(cv2.resize(opencv_doc("building.jpg"), (800, 640)), np.uint8),
    }[ground]
    one = mark("m", "u", BOX)
    assert edges_hold(rim_of(one, view(photo(), 640)), one, view(other, 640)) < 0.6


def test_out_of_sight_is_not_known_to_hold_and_no_area_has_no_rim() -> None:
    here = view(photo(), 640)
    one = mark("m", "u", BOX)
    assert edges_hold(rim_of(one, here), moved(one, 5000.0, 0.0), here) == 0.0
    flat = mark("m", "u", [(10.0, 10.0), (60.0, 10.0), (30.0, 10.0)])
    with pytest.raises(InvalidMark):
        rim_of(flat, here)
    assert list(follow([flat], photo(), [photo()])) == [(None,)]


def test_an_outline_that_slides_with_what_stands_behind_is_withheld() -> None:
    """Through a hoop one sees the wall: what lies in the outline moves with the wall, the hoop stays where it is."""
    wall = opencv_doc("graf1.png")

    def shot(at: int) -> Picture:
        picture = np.ascontiguousarray(wall[100:460, 60 + 3 * at : 700 + 3 * at])
        cv2.rectangle(picture, (280, 120), (360, 240), (240, 200, 30), 5)
        return picture

    hoop = mark("m", "u", [(277.5, 117.5), (363.5, 117.5), (363.5, 243.5), (277.5, 243.5)])
    shown = [one for (one,) in follow([hoop], shot(0), [shot(at) for at in range(1, 12)]) if one is not None]
    assert all(agreement(one.mark, hoop) >= 0.85 for one in shown)


def test_an_outline_along_which_nothing_is_to_be_seen_holds_on_nothing() -> None:
    """An evenly grey wall with a camera's noise: nothing would show that the outline slid. A line of another grey along it is enough."""
    rng = np.random.default_rng(3)
    one = mark("m", "u", BOX)
    inside = cv2.fillPoly(np.zeros((360, 640), np.uint8), [np.array(BOX, np.int32)], 1).astype(bool)
    held = []
    for brighter in (0, 25):
        still, frame = (np.full((360, 640, 3), 60.0) + rng.normal(0, 2, (360, 640, 3)) + brighter * inside[..., None] for _ in range(2))
        still, frame = (np.clip(picture, 0, 255).astype(np.uint8) for picture in (still, frame))
        held.append(edges_hold(rim_of(one, view(still, 640)), one, view(frame, 640)))
    assert held[0] == 0.0 and held[1] > 0.74
