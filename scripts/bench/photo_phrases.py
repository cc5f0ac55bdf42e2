"""Colour phrases for photos of Debian's opencv-doc, each with a box drawn by eye around the thing meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon, box

RIGHT = 0.5


@dataclass(frozen=True)
class Phrase:
    """Words, the photo, and the box (x0, y0, x1, y1) of what they mean."""

    photo: str
    words: str
    box: tuple[float, float, float, float]


PHRASES = (
    Phrase("apple.jpg", "red apple", (45, 72, 462, 495)),
    Phrase("orange.jpg", "orange ball", (25, 65, 490, 497)),
    Phrase("fruits.jpg", "green lime on the right", (345, 122, 512, 300)),
    Phrase("fruits.jpg", "green kiwi, lower left", (0, 280, 104, 480)),
    Phrase("fruits.jpg", "yellow lemon", (325, 245, 512, 480)),
    Phrase("fruits.jpg", "big orange slice", (135, 55, 345, 478)),
    Phrase("smarties.png", "the blue one above on the right", (350, 55, 404, 108)),
    Phrase("smarties.png", "green one in the middle", (242, 91, 296, 145)),
    Phrase("smarties.png", "left red one", (7, 204, 60, 254)),
    Phrase("squirrel_cls.jpg", "brown squirrel", (130, 106, 355, 366)),
    Phrase("messi5.jpg", "small yellow ball", (337, 290, 389, 336)),
    Phrase("messi5.jpg", "green floor", (0, 261, 548, 342)),
    Phrase("licenseplate_motion.jpg", "red light on the right", (446, 162, 588, 262)),
    Phrase("licenseplate_motion.jpg", "red light on the left", (0, 167, 138, 262)),
    Phrase("butterfly.jpg", "black butterfly", (7, 100, 485, 312)),
    Phrase("home.jpg", "blue sky", (0, 0, 490, 370)),
    Phrase("rubberwhale1.png", "teal toy", (219, 90, 318, 182)),
    Phrase("rubberwhale1.png", "orange wheel, lower left", (73, 295, 182, 388)),
    Phrase("rubberwhale1.png", "yellow box", (395, 253, 584, 388)),
    Phrase("rubberwhale1.png", "big orange curtain", (365, 0, 584, 255)),
    Phrase("rubberwhale1.png", "blue letter on the left", (0, 243, 80, 388)),
    Phrase("stuff.jpg", "red lighter", (315, 315, 357, 458)),
    Phrase("stuff.jpg", "white ball", (337, 128, 457, 252)),
    Phrase("stuff.jpg", "black disc", (188, 19, 270, 101)),
)


def by_eye(ring: Sequence[tuple[float, float]], phrase: Phrase) -> bool:
    """Whether a region is the thing meant: its box and the one by eye share half of what both cover."""
    one, other = box(*Polygon(ring).bounds), box(*phrase.box)
    return bool(one.intersection(other).area >= RIGHT * one.union(other).area)
