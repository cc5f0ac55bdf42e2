"""Carry marks from one still to another picture of the same place, each with a confidence; left out, not guessed, where that is low.

A homography from matched corners takes the camera's large motion away, dense flow finds what parallax leaves over, and one affine map for
each mark is fitted to the flow inside it. Carried there and back, a mark must come to lie on itself, and what it covers must look alike.
In: (H, W, 3) uint8 RGB, upright, of any two sizes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.errors import GEOSException
from shapely.geometry import Polygon, box

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks.outlines import Area, area, polygon_list, polygons_of

Picture = NDArray[np.uint8]
_Floats = NDArray[np.float64]

WORK_PX = 1280
"""Longer side at which stills are compared."""
LEAST_CYCLE = 0.9
LEAST_ALIKE = 0.7
LEAST_ALIKE_UNMATCHED = 0.9
"""Where too few corners match to know that it is the same place."""
CORNERS = 3000
_SURE_MATCHES = 20

_LEAST_MATCHES = 12
_ROUND_TRIP_PX = 1.5
_LEAST_FLOW_POINTS = 24
_MOST_FLOW_POINTS = 1500
_LEAST_SHOWN = 0.1


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


@dataclass(frozen=True, eq=False)
class View:
    """A picture made ready for carrying: grey, small, with its corners described. Make once, use for every pair."""

    grey: Picture
    scale: float
    size: tuple[int, int]
    points: NDArray[np.float32]
    descriptors: NDArray[np.uint8] | None


@dataclass(frozen=True, eq=False)
class _Way:
    """From one view to another: the homography, the flow left over after it, and where that flow comes back to itself."""

    homography: _Floats
    matches: int
    flow: NDArray[np.float32]
    steady: NDArray[np.bool_]


def carry(
    marks: Sequence[Mark], source: Picture, targets: Sequence[Picture], *, still_ids: Sequence[str] | None = None, work_px: int = WORK_PX
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
    start = view(source, work_px)
    names = still_ids if still_ids is not None else [None] * len(targets)
    return tuple(carry_between(marks, start, view(target, work_px), still_id=name) for target, name in zip(targets, names, strict=True))


def view(picture: Picture, work_px: int = WORK_PX, corners: int = CORNERS) -> View:
    """Make a picture ready for carrying; fewer corners are faster to match, more hold on over larger motion."""
    height, width = picture.shape[:2]
    scale = min(1.0, work_px / max(height, width))
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    if scale < 1.0:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        grey = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    found, descriptors = cv2.ORB_create(corners, fastThreshold=10).detectAndCompute(grey, None)  # type: ignore[attr-defined]
    points = np.array([corner.pt for corner in found], np.float32).reshape(-1, 2)
    return View(grey, scale, (width, height), points, descriptors)


def carry_between(marks: Sequence[Mark], source: View, target: View, *, still_id: str | None = None) -> tuple[Carried | None, ...]:
    """As `carry`, between two pictures that were made ready before."""
    if not marks or min(*source.grey.shape, *target.grey.shape) < 32:
        return (None,) * len(marks)
    homography, matches = _homography(source, target)
    there = _way(source, target, homography, matches)
    back = _way(target, source, np.asarray(np.linalg.inv(homography), np.float64), matches)
    return tuple(_carried(mark, source, target, there, back, still_id) for mark in marks)


def _way(source: View, target: View, homography: _Floats, matches: int) -> _Way:
    height, width = source.grey.shape
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    warped = np.asarray(
        cv2.warpPerspective(target.grey, homography, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
    covered = cv2.warpPerspective(np.full(target.grey.shape, 255, np.uint8), homography, (width, height), flags=flags) > 250
    dense = cv2.DISOpticalFlow_create(cv2.DISOPTICAL_FLOW_PRESET_MEDIUM)  # type: ignore[attr-defined]
    forth = dense.calc(source.grey, warped, None)
    back = dense.calc(warped, source.grey, None)
    columns, rows = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    returned = forth + cv2.remap(back, columns + forth[..., 0], rows + forth[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    steady = (np.hypot(returned[..., 0], returned[..., 1]) < _ROUND_TRIP_PX) & covered
    return _Way(homography, matches, np.asarray(forth, np.float32), steady)


def _homography(source: View, target: View) -> tuple[_Floats, int]:
    """The camera's motion as a homography and the number of matches that agree with it; the identity and 0 where there is none."""
    still = np.eye(3)
    if source.descriptors is None or target.descriptors is None or len(target.descriptors) < 2:
        return _scaled(still, source, target), 0
    pairs = cv2.BFMatcher(cv2.NORM_HAMMING).knnMatch(source.descriptors, target.descriptors, k=2)
    best: dict[int, tuple[float, int]] = {}
    for pair in pairs:
        if len(pair) == 2 and pair[0].distance < 0.8 * pair[1].distance:
            known = best.get(pair[0].trainIdx)
            if known is None or pair[0].distance < known[0]:
                best[pair[0].trainIdx] = (pair[0].distance, pair[0].queryIdx)
    if len(best) < _LEAST_MATCHES:
        return _scaled(still, source, target), 0
    here = source.points[[query for _, query in best.values()]]
    there = target.points[list(best)]
    found, agreeing = cv2.findHomography(here, there, cv2.USAC_MAGSAC, 4.0, maxIters=5000, confidence=0.999)
    matches = 0 if agreeing is None else int(agreeing.sum())
    if found is None or matches < _LEAST_MATCHES or not 0.05 < abs(float(np.linalg.det(found[:2, :2]))) < 20:
        return _scaled(still, source, target), 0
    return np.asarray(found, np.float64), matches


