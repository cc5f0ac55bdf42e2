"""Two pictures of one place laid on each other: the camera's motion from matched corners, and the dense flow that parallax leaves over.

In: (H, W, 3) uint8 RGB, upright, of any two sizes. Out: for each pixel of the first where it went in the second, and whether it comes back.
What is carried through that, and how sure it is, is carry.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Floats = NDArray[np.float64]

CORNERS = 3000
LEAST_MATCHES = 12
ROUND_TRIP_PX = 1.5
_RATIO = 0.8
_FINEST = 2
"""Flow down to a quarter of the pictures' size: as exact over a whole outline as down to half, in a third of the time."""
_SOFTENING_PX = 1.0
_COLOURS_SOFTENING_PX = 0.8


@dataclass(frozen=True, eq=False)
class View:
    """A picture made ready for carrying: grey, small, with its corners described. Make once, use for every pair.

    `small` is the picture at the size of `grey` in colour, a little blurred; `soft` is `grey` a little blurred, for comparing what two
    pictures show. `size` is the picture's own width and height in pixels.
    """

    small: Picture
    grey: Picture
    soft: Picture
    scale: float
    size: tuple[int, int]
    points: NDArray[np.float32]
    descriptors: NDArray[np.uint8] | None


@dataclass(frozen=True, eq=False)
class Way:
    """From one view to another.

    `homography` takes pixel middles of the first to the second; `matches` agree with it (0: it is no more than the two sizes).
    `laid` is the second picture laid on the first by it, `covered` where that shows anything. `forth` and `back` are the flow from the
    first picture to the laid one and from the laid one to the first, `steady_forth` and `steady_back` where each comes back to itself.
    """

    homography: Floats
    matches: int
    laid: Picture
    covered: NDArray[np.bool_]
    forth: NDArray[np.float32]
    back: NDArray[np.float32]
    steady_forth: NDArray[np.bool_]
    steady_back: NDArray[np.bool_]


def view(picture: Picture, work_px: int, corners: int = CORNERS) -> View:
    """Make a picture ready, its longer side at most `work_px`; fewer corners are faster to match, more hold on over larger motion."""
    height, width = picture.shape[:2]
    scale = min(1.0, work_px / max(height, width))
    small = picture
    if scale < 1.0:
        size = (max(1, round(width * scale)), max(1, round(height * scale)))
        small = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    grey = np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    found, descriptors = cv2.ORB_create(corners, fastThreshold=10).detectAndCompute(grey, None)  # type: ignore[attr-defined]
    points = np.array([corner.pt for corner in found], np.float32).reshape(-1, 2)
    soft = np.asarray(cv2.GaussianBlur(grey, (0, 0), _SOFTENING_PX), np.uint8)
    colours = np.asarray(cv2.GaussianBlur(small, (0, 0), _COLOURS_SOFTENING_PX), np.uint8)
    return View(colours, grey, soft, scale, (width, height), points, descriptors)


def way(source: View, target: View) -> Way:
    """Lay the second view on the first and find what is left over."""
    homography, matches = _homography(source, target)
    height, width = source.grey.shape
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    laid = np.asarray(cv2.warpPerspective(target.grey, homography, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE), np.uint8)
    covered = cv2.warpPerspective(np.full(target.grey.shape, 255, np.uint8), homography, (width, height), flags=flags) > 250
    dense = cv2.DISOpticalFlow_create(cv2.DISOPTICAL_FLOW_PRESET_MEDIUM)  # type: ignore[attr-defined]
    dense.setFinestScale(_FINEST)
    forth = np.asarray(dense.calc(source.grey, laid, None), np.float32)
    back = np.asarray(dense.calc(laid, source.grey, None), np.float32)
    columns, rows = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    return Way(
        homography,
        matches,
        laid,
        np.asarray(covered),
        forth,
        back,
        _steady(forth, back, columns, rows) & covered,
        _steady(back, forth, columns, rows) & covered,
    )


def _steady(
    there: NDArray[np.float32], home: NDArray[np.float32], columns: NDArray[np.float32], rows: NDArray[np.float32]
) -> NDArray[np.bool_]:
    """Where one flow followed by the other ends where it began."""
    returned = there + cv2.remap(home, columns + there[..., 0], rows + there[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(returned[..., 0] ** 2 + returned[..., 1] ** 2 < ROUND_TRIP_PX**2)


def _homography(source: View, target: View) -> tuple[Floats, int]:
    """The camera's motion and the number of matches that agree with it; no more than the two sizes, and 0, where there is none."""
    stretch = np.diag([target.grey.shape[1] / source.grey.shape[1], target.grey.shape[0] / source.grey.shape[0], 1.0])
    if source.descriptors is None or target.descriptors is None or min(len(source.descriptors), len(target.descriptors)) < 2:
        return stretch, 0
    pairs = cv2.BFMatcher(cv2.NORM_HAMMING).knnMatch(source.descriptors, target.descriptors, k=2)
    best: dict[int, tuple[float, int]] = {}
    for first, second in (pair for pair in pairs if len(pair) == 2):
        if first.distance < _RATIO * second.distance:
            known = best.get(first.trainIdx)
            if known is None or first.distance < known[0]:
                best[first.trainIdx] = (first.distance, first.queryIdx)
    if len(best) < LEAST_MATCHES:
        return stretch, 0
    here = source.points[[query for _, query in best.values()]]
    there = target.points[list(best)]
    found, agreeing = cv2.findHomography(here, there, cv2.USAC_MAGSAC, 4.0, maxIters=5000, confidence=0.999)
    matches = 0 if agreeing is None else int(agreeing.sum())
    if found is None or matches < LEAST_MATCHES or not 0.05 < abs(float(np.linalg.det(found[:2, :2]))) < 20:
        return stretch, 0
    return np.asarray(found, np.float64), matches
