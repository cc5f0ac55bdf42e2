"""Open a clip safely and say in plain words why one cannot be opened.

In: a path. Out: an open container with its picture track, where clip time begins, and how to turn a frame upright.
Only containers of recorded film are let in, and only local files: a playlist that names other files is refused.
Times of frames are decode.py's; this module reads no further than the first frame.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np

from annotator.errors import UnreadableVideo
from annotator.media.upright import Turn, turn_of

CONTAINERS = "mov,matroska,webm,avi,mpegts,mpeg,mpegvideo,flv,asf,ogg,h264,hevc,wav,mp3,aac,flac"
"""Names of the demuxers that may open a clip. The sound-only ones are let in so that the refusal can say what is wrong."""

_HEAD_BYTES = 4096
_TEXT_CONTROLS = frozenset(b"\t\n\r\f\x1b")

EXPORT = "Export it as MP4 (H.264) on the phone or computer that made it and try again."
ONLY_SOUND = "This file holds no picture, only sound. Film the walk again or choose another file."
CUT_OFF = "The recording was cut off before it was finished, so its index is missing. Copy the file again from the phone or camera."


@dataclass(frozen=True)
class Start:
    """What holds for the whole clip and shows in its first frame.

    `first_pts` (in ticks of `time_base`) is the presentation time at which clip time is 0. `width` and `height` are upright, in
    square pixels. `interlaced` tells of two half pictures a frame.
    """

    first_pts: int
    time_base: Fraction
    turn: Turn
    width: int
    height: int
    pixel_format: str
    interlaced: bool

    @property
    def start_s(self) -> float:
        """Clip time 0 on the file's own clock, in seconds."""
        return float(self.first_pts * self.time_base)


def ffmpeg_name(path: Path) -> str:
    """The path as the codec library takes it for a file whatever its name holds: a relative `12:30.mp4` would be a protocol."""
    return str(path.absolute())


@contextmanager
def open_container(path: Path) -> Iterator[Any]:
    """Open a file of film or sound; it is closed after the block."""
    path = Path(path)
    _refuse_what_is_no_file(path)
    try:
        options = {"format_whitelist": CONTAINERS, "protocol_whitelist": "file"}
        container = av.open(ffmpeg_name(path), "r", container_options=options, metadata_errors="replace")
    except (av.error.FFmpegError, ValueError, OSError) as exc:
        raise UnreadableVideo(path, _why_not(path, exc)) from exc
    try:
        yield container
    except av.error.FFmpegError as exc:
        raise UnreadableVideo(
            path, f"Reading it broke off ({exc.strerror}). Copy the file again or {EXPORT[0].lower()}{EXPORT[1:]}"
        ) from exc
    finally:
        container.close()


def picture_track(container: Any, path: Path) -> Any:
    """The track that holds the film, decoded on all cores. Cover art of a sound file is no film."""
    tracks = [track for track in container.streams.video if not track.disposition & av.stream.Disposition.attached_pic]
    if not tracks:
        if container.streams.audio:
            raise UnreadableVideo(path, ONLY_SOUND)
        raise UnreadableVideo(path, f"This file holds neither picture nor sound. {EXPORT}")
    track = tracks[0]
    if track.codec_context is None:
        raise UnreadableVideo(path, f"Its picture is stored in a way that this program does not know. {EXPORT}")
    track.thread_type = "AUTO"
    return track


def decoded(container: Any, track: Any) -> Iterator[Any]:
    """All frames of a track in the order in which they are shown; damaged stretches are passed over.

    Frames without any time stamp, and those that the decoder flags as corrupt, are left out.
    """
    emptied = False
    for packet in packets(container, track):
        emptied = packet.size == 0
        if not packet.is_corrupt:  # the last one of a file that was cut off: its error would cost the frames still in the decoder
            yield from _whole_frames(packet.decode)
    if not emptied:  # reading broke off where the file was cut; the decoder still holds what came before
        yield from _whole_frames(lambda: track.decode(None))


