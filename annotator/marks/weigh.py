"""Which of several outlines of one thing is the best: a sum of what can be seen of each, with fitted weights.

In: a crop (crops.py) and outlines in its pixels, each with how it was found. Out: a weight for each, to be compared within one call only.

The weights were fitted (scripts/fit_outlines.py: what the middle of the likely outlines overlaps with the truth) on rendered halls of
random things, as photos and as frames of films, and on photos with certain truth, with outlines drawn badly; never on the demo's
stills.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from annotator.marks.corners import LEAST_EDGE, Floats32, slopes, steepest, thinned
from annotator.marks.crops import Crop, Floats, Mask, filled

VOTED, WAY, CORNERS, EDGES = "voted", "way", "corners", "edges"
_EDGE = 0.4
_RIM_PX = 1.5
"""Nothing is known of edges so near to the crop's own."""
_BESIDE_PX = 2.0
_GROUND_PX = 4
_PARTS = 12
_EVEN = 30.0
_WORST_PARTS = 3
_LIKELY_SCALES = (0.8, 1.25)
_MOST_DRAWN = 64
"""Corners of what was drawn that are asked for how far off they are, of more of them every second, third, and so on."""
_MOST_TURNS = 6.0
_HAND, _MOST_OFF = 0.03, 3.0
"""How far a hand is off, as a share of the thing's diagonal: the usual error, and how many times that counts at most."""
_GROWN = (0.88, 0.95, 1.02, 1.09, 1.16)
"""How much too large a hand may have drawn."""
_FEW = 0.02
"""Of the diagonal: what a corner stands off the sides without it at least."""

WEIGHTS = {
    "edge": 2.761,
    "edge nearly everywhere": 0.665,
    "parted": 0.213,
    "parted nearly everywhere": 0.218,
    "uneven inside": -0.369,
    "likely inside": 0.944,
    "likely around": -1.655,
    "near": 0.202,
    "other size": 0.017,
    "larger": 0.480,
    "agreed": -0.767,
    "agreed by half": 0.852,
    "length": 0.187,
    "corners": -0.329,
    "voted": 0.035,
    "straight": -0.133,
    "by edges": 0.107,
    "by edges, large": -0.096,
    "straight, many drawn": 0.039,
    "straight, round drawn": -0.109,
    "straight, large": -0.027,
    "straight, agreed": 0.149,
    "straight, edge": -0.060,
    "straight, near": -0.098,
    "near, as large": 2.933,
    "corners off": -0.289,
    "bends": -0.054,
    "misdrawn": -0.172,
    "misdrawn, worst": -0.037,
    "drawn off": 0.097,
    "drawn off, mean": -0.629,
    "passed": -0.087,
    "passed, mean": -0.303,
    "passed, worst": 0.052,
    "bitten": 0.297,
    "bitten off": 0.135,
    "bitten, not drawn": 0.031,
    "bitten, along": -0.581,
    "bitten, edge": 0.178,
    "bitten, weakest edge": -0.484,
    "bitten, colours": 0.691,
}
_OF_BITES = ("bitten", "bitten off", "bitten, not drawn", "bitten, along", "bitten, edge", "bitten, weakest edge", "bitten, colours")


@dataclass(frozen=True, eq=False)
class Outline:
    """One outline and how it was found: by the vote (`VOTED`), by a single way of looking (`WAY`), or by moving
    corners, colours minded to the end (`CORNERS`) or only at first (`EDGES`); `whole` is the ring before bites (notches.py) were taken."""

    ring: Floats
    how: str
    whole: Floats | None = None


def weigh(here: Crop, like: Floats32, outlines: Sequence[Outline], drawn: Floats, diagonal_px: float) -> Floats:
    """Weigh outlines of one thing against each other.

    Parameters
    ----------
    here : Crop
        What lies around, with the rough area.
    like : (H, W) float32
        Of `corners.likeness`, for the rough area.
    outlines : sequence of Outline
        In pixels of the crop.
    drawn : (N, 2) float64
        The ring that was drawn: of many corners, it is likely to be round.
    diagonal_px : float
        Of the drawn outline, in pixels of the picture.

    Returns
    -------
    (len(outlines),) float64
        Higher is better.
    """
    seen = clues(here, like, outlines, drawn, diagonal_px)
    return np.array([sum(WEIGHTS[name] * value for name, value in one.items()) for one in seen])


