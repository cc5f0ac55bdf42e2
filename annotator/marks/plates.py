"""Where the plates go: beside or on their mark, never over another plate, and off marked edges where there is room.

Greedy: the largest marks first, each takes the cheapest of the places around it, or of a grid over the still where all those
cover an edge. Pure geometry; text is measured in the shipped face.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import ImageFont
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import nearest_points, unary_union

from annotator import fonts
from annotator.marks.covering import Sums, drawn_area, drawn_edges
from annotator.marks.looks import PLATE_LINE, PLATE_PAD, PLATE_TEXT
from annotator.marks.outlines import Area, polygon_list, polygons_of

Corner = tuple[float, float]
Floats = NDArray[np.float64]

_MEASURED_AT = 100
_GAP = 9.0
"""Screen pixels between an outline and the plate beside it: half the widest line and some air."""
_NEAR_SHARE = 0.25
"""Parts of one surface farther apart than this share of the still's diagonal get a plate each."""
_LEADER_FROM = 16.0
_AIR = 4.5
"""Screen pixels that a plate keeps from edges: half the widest line, of a start or finish."""
_GRID = 24
_AT_ONCE = 24
_AREA_CELL = 2.0
_EDGE_CELL = 0.5
"""Screen pixels of the cells in which areas are summed and edges are looked for."""
_COVERS = 100_000.0
"""The cost of covering another plate; nothing else costs as much."""
_CROSSES = 5_000.0
"""The cost of covering a marked edge: more than the longest way to a place that covers none."""


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
    """Width of a text in the bold face that has its signs, in the unit of `size`."""
    return _measured(text) * size / _MEASURED_AT


@lru_cache(maxsize=4096)
def _measured(text: str) -> float:
    return float(_face(fonts.face_for(text)).getlength(text))


def place_plates(
    marks: Sequence[tuple[Area, Sequence[str]]], size: tuple[int, int], unit: float, kept_free: Sequence[Polygon] = ()
) -> tuple[tuple[Plate, ...], ...]:
    """Places for the plates of all marks of a still.

    Parameters
    ----------
    marks : sequence of (area, lines)
        What is drawn and what its plate says; areas lie inside the still.
    size : (width, height)
        Of the still.
    unit : float
        Pixels of the still for one screen pixel.
    kept_free : sequence of rectangles, optional
        Where something else will lie over the picture; no plate stands there while there is room elsewhere.

    Returns
    -------
    tuple
        For each mark its plates: one, or one for each group of parts that lie far from each other.
    """
    around = _Around([area for area, _ in marks], size, unit)
    for place in kept_free:
        around.take(place)
    placed: list[list[Plate]] = [[] for _ in marks]
    groups = [(index, named) for index, (area, _) in enumerate(marks) for named in _groups(area, size)]
    # Small marks last: they have the fewest places where a plate does not cover the mark itself, but the most around them.
    for index, named in sorted(groups, key=lambda found: -found[1].largest.area):
        lines = tuple(marks[index][1])
        width = max(text_width(line, PLATE_TEXT) for line in lines) * unit + 2 * PLATE_PAD * unit
        height = (PLATE_LINE * len(lines) + PLATE_PAD) * unit
        cost, corner = around.best(np.array(list(_beside(named.largest, width, height, unit))), width, height, named, index)
        if cost >= _CROSSES and around.covered_px2 < size[0] * size[1]:
            cost, corner = min((cost, corner), around.best(_anywhere(width, height, size), width, height, named, index))
        plate = Plate(lines, corner[0], corner[1], width, height)
        if plate.box.distance(named.parts) > _LEADER_FROM * unit:
            here, there = nearest_points(plate.box, named.parts)
            plate = replace(plate, leader=((here.x, here.y), (there.x, there.y)))
        around.take(plate.box)
        placed[index].append(plate)
    return tuple(tuple(found) for found in placed)


@dataclass(frozen=True)
class _Named:
    """What one plate names: parts that lie near each other, and the largest of them."""

    parts: Area
    largest: Polygon


