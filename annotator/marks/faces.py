"""Find faces in a still and blur them beyond recognition.

In: (H, W, 3) uint8 RGB, upright. Out: boxes, or a new picture. A detector misses some: a person looks at each still before it is published.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import onnxruntime
from numpy.typing import NDArray

from annotator.errors import MissingWeights
from annotator.marks.planes import Planes

Picture = NDArray[np.uint8]
Box = tuple[float, float, float, float]

WEIGHTS = Path(__file__).parent / "weights" / "centerface.onnx"
LONG_SIDE_PX = 1280
LARGER_SIDE_PX = 2560
LEAST_SCALE = 0.6
"""A large picture is searched at this scale at least, up to `LARGER_SIDE_PX`, so that a face of 24 pixels keeps 14."""
LEAST_SCORE = 0.3
MOST_OVERLAP = 0.3
GROW = 0.3
"""A face's box is grown by this share of its size to every side before it is blurred: ears and hair tell who it is, too."""

_STRIDE = 32
_CELL = 4
_CELLS_ACROSS = 6


def find_faces(image: Picture, *, turned: bool = True, least_score: float = LEAST_SCORE) -> tuple[Box, ...]:
    """Boxes around the faces in a picture, the surest first.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        Any size; searched with its longer side at most `LONG_SIDE_PX`, a larger one at `LEAST_SCALE`. Faces under about 10 pixels there
        are missed.
    turned : bool
        Also search the picture turned by a quarter, half and three quarters: people hang and flip on obstacles. Four times the work.
    least_score : float
        0 to 1; lower finds more faces and more that are none.

    Returns
    -------
    tuple of (x0, y0, x1, y1)
        Pixels of the picture, inside it.

    Raises
    ------
    MissingWeights
        The weights are not beside this module.

    References
    ----------
    Xu, Yan, Yang, Luo, "CenterFace", arXiv 1911.03599 (2019).
    """
    height, width = image.shape[:2]
    if min(height, width) < 2:
        return ()
    found = [_detect(image, least_score)]
    if turned:
        for quarters in (1, 2, 3):
            boxes = _detect(np.ascontiguousarray(np.rot90(image, quarters)), least_score)
            found.append(_turned_back(boxes, quarters, width, height))
    kept = _strongest(np.vstack(found))
    return tuple((float(x0), float(y0), float(x1), float(y1)) for x0, y0, x1, y1, _ in kept)


def blur(image: Picture, boxes: Iterable[Box]) -> Picture:
    """A copy of the picture in which each box, grown by `GROW`, is a few blurred cells.

    What was there cannot be computed back: each cell is one mean of many pixels. Boxes may reach past the picture.

    >>> picture = np.arange(48 * 48 * 3, dtype=np.uint8).reshape(48, 48, 3)
    >>> hidden = blur(picture, [(16, 16, 32, 32)])
    >>> bool((hidden[:8] == picture[:8]).all()), bool((hidden[16:32, 16:32] == picture[16:32, 16:32]).all())
    (True, False)
    """
    hidden = image.copy()
    height, width = image.shape[:2]
    for left, top, right, bottom in _grown(boxes, width, height):
        cell = _cell(right - left, bottom - top)
        hidden[top:bottom, left:right] = _coarse(image[top:bottom, left:right], cell, _cells(right - left, bottom - top, cell))
    return hidden