def clues(here: Crop, like: Floats32, outlines: Sequence[Outline], drawn: Floats, diagonal_px: float) -> list[dict[str, float]]:
    """What is weighed, by name: the keys of `WEIGHTS`."""
    masks = [filled([one.ring], like.shape) for one in outlines]
    shares = shared(masks)
    field = slopes(here, 0.0)
    lab = here.lab.astype(np.float32)
    half = max(LEAST_EDGE, _EDGE * steepest(here))
    size = max(1.0, float(np.hypot(*np.ptp(drawn, axis=0))))
    some = drawn[:: 1 + (len(drawn) - 1) // _MOST_DRAWN]
    found = []
    for at, (one, mask) in enumerate(zip(outlines, masks, strict=True)):
        others = np.delete(shares[at], at) if len(masks) > 1 else np.zeros(1)
        own = _along(lab, field, like, one.ring, half)
        ground = np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((2 * _GROUND_PX + 1,) * 2, np.uint8)) > 0) & ~mask
        grown = float(np.log(max(0.01, mask.sum() / max(1, here.rough.sum()))))
        points = np.vstack([one.ring, one.ring[:1]])
        as_drawn = _as_drawn(drawn, grown)
        own |= {
            "likely inside": float(like[mask].mean()) if mask.any() else -1.0,
            "likely around": float(like[ground].mean()) if ground.any() else 0.0,
            "near": share(mask, here.rough),
            "other size": abs(grown),
            "larger": max(0.0, grown),
            "agreed": float(np.mean(others)),
            "agreed by half": float(np.median(others)),
            "length": float(np.hypot(*np.diff(points, axis=0).T).sum()) / size / 3,
            "corners": float(np.log(len(one.ring))) / 3,
            "voted": float(one.how == VOTED),
        }
        straight = float(one.how in (CORNERS, EDGES))
        own |= {
            "straight": straight,
            "by edges": float(one.how == EDGES),
            "by edges, large": float(one.how == EDGES) * float(np.log(max(diagonal_px, 10) / 100)),
            "straight, many drawn": straight * max(0, len(drawn) - 6) / 6,
            "straight, round drawn": straight * (len(drawn) > 9),
            "straight, large": straight * float(np.log(max(diagonal_px, 10) / 100)),
            "straight, agreed": straight * own["agreed"],
            "straight, edge": straight * own["edge"],
            "straight, near": straight * own["near"],
            "near, as large": share(mask, filled([as_drawn], mask.shape)),
            "corners off": 10 * float(_off(some, one.ring).mean()) / size,
            "bends": min(_turns(one.ring), _MOST_TURNS) / 3,
            **_misdrawn(as_drawn[:: 1 + (len(drawn) - 1) // _MOST_DRAWN], one.ring, size),
            **_by_hand(some, one.ring, size),
            **_bites(one, mask, here.rough, lab, field, half),
        }
        found.append(own)
    return found


def _bites(one: Outline, mask: Mask, rough: Mask, lab: Floats32, field: Floats32, half: float) -> dict[str, float]:
    """Of what was taken out of an outline: that something was, how much, the share of it that was not drawn either, how far it goes along
    the outline, and what its border is like: an edge, and other colours on its two sides."""
    if one.whole is None:
        return dict.fromkeys(_OF_BITES, 0.0)
    bite = filled([one.whole], mask.shape) & ~mask
    size = int(bite.sum())
    points, outward = _walk(one.ring)
    new = _off(points, one.whole) > _BESIDE_PX
    points, outward = (points[new], outward[new]) if new.any() else (points, outward)
    edge = _edge(field, points, outward, half)
    apart = (_BESIDE_PX + 0.5) * outward
    colours = np.hypot(*(_at(lab, points - apart) - _at(lab, points + apart))[:, 1:].T)
    before, out = _walk(one.whole)
    told = (
        1.0,
        5 * size / max(1, size + int(mask.sum())),
        float((bite & ~rough).sum() / max(1, size)),
        float(_at(bite.astype(np.float32), before - _BESIDE_PX * out).mean()),
        float(edge.mean()),
        float(np.percentile(edge, 20)),
        min(1.0, float(np.median(colours)) / _EVEN),
    )
    return dict(zip(_OF_BITES, told, strict=True))


def share(one: Mask, other: Mask) -> float:
    """Intersection over union."""
    return float((one & other).sum() / max(1, (one | other).sum()))


def shared(masks: Sequence[Mask]) -> Floats:
    """The same of each mask with each: (N, N)."""
    flat = np.array(masks, np.float32).reshape(len(masks), -1)  # sums of up to 2 ** 24 ones are exact
    both = (flat @ flat.T).astype(np.float64)
    own = both.diagonal()
    return np.asarray(both / np.maximum(1, own[:, None] + own[None] - both))


def _as_drawn(drawn: Floats, grown: float) -> Floats:
    """What was drawn, scaled about its middle towards `grown` (the natural logarithm) times its area: people draw too large or too small
    more often than they draw another shape."""
    middle = drawn.mean(axis=0)
    return np.asarray(middle + (drawn - middle) * np.clip(np.exp(grown / 2), *_LIKELY_SCALES))


def _misdrawn(corners: Floats, ring: Floats, size: float) -> dict[str, float]:
    """How unlikely it is that a hand drew these corners around a ring: squares of their distances, as normal errors have them."""
    off = np.minimum(_off(corners, ring) / (_HAND * size), _MOST_OFF) ** 2
    return {"misdrawn": float(off.mean()) / 2, "misdrawn, worst": float(np.percentile(off, 80)) / 2}


def _by_hand(drawn: Floats, ring: Floats, size: float) -> dict[str, float]:
    """The same both ways, and all corners together: how unlikely it is that a hand drew these around a ring, and that it drew past
    the ring's own corners, at the most likely of a few sizes it may have drawn at."""
    middle = drawn.mean(axis=0)
    few = thinned(ring, _FEW * size)
    corners = few if len(few) > 2 else ring
    likeliest = None
    for grown in _GROWN:
        drawn_off, corners_off = (
            np.minimum(_off(points, around) / (_HAND * size), _MOST_OFF) ** 2 / 2
            for points, around in ((middle + (drawn - middle) / grown, ring), (corners, middle + (drawn - middle) / grown))
        )
        if likeliest is None or drawn_off.sum() + corners_off.sum() < likeliest[0].sum() + likeliest[1].sum():
            likeliest = drawn_off, corners_off
    assert likeliest is not None
    drawn_off, corners_off = likeliest
    return {
        "drawn off": float(drawn_off.sum()) / 8,
        "drawn off, mean": float(drawn_off.mean()),
        "passed": float(corners_off.sum()) / 8,
        "passed, mean": float(corners_off.mean()),
        "passed, worst": float(np.sort(corners_off)[-2:].mean()),
    }


def _off(points: Floats, ring: Floats) -> Floats:
    """How far each point is from a ring, in pixels."""
    sides = np.roll(ring, -1, axis=0) - ring
    ways = points[:, None] - ring
    along = np.clip((ways * sides).sum(axis=2) / np.maximum((sides**2).sum(axis=1), 1e-9), 0, 1)
    return np.asarray(np.sqrt(((ways - along[..., None] * sides) ** 2).sum(axis=2)).min(axis=1))


def _turns(ring: Floats) -> float:
    """How often a ring turns round: once where it bends to one side only."""
    ways = np.arctan2(*(np.roll(ring, -1, axis=0) - ring).T[::-1])
    return float(np.abs((np.roll(ways, -1) - ways + np.pi) % (2 * np.pi) - np.pi).sum() / (2 * np.pi))


def _along(lab: Floats32, field: Floats32, like: Floats32, ring: Floats, half: float) -> dict[str, float]:
    """What is seen at an outline, on its inner and on its outer side."""
    points, outward = _walk(ring)
    height, width = like.shape
    known = (points > _RIM_PX).all(axis=1) & (points < (width - _RIM_PX, height - _RIM_PX)).all(axis=1)
    edge = _edge(field, points, outward, half)
    edge = edge[known] if known.sum() > 8 else edge
    parted = _at(like, points - _BESIDE_PX * outward) - _at(like, points + _BESIDE_PX * outward)
    inner = _at(lab, points - (_BESIDE_PX + 0.5) * outward)
    pieces = np.array([piece.mean(axis=0) for piece in np.array_split(inner, _PARTS)])
    worst = np.sort([part.mean() for part in np.array_split(edge, _PARTS)])[:_WORST_PARTS]
    return {
        "edge": float(edge.mean()),
        "edge nearly everywhere": float(worst.mean()),
        "parted": float(parted.mean()),
        "parted nearly everywhere": float(np.percentile(parted, 20)),
        "uneven inside": float(pieces.std(axis=0).sum()) / _EVEN,
    }


def _edge(field: Floats32, points: Floats, outward: Floats, half: float) -> Floats:
    """How steep the colours are across an outline, 0 to 1, 0.5 where it is `half`."""
    slope = _at(field, points)
    nx, ny = outward.T
    steep = np.sqrt(np.maximum(nx * nx * slope[:, 0] + 2 * nx * ny * slope[:, 1] + ny * ny * slope[:, 2], 0))
    return np.asarray(steep / (steep + half), np.float64)


def _walk(ring: Floats) -> tuple[Floats, Floats]:
    """Places about a pixel apart along a ring, at least 24, and the way outward at each."""
    closed = np.vstack([ring, ring[:1]])
    sides = np.diff(closed, axis=0)
    ends = np.concatenate([[0.0], np.cumsum(np.hypot(*sides.T))])
    count = max(24, int(ends[-1]))
    at = (np.arange(count) + 0.5) * ends[-1] / count
    side = np.clip(np.searchsorted(ends, at) - 1, 0, len(ring) - 1)
    ways = sides[side] / np.maximum(np.hypot(*sides[side].T), 1e-9)[:, None]
    x, y = ring.T
    turn = -1.0 if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0 else 1.0
    points = np.column_stack([np.interp(at, ends, closed[:, axis]) for axis in (0, 1)])
    return points, turn * np.column_stack([-ways[:, 1], ways[:, 0]])


def _at(field: Floats32, points: Floats) -> Floats32:
    columns, rows = ((points[None, :, axis] - 0.5).astype(np.float32) for axis in (0, 1))
    return np.asarray(cv2.remap(field, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[0], np.float32)
