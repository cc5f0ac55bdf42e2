"""Write a clip as a phone does: H.264 and AAC, irregular frame times, a display matrix, a place and a device in its metadata.

The place is in mid-ocean and the device is invented. A tool: the product never encodes like this. Needs PyAV.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
import numpy as np
from numpy.typing import NDArray

from scripts.sample_walk.plan import FRAME_TICKS, TICKS_A_SECOND

PLACE = "+00.5000-025.5000+002.000/"
MAKE, MODEL = "Quillfern", "Pocket Three"
MADE = "2026-05-16T10:00:00Z"
TRACK_TICKS = 90_000
"""Ticks a second of the video track in the file; a whole multiple of TICKS_A_SECOND."""
SOUND_RATE = 44_100


class Reel:
    """A clip that is being written. `portrait` stores frames lying down and says through the display matrix how to turn them."""

    def __init__(self, path: Path, width: int, height: int, portrait: bool, bits_a_second: int) -> None:
        self._path, self._portrait = path, portrait
        self._file = av.open(str(path), "w", options={"movflags": "use_metadata_tags", "video_track_timescale": str(TRACK_TICKS)})
        keys = {"make": MAKE, "model": MODEL, "creationdate": MADE, "location.ISO6709": PLACE}
        self._file.metadata.update({f"com.apple.quicktime.{key}": value for key, value in keys.items()})
        self._file.metadata.update({"location": PLACE, "creation_time": MADE})
        self._video = self._file.add_stream("libx264", rate=Fraction(TICKS_A_SECOND, FRAME_TICKS))
        self._video.width, self._video.height = (height, width) if portrait else (width, height)
        self._video.pix_fmt = "yuv420p"
        self._video.time_base = Fraction(1, TICKS_A_SECOND)
        self._video.codec_context.time_base = Fraction(1, TICKS_A_SECOND)
        self._video.codec_context.thread_count = 2
        self._video.bit_rate = bits_a_second
        self._video.options = {
            "preset": "fast",
            "g": "75",
            "x264-params": "aq-mode=3:colorprim=bt709:transfer=bt709:colormatrix=bt709",
        }
        self._audio = self._file.add_stream("aac", rate=SOUND_RATE)
        self._audio.bit_rate = 48_000
        self._audio.layout = "mono"

    def add(self, picture: NDArray[np.uint8], tick: int) -> None:
        """The upright picture that is shown from `tick` on."""
        stored = np.rot90(picture, 1) if self._portrait else picture
        frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(stored), format="rgb24")
        frame = frame.reformat(format="yuv420p", dst_colorspace="ITU709")
        frame.pts, frame.time_base = tick, Fraction(1, TICKS_A_SECOND)
        for packet in self._video.encode(frame):
            self._file.mux(packet)

    def add_sound(self, samples: NDArray[np.float32], rate: int) -> None:
        """All the sound of the clip, mono."""
        resampler = av.AudioResampler(format="fltp", layout="mono", rate=SOUND_RATE)
        for block in _blocks(samples, rate):
            for frame in resampler.resample(block):
                self._sound(frame)
        for frame in resampler.resample(None):
            self._sound(frame)

    def _sound(self, frame: av.AudioFrame | None) -> None:
        for packet in self._audio.encode(frame):
            self._file.mux(packet)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if error is None:
            for packet in self._video.encode(None):
                self._file.mux(packet)
            self._sound(None)
        self._file.close()
        if error is None and self._portrait:
            turn_in_header(self._path)


def _blocks(samples: NDArray[np.float32], rate: int) -> Iterator[av.AudioFrame]:
    for start in range(0, len(samples), 4096):
        part = samples[start : start + 4096]
        block = av.AudioFrame.from_ndarray(np.ascontiguousarray(part[None, :]), format="flt", layout="mono")
        block.sample_rate, block.pts, block.time_base = rate, start, Fraction(1, rate)
        yield block


def turn_in_header(path: Path) -> None:
    """Write the display matrix of a picture to be turned 90 degrees clockwise into the first video track of a finished file.

    The place of the matrix is that of the track header box, ISO/IEC 14496-12, 8.3.2; the video track is written first.
    """
    content = bytearray(path.read_bytes())
    header = content.index(b"tkhd") + 4
    if content[header] != 0:
        raise ValueError(f"{path.name}: its track header is of version {content[header]}, the maker writes version 0 only")
    matrix = header + 40
    height = struct.unpack_from(">I", content, header + 80)[0]
    one = 1 << 16
    struct.pack_into(">9i", content, matrix, 0, one, 0, -one, 0, 0, height, 0, 1 << 30)
    path.write_bytes(bytes(content))
