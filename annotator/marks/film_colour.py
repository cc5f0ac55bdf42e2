"""Film keeps colour at half the picture's size (4:2:0), and decoders hand it back in squares of two by two pixels: an edge between two
colours of one lightness then lies up to a pixel off. Here the colour runs smoothly between the middles of those squares instead.

In: a picture and what is looked at in it. Out: the same picture, or one whose colours near there are mended. Lightness stays.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from annotator.marks.crops import Picture

_MARGIN, _MARGIN_PX = 0.6, 16
_MOST_ROWS = 64
_ROUNDING = 2
"""Levels by which the colours within a square differ because RGB is rounded."""
_MOST_WITHIN = 0.2
"""Of the changes of colour between squares, those within them; about 1 in a picture whose colour is whole."""


def with_even_colours(image: Picture, bounds: Sequence[float]) -> Picture:
    """Let the colour in and around a box run smoothly where it stands in squares of two by two pixels.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        Stays as it is.
    bounds : (x0, y0, x1, y1)
        In pixels; it may reach beyond the picture.

    Returns
    -------
    (H, W, 3) uint8 RGB
        The picture itself where its colour is whole, or where hardly any colour changes.
    """
    x0, y0, x1, y1 = bounds
    margin = _MARGIN * max(x1 - x0, y1 - y0) + _MARGIN_PX
    left, top = (2 * int(max(0.0, least - margin) // 2) for least in (x0, y0))
    right, bottom = (2 * int(min(float(size), most + margin) // 2) for size, most in ((image.shape[1], x1), (image.shape[0], y1)))
    if right - left < 4 or bottom - top < 4 or not _in_squares(image[top:bottom, left:right]):
        return image
    seen = cv2.cvtColor(np.ascontiguousarray(image[top:bottom, left:right]), cv2.COLOR_RGB2YCrCb)
    size = (right - left, bottom - top)
    colour = cv2.resize(_colour(seen), (size[0] // 2, size[1] // 2), interpolation=cv2.INTER_AREA)
    cv2.mixChannels([cv2.resize(colour, size, interpolation=cv2.INTER_CUBIC)], [seen], [0, 1, 1, 2])
    mended = image.copy()
    mended[top:bottom, left:right] = cv2.cvtColor(seen, cv2.COLOR_YCrCb2RGB)
    return mended


def _colour(seen: cv2.typing.MatLike) -> Picture:
    """The two last of three channels; five times as fast as NumPy's way of leaving one out."""
    found = np.empty((*seen.shape[:2], 2), np.uint8)
    cv2.mixChannels([seen], [found], [1, 0, 2, 1])
    return found


def _in_squares(part: Picture) -> bool:
    """Whether colour changes between squares of two by two pixels and hardly within them; asked of some of its rows and columns."""
    within = between = 0.0
    for seen in (part, part.swapaxes(0, 1)):
        pairs = 2 * np.unique(np.linspace(0, len(seen) // 2 - 1, _MOST_ROWS).astype(int))
        colours = _colour(cv2.cvtColor(seen[pairs], cv2.COLOR_RGB2YCrCb))
        changes = np.maximum(cv2.absdiff(colours[:, 1:], colours[:, :-1]), _ROUNDING) - _ROUNDING
        summed = cv2.reduce(changes, 0, cv2.REDUCE_SUM, dtype=cv2.CV_32S)[0].sum(axis=1)
        within += float(summed[0::2].sum())
        between += float(summed[1::2].sum())
    return between > 0 and within <= _MOST_WITHIN * between
