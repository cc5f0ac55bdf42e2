"""Draw a rough outline snug to the thing's edge: offered, never forced, and not at all where it would stray.

Three classic methods look at a small crop around the rough outline (watershed, a cut by colour models, a path along edges) and vote pixel
by pixel. A thin bar is a line with a width that moves until both its sides lie on edges. In: (H, W, 3) uint8 RGB, upright; outlines in its
pixels.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.affinity import scale as stretched
from shapely.affinity import translate
from shapely.geometry import Polygon, box

from annotator.course import Mark, Point
from annotator.errors import InvalidMark
from annotator.marks.outlines import Area, area, polygon_list, polygons_of

Picture = NDArray[np.uint8]
_Mask = NDArray[np.bool_]
_Floats = NDArray[np.float64]

LEAST_OVERLAP = 0.55
LEAST_OVERLAP_BOX = 0.3
CROP_PX = 320
_MARGIN = 0.35
_BAND_SHARE = 0.12
_SMOOTH_PX = 0.9
_LEAST_STEEP = 8.0
_LEAST_CONTRAST = 1.0
_BEND_COST = 0.25


@dataclass(frozen=True)
class Snapped:
    """A snug outline (`ring`) or a snug line (`line` with `width`), and its overlap with the rough one (intersection over union)."""

    ring: tuple[Point, ...] | None
    line: tuple[Point, ...] | None
    width: float | None
    overlap: float


def snap(image: Picture, rough: Sequence[Point], *, width: float | None = None) -> Snapped | None:
    """Offer a snug outline for a rough one.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    rough : sequence of (x, y)
        Three points or more: an outline. Two: opposite corners of a box. One: a tap on the thing. With `width`: a line along a thin bar.
    width : float, optional
        Of the bar, in pixels.

    Returns
    -------
    Snapped or None
        None where nothing snug was found near enough to the rough outline (overlap under `LEAST_OVERLAP`): keep the rough one.

    Raises
    ------
    InvalidMark
        The rough outline covers no area of the still.
    """
    size = (image.shape[1], image.shape[0])
    points = tuple((float(x), float(y)) for x, y in rough)
    if width is not None:
        return _snap_line(image, points, width)
    if len(points) == 1:
        return _snap_tap(image, points[0])
    if len(points) == 2:
        (x0, y0), (x1, y1) = points
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        return _snap_area(image, area(_rough(corners), size), _within_box, LEAST_OVERLAP_BOX)
    return _snap_area(image, area(_rough(points), size), _vote, LEAST_OVERLAP)


def _rough(ring: Sequence[Point]) -> Mark:
    if len(ring) < 3:
        raise InvalidMark("rough outline", "it has no points. Draw around the thing, or tap on it.")
    return Mark(id="rough outline", still="", surface="", rings=(tuple(ring),))


@dataclass(frozen=True, eq=False)
class _Crop:
    """The part of the picture around an outline, at most `CROP_PX` on its longer side, with the outline as a mask."""

    picture: Picture
    lab: Picture
    rough: _Mask
    outline: NDArray[np.float64]
    corner: tuple[int, int]
    scale: float

    @property
    def band_px(self) -> float:
        """How far the true edge may lie from the rough one."""
        return max(3.0, _BAND_SHARE * float(np.sqrt(self.rough.sum())))

    @property
    def core(self) -> _Mask:
        """Surely the thing."""
        inner = cv2.distanceTransform(np.pad(self.rough.astype(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
        deep = min(self.band_px, 0.6 * float(inner.max()))
        return np.asarray(inner > deep)

    @property
    def far(self) -> _Mask:
        """Surely not the thing."""
        outer = cv2.distanceTransform((~self.rough).astype(np.uint8), cv2.DIST_L2, 5)
        return np.asarray(outer > self.band_px)


def _crop(image: Picture, outline: Area) -> _Crop:
    x0, y0, x1, y1 = outline.bounds
    margin = _MARGIN * max(x1 - x0, y1 - y0) + 4
    left, top = max(0, int(x0 - margin)), max(0, int(y0 - margin))
    right, bottom = min(image.shape[1], int(x1 + margin) + 1), min(image.shape[0], int(y1 + margin) + 1)
    part = image[top:bottom, left:right]
    scale = min(1.0, CROP_PX / max(part.shape[:2]))
    size = (max(8, round(part.shape[1] * scale)), max(8, round(part.shape[0] * scale)))
    small = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR), np.uint8)
    lab = np.asarray(cv2.cvtColor(cv2.GaussianBlur(small, (0, 0), _SMOOTH_PX), cv2.COLOR_RGB2LAB), np.uint8)
    ratio = (size[0] / part.shape[1], size[1] / part.shape[0])
    moved = stretched(translate(outline, -left, -top), ratio[0], ratio[1], origin=(0, 0))
    biggest = max(polygon_list(polygons_of(moved)), key=lambda one: one.area)
    mask = np.zeros((size[1], size[0]), np.uint8)
    for one in polygon_list(polygons_of(moved)):
        rings = [np.rint((np.asarray(ring.coords) - 0.5) * 16).astype(np.int32) for ring in (one.exterior, *one.interiors)]
        cv2.fillPoly(mask, rings, 1, shift=4)
    return _Crop(small, lab, mask.astype(bool), np.asarray(biggest.exterior.coords[:-1]), (left, top), ratio[0])


def _snap_area(image: Picture, outline: Area, method: Callable[[_Crop], _Mask], least: float) -> Snapped | None:
    crop = _crop(image, outline)
    if crop.rough.sum() < 12 or float(crop.lab.reshape(-1, 3).std(axis=0).max()) < _LEAST_CONTRAST:
        return None
    ring = _ring_of(method(crop), crop)
    if ring is None:
        return None
    frame = box(0, 0, image.shape[1], image.shape[0])
    snug = polygons_of(ring.intersection(frame))
    if not isinstance(snug, Polygon) or snug.is_empty:
        return None
    overlap = float(snug.intersection(outline).area / snug.union(outline).area)
    if overlap < least:
        return None
    return Snapped(tuple((float(x), float(y)) for x, y in snug.exterior.coords[:-1]), None, None, overlap)


def _vote(crop: _Crop) -> _Mask:
    """The pixels that at least two of the three methods take."""
    votes = _watershed(crop).astype(np.uint8) + _colour_cut(crop) + _along_edges(crop)
    return np.asarray(votes >= 2)


def _within_box(crop: _Crop) -> _Mask:
    """A box: its middle is probably the thing, its outside surely not."""
    marks = np.full(crop.rough.shape, cv2.GC_BGD, np.uint8)
    marks[crop.rough] = cv2.GC_PR_FGD
    return _cut(crop, marks, 4)


def _watershed(crop: _Crop) -> _Mask:
    markers = np.zeros(crop.rough.shape, np.int32)
    markers[crop.core] = 1
    markers[crop.far] = 2
    if not (crop.core.any() and crop.far.any()):
        return crop.rough
    flooded = cv2.watershed(crop.lab, markers)
    inside = np.asarray(flooded == 1)
    # Watershed leaves a line of -1 between basins and around the frame: give it to the thing where the rough outline does.
    return np.asarray(inside | ((flooded == -1) & _grown(inside, 1) & crop.rough))


def _colour_cut(crop: _Crop) -> _Mask:
    marks = np.full(crop.rough.shape, cv2.GC_PR_BGD, np.uint8)
    marks[crop.rough] = cv2.GC_PR_FGD
    marks[crop.far] = cv2.GC_BGD
    return _cut(crop, marks, 2)


def _cut(crop: _Crop, marks: Picture, rounds: int) -> _Mask:
    if not (marks == cv2.GC_BGD).any():
        return crop.rough
    cv2.setRNGSeed(1)  # otherwise two calls differ
    models = np.zeros((1, 65)), np.zeros((1, 65))
    try:
        cv2.grabCut(np.ascontiguousarray(crop.picture), marks, None, *models, rounds, cv2.GC_INIT_WITH_MASK)  # type: ignore[call-overload]
    except cv2.error:  # all of one colour: no two models to tell apart
        return crop.rough
    return np.asarray((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD))


def _along_edges(crop: _Crop) -> _Mask:
    """The closed path along the steepest edges in a ribbon around the outline, found by dynamic programming.

    The ribbon is the outline unrolled: one column for each step along it, one row for each offset across it. From column to column the
    path moves by at most one row, which costs a little; two rounds close it.
    """
    ring = np.vstack([crop.outline, crop.outline[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    count = int(np.clip(along[-1] / 1.5, 24, 900))
    at = np.linspace(0, along[-1], count, endpoint=False)
    points = np.column_stack([np.interp(at, along, ring[:, axis]) for axis in (0, 1)])
    # Directions over a stretch as long as the band: a rough outline wobbles, and neighbouring columns must not cross.
    stretch = max(1, min(count // 8, round(crop.band_px / 1.5)))
    ways = np.roll(points, -stretch, axis=0) - np.roll(points, stretch, axis=0)
    normals = np.column_stack([-ways[:, 1], ways[:, 0]]) / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]
    reach = np.arange(-crop.band_px, crop.band_px + 0.5, 0.75)
    places = points[None, :, :] + reach[:, None, None] * normals[None, :, :]
    columns, rows = ((places[..., axis] - 0.5).astype(np.float32) for axis in (0, 1))
    steep = np.asarray(cv2.remap(_steepness(crop.lab), columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)
    flat = steep.max(axis=0, keepdims=True)
    if float(np.median(flat)) < _LEAST_STEEP:
        return crop.rough
    gain = np.minimum(steep / np.maximum(np.percentile(steep, 95), 1e-9), 1.5) - 0.15 * (reach[:, None] / crop.band_px) ** 2
    path = _best_round(gain)
    edge = points + reach[path][:, None] * normals
    mask = np.zeros(crop.rough.shape, np.uint8)
    cv2.fillPoly(mask, [np.rint((edge - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return mask.astype(bool)


def _best_round(gain: _Floats) -> NDArray[np.intp]:
    """The row of each column on the path of most gain, twice around so that it ends where it begins."""
    height, width = gain.shape
    total = np.zeros(height)
    came = np.zeros((height, 2 * width), np.intp)
    for column in range(2 * width):
        steps = np.full((3, height), -np.inf)
        steps[0, 1:] = total[:-1] - _BEND_COST
        steps[1] = total
        steps[2, :-1] = total[1:] - _BEND_COST
        choice = steps.argmax(axis=0)
        came[:, column] = np.arange(height) + choice - 1
        total = steps[choice, np.arange(height)] + gain[:, column % width]
    rows = np.zeros(2 * width, np.intp)
    rows[-1] = int(total.argmax())
    for column in range(2 * width - 1, 0, -1):
        rows[column - 1] = came[rows[column], column]
    middle = width // 2
    return np.concatenate([rows[width : width + middle], rows[middle:width]])


def _steepness(lab: Picture) -> NDArray[np.float32]:
    channels = lab.astype(np.float32)
    across = cv2.Sobel(channels, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(channels, cv2.CV_32F, 0, 1)
    return np.asarray(np.sqrt((across**2 + down**2).sum(axis=2)), np.float32)


def _ring_of(mask: _Mask, crop: _Crop) -> Polygon | None:
    """The outline of the part of a mask that lies under the rough outline, smoothed a little, in pixels of the picture."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    tidy = cv2.morphologyEx(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel), cv2.MORPH_CLOSE, kernel)
    count, labels = cv2.connectedComponents(tidy, connectivity=4)
    if count < 2:
        return None
    shares = [int((labels[crop.rough] == label).sum()) for label in range(1, count)]
    biggest = (labels == 1 + int(np.argmax(shares))).astype(np.uint8)
    # Four times as fine, so that the outline runs along the pixels' sides instead of through their middles.
    fine = cv2.resize(biggest * 255, None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR)
    contours, _ = cv2.findContours((fine > 127).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=len).reshape(-1, 2)
    if len(contour) < 8:
        return None
    plain = Polygon((contour + 0.5) / 4).buffer(0.125).simplify(0.6)
    found = polygons_of(stretched(plain, 1 / crop.scale, 1 / crop.scale, origin=(0, 0)))
    moved = translate(max(polygon_list(found), key=lambda one: one.area), *crop.corner)
    return moved if isinstance(moved, Polygon) and moved.is_valid else None


