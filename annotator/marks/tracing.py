"""The last step of a snug outline: it follows the edge it already lies on, by parts of a pixel.

In: a picture and a ring in its pixels. Out: the ring, moved along its own normals by a few pixels at most. Which outline that is,
rivals.py says; nothing here leaves one edge for another that is further off.

References
----------
Amini, Weymouth and Jain, "Using dynamic programming for solving variational problems in vision", PAMI 1990.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import make_valid
from shapely.geometry import Polygon

from annotator.marks.crops import Floats, Picture
from annotator.marks.cuts import best_round
from annotator.marks.outlines import polygon_list, polygons_of

Floats32 = NDArray[np.float32]

_REACH_PX, _ROW_PX, _ACROSS_PX = 2.5, 0.25, 0.5
"""How far the outline may move to each side, in what steps; half of what a slope is taken over. Chosen on made halls."""
_BLUR_PX, _FILM_BLUR_PX = 0.6, 0.8
"""Of a photo, and of a frame of film, whose compression makes edges ragged."""
_COARSER = 0.6
"""Of what one pixel of the crop is in the picture: by so much all of these grow where the outline was found on a smaller picture."""
_TIMES = 2
_MOST_COLUMNS = 600
_LEAST_COLUMNS = 32
_BEND_COST, _STAYS = 0.02, 0.15
_HALF = 4.0
"""The slope that counts half, as a multiple of the usual steepest one along the outline."""
_ALONG, _FILM_ALONG = 1.0, 3.0
"""Blur along the outline before, in columns; half of it after."""
_LEAST_SLOPE = 4.0
_RIM_PX = 1.0
_TILE_PX = 128
_THINNED_PX = 0.15
_LEAST_KEPT = 0.95
"""Of an outline that crosses itself, in one piece."""


def traced(image: Picture, ring: Floats, ratio: float, filmed: bool = False) -> Floats:
    """Let an outline follow the edge that it lies on.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    ring : (N, 2) float64
        Three corners or more, in pixels of the still.
    ratio : float
        Pixels of the crop it was found in, a pixel of the still.
    filmed : bool
        The still is a frame of film.

    Returns
    -------
    (M, 2) float64
        Within the still. The ring as it was, where there is no edge, or what came of it crosses itself. What lies on the still's own
        border stays there.
    """
    scale = max(1.0, _COARSER / ratio)
    blur_px, along = (_FILM_BLUR_PX * scale, _FILM_ALONG) if filmed else (_BLUR_PX * scale, _ALONG)
    margin = int(np.ceil(_REACH_PX * scale * (_TIMES + 1) + 2 * blur_px)) + 2
    x0, y0 = np.maximum(np.floor(ring.min(axis=0)).astype(int) - margin, 0)
    x1, y1 = np.ceil(ring.max(axis=0)).astype(int) + margin
    seen = _near(image[y0:y1, x0:x1], ring - (x0, y0), margin, scale, blur_px)
    size = np.array([image.shape[1], image.shape[0]], np.float64)
    for _ in range(_TIMES):
        ring = _moved(seen, np.array([x0, y0], np.float64), size, ring, scale, along)
    return ring


def _near(part: Picture, ring: Floats, margin: int, scale: float, blur_px: float) -> Floats32:
    """The blurred colours of a part of a picture in all tiles that lie within a margin of a ring; what lies in others is not told.

    In the picture's own levels, not in CIELAB: a blurred edge is steepest in its middle there.
    """
    found = np.zeros(part.shape, np.float32)
    points, _ = _steps(ring, scale)
    reach = margin + int(np.hypot(*(points - np.roll(points, 1, axis=0)).T).max())
    side = max(_TILE_PX, 2 * reach)  # so that what is within reach of a place lies in the tiles of four corners
    near = np.zeros((-(-part.shape[0] // side), -(-part.shape[1] // side)), bool)
    for corner in ((-reach, -reach), (-reach, reach), (reach, -reach), (reach, reach)):
        columns, rows = ((points + corner) // side).astype(int).T
        near[np.clip(rows, 0, near.shape[0] - 1), np.clip(columns, 0, near.shape[1] - 1)] = True
    beyond = int(np.ceil(4 * blur_px)) + 1
    for top, left in (np.argwhere(near) * side).tolist():
        y0, x0 = max(0, top - beyond), max(0, left - beyond)
        blurred = cv2.GaussianBlur(part[y0 : top + side + beyond, x0 : left + side + beyond].astype(np.float32), (0, 0), blur_px)
        tile = found[top : top + side, left : left + side]
        tile[:] = blurred[top - y0 :, left - x0 :][: tile.shape[0], : tile.shape[1]]
    return found


def _moved(seen: Floats32, corner: Floats, size: Floats, ring: Floats, scale: float, along: float) -> Floats:
    """Once. `seen` is the blurred part of the picture (of `size`) that begins at `corner`."""
    points, normals = _steps(ring, scale)
    rows = np.arange(-_REACH_PX, _REACH_PX + _ROW_PX / 2, _ROW_PX) * scale
    slope = _slopes(seen, points - corner, normals, rows, scale, along)
    usual = float(np.median(slope.max(axis=0)))
    if usual < _LEAST_SLOPE:
        return ring
    slope[:, ((points < _RIM_PX) | (points > size - _RIM_PX)).any(axis=1)] = 0
    gain = slope / (slope + _HALF * usual) - _STAYS * (rows[:, None] / rows[-1]) ** 2
    moves = _blurred(rows[best_round(gain, _BEND_COST)][None], along / 2)[0]
    found = np.clip(points + moves[:, None] * normals, 0, size)
    whole = polygons_of(make_valid(Polygon(found)))
    piece = max(polygon_list(whole), key=lambda one: one.area, default=None)
    if piece is None or Polygon(piece.exterior).area < _LEAST_KEPT * whole.area:
        return ring
    return np.asarray(piece.exterior.simplify(_THINNED_PX * scale).coords[:-1], np.float64)


def _steps(ring: Floats, step_px: float) -> tuple[Floats, Floats]:
    """Places a step apart along a ring, and the normal at each over the two places to both its sides."""
    closed = np.vstack([ring, ring[:1]])
    ends = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = int(np.clip(ends[-1] / step_px, _LEAST_COLUMNS, _MOST_COLUMNS))
    at = np.linspace(0, ends[-1], count, endpoint=False)
    points = np.column_stack([np.interp(at, ends, closed[:, axis]) for axis in (0, 1)])
    ways = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    return points, np.column_stack([-ways[:, 1], ways[:, 0]]) / np.maximum(np.hypot(*ways.T), 1e-9)[:, None]


def _slopes(seen: Floats32, points: Floats, normals: Floats, rows: Floats, scale: float, along: float) -> Floats:
    """How much the colour changes across the outline at each offset (rows) of each place (columns), in grey levels."""
    beyond = round(_ACROSS_PX / _ROW_PX)
    reach = (np.arange(len(rows) + 2 * beyond) - beyond) * _ROW_PX * scale + rows[0]
    places = (points[None] + reach[:, None, None] * normals[None] - 0.5).astype(np.float32)
    across = cv2.remap(seen, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    across = _blurred(np.asarray(across, np.float64), along)
    return np.asarray(np.sqrt(((across[2 * beyond :] - across[: -2 * beyond]) ** 2).sum(axis=2)), np.float64)


def _blurred(columns: Floats, by: float) -> Floats:
    """Blurred along the columns, round and round."""
    beyond = min(columns.shape[1], int(4 * by) + 1)
    wrapped = np.concatenate([columns[:, -beyond:], columns, columns[:, :beyond]], axis=1)
    return np.asarray(cv2.GaussianBlur(wrapped, (0, 0), sigmaX=by, sigmaY=0.01), np.float64)[:, beyond:-beyond]
