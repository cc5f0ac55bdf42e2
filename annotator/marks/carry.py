"""Carry marks from one still to another picture of the same place, each with a confidence; left out, not guessed, where that is low.

The camera's large motion and the dense flow that parallax leaves over come from views.py; one affine map for each mark is fitted to the
flow inside it. Carried there and back, a mark must come to lie on itself, and what it covers must look alike. A mark that its own picture
cuts off is left out once more of the thing would be seen (picture_edge.py).
In: (H, W, 3) uint8 RGB, upright, of any two sizes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.errors import GEOSException
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks.outlines import Area, area, polygon_list, polygons_of
from annotator.marks.picture_edge import MOST_BARED, bared
from annotator.marks.views import CORNERS, Floats, Picture, View, Way, view, way

WORK_PX = 1280
"""Longer side at which stills are compared."""
LEAST_CYCLE = 0.9
LEAST_ALIKE = 0.7
LEAST_CONFIDENCE = 0.76
"""Set with what follows on made paths over photos (seed 11) and moments of walking in the demo (11, 12), scripts/bench/carry.py."""
LEAST_ALIKE_UNMATCHED = 0.9
"""Where too few corners match to know that it is the same place."""
DOUBT_PX = 5.0
"""How far, in compared pixels, a carried mark may be off for each 1 that its confidence falls short of 1. A thick mark is still right then,
a thin one may lie beside the thing."""
GROWN_PX = 1.0
"""The same for each time that it has grown or shrunk by the factor e: hops through walking add up errors that no hop sees."""
LEAST_SWAYED = 0.75

_SURE_MATCHES = 20
_LEAST_FLOW_POINTS = 24
_MOST_FLOW_POINTS = 300
_LEAST_STEADY = 0.2
_LEAST_SHOWN = 0.1
_RIM_PX = 3.0


@dataclass(frozen=True)
class Carried:
    """A mark on another picture, a draft until somebody accepts it.

    `cycle` is the overlap (intersection over union) of the mark with itself carried there and back, `alike` the zero-mean normalised
    correlation of what it covers in both pictures; `confidence` is their product, 0 to 1. `shown`: the share that lies inside the picture.
    """

    mark: Mark
    confidence: float
    cycle: float
    alike: float
    shown: float


@dataclass(frozen=True)
class Tried:
    """Where a mark would lie, and whether that is certain enough to be shown."""

    carried: Carried
    certain: bool


def carry(
    marks: Sequence[Mark],
    source: Picture,
    targets: Sequence[Picture],
    *,
    still_ids: Sequence[str] | None = None,
    work_px: int = WORK_PX,
    least_confidence: float = LEAST_CONFIDENCE,
) -> tuple[tuple[Carried | None, ...], ...]:
    """Carry marks of one picture to others.

    Parameters
    ----------
    marks : sequence of Mark
        In pixels of `source`.
    source, targets : (H, W, 3) uint8 RGB
        The still and the pictures to carry to; sizes may differ.
    still_ids : sequence of str, optional
        The still that each target is, for the carried marks; the source's without it.
    work_px : int
        Pictures are compared with their longer side at most this; half of it is four times faster and about as good between near frames.
    least_confidence : float
        What is less sure is left out; more than usual is wise where the camera stood elsewhere, since parallax bends a whole scene alike.

    Returns
    -------
    tuple of tuples
        For each target, for each mark: the mark there, or None where it is not to be seen or the match is not certain.

    Raises
    ------
    InvalidMark
        A mark covers no area of the source.
    """
    size = (source.shape[1], source.shape[0])
    for mark in marks:
        area(mark, size)
    start = view(source, work_px, CORNERS)
    names = still_ids if still_ids is not None else [None] * len(targets)
    found = []
    for target, name in zip(targets, names, strict=True):
        there = view(target, work_px, CORNERS)
        found.append(certain_only(whole_only(marks, start, tries_between(marks, start, there, still_id=name), there, least_confidence)))
    return tuple(found)


def certain_only(tries: Sequence[Tried | None]) -> tuple[Carried | None, ...]:
    """What may be shown."""
    return tuple(one.carried if one is not None and one.certain else None for one in tries)


def whole_only(
    marks: Sequence[Mark], start: View, tries: Sequence[Tried | None], there: View, least_confidence: float = LEAST_CONFIDENCE
) -> list[Tried | None]:
    """Not certain: what is not sure enough for its thickness, and what the first picture's edge cut off where the cut's end is in sight."""
    return [
        None
        if one is None
        else replace(
            one,
            certain=one.certain
            and one.carried.confidence >= least_confidence
            and swayed(one.carried.mark, _off_px(mark, start, one.carried, there)) >= LEAST_SWAYED
            and bared(mark, start.size, one.carried.mark, there.size) <= MOST_BARED,
        )
        for mark, one in zip(marks, tries, strict=True)
    ]


def _off_px(mark: Mark, start: View, carried: Carried, there: View) -> float:
    """How far, in pixels of the picture it was carried to, a mark may be off: the less sure it is and the more it grew, the farther."""
    grown = float(np.sqrt(area(carried.mark).area * there.scale**2 / (area(mark).area * start.scale**2)))
    return float((DOUBT_PX * (1 - carried.confidence) + GROWN_PX * abs(np.log(grown))) / there.scale)


def tries_between(marks: Sequence[Mark], source: View, target: View, *, still_id: str | None = None) -> tuple[Tried | None, ...]:
    """Each mark as it would lie on the target, certain or not; None where it is not to be seen or nothing matches at all."""
    if not marks or min(*source.grey.shape, *target.grey.shape) < 32:
        return (None,) * len(marks)
    between = way(source, target)
    return tuple(_tried(mark, source, target, between, still_id) for mark in marks)


def clipped(mark: Mark, size: tuple[int, int]) -> Mark | None:
    """The mark cut to a picture of this width and height; None where nothing of it is left.

    Of an outline that falls apart the largest part stays, of a line the longest.

    >>> clipped(Mark(id="m", still="s", surface="u", line=((-5, 2), (5, 2)), width=2), (10, 10)).line
    ((0.0, 2.0), (5.0, 2.0))
    """
    frame = box(0, 0, *size)
    if mark.line is not None:
        left = LineString(mark.line).intersection(frame)
        lines = [part for part in getattr(left, "geoms", [left]) if isinstance(part, LineString) and part.length > 0]
        if not lines:
            return None
        return mark.model_copy(update={"line": _pairs(np.asarray(max(lines, key=lambda part: part.length).coords))})
    whole = area(mark)
    if frame.contains(whole):
        return mark
    inside = _largest(polygons_of(whole.intersection(frame)))
    if inside.is_empty:
        return None
    rings = (inside.exterior, *inside.interiors)
    return mark.model_copy(update={"rings": tuple(_pairs(np.asarray(ring.coords)[:-1]) for ring in rings)})


def agreement(one: Mark, other: Mark) -> float:
    """Overlap (intersection over union) of two marks; 0 where one is no outline."""
    try:
        first, second = area(one), area(other)
    except InvalidMark:
        return 0.0
    return float(first.intersection(second).area / first.union(second).area)


def swayed(mark: Mark, off_px: float) -> float:
    """Overlap (intersection over union) of a mark with itself put `off_px` aside or down, whichever is less: what being off does to it.

    >>> bar = Mark(id="m", still="s", surface="u", line=((10, 50), (90, 50)), width=6)
    >>> round(swayed(bar, 2.0), 2), swayed(bar, 0.0)
    (0.5, 1.0)
    """
    whole = area(mark)
    overlaps = []
    for across, down in ((off_px, 0.0), (0.0, off_px)):
        aside = translate(whole, across, down)
        overlaps.append(float(whole.intersection(aside).area / whole.union(aside).area))
    return min(overlaps)


def _tried(mark: Mark, source: View, target: View, between: Way, still_id: str | None) -> Tried | None:
    try:
        outline = _polygon(mark, source.scale)
        forth = _fitted(outline, between.forth, between.steady_forth)
        if forth is None:
            return None
        whole = _from_middles(between.homography) @ forth
        moved = _apply(whole, _path(mark) * source.scale)
        if moved is None:
            return None
        width = (mark.width or 0) * source.scale * _stretch(whole, outline)
        arrived = _shaped(mark, moved / target.scale, width / target.scale, still_id)
        there = _polygon(arrived, target.scale)
        seen = there.intersection(box(0, 0, target.grey.shape[1], target.grey.shape[0]))
        shown = seen.area / there.area
        if shown < _LEAST_SHOWN:
            return None
        cycle = _cycle(outline, forth, between)
        alike = _alike(outline, source, between, forth)
    except (InvalidMark, GEOSException):  # bent beyond an outline
        return None
    least = LEAST_ALIKE if between.matches >= _SURE_MATCHES else LEAST_ALIKE_UNMATCHED
    confidence = float(min(1.0, cycle) * min(1.0, max(0.0, alike)))
    carried = Carried(arrived.model_copy(update={"confidence": confidence}), confidence, float(cycle), float(alike), float(min(1.0, shown)))
    return Tried(carried, bool(cycle >= LEAST_CYCLE and alike >= least))


def _fitted(outline: Polygon, flow: NDArray[np.float32], steady: NDArray[np.bool_]) -> Floats | None:
    """The affine map (3 x 3, of pixel corners) that the steady flow inside an outline follows; None where too little of it is steady."""
    found = _inside(outline, steady.shape, 0.0)
    if found is None:
        return None
    mask, (left, top, right, bottom) = found
    rows, columns = np.nonzero(mask & steady[top:bottom, left:right])
    if len(rows) < max(_LEAST_FLOW_POINTS, _LEAST_STEADY * mask.sum()):
        return None
    pick = np.linspace(0, len(rows) - 1, min(len(rows), _MOST_FLOW_POINTS)).astype(int)
    rows, columns = rows[pick] + top, columns[pick] + left
    here = np.column_stack([columns, rows]).astype(np.float32) + np.float32(0.5)
    gone = here + flow[rows, columns]
    affine, _ = cv2.estimateAffine2D(here, gone, method=cv2.RANSAC, ransacReprojThreshold=1.5, maxIters=500, confidence=0.99)
    if affine is None or not 0.25 < abs(float(np.linalg.det(affine[:, :2]))) < 4:
        return None
    return np.vstack([affine, [0.0, 0.0, 1.0]])


def _cycle(outline: Polygon, forth: Floats, between: Way) -> float:
    """Overlap of an outline with itself carried to the laid picture and home again by the flow found there."""
    height, width = between.covered.shape
    moved = _through(forth, outline)
    if moved is None:
        return 0.0
    seen = _largest(polygons_of(moved.intersection(box(0, 0, width, height))))
    homeward = None if seen.is_empty else _fitted(seen, between.back, between.steady_back)
    again = None if homeward is None else _through(homeward @ forth, outline)
    return 0.0 if again is None else float(outline.intersection(again).area / max(outline.union(again).area, 1e-9))


def _alike(outline: Polygon, source: View, between: Way, forth: Floats) -> float:
    """Correlation of what the outline covers in both pictures, with a few pixels around it; 0 where there is nothing to compare."""
    found = _inside(outline, between.covered.shape, _RIM_PX)
    if found is None:
        return 0.0
    mask, (left, top, right, bottom) = found
    to_crop = np.array([[1.0, 0.0, left], [0.0, 1.0, top], [0.0, 0.0, 1.0]])
    matrix = (np.linalg.inv(_middles_to_corners()) @ forth @ _middles_to_corners() @ to_crop)[:2]
    size, flags = (right - left, bottom - top), cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    brought = cv2.GaussianBlur(cv2.warpAffine(between.laid, matrix, size, flags=flags, borderMode=cv2.BORDER_REPLICATE), (0, 0), 1.0)
    seen = cv2.warpAffine(between.covered.astype(np.uint8) * 255, matrix, size, flags=flags) > 250
    mask = mask & seen
    if mask.sum() < _LEAST_FLOW_POINTS:
        return 0.0
    one = source.soft[top:bottom, left:right][mask].astype(np.float64)
    other = brought[mask].astype(np.float64)
    one, other = one - one.mean(), other - other.mean()
    norm = float(np.sqrt((one**2).sum() * (other**2).sum()))
    return float((one * other).sum() / norm) if norm > 1e-9 else 0.0


def _middles_to_corners() -> Floats:
    """Pixels counted from their middles to pixels counted from their corners, as outlines are."""
    return np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])


def _from_middles(homography: Floats) -> Floats:
    shift = _middles_to_corners()
    moved: Floats = shift @ homography @ np.linalg.inv(shift)
    return moved


def _apply(matrix: Floats, points: Floats) -> Floats | None:
    """Points through a homography; None where one of them comes to lie behind the camera."""
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    if np.any(mapped[:, 2] * np.sign(matrix[2, 2]) < 1e-3):
        return None
    moved: Floats = mapped[:, :2] / mapped[:, 2:]
    return moved if np.all(np.abs(moved) < 1e5) else None


def _through(affine: Floats, outline: Polygon) -> Polygon | None:
    moved = shapely.transform(outline, lambda points: points @ affine[:2, :2].T + affine[:2, 2])
    return moved if isinstance(moved, Polygon) and moved.is_valid else None


def _stretch(matrix: Floats, outline: Polygon) -> float:
    """How much lengths grow through a map at an outline's middle."""
    middle = outline.centroid
    ring = np.array([[middle.x, middle.y], [middle.x + 1, middle.y], [middle.x, middle.y + 1]])
    moved = _apply(matrix, ring)
    if moved is None:
        return 1.0
    (ax, ay), (bx, by) = moved[1] - moved[0], moved[2] - moved[0]
    return float(abs(ax * by - ay * bx) ** 0.5)


