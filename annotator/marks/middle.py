"""Between outlines of one thing: the border of what most of them take, each counted by how likely it is the right one.

In: rings in pixels of a crop (crops.py), each with its weight of weigh.py. Out: one ring. Where the likely ones agree it runs along them;
where they part it takes what more than half of the likelihood speaks for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from annotator.marks.crops import Floats, along_sides, coverage
from annotator.marks.outlines import polygon_list, polygons_of

_SOFT = 0.1
"""Weights that differ by so much stand for likelihoods that differ by the factor e, as in scripts/fit_outlines.py."""
_ALONE = 0.95
_LEAST = 0.01
"""A ring that is likelier than the first is the answer; one less likely than the second is not asked."""
_STEP_PX = 0.15


def middle_of(rings: Sequence[Floats], weights: Floats, shape: tuple[int, ...]) -> Floats:
    """The middle of rings.

    Parameters
    ----------
    rings : sequence of (N, 2) float64
        At least one, in pixels of the crop.
    weights : (len(rings),) float64
        Of `weigh.weigh`; higher is likelier.
    shape : (H, W)
        Of the crop.

    Returns
    -------
    (M, 2) float64
        The likeliest ring itself where it is all but sure, or nothing is taken by more than half.
    """
    likely = np.exp((weights - weights.max()) / _SOFT)
    likely /= likely.sum()
    best = int(np.argmax(likely))
    if likely[best] > _ALONE:
        return rings[best]
    asked = [at for at in range(len(rings)) if likely[at] > _LEAST]
    taken = sum((likely[at] * coverage(rings[at], shape) for at in asked), np.zeros(shape[:2], np.float32)) / likely[asked].sum()
    pieces = polygon_list(polygons_of(along_sides(taken, with_holes=False).simplify(_STEP_PX)))
    return np.asarray(max(pieces, key=lambda one: one.area).exterior.coords[:-1], np.float64) if pieces else rings[best]
