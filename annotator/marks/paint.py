"""The overlay drawn on a raster: for clips, cards made of pixels, and wherever SVG does not go.

Every line is first turned into the area that it covers, so that what is painted is the same geometry as the SVG's; areas are filled with
nine samples a pixel, and only pixels that are covered are touched. In and out: (H, W, 3) uint8 RGB, upright.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from annotator import fonts
from annotator.marks.looks import HATCH, INK, LEADER, PLATE_FRAME, PLATE_PAD, PLATE_TEXT, WHITE, Stroke
from annotator.marks.outlines import polygon_list, polygons_of
from annotator.marks.overlays import Overlay, OverlayItem, Rings
from annotator.marks.plates import Plate
from annotator.marks.svg import baseline

Picture = NDArray[np.uint8]
_Samples = NDArray[np.uint8]

_SAMPLES = 3
_SHIFT = 6


def paint(image: Picture, described: Overlay) -> Picture:
    """Draw an overlay on a picture of the still; the picture that was handed in stays as it is.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still or the same picture at another size; the overlay is scaled along.
    described : Overlay
        What `overlay` returns.

    Raises
    ------
    ValueError
        The picture has not the still's proportions (to 1 %), or is not of this shape.
    """
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8:
        raise ValueError(f"expected an (H, W, 3) uint8 picture, got {image.shape} {image.dtype}")
    scale = image.shape[1] / described.size[0]
    if abs(image.shape[0] / described.size[1] / scale - 1) > 0.01:
        raise ValueError(
            f"a picture of {image.shape[1]} x {image.shape[0]} is not of a still of {described.size[0]} x {described.size[1]} pixels"
        )
    painted = image.copy()
    for item in described.items:
        _paint_item(painted, item, scale, described)
    plates = [(plate, item) for item in described.items for plate in item.plates]
    return _paint_plates(painted, plates, scale, described.unit) if plates else painted


def _paint_item(canvas: Picture, item: OverlayItem, scale: float, described: Overlay) -> None:
    look, unit = item.look, described.unit
    polygons = [_scaled(rings, scale) for rings in item.polygons]
    body = _Filled.of(polygons, canvas.shape) if look.fill is not None or look.hatch else None
    if body is not None and look.fill is not None:
        body.blend(canvas, look.fill, look.fill_opacity)
    if body is not None and look.hatch:
        left = (HATCH.under_width - HATCH.width) / 2
        body.striped((0.0, HATCH.under_width), scale * unit).blend(canvas, HATCH.under_colour, HATCH.under_opacity)
        body.striped((left, left + HATCH.width), scale * unit).blend(canvas, HATCH.colour)
    rings = [ring for polygon in polygons for ring in (polygon.exterior, *polygon.interiors)]
    for stroke in look.strokes:
        line = _Filled.of(_covered(rings, stroke, scale * described.line_unit, item.thinned), canvas.shape)
        if line is not None:
            line.blend(canvas, stroke.colour)


def _scaled(rings: Rings, scale: float) -> Polygon:
    outline, *holes = ([(x * scale, y * scale) for x, y in ring] for ring in rings)
    return Polygon(outline, holes)


def _covered(rings: Iterable[LinearRing], stroke: Stroke, unit: float, thinned: float) -> list[Polygon]:
    """The area that a stroke covers along the rings."""
    lines: list[BaseGeometry] = []
    for ring in rings:
        lines += [ring] if stroke.dash is None else list(_dashes(ring, stroke.dash[0] * unit, stroke.dash[1] * unit))
    covered = [line.buffer(stroke.width * unit * thinned / 2, cap_style="flat", join_style="round", quad_segs=4) for line in lines]
    return list(polygon_list(polygons_of(unary_union(covered))))


def _dashes(ring: LinearRing, on: float, off: float) -> Iterator[LineString]:
    """The dashes along a ring from its first point, as SVG counts them."""
    points = shapely.get_coordinates(ring)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    for start in np.arange(0.0, along[-1], on + off):
        end = min(start + on, along[-1])
        if end - start < 1e-6:
            continue
        ends = [[np.interp(at, along, points[:, axis]) for axis in (0, 1)] for at in (start, end)]
        between = points[(along > start) & (along < end)]
        yield LineString(np.vstack([ends[:1], between, ends[1:]]))


@dataclass(frozen=True, eq=False)
class _Filled:
    """Where polygons cover a part of the picture: `_SAMPLES` x `_SAMPLES` samples a pixel, 0 or 255, from the pixel at `corner` on."""

    corner: tuple[int, int]
    samples: _Samples

    @classmethod
    def of(cls, polygons: Iterable[Polygon], shape: tuple[int, ...]) -> _Filled | None:
        """The polygons as far as they lie in a picture of this shape; None where nothing does."""
        shapes = [polygon for polygon in polygons if not polygon.is_empty]
        if not shapes:
            return None
        bounds = shapely.total_bounds(shapes)
        x0, y0 = max(0, int(bounds[0]) - 1), max(0, int(bounds[1]) - 1)
        x1, y1 = min(shape[1], int(bounds[2]) + 2), min(shape[0], int(bounds[3]) + 2)
        if x1 <= x0 or y1 <= y0:
            return None
        samples = np.zeros(((y1 - y0) * _SAMPLES, (x1 - x0) * _SAMPLES), np.uint8)
        for one in shapes:
            # OpenCV counts from the middle of a pixel, we from its corner.
            rings = [((shapely.get_coordinates(ring)[:-1] - (x0, y0)) * _SAMPLES) - 0.5 for ring in (one.exterior, *one.interiors)]
            cv2.fillPoly(samples, [np.rint(ring * (1 << _SHIFT)).astype(np.int32) for ring in rings], 255, shift=_SHIFT)
        return cls((x0, y0), samples)

    def striped(self, stripe: tuple[float, float], unit: float) -> _Filled:
        """What is left where the hatch is: its lines counted from the picture's corner, across the direction of 45 degrees."""
        height, width = self.samples.shape
        # Along a line at 45 degrees x + y stays the same, so one row of sums holds every row of the hatch, each one farther along.
        sums = self.corner[0] + self.corner[1] + (np.arange(height + width - 1) + 1) / _SAMPLES
        across = (sums * np.sqrt(0.5)) % (HATCH.period * unit)
        there = np.where((across >= stripe[0] * unit) & (across < stripe[1] * unit), np.uint8(255), np.uint8(0))
        rows = np.lib.stride_tricks.sliding_window_view(there, width)
        return _Filled(self.corner, np.bitwise_and(self.samples, rows))

    def blend(self, canvas: Picture, colour: str, opacity: float = 1.0) -> None:
        """Lay a colour over the picture as far as each pixel is covered."""
        height, width = (length // _SAMPLES for length in self.samples.shape)
        coverage = cv2.resize(self.samples, (width, height), interpolation=cv2.INTER_AREA)
        part = canvas[self.corner[1] : self.corner[1] + height, self.corner[0] : self.corner[0] + width]
        over = np.array(_rgb(colour), np.float32)
        edge = np.flatnonzero(coverage.ravel() - np.uint8(1) < 254)  # partly covered; what is not covered at all wraps around to 255
        rows, columns = np.divmod(edge, width)
        under = part[rows, columns].astype(np.float32)
        share = coverage.ravel()[edge].astype(np.float32)[:, None] * np.float32(opacity / 255)
        blended = np.rint(under + share * (over - under)).astype(np.uint8)
        levels = np.arange(256, dtype=np.float32)[:, None]
        inside = cv2.LUT(part, np.rint(levels + np.float32(opacity) * (over - levels)).astype(np.uint8)[None])
        cv2.copyTo(inside, (coverage == 255).view(np.uint8), part)
        part[rows, columns] = blended


def _paint_plates(image: Picture, plates: Sequence[tuple[Plate, OverlayItem]], scale: float, unit: float) -> Picture:
    canvas = Image.fromarray(image)
    draw = ImageDraw.Draw(canvas)
    line = unit * scale
    for plate, _ in plates:
        if plate.leader is not None:
            ends = [(x * scale, y * scale) for x, y in plate.leader]
            draw.line(ends, WHITE, max(1, round(2 * LEADER * line)))
            draw.line(ends, INK, max(1, round(LEADER * line)))
    for plate, item in plates:
        look = item.look
        corners = (plate.x * scale, plate.y * scale, (plate.x + plate.width) * scale - 1, (plate.y + plate.height) * scale - 1)
        draw.rectangle(corners, look.ground, look.text, max(1, round(PLATE_FRAME * line)))
        for number, text in enumerate(plate.lines):
            at = ((plate.x + PLATE_PAD * unit) * scale, baseline(plate, number, unit) * scale)
            draw.text(at, text, look.text, ImageFont.truetype(fonts.face_for(text), PLATE_TEXT * line), anchor="ls")
    return np.asarray(canvas, dtype=np.uint8).copy()


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
