"""Straight-sided outlines: all corners of a drawn outline move together until its sides lie on edges around the thing's colours.

In: a crop (crops.py) and a ring of few corners in its pixels. Out: the ring with its corners moved. Which of several outlines is the
best is weigh.py.

Every corner may stand on the points of a small grid around its place; the best closed chain of corners is looked for by dynamic
programming, then again on finer grids. A side counts by how much of it lies on an edge across it, the whole by how likely the colours
inside are the thing's (a sum over the inside is a sum along its sides: Green's theorem), and a corner pays for how far it moves.

References
----------
Amini, Weymouth and Jain, "Using dynamic programming for solving variational problems in vision", PAMI 1990.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.marks.crops import COLOURS, Crop, Floats, Mask

Floats32 = NDArray[np.float32]

_SAMPLES = 16
_ALONG = ((np.arange(_SAMPLES) + 0.5) / _SAMPLES).astype(np.float32)[:, None]
_MOST_SIDES = 4096
"""Looked at in one go. Of more of them the samples fill arrays so large that the system clears new memory for each: five times as slow."""
_INSIDE, _STAYS = 0.5, 0.03
"""What colours inside and staying near weigh beside edges. Chosen on made halls, not on the demo's."""
_USUAL_MOVE = 0.035
"""Of the outline's diagonal."""
_EDGE, _FINE_EDGE = 0.8, 4.0
"""The edge that counts half, as a share of the steepest near by, and by how much more on the finest grid, where the summit is wanted."""
LEAST_EDGE = 2.0
_GRIDS = ((9, 1.0, 0.45), (7, 1 / 3, 0.12), (5, 1 / 9, 0.0))
"""Points a side, step and blur, the last two in steps of the first grid."""
_SMOOTH = np.array([0.054, 0.242, 0.4, 0.242, 0.054], np.float32)


