"""The outlines that a rough one may become: what was voted, what each way of looking takes, corners that moved, and these less bites.

In: a crop (crops.py), the rough outline, and what was found of it already. Out: one outline in pixels of the picture. How corners move is
corners.py, what bites are notches.py, how outlines are weighed weigh.py, what is made of the likely ones middle.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from shapely import make_valid
from shapely.geometry import Polygon, box

from annotator.course import Ring
from annotator.marks.corners import Floats32, likeness, moved, steepest, thinned
from annotator.marks.crops import Crop, Floats, Mask, filled, outline_of
from annotator.marks.middle import middle_of
from annotator.marks.notches import bitten, strange
from annotator.marks.outlines import Area, polygon_list, polygons_of
from annotator.marks.weigh import CORNERS, EDGES, VOTED, WAY, Outline, shared, weigh

MOST_CORNERS = 12
_FEW_CORNERS, _FINE, _COARSE = 8, 9, 7
"""Points a side of the grid around each of few corners, and of more: it is the time that grows."""
_THIN, _THINNER = 0.02, 0.06
_REACH, _SHORT_REACH, _AGAIN = 0.06, 0.03, 0.02
"""Of the outline's diagonal: how far corners may be off as they were drawn, as they were voted, and after they were moved."""
_LEAST_PX = 20
_LEAST_BAND_PX = 4.0


def rivals(
    here: Crop,
    rough: Area,
    ways: Sequence[Mask],
    voted: Sequence[Area],
    size: tuple[int, int],
    crossing: Ring = (),
    strays: Callable[[Polygon], bool] = lambda _: False,
) -> tuple[Polygon, float] | None:
    """What a rough outline may become: the middle of outlines without holes, each counted by its weight.

    Parameters
    ----------
    here : Crop
        Around the rough outline.
    rough : Area
        In pixels of the picture.
    ways : sequence of (H, W) bool
        What single ways of looking take of the crop.
    voted : sequence of Area
        What they took together, at the first look and at later ones; the last is held for the best of them.
    size : (width, height)
        Of the picture.
    crossing : sequence of (x, y)
        The corners as they were drawn, where the outline crosses itself and `rough` is what was made of it.
    strays : callable
        Of an outline within the picture, in its pixels: whether it may not be offered.

    Returns
    -------
    (Polygon, float) or None
        An outline within the picture, and how much of the likeliest one the middle one of its rivals takes (intersection over union).
        None where all stray.
    """
    frame = box(0, 0, *size)
    drawn = _into(here, np.asarray(crossing or max(polygon_list(rough), key=lambda one: one.area).exterior.coords[:-1]))
    like = likeness(here, here.rough, here.band_px)
    outlines = list(_outlines(here, drawn, like, ways, [whole for whole in (_within(one, frame) for one in voted) if whole is not None]))
    weights = weigh(here, like, outlines, drawn, float(np.hypot(*np.ptp(drawn / here.ratio, axis=0))))
    shapes = [_placed(here, one.ring, frame) for one in outlines]
    near = {at: shape for at, shape in enumerate(shapes) if shape is not None and not strays(shape)}
    if not near:
        return None
    best = max(near, key=lambda at: weights[at])
    middle = _placed(here, middle_of([outlines[at].ring for at in near], weights[list(near)], like.shape), frame)
    agreed = np.median(shared([filled([one.ring], like.shape) for one in outlines])[best])
    return near[best] if middle is None or strays(middle) else middle, float(agreed)


def _outlines(here: Crop, drawn: Floats, like: Floats32, ways: Sequence[Mask], voted: Sequence[Polygon]) -> Iterator[Outline]:
    for number, whole in enumerate(reversed(voted)):
        yield Outline(_into(here, np.asarray(whole.exterior.coords[:-1])), WAY if number else VOTED)
    for way in ways:
        taken = outline_of(way, here, find_holes=False)
        if taken is not None:
            yield Outline(_into(here, np.asarray(taken.exterior.coords[:-1])), WAY)
    size = float(np.hypot(*np.ptp(drawn, axis=0)))
    few = thinned(drawn, _THIN * size)
    if len(few) > MOST_CORNERS:
        few = thinned(drawn, _THINNER * size)
    steep, odd = steepest(here), strange(here)
    yield from _straight(here, odd, few, like, steep, _REACH * size, _FINE)
    if voted:
        corners = thinned(_into(here, np.asarray(voted[-1].exterior.coords[:-1])), _THIN * size)
        yield from _straight(here, odd, corners, like, steep, _SHORT_REACH * size, _COARSE)


def _straight(here: Crop, odd: Mask, corners: Floats, like: Floats32, steep: float, reach_px: float, grid: int) -> Iterator[Outline]:
    """The corners moved, and moved once more with the colours of what they then enclose, to the end or at first only; those of the second
    time also less what is `odd` at their border."""
    if not 3 <= len(corners) <= MOST_CORNERS:
        return
    first = moved(here, corners, like, steep, reach_px, grid if len(corners) <= _FEW_CORNERS else _COARSE)
    yield Outline(first, CORNERS)
    inside = filled([first], like.shape)
    if inside.sum() >= _LEAST_PX:
        size = float(np.hypot(*np.ptp(first, axis=0)))
        likelier = likeness(here, inside, max(_LEAST_BAND_PX, here.band_px / 2))
        for how, coloured in ((CORNERS, 2), (EDGES, 0)):
            ring = moved(here, first, likelier, steep, _AGAIN * size, 5, coloured)
            yield Outline(ring, how)
            less = bitten(here, ring, odd)
            if less is not None:
                yield Outline(less, how, ring)


def _into(here: Crop, ring: Floats) -> Floats:
    """A ring in pixels of the crop."""
    return np.asarray((ring - here.corner) * here.ratio, np.float64)


def _placed(here: Crop, ring: Floats, frame: Polygon) -> Polygon | None:
    """A ring of the crop as an outline within the picture, in its pixels."""
    return _within(polygons_of(make_valid(Polygon(ring / here.ratio + here.corner))), frame)


def _within(outline: Area, frame: Polygon) -> Polygon | None:
    pieces = polygon_list(polygons_of(outline.intersection(frame)))
    return max(pieces, key=lambda one: one.area) if pieces else None
