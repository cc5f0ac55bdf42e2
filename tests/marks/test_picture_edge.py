"""What a picture's edge cuts off, on photos nobody here made: the truth is where the pictures were cut from one photo."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from annotator.course import Mark
from annotator.marks import carry, follow
from annotator.marks.picture_edge import bared
from tests.marks.makers import mark
from tests.marks.photos import Picture, opencv_doc

SIZE = (400, 300)
CUT = mark("m1", "u1", [(320, 100), (400, 100), (400, 200), (320, 200)])
"""A thing that goes on beyond the right edge of its picture."""
WHOLE = mark("m2", "u2", [(250, 110), (330, 110), (330, 190), (250, 190)])


def window(left: int) -> Picture:
    """A piece of the photo, `left` px from where the first one begins."""
    photo = np.asarray(cv2.resize(opencv_doc("graf1.png"), (1000, 800), interpolation=cv2.INTER_AREA), np.uint8)
    return np.ascontiguousarray(photo[200:500, 150 + left : 550 + left])


def test_a_thing_that_the_edge_cut_off_is_left_out_once_more_of_it_is_seen() -> None:
    (right, left) = carry([CUT, WHOLE], window(0), [window(60), window(-60)])
    assert right[0] is None
    assert right[1] is not None
    assert left[0] is not None
    assert left[1] is not None
    assert left[0].mark.rings is not None
    seen = np.asarray(left[0].mark.rings[0])[[0, 3]]
    assert np.allclose(seen, [(380, 100), (380, 200)], atol=1.0)


def test_in_a_clip_it_goes_while_more_is_seen_and_comes_back_when_it_is_cut_off_again() -> None:
    turns = [*range(0, 80, 4), *range(80, -4, -4)]
    shown = [found[0] is not None for found in follow([CUT], window(0), [window(turn) for turn in turns])]
    assert shown[:2] == [True, True]
    assert not any(shown[5:-6])
    assert shown[-2:] == [True, True]


def test_a_long_thing_cut_off_at_its_end_is_shown_while_it_is_nearly_whole() -> None:
    long = mark("m", "u", [(60, 100), (400, 100), (400, 140), (60, 140)])
    (near,), (far,) = carry([long], window(0), [window(40), window(100)])
    assert near is not None and near.mark.rings is not None
    assert np.allclose(near.mark.rings[0], [(20, 100), (360, 100), (360, 140), (20, 140)], atol=1.0)
    assert far is None
    assert [found[0] is not None for found in follow([long], window(0), [window(40), window(100)])] == [True, False]


def moved(given: Mark, across: float, down: float) -> Mark:
    if given.rings is not None:
        return given.model_copy(update={"rings": tuple(tuple((x + across, y + down) for x, y in ring) for ring in given.rings)})
    return given.model_copy(update={"line": tuple((x + across, y + down) for x, y in given.line or ())})


LINE = Mark(id="m", still="s", surface="u", line=((300, 150), (399, 150)), width=10)
CORNER = mark("m", "u", [(360, 260), (400, 260), (400, 300), (360, 300)])
RAIL = mark("m", "u", [(80, 100), (400, 100), (400, 112), (80, 112)])
MAT = mark("m", "u", [(50, 280), (350, 280), (350, 300), (50, 300)])
FULL = mark("m", "u", [(0, 0), (400, 0), (400, 300), (0, 300)])


@pytest.mark.parametrize(
    ("given", "across", "down", "least", "most"),
    [
        pytest.param(CUT, 0, 0, 0, 0, id="not moved"),
        pytest.param(CUT, 40, 0, 0, 0, id="further out"),
        pytest.param(CUT, 0, 30, 0, 0, id="along the edge"),
        pytest.param(CUT, -40, 0, 0.499, 0.501, id="the cut end came in"),
        pytest.param(WHOLE, -40, 0, 0, 0, id="never cut"),
        pytest.param(LINE, -30, 0, 0.312, 0.314, id="a bar's end came in: 31 px of 99"),
        pytest.param(CORNER, 0, -20, 0.499, 0.501, id="one of two cut sides came in"),
        pytest.param(FULL, 0, 100, 0.332, 0.334, id="all of the picture"),
        pytest.param(RAIL, -60, 0, 0.18, 0.2, id="a rail's thin end came in far: it is nearly whole"),
        pytest.param(MAT, 0, -12, 0.59, 0.61, id="a mat's long side came in a little: much may be missing"),
    ],
)
def test_how_much_may_be_seen_beyond_a_cut(given: Mark, across: float, down: float, least: float, most: float) -> None:
    assert least <= bared(given, SIZE, moved(given, across, down), SIZE) <= most
