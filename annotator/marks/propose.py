"""Regions of a still that a surface's words could mean: `the tall blue platform`, `yellow mat on the left`. Offered, never put in unasked.

Two ways of seeing a colour take turns, best first: a table over hue that forgives light and shade, and a split of the picture by nearness
to the hue. In: (H, W, 3) uint8 RGB, upright, and the words. Snapping the region that a person picks is snap.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.course import Point

Picture = NDArray[np.uint8]
_Mask = NDArray[np.bool_]
_Floats = NDArray[np.float32]

LONG_SIDE_PX = 480
MOST = 4
_LEAST_SHARE = 0.0006
_SAME = 0.6
_MOST_SURE = 0.9
_ALONE = 0.8

COLOURS: dict[str, tuple[str, ...]] = {
    "red": ("red",),
    "orange": ("orange",),
    "yellow": ("yellow",),
    "green": ("green",),
    "blue": ("blue",),
    "purple": ("purple",),
    "violet": ("purple",),
    "pink": ("pink",),
    "brown": ("brown",),
    "black": ("black",),
    "white": ("white",),
    "grey": ("grey",),
    "gray": ("grey",),
    "silver": ("grey",),
    "teal": ("green", "blue"),
    "turquoise": ("green", "blue"),
    "cyan": ("green", "blue"),
    "navy": ("blue",),
    "maroon": ("red",),
    "crimson": ("red",),
    "gold": ("yellow", "orange"),
    "golden": ("yellow", "orange"),
    "wooden": ("brown", "orange"),
    "wood": ("brown", "orange"),
    "steel": ("grey",),
    "metal": ("grey",),
}
"""Colour words and the classes of the table that they may mean; teal lies on the border of two."""
_HUE = {"red": 0.0, "orange": 28.0, "yellow": 55.0, "green": 120.0, "blue": 215.0, "purple": 278.0, "pink": 330.0, "brown": 25.0}

# What a word of size or place prefers: a share from 0 to 1 of a region's box (x0, y0, x1, y1 as shares of the picture) and area share.
_PREFERS: dict[str, Callable[[tuple[float, float, float, float], float], float]] = {
    "left": lambda at, _: 1 - (at[0] + at[2]) / 2,
    "right": lambda at, _: (at[0] + at[2]) / 2,
    "middle": lambda at, _: 1 - abs(at[0] + at[2] - 1),
    "center": lambda at, _: 1 - abs(at[0] + at[2] - 1),
    "centre": lambda at, _: 1 - abs(at[0] + at[2] - 1),
    "upper": lambda at, _: 1 - (at[1] + at[3]) / 2,
    "above": lambda at, _: 1 - (at[1] + at[3]) / 2,
    "overhead": lambda at, _: 1 - (at[1] + at[3]) / 2,
    "lower": lambda at, _: (at[1] + at[3]) / 2,
    "below": lambda at, _: (at[1] + at[3]) / 2,
    "floor": lambda at, _: (at[1] + at[3]) / 2,
    "mat": lambda at, _: (at[1] + at[3]) / 2,
    "tall": lambda at, _: min(1.0, (at[3] - at[1]) / max(at[2] - at[0], 1e-6) / 2),
    "post": lambda at, _: min(1.0, (at[3] - at[1]) / max(at[2] - at[0], 1e-6) / 2),
    "long": lambda at, _: min(1.0, (at[2] - at[0]) / max(at[3] - at[1], 1e-6) / 3),
    "beam": lambda at, _: min(1.0, (at[2] - at[0]) / max(at[3] - at[1], 1e-6) / 3),
    "big": lambda _, area: min(1.0, (area / 0.1) ** 0.5),
    "large": lambda _, area: min(1.0, (area / 0.1) ** 0.5),
    "huge": lambda _, area: min(1.0, (area / 0.2) ** 0.5),
    "small": lambda _, area: 1 - min(1.0, (area / 0.1) ** 0.5),
    "little": lambda _, area: 1 - min(1.0, (area / 0.1) ** 0.5),
}


@dataclass(frozen=True)
class Candidate:
    """A region that the words could mean: its outline in pixels of the picture, how sure (0 to 1, best of all is not 1), and why."""

    ring: tuple[Point, ...]
    score: float
    why: str


@dataclass(frozen=True, eq=False)
class _Region:
    mask: _Mask
    weight: float
    box: tuple[float, float, float, float]
    share: float


def propose(image: Picture, words: str, *, most: int = MOST) -> tuple[Candidate, ...]:
    """Candidate regions for a surface's words, best first.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    words : str
        The surface as it was said, with its colour: "the blue platform", "tall red post on the left".
    most : int
        At most this many.

    Returns
    -------
    tuple of Candidate
        Empty where the words name no colour or the picture has none of it.

    Notes
    -----
    Under a colour cast or in a half-dark hall the first candidate is right less often: show several, let a person pick.
    """
    spoken = words.casefold().replace("-", " ").replace(",", " ").split()
    names = [word for word in spoken if word in COLOURS]
    wanted = [word for word in spoken if word in _PREFERS or word.removesuffix("s") in _PREFERS]
    if not names or min(image.shape[:2]) < 16:
        return ()
    classes = tuple(dict.fromkeys(name for word in names for name in COLOURS[word]))
    height, width = image.shape[:2]
    scale = min(1.0, LONG_SIDE_PX / max(height, width))
    size = (max(16, round(width * scale)), max(16, round(height * scale)))
    smooth = cv2.bilateralFilter(cv2.resize(image, size, interpolation=cv2.INTER_AREA), 7, 30, 5)
    small = np.asarray(cv2.medianBlur(smooth, 5), np.uint8)
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB).astype(np.float32)
    chroma = np.hypot(lab[..., 1] - 128, lab[..., 2] - 128)
    grey = all(name in ("black", "white", "grey") for name in classes)
    ways = [_regions(np.isin(_table(small), [_CLASSES.index(name) for name in classes]), chroma, grey, wanted)]
    if not grey:
        ways.append(_regions(_near_hue(small, chroma, classes), chroma, grey, wanted))
    ordered = [
        (region, region.weight / way[0].weight) for rank in range(most) for way in ways if rank < len(way) for region in (way[rank],)
    ]
    picked: list[tuple[_Region, float]] = []
    for region, weight in ordered:
        same = [place for place, (other, _) in enumerate(picked) if _overlap(region.mask, other.mask) >= _SAME]
        if not same:
            picked.append((region, weight * _ALONE))
        elif picked[same[0]][1] < weight:  # both ways see it
            picked[same[0]] = (picked[same[0]][0], weight)
    ratio = (width / size[0], height / size[1])
    why = " ".join(dict.fromkeys([*names, *wanted]))
    found: list[Candidate] = []
    for region, weight in picked[:most]:
        ring = _ring(region.mask, ratio)
        if ring is not None:
            sure = _MOST_SURE * weight / (1 + 0.4 * len(found))
            found.append(Candidate(ring, round(min([sure, *(other.score for other in found)]), 3), why))
    return tuple(found)


_CLASSES = ("red", "orange", "yellow", "green", "blue", "purple", "pink", "brown", "black", "white", "grey")


def _table(picture: Picture) -> NDArray[np.uint8]:
    """The class of each pixel by sectors of hue, with a body that forgives brightness; measured best of seven such rules on photos."""
    hsv = cv2.cvtColor(picture.astype(np.float32) / 255, cv2.COLOR_RGB2HSV)
    hue, saturation, value = hsv[..., 0], hsv[..., 1], hsv[..., 2]
    found = np.digitize(hue, [15, 42, 68, 165, 255, 300, 345]).astype(np.uint8)
    found[found == 7] = 0
    orange, red = found == 1, found == 0
    found[orange & (value < 0.6)] = _CLASSES.index("brown")
    found[red & (saturation < 0.5) & (value > 0.7)] = _CLASSES.index("pink")
    found[red & (value < 0.4) & (saturation < 0.7)] = _CLASSES.index("brown")
    pale = saturation < 0.18
    found[pale] = _CLASSES.index("grey")
    found[pale & (value < 0.22)] = _CLASSES.index("black")
    found[pale & (value > 0.82)] = _CLASSES.index("white")
    found[value < 0.15] = _CLASSES.index("black")
    return found


def _near_hue(picture: Picture, chroma: _Floats, classes: tuple[str, ...]) -> _Mask:
    """Pixels near the hue, weighed by chroma, split from the rest of this picture by Otsu's threshold."""
    hue = cv2.cvtColor(picture.astype(np.float32) / 255, cv2.COLOR_RGB2HSV)[..., 0]
    score = np.zeros(hue.shape, np.float32)
    for name in classes:
        if name in _HUE:
            away = np.abs((hue - _HUE[name] + 180) % 360 - 180)
            score = np.maximum(score, np.exp(-0.5 * (away / 22) ** 2) * chroma)
    if float(score.max()) < 6:
        return np.zeros(hue.shape, bool)
    levels = np.asarray(np.clip(score / score.max() * 255, 0, 255), np.uint8)
    level, _ = cv2.threshold(levels, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return np.asarray(levels > level)


def _regions(mask: _Mask, chroma: _Floats, grey: bool, wanted: list[str]) -> list[_Region]:
    """Connected regions of a mask, best first: large, compact, colourful, off the frame, and as the words of size and place prefer."""
    tidy = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    tidy = cv2.morphologyEx(tidy, cv2.MORPH_CLOSE, np.ones((7, 7), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(tidy, connectivity=8)
    height, width = mask.shape
    found: list[_Region] = []
    for label in range(1, count):
        x, y, across, down, pixels = (int(value) for value in stats[label])
        share = pixels / (height * width)
        if share < _LEAST_SHARE:
            continue
        region = labels == label
        contours, _ = cv2.findContours(region.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
        hull = cv2.contourArea(cv2.convexHull(np.vstack(contours)))
        solid = min(1.0, pixels / max(hull, 1.0))
        on_frame = (region[0].sum() + region[-1].sum() + region[:, 0].sum() + region[:, -1].sum()) / (2 * (height + width))
        colourful = 20.0 if grey else float(np.median(chroma[region])) + 5
        at = (x / width, y / height, (x + across) / width, (y + down) / height)
        liking = float(np.prod([0.3 + 0.7 * _PREFERS[word if word in _PREFERS else word.removesuffix("s")](at, share) for word in wanted]))
        found.append(_Region(np.asarray(region), pixels**0.6 * solid * colourful * (1 - min(0.9, on_frame)) * liking, at, share))
    return sorted(found, key=lambda region: -region.weight)


def _overlap(one: _Mask, other: _Mask) -> float:
    return float((one & other).sum() / max(1, (one | other).sum()))


def _ring(mask: _Mask, ratio: tuple[float, float]) -> tuple[Point, ...] | None:
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea).reshape(-1, 2) if contours else np.zeros((0, 2))
    if len(contour) < 4:
        return None
    grown = Polygon(contour + 0.5).buffer(0.5, join_style="mitre").simplify(1.0)
    if not isinstance(grown, Polygon) or grown.is_empty:
        return None
    return tuple((float(x * ratio[0]), float(y * ratio[1])) for x, y in grown.exterior.coords[:-1])
