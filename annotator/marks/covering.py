"""What a rectangle would lie on, for every place of a grid over a still at once: edges, areas, and how far it is to them.

A still is looked at in cells. Marks are drawn once into small grids; what holds for a rectangle of a given size whose upper left corner
stands in a cell is then one look at a grid that was widened by the rectangle. Pure.

References
----------
de Berg et al., "Computational Geometry", 3rd edition, 13.3: a rectangle meets a shape where its corner lies in their Minkowski sum.
Borgefors, "Distance transformations in digital images", CVGIP 1986.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from annotator.marks.outlines import Area, polygon_list

Floats = NDArray[np.float32]
Grid = NDArray[np.uint8]
FAR = 1e6
_SHIFT = 4  # corners are drawn to a sixteenth of a cell


@dataclass(frozen=True)
class Window:
    """A rectangle of `wide` x `high` cells with its corner in each of the cells from `first` up to `end`, both (x, y)."""

    wide: int
    high: int
    first: tuple[int, int]
    end: tuple[int, int]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of what is told of it."""
        return self.end[1] - self.first[1], self.end[0] - self.first[0]

    def touched(self, grid: Grid, air: int = 0) -> NDArray[np.bool_]:
        """Where it would lie on a drawn cell, or nearer than `air` cells to one."""
        return np.asarray(self._cut(self._widened(grid, air)) > 0, np.bool_)

    def under(self, grid: Grid) -> Floats:
        """How many drawn cells would lie under it."""
        sums = cv2.boxFilter(grid, cv2.CV_32F, (self.wide, self.high), anchor=(0, 0), normalize=False, borderType=cv2.BORDER_CONSTANT)
        return np.asarray(self._cut(sums), np.float32)

    def way(self, grid: Grid) -> Floats:
        """How many cells from its edge to the nearest drawn one, to 2 %; 0 where it lies on one, `FAR` where there is none."""
        if not grid.any():
            return np.full(self.shape, FAR, np.float32)
        found = cv2.distanceTransform(1 - self._widened(grid), cv2.DIST_L2, cv2.DIST_MASK_5)
        return np.asarray(self._cut(found), np.float32)

    def _widened(self, grid: Grid, air: int = 0) -> Grid:
        kernel = np.ones((self.high + 2 * air, self.wide + 2 * air), np.uint8)
        return np.asarray(cv2.dilate(grid, kernel, anchor=(air, air)), np.uint8)

    def _cut(self, found: NDArray[Any]) -> NDArray[Any]:
        return found[self.first[1] : self.end[1], self.first[0] : self.end[0]]


def drawn_area(area: Area, size: tuple[int, int], cell_px: float) -> Grid:
    """An area inside a still of that size, as a grid of cells that are 1 where it lies."""
    grid = empty(size, cell_px)
    for part in polygon_list(area):
        rings = [_cells(ring.coords, cell_px) for ring in (part.exterior, *part.interiors)]
        one = np.zeros_like(grid) if len(rings) > 1 else grid
        cv2.fillPoly(one, rings, 1, cv2.LINE_8, _SHIFT)
        grid |= one
    return grid


def drawn_edges(areas: Sequence[Area], size: tuple[int, int], cell_px: float) -> Grid:
    """The edges of areas, as a grid of cells that are 1 where one runs through."""
    rings = [ring for area in areas for part in polygon_list(area) for ring in (part.exterior, *part.interiors)]
    grid = empty(size, cell_px)
    cv2.polylines(grid, [_cells(ring.coords, cell_px) for ring in rings], True, 1, 1, cv2.LINE_8, _SHIFT)
    return grid


def empty(size: tuple[int, int], cell_px: float) -> Grid:
    """A grid over a still of that size with nothing on it."""
    return np.zeros((int(np.ceil(size[1] / cell_px)) + 1, int(np.ceil(size[0] / cell_px)) + 1), np.uint8)


def _cells(coords: shapely.coords.CoordinateSequence, cell_px: float) -> NDArray[np.int32]:
    """Corners in sixteenths of a cell, counted from the middle of the first one, as OpenCV draws."""
    corners = np.asarray(coords, np.float64)[:, :2] / cell_px - 0.5
    return np.rint(corners * (1 << _SHIFT)).astype(np.int32)
