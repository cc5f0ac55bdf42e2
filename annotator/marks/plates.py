"""Where the plates go: on their mark or beside it, never over another plate, off marked edges and other things where there is room.

What a place costs is plate_costs.py and plate_lines.py; which plate takes which place is plate_moves.py. Pure geometry; text is measured
in the shipped face.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from PIL import ImageFont
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from annotator import fonts
from annotator.marks.looks import PLATE_LINE, PLATE_PAD, PLATE_TEXT
from annotator.marks.outlines import Area, polygon_list, polygons_of
from annotator.marks.plate_costs import MARGIN, Choice, Named, ground_of
from annotator.marks.plate_moves import arranged

_MEASURED_AT = 100
_NEAR_SHARE = 0.25
"""Parts of one surface farther apart than this share of the still's diagonal get a plate each."""


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

    A plate that does not stand at its mark, or stands nearer to another one, has a line to its own. While there is room, none of them
    covers a marked edge or stands on a thing that it does not name, and no two lines cross.

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
    # Begun at one corner always, however an area came about: what is the same in another division is then found again.
    areas = tuple(polygons_of(shapely.normalize(area)) for area, _ in marks)
    ground = ground_of(areas, size, unit)
    groups = [(index, parts) for index, area in enumerate(areas) for parts in _groups(area, size)]
    # Small marks last: they have the fewest places where a plate does not cover the mark itself, but the most around them.
    groups.sort(key=lambda found: -found[1][0].area)
    choices = [
        Choice(ground, Named(index, polygons_of(MultiPolygon(parts)), parts[0]), *_sides(marks[index][1], unit)) for index, parts in groups
    ]
    free = np.array([place.bounds for place in kept_free], np.float64).reshape(-1, 4)
    found: list[list[Plate]] = [[] for _ in marks]
    for (index, _), choice, (sides, line) in zip(groups, choices, arranged(choices, free, MARGIN * unit), strict=True):
        x0, y0, x1, y1 = line.tolist()
        leader = None if np.isnan(x0) else ((x0, y0), (x1, y1))
        found[index].append(Plate(tuple(marks[index][1]), float(sides[0]), float(sides[1]), choice.width, choice.height, leader))
    return tuple(tuple(plates) for plates in found)


def _sides(lines: Sequence[str], unit: float) -> tuple[float, float]:
    """Width and height of a plate in pixels of the still."""
    width = max(text_width(line, PLATE_TEXT) for line in lines)
    return (width + 2 * PLATE_PAD) * unit, (PLATE_LINE * len(lines) + PLATE_PAD) * unit


def _groups(area: Area, size: tuple[int, int]) -> list[list[Polygon]]:
    """The parts in groups that lie near each other, one by one or in a row; the largest of each group first."""
    near = _NEAR_SHARE * (size[0] ** 2 + size[1] ** 2) ** 0.5
    parts = sorted(polygon_list(area), key=lambda found: -found.area)
    if len(parts) == 1:
        return [parts]
    around = polygon_list(polygons_of(unary_union([box(*part.bounds).buffer(near / 2, join_style="mitre") for part in parts])))
    return [[part for part in parts if group.contains(part)] for group in around]


@lru_cache(maxsize=8)
def _face(path: Path) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, _MEASURED_AT)