def _scaled(homography: _Floats, source: View, target: View) -> _Floats:
    """The identity between two pictures of different sizes stretches one onto the other."""
    stretch = (target.grey.shape[1] / source.grey.shape[1], target.grey.shape[0] / source.grey.shape[0], 1.0)
    return np.asarray(np.diag(stretch) @ homography, np.float64)


def _carried(mark: Mark, source: View, target: View, there: _Way, back: _Way, still_id: str | None) -> Carried | None:
    try:
        first = _path(mark) * source.scale
        outline = _polygon(mark, source.scale)
        forth = _map(outline, there)
        if forth is None:
            return None
        moved = _apply(forth, first)
        if moved is None:
            return None
        width = (mark.width or 0) * source.scale * _stretch(forth, outline)
        arrived = _shaped(mark, moved / target.scale, width / target.scale, still_id)
        there_area = _polygon(arrived, target.scale)
        frame = box(0, 0, target.grey.shape[1], target.grey.shape[0])
        seen = _largest(polygons_of(there_area.intersection(frame)))
        shown = seen.area / there_area.area
        if shown < _LEAST_SHOWN:
            return None
        homeward = _map(seen, back)
        if homeward is None:
            return None
        returned = _apply(homeward, _path(arrived) * target.scale)
        if returned is None:
            return None
        again = _polygon(_shaped(mark, returned, width * _stretch(homeward, seen), None), 1.0)
        cycle = outline.intersection(again).area / max(outline.union(again).area, 1e-9)
        alike = _alike(outline, source, target, forth)
    except (InvalidMark, GEOSException):  # bent beyond an outline: not certain
        return None
    least = LEAST_ALIKE if there.matches >= _SURE_MATCHES else LEAST_ALIKE_UNMATCHED
    if cycle < LEAST_CYCLE or alike < least:
        return None
    confidence = float(min(1.0, cycle) * min(1.0, alike))
    return Carried(arrived.model_copy(update={"confidence": confidence}), confidence, float(cycle), float(alike), float(shown))


def _map(outline: Polygon, way: _Way) -> _Floats | None:
    """The one map of an outline, source to target, at working size: the homography after an affine map of the flow inside the outline."""
    height, width = way.flow.shape[:2]
    mask = _mask(outline, (height, width), 1.0)
    rows, columns = np.nonzero(mask & way.steady)
    if len(rows) < max(_LEAST_FLOW_POINTS, 0.2 * mask.sum()):
        return None
    pick = np.linspace(0, len(rows) - 1, min(len(rows), _MOST_FLOW_POINTS)).astype(int)
    here = np.column_stack([columns[pick], rows[pick]]).astype(np.float32) + np.float32(0.5)
    gone = here + way.flow[rows[pick], columns[pick]]
    affine, _ = cv2.estimateAffine2D(here, gone, method=cv2.RANSAC, ransacReprojThreshold=1.5, maxIters=500, confidence=0.99)
    if affine is None or not 0.25 < abs(float(np.linalg.det(affine[:, :2]))) < 4:
        return None
    # The homography counts from the middle of pixels, outlines from their corners.
    shift = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    centred = shift @ way.homography @ np.linalg.inv(shift)
    return np.asarray(centred @ np.vstack([affine, [0, 0, 1]]), np.float64)


