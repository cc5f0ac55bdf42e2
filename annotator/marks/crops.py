"""The part of a still around a rough outline, at a size that is quick to look at, and the way from its pixels back to an outline.

In: a still and an area in its pixels. Out: masks of the crop, and outlines with holes in pixels of the still. What decides which pixels are
the thing is cuts.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.affinity import scale as stretched
from shapely.affinity import translate
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from annotator.marks.outlines import Area, polygon_list, polygons_of

Picture = NDArray[np.uint8]
Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]

LARGEST_PX = 320
SMALLEST_PX = 200
_MOST_LARGER = 3.0
_MARGIN = 0.35
_BAND_OF_WIDTH = 0.12
_BAND_OF_LENGTH = 0.05
_SMOOTH_PX = 0.9
_FINE = 4
_BINS = (12, 6, 6)
COLOURS = tuple(255 // size + 1 for size in _BINS)
"""A coarse table of Lab colours: so many levels of each channel."""
_STEEPEST = 92
"""Percentile."""
_LEAST_HOLE = 0.04
_HOLE_DRAWN = 0.4


@dataclass(frozen=True, eq=False)
class Crop:
    """A part of a picture, its longer side between `SMALLEST_PX` (enlarged at most threefold) and `LARGEST_PX`, with the rough area.

    `rings` are the outlines and holes of the rough area in pixels of the crop, `ratio` crop pixels a picture pixel in x and y.
    """

    picture: Picture
    lab: Picture
    rough: Mask
    rings: tuple[Floats, ...]
    corner: tuple[int, int]
    ratio: tuple[float, float]
    _slopes: dict[float, Floats32] = field(default_factory=dict)
    """What was worked out already, by the blur."""

    @cached_property
    def band_px(self) -> float:
        """How far the true edge may lie from the rough one, in pixels of the crop."""
        points = np.vstack(self.rings)
        length = float(np.hypot(*np.ptp(points, axis=0)))
        return max(3.0, _BAND_OF_WIDTH * float(np.sqrt(self.rough.sum())), _BAND_OF_LENGTH * length)

    @cached_property
    def core(self) -> Mask:
        """Surely the thing."""
        inner = cv2.distanceTransform(np.pad(self.rough.astype(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
        return np.asarray(inner > min(self.band_px, 0.6 * float(inner.max())))

    @cached_property
    def far(self) -> Mask:
        """Surely not the thing; the middle of a drawn hole is far as well."""
        outer = cv2.distanceTransform((~self.rough).astype(np.uint8), cv2.DIST_L2, 5)
        found = np.asarray(outer > self.band_px)
        for hole in enclosed(self.rough):
            found |= hole & (outer > min(self.band_px, 0.6 * float(outer[hole].max())))
        return found

    @cached_property
    def colours(self) -> NDArray[np.intp]:
        """(H, W): the place of each pixel's colour in a table of `COLOURS`, as one number."""
        steps = np.array([COLOURS[1] * COLOURS[2], COLOURS[2], 1])
        places = (np.arange(256)[:, None] // _BINS * steps).astype(np.float32)
        return np.asarray(cv2.transform(cv2.LUT(self.lab, places[None]), np.ones((1, 3), np.float32)), np.intp)

    def slopes(self, blur_px: float) -> Floats32:
        """The structure tensor of the colours, in squared grey levels a pixel, as if a blur took nothing off the slopes.

        (H, W, 3) float32: xx, xy, yy. Worked out once for each blur.
        """
        kept = self._slopes.get(blur_px)
        if kept is None:
            kept = self._slopes[blur_px] = _tensor(self.lab, blur_px)
        return kept

    @cached_property
    def steep(self) -> Floats32:
        """(H, W): how fast lightness and colour change at each pixel, in grey levels a pixel."""
        seen = self.slopes(0.0)
        return np.asarray(np.sqrt(seen[..., 0] + seen[..., 2]), np.float32)

    @cached_property
    def steepest(self) -> float:
        """What is about the steepest near the rough outline, in grey levels a pixel."""
        near = cv2.dilate(self.rough.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        return float(np.percentile(self.steep[near], _STEEPEST))


def _tensor(lab: Picture, blur_px: float) -> Floats32:
    plain = lab.astype(np.float32)
    if blur_px > 0:
        plain = np.asarray(cv2.GaussianBlur(plain, (0, 0), blur_px), np.float32)
    scale = 0.125 * max(1.0, blur_px)
    across = cv2.Sobel(plain, cv2.CV_32F, 1, 0, scale=scale)
    down = cv2.Sobel(plain, cv2.CV_32F, 0, 1, scale=scale)
    summed = np.ones((1, 3), np.float32)
    planes = [cv2.transform(product, summed) for product in (across * across, across * down, down * down)]
    return np.asarray(cv2.merge(planes), np.float32)


def crop(image: Picture, outline: Area) -> Crop:
    """Cut out what lies around an area, with a margin of a third of its size."""
    x0, y0, x1, y1 = outline.bounds
    margin = _MARGIN * max(x1 - x0, y1 - y0) + 4
    left, top = max(0, int(x0 - margin)), max(0, int(y0 - margin))
    right, bottom = min(image.shape[1], int(x1 + margin) + 1), min(image.shape[0], int(y1 + margin) + 1)
    part = image[top:bottom, left:right]
    longer = max(part.shape[:2])
    scale = min(max(1.0, min(_MOST_LARGER, SMALLEST_PX / longer)), LARGEST_PX / longer)
    size = (max(8, round(part.shape[1] * scale)), max(8, round(part.shape[0] * scale)))
    small = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC), np.uint8)
    smooth = cv2.GaussianBlur(small, (0, 0), _SMOOTH_PX * max(1.0, scale))
    ratio = (size[0] / part.shape[1], size[1] / part.shape[0])
    moved = stretched(translate(outline, -left, -top), ratio[0], ratio[1], origin=(0, 0))
    lines = [ring for one in polygon_list(polygons_of(moved)) for ring in (one.exterior, *one.interiors)]
    rings = tuple(np.asarray(ring.coords[:-1]) for ring in lines)
    lab = np.asarray(cv2.cvtColor(smooth, cv2.COLOR_RGB2LAB), np.uint8)
    return Crop(small, lab, filled(rings, lab.shape), rings, (left, top), ratio)


