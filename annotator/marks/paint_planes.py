"""The overlay drawn on the planes of a film's picture: the same looks as paint.py has, quick enough for each frame of a film.

Lines are drawn by OpenCV straight into each plane, in the nearest width that it has (steps of two pixels); the hatch is worked out once a
film; a plate's text is painted once and laid where the plate is. Only pixels near what is drawn are touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, pairwise

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from annotator import fonts
from annotator.marks.looks import HATCH, INK, LEADER, PLATE_FRAME, PLATE_LINE, PLATE_PAD, PLATE_TEXT, WHITE, Look
from annotator.marks.overlays import Overlay, OverlayItem
from annotator.marks.planes import Planes, Tile, Tone, tone
from annotator.marks.plates import Plate
from annotator.marks.svg import baseline

Points = NDArray[np.float64]

_SHIFT = 4
_SIXTEENTHS = 1 << _SHIFT
_SAMPLES = 3
_SMOOTH_PX = 1.36
_COLOUR_WIDER = 0.25
"""Of a step: a line of two pixels of colour would be too pale in the narrower of the widths."""


def paint_planes(picture: Planes, described: Overlay) -> None:
    """Draw an overlay on a film's picture, in place.

    Parameters
    ----------
    picture : Planes
        Of any size in the proportions of the still that was described; the overlay is scaled along.
    described : Overlay
        What `overlay` returns.

    Raises
    ------
    ValueError
        The picture has not the still's proportions (to 1 %).
    """
    width, height = picture.size
    scale = width / described.size[0]
    if abs(height / described.size[1] / scale - 1) > 0.01:
        raise ValueError(f"a picture of {width} x {height} is not of a still of {described.size[0]} x {described.size[1]} pixels")
    for item in described.items:
        _paint_item(picture, item, scale, described)
    plates = [(plate, item.look) for item in described.items for plate in item.plates]
    for plate, _ in plates:
        if plate.leader is not None:
            _paint_leader(picture, np.array(plate.leader) * scale, described.unit * scale)
    for plate, look in plates:
        _paint_plate(picture, plate, look, scale, described.unit)


def _paint_item(picture: Planes, item: OverlayItem, scale: float, described: Overlay) -> None:
    look = item.look
    polygons = [[np.array(ring) * scale for ring in rings] for rings in item.polygons]
    if look.fill is not None or look.hatch:
        for rings in polygons:
            _paint_body(picture, rings, look, scale * described.unit)
    unit = scale * described.line_unit
    for stroke in look.strokes:
        width = stroke.width * unit * item.thinned
        for rings in polygons:
            for ring in rings:
                lines = [ring] if stroke.dash is None else _dashes(ring, stroke.dash, unit, width)
                _line(picture, lines, tone(stroke.colour), width, closed=stroke.dash is None)


def _line(picture: Planes, lines: Sequence[Points], colour: Tone, width: float, *, closed: bool) -> None:
    points, ends = np.concatenate(lines), [0, *accumulate(map(len, lines))]
    for (plane, share), value in zip(picture.each(), colour, strict=True):
        there, (thickness, _) = _fixed(points, share), _nearest_line(width / share, more=_COLOUR_WIDER if share > 1 else 0.0)
        fixed = [there[start:end] for start, end in pairwise(ends)]
        cv2.polylines(plane, fixed, closed, (value,), thickness, cv2.LINE_AA, _SHIFT)


def _nearest_line(width: float, *, more: float = 0.0) -> tuple[int, float]:
    """OpenCV's thickness for a smooth line of about this width, and the width that it really draws; `more` leans to the wider one.

    Measured on lines of five directions: thickness 2 n draws 2 n + 1.36 pixels wide, thickness 1 draws 1.32.
    """
    steps = max(0, round((width - _SMOOTH_PX) / 2 + more))
    return max(1, 2 * steps), 2 * steps + _SMOOTH_PX


def _fixed(points: Points, share: int) -> NDArray[np.int32]:
    """Points of the picture as OpenCV's of a plane: it counts from the middle of a pixel, we from its corner."""
    there: NDArray[np.int32] = np.rint(points * (_SIXTEENTHS / share) - _SIXTEENTHS / 2).astype(np.int32)
    return there


def _dashes(ring: Points, dash: tuple[float, float], unit: float, width: float) -> list[Points]:
    """The dashes along a ring from its first point. OpenCV rounds ends, by half the line's width: each dash is drawn shorter by that."""
    on, off = (length * unit for length in dash)
    points = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    middles = np.arange(0.0, along[-1], on + off) + on / 2
    half = max(0.01, (on - _nearest_line(width)[1]) / 2)
    ends = np.clip(np.column_stack([middles - half, middles + half]), 0.0, along[-1])
    at = np.dstack([np.interp(ends, along, points[:, axis]) for axis in (0, 1)])
    first, last = np.searchsorted(along, ends[:, 0], "right"), np.searchsorted(along, ends[:, 1], "left")
    return [
        np.vstack([pair[:1], points[start:end], pair[1:]]) if end > start else pair
        for pair, start, end in zip(at, first, last, strict=True)
    ]


