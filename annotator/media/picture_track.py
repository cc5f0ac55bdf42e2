"""Encode pictures as an H.264 track whose every frame keeps its own time.

In: decoder's frames or arrays with times. Out: packets for a container of mp4.py.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from annotator.media.upright import Image, Turn

KEY_EVERY = 60  # frames; a browser can jump to each of these at once
MOST_TICKS = 1_000_000  # a second; a finer clock does not fit the index of every player
_BT709, _LIMITED = 1, 1
_UNKNOWN = 2


class PictureTrack:
    """An H.264 track (8 bits, 4:2:0) of a given even size, on a given clock."""

    def __init__(self, container: Any, size: tuple[int, int], clock: Fraction, rate: Fraction | None, preset: str, crf: int) -> None:
        self.clock = clock if clock.denominator <= MOST_TICKS else Fraction(1, 90_000)
        self._container = container
        track = container.add_stream("libx264", rate=rate or 30, options={"preset": preset, "crf": str(crf)})
        track.width, track.height = size
        track.pix_fmt = "yuv420p"
        track.time_base = track.codec_context.time_base = self.clock
        track.codec_context.gop_size = KEY_EVERY
        track.thread_type = "AUTO"
        self._track = track
        self._held: Any = None
        self._end = 0

    def colours(self, matrix: int, primaries: int, transfer: int) -> None:
        """Say what the numbers mean, before the first frame; the values are those of ITU-T H.273."""
        context = self._track.codec_context
        context.color_range = _LIMITED
        context.colorspace, context.color_primaries, context.color_trc = matrix, primaries, transfer

    def colours_bt709(self) -> None:
        """The colours of HD film."""
        self.colours(_BT709, _BT709, _BT709)

    def write(self, frame: Any, ticks: int, length: int) -> None:
        """Encode a frame that is shown from `ticks` of the track's clock for `length` ticks."""
        frame.pts, frame.time_base = ticks, self.clock
        frame.pict_type = 0
        self._end = ticks + length
        self._mux(self._track.encode(frame))

    def finish(self) -> None:
        """Encode what the encoder still holds, and make the last frame stay as long as was said."""
        self._mux(self._track.encode(None))
        if self._held is not None:
            # An MP4 keeps steps between decoding times: the packet that is last in that order reaches to the end of the track.
            self._held.duration = max(1, self._end - self._held.pts)
            self._container.mux(self._held)

    def _mux(self, packets: list[Any]) -> None:
        for packet in packets:
            if self._held is not None:
                self._container.mux(self._held)
            self._held = packet


def upright_yuv(frame: Any, turn: Turn, size: tuple[int, int]) -> Any:
    """A decoder's frame turned upright and scaled to `size`, in 8 bits 4:2:0 of limited range, without becoming RGB on the way."""
    width, height = size[::-1] if turn.quarters % 2 else size
    full_range = frame.color_range == 2 or frame.format.name.startswith("yuvj")
    ranges = {"src_color_range": "JPEG", "dst_color_range": "MPEG"} if full_range else {}
    small = frame.reformat(width=width, height=height, format="yuv420p", interpolation="BILINEAR", **ranges)
    if turn == Turn():
        return small
    rows = small.to_ndarray()
    flat = [rows[:height], *rows[height:].reshape(2, height // 2, width // 2)]
    turned = [turn.apply(np.ascontiguousarray(plane)) for plane in flat]
    made = av.VideoFrame.from_ndarray(np.concatenate([plane.reshape(-1) for plane in turned]).reshape(size[1] * 3 // 2, size[0]), "yuv420p")
    made.colorspace, made.color_range = small.colorspace, small.color_range
    return made


def hd_planes(frame: Any, turn: Turn, size: tuple[int, int]) -> NDArray[np.uint8]:
    """A decoder's frame turned upright and scaled to `size` as (H * 3 / 2, W) planes in memory of their own, colours as in HD film."""
    width, height = size[::-1] if turn.quarters % 2 else size
    small = frame.reformat(
        width=width, height=height, format="yuv420p", interpolation="AREA", dst_colorspace="ITU709", dst_color_range="MPEG"
    )
    rows: NDArray[np.uint8] = small.to_ndarray()
    if turn == Turn():
        return rows
    light, colour = rows[:height], rows.reshape(-1)[width * height :].reshape(2, height // 2, width // 2)
    turned = [turn.apply(np.ascontiguousarray(plane)).reshape(-1) for plane in (light, *colour)]
    return np.concatenate(turned).reshape(size[1] * 3 // 2, size[0])


def frame_of(planes: NDArray[np.uint8]) -> Any:
    """Planes of `hd_planes` as a frame for the encoder."""
    frame = av.VideoFrame.from_ndarray(planes, "yuv420p")
    frame.colorspace, frame.color_range = _BT709, _LIMITED
    return frame


def image_of(planes: NDArray[np.uint8]) -> Image:
    """Planes of `hd_planes` as RGB."""
    image: Image = frame_of(planes).reformat(format="rgb24").to_ndarray()
    return image


def yuv_of(image: Image, size: tuple[int, int]) -> Any:
    """An RGB array as a frame of `size` in 8 bits 4:2:0, with the colour matrix of HD film."""
    frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(image), "rgb24")
    return frame.reformat(
        width=size[0], height=size[1], format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG", interpolation="AREA"
    )
