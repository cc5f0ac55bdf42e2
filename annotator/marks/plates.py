"""Where the plates go: beside or on their mark, never over another plate, and off marked edges where there is room.

Greedy: the largest marks first, each takes the cheapest of the places around it. Pure geometry; text is measured in the shipped face.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import shapely
from PIL import ImageFont
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
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
    edges = unary_union([area.boundary for area, _ in marks])
    shapely.prepare(edges)
    taken: list[Polygon] = []
    placed: list[list[Plate]] = [[] for _ in marks]
    anchors = [(index, anchor) for index, (area, _) in enumerate(marks) for anchor in _anchors(area, size)]
    # Small marks last: they have the fewest places where a plate does not cover the mark itself, but the most around them.
    for index, anchor in sorted(anchors, key=lambda found: -found[1].area):
        lines = tuple(marks[index][1])
        width = max(text_width(line, PLATE_TEXT) for line in lines) * unit + 2 * PLATE_PAD * unit
        height = (PLATE_LINE * len(lines) + PLATE_PAD) * unit
        others = [area for other, (area, _) in enumerate(marks) if other != index]
        best = min(
            _places(anchor, width, height, size, unit), key=lambda corner: _cost(corner, width, height, anchor, others, edges, taken, unit)
        )
        plate = Plate(lines, best[0], best[1], width, height)
        if plate.box.distance(anchor) > _LEADER_FROM * unit:
            here, there = nearest_points(plate.box, anchor)
            plate = Plate(lines, best[0], best[1], width, height, ((here.x, here.y), (there.x, there.y)))
        taken.append(plate.box)
        placed[index].append(plate)
    return tuple(tuple(found) for found in placed)


def _anchors(area: Area, size: tuple[int, int]) -> list[Polygon]:
    """The largest part of each group of parts that lie near each other, one by one or in a row."""
    near = _NEAR_SHARE * (size[0] ** 2 + size[1] ** 2) ** 0.5
    parts = sorted(polygon_list(area), key=lambda found: -found.area)
    groups = polygon_list(polygons_of(unary_union([box(*part.bounds).buffer(near / 2, join_style="mitre") for part in parts])))
    return [next(part for part in parts if group.contains(part)) for group in groups]


def _places(anchor: Polygon, width: float, height: float, size: tuple[int, int], unit: float) -> Iterator[tuple[float, float]]:
    """Top left corners to try, the preferred ones first: on the mark, above, below, beside, then anywhere."""
    x0, y0, x1, y1 = anchor.bounds
    gap = _GAP * unit
    widest = shapely.maximum_inscribed_circle(anchor, tolerance=max(1.0, (x1 - x0) / 50)).coords[0]
    middles = [(anchor.centroid.x, anchor.centroid.y), widest]
    corners = [(x - width / 2, y - height / 2) for x, y in middles]
    across = (x0, (x0 + x1 - width) / 2, x1 - width)
    down = (y0, (y0 + y1 - height) / 2, y1 - height)
    corners += [(x, y0 - gap - height) for x in across]
    corners += [(x, y1 + gap) for x in across]
    corners += [(x1 + gap, y) for y in down]
    corners += [(x0 - gap - width, y) for y in down]
    corners += [(x, y) for x in (x0 - gap - width, x1 + gap) for y in (y0 - gap - height, y1 + gap)]
    room_x, room_y = max(0.0, size[0] - width), max(0.0, size[1] - height)
    corners += [(room_x * i / _GRID, room_y * j / _GRID) for j in range(_GRID + 1) for i in range(_GRID + 1)]
    margin = 2 * unit
    for x, y in corners:
        yield min(max(x, min(margin, room_x)), max(room_x - margin, 0)), min(max(y, min(margin, room_y)), max(room_y - margin, 0))


def _cost(
    corner: tuple[float, float],
    width: float,
    height: float,
    anchor: Polygon,
    others: Sequence[Area],
    edges: BaseGeometry,
    taken: Sequence[Polygon],
    unit: float,
) -> float:
    """Least for a place near its mark that covers nothing; over another plate only where no other place is left."""
    place = box(corner[0], corner[1], corner[0] + width, corner[1] + height)
    room = place.buffer(2 * unit, join_style="mitre")
    whole = width * height
    away = place.distance(anchor) / unit
    cost = 1.5 * away + (40 if away > _LEADER_FROM else 0)
    cost += sum(10_000 + 100_000 * room.intersection(other).area / whole for other in taken if room.intersects(other))
    if edges.intersects(room):
        cost += 60 + 3 * edges.intersection(room).length / unit
    cost += sum(80 * place.intersection(other).area / whole for other in others if place.intersects(other))
    # On a mark that is hardly larger than the plate, the plate would hide what it names.
    hidden = place.intersection(anchor).area / max(anchor.area, 1e-9)
    return cost + 120 * max(0.0, hidden - 0.3)


@lru_cache(maxsize=1)
def _face() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(fonts.BOLD, _MEASURED_AT)
