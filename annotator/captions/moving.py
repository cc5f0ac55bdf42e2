"""An overlay that goes along with its marks: described at one frame, moved to the frames after it, without being worked out anew.

In: an overlay and the marks that it was described from; the same marks a little later. Out: the overlay there, each surface moved, turned
and widened as its own marks are, plates keeping their size. Where marks bend in another way than that, there is nothing: describe anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.course import Mark, Point
from annotator.marks import Overlay, OverlayItem, Plate

Points = NDArray[np.float64]

_THIN = 0.05
"""Points that lie in a strip narrower than this share of its length tell how it turned, not whether it got wider."""


@dataclass(frozen=True, eq=False)
class Motion:
    """How one surface goes from one frame to another: `x @ turn + shift` at the end of the way, on straight ways between."""

    turn: Points
    shift: Points

    def of(self, points: Points, share: float) -> Points:
        """Points a share of the way along."""
        there: Points = points @ (np.eye(2) * (1 - share) + self.turn * share) + self.shift * share
        return there


Motions = dict[tuple[str, bool], Motion]
"""By surface, and whether it is a draft."""


def motions(described: Overlay, start: Sequence[Mark], end: Sequence[Mark]) -> tuple[Motions, float] | None:
    """The motion of each surface of an overlay from one frame to another, and how far from it the farthest point of a mark ends, in pixels.

    `start` are the marks that the overlay was described from, `end` the same marks, in the same order, on the other frame. None where a
    surface has no mark among them.
    """
    found: Motions = {}
    farthest_px = 0.0
    for item in described.items:
        key = (item.surface, item.draft)
        own = [(one, other) for one, other in zip(start, end, strict=True) if (one.surface, one.state != "accepted") == key]
        if not own:
            return None
        before, after = (np.array([point for pair in own for point in points_of(pair[which])], dtype=np.float64) for which in (0, 1))
        motion = _fitted(before, after)
        farthest_px = max(farthest_px, float(np.hypot(*(motion.of(before, 1.0) - after).T).max()))
        found[key] = motion
    return found, farthest_px


def _fitted(before: Points, after: Points) -> Motion:
    """The affine motion nearest to what the points did; only turned and scaled evenly where they lie in a thin strip."""
    middle, target = before.mean(axis=0), after.mean(axis=0)
    here, there = before - middle, after - target
    spread = np.linalg.svd(here, compute_uv=False)
    if len(before) >= 3 and spread[1] > _THIN * spread[0]:
        turn, *_ = np.linalg.lstsq(here, there, rcond=None)
    else:
        size = max(float((here**2).sum()), 1e-9)
        along = float((here * there).sum()) / size
        across = float((here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0]).sum()) / size
        turn = np.array([[along, across], [-across, along]])
    return Motion(turn, target - middle @ turn)


def moved(described: Overlay, how: Motions, share: float) -> Overlay:
    """The overlay a share of the way along."""
    items = (_moved_item(item, how[item.surface, item.draft], share, described.size) for item in described.items)
    return replace(described, items=tuple(items))


def _moved_item(item: OverlayItem, motion: Motion, share: float, size: tuple[int, int]) -> OverlayItem:
    polygons = tuple(tuple(_as_ring(motion.of(np.array(ring), share)) for ring in rings) for rings in item.polygons)
    return replace(item, polygons=polygons, plates=tuple(_moved_plate(plate, motion, share, size) for plate in item.plates))


def _as_ring(points: Points) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in points.tolist())


def _moved_plate(plate: Plate, motion: Motion, share: float, size: tuple[int, int]) -> Plate:
    """The plate carried along by its middle, kept in the picture."""
    half = np.array([plate.width, plate.height]) / 2
    corner = motion.of(np.array([[plate.x, plate.y]]) + half, share)[0] - half
    x, y = np.clip(corner, 0.0, np.maximum(0.0, np.array(size) - 2 * half)).tolist()
    leader = plate.leader
    if leader is not None:
        (from_x, from_y), end = leader
        to_x, to_y = motion.of(np.array([end]), share)[0].tolist()
        leader = ((from_x + x - plate.x, from_y + y - plate.y), (to_x, to_y))
    return replace(plate, x=x, y=y, leader=leader)


def with_plates_of(described: Overlay, before: Overlay, kept_free: Sequence[Polygon] = ()) -> Overlay | None:
    """The overlay with the plates of an earlier one, so that they stay where people read them.

    None where that would not do: other surfaces, or two plates would lie on each other, or one on what is kept free.
    """
    plates = {(item.surface, item.draft, item.style): item.plates for item in before.items}
    if [(item.surface, item.draft, item.style) for item in described.items] != list(plates):
        return None
    boxes = [plate.box for own in plates.values() for plate in own]
    if any(one.intersects(other) for one, other in (*combinations(boxes, 2), *product(boxes, kept_free))):
        return None
    return replace(described, items=tuple(replace(item, plates=plates[item.surface, item.draft, item.style]) for item in described.items))


def points_of(mark: Mark) -> list[Point]:
    """The points of a mark's outline, or of its line."""
    return [point for ring in mark.rings for point in ring] if mark.rings is not None else list(mark.line or ())
