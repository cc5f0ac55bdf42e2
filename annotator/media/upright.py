"""Turn frames upright: phones store portrait film sideways and say so in a display matrix; we turn once, here, for everyone after.

In: a decoded frame, or an array. Out: a `Turn`, and the upright RGB array. Nothing here opens a file.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Image = NDArray[np.uint8]
"""(H, W, 3) uint8, RGB, upright."""


@dataclass(frozen=True)
class Turn:
    """How a stored frame becomes upright: first mirrored left to right where `mirrored`, then turned `quarters` times by 90 degrees
    counter-clockwise.
    """

    quarters: int = 0
    mirrored: bool = False

    @property
    def rotation(self) -> int:
        """Degrees counter-clockwise: 0, 90, 180 or 270."""
        return 90 * self.quarters

    def size(self, width: int, height: int) -> tuple[int, int]:
        """Upright width and height of a stored frame's.

        >>> Turn(1).size(1920, 1080)
        (1080, 1920)
        """
        return (height, width) if self.quarters % 2 else (width, height)

    def apply(self, image: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """The array turned upright, (H, W) or (H, W, 3); its memory is in order again."""
        if self.mirrored:
            image = image[:, ::-1]
        return np.ascontiguousarray(np.rot90(image, self.quarters))

    def matrix(self) -> tuple[int, ...]:
        """The display matrix that asks for this turn; `turn_from_matrix` is its inverse.

        >>> Turn(3).matrix()[:5]
        (0, 65536, 0, -65536, 0)
        """
        across, down = ((1, 0), (0, -1), (-1, 0), (0, 1))[self.quarters]
        side = -1 if self.mirrored else 1
        one = 1 << 16
        return (side * across * one, side * down * one, 0, -down * one, across * one, 0, 0, 0, 1 << 30)


def turn_from_matrix(matrix: tuple[int, ...]) -> Turn:
    """The turn that a display matrix asks for: nine numbers, row by row, the first two columns in 16.16 fixed point.

    A stored point (x, y), y down, is shown at (a x + c y, b x + d y), with a b / c d the upper left corner of the matrix
    (ISO/IEC 14496-12, 8.5.2). Turns that are no multiple of 90 degrees go to the nearest.

    >>> turn_from_matrix((0, 65536, 0, -65536, 0, 0, 0, 0, 1 << 30)).rotation
    270
    """
    a, b, _, c, d = matrix[:5]
    mirrored = a * d - b * c < 0
    if mirrored:
        a, b = -a, -b  # the picture is mirrored first, so x runs the other way
    if a == b == 0:
        return Turn()
    clockwise = round(float(np.degrees(np.arctan2(b, a))) / 90)
    return Turn(-clockwise % 4, mirrored)


def turn_of(frame: Any) -> Turn:
    """The turn of a decoded frame; none where the file does not ask for one."""
    data = frame.side_data.get("DISPLAYMATRIX")
    if data is None:
        return Turn()
    return turn_from_matrix(struct.unpack("=9i", bytes(data)[:36]))


def to_image(frame: Any, turn: Turn, width: int, height: int) -> Image:
    """A decoded frame as an upright RGB array of this (upright) size, with the colour matrix and range that the file names."""
    if turn.quarters % 2:
        width, height = height, width
    if (width, height) == (frame.width, frame.height):
        rgb = frame.reformat(format="rgb24")
    else:
        rgb = frame.reformat(width=width, height=height, format="rgb24", interpolation="AREA")
    return turn.apply(rgb.to_ndarray())


def to_luma(frame: Any) -> NDArray[np.uint8]:
    """The luma of a decoded frame as it is stored, not turned: a view of the decoder's memory where it has 8 bits, so copy what you keep.

    (H, W) uint8.
    """
    plane = frame.planes[0]
    if frame.format.name in _EIGHT_BIT_LUMA:
        rows: NDArray[np.uint8] = np.frombuffer(plane, np.uint8).reshape(-1, plane.line_size)
        return rows[: frame.height, : frame.width]
    gray: NDArray[np.uint8] = frame.reformat(format="gray").to_ndarray()
    return gray


_EIGHT_BIT_LUMA = frozenset({"yuv420p", "yuvj420p", "yuv422p", "yuvj422p", "yuv444p", "yuvj444p", "nv12", "nv21", "gray"})