def filled(rings: Sequence[Floats], shape: Sequence[int]) -> Mask:
    """The pixels at least half of which lie inside rings, even-odd: a ring within a ring is a hole."""
    found = np.zeros(shape[:2], bool)
    for ring in rings:
        place, share = _covered(ring, shape)
        found[place] ^= share >= 128
    return found


def coverage(ring: Floats, shape: Sequence[int]) -> Floats32:
    """How much of each pixel lies inside a ring: (H, W), 0 to 1 in steps of a sixteenth."""
    found = np.zeros(shape[:2], np.float32)
    place, share = _covered(ring, shape, at_border=128)
    found[place] = share.astype(np.float32) / 255
    return found


def _covered(ring: Floats, shape: Sequence[int], at_border: int = 255) -> tuple[tuple[slice, slice], Picture]:
    """The same in the rows and columns around the ring, 0 to 255; none where it lies outside. `at_border`: what fine pixels on it count."""
    size = np.array([shape[1], shape[0]])
    (x0, y0), (x1, y1) = (np.clip(ends, 0, size).astype(int) for ends in (np.floor(ring.min(axis=0)) - 1, np.ceil(ring.max(axis=0)) + 1))
    if x1 <= x0 or y1 <= y0:
        return (slice(0), slice(0)), np.zeros((0, 0), np.uint8)
    fine = np.zeros(((y1 - y0) * _FINE, (x1 - x0) * _FINE), np.uint8)
    # fillPoly takes the pixels that the border runs through as well: half a fine pixel too many all round, which is an eighth here.
    points = [np.rint(((ring - (x0, y0)) * _FINE - 0.5) * 16).astype(np.int32)]
    cv2.fillPoly(fine, points, 255, shift=4)
    if at_border < 255:
        cv2.polylines(fine, points, True, at_border, shift=4)
    return (slice(y0, y1), slice(x0, x1)), _halved(_halved(fine))


