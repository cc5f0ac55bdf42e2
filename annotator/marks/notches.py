"""Straight outlines less the bites that something in front takes out of them: feet on a platform, a post on its pad.

In: a crop (crops.py) and a ring of straight sides in its pixels. Out: the ring without what touches its border and has none of the
thing's colours. Colours are compared in CIELAB with lightness counted for less, since one thing is lit in many ways.
"""

from __future__ import annotations

import itertools

import cv2
import numpy as np
from shapely import make_valid
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from annotator.marks.crops import Crop, Floats, Mask, along_sides, filled
from annotator.marks.outlines import polygon_list, polygons_of

_LIGHTNESS, _CELL, _FAR = 0.5, 5.0, 2
"""What lightness counts for; the side of a cell of colours, in levels of Lab; how many cells a strange colour is off the thing's at
least. Chosen on halls of random things."""
_LEAST_OFTEN = 0.005
"""A colour is one of the thing's from this share of its sure pixels on, each counted by the square of how deep it lies."""
_THICK_PX = 2.5
"""A bite's least thickness in pixels of the picture: a thinner one is the blur of a side that is drawn too far out."""
_LEAST_SHARE, _MOST_SHARE = 0.004, 0.25
"""Of the area inside the ring."""
_LEAST_INNER = 0.3
_STEP_PX = 0.4
_RIM_PX = 4
"""A bite comes within so many pixels of the ring; a share of it lies further in."""


def strange(here: Crop) -> Mask:
    """The pixels of no colour that is seen where the thing surely is."""
    cells = np.rint(here.lab * (np.array([_LIGHTNESS, 1, 1]) / _CELL)).astype(np.int32)
    shape = tuple(int(most) + 1 for most in cells.max(axis=(0, 1)))
    places = np.ravel_multi_index(tuple(np.moveaxis(cells, 2, 0)), shape)
    if not here.core.any():
        return np.zeros(here.rough.shape, bool)
    deep = cv2.distanceTransform(here.rough.astype(np.uint8), cv2.DIST_L2, 5)[here.core] ** 2
    counts = np.bincount(places[here.core], deep, minlength=int(np.prod(shape)))
    wide = np.pad((counts > _LEAST_OFTEN * counts.sum()).reshape(shape), _FAR)
    near = np.zeros(shape, bool)
    for steps in itertools.product(range(-_FAR, _FAR + 1), repeat=3):
        if sum(step * step for step in steps) <= _FAR * _FAR:
            near |= wide[tuple(slice(_FAR + step, _FAR + step + size) for step, size in zip(steps, shape, strict=True))]
    return np.asarray(~near.ravel()[places])


def bitten(here: Crop, ring: Floats, odd: Mask) -> Floats | None:
    """A ring less what touches it from within and is strange.

    Parameters
    ----------
    here : Crop
        For its scale.
    ring : (N, 2) float64
        In pixels of the crop.
    odd : (H, W) bool
        Of `strange`.

    Returns
    -------
    (M, 2) float64 or None
        None where nothing takes a bite out of it.
    """
    own = filled([ring], odd.shape)
    side = 2 * _RIM_PX + 1
    rim = own & (cv2.erode(np.pad(own.astype(np.uint8), 1), np.ones((side, side), np.uint8))[1:-1, 1:-1] == 0)
    width = max(2, round(_THICK_PX * here.ratio[0])) + 1
    opened = cv2.morphologyEx((own & odd).astype(np.uint8), cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width)))
    _, labels, told, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    sizes = told[:, cv2.CC_STAT_AREA] / max(1, int(own.sum()))
    at_rim = np.bincount(labels[rim], minlength=len(sizes)) / np.maximum(1, told[:, cv2.CC_STAT_AREA])
    fits = (at_rim > 0) & (at_rim < 1 - _LEAST_INNER) & (sizes >= _LEAST_SHARE) & (sizes <= _MOST_SHARE)
    left: BaseGeometry = make_valid(Polygon(ring))
    bites = [label for label in np.nonzero(fits)[0] if label]
    for label in bites:
        piece = np.asarray(labels == label)
        around = cv2.dilate(piece.astype(np.uint8), np.ones((side + 2, side + 2), np.uint8)) > 0
        shape = along_sides(piece | (around & (~own | (rim & odd))), with_holes=False)
        left = left.difference(shape.simplify(_STEP_PX))
    pieces = polygon_list(polygons_of(left)) if bites else ()
    return np.asarray(max(pieces, key=lambda one: one.area).exterior.coords[:-1], np.float64) if pieces else None