def _paint_body(picture: Planes, rings: Sequence[Points], look: Look, unit: float) -> None:
    """Fill and hatch of one outline with its holes. Its edge is hard: lines come over it."""
    width, height = picture.size
    x0, y0 = np.maximum(0, np.floor(rings[0].min(axis=0) / 2).astype(int) * 2)
    x1, y1 = np.minimum((width, height), np.ceil(rings[0].max(axis=0) / 2).astype(int) * 2)
    if x1 <= x0 or y1 <= y0:
        return
    for number, (plane, share) in enumerate(picture.each()):
        part = plane[y0 // share : y1 // share, x0 // share : x1 // share]
        inside = np.zeros(part.shape, np.uint8)
        cv2.fillPoly(inside, [_fixed(ring - (x0, y0), share) for ring in rings], (255,), cv2.LINE_8, _SHIFT)
        if look.fill is not None:
            cv2.copyTo(cv2.LUT(part, _blending(tone(look.fill)[number], look.fill_opacity)), inside, part)
        if look.hatch:
            through, over = (each[y0 // share : y1 // share, x0 // share : x1 // share] for each in _hatch((width, height), unit)[number])
            cv2.copyTo(cv2.add(cv2.multiply(part, through, scale=1 / 255), over), inside, part)


@lru_cache(maxsize=32)
def _blending(over: int, opacity: float) -> NDArray[np.uint8]:
    """For each value what it becomes under another one of this opacity."""
    levels = np.arange(256, dtype=np.float64)
    table: NDArray[np.uint8] = np.rint(levels + opacity * (over - levels)).astype(np.uint8)
    return table


@lru_cache(maxsize=4)
def _hatch(size: tuple[int, int], unit: float) -> tuple[tuple[NDArray[np.uint8], NDArray[np.uint8]], ...]:
    """The hatch all over a picture of this size, for each plane: how much is seen through it (255: all), and what it adds."""
    left = (HATCH.under_width - HATCH.width) / 2
    under, over = (_stripes(size, stripe, unit) for stripe in ((0.0, HATCH.under_width), (left, left + HATCH.width)))
    tones = [(tone(HATCH.under_colour)[at], tone(HATCH.colour)[at]) for at in range(3)]
    planes = []
    for (below, above), share in zip(tones, (1, 2, 2), strict=True):
        small = (size[0] // share, size[1] // share)
        there = [cv2.resize(each, small, interpolation=cv2.INTER_AREA) for each in (under * np.float32(HATCH.under_opacity), over)]
        through = (1 - there[0]) * (1 - there[1])
        added = below * there[0] * (1 - there[1]) + above * there[1]
        planes.append((np.rint(255 * through).astype(np.uint8), np.rint(added).astype(np.uint8)))
    return tuple(planes)


def _stripes(size: tuple[int, int], stripe: tuple[float, float], unit: float) -> NDArray[np.float32]:
    """(H, W) float32, 0 to 1: how much of each pixel lies in a stripe, counted as paint.py counts it."""
    width, height = size[0] * _SAMPLES, size[1] * _SAMPLES
    across = ((np.arange(width + height - 1) + 1) / _SAMPLES * np.sqrt(0.5)) % (HATCH.period * unit)
    there = ((across >= stripe[0] * unit) & (across < stripe[1] * unit)).astype(np.float32)
    rows = np.lib.stride_tricks.sliding_window_view(there, width)
    return np.asarray(cv2.resize(np.ascontiguousarray(rows), size, interpolation=cv2.INTER_AREA), dtype=np.float32)


def _paint_leader(picture: Planes, ends: Points, line: float) -> None:
    _line(picture, [ends], tone(WHITE), 2 * LEADER * line, closed=False)
    _line(picture, [ends], tone(INK), LEADER * line, closed=False)


def _paint_plate(picture: Planes, plate: Plate, look: Look, scale: float, unit: float) -> None:
    line = unit * scale
    tile = _plate_tile(plate.lines, (round(plate.width * scale), round(plate.height * scale)), look.ground, look.text, line)
    tile.lay(picture, round(plate.x * scale), round(plate.y * scale))


@lru_cache(maxsize=128)
def _plate_tile(lines: tuple[str, ...], size: tuple[int, int], ground: str, ink: str, line: float) -> Tile:
    canvas = Image.new("RGB", size)
    draw = ImageDraw.Draw(canvas)
    draw.rectangle((0, 0, size[0] - 1, size[1] - 1), ground, ink, max(1, round(PLATE_FRAME * line)))
    here = Plate(lines, 0.0, 0.0, size[0] / line, (PLATE_LINE * len(lines) + PLATE_PAD))
    for number, text in enumerate(lines):
        at = (PLATE_PAD * line, baseline(here, number, 1.0) * line)
        draw.text(at, text, ink, ImageFont.truetype(fonts.face_for(text), PLATE_TEXT * line), anchor="ls")
    return Tile(np.asarray(canvas, dtype=np.uint8))
