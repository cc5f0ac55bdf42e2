"""Regions of a still that a surface's words could mean: `the tall blue platform`, `yellow mat on the left`. Offered, never put in unasked.

Several ways of seeing a colour (colours.py) give regions; size, shape and place, as the words ask (shapes.py), a clear edge, and the middle
of the picture, where a camera points, weigh them. In: (H, W, 3) uint8 RGB, upright, and the words. Snapping what a person picks is snap.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from annotator.course import Point, Ring
from annotator.marks.colours import COLOURS, chroma_of, classes_of, is_grey, ways_of_seeing
from annotator.marks.crops import Mask, Picture
from annotator.marks.cuts import grown, steepness
from annotator.marks.shapes import Region, is_placed, is_sized, is_thin, liking, regions_of, said_about

MOST = 4
_LONG_SIDE_PX = 480
_LONG_SIDE_THIN_PX = 960
_LEAST_SHARE = 0.0006
_LEAST_SHARE_THIN = 0.0002
_MOST_OF_A_MASK = 40
_SAME = 0.6
_SEEN_TWICE = 1.2
_MOST_SURE = 0.9
_LEAST_HOLE = 0.04
_LEAST_NEIGHBOURLY = 0.3
"""Correlation of a pixel with the next: above 0.9 in photos, 0 in noise."""


@dataclass(frozen=True)
class Candidate:
    """A region that the words could mean: its outline and holes in pixels of the picture, how sure (0 to 1), and why.

    `score` is a weight for choosing among candidates, also of several stills; it is no probability.
    """

    rings: tuple[Ring, ...]
    score: float
    why: str


@dataclass(frozen=True, eq=False)
class _Weighed:
    region: Region
    weight: float


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
    said = said_about([word for word in spoken if word not in COLOURS])
    if not names or min(image.shape[:2]) < 16 or _is_noise(image):
        return ()
    small = _small(image, thin=is_thin(said))
    weighed = _weigh(small, classes_of(names), said)
    ratio = (image.shape[1] / small.shape[1], image.shape[0] / small.shape[0])
    why = " ".join(dict.fromkeys([*names, *said]))
    found: list[Candidate] = []
    rest = sum(one.weight for one in weighed[:most])
    for one in weighed:
        rings = _rings(one.region.mask, ratio)
        if rings and len(found) < most:
            found.append(Candidate(rings, round(_MOST_SURE * float(np.sqrt(one.weight * one.weight / rest)), 3), why))
    return tuple(found)


def propose_among(images: Sequence[Picture], words: str, *, most: int = MOST) -> tuple[tuple[int, Candidate], ...]:
    """The same over several stills of the time in which the surface was spoken of, best first: the still's place, the candidate."""
    every = [(at, candidate) for at, image in enumerate(images) for candidate in propose(image, words, most=most)]
    return tuple(sorted(every, key=lambda each: -each[1].score)[:most])


def _is_noise(image: Picture) -> bool:
    """Whether a pixel says nothing about its neighbour: no picture of anything."""
    grey = cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float64)
    one, other = grey[:, :-1] - grey.mean(), grey[:, 1:] - grey.mean()
    return bool((one * other).sum() < _LEAST_NEIGHBOURLY * (one * one).sum())


def _small(image: Picture, *, thin: bool) -> Picture:
    """Smaller, and smoothed so that texture and noise do not break a surface up; thin things are kept."""
    height, width = image.shape[:2]
    scale = min(1.0, (_LONG_SIDE_THIN_PX if thin else _LONG_SIDE_PX) / max(height, width))
    size = (max(16, round(width * scale)), max(16, round(height * scale)))
    resized = cv2.resize(image, size, interpolation=cv2.INTER_AREA)
    smooth = cv2.bilateralFilter(resized, 5 if thin else 7, 30, 5)
    return np.asarray(smooth if thin else cv2.medianBlur(smooth, 5), np.uint8)


