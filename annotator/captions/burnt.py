"""Captions in the picture itself, for players that show none, and a canvas that holds clips of every shape.

In: drawn pictures and cues in the time of the film. Out: pictures of one size, with two lines of text on a solid plate, at the top where a
cue stands there. Where captions stand and how they are cut is cues.py and placing.py.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from annotator import fonts
from annotator.captions.cue import LINE, LINE_PORTRAIT, Cue
from annotator.captions.placing import BELOW_LABELS
from annotator.marks import Planes, Tile

TEXT_SHARE = 0.055
"""Of the picture's shorter side: two lines and their plate take no more of the height than captions of a player do."""
WIDEST_SHARE = 0.92
MARGIN_SHARE = 0.04
GROUND, INK = (29, 35, 41), (255, 255, 255)


class Sheet:
    """What a film's pictures are laid on: a canvas at least as large as they are, black where they do not reach, with captions over it.

    Parameters
    ----------
    size
        Width and height of the canvas.
    picture
        Width and height of the pictures; they stand in its middle.
    cues
        In the time of the film, none overlapping.
    """

    def __init__(self, size: tuple[int, int], picture: tuple[int, int], cues: Sequence[Cue] = ()) -> None:
        if picture[0] > size[0] or picture[1] > size[1]:
            raise ValueError(f"a picture of {picture[0]} x {picture[1]} does not fit on a canvas of {size[0]} x {size[1]}")
        self.size = size
        self._left, self._top = corner_of(size, picture)
        self._whole = size == picture
        self._cues = sorted(cues, key=lambda cue: cue.start_ms)
        self._starts = [cue.start_ms for cue in self._cues]

    def lay(self, picture: Planes, at_s: float) -> Planes:
        """The picture on the canvas, with the caption of this moment. It may be drawn on."""
        cue = self.cue_at(at_s)
        laid = picture if self._whole else self._within(picture)
        if cue is not None:
            plate = caption_plate(cue.lines, self.size)
            plate.lay(laid, *_corner(plate.size, self.size, at_top=cue.at_top))
        return laid

    def _within(self, picture: Planes) -> Planes:
        laid = Planes.blank(self.size)
        for (plane, share), (own, _) in zip(laid.each(), picture.each(), strict=True):
            left, top = self._left // share, self._top // share
            plane[top : top + own.shape[0], left : left + own.shape[1]] = own
        return laid

    def cue_at(self, at_s: float) -> Cue | None:
        """The caption of a moment of the film, None in a gap."""
        at_ms = round(at_s * 1000)
        place = bisect_right(self._starts, at_ms)
        cue = self._cues[place - 1] if place else None
        return cue if cue is not None and at_ms < cue.end_ms else None


def corner_of(canvas: tuple[int, int], picture: tuple[int, int]) -> tuple[int, int]:
    """Left and top of a picture in the middle of a canvas, even, as half-size planes of colour want it."""
    return (canvas[0] - picture[0]) // 4 * 2, (canvas[1] - picture[1]) // 4 * 2


def _corner(plate: tuple[int, int], canvas: tuple[int, int], *, at_top: bool) -> tuple[int, int]:
    """Left and top of a caption's plate on a canvas."""
    width, height = plate
    top = round(BELOW_LABELS * canvas[1]) if at_top else canvas[1] - round(MARGIN_SHARE * canvas[1]) - height
    return (canvas[0] - width) // 2, top


def caption_box(canvas: tuple[int, int], *, at_top: bool) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of what a caption of two full lines covers on a canvas."""
    line = "n" * (LINE if canvas[0] >= canvas[1] else LINE_PORTRAIT)
    width, height = caption_plate((line, line), canvas).size
    left, top = _corner((width, height), canvas, at_top=at_top)
    return left, top, left + width, top + height


@lru_cache(maxsize=8)
def caption_plate(lines: tuple[str, ...], size: tuple[int, int]) -> Tile:
    """Lines of text in the middle of a solid plate, as large as a picture of this size asks for and never wider than it."""
    widest = WIDEST_SHARE * size[0]
    # A full line of the widest cut fits whatever it says: letters are about 0.55 of their height wide.
    room = widest / (0.6 * (LINE if size[0] >= size[1] else LINE_PORTRAIT))
    text_px = max(10, round(min(TEXT_SHARE * min(size), room)))
    face = ImageFont.truetype(fonts.BOLD, text_px)
    while text_px > 6 and max(face.getlength(line) for line in lines) + text_px > widest:
        text_px -= 1
        face = ImageFont.truetype(fonts.BOLD, text_px)
    step, pad = round(text_px * 1.3), text_px // 2
    width = min(size[0], round(max(face.getlength(line) for line in lines)) + 2 * pad)
    canvas = Image.new("RGB", (width, step * len(lines) + pad), GROUND)
    draw = ImageDraw.Draw(canvas)
    for at, line in enumerate(lines):
        draw.text((width / 2, pad // 2 + at * step + step / 2), line, INK, face, anchor="mm")
    return Tile(np.asarray(canvas, dtype=np.uint8))
