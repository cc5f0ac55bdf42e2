"""Which pixels of a picture a colour word could mean: a table over hue that forgives light and shade, and how vivid its colour is.

In: (H, W, 3) uint8 RGB, smoothed, and a colour word. Out: masks. What is made of them is propose.py.
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.marks.crops import Mask, Picture

_Floats = NDArray[np.float32]

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

_CLASSES = ("red", "orange", "yellow", "green", "blue", "purple", "pink", "brown", "black", "white", "grey")
_HUE = {"red": 0.0, "orange": 28.0, "yellow": 55.0, "green": 120.0, "blue": 215.0, "purple": 278.0, "pink": 330.0, "brown": 25.0}
_GREYS = frozenset({"black", "white", "grey"})
_LEAST_SPLIT_PX = 60
_LEAST_BALANCED_CHROMA = 18.0  # balancing tints what was grey


def classes_of(names: list[str]) -> tuple[str, ...]:
    """The classes that colour words may mean, each once."""
    return tuple(dict.fromkeys(name for word in names for name in COLOURS[word]))


def is_grey(classes: tuple[str, ...]) -> bool:
    """Whether all of them are without hue."""
    return all(name in _GREYS for name in classes)


def chroma_of(picture: Picture) -> _Floats:
    """How far each pixel is from grey, in CIE Lab."""
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB).astype(np.float32)
    return np.asarray(np.hypot(lab[..., 1] - 128, lab[..., 2] - 128), np.float32)


def ways_of_seeing(picture: Picture, classes: tuple[str, ...]) -> Iterator[tuple[Mask, float]]:
    """Masks of what could have the colour, each with how much trust it earns.

    The table; its more vivid part (something of the colour before a ground that nearly has it: an orange box on a wooden floor) or, of
    greys, its darker and lighter part; nearness to the hue; the table again as if the light had been white (under a cast only that is
    right, in plain light it is often wrong, so it is trusted less).
    """
    numbers = [_CLASSES.index(name) for name in classes]
    chroma = chroma_of(picture)
    plain = np.isin(table(picture), numbers)
    yield plain, 1.0
    if is_grey(classes):
        for part in _split(plain, cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32)):
            yield part, 0.9
    else:
        parts = _split(plain, chroma)
        if parts:
            yield parts[-1], 1.0
            for finer in _split(parts[-1], chroma)[-1:]:
                yield finer, 0.9
        yield _near_hue(picture, chroma, classes), 0.9
    balanced = _as_if_white(picture)
    balanced_mask = np.isin(table(balanced), numbers)
    yield (balanced_mask if is_grey(classes) else balanced_mask & (chroma_of(balanced) > _LEAST_BALANCED_CHROMA)), 0.7


def table(picture: Picture) -> NDArray[np.uint8]:
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


def _split(mask: Mask, values: _Floats) -> list[Mask]:
    """A mask in two by Otsu's threshold over its own pixels, lower part first; empty where there is too little of it."""
    inside = values[mask]
    if len(inside) < _LEAST_SPLIT_PX or float(np.ptp(inside)) < 8:
        return []
    low, high = float(inside.min()), float(inside.max())
    levels = np.asarray((inside - low) / (high - low) * 255, np.uint8)
    level, _ = cv2.threshold(levels.reshape(1, -1), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    border = low + (level + 0.5) / 255 * (high - low)
    return [np.asarray(mask & (values <= border)), np.asarray(mask & (values > border))]


def _near_hue(picture: Picture, chroma: _Floats, classes: tuple[str, ...]) -> Mask:
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


def _as_if_white(picture: Picture) -> Picture:
    """Balanced so that the picture is grey on a sixth-power mean.

    References
    ----------
    Finlayson and Trezzi, "Shades of gray and colour constancy", 2004; p = 6.
    """
    means = np.mean((picture.astype(np.float64) / 255) ** 6, axis=(0, 1)) ** (1 / 6)
    gains = means.mean() / np.maximum(means, 1e-3)
    return np.asarray(np.clip(picture * gains, 0, 255), np.uint8)