def _grown(mask: _Mask, by: int) -> _Mask:
    return np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((2 * by + 1, 2 * by + 1), np.uint8)) > 0)


def _snap_tap(image: Picture, point: Point) -> Snapped | None:
    """The region of like colour around a tap whose border is the steepest, then as an outline."""
    height, width = image.shape[:2]
    if not (0 <= point[0] < width and 0 <= point[1] < height):
        raise InvalidMark("tap", f"it lies outside the still, which is {width} x {height} pixels. Tap on the thing.")
    scale = min(1.0, 480 / max(height, width))
    small = cv2.resize(image, (max(1, round(width * scale)), max(1, round(height * scale))), interpolation=cv2.INTER_AREA)
    lab = np.asarray(cv2.cvtColor(cv2.medianBlur(small, 5), cv2.COLOR_RGB2LAB), np.uint8)
    steepness = _steepness(lab)
    seed = (min(lab.shape[1] - 1, int(point[0] * scale)), min(lab.shape[0] - 1, int(point[1] * scale)))
    best, best_score = None, 0.0
    for tolerance in (4, 7, 10, 14, 19, 25, 32):
        flooded = np.zeros((lab.shape[0] + 2, lab.shape[1] + 2), np.uint8)
        like = (2 * tolerance, tolerance, tolerance)  # lightness may vary more than colour: a face is lit unevenly
        cv2.floodFill(lab.copy(), flooded, seed, 0, like, like, 4 | (1 << 8) | cv2.FLOODFILL_FIXED_RANGE | cv2.FLOODFILL_MASK_ONLY)
        region = np.asarray(cv2.morphologyEx(flooded[1:-1, 1:-1], cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)) > 0)
        share = region.mean()
        rim = _grown(region, 1) & ~region
        if not 0.0004 < share < 0.5 or not rim.any():
            continue
        score = float(steepness[rim].mean()) * float(region.sum()) ** 0.15
        if score > best_score:
            best, best_score = region, score
    if best is None:
        return None
    contours, _ = cv2.findContours(best.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea).reshape(-1, 2)
    if len(contour) < 8:
        return None
    rough = Polygon((contour + 0.5) / scale).buffer(0.5 / scale).simplify(1.0 / scale)
    outline = polygons_of(rough.intersection(box(0, 0, width, height)))
    return None if outline.is_empty else _snap_area(image, outline, _vote, LEAST_OVERLAP)


