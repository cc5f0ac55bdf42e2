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


def cost_of_covering(plates: Numbers, others: Numbers, air_px: float) -> Numbers:
    """What it costs that each of some plates (N, 4) covers each of some others (M, 4), or comes nearer than the air: (N, M)."""
    low, high = plates[:, None, :2] - air_px, plates[:, None, 2:] + air_px
    shared = np.maximum(np.minimum(high, others[:, 2:]) - np.maximum(low, others[:, :2]), 0.0).prod(axis=2)
    cost: Numbers = COVERS * ((shared > 0) + 10 * shared / (plates[:, 2:] - plates[:, :2]).prod(axis=1)[:, None])
    return cost


def cost_of_lines(plates: Numbers, lines: Numbers, others: Numbers, their_lines: Numbers) -> Numbers:
    """What it costs that lines of plates and of others run under plates, or cross: (N, M)."""
    cost = np.zeros((len(plates), len(others)))
    led, theirs = np.flatnonzero(~np.isnan(lines[:, 0])), np.flatnonzero(~np.isnan(their_lines[:, 0]))
    if len(theirs):
        cost[:, theirs] += LINE_UNDER_PLATE * segments_meet_boxes(their_lines[theirs], plates[:, None])
    if len(led):
        cost[led] += LINE_UNDER_PLATE * segments_meet_boxes(lines[led, None], others)
        if len(theirs):
            cost[np.ix_(led, theirs)] += LINES_CROSS * segments_meet(lines[led, None], their_lines[theirs])
    return cost


def segments_meet(one: Numbers, other: Numbers) -> NDArray[np.bool_]:
    """Whether segments (..., 4) cross or touch, by the sides on which their ends lie; two along one line do not count."""

    def side(line: Numbers, x: Numbers, y: Numbers) -> Numbers:
        found: Numbers = (line[..., 2] - line[..., 0]) * (y - line[..., 1]) - (line[..., 3] - line[..., 1]) * (x - line[..., 0])
        return found

    one_ends = side(other, one[..., 0], one[..., 1]), side(other, one[..., 2], one[..., 3])
    other_ends = side(one, other[..., 0], other[..., 1]), side(one, other[..., 2], other[..., 3])
    along = np.logical_and.reduce([end == 0 for end in (*one_ends, *other_ends)])
    met: NDArray[np.bool_] = (one_ends[0] * one_ends[1] <= 0) & (other_ends[0] * other_ends[1] <= 0) & ~along
    return met


def segments_meet_boxes(lines: Numbers, boxes: Numbers) -> NDArray[np.bool_]:
    """Whether segments (..., 4) touch rectangles (..., 4), by the span of each that lies between their sides.

    References
    ----------
    Kay and Kajiya, "Ray tracing complex scenes", SIGGRAPH 1986 (slabs).
    """
    from_, way = lines[..., :2], lines[..., 2:] - lines[..., :2]
    with np.errstate(divide="ignore", invalid="ignore"):  # lines along a side, and those that are none
        ends = (boxes[..., :2] - from_) / way, (boxes[..., 2:] - from_) / way
    along = way == 0
    inside = (from_ >= boxes[..., :2]) & (from_ <= boxes[..., 2:])
    enter = np.where(along, np.where(inside, -np.inf, np.inf), np.minimum(*ends))
    leave = np.where(along, np.where(inside, np.inf, -np.inf), np.maximum(*ends))
    met: NDArray[np.bool_] = np.maximum(enter.max(axis=-1), 0.0) <= np.minimum(leave.min(axis=-1), 1.0)
    return met
