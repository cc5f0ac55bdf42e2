"""What it costs to put a plate somewhere on a still, for every place of a grid at once.

A place is dear where the plate would hide something (a marked edge, most of its own mark) or tell of the wrong thing (it stands on another
mark, or nearer to one than to its own), and cheap near its mark. All of it is in screen pixels of way: how much farther a plate may stand
to avoid it. What plates cost each other is plate_lines.py.
"""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.marks.covering import Floats, Grid, Window, drawn_area, drawn_edges
from annotator.marks.outlines import Area, polygon_list
from annotator.marks.plate_lines import Numbers
from annotator.recent import Recent

_CELL = 3.0
"""Screen pixels of the cells that are looked at."""
_MOST_CELLS = 300
"""Along the longer side of a still: where a screen pixel is little of it, the cells are larger."""
MARGIN = 2.0
"""Screen pixels between plates, and to the still's edge."""
_GAP = 9.0
"""Screen pixels between an outline and the plate beside it: half the widest line and some air."""
_AIR = 4.5
"""Screen pixels that a plate keeps from edges: half the widest line, of a start or finish."""
LEADER_FROM = 16.0
"""Screen pixels from its mark from which a plate has a line to it."""
STEM_FROM = 5.0
"""Nearer than this there is no room for a line. Between the two there is one where another mark is clearly nearer."""
_CLEARLY, _AS_NEAR = 0.8, 1.2
"""The share of the way at which another mark is clearly nearer; up to the second one it is about as near."""
_AROUND = 60.0
"""Screen pixels around a mark that are looked at first: a place farther away costs at least what that way does."""

_CROSSES = 5_000.0
"""A marked edge is covered: more than the longest way to a place that covers none."""
_MISLEADS = 3_000.0
"""It stands on another thing than its own."""
_HIDES, _MAY_HIDE = 120.0, 0.3
"""On a mark that is hardly larger than the plate, the plate would hide what it names."""
_LINE_OVER_MARK, _PER_PX_OVER_MARK = 25.0, 0.5
_LED = 40.0
_NEAR_ANOTHER = 15.0
_PER_PX = 1.5
_PER_EDGE_PX = 3.0
FARTHER = _PER_PX * _AROUND + _LED
"""What a place costs at least that is not around the mark."""
_UNTIDY, _TIDY, _OFF_MIDDLE = 4.0, 0.5, 0.02
"""To stand just anywhere; above, below or beside the middle or an end of its mark; on it, for each screen pixel from its middle."""
_BLOCK, _LISTED = (4, 6), 64
"""Rows and columns of cells of which the cheapest one stands for all, and how many such are compared."""
_SAMPLES = np.linspace(0.0, 1.0, 17)[1:-1]


@dataclass(frozen=True)
class Named:
    """What one plate names: parts of a mark that lie near each other, the largest of them, and which of the marks it is."""

    mark: int
    parts: Area
    largest: Polygon


@dataclass(frozen=True)
class Listed:
    """Some places (K): the plate's sides (K, 4), its line (K, 4; NaN where it needs none) and what it costs alone (K)."""

    sides: Numbers
    lines: Numbers
    alone: Numbers


class StillGround:
    """What is marked on a still, in cells."""

    def __init__(self, areas: Sequence[Area], size: tuple[int, int], unit: float, cell_px: float | None = None) -> None:
        self.areas, self.size, self.unit = areas, size, unit
        self.cell = cell_px or max(_CELL * unit, max(size) / _MOST_CELLS)
        self.bounds = shapely.bounds(np.array(areas, dtype=object)).reshape(-1, 4)
        self._grids: dict[bytes, Grid] = {}
        self._others: dict[int, Grid] = {}

    @cached_property
    def drawn(self) -> list[Grid]:
        """Each area."""
        return [self.grid_of(area) for area in self.areas]

    @cached_property
    def edges(self) -> Grid:
        """The edges of all areas."""
        return drawn_edges(self.areas, self.size, self.cell)

    @cached_property
    def _depth(self) -> Grid:
        return np.asarray(np.add.reduce(self.drawn, dtype=np.uint8)) if self.areas else self.edges

    def grid_of(self, area: Area) -> Grid:
        """An area in these cells, drawn once."""
        found = self._grids.get(area.wkb)
        if found is None:
            found = self._grids[area.wkb] = drawn_area(area, self.size, self.cell)
        return found

    @cached_property
    def coarser(self) -> StillGround:
        """The same in cells twice as large."""
        return StillGround(self.areas, self.size, self.unit, 2 * self.cell)

    @cached_property
    def told(self) -> bytes:
        """SHA-256 of all that it was made from; in which order the marks came does not matter."""
        told = hashlib.sha256(repr((self.size, self.unit)).encode())
        for own in sorted(hashlib.sha256(area.wkb).digest() for area in self.areas):
            told.update(own)
        return told.digest()

    def others(self, mark: int) -> Grid:
        """Where other marks lie, but not over this one."""
        found = self._others.get(mark)
        if found is None:
            found = self._others[mark] = np.asarray((self._depth > 0) & (self.drawn[mark] == 0), np.uint8)
        return found