class _Around:
    """What lies on the still while plates are placed: the marks, their edges, and the plates so far."""

    def __init__(self, areas: Sequence[Area], size: tuple[int, int], unit: float) -> None:
        self._size, self._unit = size, unit
        cell = self._cell = _AREA_CELL * unit
        self._drawn = [drawn_area(area, size, cell) for area in areas]
        self._covered = Sums(np.add.reduce(self._drawn, dtype=np.uint8) if areas else drawn_edges([], size, cell), cell)
        self._edges = Sums(drawn_edges(areas, size, _EDGE_CELL * unit), _EDGE_CELL * unit)
        self._own = {index: Sums(drawn, cell) for index, drawn in enumerate(self._drawn)}
        self._taken = np.zeros((0, 4))
        self._plates = MultiPolygon()
        self._asked: tuple[Polygon, Sums] | None = None

    @property
    def covered_px2(self) -> float:
        """How much the plates cover so far; once that is all of the still there is no use in looking farther."""
        return float(((self._taken[:, 2] - self._taken[:, 0]) * (self._taken[:, 3] - self._taken[:, 1])).sum())

    def take(self, place: Polygon) -> None:
        """A plate stands here now."""
        self._taken = np.vstack([self._taken, place.bounds])
        self._plates = MultiPolygon(list(np.atleast_1d(np.asarray(shapely.box(*self._taken.T)))))

    def best(self, corners: Floats, width: float, height: float, named: _Named, own: int) -> tuple[float, Corner]:
        """The cheapest of the corners, moved into the still, and what it costs.

        What is quick to tell is the least that a corner can cost; the way to the mark is worked out for the most promising ones first.
        """
        room = np.maximum(0.0, np.array([self._size[0] - width, self._size[1] - height]))
        margin = 2 * self._unit
        places = np.clip(corners, np.minimum(margin, room), np.maximum(room - margin, 0))
        rectangles = np.hstack([places, places + np.array([width, height])])
        least = self._cover_cost(rectangles, width * height, named.largest, own) + self._least_way_cost(rectangles, named.parts)
        order = np.argsort(least, kind="stable")
        best, at = np.inf, int(order[0])
        for begin in range(0, len(order), _AT_ONCE):
            some = order[begin : begin + _AT_ONCE]
            if best <= least[some[0]]:
                break
            cost = least[some] + self._way_cost(rectangles[some], named.parts) - self._least_way_cost(rectangles[some], named.parts)
            if cost.min() < best:
                best, at = float(cost.min()), int(some[cost.argmin()])
        return best, (float(places[at, 0]), float(places[at, 1]))

    def _cover_cost(self, places: Floats, whole: float, largest: Polygon, own: int) -> Floats:
        """For plates, marked edges and other marks that are covered, and for hiding the mark that is named."""
        unit = self._unit
        cells = self._edges.touched(places + np.array([-_AIR, -_AIR, _AIR, _AIR]) * unit)
        cost: Floats = _CROSSES * (cells > 0) + 3 * _EDGE_CELL * cells
        if len(self._taken):
            one, other = places[:, None, :], self._taken[None, :, :]
            ends = np.minimum(one[..., 2:] + 2 * unit, other[..., 2:]) - np.maximum(one[..., :2] - 2 * unit, other[..., :2])
            shared = np.maximum(ends, 0.0).prod(axis=2)
            cost += ((shared > 0) * _COVERS + 10 * _COVERS * shared / whole).sum(axis=1)
        # On a mark that is hardly larger than the plate, the plate would hide what it names.
        named = self._sums_of(largest)
        hidden = 120 * np.maximum(0.0, named.under(places) / max(named.total_px2, 1e-9) - 0.3)
        others = self._covered.under(places) - self._own[own].under(places)
        total: Floats = cost + hidden + 80 * others / whole
        return total

    def _sums_of(self, part: Polygon) -> Sums:
        """The sums of a part, which is asked about again where the first places do not do."""
        if self._asked is None or self._asked[0] is not part:
            self._asked = part, Sums(drawn_area(polygons_of(part), self._size, self._cell), self._cell)
        return self._asked[1]

    def _least_way_cost(self, places: Floats, parts: Area) -> Floats:
        """The way to the rectangle around the mark: never more than to the mark."""
        x0, y0, x1, y1 = parts.bounds
        across = np.maximum(0.0, np.maximum(x0 - places[:, 2], places[:, 0] - x1))
        down = np.maximum(0.0, np.maximum(y0 - places[:, 3], places[:, 1] - y1))
        return self._cost_of_way(np.hypot(across, down))

    def _cost_of_way(self, px: Floats) -> Floats:
        away = px / self._unit
        cost: Floats = 1.5 * away + 40 * (away > _LEADER_FROM)
        return cost

    def _way_cost(self, places: Floats, parts: Area) -> Floats:
        """For the way to the mark, and for plates that a line to it would cross."""
        boxes = np.asarray(shapely.box(*places.T))
        px = np.asarray(shapely.distance(boxes, parts))
        cost = self._cost_of_way(px)
        led = px > _LEADER_FROM * self._unit
        if led.any() and len(self._taken):
            leaders = shapely.shortest_line(boxes[led], parts)
            cost[led] += 200 * shapely.intersects(leaders, self._plates)
        return cost


def _groups(area: Area, size: tuple[int, int]) -> list[_Named]:
    """The parts in groups that lie near each other, one by one or in a row."""
    near = _NEAR_SHARE * (size[0] ** 2 + size[1] ** 2) ** 0.5
    parts = sorted(polygon_list(area), key=lambda found: -found.area)
    around = polygon_list(polygons_of(unary_union([box(*part.bounds).buffer(near / 2, join_style="mitre") for part in parts])))
    together = [[part for part in parts if group.contains(part)] for group in around]
    return [_Named(polygons_of(MultiPolygon(group)), group[0]) for group in together]


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


def _anywhere(width: float, height: float, size: tuple[int, int]) -> Floats:
    """A grid over the still."""
    steps = np.arange(_GRID + 1) / _GRID
    x, y = np.meshgrid(max(0.0, size[0] - width) * steps, max(0.0, size[1] - height) * steps)
    return np.stack([x.ravel(), y.ravel()], axis=1)


@lru_cache(maxsize=8)
def _face(path: Path) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, _MEASURED_AT)
