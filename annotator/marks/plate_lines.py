"""What plates and their lines cost each other: plates that overlap, lines under plates, lines that cross. Many places at once.

A rectangle is (x0, y0, x1, y1), a line (x0, y0, x1, y1) from its plate to its mark; no line is a row of NaN, which meets nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

COVERS = 100_000.0
"""A plate is covered by another; nothing else costs as much."""
LINE_UNDER_PLATE = 300.0
LINES_CROSS = 250.0
_NO_WAY = 1e-300
"""Stands for a way of nothing, so that what lies between two sides is there from the beginning to the end."""


def cost_of_covering(plates: Numbers, others: Numbers, air_px: float) -> Numbers:
    """What it costs that each of some plates (N, 4) covers each of some others (M, 4), or comes nearer than the air: (N, M)."""
    x0, y0, x1, y1 = plates.T[:, :, None]
    across = np.minimum(x1 + air_px, others[:, 2]) - np.maximum(x0 - air_px, others[:, 0])
    down = np.minimum(y1 + air_px, others[:, 3]) - np.maximum(y0 - air_px, others[:, 1])
    shared = np.maximum(across, 0.0) * np.maximum(down, 0.0)
    cost: Numbers = COVERS * (shared > 0) + 10 * COVERS * shared / ((x1 - x0) * (y1 - y0))
    return cost


def cost_of_lines(plates: Numbers, lines: Numbers, others: Numbers, their_lines: Numbers) -> Numbers:
    """What it costs that lines of plates and of others run under plates, or cross: (N, M)."""
    cost = np.zeros((len(plates), len(others)))
    led, theirs = not np.isnan(lines[:, 0]).all(), not np.isnan(their_lines[:, 0]).all()
    if theirs:
        cost += LINE_UNDER_PLATE * segments_meet_boxes(their_lines, plates[:, None])
    if led:
        cost += LINE_UNDER_PLATE * segments_meet_boxes(lines[:, None], others)
    if led and theirs:
        cost += LINES_CROSS * segments_meet(lines[:, None], their_lines)
    return cost


def segments_meet(one: Numbers, other: Numbers) -> NDArray[np.bool_]:
    """Whether segments (..., 4) cross or touch, by the sides on which their ends lie; two along one line do not count."""
    a, b = _sides(other, one)
    c, d = _sides(one, other)
    along = (a == 0) & (b == 0) & (c == 0) & (d == 0)
    met: NDArray[np.bool_] = (a * b <= 0) & (c * d <= 0) & ~along
    return met


def _sides(line: Numbers, of: Numbers) -> tuple[Numbers, Numbers]:
    """On which side of a line's way the two ends of another one lie, by the sign."""
    x, y = line[..., 0], line[..., 1]
    across, down = line[..., 2] - x, line[..., 3] - y
    return across * (of[..., 1] - y) - down * (of[..., 0] - x), across * (of[..., 3] - y) - down * (of[..., 2] - x)


def segments_meet_boxes(lines: Numbers, boxes: Numbers) -> NDArray[np.bool_]:
    """Whether segments (..., 4) touch rectangles (..., 4), by the span of each that lies between their sides.

    References
    ----------
    Kay and Kajiya, "Ray tracing complex scenes", SIGGRAPH 1986 (slabs).
    """
    from_ = lines[..., :2]
    way = lines[..., 2:] - from_
    way = np.where(way == 0, _NO_WAY, way)
    one, other = (boxes[..., :2] - from_) / way, (boxes[..., 2:] - from_) / way
    low, high = np.minimum(one, other), np.maximum(one, other)
    enter, leave = np.maximum(low[..., 0], low[..., 1]), np.minimum(high[..., 0], high[..., 1])
    met: NDArray[np.bool_] = (enter <= leave) & (enter <= 1.0) & (leave >= 0.0)
    return met