def _weigh(picture: Picture, classes: tuple[str, ...], said: tuple[str, ...]) -> list[_Weighed]:
    """The regions of every way of seeing the colour, best first; of those that are the same, the best, heavier for being seen twice."""
    thin = is_thin(said)
    chroma = chroma_of(picture)
    vivid = max(20.0, float(np.percentile(chroma, 99)))
    steep = steepness(np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2LAB), np.uint8))
    every: list[_Weighed] = []
    for mask, trust in ways_of_seeing(picture, classes):
        regions = regions_of(_tidy(mask, thin), _LEAST_SHARE_THIN if thin else _LEAST_SHARE)
        for region in sorted(regions, key=lambda one: -one.pixels)[:_MOST_OF_A_MASK]:
            colourful = 1.0 if is_grey(classes) else min(1.0, (float(np.median(chroma[region.mask])) + 5) / vivid)
            every.append(_Weighed(region, trust * colourful * _standing(region, steep, said, thin) * liking(region, said)))
    picked: list[_Weighed] = []
    for one in sorted(every, key=lambda each: -each.weight):
        same = next((at for at, other in enumerate(picked) if _overlap(one.region.mask, other.region.mask) >= _SAME), None)
        if same is None:
            picked.append(one)
        elif one.weight > 0.5 * picked[same].weight:
            picked[same] = _Weighed(picked[same].region, min(1.0, picked[same].weight * _SEEN_TWICE))
    return sorted(picked, key=lambda each: -each.weight)


def _tidy(mask: Mask, thin: bool) -> NDArray[np.bool_]:
    plain = mask.astype(np.uint8)
    if not thin:
        plain = np.asarray(cv2.morphologyEx(plain, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)), np.uint8)
    side = 3 if thin else 7
    return np.asarray(cv2.morphologyEx(plain, cv2.MORPH_CLOSE, np.ones((side, side), np.uint8)) > 0)


def _standing(region: Region, steep: NDArray[np.float32], said: tuple[str, ...], thin: bool) -> float:
    """What speaks for a region whatever the words: large but no backdrop, whole, with a clear edge, off the frame, near the middle."""
    share = region.share
    size = min(1.0, share / 0.03) ** (0.1 if is_sized(said) else 0.35 if thin else 0.5) * (1.0 if share < 0.3 else 0.3 / share) ** 2
    mask = region.mask
    edge = (grown(mask, 1) & ~mask).astype(bool)
    clear = float(np.minimum(steep[edge], 80).mean()) / 80 if edge.any() else 0.0
    height, width = mask.shape
    on_frame = (int(mask[0].sum()) + int(mask[-1].sum()) + int(mask[:, 0].sum()) + int(mask[:, -1].sum())) / (2 * (height + width))
    across, down = region.middle
    near = 1.0 if is_placed(said) else 0.5 + 0.5 * float(np.exp(-0.5 * (((across - 0.5) / 0.3) ** 2 + ((down - 0.5) / 0.35) ** 2)))
    whole = 1.0 if thin else region.solid
    return float(size * whole * (0.3 + 0.7 * clear) * (1 - min(0.9, 2 * on_frame)) * near)


def _overlap(one: Mask, other: Mask) -> float:
    return float((one & other).sum() / max(1, (one | other).sum()))


def _rings(mask: Mask, ratio: tuple[float, float]) -> tuple[Ring, ...]:
    """The outline of the mask's largest piece and its large holes; empty where it is less than a few pixels."""
    contours, tree = cv2.findContours(mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer = max((at for at in range(len(contours)) if tree[0][at][3] < 0), key=lambda at: cv2.contourArea(contours[at]), default=None)
    if outer is None or len(contours[outer]) < 4:
        return ()
    grown_by_half = Polygon(contours[outer].reshape(-1, 2) + 0.5).buffer(0.5, join_style="mitre").simplify(1.0)
    if not isinstance(grown_by_half, Polygon) or grown_by_half.is_empty:
        return ()
    holes = []
    for contour, link in zip(contours, tree[0], strict=True):
        if link[3] == outer and len(contour) >= 4 and cv2.contourArea(contour) >= _LEAST_HOLE * grown_by_half.area:
            # The contour of a hole runs through the pixels around it.
            hole = Polygon(contour.reshape(-1, 2) + 0.5).buffer(-0.5, join_style="mitre").simplify(1.0)
            if isinstance(hole, Polygon) and not hole.is_empty:
                holes.append(hole)
    return tuple(_scaled(ring.exterior.coords[:-1], ratio) for ring in (grown_by_half, *holes))


def _scaled(points: Sequence[tuple[float, ...]], ratio: tuple[float, float]) -> tuple[Point, ...]:
    return tuple((float(point[0] * ratio[0]), float(point[1] * ratio[1])) for point in points)
