"""How a person draws a thing whose mask is known: thin pieces along their middle, everything else around, a place every few pixels.

In: masks of truths.py. Out: strokes in pixels of the still, without the hand's error. Used by actions.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.graph import MCP
from skimage.morphology import skeletonize

from scripts.bench.truths import Mask, pieces

THIN_PX = 9.0
STEP_PX = 10.0
LEAST_PX = 60
CRUMB = 0.05
"""Of a surface: what is smaller is not drawn."""


@dataclass(frozen=True, eq=False)
class Stroke:
    """One drag: the pixels that it is for, whether with the bar, and where it goes."""

    mask: Mask
    thin: bool
    spots: NDArray[np.float64]


def strokes(truth: Mask) -> list[Stroke]:
    """How a person draws a surface: thin pieces along their middle, each branch once, others around; crumbs are left."""
    found = []
    for piece in pieces(truth, max(LEAST_PX, int(CRUMB * truth.sum()))):
        middle, size, turn = cv2.minAreaRect(np.argwhere(piece)[:, ::-1].astype(np.float32))
        if min(size) + 1 <= THIN_PX and max(size) > 3 * min(size):
            found.append(Stroke(piece, True, ends(middle, size, turn)))
        elif piece.sum() <= THIN_PX * skeletonize(piece).sum() and not enclosing(piece):  # type: ignore[no-untyped-call]
            found += branches(piece, int(CRUMB * truth.sum()))
        else:
            found.append(Stroke(piece, False, outline(piece)))
    return sorted(found, key=lambda each: -int(each.mask.sum()))


def branches(piece: Mask, crumb_px: int) -> Iterator[Stroke]:
    """A thin thing as the longest way through it, then the longest through what is left."""
    spots = along(piece)
    path = np.zeros(piece.shape, np.uint8)
    cv2.polylines(path, [np.rint(spots - 0.5).astype(np.int32)], False, 1, int(THIN_PX) + 2)
    covered = piece & (path > 0)
    yield Stroke(covered, True, spots)
    for rest in pieces(piece & ~covered, max(LEAST_PX, crumb_px)):
        yield from branches(rest, crumb_px)


def enclosing(piece: Mask) -> bool:
    """Whether it runs around something."""
    count, _ = cv2.connectedComponents(np.pad((~piece).astype(np.uint8), 1, constant_values=1))
    return bool(count > 2)


def along(piece: Mask) -> NDArray[np.float64]:
    """The longest way through a thin thing, along its middle, with a place every few pixels."""
    bones = skeletonize(piece)  # type: ignore[no-untyped-call]
    spots = np.argwhere(bones)
    cost = np.where(bones, 1.0, np.inf)
    end = tuple(spots[0])
    way: list[tuple[int, int]] = []
    for _ in range(2):  # the farthest from anywhere is one end, the farthest from there the other
        search = MCP(cost, fully_connected=True)
        far, _ = search.find_costs([end])
        far[~np.isfinite(far)] = -1
        other = np.unravel_index(int(far.argmax()), far.shape)
        way = search.traceback(other)
        end = (int(other[0]), int(other[1]))
    line = np.array(way, np.float64)[:, ::-1] + 0.5
    return np.vstack([line[:: int(STEP_PX)], line[-1:]])


def ends(middle: Any, size: Any, turn: float) -> NDArray[np.float64]:
    along = math.radians(turn if size[0] >= size[1] else turn + 90)
    half = np.array([math.cos(along), math.sin(along)]) * (max(size) + 1) / 2
    centre = np.array(middle) + 0.5
    return np.array([centre - half, centre, centre + half])


def outline(piece: Mask) -> NDArray[np.float64]:
    """The outer outline with a place every few pixels."""
    contours, _ = cv2.findContours(piece.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    line = max(contours, key=len)[:, 0].astype(np.float64) + 0.5
    corners = cv2.approxPolyDP(line.astype(np.float32), 1.5, True)[:, 0].astype(np.float64)
    spots: list[NDArray[np.float64]] = []
    for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        count = max(1, int(np.hypot(*(other - one)) / STEP_PX))
        spots += [one + (other - one) * at / count for at in range(count)]
    return np.array(spots)
