"""What lies along a mark's outline, compared between the picture it was drawn on and one it was carried to.

Small motions from frame to frame add up unseen: each hop looks right, while the outline slides off its thing towards what stands before or
behind it. So the strip along the outline is compared with that of the first picture itself, section by section: how alike they are where
they fit best, and how far beside the carried outline that is. What that means for the mark follows from its area: a pixel beside is nothing
for a wall and half a rail. In: marks in pixels of their pictures, views. Nothing here decides what is shown.

References
----------
Comparing along normals: Harris and Stennett, "RAPID, a video rate object tracker", BMVC 1990; Blake and Isard, "Active Contours", 1998.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.course import Mark
from annotator.marks.outlines import area
from annotator.marks.views import Floats, Picture, View

WINDOW_PX = 6
"""To each side of the outline, compared pixels."""
SHIFT_PX = 8
"""How far beside the outline its strip is looked for."""
_REACH_PX = WINDOW_PX + SHIFT_PX
_SAMPLE_PX = 2.0
_SECTION_PX = 10.0
_FEWEST, _MOST = 24, 160
_LEAST_SEEN_PX = 2
_LEAST_SECTIONS = 2
_LEAST_ALIKE = 0.5
"""A section that is nowhere more alike does not tell how far beside it lies."""
_NOISE = 30.0
"""Added to each sample's norm, grey levels: sections of one colour are alike to nothing."""

_FLAT = 4.0
"""Deviation of grey levels at which a section tells half of what it could: a flat one is alike to nothing, right or wrong. Without it 15 %
of right outlines on photos were withheld."""

_LEAST_TOLD = 0.08
"""Of what all sections could tell together. Less than that is to be seen along an outline in an evenly dark corner or a clear sky: it is
moved by what lies far from it, and nothing would show that it slid."""

Places = tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats]


@dataclass(frozen=True, eq=False)
class Rim:
    """The strip along a mark's outline in its own picture.

    `strip` (n, 2 * reach + 1, 3) from inside to outside, `seen` where that lies in the picture, `starts` the first sample of each section,
    `lengths` of the samples in compared pixels. `outwards`: which side of each ring is outside, 1 or -1; told once, since what crosses
    itself has none that stays.
    """

    mark: Mark
    places: tuple[Places, ...]
    outwards: tuple[float, ...]
    strip: NDArray[np.float32]
    seen: NDArray[np.bool_]
    starts: NDArray[np.intp]
    lengths: Floats
    area_px: float


def rim_of(mark: Mark, view: View) -> Rim:
    """The strip along a mark on the picture that it was drawn on.

    Raises
    ------
    InvalidMark
        The mark covers no area.
    """
    area_px = area(mark).area * view.scale**2
    rings = [ring * view.scale for ring in _rings(mark)]
    around = [_lengths(ring) for ring in rings]
    step = max(1e-6, sum(float(one.sum()) for one in around))
    step /= float(np.clip(step / _SAMPLE_PX, _FEWEST, _MOST))
    places: list[Places] = []
    starts: list[int] = []
    samples = 0
    for lengths in around:
        so_far = np.concatenate([[0.0], np.cumsum(lengths)])
        count = max(4, round(float(so_far[-1]) / step))
        at = (np.arange(count) + 0.5) / count * so_far[-1]
        side = np.clip(np.searchsorted(so_far, at, side="right") - 1, 0, len(lengths) - 1)
        following = (side + 1) % len(lengths)
        places.append((side, following, (at - so_far[side]) / np.maximum(lengths[side], 1e-9), np.full(count, so_far[-1] / count)))
        sections = min(count, max(1, round(float(so_far[-1]) / _SECTION_PX)))
        starts += [samples + int(part[0]) for part in np.array_split(np.arange(count), sections)]
        samples += count
    kept = tuple(places)
    outwards = tuple(_turn(ring) * (1.0 if number == 0 else -1.0) for number, ring in enumerate(rings))
    strip, seen = _strip(rings, kept, outwards, view.small, 1.0)
    return Rim(mark, kept, outwards, strip, seen, np.array(starts), np.concatenate([one[3] for one in kept]), area_px)


def edges_hold(rim: Rim, carried: Mark, view: View) -> float:
    """How well a carried outline lies on the edges that it was drawn along.

    Parameters
    ----------
    rim : Rim
        Of the mark where it was drawn.
    carried : Mark
        The same mark, with as many points in the same order, in pixels of the other picture.
    view : View
        That picture.

    Returns
    -------
    float
        0 to 1: the mean correlation of the sections with the first picture's where each fits best, times the share of the mark's area that
        is not lost by lying beside that; flat sections speak neither for it nor against it. 0 where too little of the outline is in sight,
        or where hardly anything is to be seen along it.
    """
    grown = float(np.sqrt(area(carried).area * view.scale**2 / rim.area_px))
    there, in_sight = _strip([ring * view.scale for ring in _rings(carried)], rim.places, rim.outwards, view.small, grown)
    used = rim.seen & in_sight
    lengths = np.add.reduceat(rim.lengths, rim.starts)
    alike, told_by = _alike(rim, there, used)
    told = np.add.reduceat(used.astype(np.intp), rim.starts) >= 2
    if int(told.sum()) < _LEAST_SECTIONS:
        return 0.0
    alike, lengths, told_by = alike[:, told], lengths[told], told_by[told]
    best = alike.argmax(axis=0)
    peak = alike[best, np.arange(len(best))]
    beside = np.abs(best - SHIFT_PX + _finer(alike, best))
    if float(np.average(told_by, weights=lengths)) < _LEAST_TOLD:
        return 0.0
    share_seen = float(told.mean())
    lost = float((beside * (peak > _LEAST_ALIKE) * told_by * lengths).sum()) * grown**2 / (area(carried).area * view.scale**2) / share_seen
    return float(np.average(told_by * peak + (1 - told_by), weights=lengths) * (1 - min(1.0, lost)))


