"""Write MP4 files that any browser plays, with nothing in them about who filmed where: a name only for what is whole.

The file grows under another name beside its own and is renamed when it is finished; a stop, a full disk or a kill leaves no half file
under its name. Pictures are proxy.py's and writer.py's; here are the file, its sound, its captions and its chapters.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
from av.subtitles.subtitle import SubtitleSet

from annotator.errors import CannotWrite
from annotator.media.audio import Samples

SOUND_RATE_HZ = 48_000
SOUND_BITS = 128_000
LONG_PX, SHORT_PX = 1280, 720
MS = Fraction(1, 1000)

_ASS_HEADER = (
    "[Script Info]\nScriptType: v4.00+\n\n[V4+ Styles]\n"
    "Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, Bold, Italic, Underline, StrikeOut, "
    "ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding\n"
    "Style: Default,Arial,16,&Hffffff,&Hffffff,&H0,&H0,0,0,0,0,100,100,0,0,1,1,0,2,10,10,10,0\n\n"
    "[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
)


@dataclass(frozen=True)
class TimedLine:
    """A caption or a chapter: words from `start_s` until `end_s` of the written file."""

    start_s: float
    end_s: float
    text: str


def fit_720(width: int, height: int) -> tuple[int, int]:
    """The size in which a picture of this size is written: at most 1280 x 720 (720 x 1280 upright), in proportion, both sides even.

    >>> fit_720(1920, 1080), fit_720(1080, 1920), fit_720(641, 480)
    ((1280, 720), (720, 1280), (640, 480))
    """
    scale = min(1.0, LONG_PX / max(width, height), SHORT_PX / min(width, height))
    return max(2, round(width * scale / 2) * 2), max(2, round(height * scale / 2) * 2)


@contextmanager
def open_mp4(out: Path) -> Iterator[Any]:
    """An MP4 to fill with tracks and packets; it appears as `out` (replacing what was there) when the block ends well, else not at all.

    Its index stands before its data, so that it plays while it loads. It names no program, place, device or date.

    Raises
    ------
    CannotWrite
        The disk is full, or the folder is missing or closed to us.
    """
    out = Path(out)
    part = out.with_name(f".{out.name}.{os.getpid()}.part")
    if out.is_dir():
        raise CannotWrite(out, "It is a folder. Name a file in it.")
    try:
        options = {"movflags": "+faststart", "fflags": "+bitexact"}
        container = av.open(str(part.absolute()), "w", format="mp4", container_options=options)
        try:
            yield container
            container.close()
        except BaseException:
            with contextlib.suppress(av.error.FFmpegError, ValueError):
                container.close()
            raise
        _put_in_place(part, out)
    except av.error.FFmpegError as exc:  # only the codec library's: what else breaks inside the block is the caller's
        raise CannotWrite(out, _why_not(out, exc)) from exc
    finally:
        part.unlink(missing_ok=True)


def _put_in_place(part: Path, out: Path) -> None:
    try:
        part.replace(out)
    except OSError as exc:
        raise CannotWrite(out, _why_not(out, exc)) from exc


def _why_not(out: Path, exc: Any) -> str:
    if exc.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "The disk is full. Free some space and run it again; nothing else was lost."
    if exc.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"This account may not write to the folder {out.parent.name!r}. Choose another one."
    if exc.errno == errno.ENOENT:
        return f"There is no folder {out.parent.name!r}. Make it first."
    return f"Writing failed ({exc.strerror or exc}). Check the disk and run it again."


class Feed:
    """Packets of one track, muxed little by little as the picture goes on, so that neither has to wait in memory for the other."""

    def __init__(self, container: Any, packets: Iterable[Any]) -> None:
        self._container = container
        self._packets = iter(packets)
        self._next: Any = next(self._packets, None)

    def until(self, time_s: float) -> None:
        """Hand on all packets that are due by this time of the written file."""
        while self._next is not None and float((self._next.dts or 0) * self._next.time_base) <= time_s:
            self._container.mux(self._next)
            self._next = next(self._packets, None)

    def rest(self) -> None:
        """Hand on all that is left."""
        self.until(float("inf"))


def add_sound(container: Any, channels: int) -> Any:
    """A new AAC track."""
    track = container.add_stream("aac", rate=SOUND_RATE_HZ)
    track.codec_context.layout = {1: "mono", 2: "stereo"}[channels]
    track.codec_context.format = "fltp"
    track.codec_context.bit_rate = SOUND_BITS
    track.codec_context.time_base = Fraction(1, SOUND_RATE_HZ)
    return track


def encoded_sound(track: Any, chunks: Iterable[Samples]) -> Iterator[Any]:
    """Packets of AAC for chunks of sound at `SOUND_RATE_HZ` that follow each other from time 0 on."""
    layout = track.codec_context.layout.name
    at = 0
    for chunk in chunks:
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(np.clip(chunk, -1.0, 1.0)), format="fltp", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = SOUND_RATE_HZ, at, Fraction(1, SOUND_RATE_HZ)
        at += chunk.shape[1]
        yield from track.encode(frame)
    yield from track.encode(None)


def add_captions(container: Any, language: str) -> Any:
    """A new track of captions that a viewer can turn on and off."""
    track = container.add_stream("mov_text")
    track.codec_context.subtitle_header = _ASS_HEADER.encode()
    track.time_base = MS
    track.metadata["language"] = language
    return track


def encoded_captions(track: Any, lines: Sequence[TimedLine]) -> Iterator[Any]:
    """Packets of captions, in order of time."""
    for line in sorted(lines, key=lambda each: each.start_s):
        start_ms, length_ms = round(line.start_s * 1000), max(1, round((line.end_s - line.start_s) * 1000))
        text = _plain(line.text)
        drawn = SubtitleSet.create(f"0,0,Default,,0,0,0,,{text}".encode(), 0, length_ms, pts=start_ms * 1000)
        packet = track.codec_context.encode_subtitle(drawn)
        packet.stream, packet.time_base = track, MS
        packet.pts = packet.dts = start_ms
        packet.duration = length_ms
        yield packet


def _plain(text: str) -> str:
    r"""Text with its line ends as the encoder wants them, and without anything that it would take for markup.

    >>> _plain("hands only\n{both}")
    'hands only\\N(both)'
    """
    return text.replace("{", "(").replace("}", ")").replace("\\", "/").replace("\r\n", "\n").replace("\n", "\\N")


def set_chapters(container: Any, chapters: Sequence[TimedLine]) -> None:
    """Name the file's chapters; before its first packet."""
    container.set_chapters(
        [
            {
                "id": at,
                "start": round(each.start_s * 1000),
                "end": round(each.end_s * 1000),
                "time_base": MS,
                "metadata": {"title": each.text},
            }
            for at, each in enumerate(chapters, start=1)
        ]
    )
