"""How much of an area, and of its edges, lies under a rectangle: for many rectangles at once, from sums over a grid.

Areas and edges are drawn once into small grids; what lies under a rectangle is then four look-ups in a summed table. Pure.

References
----------
Crow, "Summed-area tables for texture mapping", SIGGRAPH 1984.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from annotator.marks.outlines import Area, polygon_list

Floats = NDArray[np.float64]
Grid = NDArray[np.uint8]
_SHIFT = 4  # corners are drawn to a sixteenth of a cell


class Sums:
    """The sums over a grid of cells, `cell_px` wide each. A rectangle counts by the cells that its sides are nearest to."""

    def __init__(self, grid: Grid, cell_px: float) -> None:
        self._table = cv2.integral(grid, sdepth=cv2.CV_32S)
        self._cell = cell_px
        self._flat, self._wide = self._table.ravel(), self._table.shape[1]
        self._most = np.array([grid.shape[1], grid.shape[0]] * 2, np.float64)

    @property
    def total_px2(self) -> float:
        """The area of all that is drawn."""
        return float(self._table[-1, -1]) * self._cell**2

    def under(self, rectangles: Floats) -> Floats:
        """The area in px² of what is drawn that lies under each rectangle, (N, 4): x0, y0, x1, y1."""
        return self._between(np.rint(rectangles / self._cell)) * self._cell**2

    def touched(self, rectangles: Floats) -> Floats:
        """How many drawn cells each rectangle touches, be it with a corner."""
        return self._between(np.hstack([np.floor(rectangles[:, :2] / self._cell), np.ceil(rectangles[:, 2:] / self._cell)]))

    def _between(self, cells: Floats) -> Floats:
        x0, y0, x1, y1 = np.minimum(np.maximum(cells, 0.0), self._most).astype(np.intp).T
        upper, lower = y0 * self._wide, y1 * self._wide
        at = self._flat
        found: Floats = (at[lower + x1] - at[lower + x0] - at[upper + x1] + at[upper + x0]).astype(np.float64)
        return found


def drawn_area(area: Area, size: tuple[int, int], cell_px: float) -> Grid:
    """An area inside a still of that size, as a grid of cells that are 1 where it lies."""
    grid = _grid(size, cell_px)
    for part in polygon_list(area):
        rings = [_cells(ring.coords, cell_px) for ring in (part.exterior, *part.interiors)]
        one = np.zeros_like(grid) if len(rings) > 1 else grid
        cv2.fillPoly(one, rings, 1, cv2.LINE_8, _SHIFT)
        grid |= one
    return grid


def drawn_edges(areas: Sequence[Area], size: tuple[int, int], cell_px: float) -> Grid:
    """The edges of areas, as a grid of cells that are 1 where one runs through."""
    grid = _grid(size, cell_px)
    rings = [ring for area in areas for part in polygon_list(area) for ring in (part.exterior, *part.interiors)]
    cv2.polylines(grid, [_cells(ring.coords, cell_px) for ring in rings], True, 1, 1, cv2.LINE_8, _SHIFT)
    return grid


def _grid(size: tuple[int, int], cell_px: float) -> Grid:
    return np.zeros((int(np.ceil(size[1] / cell_px)) + 1, int(np.ceil(size[0] / cell_px)) + 1), np.uint8)


def _cells(coords: shapely.coords.CoordinateSequence, cell_px: float) -> NDArray[np.int32]:
    """Corners in sixteenths of a cell, counted from the middle of the first one, as OpenCV draws."""
    corners = np.asarray(coords, np.float64)[:, :2] / cell_px - 0.5
    return np.rint(corners * (1 << _SHIFT)).astype(np.int32)