def likeness(here: Crop, of: Mask, band_px: float) -> Floats32:
    """How much more each pixel's colour is one of the inside of a mask than of what is around it: (H, W), -1 to 1, 0 where nothing tells.

    Pixels nearer to the mask's border than half of `band_px` are not asked: they may be either.
    """
    inner = cv2.distanceTransform(np.pad(of.astype(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    outer = cv2.distanceTransform((~of).astype(np.uint8), cv2.DIST_L2, 5)
    inside = np.asarray(inner > min(0.5 * band_px, 0.5 * float(inner.max())))
    outside = np.asarray((outer > 0.5 * band_px) & (outer < 2.5 * band_px))
    if not (inside.any() and outside.any()):
        return np.zeros(of.shape, np.float32)
    one, other = (_histogram(here.colours[chosen]) for chosen in (inside, outside))
    share = ((one - other) / (one + other + np.float32(1e-5))).reshape(-1)
    return np.asarray(cv2.GaussianBlur(share[here.colours], (0, 0), 0.8), np.float32)


def _histogram(colours: NDArray[np.intp]) -> Floats32:
    """How often each colour of the coarse table is among these, each with its neighbours in the table."""
    counts = np.bincount(colours, minlength=int(np.prod(COLOURS))).astype(np.float32) / np.float32(len(colours))
    # Two axes as rows and columns of a picture, then the third as its columns; beyond the table there is nothing.
    flat = cv2.sepFilter2D(counts.reshape(COLOURS), -1, _SMOOTH, _SMOOTH, borderType=cv2.BORDER_CONSTANT).reshape(-1, COLOURS[2])
    return np.asarray(cv2.filter2D(flat, -1, _SMOOTH[None], borderType=cv2.BORDER_CONSTANT), np.float32)


def thinned(ring: Floats, tolerance_px: float) -> Floats:
    """A ring with few corners, none of the others further off than the tolerance (Douglas and Peucker)."""
    found = cv2.approxPolyDP(np.rint(ring * 16).astype(np.int32).reshape(-1, 1, 2), tolerance_px * 16, True)
    return np.asarray(found.reshape(-1, 2) / 16, np.float64)


def steepest(here: Crop) -> float:
    """What is about the steepest near the rough outline, in grey levels a pixel."""
    return here.steepest


def moved(here: Crop, ring: Floats, like: Floats32, steep: float, reach_px: float, coarsest: int = 9, coloured: int = 2) -> Floats:
    """Move the corners of a ring to where its sides lie on edges.

    Parameters
    ----------
    here : Crop
        What lies around.
    ring : (N, 2) float64
        Three corners or more, in pixels of the crop.
    like : (H, W) float32
        Of `likeness`.
    steep : float
        Of `steepest`.
    reach_px : float
        How far a corner may move in x and in y on the first grid.
    coarsest : int
        Points a side of the first grid.
    coloured : int
        The last grid (0, 1 or 2) on which the colours inside count. They keep the outline on the thing where many edges are near, but draw
        its sides a little off the edges where the picture is blurred.

    Returns
    -------
    (N, 2) float64
        Within the crop; the same call gives the same ring.
    """
    height, width = like.shape
    step = reach_px / (coarsest // 2)
    usual = _USUAL_MOVE * float(np.hypot(*np.ptp(ring, axis=0)))
    lengths = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    shares = lengths / max(float(lengths.sum()), 1e-9)
    x, y = ring.T
    area = 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    inside = _INSIDE / (area if abs(area) > 1 else np.copysign(1.0, area))
    level = max(LEAST_EDGE, _EDGE * steep)
    row_sums = np.cumsum(like, axis=1, dtype=np.float64).astype(np.float32)
    found = ring
    for grid, (points, finer, blur) in enumerate(_GRIDS):
        last = grid == len(_GRIDS) - 1
        coloured_here = grid <= coloured
        # Of four channels even where the fourth is not asked for: OpenCV looks up three in twice the time.
        field = _beside(slopes(here, blur * step), row_sums)
        line = (np.arange(coarsest if grid == 0 else points) - (coarsest if grid == 0 else points) // 2) * step * finer
        around = np.stack(np.meshgrid(line, line), axis=-1).reshape(-1, 2)
        places = [np.clip(corner + around, 0, (width, height)) for corner in found]
        half = level * (_FINE_EDGE if last else 1)
        gains = []
        for at, own in enumerate(places):
            following = places[(at + 1) % len(places)]
            stays = 0.0 if last else _STAYS * ((own - ring[at]) ** 2).sum(axis=1) / (2 * usual**2 + 1e-9) / len(ring)
            gains.append(
                _sides(field, own, following, half, float(shares[at]), inside if coloured_here else 0.0) - np.reshape(stays, (-1, 1))
            )
        found = np.array([own[chosen] for own, chosen in zip(places, _best_chain(gains), strict=True)])
    return found


def slopes(here: Crop, blur_px: float) -> Floats32:
    """The structure tensor of the crop's colours, in squared grey levels a pixel, as if a blur took nothing off the slopes.

    (H, W, 3) float32: xx, xy, yy. Worked out once for a crop and a blur.
    """
    return here.slopes(blur_px)


def _beside(field: Floats32, plane: Floats32) -> Floats32:
    """A field with a plane more."""
    found = np.empty((*plane.shape, 4), np.float32)
    cv2.mixChannels([field, plane], [found], [0, 0, 1, 1, 2, 2, 3, 3])
    return found


def _sides(field: Floats32, own: Floats, following: Floats, half: float, share: float, inside: float) -> Floats:
    """What each side from a place of one corner to a place of the next is worth: (S, T)."""
    before, after = own.astype(np.float32), following.astype(np.float32)
    parts = -(-len(before) * len(after) // _MOST_SIDES)
    if parts == 1:
        return _sides_at_once(field, before, after, half, share, inside)
    return np.vstack([_sides_at_once(field, part, after, half, share, inside) for part in np.array_split(before, parts)])


def _sides_at_once(field: Floats32, own: Floats32, following: Floats32, half: float, share: float, inside: float) -> Floats:
    columns, rows = (
        (((1 - _ALONG) * own[:, axis] - np.float32(0.5))[:, :, None] + (_ALONG * following[:, axis])[:, None]).reshape(_SAMPLES, -1)
        for axis in (0, 1)
    )
    xx, xy, yy, sums = cv2.split(cv2.remap(field, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    across, down = ((following[None, :, axis] - own[:, None, axis]).reshape(-1) for axis in (0, 1))
    squared = np.maximum(across * across + down * down, np.float32(1e-12))
    xx *= down * down / squared
    xy *= -2 * across * down / squared
    yy *= across * across / squared
    xx += xy
    xx += yy
    slope = np.sqrt(np.maximum(xx, 0, out=xx), out=xx)
    slope /= np.add(slope, np.float32(half), out=xy)
    gain = np.float32(share / _SAMPLES) * slope.sum(axis=0)
    if inside:
        gain += np.float32(inside / _SAMPLES) * sums.sum(axis=0) * down
    return np.asarray(gain.reshape(len(own), len(following)), np.float64)


def _best_chain(gains: Sequence[Floats]) -> list[int]:
    """The place of each corner on the closed chain of most gain: twice around for where to begin, then once, back to there."""
    turned = [np.ascontiguousarray(gain.T) for gain in gains]  # a row for each place that a side may end in
    total, came = _onward(np.zeros(len(gains[0])), [*turned, *turned])
    begin = int(total.argmax())
    for back in reversed(came[len(gains) :]):
        begin = int(back[begin])
    only = np.full(len(gains[0]), -np.inf)
    only[begin] = 0
    _, came = _onward(only, turned)
    chain, at = [], begin
    for back in reversed(came):
        at = int(back[at])
        chain.append(at)
    return chain[::-1]


def _onward(total: Floats, turned: Sequence[Floats]) -> tuple[Floats, list[NDArray[np.intp]]]:
    """The most that can be gained up to each place of the last corner, and for each corner the place before."""
    came = []
    for gain in turned:
        sums = gain + total
        best = sums.argmax(axis=1)
        came.append(best)
        total = sums[np.arange(len(best)), best]
    return total, came
