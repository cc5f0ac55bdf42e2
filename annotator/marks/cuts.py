"""Which pixels of a crop are the thing: three classic ways, each from the rough area alone.

A flood from sure seeds along the least steep ways (watershed), a cut by colour models (grabCut), and the closed path along the steepest
edges. In: a `Crop`. Out: a mask of its size. How they are weighed against each other is snap.py.

References
----------
Meyer, "Color image segmentation", ICIP 1992. Rother, Kolmogorov and Blake, "GrabCut", SIGGRAPH 2004. Amini, Weymouth and Jain, "Using
dynamic programming for solving variational problems in vision", PAMI 1990.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.marks.crops import Crop, Floats, Mask, Picture, filled

_LEAST_STEEP = 1.0
_BEND_COST = 0.25
_COLUMN_PX = 1.5
_ROW_PX = 0.75
_CUT_PX, _CUT_AREA_PX = 256, 40_000
"""Longest side and area of the crop that colours are cut on: most of the time goes there, and the edge is found more finely later. The
area holds where no hole was drawn: what has holes is offered as it is voted. Of 191 large things in halls of random things it makes 6
better, 6 worse, and the slowest a third quicker."""


def watershed(crop: Crop) -> Mask:
    """Flood from what is surely the thing and what surely is not; they meet on the steepest edges between."""
    markers = np.zeros(crop.rough.shape, np.int32)
    markers[crop.core] = 1
    markers[crop.far] = 2
    if not (crop.core.any() and crop.far.any()):
        return crop.rough
    flooded = cv2.watershed(crop.lab, markers)
    inside = np.asarray(flooded == 1)
    # Watershed leaves a line of -1 between basins and around the frame: give it to the thing where the rough outline does.
    return np.asarray(inside | ((flooded == -1) & grown(inside, 1) & crop.rough))


def colour_cut(crop: Crop) -> Mask:
    """Two mixtures of colours, of the thing and of what is around it, cut where neighbours differ most."""
    marks = np.full(crop.rough.shape, cv2.GC_PR_BGD, np.uint8)
    marks[crop.rough] = cv2.GC_PR_FGD
    marks[crop.far] = cv2.GC_BGD
    return _cut(crop, marks, 2)


def within_box(crop: Crop) -> Mask:
    """The same for a box: inside it probably the thing, outside surely not."""
    marks = np.full(crop.rough.shape, cv2.GC_BGD, np.uint8)
    marks[crop.rough] = cv2.GC_PR_FGD
    return _cut(crop, marks, 4)


def _cut(crop: Crop, marks: Picture, rounds: int) -> Mask:
    if not (marks == cv2.GC_BGD).any():
        return crop.rough
    height, width = marks.shape
    scale = min(1.0, _CUT_PX / max(height, width))
    if len(crop.rings) == 1:
        scale = min(scale, float(np.sqrt(_CUT_AREA_PX / (height * width))))
    size = (max(8, round(width * scale)), max(8, round(height * scale)))
    small = cv2.resize(crop.picture, size, interpolation=cv2.INTER_AREA) if scale < 1 else np.ascontiguousarray(crop.picture)
    marks = np.asarray(cv2.resize(marks, size, interpolation=cv2.INTER_NEAREST), np.uint8)
    cv2.setRNGSeed(1)  # otherwise two calls differ
    models = np.zeros((1, 65)), np.zeros((1, 65))
    try:
        cv2.grabCut(small, marks, None, *models, rounds, cv2.GC_INIT_WITH_MASK)  # type: ignore[call-overload]
    except cv2.error:  # all of one colour: no two models to tell apart
        return crop.rough
    taken = ((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD)).astype(np.uint8) * 255
    return np.asarray(cv2.resize(taken, (width, height), interpolation=cv2.INTER_LINEAR) > 127)


def along_edges(crop: Crop) -> Mask:
    """For each ring the closed path along the steepest edges in a ribbon around it."""
    steep = crop.steep
    paths = []
    for ring in crop.rings:
        path = _path(ring, steep, crop.band_px)
        if path is None:
            return crop.rough
        paths.append(path)
    return filled(paths, crop.rough.shape)


def _path(ring: Floats, steep: NDArray[np.float32], band_px: float) -> Floats | None:
    """The path around one ring, by dynamic programming; None where there are hardly any edges.

    The ribbon is the outline unrolled: one column for each step along it, one row for each offset across it. From column to column the
    path moves by at most one row, which costs a little; two rounds close it.
    """
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = int(np.clip(along[-1] / _COLUMN_PX, 24, 900))
    at = np.linspace(0, along[-1], count, endpoint=False)
    points = np.column_stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)])
    # Directions over a stretch as long as the band: a rough outline wobbles, and neighbouring columns must not cross.
    stretch = max(1, min(count // 8, round(band_px / _COLUMN_PX)))
    ways = np.roll(points, -stretch, axis=0) - np.roll(points, stretch, axis=0)
    normals = np.column_stack([-ways[:, 1], ways[:, 0]]) / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    reach = np.arange(-band_px, band_px + 0.5, _ROW_PX)
    places = points[None, :, :] + reach[:, None, None] * normals[None, :, :]
    columns, rows = ((places[..., axis] - 0.5).astype(np.float32) for axis in (0, 1))
    seen = np.asarray(cv2.remap(steep, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)
    if float(np.median(seen.max(axis=0))) < _LEAST_STEEP:
        return None
    gain = np.minimum(seen / np.maximum(np.percentile(seen, 95), 1e-9), 1.5) - 0.15 * (reach[:, None] / band_px) ** 2
    found = points + reach[best_round(gain, _BEND_COST)][:, None] * normals
    return np.asarray(found, np.float64)


def best_round(gain: Floats, bend_cost: float) -> NDArray[np.intp]:
    """The row of each column on the path of most gain, one and a half times around so that it ends where it begins; each row up or down
    costs."""
    height, width = gain.shape
    quarter = width // 4
    columns, around = np.ascontiguousarray(gain.T), width + 2 * quarter
    # From both ends at once to where they meet, side by side in one row of sums with nothing between: the steps are what takes time.
    meet = around // 2
    steps = np.arange(meet)
    gains = np.full((meet, 2 * height + 1), -np.inf)
    gains[:, :height], gains[:, height + 1 :] = columns[steps % width], columns[(around - 1 - steps) % width]
    totals = np.full((meet + 1, 2 * height + 3), -np.inf)
    totals[0, 1 : height + 1] = totals[0, height + 2 : -1] = 0
    for before, own, after in zip(totals, gains, totals[1:], strict=False):
        _onward(before, own, bend_cost, after[1:-1])
    first, last = totals[:, : height + 2], list(totals[:0:-1, height + 1 :])  # to each column, and from each to the end
    if around % 2:
        last.insert(0, np.full(height + 2, -np.inf))
        _onward(last[1], columns[meet % width], bend_cost, last[0][1:-1])
    joined = np.empty(height)
    _onward(first[-1], last[0][1:-1], bend_cost, joined)
    rows = np.empty(around, np.intp)
    rows[meet] = joined.argmax()
    rows[:meet] = _followed(first[:0:-1], int(rows[meet]), bend_cost)[::-1]
    rows[meet + 1 :] = _followed(last[1:], int(rows[meet]), bend_cost)
    return np.concatenate([rows[width : width + quarter], rows[quarter:width]])


def _onward(before: Floats, gain: Floats, bend_cost: float, after: Floats) -> None:
    """The best sums up to each row of the next column, into `after`."""
    np.maximum(before[:-2], before[2:], out=after)
    np.subtract(after, bend_cost, out=after)
    np.maximum(after, before[1:-1], out=after)
    np.add(after, gain, out=after)


def _followed(sums: Sequence[Floats] | Floats, row: int, bend_cost: float) -> list[int]:
    """From a row on through columns of best sums: the row of each."""
    rows = []
    for column in sums:
        below, stays, above = column[row : row + 3].tolist()
        if below - bend_cost >= stays and below >= above:
            row -= 1
        elif stays < above - bend_cost:
            row += 1
        rows.append(row)
    return rows


def steepness(lab: Picture) -> NDArray[np.float32]:
    """How fast lightness and colour change at each pixel, in grey levels over a Sobel window."""
    channels = lab.astype(np.float32)
    across = cv2.Sobel(channels, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(channels, cv2.CV_32F, 0, 1)
    return np.asarray(np.sqrt((across**2 + down**2).sum(axis=2)), np.float32)


def grown(mask: Mask, by: int) -> Mask:
    """A mask with `by` pixels more all round."""
    return np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((2 * by + 1, 2 * by + 1), np.uint8)) > 0)
