"""What words of size, place and kind say about a region: `tall`, `on the left`, a `beam` is long and thin, a `ring` has a hole.

In: a region's mask in a picture, and the words. Out: likings from 0 to 1. General words only; which course has which things is nobody's
business here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np

from annotator.marks.crops import Mask

_LEAST = 0.25


@dataclass(frozen=True, eq=False)
class Region:
    """A region of a picture, as shares of it where lengths are meant."""

    mask: Mask
    pixels: int
    box: tuple[float, float, float, float]
    """x0, y0, x1, y1 from 0 to 1."""

    @property
    def share(self) -> float:
        """Of the picture's area."""
        return self.pixels / int(self.mask.size)

    @property
    def middle(self) -> tuple[float, float]:
        """Of its box."""
        return (self.box[0] + self.box[2]) / 2, (self.box[1] + self.box[3]) / 2

    @cached_property
    def upright(self) -> float:
        """Height by width of its box, in pixels."""
        height, width = (int(side) for side in self.mask.shape)
        return (self.box[3] - self.box[1]) * height / max((self.box[2] - self.box[0]) * width, 1e-6)

    @cached_property
    def _outlines(self) -> list[np.ndarray[tuple[int, ...], np.dtype[np.int32]]]:
        contours, _ = cv2.findContours(self.mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        return [np.asarray(contour, np.int32) for contour in contours]

    @cached_property
    def solid(self) -> float:
        """Of its convex hull."""
        hull = cv2.contourArea(cv2.convexHull(np.vstack(self._outlines)))
        return float(min(1.0, self.pixels / max(hull, 1.0)))

    @cached_property
    def slender(self) -> float:
        """Length by breadth of the narrowest box around it, turned as it likes; the breadth is what its area fills."""
        _, (one, other), _ = cv2.minAreaRect(np.vstack(self._outlines))
        length = max(one, other) + 1
        return float(length * length / max(self.pixels, 1))

    @cached_property
    def hollow(self) -> float:
        """Share of what its outline encloses that is hole."""
        whole = sum(cv2.contourArea(contour) + len(contour) / 2 for contour in self._outlines)
        return float(max(0.0, 1 - self.pixels / max(whole, 1.0)))

    @cached_property
    def round(self) -> float:
        """1 for a disc, 0.79 for a square."""
        contour = max(self._outlines, key=cv2.contourArea)
        return float(min(1.0, 4 * np.pi * cv2.contourArea(contour) / max(cv2.arcLength(contour, True), 1.0) ** 2))


Liking = Callable[[Region], float]


def _slender(region: Region) -> float:
    return (region.slender - 1.5) / 5


def _compact(region: Region) -> float:
    return region.solid**2 * min(1.0, 4 / region.slender)


def _flat(region: Region) -> float:
    return min(1.0, 1.2 / max(region.upright, 1e-6) / 2) * (0.4 + 0.6 * region.middle[1])


_PLACES: dict[str, Liking] = {
    "left": lambda region: 1 - region.middle[0],
    "right": lambda region: region.middle[0],
    "middle": lambda region: 1 - 2 * abs(region.middle[0] - 0.5),
    "center": lambda region: 1 - 2 * abs(region.middle[0] - 0.5),
    "centre": lambda region: 1 - 2 * abs(region.middle[0] - 0.5),
    "upper": lambda region: 1 - region.middle[1],
    "above": lambda region: 1 - region.middle[1],
    "overhead": lambda region: 1 - region.middle[1],
    "lower": lambda region: region.middle[1],
    "below": lambda region: region.middle[1],
}
_SIZES: dict[str, Liking] = {
    "tall": lambda region: region.upright / 2,
    "long": _slender,
    "big": lambda region: (region.share / 0.1) ** 0.5,
    "large": lambda region: (region.share / 0.1) ** 0.5,
    "huge": lambda region: (region.share / 0.2) ** 0.5,
    "small": lambda region: 1 - min(1.0, (region.share / 0.1) ** 0.5),
    "little": lambda region: 1 - min(1.0, (region.share / 0.1) ** 0.5),
    "tiny": lambda region: 1 - min(1.0, (region.share / 0.05) ** 0.5),
}
_THIN = ("bar", "rail", "rope", "strap", "rung", "pole", "cable", "chain", "pipe", "tube", "ledge", "line", "stick", "cord", "beam", "peg")
_COMPACT = ("platform", "box", "block", "cube", "crate", "barrel", "step", "stump", "button", "ball", "bag", "pad", "wall", "board", "ramp")
_FLAT = ("mat", "floor", "carpet", "rug", "deck", "bench")
_HOLLOW = ("ring", "hoop", "frame", "net", "tyre", "tire", "arch", "ladder")
_OPEN = ("ring", "hoop", "frame", "tyre", "tire", "arch", "window", "gate")
_KINDS: dict[str, Liking] = {
    **dict.fromkeys(_THIN, _slender),
    **dict.fromkeys(_COMPACT, _compact),
    **dict.fromkeys(_FLAT, _flat),
    **dict.fromkeys(_HOLLOW, lambda region: max(region.hollow / 0.4, 1 - region.solid)),
    "post": lambda region: region.upright / 3,
    "ball": lambda region: region.round**2,
    "button": lambda region: region.round**2,
}


def _known(word: str, of: dict[str, Liking]) -> str | None:
    """The word or its singular, if it is one of those."""
    for form in (word, word.removesuffix("s"), word.removesuffix("es")):
        if form in of:
            return form
    return None


def said_about(words: list[str]) -> tuple[str, ...]:
    """The words of size, place and kind among the words, as they stand in the lists here."""
    every = {**_PLACES, **_SIZES, **_KINDS}
    return tuple(dict.fromkeys(found for word in words if (found := _known(word, every)) is not None))


def is_thin(said: tuple[str, ...]) -> bool:
    """Whether a thin thing is meant: look closely, and smooth little."""
    return any(word in _THIN or word in _HOLLOW for word in said)


def is_hollow(name: str) -> bool:
    """Whether a thing of this name has an opening: `the wooden frame`, `red rings`; a net has many that nobody marks."""
    words = name.casefold().replace("-", " ").split()
    return bool(words) and _known(words[-1], dict.fromkeys(_OPEN, _slender)) is not None


def is_placed(said: tuple[str, ...]) -> bool:
    """Whether the words say where it is."""
    return any(word in _PLACES for word in said)


def is_sized(said: tuple[str, ...]) -> bool:
    """Whether the words say how large it is."""
    return any(word in _SIZES for word in said)


def liking(region: Region, said: tuple[str, ...]) -> float:
    """How well a region fits what was said, 0 to 1; 1 where nothing was said."""
    every = {**_PLACES, **_SIZES, **_KINDS}
    fits = [min(1.0, max(0.0, every[word](region))) for word in said]
    return float(np.prod([_LEAST + (1 - _LEAST) * fit for fit in fits]))


def regions_of(mask: Mask, least_share: float) -> list[Region]:
    """The connected regions of a mask that are large enough to be meant."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    height, width = mask.shape
    found = []
    for label in range(1, count):
        x, y, across, down, pixels = (int(value) for value in stats[label])
        if pixels >= least_share * mask.size:
            at = (x / width, y / height, (x + across) / width, (y + down) / height)
            found.append(Region(np.asarray(labels == label), pixels, at))
    return found
