"""The overlay drawn on a raster: for clips, cards made of pixels, and wherever SVG does not go.

Every line is first turned into the area that it covers, so that what is painted is the same geometry as the SVG's; areas are filled with
nine samples a pixel. In and out: (H, W, 3) uint8 RGB, upright.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from shapely.geometry import LinearRing, LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from annotator import fonts
from annotator.marks.looks import HATCH, INK, LEADER, PLATE_FRAME, PLATE_PAD, PLATE_TEXT, WHITE, Stroke
from annotator.marks.outlines import polygon_list, polygons_of
from annotator.marks.overlays import Overlay, OverlayItem, Rings
from annotator.marks.plates import Plate
from annotator.marks.svg import baseline

Picture = NDArray[np.uint8]
_Canvas = NDArray[np.float32]

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
    canvas = image.astype(np.float32)
    for item in described.items:
        _paint_item(canvas, item, scale, described)
    painted = np.clip(np.rint(canvas), 0, 255).astype(np.uint8)
    plates = [(plate, item) for item in described.items for plate in item.plates]
    return _paint_plates(painted, plates, scale, described.unit) if plates else painted


def _paint_item(canvas: _Canvas, item: OverlayItem, scale: float, described: Overlay) -> None:
    look, unit = item.look, described.unit
    polygons = [_scaled(rings, scale) for rings in item.polygons]
    if look.fill is not None:
        _fill(canvas, polygons, look.fill, look.fill_opacity)
    if look.hatch:
        _fill(canvas, polygons, HATCH.under_colour, HATCH.under_opacity, (0.0, HATCH.under_width), scale * unit)
        left = (HATCH.under_width - HATCH.width) / 2
        _fill(canvas, polygons, HATCH.colour, 1.0, (left, left + HATCH.width), scale * unit)
    rings = [ring for polygon in polygons for ring in (polygon.exterior, *polygon.interiors)]
    for stroke in look.strokes:
        _fill(canvas, _covered(rings, stroke, scale * described.line_unit, item.thinned), stroke.colour, 1.0)


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


def _fill(
    canvas: _Canvas,
    polygons: Iterable[Polygon],
    colour: str,
    opacity: float,
    stripe: tuple[float, float] | None = None,
    unit: float = 1.0,
) -> None:
    """Blend a colour over the polygons, or over stripes in them, as far as each pixel is covered."""
    shapes = [polygon for polygon in polygons if not polygon.is_empty]
    if not shapes:
        return
    bounds = MultiPolygon(shapes).bounds if len(shapes) > 1 else shapes[0].bounds
    x0, y0 = max(0, int(bounds[0]) - 1), max(0, int(bounds[1]) - 1)
    x1, y1 = min(canvas.shape[1], int(bounds[2]) + 2), min(canvas.shape[0], int(bounds[3]) + 2)
    if x1 <= x0 or y1 <= y0:
        return
    mask = np.zeros(((y1 - y0) * _SAMPLES, (x1 - x0) * _SAMPLES), np.uint8)
    for shape in shapes:
        rings = [np.asarray(ring.coords[:-1]) for ring in (shape.exterior, *shape.interiors)]
        # OpenCV counts from the middle of a pixel, we from its corner.
        fixed = [np.rint((((ring - (x0, y0)) * _SAMPLES) - 0.5) * (1 << _SHIFT)).astype(np.int32) for ring in rings]
        cv2.fillPoly(mask, fixed, 255, shift=_SHIFT)
    if stripe is not None:
        mask[~_striped(mask.shape, (x0, y0), stripe, unit)] = 0
    coverage = cv2.resize(mask, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA).astype(np.float32)[..., None] * (opacity / 255)
    there = canvas[y0:y1, x0:x1]
    there += coverage * (np.array(_rgb(colour), np.float32) - there)


def _striped(shape: tuple[int, ...], corner: tuple[int, int], stripe: tuple[float, float], unit: float) -> NDArray[np.bool_]:
    """Where the hatch is: its lines counted from the picture's corner, across the direction of 45 degrees."""
    x = corner[0] + (np.arange(shape[1]) + 0.5) / _SAMPLES
    y = corner[1] + (np.arange(shape[0]) + 0.5) / _SAMPLES
    across = ((x[None, :] + y[:, None]) * np.sqrt(0.5)).astype(np.float32) % (HATCH.period * unit)
    found: NDArray[np.bool_] = (across >= stripe[0] * unit) & (across < stripe[1] * unit)
    return found


def _paint_plates(image: Picture, plates: Iterable[tuple[Plate, OverlayItem]], scale: float, unit: float) -> Picture:
    canvas = Image.fromarray(image)
    draw = ImageDraw.Draw(canvas)
    face = ImageFont.truetype(fonts.BOLD, PLATE_TEXT * unit * scale)
    line = unit * scale
    for plate, item in plates:
        look = item.look
        if plate.leader is not None:
            ends = [(x * scale, y * scale) for x, y in plate.leader]
            draw.line(ends, WHITE, max(1, round(2 * LEADER * line)))
            draw.line(ends, INK, max(1, round(LEADER * line)))
        corners = (plate.x * scale, plate.y * scale, (plate.x + plate.width) * scale - 1, (plate.y + plate.height) * scale - 1)
        draw.rectangle(corners, look.ground, look.text, max(1, round(PLATE_FRAME * line)))
        for number, text in enumerate(plate.lines):
            at = ((plate.x + PLATE_PAD * unit) * scale, baseline(plate, number, unit) * scale)
            draw.text(at, text, look.text, face, anchor="ls")
    return np.asarray(canvas, dtype=np.uint8).copy()


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
