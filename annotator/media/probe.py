"""What a clip is: size, length, rate, turn, sound; and a refusal with its reason for what is no clip.

Reads the container's head and index and one frame; of containers without a full index also the last seconds.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np

from annotator.media.opening import Start, open_container, packets, picture_track, start_of

SAMPLE_PACKETS = 600  # how many frames tell whether the rate varies, where the container has no index
STEADY_SHARE = 0.05  # steps between frames that differ by less than this are rounding of the container's clock
TAIL_S = 20.0


@dataclass(frozen=True)
class ClipInfo:
    """What is known of a clip without decoding it. Sizes are upright, in square pixels; times in seconds.

    `duration_s` runs from the first frame to the end of picture or sound, whichever is later. `rotation` is in degrees counter-clockwise
    (0, 90, 180, 270), as the stored picture is turned to stand upright. `frame_count` and `average_rate` are None where only reading the
    whole file would tell. `cut_off` says that the file ends before its index or head says: what there is can be used.
    """

    width: int
    height: int
    duration_s: float
    start_pts_s: float
    rotation: int
    video_codec: str
    audio_codec: str | None
    frame_count: int | None
    average_rate: float | None
    variable_rate: bool
    has_audio: bool
    cut_off: bool = False


def probe(path: Path) -> ClipInfo:
    """Look at a clip and say what it is.

    Raises
    ------
    UnreadableVideo
        Missing, a folder, empty, text, a picture, sound alone, cut off before its index, or in a format that cannot be decoded.

    Examples
    --------
    >>> probe(Path("walk.mp4")).duration_s  # doctest: +SKIP
    312.4
    """
    path = Path(path)
    start = start_of(path)
    with open_container(path) as container:
        track = picture_track(container, path)
        sound = container.streams.audio[0] if container.streams.audio else None
        steps, end_s, cut_off = _times(container, track, start, path)
        rate = track.average_rate
        return ClipInfo(
            width=start.width,
            height=start.height,
            duration_s=max(0.0, end_s - start.start_s),
            start_pts_s=start.start_s,
            rotation=start.turn.rotation,
            video_codec=track.codec_context.name,
            audio_codec=None if sound is None or sound.codec_context is None else sound.codec_context.name,
            frame_count=track.frames or None,
            average_rate=float(rate) if rate else None,
            variable_rate=_varies(steps),
            has_audio=sound is not None and sound.codec_context is not None,
            cut_off=cut_off,
        )


def _times(container: Any, track: Any, start: Start, path: Path) -> tuple[list[int], float, bool]:
    """Steps between frames in ticks, the end of the clip on the file's clock, and whether the file ends before it should."""
    tick_s = float(start.time_base)
    promised_s = _promised_end_s(container)
    if "mp4" in container.format.name and len(track.index_entries):
        ticks, last_s, cut_off = _indexed(track, path, tick_s)
        if not cut_off:
            return ticks, promised_s if promised_s is not None else last_s, False
        return ticks, last_s, True
    sample = _stamps(itertools.islice(packets(container, track), SAMPLE_PACKETS))
    last_s = _end_of_tail(container, track, promised_s, tick_s, path)
    steps = [int(step) for step in np.diff(np.sort(sample))]
    cut_off = promised_s is not None and last_s < promised_s - 2.0
    return steps, last_s if cut_off or promised_s is None else promised_s, cut_off


def _promised_end_s(container: Any) -> float | None:
    """The end that the container's head names, on the file's clock."""
    if container.duration is None:
        return None
    return float(Fraction((container.start_time or 0) + container.duration, av.time_base))


def _indexed(track: Any, path: Path, tick_s: float) -> tuple[list[int], float, bool]:
    """Steps, end, and whether the data of the last frames are missing, from the index of an MP4 or MOV."""
    size = path.stat().st_size
    entries = [(entry.timestamp, entry.pos + entry.size <= size) for entry in track.index_entries]
    there = [stamp for stamp, whole in entries if whole]
    steps = [later - earlier for (earlier, _), (later, _) in itertools.pairwise(entries)]
    last_step = steps[-1] if steps else 0
    last_s = (max(there) + last_step) * tick_s if there else 0.0
    return steps, last_s, len(there) < len(entries)


def _end_of_tail(container: Any, track: Any, promised_s: float | None, tick_s: float, path: Path) -> float:
    """The end of the last frame, read from the last seconds where the file can be entered there, else from the whole file."""
    last_s = 0.0
    if promised_s is not None and promised_s > TAIL_S:
        try:
            container.seek(int((promised_s - TAIL_S) / tick_s), stream=track, backward=True)
            last_s = _last_end_s(container, track)
        except av.error.FFmpegError:
            last_s = 0.0
    if last_s == 0.0:  # opened anew: a file that was cut off before its index cannot be wound back
        with open_container(path) as again:
            last_s = _last_end_s(again, picture_track(again, path))
    return last_s


def _last_end_s(container: Any, track: Any) -> float:
    tick_s = float(track.time_base)
    return max(
        ((packet.pts + (packet.duration or 0)) * tick_s for packet in packets(container, track) if packet.pts is not None), default=0.0
    )


def _stamps(read: Iterable[Any]) -> list[int]:
    return [packet.pts for packet in read if packet.pts is not None]


def _varies(steps: list[int]) -> bool:
    """Whether frames follow each other at different distances. The last one has no follower, and a clock of milliseconds rounds."""
    if len(steps) < 2:
        return False
    middle = float(np.median(steps))
    slack = max(1.0, middle * STEADY_SHARE)
    return bool(np.any(np.abs(np.asarray(steps) - middle) > slack))