@lru_cache(maxsize=16)
def ground_of(areas: tuple[Area, ...], size: tuple[int, int], unit: float) -> StillGround:
    """What is marked on a still, the same for all languages and divisions in which it is drawn with words of other lengths."""
    return StillGround(areas, size, unit)


class Choice:
    """All places for one plate."""

    def __init__(self, ground: StillGround, named: Named, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._ground, self._named = ground, named

    @cached_property
    def _others(self) -> Grid:
        """Where the other marks lie, but not over this one."""
        return self._ground.others(self._named.mark)

    @cached_property
    def _part(self) -> Grid:
        """The largest part."""
        return self._ground.grid_of(self._named.largest)

    @cached_property
    def _parts(self) -> Grid:
        """All parts."""
        return self._part if len(polygon_list(self._named.parts)) == 1 else self._ground.grid_of(self._named.parts)

    @property
    def near(self) -> Listed:
        """Some places around the mark."""
        around_px = _AROUND * self._ground.unit
        return _listed.get((*self._asked, around_px), lambda: self.listed(around_px))

    @property
    def everywhere(self) -> Listed:
        """Some places of the whole still, looked at more coarsely."""
        return _listed.get((*self._asked, None), lambda: Choice(self._ground.coarser, self._named, self.width, self.height).listed(np.inf))

    @cached_property
    def _asked(self) -> tuple[Hashable, ...]:
        """All that its places depend on, but for how far around the mark they are."""
        return self._ground.told, self._named.parts.wkb, self._named.largest.wkb, self.width, self.height

    def listed(self, around_px: float) -> Listed:
        """The cheapest place of each of some blocks, the cheapest block first."""
        window = self._window(around_px)
        cost = self._cost_alone(window)
        rows, columns = cost.shape
        high, wide = _BLOCK
        padded = np.full((-(-rows // high) * high, -(-columns // wide) * wide), np.inf, np.float32)
        padded[:rows, :columns] = cost
        blocks = padded.reshape(padded.shape[0] // high, high, -1, wide).swapaxes(1, 2)
        flat = blocks.reshape(-1, high * wide)
        order = np.argsort(flat.min(axis=1), kind="stable")[:_LISTED]
        (row, column), inner = np.divmod(order, blocks.shape[1]), flat[order].argmin(axis=1)
        row, column = row * high + inner // wide, column * wide + inner % wide
        boxes = self._boxes(column + window.first[0], row + window.first[1])
        lines = self._lines(boxes)
        return Listed(boxes, lines, cost[row, column] + self._over_marks(lines))

    def _boxes(self, columns: NDArray[np.intp], rows: NDArray[np.intp]) -> Numbers:
        """The sides of plates with their corner in these cells."""
        x = np.maximum(0.0, np.minimum(columns * self._ground.cell, self._ground.size[0] - self.width))
        y = np.maximum(0.0, np.minimum(rows * self._ground.cell, self._ground.size[1] - self.height))
        return np.stack([x, y, x + self.width, y + self.height], axis=1)

    def _lines(self, boxes: Numbers) -> Numbers:
        """The lines of plates to their mark, for those that need one."""
        lines = np.full((len(boxes), 4), np.nan)
        plates = np.asarray(shapely.box(*boxes.T))
        shortest = np.asarray(shapely.shortest_line(plates, self._named.parts))
        px = np.asarray(shapely.length(shortest))
        led = px > LEADER_FROM * self._ground.unit
        maybe = np.flatnonzero(~led & (px > STEM_FROM * self._ground.unit))
        if len(maybe):
            led[maybe] = self._nearer(plates[maybe], boxes[maybe], _CLEARLY * px[maybe])
        lines[led] = shapely.get_coordinates(shortest[led]).reshape(-1, 4)
        return lines

    def _nearer(self, plates: NDArray[np.object_], boxes: Numbers, px: Numbers) -> NDArray[np.bool_]:
        """Whether another mark is nearer to each plate than that; it is measured only where the rectangle around the mark is."""
        one, other = boxes[:, None], self._ground.bounds
        away = np.maximum(0.0, np.maximum(other[:, :2] - one[..., 2:], one[..., :2] - other[:, 2:]))
        ask = np.hypot(away[..., 0], away[..., 1]) < px[:, None]
        ask[:, self._named.mark] = False
        at, mark = np.nonzero(ask)
        if len(at):
            ask[at, mark] = shapely.distance(plates[at], np.array(self._ground.areas, dtype=object)[mark]) < px[at]
        return np.asarray(ask.any(axis=1), np.bool_)

    def _over_marks(self, lines: Numbers) -> Numbers:
        """For lines that run over other marks."""
        cost = np.zeros(len(lines))
        led = np.flatnonzero(~np.isnan(lines[:, 0]))
        if len(led):
            from_, to = lines[led, None, :2], lines[led, None, 2:]
            cells = ((from_ + (to - from_) * _SAMPLES[:, None]) / self._ground.cell).astype(np.intp)
            over = self._others[cells[..., 1], cells[..., 0]]
            length = np.linalg.norm(to - from_, axis=2)[:, 0] / self._ground.unit
            cost[led] = _LINE_OVER_MARK * over.any(axis=1) + _PER_PX_OVER_MARK * over.mean(axis=1) * length
        return cost

    def _window(self, around_px: float) -> Window:
        """All places that are not farther than that from the rectangle around the mark."""
        ground, cell = self._ground, self._ground.cell
        bounds, sides = self._named.parts.bounds, (self.width, self.height)
        across, down = (
            _cells_from_to(bounds[axis] - around_px - sides[axis], bounds[axis + 2] + around_px, ground.size[axis] - sides[axis], ground)
            for axis in (0, 1)
        )
        return Window(int(np.ceil(self.width / cell)), int(np.ceil(self.height / cell)), (across[0], down[0]), (across[1], down[1]))

    def _cost_alone(self, window: Window) -> Floats:
        """For what is covered, the way to the mark, and marks that a reader could take for the one that is named."""
        ground = self._ground
        to_px = ground.cell / ground.unit
        cost = _CROSSES * window.touched(ground.edges, int(np.ceil(_AIR / to_px))).astype(np.float32)
        cost += _PER_EDGE_PX * to_px * window.under(ground.edges)
        elsewhere = window.under(self._others) / (window.wide * window.high)
        cost += _MISLEADS * (elsewhere > 0) + 80 * elsewhere
        on_it = window.under(self._part)
        cost += _HIDES * np.maximum(0, on_it / max(float(self._part.sum()), 1.0) - _MAY_HIDE)
        away, near = to_px * window.way(self._parts), to_px * window.way(self._others)
        led = (away > LEADER_FROM) | ((away > STEM_FROM) & (near < _CLEARLY * away))
        cost += _PER_PX * away + _LED * led + _NEAR_ANOTHER * ((near < _AS_NEAR * away) | (led & (near < _GAP)))
        middle = self._named.largest.centroid
        across = (window.first[0] + np.arange(window.shape[1], dtype=np.float32) + window.wide / 2) * ground.cell - middle.x
        down = (window.first[1] + np.arange(window.shape[0], dtype=np.float32) + window.high / 2) * ground.cell - middle.y
        cost += np.where(on_it > 0, _OFF_MIDDLE / ground.unit * np.hypot(across, down[:, None]), np.float32(_UNTIDY))
        cost.ravel()[self._tidy(window)] -= _UNTIDY - _TIDY
        return np.asarray(cost, np.float32)

    def _tidy(self, window: Window) -> NDArray[np.intp]:
        """Places above, below, and beside the mark."""
        x0, y0, x1, y1 = self._named.largest.bounds
        width, height, gap = self.width, self.height, _GAP * self._ground.unit
        across = (x0, (x0 + x1 - width) / 2, x1 - width)
        down = (y0, (y0 + y1 - height) / 2, y1 - height)
        corners = [(x, y0 - gap - height) for x in across] + [(x, y1 + gap) for x in across]
        corners += [(x1 + gap, y) for y in down] + [(x0 - gap - width, y) for y in down]
        corners += [(x, y) for x in (x0 - gap - width, x1 + gap) for y in (y0 - gap - height, y1 + gap)]
        rows, columns = window.shape
        cells = np.rint(np.array(corners) / self._ground.cell).astype(np.intp) - np.array(window.first)
        cells = np.clip(cells, 0, np.array([columns - 1, rows - 1]))
        return np.asarray(cells[:, 1] * columns + cells[:, 0], np.intp)


_listed: Recent[Listed] = Recent(4096)
"""The places of plates, by all that they depend on, but not what they were worked out from, which is larger: twenty stations in five
languages, for screens and paper, in some 25 MB. The divisions of a station mostly have the same things with the same words, and so has a
station of which one rule changed: each of those has the same places.
"""


def _cells_from_to(low: float, high: float, room: float, ground: StillGround) -> tuple[int, int]:
    """The first cell of a corner between two places along one side, and the one after the last, with a margin to the still's edges."""
    last = int((room - MARGIN * ground.unit) / ground.cell)
    if last < 1:
        return 0, 1
    first = int(np.clip(np.floor(low / ground.cell) if np.isfinite(low) else 1, 1, last))
    end = int(np.clip(np.ceil(high / ground.cell) if np.isfinite(high) else last, first, last))
    return first, end + 1