def _inside(outline: Polygon, shape: tuple[int, ...], grow: float) -> tuple[NDArray[np.bool_], tuple[int, int, int, int]] | None:
    """The pixels of an outline within its own box (left, top, right, bottom) of a picture; None where it lies beside the picture."""
    grown = outline.buffer(grow) if grow else outline
    low_x, low_y, high_x, high_y = grown.bounds
    left, top = max(0, int(low_x) - 1), max(0, int(low_y) - 1)
    right, bottom = min(shape[1], int(high_x) + 2), min(shape[0], int(high_y) + 2)
    if right <= left or bottom <= top:
        return None
    mask = np.zeros((bottom - top, right - left), np.uint8)
    for part in grown.geoms if isinstance(grown, MultiPolygon) else [grown]:
        rings = [np.rint((np.asarray(ring.coords) - (left, top) - 0.5) * 16).astype(np.int32) for ring in (part.exterior, *part.interiors)]
        cv2.fillPoly(mask, rings, 1, shift=4)
    return mask.astype(bool), (left, top, right, bottom)


def _path(mark: Mark) -> Floats:
    """All points of a mark, ring after ring."""
    points = [point for ring in mark.rings for point in ring] if mark.rings is not None else mark.line
    return np.asarray(points, np.float64)


def _polygon(mark: Mark, scale: float) -> Polygon:
    moved = _shaped(mark, _path(mark) * scale, (mark.width or 0) * scale, None)
    return _largest(area(moved))


def _largest(found: Area) -> Polygon:
    return max(polygon_list(found), key=lambda part: part.area, default=Polygon())


def _pairs(points: Floats) -> tuple[tuple[float, float], ...]:
    return tuple(map(tuple, points.tolist()))


def _shaped(mark: Mark, points: Floats, width: float, still_id: str | None) -> Mark:
    """The mark with other points (and width), as a carried draft."""
    pairs = _pairs(points)
    update: dict[str, object] = {"state": "draft", "origin": "carried", "still": still_id or mark.still}
    if mark.rings is None:
        update |= {"line": pairs, "width": max(width, 0.1)}
    else:
        rings, first = [], 0
        for ring in mark.rings:
            rings.append(pairs[first : first + len(ring)])
            first += len(ring)
        update["rings"] = tuple(rings)
    return mark.model_copy(update=update)
