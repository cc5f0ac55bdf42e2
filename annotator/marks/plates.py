"""Where the plates go: beside or on their mark, never over another plate, and off marked edges where there is room.

Greedy: the largest marks first, each takes the cheapest of the places around it, or of a grid over the still where all those
cover an edge. Pure geometry; text is measured in the shipped face.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import ImageFont
from shapely.geometry import LinearRing, MultiPolygon, Polygon, box
from shapely.ops import nearest_points, unary_union

from annotator import fonts
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
    return float(_face(fonts.face_for(text)).getlength(text)) * size / _MEASURED_AT


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
    around = _Around([area for area, _ in marks], size, unit)
    placed: list[list[Plate]] = [[] for _ in marks]
    groups = [(index, named) for index, (area, _) in enumerate(marks) for named in _groups(area, size)]
    # Small marks last: they have the fewest places where a plate does not cover the mark itself, but the most around them.
    for index, named in sorted(groups, key=lambda found: -found[1].largest.area):
        lines = tuple(marks[index][1])
        width = max(text_width(line, PLATE_TEXT) for line in lines) * unit + 2 * PLATE_PAD * unit
        height = (PLATE_LINE * len(lines) + PLATE_PAD) * unit
        cost, corner = around.best(_beside(named.largest, width, height, unit), width, height, named, index)
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
        self._areas = list(areas)
        edges = [shapely.get_coordinates(ring) for area in areas for part in polygon_list(area) for ring in _rings(part)]
        self._segments = np.concatenate([np.zeros((0, 2, 2)), *(np.stack([one[:-1], one[1:]], axis=1) for one in edges)])
        self._segment_tree = shapely.STRtree(np.asarray(shapely.linestrings(self._segments)))
        self._taken = np.zeros((0, 4))

    @property
    def covered_px2(self) -> float:
        """How much the plates cover so far; once that is all of the still there is no use in looking farther."""
        return float(((self._taken[:, 2] - self._taken[:, 0]) * (self._taken[:, 3] - self._taken[:, 1])).sum())

    def take(self, place: Polygon) -> None:
        """A plate stands here now."""
        self._taken = np.vstack([self._taken, place.bounds])

    def best(self, corners: Iterable[Corner], width: float, height: float, named: _Named, own: int) -> tuple[float, Corner]:
        """The cheapest of the corners, moved into the still, and what it costs.

        What is quick to tell is the least that a corner can cost; the rest is worked out for the most promising ones first.
        """
        room = np.maximum(0.0, np.array([self._size[0] - width, self._size[1] - height]))
        margin = 2 * self._unit
        places = np.clip(np.array(list(corners)), np.minimum(margin, room), np.maximum(room - margin, 0))
        least = self._least_cost(places, width, height, named.parts)
        order = np.argsort(least, kind="stable")
        best, at = np.inf, int(order[0])
        for some in np.split(order, range(_AT_ONCE, len(order), _AT_ONCE)):
            if best <= least[some[0]]:
                break
            cost = least[some] + self._more_cost(places[some], width, height, named.largest, own)
            if cost.min() < best:
                best, at = float(cost.min()), int(some[cost.argmin()])
        return best, (float(places[at, 0]), float(places[at, 1]))

    def _least_cost(self, corners: Floats, width: float, height: float, parts: Area) -> Floats:
        """For the way to the mark and for other plates that are covered, or crossed by the line to the mark."""
        air, whole = 2 * self._unit, width * height
        x0, y0 = corners[:, 0], corners[:, 1]
        x1, y1 = x0 + width, y0 + height
        places = shapely.box(x0, y0, x1, y1)
        away = shapely.distance(places, parts) / self._unit
        led = away > _LEADER_FROM
        cost: Floats = 1.5 * away + 40 * led
        for left, top, right, bottom in self._taken:
            across = np.minimum(x1 + air, right) - np.maximum(x0 - air, left)
            down = np.minimum(y1 + air, bottom) - np.maximum(y0 - air, top)
            near = (across > 0) & (down > 0)
            cost += near * (_COVERS + 10 * _COVERS * np.maximum(across, 0) * np.maximum(down, 0) / whole)
        if led.any() and len(self._taken):
            leaders = shapely.shortest_line(places[led], parts)
            cost[led] += 200 * shapely.intersects(leaders, shapely.MultiPolygon([box(*each) for each in self._taken]))
        return cost

    def _more_cost(self, corners: Floats, width: float, height: float, largest: Polygon, own: int) -> Floats:
        """For marked edges and other marks that are covered, and for hiding the mark that is named."""
        air, whole = _AIR * self._unit, width * height
        x0, y0 = corners[:, 0], corners[:, 1]
        x1, y1 = x0 + width, y0 + height
        places, rooms = shapely.box(x0, y0, x1, y1), np.stack([x0 - air, y0 - air, x1 + air, y1 + air], axis=1)
        # On a mark that is hardly larger than the plate, the plate would hide what it names.
        cost: Floats = 120 * np.maximum(0.0, _covered_px2(largest, places) / max(largest.area, 1e-9) - 0.3)
        place, segment = self._segment_tree.query(shapely.box(*rooms.T), predicate="intersects")
        covered = _lengths_inside(self._segments[segment], rooms[place]) / self._unit
        crossed = np.bincount(place, minlength=len(places)) > 0
        cost += _CROSSES * crossed + 3 * np.bincount(place, weights=covered, minlength=len(places))
        for other, area in enumerate(self._areas):
            if other != own:
                cost += 80 * _covered_px2(area, places) / whole
        return cost


def _covered_px2(area: Area | Polygon, places: NDArray[np.object_]) -> Floats:
    """How much of an area each place covers; the exact sum only where the place is neither inside nor outside."""
    shapely.prepare(area)
    touching, inside = shapely.intersects(area, places), shapely.covers(area, places)
    covered: Floats = np.where(inside, shapely.area(places), 0.0)
    partly = touching & ~inside
    covered[partly] = shapely.area(shapely.intersection(places[partly], area))
    return covered


def _lengths_inside(segments: Floats, rooms: Floats) -> Floats:
    """How much of each segment, (N, 2, 2), lies inside its rectangle, (N, 4): x0, y0, x1, y1.

    >>> _lengths_inside(np.array([[[-4.0, 1.0], [4.0, 1.0]]]), np.array([[0.0, 0.0, 2.0, 2.0]])).tolist()
    [2.0]
    """
    start, along = segments[:, 0], segments[:, 1] - segments[:, 0]
    still = along == 0
    step = np.where(still, 1.0, along)
    low, high = (rooms[:, :2] - start) / step, (rooms[:, 2:] - start) / step
    # A segment that runs along an axis is inside for all of its way or for none of it; the tree gave only those that are.
    enter = np.where(still, -np.inf, np.minimum(low, high)).max(axis=1).clip(0, 1)
    leave = np.where(still, np.inf, np.maximum(low, high)).min(axis=1).clip(0, 1)
    lengths: Floats = np.maximum(0.0, leave - enter) * np.hypot(*along.T)
    return lengths


def _rings(part: Polygon) -> Iterator[LinearRing]:
    yield part.exterior
    yield from part.interiors


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


def _anywhere(width: float, height: float, size: tuple[int, int]) -> Iterator[tuple[float, float]]:
    """A grid over the still."""
    for j in range(_GRID + 1):
        for i in range(_GRID + 1):
            yield max(0.0, size[0] - width) * i / _GRID, max(0.0, size[1] - height) * j / _GRID


@lru_cache(maxsize=8)
def _face(path: Path) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, _MEASURED_AT)
