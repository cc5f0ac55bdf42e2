"""The outlines that a rough one may become, best first: what was voted, what each way of looking takes, and corners that were moved.

In: a crop (crops.py), the rough outline, and what was found of it already. Out: outlines in pixels of the picture. How corners move is
corners.py, how outlines are weighed weigh.py, which of them may be offered snap.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely import make_valid
from shapely.geometry import Polygon, box

from annotator.course import Ring
from annotator.marks.corners import Floats32, likeness, moved, steepest, thinned
from annotator.marks.crops import Crop, Floats, Mask, filled, outline_of
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
    here: Crop, rough: Area, ways: Sequence[Mask], voted: Sequence[Area], size: tuple[int, int], crossing: Ring = ()
) -> list[tuple[Polygon, float]]:
    """Outlines without holes that a rough one may become.

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

    Returns
    -------
    list of (Polygon, float)
        Best first: an outline within the picture, and how much of it the middle one of its rivals takes (intersection over union).
    """
    frame = box(0, 0, *size)
    drawn = _into(here, np.asarray(crossing or max(polygon_list(rough), key=lambda one: one.area).exterior.coords[:-1]))
    like = likeness(here, here.rough, here.band_px)
    outlines = list(_outlines(here, drawn, like, ways, [whole for whole in (_within(one, frame) for one in voted) if whole is not None]))
    diagonal = float(np.hypot(*np.ptp(drawn / here.ratio, axis=0)))
    weights = weigh(here, like, outlines, drawn, diagonal)
    agreed = np.median(shared([filled([one.ring], like.shape) for one in outlines]), axis=1)
    found = []
    for at in np.argsort(-weights, kind="stable"):
        shape = _within(polygons_of(make_valid(Polygon(outlines[at].ring / here.ratio + here.corner))), frame)
        if shape is not None:
            found.append((shape, float(agreed[at])))
    return found


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
    steep = steepest(here)
    yield from _straight(here, few, like, steep, _REACH * size, _FINE)
    if voted:
        yield from _straight(
            here, thinned(_into(here, np.asarray(voted[-1].exterior.coords[:-1])), _THIN * size), like, steep, _SHORT_REACH * size, _COARSE
        )


def _straight(here: Crop, corners: Floats, like: Floats32, steep: float, reach_px: float, grid: int) -> Iterator[Outline]:
    """The corners moved, and moved once more with the colours of what they then enclose, to the end or at first only."""
    if not 3 <= len(corners) <= MOST_CORNERS:
        return
    first = moved(here, corners, like, steep, reach_px, grid if len(corners) <= _FEW_CORNERS else _COARSE)
    yield Outline(first, CORNERS)
    inside = filled([first], like.shape)
    if inside.sum() >= _LEAST_PX:
        size = float(np.hypot(*np.ptp(first, axis=0)))
        likelier = likeness(here, inside, max(_LEAST_BAND_PX, here.band_px / 2))
        yield Outline(moved(here, first, likelier, steep, _AGAIN * size, 5), CORNERS)
        yield Outline(moved(here, first, likelier, steep, _AGAIN * size, 5, 0), EDGES)


def _into(here: Crop, ring: Floats) -> Floats:
    """A ring in pixels of the crop."""
    return np.asarray((ring - here.corner) * here.ratio, np.float64)


def _within(outline: Area, frame: Polygon) -> Polygon | None:
    pieces = polygon_list(polygons_of(outline.intersection(frame)))
    return max(pieces, key=lambda one: one.area) if pieces else None
