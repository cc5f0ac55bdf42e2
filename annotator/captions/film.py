"""Draw a stretch of a film anew: zones and labels over it, faces blurred, its sound, captions that can be turned on and off.

Thin shell around annotator/media: frames in, frames out. What is drawn where is overlaid.py; which stretch, and with what, is clips.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Protocol

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from annotator import fonts
from annotator.captions.face_looks import Box
from annotator.captions.overlaid import Picture
from annotator.marks import Overlay, Planes, Tile, blur_planes, paint_planes
from annotator.media import ClipInfo, PlanesFrame, SoundSpan, TimedLine, open_writer, probe, read_planes
from annotator.units import Progress

SHORT_SIDE_PX = 480
MOST_FRAMES_A_SECOND = 30.0
TICK_S = 0.0005  # frames closer than this are one moment
LABEL_SHARE = 24  # a label's letters are this part of the picture's shorter side
LABEL_GROUND, LABEL_INK = (255, 255, 255), (20, 20, 20)

Faces = Callable[[float], Sequence[Box]]
"""The boxes to hide at a moment of clip time, in pixels of the upright clip."""


@dataclass(frozen=True)
class Stretch:
    """The part of a clip that is drawn: clip time in seconds."""

    path: Path
    start_s: float
    end_s: float


class Canvas(Protocol):
    """A larger picture on which each drawn one is laid, or one with more on it (captions)."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of what `lay` gives."""

    def lay(self, picture: Planes, at_s: float) -> Planes:
        """The picture for a moment of the new film; the one handed in may be drawn on."""


def draw_film(
    stretch: Stretch,
    out: Path,
    *,
    zones: Callable[[float], Overlay | None],
    labels: Callable[[bool], Sequence[str]],
    captions: Sequence[TimedLine] = (),
    short_side: int = SHORT_SIDE_PX,
    faces: Faces | None,
    sound: bool = True,
    canvas: Canvas | None = None,
    progress: Progress | None = None,
) -> None:
    """Write the stretch as MP4 (H.264, AAC) without metadata.

    Parameters
    ----------
    zones
        What lies over the picture at a moment of clip time, None for nothing.
    labels
        The lines in the upper left corner of what is written, given whether zones are shown.
    captions
        In seconds of the new film.
    short_side
        Pixels of the shorter side of the picture; a smaller clip stays as it is.
    faces
        What is hidden; None leaves faces as they are: a person's recorded choice.
    sound
        Write the stretch's sound too.
    canvas
        What the drawn pictures are laid on; they are written as they are without one.
    progress
        Told the share of the stretch that is written; what it raises ends the work and leaves no file.
    """
    info = probe(stretch.path)
    size = film_size(info, short_side)
    length = max(0.1, stretch.end_s - stretch.start_s)
    step = 1 / MOST_FRAMES_A_SECOND if (info.average_rate or 0.0) > MOST_FRAMES_A_SECOND * 1.05 else None
    frames = read_planes(stretch.path, size, stretch.start_s, stretch.end_s, step_s=step)
    heard = [SoundSpan(stretch.path, stretch.start_s, stretch.end_s)] if info.has_audio and sound else []
    written = size if canvas is None else canvas.size
    with open_writer(out, *written, end_s=length, sound=heard, captions=captions) as film:
        for frame in _each_once(frames, stretch.start_s):
            picture = Planes(frame.planes)
            if faces is not None:
                blur_planes(picture, [scaled(box, size[0] / info.width, size[1] / info.height) for box in faces(frame.time_s)])
            over = zones(frame.time_s)
            if over is not None:
                paint_planes(picture, over)
            at_s = max(0.0, frame.time_s - stretch.start_s)
            laid = picture if canvas is None else canvas.lay(picture, at_s)
            lines = tuple(labels(over is not None))
            if lines:
                _label(lines, *_label_px(laid.size)).lay(laid, 0, 0)
            film.write_planes(laid.whole, at_s)
            if progress:
                progress(min(0.999, at_s / length))
    if progress:
        progress(1.0)


def film_size(info: ClipInfo, short_side: int = SHORT_SIDE_PX) -> tuple[int, int]:
    """Width and height of the drawn film, both even, in the clip's proportions and never larger than the clip."""
    scale = min(1.0, short_side / min(info.width, info.height))
    return max(2, round(info.width * scale / 2) * 2), max(2, round(info.height * scale / 2) * 2)


def _each_once(frames: Iterable[PlanesFrame], start_s: float) -> Iterator[PlanesFrame]:
    """Frames in rising time; of those shown at the very start, the last."""
    held: PlanesFrame | None = None
    for frame in frames:
        if held is not None and max(frame.time_s, start_s) > max(held.time_s, start_s) + TICK_S:
            yield held
        held = frame
    if held is not None:
        yield held


def scaled(box: Box, across: float, down: float) -> Box:
    """A box of the clip in pixels of the film.

    >>> scaled((10, 10, 20, 30), 0.5, 0.5)
    (5.0, 5.0, 10.0, 15.0)
    """
    x0, y0, x1, y1 = box
    return x0 * across, y0 * down, x1 * across, y1 * down


def labelled(picture: Picture, lines: tuple[str, ...]) -> Picture:
    """The picture with short lines of text on white in its upper left corner."""
    if not lines:
        return picture
    label = _label(lines, *_label_px((picture.shape[1], picture.shape[0]))).image
    height, width = min(label.shape[0], picture.shape[0]), min(label.shape[1], picture.shape[1])
    marked = picture.copy()
    marked[:height, :width] = label[:height, :width]
    return marked


def label_size(lines: Sequence[str], size: tuple[int, int]) -> tuple[int, int]:
    """Width and height of the label in the corner of a film of this size; nothing where it has no lines."""
    return _label(tuple(lines), *_label_px(size)).size if lines else (0, 0)


def _label_px(size: tuple[int, int]) -> tuple[int, int]:
    """How high the letters of a label are, and how wide it may be."""
    return max(12, min(size) // LABEL_SHARE), size[0]


@lru_cache(maxsize=16)
def _label(lines: tuple[str, ...], text_px: int, most_px: int) -> Tile:
    face = ImageFont.truetype(fonts.BOLD, text_px)
    pad, line = text_px // 2, round(text_px * 1.3)
    rows = [row for text in lines for row in _in_rows(text, face, most_px - 2 * pad)]
    width = min(most_px, max(round(face.getlength(text)) for text in rows) + 2 * pad)
    canvas = Image.new("RGB", (width, line * len(rows) + pad), LABEL_GROUND)
    draw = ImageDraw.Draw(canvas)
    for at, text in enumerate(rows):
        draw.text((pad, pad // 2 + at * line), text, LABEL_INK, face)
    return Tile(np.asarray(canvas, dtype=np.uint8))


def _in_rows(text: str, face: ImageFont.FreeTypeFont, most_px: int) -> list[str]:
    """The text in as many rows as it needs; a word that is wider than a row has one of its own."""
    rows: list[str] = []
    for word in text.split():
        longer = f"{rows[-1]} {word}" if rows else word
        if rows and face.getlength(longer) <= most_px:
            rows[-1] = longer
        else:
            rows.append(word)
    return rows
