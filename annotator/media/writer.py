"""Write a new film from pictures that another part draws: captioned clips, marked clips, a judge's clip with zones over it.

In: RGB arrays with times, stretches of a clip's sound, captions and chapters. Out: one MP4 that any browser plays, without metadata.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from annotator.media.audio import Samples, read_chunks
from annotator.media.mp4 import (
    SOUND_RATE_HZ,
    Feed,
    TimedLine,
    add_captions,
    add_sound,
    encoded_captions,
    encoded_sound,
    fit_720,
    open_mp4,
    set_chapters,
)
from annotator.media.opening import open_container
from annotator.media.picture_track import PictureTrack, frame_of, yuv_of
from annotator.media.upright import Image

CLOCK = Fraction(1, 90_000)
PRESET, CRF = "veryfast", 23
CHANNELS = 2

Planes = NDArray[np.uint8]
"""(H * 3 / 2, W): a picture as `read_planes` gives it."""


@dataclass(frozen=True)
class SoundSpan:
    """A stretch of a clip's sound, `start_s` until `end_s` of clip time, laid at `at_s` of the written file."""

    path: Path
    start_s: float
    end_s: float
    at_s: float = 0.0


class VideoWriter:
    """Takes the frames of the film, in order. Made by `open_writer`."""

    def __init__(self, picture: PictureTrack, feeds: Sequence[Feed], given: tuple[int, int], size: tuple[int, int]) -> None:
        self._picture, self._feeds, self._given = picture, feeds, given
        self.size = size
        """Width and height of the written film."""
        self._waiting: tuple[Image | Planes, int] | None = None
        self._step = round(1 / 30 / CLOCK)

    def write(self, image: Image, time_s: float) -> None:
        """Show `image` from `time_s` of the new film until the next one.

        Raises
        ------
        ValueError
            The picture has not the size that the writer was opened for, or is not later than the one before.
        """
        height, width = image.shape[:2]
        self._refuse_another(width, height, image.dtype)
        self._show(image.copy(), time_s)

    def write_planes(self, planes: Planes, time_s: float) -> None:
        """As `write`, a picture as `read_planes` gives it; it belongs to the film from then on.

        Raises
        ------
        ValueError
            As `write`; also where the film is smaller than the pictures that it was opened for, since planes are not scaled.
        """
        self._refuse_another(planes.shape[1], planes.shape[0] * 2 // 3, planes.dtype)
        if self.size != self._given:
            raise ValueError(f"planes are not scaled: this film is {self.size[0]} x {self.size[1]}, the picture larger")
        self._show(planes, time_s)

    def _refuse_another(self, width: int, height: int, kind: np.dtype[Any]) -> None:
        if (width, height) != self._given or kind != np.uint8:
            raise ValueError(f"the picture is {width} x {height} {kind}; this film was opened for {self._given[0]} x {self._given[1]}")

    def _show(self, picture: Image | Planes, time_s: float) -> None:
        ticks = round(time_s / CLOCK)
        if ticks < 0 or (self._waiting is not None and ticks <= self._waiting[1]):
            raise ValueError(f"a frame at {time_s} s cannot follow; frames come in order of time, from 0 on")
        if self._waiting is not None:
            self._step = ticks - self._waiting[1]
            self._encode(self._step)
        self._waiting = picture, ticks

    def finish(self, end_s: float | None) -> None:
        """Show the last frame until `end_s` (as long as the one before, if None), and hand on what is left. `open_writer` calls it."""
        if self._waiting is not None:
            length = self._step if end_s is None else round(end_s / CLOCK) - self._waiting[1]
            self._encode(max(1, length))
        self._picture.finish()
        for feed in self._feeds:
            feed.rest()

    def _encode(self, length: int) -> None:
        assert self._waiting is not None
        picture, ticks = self._waiting
        self._picture.write(frame_of(picture) if picture.ndim == 2 else yuv_of(picture, self.size), ticks, length)
        for feed in self._feeds:
            feed.until(float(ticks * CLOCK))


@contextmanager
def open_writer(
    out: Path,
    width: int,
    height: int,
    *,
    end_s: float | None = None,
    sound: Sequence[SoundSpan] = (),
    captions: Sequence[TimedLine] = (),
    chapters: Sequence[TimedLine] = (),
    language: str = "eng",
) -> Iterator[VideoWriter]:
    """A film to write frame by frame; it appears as `out` when the block ends well, and not at all when it is left by an error or a stop.

    Parameters
    ----------
    out : the MP4 to write
    width, height : pixels of the pictures that will be handed in; larger ones than 720p are scaled down (`writer.size` tells)
    end_s : seconds; how long the last frame stays
    sound : stretches of clips' sound, in order of `at_s`; silence between them. AAC, 48 kHz, two channels
    captions : lines that a viewer can turn on and off
    chapters : named stretches
    language : ISO 639-2 code of the captions, "eng"

    Raises
    ------
    CannotWrite
        The disk is full or the folder cannot be written.
    UnreadableVideo
        A clip whose sound is wanted cannot be opened.
    ValueError
        `width` or `height` is smaller than 2.

    Examples
    --------
    >>> with open_writer(Path("station.mp4"), 1280, 720, sound=[SoundSpan(walk, 62.0, 98.5)]) as film:  # doctest: +SKIP
    ...     for frame in read_frames(walk, 62.0, 98.5):
    ...         film.write(draw(frame.image), max(0.0, frame.time_s - 62.0))
    """
    if min(width, height) < 2:
        raise ValueError(f"a film of {width} x {height} pixels cannot be written")
    size = fit_720(width, height)
    heard = [span for span in sound if has_sound(span.path)]
    with open_mp4(out) as made:
        picture = PictureTrack(made, size, CLOCK, None, PRESET, CRF)
        picture.colours_bt709()
        sound_track = add_sound(made, CHANNELS) if heard else None
        caption_track = add_captions(made, language) if captions else None
        if chapters:
            set_chapters(made, chapters)
        feeds = []
        if caption_track is not None:
            feeds.append(Feed(made, encoded_captions(caption_track, captions)))
        if sound_track is not None:
            feeds.append(Feed(made, encoded_sound(sound_track, laid_out(heard))))
        writer = VideoWriter(picture, feeds, (width, height), size)
        yield writer
        writer.finish(end_s)


def has_sound(path: Path) -> bool:
    """Whether a clip has a track of sound."""
    with open_container(path) as container:
        return bool(container.streams.audio)


def laid_out(spans: Sequence[SoundSpan]) -> Iterator[Samples]:
    """The spans' sound one after the other, each at its place, silence between."""
    given = 0
    for span in spans:
        hole = round(span.at_s * SOUND_RATE_HZ) - given
        while hole > 0:
            silence = min(hole, SOUND_RATE_HZ)
            yield np.zeros((CHANNELS, silence), np.float32)
            given, hole = given + silence, hole - silence
        for chunk in read_chunks(span.path, SOUND_RATE_HZ, CHANNELS, span.start_s, span.end_s):
            yield chunk
            given += chunk.shape[1]
