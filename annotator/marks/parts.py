"""The top or the sides of a box-like thing, within its outline: parted along the edge that runs across it from left to right.

In: a still, the outline of the whole thing, and which part. Out: the part's outline, or nothing where no such edge is to be seen. Offered,
never put in unasked.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon, box
from shapely.ops import split

from annotator.course import Point, Ring
from annotator.marks.crops import Floats, Picture
from annotator.marks.outlines import polygon_list, polygons_of

Part = Literal["top", "sides"]
_NAMES: dict[str, Part] = {"top": "top", "tops": "top", "side": "sides", "sides": "sides", "front": "sides", "fronts": "sides"}
_LONG_SIDE_PX = 240
_MARGIN = 0.1
"""Of the height at each place: nearer to its outline the edge is the outline's own."""
_TURN_COST = 0.1
_LEAST_STEP = 8.0
_LEAST_EVEN = 0.55
"""Both chosen on the demo's stills."""
_BESIDE = 0.12
_LEAST_SHARE = 0.06


def part_named(part: str) -> Part | None:
    """Which of the parts that can be told apart words mean: `tops`, `the sides`."""
    words = part.casefold().split()
    return _NAMES.get(words[-1]) if words else None


def part_of(image: Picture, outline: Sequence[Point], part: Part) -> Ring | None:
    """The part of a thing; None where no edge parts it.

    The edge is the path from the left to the right end of the outline that crosses the steepest change from above to below.
    """
    whole: Polygon = max(polygon_list(polygons_of(Polygon(outline).buffer(0))), key=lambda one: one.area, default=Polygon())
    if whole.is_empty:
        return None
    x0, y0, x1, y1 = (round(side) for side in whole.intersection(box(0, 0, image.shape[1], image.shape[0])).bounds)
    if x1 - x0 < 8 or y1 - y0 < 8:
        return None
    scale = min(1.0, _LONG_SIDE_PX / max(x1 - x0, y1 - y0))
    size = (max(8, round((x1 - x0) * scale)), max(8, round((y1 - y0) * scale)))
    cut = cv2.resize(image[y0:y1, x0:x1], size, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(cv2.GaussianBlur(cut, (0, 0), 1.0), cv2.COLOR_RGB2LAB).astype(np.float32)
    ratio = np.array([size[0] / (x1 - x0), size[1] / (y1 - y0)])
    inside = np.zeros((size[1], size[0]), np.uint8)
    ring = (np.asarray(whole.exterior.coords) - [x0, y0]) * ratio
    cv2.fillPoly(inside, [np.rint((ring - 0.5) * 16).astype(np.int32)], 1, shift=4)
    rows = _edge(lab, inside > 0)
    if rows is None:
        return None
    columns = np.arange(len(rows)) + 0.5
    line = np.column_stack([columns, rows + 0.5]) / ratio + [x0, y0]
    line = np.vstack([[x0 - 5, line[0, 1]], line, [x1 + 5, line[-1, 1]]])
    pieces = [one for one in split(whole, LineString(line).simplify(0.7)).geoms if isinstance(one, Polygon)]
    if len(pieces) < 2:
        return None
    middle = np.interp([one.representative_point().x for one in pieces], line[:, 0], line[:, 1])
    above = [one.representative_point().y < y for one, y in zip(pieces, middle, strict=True)]
    wanted = [one for one, over in zip(pieces, above, strict=True) if over == (part == "top")]
    found = max(wanted, key=lambda one: one.area, default=None)
    if found is None or not _LEAST_SHARE <= found.area / whole.area <= 1 - _LEAST_SHARE:
        return None
    return tuple((float(x), float(y)) for x, y in found.exterior.coords[:-1])


def _edge(lab: NDArray[np.float32], inside: NDArray[np.bool_]) -> Floats | None:
    """The row of the parting edge in each column; None where what lies above and below it is alike."""
    height, width = inside.shape
    step = max(2, round(_BESIDE * height / 2))
    # What is above a place less what is below it, over some pixels each: texture has finer steps.
    above = cv2.boxFilter(lab, -1, (5, step), anchor=(2, step - 1), borderType=cv2.BORDER_REPLICATE)
    below = cv2.boxFilter(lab, -1, (5, step), anchor=(2, 0), borderType=cv2.BORDER_REPLICATE)
    change = np.linalg.norm(np.roll(above, 1, axis=0) - below, axis=2)
    filled_columns = inside.any(axis=0)
    top = np.where(filled_columns, inside.argmax(axis=0), 0)
    bottom = np.where(filled_columns, height - 1 - inside[::-1].argmax(axis=0), height - 1)
    room = _MARGIN * (bottom - top) + 1.5
    rows = np.arange(height)[:, None]
    change[(rows < top + room) | (rows > bottom - room)] = 0
    tall = (bottom - top) > 0.3 * height
    gain = np.where(tall, change / max(float(np.percentile(change[:, tall], 95)) if tall.any() else 1.0, 1e-6), 0)
    path = _path(np.minimum(gain, 1.5))
    on_path = change[path, np.arange(width)][tall]
    if not len(on_path):
        return None
    middling, weak = np.percentile(on_path, [50, 20])
    # It runs all the way across: what is steep in places only is something that lies on the thing.
    return np.asarray(path, np.float64) if middling >= _LEAST_STEP and weak >= _LEAST_EVEN * middling else None


def _path(gain: Floats) -> NDArray[np.intp]:
    """The row of each column on the path of most gain from left to right; steeper than two rows a column it does not go."""
    height, width = gain.shape
    total = gain[:, 0].copy()
    came = np.zeros((height, width), np.intp)
    for column in range(1, width):
        options = np.full((5, height), -np.inf)
        for at, by in enumerate(range(-2, 3)):
            cost = _TURN_COST * abs(by)
            if by < 0:
                options[at, -by:] = total[:by] - cost
            elif by > 0:
                options[at, :-by] = total[by:] - cost
            else:
                options[at] = total
        choice = options.argmax(axis=0)
        came[:, column] = np.arange(height) + choice - 2
        total = options[choice, np.arange(height)] + gain[:, column]
    rows = np.zeros(width, np.intp)
    rows[-1] = int(total.argmax())
    for column in range(width - 1, 0, -1):
        rows[column - 1] = came[rows[column], column]
    return rows