def _alike(rim: Rim, there: NDArray[np.float32], used: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """The correlation of each section with the other picture's, that moved by so many pixels outwards (2 * SHIFT_PX + 1, sections), and how
    much each section can tell, 0 to 1."""
    own = rim.strip[:, SHIFT_PX : SHIFT_PX + 2 * WINDOW_PX + 1] * used[:, None, None]
    other = there * used[:, None, None]
    wide = own.shape[1]

    def summed(values: Floats | NDArray[np.float32]) -> Floats:
        return np.asarray(np.add.reduceat(values, rim.starts, axis=0), np.float64)

    count = summed(used.astype(np.float64)) * wide
    counted = np.maximum(count, 1)
    own_sum = summed(own.sum(axis=1, dtype=np.float64))
    own_power = summed((own.astype(np.float64) ** 2).sum(axis=(1, 2))) - (own_sum**2).sum(axis=1) / counted
    noise = _NOISE * count / wide
    found = []
    for shift in range(2 * SHIFT_PX + 1):
        moved = other[:, shift : shift + wide]
        its_sum = summed(moved.sum(axis=1, dtype=np.float64))
        its_power = summed((moved**2).sum(axis=(1, 2), dtype=np.float64)) - (its_sum**2).sum(axis=1) / counted
        both = summed((own * moved).sum(axis=(1, 2), dtype=np.float64)) - (own_sum * its_sum).sum(axis=1) / counted
        found.append(both / np.maximum(np.sqrt(np.maximum(own_power * its_power, 0)) + noise, 1e-9))
    spread = own_power / np.maximum(3 * counted, 1)
    return np.array(found), np.asarray(spread / (spread + _FLAT**2))


def _finer(alike: Floats, best: NDArray[np.intp]) -> Floats:
    """The summit of the parabola through the best shift and its neighbours, as a part of a pixel; 0 at the ends."""
    columns = np.arange(len(best))
    inner = np.clip(best, 1, len(alike) - 2)
    before, at, after = (alike[inner + step, columns] for step in (-1, 0, 1))
    bend = before - 2 * at + after
    return np.asarray(np.where((bend < 0) & (inner == best), 0.5 * (before - after) / np.where(bend < 0, bend, -1.0), 0.0))


def _strip(
    rings: list[Floats], places: tuple[Places, ...], outwards: tuple[float, ...], picture: Picture, step: float
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Colours across each sample of an outline, `step` pixels apart, and which samples lie in the picture."""
    middles, normals = [], []
    for ring, (side, following, part, _), sign in zip(rings, places, outwards, strict=True):
        ways = np.roll(ring, -1, axis=0) - ring
        ways /= np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
        middles.append(ring[side] + (ring[following] - ring[side]) * part[:, None])
        normals.append(np.column_stack([ways[side, 1], -ways[side, 0]]) * sign)
    offsets = np.arange(-_REACH_PX, _REACH_PX + 1) * step
    at = np.vstack(middles)[:, None, :] + offsets[None, :, None] * np.vstack(normals)[:, None, :] - 0.5
    columns, rows = (at[..., axis].astype(np.float32) for axis in (0, 1))
    found = cv2.remap(picture, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    height, width = picture.shape[:2]
    near = slice(_REACH_PX - _LEAST_SEEN_PX, _REACH_PX + _LEAST_SEEN_PX + 1)
    inside = (columns > -0.5) & (columns < width - 0.5) & (rows > -0.5) & (rows < height - 0.5)
    return np.asarray(found, np.float32), np.asarray(inside[:, near].all(axis=1))


def _turn(ring: Floats) -> float:
    """1 for a ring whose left side is inside, -1 for the other way around; y goes down."""
    following = np.roll(ring, -1, axis=0)
    return 1.0 if float(np.sum(ring[:, 0] * following[:, 1] - following[:, 0] * ring[:, 1])) > 0 else -1.0


def _rings(mark: Mark) -> list[Floats]:
    """The outline and holes of a mark; of a line both its sides, up and down."""
    if mark.rings is not None:
        return [np.asarray(ring, np.float64) for ring in mark.rings]
    left, right = [], []
    half = (mark.width or 0.0) / 2
    for here, there in pairwise(np.asarray(mark.line, np.float64)):
        way = (there - here) / max(1e-9, float(np.hypot(*(there - here))))
        aside = half * np.array([way[1], -way[0]])
        left += [here + aside, there + aside]
        right += [here - aside, there - aside]
    return [np.array(left + right[::-1])]


def _lengths(ring: Floats) -> Floats:
    return np.asarray(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T))
