"""A mark's outline as an area: mended, with holes, or the strip that a line with a width covers.

In: one `Mark`. Out: a valid shapely polygon or multi-polygon in pixels of the still. Which areas count as in play is zones.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from annotator.course import Mark, Point
from annotator.errors import InvalidMark

Area = Polygon | MultiPolygon

SMALLEST_AREA_PX2 = 0.01
THINNING_PX = 0.05
"""Outlines of more than `PLAIN_POINTS` points are thinned: no edge moves by more than twice this."""
PLAIN_POINTS = 2_000
MOST_POINTS = 10_000
MOST_CROSSINGS = 1_000
_MOST_BEFORE_THINNING = 200_000

_Coordinates = NDArray[np.float64]


def area(mark: Mark, still: tuple[float, float] | None = None) -> Area:
    """The area that a mark covers, in square pixels of its still.

    An outline that crosses itself is mended by the even-odd rule (a bow-tie is two triangles), a hole takes away only what it covers. A
    line is widened by half its width to both sides, with flat ends where the line ends (a bar is not longer than it was drawn) and round
    corners.

    Parameters
    ----------
    mark : Mark
        `rings` (outline, then holes) or `line` with `width`.
    still : (width, height), optional
        Size of the still; the area is cut to it. Without it the area may reach past the picture.

    Returns
    -------
    Polygon or MultiPolygon
        Valid and not empty.

    Raises
    ------
    InvalidMark
        All points are one, the area is nothing, it lies outside the still, or it has so many points or crossings that it cannot be an
        outline.

    References
    ----------
    Rings and holes: OGC 06-103r4 (ISO 19125-1), simple features.

    Examples
    --------
    >>> bow_tie = Mark(id="m1", still="s", surface="u1", rings=(((0, 0), (2, 2), (2, 0), (0, 2)),))
    >>> area(bow_tie).area
    2.0
    >>> area(Mark(id="m2", still="s", surface="u1", line=((0, 5), (10, 5)), width=4)).bounds
    (0.0, 3.0, 10.0, 7.0)
    """
    if mark.rings is not None:
        outline = _ring_area(mark.id, mark.rings[0])
        holes = [_ring_area(mark.id, ring, needed=False) for ring in mark.rings[1:]]
        found = polygons_of(outline.difference(unary_union(holes))) if holes else outline
    else:
        assert mark.line is not None and mark.width is not None
        found = _line_area(mark.id, mark.line, mark.width)
    if found.area < SMALLEST_AREA_PX2:
        raise InvalidMark(mark.id, "it covers no area. Draw around the thing, or mark a thin one as a line with a width.")
    if still is not None:
        found = polygons_of(found.intersection(box(0, 0, *still)))
        if found.area < SMALLEST_AREA_PX2:
            raise InvalidMark(
                mark.id, f"it lies outside the still, which is {still[0]:g} x {still[1]:g} pixels. Move it into the picture or delete it."
            )
    return found


def polygons_of(shape: BaseGeometry) -> Area:
    """The polygons of any shape; points and lines, which have no area, are dropped. Empty where nothing is left.

    >>> polygons_of(shapely.from_wkt("GEOMETRYCOLLECTION (POINT (1 1), POLYGON ((0 0, 1 0, 1 1, 0 0)))")).geom_type
    'Polygon'
    """
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    parts = [part for part in _flat(shape) if isinstance(part, Polygon) and not part.is_empty]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def polygon_list(shape: Area) -> tuple[Polygon, ...]:
    """The single polygons of an area."""
    return tuple(part for part in _flat(shape) if isinstance(part, Polygon) and not part.is_empty)


def union(areas: Iterable[BaseGeometry]) -> Area:
    """All areas as one; empty for none."""
    return polygons_of(unary_union(list(areas)))


def _flat(shape: BaseGeometry) -> list[BaseGeometry]:
    parts: Sequence[BaseGeometry] | None = getattr(shape, "geoms", None)
    return [shape] if parts is None else [inner for part in parts for inner in _flat(part)]


def _ring_area(mark: str, ring: Sequence[Point], needed: bool = True) -> Area:
    """One ring, mended. A hole (`needed` false) may come to nothing, an outline may not."""
    points = _distinct(mark, ring)
    if len(points) < 3:
        if not needed:
            return Polygon()
        raise InvalidMark(mark, f"its outline has {_points(len(points))} only. Draw at least three corners around the thing.")
    plain = Polygon(points)
    if plain.is_valid:
        return plain
    _refuse_scribble(mark, np.vstack([points, points[:1]]))
    return polygons_of(shapely.make_valid(plain))


def _line_area(mark: str, line: Sequence[Point], width: float) -> Area:
    points = _distinct(mark, line)
    if len(points) < 2:
        raise InvalidMark(mark, "its line begins and ends at one point. Draw it from one end of the thing to the other.")
    _refuse_scribble(mark, points)
    return polygons_of(LineString(points).buffer(width / 2, cap_style="flat", join_style="round"))


def _distinct(mark: str, points: Sequence[Point]) -> _Coordinates:
    """The points without repeats in a row; long ones thinned."""
    found = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    found = _without_repeats(found)
    if len(found) <= PLAIN_POINTS:
        return found
    found = _without_repeats(np.round(found / THINNING_PX) * THINNING_PX)
    if len(found) <= _MOST_BEFORE_THINNING:
        found = _thinned(found)
    if len(found) > MOST_POINTS:
        raise InvalidMark(mark, f"it has {len(points):,} points and is still too long after thinning. Draw it again with fewer points.")
    return found


def _without_repeats(points: _Coordinates) -> _Coordinates:
    keep = np.ones(len(points), dtype=bool)
    keep[1:] = np.any(points[1:] != points[:-1], axis=1)
    return points[keep]


def _thinned(points: _Coordinates) -> _Coordinates:
    """Douglas-Peucker in pieces, so that the worst outline takes no longer than a few times the best one."""
    pieces = []
    for first in range(0, len(points), PLAIN_POINTS):
        piece = points[first : first + PLAIN_POINTS + 1]
        if len(piece) > 2:
            piece = shapely.get_coordinates(LineString(piece).simplify(THINNING_PX, preserve_topology=False))
        pieces.append(piece[:-1])
    pieces.append(points[-1:])
    return _without_repeats(np.vstack(pieces))


def _refuse_scribble(mark: str, path: _Coordinates) -> None:
    """Refuse a path with so many crossings that mending it would take minutes; estimated from a sample of its edges."""
    if len(path) < 45:  # fewer edges cannot cross more often
        return
    edges = np.asarray(shapely.linestrings(np.stack([path[:-1], path[1:]], axis=1)))
    sample = edges[:: math.ceil(len(edges) / 500)]
    tree = shapely.STRtree(edges)
    met = len(tree.query(sample, predicate="intersects")[0]) / len(sample) - 3  # itself and its two neighbours
    crossings = met * len(edges) / 2
    if crossings > MOST_CROSSINGS:
        raise InvalidMark(mark, f"it crosses itself about {crossings:,.0f} times. Draw one outline around the thing.")


def _points(count: int) -> str:
    return "one point" if count == 1 else "two points"
