"""A thin frame or a ring with its opening, found from its outer outline: where the picture changes all round at one distance inwards.

In: a still and the outer outline in its pixels, roughly drawn. Out: the frame, or nothing where no such distance stands out. What is seen
through an opening may be anything.
"""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.course import Point
from annotator.marks.crops import Floats, Picture

_WIDEST = 0.3
"""Of the outline's smaller side: a frame is no wider, else it is a plate with a hole."""
_THINNEST_PX = 2.0
_STEP_PX = 0.5
_ALONG_PX = 1.5
_MOST_PLACES = 900
_SIDE_PX = 1.5
_LEAST = 0.55
"""Of the places around, at which the picture changes there."""
_LEAST_CHANGE = 6.0
_NEARLY = 0.8
_BAND = 0.4
_HAND_PX = 3.0
_HAND = 0.004
"""How far off a hand draws, of the picture's longer side."""
_SMOOTH_PX = 6.0
_MOST_FRAME = 0.75
"""Of what the outline encloses: with less of an opening it is a plate with a slot."""
_ROUND = 0.85
"""Of a circle's area for its length: a square has 0.79."""
_THIN = 0.4
_RING_POINTS = 24


def frame_within(image: Picture, outer: Polygon) -> Polygon | None:
    """The frame with its opening, both drawn to the nearest edges; None where no opening is to be seen."""
    lab = np.asarray(cv2.cvtColor(cv2.GaussianBlur(image, (0, 0), 0.7), cv2.COLOR_RGB2LAB), np.float32)
    whole = _drawn_in(lab, outer, max(_HAND_PX, _HAND * max(image.shape[:2])))
    if whole is None:
        return None
    x0, y0, x1, y1 = whole.bounds
    widest = _WIDEST * min(x1 - x0, y1 - y0)
    depths = np.arange(_THINNEST_PX, widest, _STEP_PX)
    if len(depths) < 3:
        return None
    rings = [_inward(whole, float(depth)) for depth in depths]
    changes = np.array([0.0 if ring is None else _change(lab, ring) for ring in rings])
    tops = [at for at in range(1, len(depths) - 1) if changes[at - 1] < changes[at] >= changes[at + 1]]
    best = max((changes[at] for at in tops), default=0.0)
    if best < _LEAST:
        return None
    # The first clear one: further inwards something may change as well.
    depth, ring = next((float(depths[at]), rings[at]) for at in tops if changes[at] >= _NEARLY * best)
    inner = None if ring is None else _drawn_in(lab, ring, max(2.0, _BAND * depth))
    if inner is None:
        return None
    frame = whole.difference(inner)
    if not isinstance(frame, Polygon) or len(frame.interiors) != 1 or frame.area > _MOST_FRAME * whole.area:
        return None
    return frame


def tube_of(frame: Polygon) -> tuple[tuple[Point, ...], float] | None:
    """A round and thin ring as a closed line with a width; None where it is not round or not thin."""
    outer, inner = Polygon(frame.exterior), Polygon(frame.interiors[0])
    if min(4 * np.pi * one.area / one.length**2 for one in (outer, inner)) < _ROUND:
        return None
    width = float(np.sqrt(outer.area / np.pi) - np.sqrt(inner.area / np.pi))
    middle = outer.buffer(-width / 2)
    if not isinstance(middle, Polygon) or middle.is_empty or width > _THIN * np.sqrt(outer.area / np.pi):
        return None
    points = shapely.get_coordinates(
        shapely.line_interpolate_point(middle.exterior, np.arange(_RING_POINTS) / _RING_POINTS, normalized=True)
    )
    line = tuple((float(x), float(y)) for x, y in points)
    return (*line, line[0]), width


def _inward(outer: Polygon, depth: float) -> Polygon | None:
    """The outline that lies so far inside everywhere; its largest piece."""
    shrunk = outer.buffer(-depth, join_style="mitre")
    pieces = [one for one in getattr(shrunk, "geoms", [shrunk]) if isinstance(one, Polygon) and not one.is_empty]
    return max(pieces, key=lambda one: one.area) if pieces else None


def _around(ring: Polygon) -> tuple[Floats, Floats]:
    """Places along an outline and their ways inwards."""
    line = ring.exterior
    count = int(np.clip(line.length / _ALONG_PX, 32, _MOST_PLACES))
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, np.arange(count) / count, normalized=True))
    # Over a few pixels: what a hand draws is jagged.
    ways = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    normals = np.column_stack([-ways[:, 1], ways[:, 0]]) / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    return points, normals if line.is_ccw else -normals


def _seen(lab: NDArray[np.float32], places: Floats) -> Floats:
    columns, rows = ((places[..., axis] - 0.5).astype(np.float32) for axis in (0, 1))
    return np.asarray(cv2.remap(lab, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)


def _change(lab: NDArray[np.float32], ring: Polygon) -> float:
    """At which share of the places around the picture changes across the outline, weighed by how much."""
    points, inward = _around(ring)
    one, other = (_seen(lab, (points + side * _SIDE_PX * inward)[:, None, :])[:, 0] for side in (-1, 1))
    jump = np.linalg.norm(one - other, axis=1)
    return float(np.minimum(jump / (3 * _LEAST_CHANGE), 1).mean())


def _drawn_in(lab: NDArray[np.float32], ring: Polygon, band_px: float) -> Polygon | None:
    """An outline drawn to its edge: at each place the steepest change within the band, smoothed along."""
    points, inward = _around(ring)
    reach = np.arange(-band_px, band_px + 0.01, 0.25)
    seen = _seen(lab, points[:, None, :] + reach[None, :, None] * inward[:, None, :])
    steep = np.linalg.norm(np.gradient(seen, 0.25, axis=1), axis=2) * np.exp(-0.5 * (reach / (0.6 * band_px)) ** 2)
    offs = reach[np.argmax(steep, axis=1)]
    reach_places = max(1, round(_SMOOTH_PX * len(points) / ring.exterior.length))
    around = np.array([np.roll(offs, by) for by in range(-reach_places, reach_places + 1)])
    moved = points + np.median(around, axis=0)[:, None] * inward
    found = Polygon(moved).buffer(0).simplify(0.5)
    if not isinstance(found, Polygon) or found.is_empty:
        return None
    return found