def _halved(fine: Picture) -> Picture:
    # Twice by two is six times as fast as once by four, and comes to the same: the means of quarters of 255 round no half away.
    return np.asarray(cv2.resize(fine, (fine.shape[1] // 2, fine.shape[0] // 2), interpolation=cv2.INTER_AREA), np.uint8)


def enclosed(mask: Mask) -> list[Mask]:
    """The holes of a mask: what is not in it and has no way to the border."""
    count, labels = cv2.connectedComponents(np.pad((~mask).astype(np.uint8), 1, constant_values=1), connectivity=8)
    outside = labels[0, 0]
    inner = labels[1:-1, 1:-1]
    return [np.asarray(inner == label) for label in range(1, count) if label != outside]


def outline_of(mask: Mask, of: Crop, *, find_holes: bool) -> Polygon | None:
    """The outline of the piece of a mask that lies under the rough area, in pixels of the picture; None where hardly anything is left.

    Holes are kept where the rough area has one there, or, with `find_holes`, where they are large.
    """
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    tidy = cv2.morphologyEx(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel), cv2.MORPH_CLOSE, kernel)
    count, labels = cv2.connectedComponents(tidy, connectivity=4)
    if count < 2:
        return None
    shares = np.bincount(labels[of.rough], minlength=count)[1:]
    piece = np.asarray(labels == 1 + int(np.argmax(shares)))
    drawn = enclosed(of.rough)
    for hole in enclosed(piece):
        wanted = any((hole & other).sum() >= _HOLE_DRAWN * min(hole.sum(), other.sum()) for other in drawn)
        if not (wanted or (find_holes and hole.sum() >= _LEAST_HOLE * piece.sum())):
            piece |= hole
    plain = along_sides(piece)
    if plain.is_empty:
        return None
    larger = max(1.0, of.ratio[0])
    found = polygon_list(polygons_of(stretched(_simpler(plain, 0.6 * larger), 1 / of.ratio[0], 1 / of.ratio[1], origin=(0, 0))))
    if not found:
        return None
    moved = translate(max(found, key=lambda one: one.area), *of.corner)
    return moved if isinstance(moved, Polygon) and moved.is_valid else None


def along_sides(piece: Mask | Floats32, *, with_holes: bool = True) -> BaseGeometry:
    """The outline of a piece along its pixels' sides, in pixels of the mask; empty where the piece has hardly a pixel.

    Of shares of pixels (0 to 1) it runs where they are one half.
    """
    x0, y0, wide, high = cv2.boundingRect((piece > 0).astype(np.uint8))
    left, top = max(0, x0 - 1), max(0, y0 - 1)
    around = (piece[top : y0 + high + 1, left : x0 + wide + 1] * np.float32(255)).astype(np.uint8)
    # Finer, so that the outline runs along the pixels' sides instead of through their middles.
    fine = cv2.resize(around, None, fx=_FINE, fy=_FINE, interpolation=cv2.INTER_LINEAR)
    contours, tree = cv2.findContours(cv2.threshold(fine, 127, 1, cv2.THRESH_BINARY)[1], cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    lengths = [_length(contour) for contour in contours]
    outer = max(range(len(contours)), key=lambda at: lengths[at] if tree[0][at][3] < 0 else 0, default=0)
    if not lengths or lengths[outer] < 8:
        return Polygon()
    corner = np.array([left, top])
    plain: BaseGeometry = Polygon(_places(contours[outer]) + corner).buffer(0.125)
    for contour, length, link in zip(contours, lengths, tree[0], strict=True):
        if with_holes and link[3] == outer and length > 7:
            plain = plain.difference(Polygon(_places(contour) + corner).buffer(-0.125))
    return plain


def _length(contour: NDArray[Any]) -> int:
    """Of a contour, in steps from pixel to pixel."""
    return int(np.abs(contour - np.roll(contour, -1, axis=0)).max(axis=2).sum())


def _simpler(plain: BaseGeometry, tolerance: float) -> BaseGeometry:
    """With fewer corners. Minding at each corner that no line crosses another takes ten times as long, and hardly ever matters."""
    found = plain.simplify(tolerance, preserve_topology=False)
    return found if found.geom_type == plain.geom_type and not found.is_empty and found.is_valid else plain.simplify(tolerance)


def _places(contour: NDArray[Any]) -> Floats:
    return np.asarray((contour.reshape(-1, 2) + 0.5) / _FINE, np.float64)
