"""A film's picture as codecs hold it: a plane of light and two of colour at half its width and height. Drawing there saves converting.

In and out: (H * 3 / 2, W) uint8, H and W even, upright: luma, then Cb, then Cr, row after row (I420), in the limited range and with the
matrix of HD film (ITU-R BT.709). Reading and writing films is annotator/media's; the pictures of stills stay RGB.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.uint8]
Tone = tuple[int, int, int]
"""Y, Cb and Cr of one colour."""

_KR, _KB = 0.2126, 0.0722  # ITU-R BT.709, item 3.2
_BLACK, _LIGHT, _MIDDLE, _COLOUR = 16, 219, 128, 224


@dataclass(frozen=True, eq=False)
class Planes:
    """One picture; the planes are views of `whole`, so drawing on them draws on it."""

    whole: Plane

    @classmethod
    def blank(cls, size: tuple[int, int]) -> Planes:
        """A black picture of this width and height."""
        made = cls(np.full((size[1] * 3 // 2, size[0]), _MIDDLE, np.uint8))
        made.y[:] = _BLACK
        return made

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.whole.shape[1], self.whole.shape[0] * 2 // 3

    @cached_property
    def y(self) -> Plane:
        """(H, W): light."""
        return self.whole[: self.size[1]]

    @cached_property
    def u(self) -> Plane:
        """(H / 2, W / 2): blue less light."""
        return self._colour(0)

    @cached_property
    def v(self) -> Plane:
        """(H / 2, W / 2): red less light."""
        return self._colour(1)

    def _colour(self, which: int) -> Plane:
        width, height = self.size
        there = self.whole.reshape(-1)[width * height :].reshape(2, height // 2, width // 2)
        plane: Plane = there[which]
        return plane

    def each(self) -> Iterator[tuple[Plane, int]]:
        """The planes with how many pixels of the picture one of theirs takes across: 1, 2, 2."""
        yield self.y, 1
        yield self.u, 2
        yield self.v, 2

    def copy(self) -> Planes:
        """The same picture in memory of its own."""
        return Planes(self.whole.copy())


@lru_cache(maxsize=64)
def tone(colour: str) -> Tone:
    """A colour in Y, Cb, Cr.

    >>> tone("#FFFFFF"), tone("#000000"), tone("#FF0000")
    ((235, 128, 128), (16, 128, 128), (63, 102, 240))
    """
    there = _converted(np.array([[[int(colour[at : at + 2], 16) for at in (1, 3, 5)]]], np.uint8))[0, 0]
    y, cb, cr = (int(value) for value in np.rint(there))
    return y, cb, cr


@dataclass(frozen=True, eq=False)
class Tile:
    """A small opaque RGB picture that is laid on films at any pixel: text on its plate. Turned into planes once for each way it can lie."""

    image: NDArray[np.uint8]

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.image.shape[1], self.image.shape[0]

    def lay(self, on: Planes, left: int, top: int) -> None:
        """Lay it with its upper left corner there, as far as it is in the picture."""
        width, height = on.size
        here = _laid(self, left % 2, top % 2)
        for (plane, share), own in zip(on.each(), here, strict=True):
            x, y = left // share, top // share
            x0, y0 = max(0, x), max(0, y)
            x1, y1 = min(width // share, x + own.shape[1]), min(height // share, y + own.shape[0])
            if x1 > x0 and y1 > y0:
                plane[y0:y1, x0:x1] = own[y0 - y : y1 - y, x0 - x : x1 - x]


@lru_cache(maxsize=256)
def _laid(tile: Tile, right: int, down: int) -> tuple[Plane, Plane, Plane]:
    """The tile's planes where its corner lies so many pixels past a pixel of the planes of colour."""
    height, width = tile.image.shape[:2]
    padded = np.pad(tile.image, ((down, (height + down) % 2), (right, (width + right) % 2), (0, 0)), mode="edge")
    return _planes_of(padded, (down, right, height, width))


def _planes_of(image: NDArray[np.uint8], luma: tuple[int, int, int, int]) -> tuple[Plane, Plane, Plane]:
    there = _converted(image)
    top, left, height, width = luma
    small = cv2.resize(there[..., 1:], (image.shape[1] // 2, image.shape[0] // 2), interpolation=cv2.INTER_AREA).reshape(
        image.shape[0] // 2, image.shape[1] // 2, 2
    )
    y = np.rint(there[top : top + height, left : left + width, 0]).astype(np.uint8)
    return y, np.rint(small[..., 0]).astype(np.uint8), np.rint(small[..., 1]).astype(np.uint8)


def planes_of(image: NDArray[np.uint8]) -> Planes:
    """An (H, W, 3) uint8 RGB picture, H and W even, as planes.

    Raises
    ------
    ValueError
        A side is odd.
    """
    height, width = image.shape[:2]
    if height % 2 or width % 2:
        raise ValueError(f"a picture of {width} x {height} has no planes of half its size; make its sides even")
    return Planes(np.concatenate([plane.reshape(-1) for plane in _planes_of(image, (0, 0, height, width))]).reshape(height * 3 // 2, width))


def _converted(image: NDArray[np.uint8]) -> NDArray[np.float32]:
    """(H, W, 3) float32: Y, Cb, Cr of each pixel."""
    red, green, blue = (image[..., at].astype(np.float32) / 255 for at in range(3))
    light = _KR * red + (1 - _KR - _KB) * green + _KB * blue
    cb, cr = (blue - light) / (2 * (1 - _KB)), (red - light) / (2 * (1 - _KR))
    there: NDArray[np.float32] = np.stack([_BLACK + _LIGHT * light, _MIDDLE + _COLOUR * cb, _MIDDLE + _COLOUR * cr], axis=-1)
    return there