def _whole_frames(decode: Callable[[], list[Any]]) -> Iterator[Any]:
    """Frames that are whole and have a time; none where the data are damaged: what follows is decoded again."""
    try:
        frames = decode()
    except av.error.FFmpegError:
        return
    for frame in frames:
        if frame.pts is None:
            frame.pts = frame.dts
        if frame.pts is not None and not frame.is_corrupt:
            yield frame


def packets(container: Any, *tracks: Any) -> Iterator[Any]:
    """The packets of some tracks as the file has them, with the empty one at the end that empties the decoder.

    Where a file that was cut off ends, so do the packets.

    Raises
    ------
    UnreadableVideo
        The disk or the network under the file fails.
    """
    read = container.demux(*tracks)
    while True:
        try:
            packet = next(read)
        except (StopIteration, av.error.InvalidDataError, av.error.EOFError):
            return
        except av.error.FFmpegError as exc:
            raise UnreadableVideo(Path(container.name), f"Reading it broke off ({exc.strerror}). Copy the file again and retry.") from exc
        yield packet


def start_of(path: Path) -> Start:
    """Where clip time begins and how frames are turned, from the first frame; remembered as long as the file stays the same."""
    try:
        facts = Path(path).stat()
    except OSError:
        _refuse_what_is_no_file(Path(path))
        raise
    return _start_of(Path(path), facts.st_mtime_ns, facts.st_size)


@lru_cache(maxsize=64)
def _start_of(path: Path, mtime_ns: int, size: int) -> Start:  # noqa: ARG001  # time and size are what the memory is keyed by
    with open_container(path) as container:
        track = picture_track(container, path)
        frame = next(decoded(container, track), None)
        if frame is None:
            raise UnreadableVideo(path, f"Not one frame of it could be decoded; it is damaged or was cut off. {EXPORT}")
        turn = turn_of(frame)
        width, height = turn.size(*square_size(frame, track.sample_aspect_ratio))
        interlaced = bool(frame.interlaced_frame)
        return Start(frame.pts, track.time_base, turn, width, height, frame.format.name, interlaced)


def square_size(frame: Any, pixel_shape: Fraction | None) -> tuple[int, int]:
    """Width and height of a frame, not yet turned, once its pixels are made square."""
    if not pixel_shape or pixel_shape == 1:
        return frame.width, frame.height
    return max(1, round(frame.width * pixel_shape)), frame.height


def _refuse_what_is_no_file(path: Path) -> None:
    if path.is_dir():
        raise UnreadableVideo(path, "It is a folder. Name the video files in it.")
    try:
        size = path.stat().st_size
    except FileNotFoundError as exc:
        raise UnreadableVideo(path, "There is no such file. Check the name and the folder.") from exc
    except OSError as exc:
        raise UnreadableVideo(path, f"The file cannot be reached ({exc.strerror}).") from exc
    if not path.is_file():
        raise UnreadableVideo(path, "It is not an ordinary file.")
    if size == 0:
        raise UnreadableVideo(path, "The file is empty (0 bytes). Copy it again from the phone or camera.")


def _why_not(path: Path, exc: Exception) -> str:
    """The likeliest reason in words, from the first bytes of a file that did not open."""
    if isinstance(exc, PermissionError):
        return "This account may not read the file. Change its permissions or copy it elsewhere."
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return CUT_OFF
    if head[:4] == b"\x1aE\xdf\xa3":
        return CUT_OFF
    if _is_text(head):
        return "It is a text file, not a film. Choose the recording itself."
    if head[:3] == b"\xff\xd8\xff" or head[:4] == b"\x89PNG" or head[:4] == b"GIF8":
        return "It is a picture, not a film. Choose the recording itself."
    return f"It is not a film in any format that this program knows, or it is damaged. {EXPORT}"


def _is_text(head: bytes) -> bool:
    codes = np.frombuffer(head, np.uint8)
    controls = (codes < 32) & ~np.isin(codes, list(_TEXT_CONTROLS))
    if controls.any():
        return False
    try:
        head[:-3].decode("utf-8")
    except UnicodeDecodeError as exc:
        return exc.start >= len(head) - 6
    return True