def _apply(matrix: _Floats, points: _Floats) -> _Floats | None:
    """Points through a homography; None where one of them comes to lie behind the camera."""
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    if np.any(mapped[:, 2] * np.sign(matrix[2, 2]) < 1e-3):
        return None
    moved: _Floats = mapped[:, :2] / mapped[:, 2:]
    return moved if np.all(np.abs(moved) < 1e5) else None


def _stretch(matrix: _Floats, outline: Polygon) -> float:
    """How much lengths grow through a map at an outline's middle."""
    middle = outline.centroid
    ring = np.array([[middle.x, middle.y], [middle.x + 1, middle.y], [middle.x, middle.y + 1]])
    moved = _apply(matrix, ring)
    if moved is None:
        return 1.0
    (ax, ay), (bx, by) = moved[1] - moved[0], moved[2] - moved[0]
    return float(abs(ax * by - ay * bx) ** 0.5)


def _alike(outline: Polygon, source: View, target: View, forth: _Floats) -> float:
    """Correlation of what the outline covers in both pictures, with a few pixels around it; 0 where there is nothing to compare."""
    height, width = source.grey.shape
    centre = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    matrix = centre @ forth @ np.linalg.inv(centre)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    brought = cv2.warpPerspective(target.grey, matrix, (width, height), flags=flags)
    seen = cv2.warpPerspective(np.full(target.grey.shape, 255, np.uint8), matrix, (width, height), flags=flags) > 250
    mask = _mask(outline, (height, width), 3.0) & seen
    if mask.sum() < _LEAST_FLOW_POINTS:
        return 0.0
    one, other = (cv2.GaussianBlur(grey, (0, 0), 1.0)[mask].astype(np.float64) for grey in (source.grey, brought))
    one, other = one - one.mean(), other - other.mean()
    norm = float(np.sqrt((one**2).sum() * (other**2).sum()))
    return float((one * other).sum() / norm) if norm > 1e-9 else 0.0


def _mask(outline: Polygon, shape: tuple[int, int], grow: float) -> NDArray[np.bool_]:
    mask = np.zeros(shape, np.uint8)
    grown = outline.buffer(grow)
    for part in getattr(grown, "geoms", [grown]):
        rings = [np.rint((np.asarray(ring.coords) - 0.5) * 16).astype(np.int32) for ring in (part.exterior, *part.interiors)]
        cv2.fillPoly(mask, rings, 1, shift=4)
    return mask.astype(bool)


def _path(mark: Mark) -> _Floats:
    """All points of a mark, ring after ring."""
    points = [point for ring in mark.rings for point in ring] if mark.rings is not None else mark.line
    return np.asarray(points, np.float64)


def _polygon(mark: Mark, scale: float) -> Polygon:
    moved = _shaped(mark, _path(mark) * scale, (mark.width or 0) * scale, None)
    return _largest(area(moved))


def _largest(found: Area) -> Polygon:
    return max(polygon_list(found), key=lambda part: part.area, default=Polygon())


def _shaped(mark: Mark, points: _Floats, width: float, still_id: str | None) -> Mark:
    """The mark with other points (and width), as a carried draft."""
    pairs = [(float(x), float(y)) for x, y in points]
    update: dict[str, object] = {"state": "draft", "origin": "carried", "still": still_id or mark.still}
    if mark.rings is None:
        update |= {"line": tuple(pairs), "width": max(width, 0.1)}
    else:
        rings, first = [], 0
        for ring in mark.rings:
            rings.append(tuple(pairs[first : first + len(ring)]))
            first += len(ring)
        update["rings"] = tuple(rings)
    return mark.model_copy(update=update)
