"""A thin bar, rope or rung: a line with a width that moves until both its sides lie on edges, and its ends on the ends of the thing.

In: a still and a rough line with a width, in its pixels. Out: a snug line and width, or nothing where no pair of edges is near. The width
that was drawn is only a hint: people draw a strap of three pixels as wide as a pole.

A piece of the line is looked at as a strip: rows along it, columns across it. Each way of turning it a little gives another mean profile
across; the one with the steepest pair of sides is taken. Where exactly the sides lie is fitted, because in a thing of three pixels the
blur of one side reaches the other and moves the steepest place outwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.course import Point
from annotator.marks.crops import Floats, Picture

_LEAST_SEEN = 0.6
_STEP_PX = 0.25
_TURN_PX = 4.0
"""How far one end may lie off while the other does not."""
_LEAST_STEEP = 1.5
"""Grey levels a pixel, of a side after smoothing."""
_PARTS = 6
_BESIDE_PX = 2.5
_ONE_GROUND = 2.0
_BLURS_PX = (0.45, 0.7, 1.0)
_END_PX = 4.0
_LEAST_END = 0.4
"""Of how much the bar differs from what is beside it: by so much the picture changes where it ends."""
_STRAIGHT = 0.35
"""Sine of the turn between two pieces below which their corner is no crossing of two lines but lies between both."""


@dataclass(frozen=True, eq=False)
class _Piece:
    """A straight piece as it lies in the picture: a place on its middle line, its way along, its width, and how much it stands out."""

    at: Floats
    way: Floats
    width: float
    contrast: float


def snug_line(image: Picture, line: Sequence[Point], width: float) -> tuple[tuple[Point, ...], float] | None:
    """Move each piece of a line, its corners and its free ends, and change its width, until its sides lie on edges; None without any.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    line : sequence of (x, y)
        Along the thing; closed where its last point is its first.
    width : float
        About as wide as the thing; a third or three times is near enough.

    Returns
    -------
    (line, width) or None
        As many points as were given.
    """
    lab = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2LAB), np.float32)
    points = np.asarray(line, np.float64)
    closed = len(points) > 3 and bool((points[0] == points[-1]).all())
    lengths = [float(np.hypot(*(there - here))) for here, there in pairwise(points)]
    pieces = [
        _piece(lab, here, there, width) if length >= 1 else None for (here, there), length in zip(pairwise(points), lengths, strict=True)
    ]
    found = [(piece, length) for piece, length in zip(pieces, lengths, strict=True) if piece is not None]
    if sum(length for _, length in found) < max(1.0, _LEAST_SEEN * sum(lengths)):
        return None
    snug_width = _middle_of([piece.width for piece, _ in found], [length for _, length in found])
    before = [pieces[-1] if closed else None, *pieces]
    after = [*pieces, pieces[0] if closed else None]
    moved = np.array([_corner(point, one, other) for point, one, other in zip(points, before, after, strict=True)])
    if not closed:
        for at, piece, outward in ((0, pieces[0], -1), (-1, pieces[-1], 1)):
            if piece is not None:
                moved[at] += _to_end(lab, moved[at], piece, outward) * outward * piece.way
    if np.hypot(*(moved - points).T).max() > max(1.5 * width, 1.5 * snug_width, _TURN_PX + 1):
        return None
    return tuple((float(x), float(y)) for x, y in moved), snug_width


def _middle_of(values: Sequence[float], weights: Sequence[float]) -> float:
    """The weighted median."""
    order = np.argsort(values)
    total = np.cumsum(np.asarray(weights)[order])
    return float(np.asarray(values)[order][int(np.searchsorted(total, total[-1] / 2))])


def _corner(point: Floats, one: _Piece | None, other: _Piece | None) -> Floats:
    """Where a corner belongs: on the crossing of its two pieces, or on the one that was found, at the place nearest to what was drawn."""
    if one is None or other is None:
        piece = one or other
        return point if piece is None else _foot(point, piece)
    turn = float(one.way[0] * other.way[1] - one.way[1] * other.way[0])
    if abs(turn) < _STRAIGHT:
        return np.asarray((_foot(point, one) + _foot(point, other)) / 2)
    between = other.at - one.at
    return np.asarray(one.at + one.way * float(between[0] * other.way[1] - between[1] * other.way[0]) / turn)


def _foot(point: Floats, piece: _Piece) -> Floats:
    return np.asarray(piece.at + piece.way * float((point - piece.at) @ piece.way))


def _piece(lab: NDArray[np.float32], here: Floats, there: Floats, width: float) -> _Piece | None:
    """The straight thing near a straight stroke: turned, moved and widened until its two sides are as steep as they get."""
    length = float(np.hypot(*(there - here)))
    way = (there - here) / length
    normal = np.array([-way[1], way[0]])
    reach = max(1.6 * width, 7.0)
    across = np.arange(-reach, reach + _STEP_PX, _STEP_PX)
    # The ends are left out: what was drawn may reach past the thing.
    along = np.linspace(0.06, 0.94, max(8, min(160, int(0.88 * length))))
    most = min(_TURN_PX, 0.25 * length)
    best = (0.0, 0.0, 0, 0)
    for turns, few in ((np.arange(-most, most + 0.01, 1.0), along[::3]), (np.array([-0.5, -0.25, 0.0, 0.25, 0.5]), along)):
        about, best = best[1], (0.0, best[1], 0, 0)
        for turn in turns + about:
            # The mean, not the median: of a step that wanders evenly the median is as sharp as of one that stays.
            profile = _strip(lab, here, there, normal, across, few, float(turn)).mean(axis=0, dtype=np.float64)
            score, first, last = _sides(profile, across, width)
            if score > best[0]:
                best = score, float(turn), first, last
    if best[0] <= 0:
        return None
    _, turn, first, last = best
    left, right = float(across[first]), float(across[last])
    turn += _more_turn(lab, here, there, normal, across, along, turn, (left, right))
    profile = _profile(lab, here, there, normal, across, along, turn)
    left, right = _fitted(profile, across, left, right)
    inside = (across > left) & (across < right)
    if not inside.any():
        return None
    near = ((across > left - 4) & (across < left - 1)) | ((across > right + 1) & (across < right + 4))
    contrast = float(np.linalg.norm(profile[inside].mean(axis=0) - profile[near].mean(axis=0))) if near.any() else 0.0
    middle = (here + there) / 2 + normal * (left + right) / 2
    turned = way * length + normal * 2 * turn
    return _Piece(middle, turned / np.hypot(*turned), right - left, contrast)


def _more_turn(
    lab: NDArray[np.float32],
    here: Floats,
    there: Floats,
    normal: Floats,
    across: Floats,
    along: Floats,
    turn: float,
    sides: tuple[float, float],
) -> float:
    """How much more the stroke is to be turned, from where each part of it shows the thing in comparison with the whole."""
    parts = np.array_split(along, max(2, min(_PARTS, len(along) // 6)))
    whole = _profile(lab, here, there, normal, across, along, turn)
    shifts = np.arange(-1.5, 1.51, 0.125)
    inner = (across > sides[0] - 2.5) & (across < sides[1] + 2.5)
    rows = []
    for part in parts:
        own = _profile(lab, here, there, normal, across, part, turn)
        errors = []
        for shift in shifts:
            moved = np.column_stack([np.interp(across[inner] + shift, across, own[:, channel]) for channel in range(3)])
            errors.append(float(np.abs(moved - whole[inner]).sum()))
        rows.append((2 * float(part.mean()) - 1, float(shifts[int(np.argmin(errors))])))
    places, offs = np.array(rows).T
    return float(np.clip(np.polyfit(places, offs, 1)[0], -1.0, 1.0))


def _profile(lab: NDArray[np.float32], here: Floats, there: Floats, normal: Floats, across: Floats, along: Floats, turn: float) -> Floats:
    """The colour across a stroke, the median along it: what hangs across it does not count."""
    return np.asarray(np.median(_strip(lab, here, there, normal, across, along, turn), axis=0), np.float64)


def _strip(
    lab: NDArray[np.float32], here: Floats, there: Floats, normal: Floats, across: Floats, along: Floats, turn: float
) -> NDArray[np.float32]:
    """What lies along and across a stroke whose far end is moved by `turn` and its near end as far the other way."""
    shift = (2 * along - 1) * turn
    places = (here + along[:, None] * (there - here))[:, None, :] + (across[None, :] + shift[:, None])[..., None] * normal - 0.5
    columns, rows = (places[..., axis].astype(np.float32) for axis in (0, 1))
    return np.asarray(cv2.remap(lab, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32)


def _sides(profile: Floats, across: Floats, width: float) -> tuple[float, int, int]:
    """The pair of edges that is steepest, has one ground on both sides, and is near what was drawn: a score and its places in `across`.

    A round thing is lit from one side: bright, then dark, then the ground again. Its steepest edge may be the one in its middle; what lies
    left of the bright and right of the dark is the same.
    """
    smooth = cv2.GaussianBlur(profile.reshape(1, -1, 3), (0, 0), 0.6 / _STEP_PX).reshape(-1, 3)
    steep = np.sqrt((np.gradient(smooth, _STEP_PX, axis=0) ** 2).sum(axis=1))
    summits = np.flatnonzero((steep[1:-1] >= steep[:-2]) & (steep[1:-1] > steep[2:]) & (steep[1:-1] > _LEAST_STEEP)) + 1
    if len(summits) < 2:
        return 0.0, 0, 0
    one, other = np.triu_indices(len(summits), 1)
    left, right = summits[one], summits[other]
    apart = across[right] - across[left]
    middle = (across[right] + across[left]) / 2
    likely = np.exp(-0.5 * (np.log(apart / width) / 0.9) ** 2 - 0.5 * (middle / max(0.35 * width, 2.5)) ** 2)
    ground = cv2.blur(profile.reshape(1, -1, 3), (2 * round(1.25 / _STEP_PX) + 1, 1), borderType=cv2.BORDER_REPLICATE).reshape(-1, 3)
    beside = round(_BESIDE_PX / _STEP_PX)
    before, after = ground[np.maximum(left - beside, 0)], ground[np.minimum(right + beside, len(ground) - 1)]
    differ = np.linalg.norm(before - after, axis=1)
    peaks = np.array(
        [np.linalg.norm(smooth[i : j + 1] - (g + h) / 2, axis=1).max() for i, j, g, h in zip(left, right, before, after, strict=True)]
    )
    score = np.sqrt(steep[left] * steep[right]) * likely * np.exp(-_ONE_GROUND * differ / np.maximum(peaks, 1e-6))
    score[(apart < 1.25) | (apart > 3.5 * width)] = 0
    at = int(np.argmax(score))
    return float(score[at]), int(left[at]), int(right[at])


def _fitted(profile: Floats, across: Floats, left: float, right: float) -> tuple[float, float]:
    """Both sides to a fraction of a pixel: a ground on each, between them an even slope, blurred alike, that explain the profile best."""
    chosen = (across > left - 3) & (across < right + 3)
    places, seen = across[chosen], profile[chosen]
    best = (np.inf, left, right)
    step = 0.6
    for _ in range(4):
        _, at_left, at_right = best
        for blur in _BLURS_PX:
            for one in at_left + step * np.arange(-1, 2):
                for other in at_right + step * np.arange(-1, 2):
                    if other - one < 0.8 or abs(one - left) > 1 or abs(other - right) > 1:
                        continue
                    error = _misfit(places, seen, one, other, blur)
                    if error < best[0]:
                        best = error, float(one), float(other)
        step /= 2
    return best[1], best[2]


def _misfit(places: Floats, seen: Floats, left: float, right: float, blur: float) -> float:
    """What such a thing leaves unexplained, with the colours that explain most."""
    first, last = _step((places - left) / blur), _step((places - right) / blur)
    inside = first - last
    parts = np.column_stack([1 - first, last, inside, inside * (2 * (places - left) / (right - left) - 1)])
    normal = parts.T @ parts
    colours = np.linalg.solve(normal + np.diag([1e-6, 1e-6, 1e-6, 1e-2]), parts.T @ seen)
    return float(((seen - parts @ colours) ** 2).sum())


def _step(at: Floats) -> Floats:
    """A blurred step from 0 to 1 (the logistic curve nearest to the normal one)."""
    return np.asarray(1 / (1 + np.exp(-np.clip(1.702 * at, -30, 30))))


def _to_end(lab: NDArray[np.float32], end: Floats, piece: _Piece, outward: int) -> float:
    """How far beyond (or before) a free end the thing ends; 0 where that cannot be seen."""
    along = np.arange(-_END_PX - 3, _END_PX + 3 + _STEP_PX, _STEP_PX)
    half = np.linspace(-0.3, 0.3, 5) * piece.width
    normal = np.array([-piece.way[1], piece.way[0]])
    places = (end + outward * along[:, None] * piece.way)[:, None, :] + half[None, :, None] * normal - 0.5
    columns, rows = (places[..., axis].astype(np.float32) for axis in (0, 1))
    seen = np.asarray(cv2.remap(lab, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64)
    profile = np.median(seen, axis=1)
    best, at = 0.0, 0.0
    size = round(3 / _STEP_PX)
    for place in range(size, len(along) - size):
        before, after = profile[place - size : place], profile[place + 1 : place + 1 + size]
        # How much the halves differ, less how much each differs in itself.
        jump = float(np.linalg.norm(before.mean(axis=0) - after.mean(axis=0)))
        spread = float(np.sqrt((before.var(axis=0).sum() + after.var(axis=0).sum()) / 2))
        score = (jump - spread) * float(np.exp(-0.5 * (along[place] / 2.5) ** 2))
        if score > best and jump >= _LEAST_END * piece.contrast:
            best, at = score, float(along[place])
    return at
