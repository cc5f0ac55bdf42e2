"""Frames of a clip with their true times: what a viewer sees at time t is the last frame whose presentation time is not after t.

In: a path and times of the clip's own clock, in which the first frame is at 0. Out: upright RGB frames.
Times come from presentation time stamps only, never from a frame rate: phones film at a rate that varies.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av.error
import numpy as np
from numpy.typing import NDArray

from annotator.media.opening import Start, decoded, open_container, packets, picture_track, start_of
from annotator.media.picture_track import hd_planes, image_of
from annotator.media.upright import Image, to_image
from annotator.units import ticks_to_seconds

EARLY_S = 1.0  # open groups of pictures hand over frames that came later than asked for; so we aim this much earlier


@dataclass(frozen=True)
class Frame:
    """One frame as it is seen: `time_s` in clip time, `pts` as the file has it, `image` (H, W, 3) uint8 RGB upright."""

    time_s: float
    pts: int
    image: Image


def read_frames(
    path: Path, start_s: float = 0.0, end_s: float | None = None, step_s: float | None = None, height: int | None = None
) -> Iterator[Frame]:
    """The frames seen from `start_s` until before `end_s`, in order.

    Parameters
    ----------
    start_s : seconds of clip time
        The first frame is the one on screen at this moment, so its own time may lie a little before it.
    end_s : seconds of clip time, or None for the end of the clip
        Frames at or after it are left out.
    step_s : seconds above 0, or None for every frame
        Only what is on screen at `start_s`, `start_s + step_s`, ...; no frame twice.
    height : pixels, or None for full size
        Upright height to scale to; the width keeps the proportions.

    Raises
    ------
    UnreadableVideo
        The file is no film that can be decoded; the reason says why and what to do.
    ValueError
        A step or a height that is not above 0.

    Examples
    --------
    >>> for frame in read_frames(Path("walk.mp4"), 60.0, 61.0):  # doctest: +SKIP
    ...     print(frame.time_s, frame.image.shape)
    """
    if step_s is not None and step_s <= 0:
        raise ValueError(f"step_s is {step_s}; use a number of seconds above 0, or None for every frame")
    if height is not None and height <= 0:
        raise ValueError(f"height is {height}; use a number of pixels above 0, or None for full size")
    start = start_of(path)
    size = (start.width, start.height) if height is None else (max(1, round(start.width * height / start.height)), height)
    shown = _shown_from(path, start, start_s, end_s)
    for time_s, frame in shown if step_s is None else _stepped(shown, start_s, step_s):
        yield Frame(time_s, frame.pts, to_image(frame, start.turn, *size))


@dataclass(frozen=True)
class PlanesFrame:
    """One frame for drawing on: `planes` (H * 3 / 2, W) uint8, upright, in the limited range and with the matrix of HD film (BT.709).

    Luma, then Cb, then Cr, the two at half the width and height; the memory is the frame's own.
    """

    time_s: float
    pts: int
    planes: NDArray[np.uint8]

    @property
    def image(self) -> Image:
        """The same as (H, W, 3) RGB."""
        return image_of(self.planes)


def read_planes(
    path: Path, size: tuple[int, int], start_s: float = 0.0, end_s: float | None = None, step_s: float | None = None
) -> Iterator[PlanesFrame]:
    """The frames of `read_frames`, scaled to `size` (width and height, even), without becoming RGB on the way."""
    if step_s is not None and step_s <= 0:
        raise ValueError(f"step_s is {step_s}; use a number of seconds above 0, or None for every frame")
    start = start_of(path)
    shown = _shown_from(path, start, start_s, end_s)
    for time_s, frame in shown if step_s is None else _stepped(shown, start_s, step_s):
        yield PlanesFrame(time_s, frame.pts, hd_planes(frame, start.turn, size))


def grab(path: Path, time_s: float) -> Frame:
    """The frame on screen at a moment of the clip: the last one whose time is not after `time_s`.

    Before the first frame that is the first, after the end the last. A frame's own `time_s` brings that very frame back, if it was not
    rounded.

    Raises
    ------
    UnreadableVideo
        The file is no film that can be decoded.
    """
    start = start_of(path)
    seen_s, frame = next(_shown_from(path, start, time_s, None))
    return Frame(seen_s, frame.pts, to_image(frame, start.turn, start.width, start.height))


def frame_times(path: Path, start_s: float, end_s: float) -> tuple[float, ...]:
    """The times of the frames seen from `start_s` until `end_s`, in clip time, rising; nothing is decoded.

    The first one is on screen at `start_s`, the last one the first that comes at or after `end_s` (where the clip has one). For a file
    whose every packet is a whole frame with a time, as a proxy's are.

    Raises
    ------
    UnreadableVideo
        The file is no film that can be opened.
    """
    start = start_of(path)
    with open_container(path) as container:
        track = picture_track(container, path)
        if start_s > EARLY_S:
            with suppress(av.error.FFmpegError):
                container.seek(start.first_pts + int((start_s - EARLY_S) / start.time_base), stream=track, backward=True)
        times = set[float]()
        for packet in packets(container, track):
            if packet.pts is None or packet.is_discard or packet.pts < start.first_pts:
                continue
            times.add(ticks_to_seconds(packet.pts - start.first_pts, start.time_base))
            later = packet.dts is not None and ticks_to_seconds(packet.dts - start.first_pts, start.time_base) > end_s
            if later and max(times) >= end_s:
                break
    rising = sorted(times)
    first = max(0, bisect_right(rising, start_s) - 1)
    last = bisect_left(rising, end_s)
    return tuple(rising[first : last + 1])


def frames_from(path: Path, container: Any, track: Any, start: Start, time_s: float) -> Iterator[tuple[float, Any]]:
    """Clip times and decoder's frames, in order, beginning with one that is not after `time_s` (if the clip has one).

    It may begin a good deal earlier, at the point from which decoding is sound.
    """
    early_s, moved = EARLY_S, False
    while time_s - early_s > 0:
        moved = True
        target = start.first_pts + int((time_s - early_s) / start.time_base)
        try:
            container.seek(target, stream=track, backward=True)
        except av.error.FFmpegError:
            break
        frames = _timed(decoded(container, track), start)
        first = next(frames, None)
        if first is not None and first[0] <= time_s:
            yield first
            yield from frames
            return
        early_s *= 4
    # No sound point before the moment: from the beginning, which always works; in a fresh container, since a failed seek leaves some
    # readers in the middle of the file.
    if not moved:
        yield from _timed(decoded(container, track), start)
        return
    with open_container(path) as fresh:
        yield from _timed(decoded(fresh, picture_track(fresh, path)), start)


def _timed(frames: Iterator[Any], start: Start) -> Iterator[tuple[float, Any]]:
    for frame in frames:
        if frame.pts >= start.first_pts:
            yield ticks_to_seconds(frame.pts - start.first_pts, start.time_base), frame


def _shown_from(path: Path, start: Start, start_s: float, end_s: float | None) -> Iterator[tuple[float, Any]]:
    """What is on screen from `start_s` until before `end_s`; at least one frame, the last of the clip, if it ends before `start_s`."""
    with open_container(path) as container:
        track = picture_track(container, path)
        before: tuple[float, Any] | None = None
        begun = False
        for at in frames_from(path, container, track, start, start_s):
            if not begun and at[0] <= start_s:
                before = at
                continue
            if not begun and before is not None:
                yield before
            begun = True
            if end_s is not None and at[0] >= end_s:
                return
            yield at
        if not begun and before is not None:
            yield before


def _stepped(shown: Iterator[tuple[float, Any]], start_s: float, step_s: float) -> Iterator[tuple[float, Any]]:
    """Of what is shown, only what is on screen at a multiple of the step after the start."""
    count = 0
    current: tuple[float, Any] | None = None
    for at in shown:
        if current is not None and at[0] > start_s + count * step_s:
            yield current
            while start_s + count * step_s < at[0]:
                count += 1
        current = at
    if current is not None and (count == 0 or start_s + count * step_s <= current[0]):
        yield current
