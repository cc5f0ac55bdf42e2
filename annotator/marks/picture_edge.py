"""Marks that the edge of their picture cuts off: half a box is not the box, and must not be shown as if it were.

In: a mark, the picture it was drawn on, and where it was carried. Out: how much of the thing may now be seen beyond the cut. Pixels of each
picture, counted from its corner.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from annotator.course import Mark
from annotator.marks.outlines import area

MOST_BARED = 0.2
"""A mark that lacks as much still overlaps its thing by 0.83. How deep the cut stands in the picture says less: a rail cut at its thin end
is nearly whole when that end is far inside. Judged by depth, 5 % of right outlines at moments of walking were left out for nothing."""
_ON_EDGE_PX = 1.6
_LEAST_CUT_PX = 2.0
_PLACES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
"""Where along a cut it is looked how far the picture goes on."""

Size = tuple[int, int]
Points = NDArray[np.float64]
Cut = tuple[Points, Points, float]
"""A cut piece where it was carried to: both ends, which side of the way from one to the other is outside (1 or -1)."""


def bared(mark: Mark, size: Size, there: Mark, size_there: Size) -> float:
    """How much of a thing may be seen beyond where its mark's own picture cut it off.

    Parameters
    ----------
    mark, there : Mark
        The same mark before and after carrying, with as many points in the same order.
    size, size_there : (width, height)
        Of the two pictures.

    Returns
    -------
    float
        The area between the cut ends and the edge of the picture straight beyond them, as a share of the mark's area: the most that the
        mark can lack. 0 where the picture cuts nothing off, or where the cut ends still lie at the edge or beyond it.

    Examples
    --------
    >>> cut = Mark(id="m", still="s", surface="u", rings=(((0, 10), (30, 10), (30, 40), (0, 40)),))
    >>> moved = cut.model_copy(update={"rings": (tuple((x + 15, y) for x, y in cut.rings[0]),)})
    >>> bared(cut, (100, 50), cut, (100, 50)), bared(cut, (100, 50), moved, (100, 50))
    (0.0, 0.5)
    """
    beyond = sum(_beyond(cut, size_there) for cut in _cuts(mark, size, there))
    return float(beyond / area(there).area) if beyond > 0 else 0.0


def _cuts(mark: Mark, size: Size, there: Mark) -> Iterable[Cut]:
    """The pieces of an outline that ran along the picture's edge, or the ends of a line that touched it."""
    if mark.rings is not None and there.rings is not None:
        for before, after in zip(mark.rings, there.rings, strict=True):
            yield from _cut_sides(np.asarray(before, np.float64), np.asarray(after, np.float64), size)
        return
    line, carried = np.asarray(mark.line, np.float64), np.asarray(there.line, np.float64)
    for end, inner in ((0, 1), (-1, -2)):
        if any(abs(line[end, axis] - limit) < _ON_EDGE_PX for axis, limit in _sides(size)):
            way = carried[end] - carried[inner]
            across = np.array([-way[1], way[0]]) / max(1e-9, float(np.hypot(*way))) * (there.width or 0) / 2
            yield carried[end] - across, carried[end] + across, 1.0


def _cut_sides(before: Points, after: Points, size: Size) -> Iterable[Cut]:
    following, landed = np.roll(before, -1, axis=0), np.roll(after, -1, axis=0)
    along = np.zeros(len(before), dtype=bool)
    for axis, limit in _sides(size):
        along |= np.maximum(np.abs(before[:, axis] - limit), np.abs(following[:, axis] - limit)) < _ON_EDGE_PX
    along &= np.hypot(*(before - following).T) > _LEAST_CUT_PX
    turn = float(np.sign(np.sum(after[:, 0] * landed[:, 1] - landed[:, 0] * after[:, 1])))
    return ((one, other, turn) for one, other in zip(after[along], landed[along], strict=True))


def _beyond(cut: Cut, size: Size) -> float:
    """The area from a cut straight outwards to the edge of the picture, square pixels; a part of the cut that is out of sight has none."""
    one, other, turn = cut
    way = other - one
    long = float(np.hypot(*way))
    if long < 1e-9:
        return 0.0
    outwards = np.array([way[1], -way[0]]) / long * turn
    places = one + _PLACES[:, None] * way
    limits = np.asarray(size, np.float64)
    steps = np.where(outwards > 0, limits - places, -places) / np.where(np.abs(outwards) > 1e-6, outwards, np.inf)
    reach = np.where(np.abs(outwards) > 1e-6, steps, np.inf).min(axis=1)
    inside = ((places >= 0) & (places <= limits)).all(axis=1)
    return float(long * np.where(inside, reach, 0.0).mean())


def _sides(size: Size) -> list[tuple[int, int]]:
    return [(axis, limit) for axis in (0, 1) for limit in (0, size[axis])]