def blur_planes(picture: Planes, boxes: Iterable[Box]) -> None:
    """As `blur`, on a film's picture, in place: light and colour are as many cells."""
    width, height = picture.size
    for left, top, right, bottom in _grown(boxes, width, height):
        x0, y0, x1, y1 = left // 2 * 2, top // 2 * 2, -(-right // 2) * 2, -(-bottom // 2) * 2
        cell = _cell(x1 - x0, y1 - y0)
        for plane, share in picture.each():
            part = plane[y0 // share : y1 // share, x0 // share : x1 // share]
            part[:] = _coarse(part, cell / share, _cells(x1 - x0, y1 - y0, cell))


def _grown(boxes: Iterable[Box], width: int, height: int) -> Iterator[tuple[int, int, int, int]]:
    """The boxes grown by `GROW`, as far as they are in the picture: left, top, right, bottom."""
    for x0, y0, x1, y1 in boxes:
        grow_x, grow_y = GROW * (x1 - x0), GROW * (y1 - y0)
        left, right = max(0, int(np.floor(x0 - grow_x))), min(width, int(np.ceil(x1 + grow_x)))
        top, bottom = max(0, int(np.floor(y0 - grow_y))), min(height, int(np.ceil(y1 + grow_y)))
        if right > left and bottom > top:
            yield left, top, right, bottom


def _cell(width: int, height: int) -> int:
    return max(_CELL, -(-max(width, height) // _CELLS_ACROSS))


def _cells(width: int, height: int, cell: int) -> tuple[int, int]:
    return max(1, width // cell), max(1, height // cell)


def _coarse(part: Picture, cell: float, cells: tuple[int, int]) -> Picture:
    """The part as a few blurred cells."""
    coarse = cv2.resize(part, cells, interpolation=cv2.INTER_AREA)
    blocks = cv2.resize(coarse, (part.shape[1], part.shape[0]), interpolation=cv2.INTER_NEAREST)
    return np.asarray(cv2.GaussianBlur(blocks, (0, 0), cell / 2.5), dtype=np.uint8)


def _detect(image: Picture, least_score: float) -> NDArray[np.float64]:
    """(N, 5) rows x0, y0, x1, y1, score of one pass, unfiltered by overlap."""
    height, width = image.shape[:2]
    longer = max(height, width)
    scale = min(1.0, max(LONG_SIDE_PX / longer, min(LEAST_SCALE, LARGER_SIDE_PX / longer)))
    small = (
        image
        if scale == 1.0
        else cv2.resize(image, (max(1, round(width * scale)), max(1, round(height * scale))), interpolation=cv2.INTER_AREA)
    )
    padded = np.zeros((-(-small.shape[0] // _STRIDE) * _STRIDE, -(-small.shape[1] // _STRIDE) * _STRIDE, 3), np.float32)
    padded[: small.shape[0], : small.shape[1]] = small
    session = _session()
    outputs = session.run(None, {session.get_inputs()[0].name: padded.transpose(2, 0, 1)[None]})
    heat, sizes, offsets = outputs[0][0, 0], outputs[1][0], outputs[2][0]
    rows, columns = np.nonzero(heat > least_score)
    tall, wide = (np.exp(sizes[axis, rows, columns].astype(np.float64)) * _CELL for axis in (0, 1))
    y = (rows + offsets[0, rows, columns] + 0.5) * _CELL
    x = (columns + offsets[1, rows, columns] + 0.5) * _CELL
    boxes = np.stack([x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2], axis=1) / scale
    boxes[:, 0::2] = boxes[:, 0::2].clip(0, width)
    boxes[:, 1::2] = boxes[:, 1::2].clip(0, height)
    real = (boxes[:, 2] > boxes[:, 0]) & (boxes[:, 3] > boxes[:, 1])
    rows_with_score: NDArray[np.float64] = np.column_stack([boxes, heat[rows, columns]])[real]
    return rows_with_score


def _turned_back(boxes: NDArray[np.float64], quarters: int, width: int, height: int) -> NDArray[np.float64]:
    """Boxes found on `np.rot90(image, quarters)` in coordinates of the image itself."""
    x0, y0, x1, y1 = boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]
    back = {
        1: (width - y1, x0, width - y0, x1),
        2: (width - x1, height - y1, width - x0, height - y0),
        3: (y0, height - x1, y1, height - x0),
    }[quarters]
    return np.column_stack([*back, boxes[:, 4]])


def _strongest(boxes: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Of boxes that overlap, the one with the best score."""
    kept: list[NDArray[np.float64]] = []
    for one in boxes[np.argsort(-boxes[:, 4], kind="stable")]:
        if all(_overlap(one, other) < MOST_OVERLAP for other in kept):
            kept.append(one)
    return kept


def _overlap(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    across = max(0.0, min(one[2], other[2]) - max(one[0], other[0]))
    down = max(0.0, min(one[3], other[3]) - max(one[1], other[1]))
    both = (one[2] - one[0]) * (one[3] - one[1]) + (other[2] - other[0]) * (other[3] - other[1]) - across * down
    return float(across * down / both)


@lru_cache(maxsize=1)
def _session() -> Any:
    if not WEIGHTS.is_file():
        raise MissingWeights("finding faces", [f"{WEIGHTS.name} beside the program"])
    options = onnxruntime.SessionOptions()
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(str(WEIGHTS), options, providers=["CPUExecutionProvider"])
