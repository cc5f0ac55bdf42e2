"""Marks that the edge of their picture cuts off: half a box is not the box, and must not be shown as if it were.

In: a mark, the picture it was drawn on, and where it was carried. Out: how far the cut end now stands inside the picture, where more of
the thing would be seen. Pixels of each picture, counted from its corner.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from annotator.course import Mark
from annotator.marks.outlines import area

MOST_BARED = 0.1
"""Measured: from 0.05 to 0.3 the same outlines are withheld."""
_ON_EDGE_PX = 1.6
_LEAST_CUT_PX = 2.0

Size = tuple[int, int]
Points = NDArray[np.float64]


def bared(mark: Mark, size: Size, there: Mark, size_there: Size) -> float:
    """How far the ends of a mark that its own picture cuts off stand inside the picture it was carried to.

    Parameters
    ----------
    mark, there : Mark
        The same mark before and after carrying, with as many points in the same order.
    size, size_there : (width, height)
        Of the two pictures.

    Returns
    -------
    float
        The deepest place of a cut end, as a share of the square root of the mark's area; 0 where the picture cuts nothing off, or where the
        cut ends still lie at the edge or beyond it.

    Examples
    --------
    >>> cut = Mark(id="m", still="s", surface="u", rings=(((0, 10), (30, 10), (30, 40), (0, 40)),))
    >>> moved = cut.model_copy(update={"rings": (tuple((x + 15, y) for x, y in cut.rings[0]),)})
    >>> bared(cut, (100, 50), cut, (100, 50)), bared(cut, (100, 50), moved, (100, 50))
    (0.0, 0.5)
    """
    places = [place for before, after in _outlines(mark, there) for place in _cut_places(before, after, size, mark.rings is not None)]
    if not places:
        return 0.0
    width, height = size_there
    deepest = max(min(x, width - x, y, height - y) for x, y in places)
    return max(0.0, float(deepest / np.sqrt(area(there).area)))


def _outlines(mark: Mark, there: Mark) -> Iterable[tuple[Points, Points]]:
    if mark.rings is not None and there.rings is not None:
        return ((np.asarray(before), np.asarray(after)) for before, after in zip(mark.rings, there.rings, strict=True))
    return ((np.asarray(mark.line), np.asarray(there.line)),)


def _cut_places(before: Points, after: Points, size: Size, closed: bool) -> Iterable[tuple[float, float]]:
    """Where the pieces of an outline that ran along the picture's edge (or the ends of a line that touched it) have gone."""
    sides = [(axis, limit) for axis in (0, 1) for limit in (0, size[axis])]
    if not closed:
        ends = [at for at in (0, -1) if any(abs(before[at, axis] - limit) < _ON_EDGE_PX for axis, limit in sides)]
        return [(float(after[at, 0]), float(after[at, 1])) for at in ends]
    following, landed = np.roll(before, -1, axis=0), np.roll(after, -1, axis=0)
    along = np.zeros(len(before), dtype=bool)
    for axis, limit in sides:
        along |= np.maximum(np.abs(before[:, axis] - limit), np.abs(following[:, axis] - limit)) < _ON_EDGE_PX
    along &= np.hypot(*(before - following).T) > _LEAST_CUT_PX
    places = np.vstack([after[along], landed[along], (after[along] + landed[along]) / 2])
    return [(float(x), float(y)) for x, y in places]
