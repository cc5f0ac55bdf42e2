"""A thin bar, rope or rung: a line with a width that moves until both its sides lie on edges.

In: a still and a rough line with a width, in its pixels. Out: a snug line and width, or nothing where no pair of edges is near.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.course import Point
from annotator.marks.crops import Floats, Picture

_LEAST_TURNED = 3.0
_LEAST_SEEN = 0.6


def snug_line(image: Picture, line: Sequence[Point], width: float) -> tuple[tuple[Point, ...], float] | None:
    """Move each segment of a line, and change its width, until both its sides lie on edges; None where they are not near."""
    lab = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2LAB), np.float32)
    points = np.asarray(line, np.float64)
    closed = len(points) > 3 and bool((points[0] == points[-1]).all())
    moves: list[list[Floats]] = [[] for _ in points]
    widths: list[float] = []
    found_px = whole_px = 0.0
    for index, (here, there) in enumerate(pairwise(points)):
        length = float(np.hypot(*(there - here)))
        if length < 1:
            continue
        whole_px += length
        normal = np.array([here[1] - there[1], there[0] - here[0]]) / length
        # A short piece shows where it lies but not how it is turned: one look at all of it instead of one at each half.
        halves = ((0.05, 0.5), (0.5, 0.95)) if length >= _LEAST_TURNED * width else ((0.05, 0.95),)
        sides = [_sides(lab, here, there, normal, width, half) for half in halves]
        seen = [each for each in sides if each is not None]
        if len(seen) < len(sides):
            continue
        found_px += length
        offsets = [(left + right) / 2 for left, right in seen]
        slope = (offsets[-1] - offsets[0]) / 0.45
        moves[index].append((offsets[0] - 0.275 * slope) * normal)
        moves[index + 1].append((offsets[-1] + 0.275 * slope) * normal)
        widths += [right - left for left, right in seen]
    if closed:
        moves[0] = moves[-1] = [*moves[0], *moves[-1]]
    if not widths or found_px < _LEAST_SEEN * whole_px:
        return None
    snug_width = float(np.median(widths))
    moved = np.array([point + (np.mean(steps, axis=0) if steps else 0) for point, steps in zip(points, moves, strict=True)])
    if not 0.4 * width <= snug_width <= 2.5 * width or np.hypot(*(moved - points).T).max() > max(1.5 * width, 4.0):
        return None
    return tuple((float(x), float(y)) for x, y in moved), snug_width


def _sides(
    lab: NDArray[np.float32], here: Floats, there: Floats, normal: Floats, width: float, half: tuple[float, float]
) -> tuple[float, float] | None:
    """Where the two sides of a bar lie across one half of a segment: the pair of edges that is steepest and near what was drawn."""
    reach = max(1.6 * width, 6.0)
    step = 0.25
    across = np.arange(-reach, reach + step, step)
    count = max(8, min(200, int(np.hypot(*(there - here)) * (half[1] - half[0]))))
    along = np.linspace(*half, count)
    centres = here + along[:, None] * (there - here)
    places = centres[:, None, :] + across[None, :, None] * normal - 0.5
    columns, rows = (places[..., axis].astype(np.float32) for axis in (0, 1))
    seen = np.asarray(cv2.remap(lab, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    profile = np.median(seen, axis=0)
    smooth = cv2.GaussianBlur(profile.reshape(1, -1, 3), (0, 0), 0.8 / step).reshape(-1, 3)
    steep = np.sqrt((np.gradient(smooth, step, axis=0) ** 2).sum(axis=1))
    if steep.max() < 1.0:
        return None
    pairs = across[None, :] - across[:, None]
    middle = (across[None, :] + across[:, None]) / 2
    likely = np.exp(-0.5 * (np.log(np.maximum(pairs, 1e-3) / width) / 0.5) ** 2 - 0.5 * (middle / max(0.6 * width, 2.5)) ** 2)
    score = np.sqrt(steep[:, None] * steep[None, :]) * likely
    score[pairs < max(1.0, 0.3 * width)] = 0
    left, right = np.unravel_index(int(np.argmax(score)), score.shape)
    if score[left, right] <= 0:
        return None
    first, second = _summit(steep, int(left)), _summit(steep, int(right))
    return (float(across[0] + step * first), float(across[0] + step * second)) if second > first else None


def _summit(heights: Floats, at: int) -> float:
    """The top of the hill that a place lies on, between samples."""
    while 0 < at < len(heights) - 1 and max(heights[at - 1], heights[at + 1]) > heights[at]:
        at += 1 if heights[at + 1] > heights[at - 1] else -1
    if not 0 < at < len(heights) - 1:
        return float(at)
    left, top, right = heights[at - 1 : at + 2]
    bend = left - 2 * top + right
    return at if bend == 0 else float(at + 0.5 * (left - right) / bend)
