"""The other pieces of a thing of which there are several: five rungs, ten straps, a row of steps, found from one that was marked.

In: a still, and one piece as a snug outline or a snug line with a width. Out: the other pieces, each drawn snug. A piece looks like the
first where its colours are those of the first and not of what lies beside it, inside the first's shape and not around it; and where it can
be drawn snug and has about the first's size. Offered, never put in unasked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.affinity import scale as scaled
from shapely.affinity import translate
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from annotator.course import Mark, Point, Ring
from annotator.errors import InvalidMark
from annotator.marks.bars import snug_line
from annotator.marks.crops import Floats, Mask, Picture, filled
from annotator.marks.outlines import Area, area, polygon_list, polygons_of
from annotator.marks.snap import Snapped, snap

MOST = 24
_SCALES = (1.0, 0.82, 1.22)
_RIM_PX = (1.5, 5.0)
"""What lies beside a thing: from here to there."""
_COLOURS = 4
_LEAST_PEAK = 0.5
"""Of how well the first piece answers to its own description."""
_LEAST_LIKE = 0.6
_SIZES = (0.55, 1.8)
_SAME_SHAPE = 0.7
_OTHER_SIZE = 0.85
_LEAST_OWN = 0.3
_APART = 0.2
"""Of the smaller one: by so much two pieces may overlap."""
_TAKEN = 0.5
_TRIED = 40
_LONG_SIDE_PX = 1280


class _Spot(NamedTuple):
    """Where a piece may be: how the first is moved and enlarged, and how well that answers."""

    by: tuple[float, float]
    scale: float
    answer: float


def alike(
    image: Picture, points: Sequence[Point], *, holes: Sequence[Sequence[Point]] = (), width: float | None = None
) -> tuple[Snapped, ...]:
    """Find what looks like one marked piece.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    points, holes, width
        The piece: an outline of three points or more with its holes, or a line with a width, snug already, in pixels of the still.

    Returns
    -------
    tuple of Snapped
        Other pieces, from left to right; at most `MOST`; empty where there are none. The piece itself is not among them.

    Raises
    ------
    InvalidMark
        The piece covers no area of the still.
    """
    size = (image.shape[1], image.shape[0])
    piece = _Piece(tuple(points), tuple(tuple(hole) for hole in holes), width)
    first = piece.covers(size)
    look = _look(image, first)
    if look is None:
        return ()
    found: list[tuple[float, Area, Snapped]] = []
    for spot in look.spots():
        moved = piece.moved(spot.by, spot.scale)
        if any(_shared(moved.covers(), other) > _TAKEN for other in (first, *(one for _, one, _ in found))):
            continue
        snug = _snug(image, moved)
        if snug is None or not _SIZES[0] <= snug[0].area / (first.area * spot.scale**2) <= _SIZES[1]:
            continue
        answer = look.answer(snug[0])
        if answer >= _LEAST_LIKE * look.own and _shared(snug[0], first) <= _APART:
            found.append((answer, *snug))
    best: list[tuple[Area, Snapped]] = []
    for _, covered, offered in sorted(found, key=lambda one: -one[0]):
        if len(best) < MOST and all(_shared(covered, other) <= _APART for other, _ in best):
            best.append((covered, offered))
    return tuple(each for _, each in sorted(best, key=lambda one: (one[0].centroid.x, one[0].centroid.y)))


@dataclass(frozen=True, eq=False)
class _Look:
    """What the first piece looks like, on a picture of a size that is quick to look at."""

    near: NDArray[np.float32]
    first: BaseGeometry
    ratio: float
    own: float

    def answer(self, shape: BaseGeometry) -> float:
        return _answer(self.near, scaled(shape, self.ratio, self.ratio, origin=(0, 0)))

    def spots(self) -> list[_Spot]:
        """In pixels of the picture, the best first."""
        return [_Spot((x / self.ratio, y / self.ratio), scale, answer) for (x, y), scale, answer in _spots(self.near, self.first, self.own)]


def _look(image: Picture, first: Area) -> _Look | None:
    """None where the piece hardly differs from what lies beside it: too much would answer."""
    ratio = min(1.0, _LONG_SIDE_PX / max(image.shape[:2]))
    small = np.asarray(cv2.resize(image, None, fx=ratio, fy=ratio, interpolation=cv2.INTER_AREA), np.uint8) if ratio < 1 else image
    there = scaled(first, ratio, ratio, origin=(0, 0))
    near = _likeness(small, there)
    own = 0.0 if near is None else _answer(near, there)
    return None if near is None or own < _LEAST_OWN else _Look(near, there, ratio, own)


@dataclass(frozen=True)
class _Piece:
    points: tuple[Point, ...]
    holes: tuple[Ring, ...]
    width: float | None

    def covers(self, size: tuple[int, int] | None = None) -> Area:
        shape = {"line": self.points, "width": self.width} if self.width is not None else {"rings": (self.points, *self.holes)}
        return area(Mark.model_validate({"id": "the piece", "still": "", "surface": "", **shape}), size)

    def moved(self, by: tuple[float, float], scale: float) -> _Piece:
        """Enlarged about its middle, then moved."""
        x0, y0, x1, y1 = self.covers().bounds
        middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])

        def put(points: Sequence[Point]) -> tuple[Point, ...]:
            return tuple((float(x), float(y)) for x, y in (np.asarray(points) - middle) * scale + middle + by)

        return _Piece(put(self.points), tuple(put(hole) for hole in self.holes), None if self.width is None else self.width * scale)


def _snug(image: Picture, piece: _Piece) -> tuple[Area, Snapped] | None:
    """A moved piece drawn snug; None where it does not become one of about its shape."""
    size = (image.shape[1], image.shape[0])
    try:
        rough = piece.covers(size)
        if piece.width is not None:
            found = snug_line(image, piece.points, piece.width)
            if found is None:
                return None
            line, width = found
            covered = _Piece(line, (), width).covers(size)
            return covered, Snapped(None, line, width, _overlap(covered, rough))
        offered = snap(image, piece.points, holes=piece.holes)
        if offered is None or offered.rings is None or offered.overlap < _SAME_SHAPE:
            return None
        return _Piece(offered.rings[0], offered.rings[1:], None).covers(size), offered
    except InvalidMark:
        return None  # it lies outside the picture


def _likeness(image: Picture, first: BaseGeometry) -> NDArray[np.float32] | None:
    """How much more each pixel looks like the first piece than like what lies beside it, 0 to 1; other grounds are 0 too."""
    lab = cv2.cvtColor(cv2.GaussianBlur(image, (0, 0), 0.6), cv2.COLOR_RGB2LAB).astype(np.float32)
    inside = _mask(first, image.shape)
    rim = _mask(first.buffer(_RIM_PX[1]), image.shape) & ~_mask(first.buffer(_RIM_PX[0]), image.shape)
    if not inside.any() or not rim.any():
        return None
    own, other = (_nearest(lab, _few(lab[where])) for where in (inside, rim))
    # A colour that is far from both is neither; 6 is what noise and a little shade do.
    return np.asarray(np.maximum((other - own) / (other + own + 6), 0), np.float32)


def _few(colours: NDArray[np.float32]) -> NDArray[np.float32]:
    """A few colours that stand for many."""
    count = min(_COLOURS, len(colours))
    cv2.setRNGSeed(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    _, _, centres = cv2.kmeans(colours, count, None, stop, 2, cv2.KMEANS_PP_CENTERS)  # type: ignore[call-overload]
    return np.asarray(centres, np.float32)


def _nearest(lab: NDArray[np.float32], colours: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.min([np.linalg.norm(lab - colour, axis=2) for colour in colours], axis=0), np.float32)


def _answer(near: NDArray[np.float32], shape: BaseGeometry) -> float:
    """How well a shape lies on such a thing: what is inside looks like it, and what is beside does not."""
    inside = _mask(shape, near.shape)
    rim = _mask(shape.buffer(_RIM_PX[1]), near.shape) & ~_mask(shape.buffer(_RIM_PX[0]), near.shape)
    return float(near[inside].mean() - near[rim].mean()) if inside.any() and rim.any() else 0.0


def _spots(near: NDArray[np.float32], first: BaseGeometry, own: float) -> list[_Spot]:
    """Where the first piece's shape, moved and enlarged, answers best, the best first."""
    x0, y0, x1, y1 = first.bounds
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    room = int(_RIM_PX[1]) + 2
    every: list[_Spot] = []
    for scale in _SCALES:
        shape = translate(scaled(first, scale, scale, origin=centre), -centre[0], -centre[1])
        half_x, half_y = ((int(np.ceil(side * scale / 2)) + room) for side in (x1 - x0, y1 - y0))
        size = (2 * half_y + 1, 2 * half_x + 1)
        in_kernel = translate(shape, half_x + 0.5, half_y + 0.5)
        inside = _mask(in_kernel, size)
        rim = _mask(in_kernel.buffer(_RIM_PX[1]), size) & ~_mask(in_kernel.buffer(_RIM_PX[0]), size)
        if not inside.any() or not rim.any():
            continue
        kernel = (inside / inside.sum() - rim / rim.sum()).astype(np.float32)
        answers = cv2.filter2D(near, cv2.CV_32F, kernel, borderType=cv2.BORDER_REPLICATE)
        # One spot in the room of a piece: half as far as it is wide and high.
        reach_x, reach_y = (max(2, int(side * scale / 4)) for side in (x1 - x0, y1 - y0))
        most = cv2.dilate(answers, np.ones((2 * reach_y + 1, 2 * reach_x + 1), np.uint8))
        rows, columns = np.nonzero((answers >= most) & (answers >= _LEAST_PEAK * own))
        every += [
            _Spot((column + 0.5 - centre[0], row + 0.5 - centre[1]), scale, float(answers[row, column]))
            for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
        ]
    return sorted(every, key=lambda spot: -spot.answer * (1.0 if spot.scale == 1.0 else _OTHER_SIZE))[:_TRIED]


def _mask(shape: BaseGeometry, size: Sequence[int]) -> Mask:
    rings: list[Floats] = []
    for one in polygon_list(polygons_of(shape)):
        rings += [np.asarray(ring.coords[:-1]) for ring in (one.exterior, *one.interiors)]
    found = filled(rings, size)
    if not found.any() and isinstance(shape, Polygon) and not shape.is_empty:  # thinner than half a pixel
        x, y = shape.representative_point().coords[0]
        if 0 <= y < size[0] and 0 <= x < size[1]:
            found[int(y), int(x)] = True
    return found


def _shared(one: BaseGeometry, other: BaseGeometry) -> float:
    """Of the smaller."""
    return float(one.intersection(other).area / max(1e-9, min(one.area, other.area)))


def _overlap(one: BaseGeometry, other: BaseGeometry) -> float:
    return float(one.intersection(other).area / max(1e-9, one.union(other).area))
