"""Faces between the looks, on paths whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.marks import FaceTrack, Look
from annotator.marks.faces import GROW, Box

EVERY_S = 0.3


def face(time_s: float, speed: float = 80.0, size: float = 40.0) -> Box:
    """A face that crosses the picture."""
    x = 20 + speed * time_s
    return (x, 50.0, x + size, 50.0 + size)


def covered(box: Box, by: tuple[Box, ...]) -> bool:
    """Whether the whole box lies in one of the others, grown as blurring grows them."""
    for x0, y0, x1, y1 in by:
        across, down = GROW * (x1 - x0), GROW * (y1 - y0)
        if x0 - across <= box[0] and box[2] <= x1 + across and y0 - down <= box[1] and box[3] <= y1 + down:
            return True
    return False


@pytest.mark.parametrize("missed", [pytest.param({1}, id="one"), pytest.param({1, 3}, id="every-other"), pytest.param(set(), id="none")])
@pytest.mark.parametrize("speed", [0.0, 60.0, 180.0])
def test_a_face_missed_between_two_finds_is_where_it_was(missed: set[int], speed: float) -> None:
    looks = [Look(at * EVERY_S, () if at in missed else (face(at * EVERY_S, speed),)) for at in range(5)]
    track = FaceTrack(looks)
    for time_s in np.arange(0, 1.2, 1 / 30):
        assert covered(face(time_s, speed), track.at(float(time_s)))


def test_a_face_that_is_lost_is_followed_as_far_as_the_next_look() -> None:
    looks = [Look(0.0, (face(0.0),)), Look(0.3, (face(0.3),)), Look(0.6, ()), Look(0.9, ())]
    track = FaceTrack(looks)
    assert covered(face(0.55), track.at(0.55))
    assert track.at(0.7) == ()


def test_two_faces_keep_their_own_ways() -> None:
    def boxes(time_s: float) -> tuple[Box, ...]:
        left, right = face(time_s), face(time_s, speed=-80.0)
        return (left, (right[0] + 200, right[1], right[2] + 200, right[3]))

    looks = [Look(0.0, boxes(0.0)), Look(0.3, boxes(0.3)[::-1]), Look(0.6, boxes(0.6))]
    for time_s in (0.1, 0.25, 0.4, 0.55):
        assert np.allclose(sorted(FaceTrack(looks).at(time_s)), sorted(boxes(time_s)))


def test_faces_of_another_size_or_far_away_are_not_one() -> None:
    near, far, large = (0.0, 0.0, 40.0, 40.0), (400.0, 0.0, 440.0, 40.0), (0.0, 0.0, 120.0, 120.0)
    assert FaceTrack([Look(0.0, (near,)), Look(0.3, (far,)), Look(0.6, (large,))]).at(0.15) == ()


Looks = st.lists(st.lists(st.tuples(*[st.floats(-50, 700)] * 4), max_size=4), max_size=6)


@settings(deadline=None)
@given(Looks, st.floats(-1, 3))
def test_any_boxes_give_boxes_with_an_area(looks: list[list[Box]], time_s: float) -> None:
    found = FaceTrack([Look(at * EVERY_S, tuple(boxes)) for at, boxes in enumerate(looks)]).at(time_s)
    assert all(x0 < x1 and y0 < y1 for x0, y0, x1, y1 in found)
    assert len(found) <= sum(len(boxes) for boxes in looks) // 2
    assert not found or 0 <= time_s <= EVERY_S * (len(looks) - 1)


def test_no_looks_and_one_look_show_nothing() -> None:
    assert FaceTrack([]).at(0.0) == ()
    assert FaceTrack([Look(0.0, (face(0.0),))]).at(0.0) == ()
