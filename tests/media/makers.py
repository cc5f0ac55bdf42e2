"""Small clips for the tests, made on the spot by the codec library: every frame is another picture and carries its number as a bar code.

The programs of the ffmpeg package serve only as an independent decoder and reader to check against.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import subprocess
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
import pytest
from numpy.typing import NDArray

WIDTH, HEIGHT = 160, 96
BITS = 10
MS = Fraction(1, 1000)

needs_ffmpeg = pytest.mark.skipif(
    shutil.which("ffmpeg") is None or shutil.which("ffprobe") is None,
    reason="the independent decoder is missing: install the ffmpeg package to check against it",
)


def picture(number: int, width: int = WIDTH, height: int = HEIGHT) -> NDArray[np.uint8]:
    """A picture with a texture that moves, and its number as a row of black and white fields along the top."""
    across, down = np.meshgrid(np.arange(width), np.arange(height))
    red = (across * 3 + number * 5) % 256
    green = (down * 5 + number * 3) % 256
    image = np.stack([red, green, np.full_like(red, (number * 7) % 256)], axis=2).astype(np.uint8)
    field = width // BITS
    for bit in range(BITS):
        image[: height // 4, bit * field : (bit + 1) * field] = 255 if number >> bit & 1 else 0
    return image


def number_of(image: NDArray[np.uint8]) -> int:
    """The number that a picture carries, read from an upright array of any size of the same proportions."""
    height, width = image.shape[:2]
    field = width // BITS
    row = image[height // 8].mean(axis=1)
    return sum(1 << bit for bit in range(BITS) if row[bit * field + field // 2] > 127)


def steady(count: int, step_ms: int = 40) -> list[int]:
    """Times of a constant rate."""
    return [at * step_ms for at in range(count)]


def uneven(count: int) -> list[int]:
    """Times of a rate that varies as a phone's does: 33, 67 and 100 ms, and one long stop."""
    steps = [33, 67, 33, 100, 34, 33, 700, 33]
    times = [0]
    while len(times) < count:
        times.append(times[-1] + steps[len(times) % len(steps)])
    return times


def make_clip(
    path: Path,
    times_ms: Sequence[int],
    *,
    codec: str = "libx264",
    options: dict[str, str] | None = None,
    container: str | None = None,
    container_options: dict[str, str] | None = None,
    rotation: int = 0,
    mirrored: bool = False,
    offset_ms: int = 0,
    sound: str | None = "aac",
    sound_from_ms: int = 0,
    sound_ms: int | None = None,
    hole_ms: tuple[int, int] | None = None,
    pixel_format: str = "yuv420p",
    size: tuple[int, int] = (WIDTH, HEIGHT),
    metadata: dict[str, str] | None = None,
    rate_hz: int = 48_000,
    first: int = 0,
) -> Path:
    """Write a clip whose frame n (from `first`) is shown at `times_ms[n] + offset_ms`, with a tone of 440 Hz beside it."""
    with av.open(str(path), "w", format=container, container_options=container_options or {}) as made:
        made.metadata.update(metadata or {})
        track: Any = made.add_stream(codec, rate=25, options=options or {})
        track.width, track.height = size
        track.pix_fmt = pixel_format
        track.codec_context.time_base = track.time_base = MS
        if rotation or mirrored:
            track.set_display_rotation(rotation, hflip=mirrored)
        tone = _tone(made, sound, rate_hz) if sound else None
        length_ms = times_ms[-1] + 40
        sound_until = sound_from_ms + (sound_ms if sound_ms is not None else length_ms - sound_from_ms)
        sounded = sound_from_ms
        for number, time_ms in enumerate(times_ms, start=first):
            frame = av.VideoFrame.from_ndarray(picture(number, *size), "rgb24").reformat(format=pixel_format)
            frame.pts, frame.time_base = time_ms + offset_ms, MS
            made.mux(track.encode(frame))
            while tone is not None and sounded < min(time_ms + 40, sound_until):
                if hole_ms is None or not hole_ms[0] <= sounded < hole_ms[1]:
                    made.mux(tone.encode(_tone_frame(sounded, offset_ms, rate_hz, tone.format.name)))
                sounded += 20
        made.mux(track.encode(None))
        if tone is not None:
            made.mux(tone.encode(None))
    return path


def _tone(made: Any, codec: str, rate_hz: int) -> Any:
    tone = made.add_stream(codec, rate=rate_hz)
    tone.codec_context.layout = "mono"
    tone.codec_context.time_base = Fraction(1, rate_hz)
    return tone


def _tone_frame(at_ms: int, offset_ms: int, rate_hz: int, sample_format: str) -> Any:
    moments = at_ms / 1000 + np.arange(rate_hz // 50) / rate_hz
    wave = (0.5 * np.sin(2 * np.pi * 440 * moments)).astype(np.float32)[None]
    frame = av.AudioFrame.from_ndarray(wave, format="fltp", layout="mono")
    frame.sample_rate, frame.time_base = rate_hz, Fraction(1, rate_hz)
    frame.pts = round((at_ms + offset_ms) * rate_hz / 1000)
    return frame


def every_frame(path: Path) -> list[tuple[float, int]]:
    """Time and pts of each frame, decoded one after the other without seeking, in the order of their time stamps."""
    stamps = []
    with av.open(str(path)) as container:
        track: Any = container.streams.video[0]
        for packet in container.demux(track):
            with contextlib.suppress(av.error.InvalidDataError):  # the last packet of a file that was cut off
                stamps += [frame.pts for frame in packet.decode()]
        stamps.sort()
        return [(float((pts - stamps[0]) * track.time_base), pts) for pts in stamps]


def ffprobe(path: Path, *what: str) -> dict[str, Any]:
    """What ffprobe says of a file."""
    told = subprocess.run(["ffprobe", "-v", "error", "-of", "json", *what, str(path)], check=True, capture_output=True)
    read: dict[str, Any] = json.loads(told.stdout)
    return read


def ffmpeg_frames(path: Path, width: int, height: int) -> list[NDArray[np.uint8]]:
    """All frames of a clip as ffmpeg decodes them, turned upright, RGB."""
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-fps_mode", "passthrough", "-pix_fmt", "rgb24", "-f", "rawvideo", "-"]
    raw = subprocess.run(command, check=True, capture_output=True).stdout
    return list(np.frombuffer(raw, np.uint8).reshape(-1, height, width, 3))


def ffmpeg_sound(path: Path, rate_hz: int = 16_000, filters: str = "anull") -> NDArray[np.float32]:
    """A file's sound as ffmpeg decodes it, mono."""
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-vn", "-af", filters, "-ac", "1", "-ar", str(rate_hz), "-f", "f32le", "-"]
    return np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, np.float32)
