"""Where the plates go: beside or on their mark, never over another plate, and off marked edges where there is room.

Greedy: the largest marks first, each takes the cheapest of the places around it. Pure geometry; text is measured in the shipped face.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from PIL import ImageFont
from shapely.geometry import Polygon, box
from shapely.ops import nearest_points, unary_union

from annotator import fonts
from annotator.marks.looks import PLATE_LINE, PLATE_PAD, PLATE_TEXT
from annotator.marks.outlines import Area, polygon_list, polygons_of

_MEASURED_AT = 100
_GAP = 9.0
"""Screen pixels between an outline and the plate beside it: half the widest line and some air."""
_NEAR_SHARE = 0.25
"""Parts of one surface farther apart than this share of the still's diagonal get a plate each."""
_LEADER_FROM = 16.0
_GRID = 9
_COVERS = 10_000.0
"""The cost of covering another plate; nothing else costs as much."""


@dataclass(frozen=True)
class Plate:
    """A solid rectangle with text, in pixels of the still. `leader` is a line to its mark where it could not stand beside it."""

    lines: tuple[str, ...]
    x: float
    y: float
    width: float
    height: float
    leader: tuple[tuple[float, float], tuple[float, float]] | None = None

    @property
    def box(self) -> Polygon:
        """Its rectangle."""
        return box(self.x, self.y, self.x + self.width, self.y + self.height)


def text_width(text: str, size: float) -> float:
    """Width of a text in the bold face, in the unit of `size`."""
    return float(_face().getlength(text)) * size / _MEASURED_AT


def place_plates(marks: Sequence[tuple[Area, Sequence[str]]], size: tuple[int, int], unit: float) -> tuple[tuple[Plate, ...], ...]:
    """Places for the plates of all marks of a still.

    Parameters
    ----------
    marks : sequence of (area, lines)
        What is drawn and what its plate says; areas lie inside the still.
    size : (width, height)
        Of the still.
    unit : float
        Pixels of the still for one screen pixel.

    Returns
    -------
    tuple
        For each mark its plates: one, or one for each group of parts that lie far from each other.
    """
    around = _Around([area for area, _ in marks], unit)
    placed: list[list[Plate]] = [[] for _ in marks]
    anchors = [(index, anchor) for index, (area, _) in enumerate(marks) for anchor in _anchors(area, size)]
    # Small marks last: they have the fewest places where a plate does not cover the mark itself, but the most around them.
    for index, anchor in sorted(anchors, key=lambda found: -found[1].area):
        lines = tuple(marks[index][1])
        width = max(text_width(line, PLATE_TEXT) for line in lines) * unit + 2 * PLATE_PAD * unit
        height = (PLATE_LINE * len(lines) + PLATE_PAD) * unit
        cost, corner = around.best(_beside(anchor, width, height, unit), width, height, size, anchor, index)
        if cost >= _COVERS and around.covered_px2 < size[0] * size[1]:
            cost, corner = min((cost, corner), around.best(_anywhere(width, height, size), width, height, size, anchor, index))
        plate = Plate(lines, corner[0], corner[1], width, height)
        if plate.box.distance(anchor) > _LEADER_FROM * unit:
            here, there = nearest_points(plate.box, anchor)
            plate = replace(plate, leader=((here.x, here.y), (there.x, there.y)))
        around.take(plate.box)
        placed[index].append(plate)
    return tuple(tuple(found) for found in placed)