def _snap_line(image: Picture, line: Sequence[Point], width: float) -> Snapped | None:
    """Move each segment of a line, and change its width, until both its sides lie on edges."""
    given = Mark(id="rough line", still="", surface="", line=tuple(line), width=width)
    rough = area(given, (image.shape[1], image.shape[0]))
    lab = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2LAB), np.float32)
    points = np.asarray(line, np.float64)
    moves: list[list[_Floats]] = [[] for _ in points]
    widths: list[float] = []
    for index, (here, there) in enumerate(pairwise(points)):
        length = float(np.hypot(*(there - here)))
        if length < 1:
            continue
        normal = np.array([here[1] - there[1], there[0] - here[0]]) / length
        first, second = (_sides(lab, here, there, normal, width, half) for half in ((0.05, 0.5), (0.5, 0.95)))
        if first is None or second is None:
            return None
        offsets = ((first[0] + first[1]) / 2, (second[0] + second[1]) / 2)
        slope = (offsets[1] - offsets[0]) / 0.45
        moves[index].append((offsets[0] - 0.275 * slope) * normal)
        moves[index + 1].append((offsets[1] + 0.275 * slope) * normal)
        widths += [first[1] - first[0], second[1] - second[0]]
    if not widths:
        return None
    snug_width = float(np.median(widths))
    moved = np.array([point + (np.mean(steps, axis=0) if steps else 0) for point, steps in zip(points, moves, strict=True)])
    if not 0.4 * width <= snug_width <= 2.5 * width or np.hypot(*(moved - points).T).max() > max(1.5 * width, 4.0):
        return None
    snug = tuple((float(x), float(y)) for x, y in moved)
    try:
        found = area(given.model_copy(update={"line": snug, "width": snug_width}), (image.shape[1], image.shape[0]))
    except InvalidMark:
        return None
    return Snapped(None, snug, snug_width, float(found.intersection(rough).area / found.union(rough).area))


def _sides(
    lab: NDArray[np.float32], here: _Floats, there: _Floats, normal: _Floats, width: float, half: tuple[float, float]
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


def _summit(heights: _Floats, at: int) -> float:
    """The top of the hill that a place lies on, between samples."""
    while 0 < at < len(heights) - 1 and max(heights[at - 1], heights[at + 1]) > heights[at]:
        at += 1 if heights[at + 1] > heights[at - 1] else -1
    if not 0 < at < len(heights) - 1:
        return float(at)
    left, top, right = heights[at - 1 : at + 2]
    bend = left - 2 * top + right
    return at if bend == 0 else float(at + 0.5 * (left - right) / bend)
