"""The sound of a clip on the same clock as its picture, in pieces, so that three hours of it take no more memory than ten minutes.

In: a path. Out: mono samples at 16 kHz for the recogniser, or chunks at any rate for a track that is written again.
Clip time 0 is the first frame. Sound from before it is left out; where there is none yet, or a gap, there is silence of that length.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from annotator.errors import UnreadableVideo
from annotator.media.opening import decoded, open_container, picture_track, start_of

RATE_HZ = 16_000
SLACK_S = 0.1  # time stamps of some containers are rounded, and packets are late by that much; only more is a gap or an overlap

Samples = NDArray[np.float32]


@dataclass(frozen=True)
class AudioPiece:
    """A stretch of sound: where it starts in clip time, and its samples, float32 mono at 16 kHz from -1 to 1."""

    start_s: float
    samples: Samples


def read_audio(path: Path, piece_s: float = 600.0) -> Iterator[AudioPiece]:
    """A clip's sound for the recogniser, in order and without holes, every piece but the last `piece_s` long. Nothing for a silent film.

    Parameters
    ----------
    path : the clip; a file of sound alone is read as well, its first sample being at 0
    piece_s : seconds above 0
        10 minutes are 38 MB of samples.

    Raises
    ------
    UnreadableVideo
        The file cannot be opened.
    ValueError
        `piece_s` is not above 0.

    Examples
    --------
    >>> sum(len(piece.samples) for piece in read_audio(Path("walk.mp4"))) / 16_000  # doctest: +SKIP
    312.4
    """
    length = round(piece_s * RATE_HZ)
    if length <= 0:
        raise ValueError(f"piece_s is {piece_s}; use a number of seconds above 0")
    given, filled = 0, 0
    buffer = np.empty(0, np.float32)
    for chunk in read_chunks(path, RATE_HZ, channels=1):
        at = 0
        while at < chunk.shape[1]:
            if not len(buffer):
                buffer = np.empty(length, np.float32)
            share = chunk[0, at : at + length - filled]
            buffer[filled : filled + len(share)] = share
            at, filled = at + len(share), filled + len(share)
            if filled == length:
                yield AudioPiece(given / RATE_HZ, buffer)
                given, filled, buffer = given + filled, 0, np.empty(0, np.float32)
    if filled:
        yield AudioPiece(given / RATE_HZ, buffer[:filled].copy())


def read_chunks(path: Path, rate_hz: int, channels: int, start_s: float = 0.0, end_s: float | None = None) -> Iterator[Samples]:
    """The sound from `start_s` of clip time on as (channels, n) float32 arrays that follow each other without a hole; gaps are silence.

    Chunks are at most a few seconds long. Ends with the sound or at `end_s`. Nothing for a film without sound.
    """
    with open_container(path) as container:
        if not container.streams.audio:
            return
        track = container.streams.audio[0]
        origin_s = _origin_s(container, path)
        if start_s > 2 * SLACK_S and track.time_base is not None:
            _seek(container, track, origin_s + start_s)
        until = None if end_s is None else round((end_s - start_s) * rate_hz)
        timed = _resampled(container, track, rate_hz, channels)
        yield from _without_holes(timed, rate_hz, channels, origin_s + start_s, until)


def _origin_s(container: Any, path: Path) -> float:
    """Clip time 0 on the file's clock."""
    try:
        picture_track(container, path)
        return start_of(path).start_s
    except UnreadableVideo:  # sound alone
        first = container.streams.audio[0].start_time
        return 0.0 if first is None else float(first * container.streams.audio[0].time_base)


def _seek(container: Any, track: Any, time_s: float) -> None:
    """Move to a second or more before a time of the file's clock, if the file can; what comes too early is cut off anyway."""
    try:
        container.seek(int((time_s - 1.0) / track.time_base), stream=track, backward=True)
    except av.error.FFmpegError:
        container.seek(0)


def _resampled(container: Any, track: Any, rate_hz: int, channels: int) -> Iterator[tuple[float | None, Samples]]:
    """Chunks at the wanted rate; the time on the file's clock with the first chunk of each stretch, None with those that just follow on."""
    layout = {1: "mono", 2: "stereo"}[channels]

    def fresh() -> Any:
        return av.AudioResampler(format="fltp", layout=layout, rate=rate_hz)

    resampler: Any = None
    kind: tuple[str, str, int] | None = None
    due_s: float | None = None
    begins: float | None = None
    for frame in decoded(container, track):
        time_s = float(frame.pts * frame.time_base)
        now = (frame.format.name, frame.layout.name, frame.sample_rate)
        if resampler is None or now != kind or due_s is None or abs(time_s - due_s) > SLACK_S:
            for rest in resampler.resample(None) if resampler is not None else ():
                yield begins, rest.to_ndarray()
                begins = None
            resampler, kind, begins, due_s = fresh(), now, time_s, time_s
        due_s += frame.samples / frame.sample_rate
        frame.pts = None  # the resampler would take the small steps of rounded time stamps for gaps
        for made in resampler.resample(frame):
            yield begins, made.to_ndarray()
            begins = None
    for rest in resampler.resample(None) if resampler is not None else ():
        yield begins, rest.to_ndarray()
        begins = None


def _without_holes(
    timed: Iterator[tuple[float | None, Samples]], rate_hz: int, channels: int, start_s: float, until: int | None
) -> Iterator[Samples]:
    """Chunks on a clock that starts at `start_s`: early and overlapping sound cut, holes filled, ended after `until` samples."""
    given, at = 0, 0  # samples handed on; where the next chunk belongs
    for begins_s, chunk in timed:
        if begins_s is not None:
            at = round((begins_s - start_s) * rate_hz)
        ends = at + chunk.shape[1]
        if ends > given:
            chunk = chunk[:, max(0, given - at) :]
            hole = max(0, at - given)
            while hole > 0 and (until is None or given < until):
                silence = min(hole, rate_hz, hole if until is None else until - given)
                yield np.zeros((channels, silence), np.float32)
                given, hole = given + silence, hole - silence
            if until is not None:
                chunk = chunk[:, : max(0, until - given)]
            if chunk.shape[1]:
                yield chunk
                given += chunk.shape[1]
        at = ends
        if until is not None and given >= until:
            return