class _Around:
    """What lies on the still while plates are placed: the marks, their edges, and the plates so far."""

    def __init__(self, areas: Sequence[Area], unit: float) -> None:
        self._unit = unit
        self._areas = list(areas)
        self._tree = shapely.STRtree(self._areas)
        edges = [area.boundary for area in areas]
        pieces = [piece for edge in edges for piece in getattr(edge, "geoms", [edge])]
        coordinates = [shapely.get_coordinates(piece) for piece in pieces]
        segments = np.concatenate([np.stack([one[:-1], one[1:]], axis=1) for one in coordinates]) if coordinates else np.zeros((0, 2, 2))
        self._segments = np.asarray(shapely.linestrings(segments))
        self._segment_tree = shapely.STRtree(self._segments)
        self._taken: list[tuple[float, float, float, float]] = []

    @property
    def covered_px2(self) -> float:
        """How much the plates cover so far; once that is all of the still there is no use in looking farther."""
        return sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in self._taken)

    def take(self, place: Polygon) -> None:
        """A plate stands here now."""
        self._taken.append(place.bounds)

    def best(
        self,
        corners: Iterable[tuple[float, float]],
        width: float,
        height: float,
        size: tuple[int, int],
        anchor: Polygon,
        own: int,
    ) -> tuple[float, tuple[float, float]]:
        """The cheapest of the corners, moved into the still, and what it costs; the first of equals."""
        room_x, room_y = max(0.0, size[0] - width), max(0.0, size[1] - height)
        margin = 2 * self._unit
        found: tuple[float, tuple[float, float]] | None = None
        for x, y in corners:
            corner = (min(max(x, min(margin, room_x)), max(room_x - margin, 0)), min(max(y, min(margin, room_y)), max(room_y - margin, 0)))
            cost = self._cost(corner, width, height, anchor, own, math.inf if found is None else found[0])
            if found is None or cost < found[0]:
                found = (cost, corner)
        assert found is not None
        return found

    def _cost(self, corner: tuple[float, float], width: float, height: float, anchor: Polygon, own: int, enough: float) -> float:
        """Least for a place near its mark that covers nothing; over another plate only where no other place is left.

        Stops counting at `enough`.
        """
        unit, whole = self._unit, width * height
        air = 2 * unit
        left, top, right, bottom = corner[0] - air, corner[1] - air, corner[0] + width + air, corner[1] + height + air
        cost = 0.0
        for x0, y0, x1, y1 in self._taken:
            if left < x1 and x0 < right and top < y1 and y0 < bottom:
                over = max(0.0, min(right, x1) - max(left, x0)) * max(0.0, min(bottom, y1) - max(top, y0))
                cost += _COVERS + 100_000 * over / whole
        if cost >= enough:
            return cost
        place, room = box(corner[0], corner[1], corner[0] + width, corner[1] + height), box(left, top, right, bottom)
        away = place.distance(anchor) / unit
        cost += 1.5 * away + (40 if away > _LEADER_FROM else 0)
        # On a mark that is hardly larger than the plate, the plate would hide what it names.
        cost += 120 * max(0.0, place.intersection(anchor).area / max(anchor.area, 1e-9) - 0.3)
        if cost >= enough:
            return cost
        crossed = self._segments[self._segment_tree.query(room, predicate="intersects")]
        if len(crossed):
            cost += 60 + 3 * float(shapely.length(shapely.intersection(crossed, room)).sum()) / unit
        if cost >= enough:
            return cost
        covered = [self._areas[other] for other in self._tree.query(place, predicate="intersects") if other != own]
        return cost + float(sum(80 * place.intersection(other).area / whole for other in covered))


def _anchors(area: Area, size: tuple[int, int]) -> list[Polygon]:
    """The largest part of each group of parts that lie near each other, one by one or in a row."""
    near = _NEAR_SHARE * (size[0] ** 2 + size[1] ** 2) ** 0.5
    parts = sorted(polygon_list(area), key=lambda found: -found.area)
    groups = polygon_list(polygons_of(unary_union([box(*part.bounds).buffer(near / 2, join_style="mitre") for part in parts])))
    return [next(part for part in parts if group.contains(part)) for group in groups]


def _beside(anchor: Polygon, width: float, height: float, unit: float) -> Iterator[tuple[float, float]]:
    """Top left corners to try, the preferred ones first: on the mark, above, below, beside."""
    x0, y0, x1, y1 = anchor.bounds
    gap = _GAP * unit
    widest = shapely.maximum_inscribed_circle(anchor, tolerance=max(1.0, (x1 - x0) / 50)).coords[0]
    for x, y in ((anchor.centroid.x, anchor.centroid.y), widest):
        yield x - width / 2, y - height / 2
    across = (x0, (x0 + x1 - width) / 2, x1 - width)
    down = (y0, (y0 + y1 - height) / 2, y1 - height)
    yield from ((x, y0 - gap - height) for x in across)
    yield from ((x, y1 + gap) for x in across)
    yield from ((x1 + gap, y) for y in down)
    yield from ((x0 - gap - width, y) for y in down)
    yield from ((x, y) for x in (x0 - gap - width, x1 + gap) for y in (y0 - gap - height, y1 + gap))


def _anywhere(width: float, height: float, size: tuple[int, int]) -> Iterator[tuple[float, float]]:
    """A grid over the still."""
    for j in range(_GRID + 1):
        for i in range(_GRID + 1):
            yield max(0.0, size[0] - width) * i / _GRID, max(0.0, size[1] - height) * j / _GRID


@lru_cache(maxsize=1)
def _face() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(fonts.BOLD, _MEASURED_AT)
