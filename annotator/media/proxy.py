"""The version of a clip that any browser plays: H.264 and AAC in an MP4 of at most 720p, and nothing in it about who filmed where.

Every frame keeps its presentation time, counted from the first frame, so that the player's time is clip time.
A clip that is so already is copied packet by packet, not encoded again; its tracks of sensor data (place, motion), and what its packets
say beside the picture, are left out either way.
"""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from math import inf
from pathlib import Path
from typing import Any

import av.error

from annotator.media.audio import read_chunks
from annotator.media.mp4 import SOUND_RATE_HZ, Feed, add_sound, encoded_sound, fit_720, open_mp4
from annotator.media.opening import Start, decoded, open_container, packets, picture_track, start_of
from annotator.media.picture_track import PictureTrack, upright_yuv
from annotator.media.probe import probe
from annotator.media.sei import length_size, without_remarks
from annotator.units import Progress

PRESET, CRF = "superfast", 25
PRIMING_S = 0.05  # sound packets this much before the first frame are still needed to decode the one after it


class _CopyError(Exception):
    """The packets do not fit an MP4 as they are."""


def write_proxy(path: Path, out: Path, progress: Progress | None = None) -> bool:
    """Write the version of a clip for browsers.

    Parameters
    ----------
    path : the clip
    out : the MP4 to write; it appears when it is whole, and replaces what was there
    progress : told the share done; may raise `Stopped`, which leaves nothing behind

    Returns
    -------
    bool
        True where it was encoded again, False where it was copied.

    Raises
    ------
    UnreadableVideo
        The clip cannot be decoded.
    CannotWrite
        The disk is full or the folder cannot be written.

    Examples
    --------
    >>> write_proxy(Path("walk.mov"), Path("walk.mp4"))  # doctest: +SKIP
    True
    """
    start, told = start_of(path), _teller(progress, probe(path).duration_s)
    if _fits(path, start):
        try:
            _copy(path, out, start, told)
            return False
        except _CopyError:
            pass
    _encode(path, out, start, told)
    return True


def _fits(path: Path, start: Start) -> bool:
    """Whether browsers play the clip's own packets: codec, size, and a beginning that needs nothing from before it."""
    with open_container(path) as container:
        track = picture_track(container, path)
        sound = container.streams.audio[0] if container.streams.audio else None
        first = next((packet for packet in packets(container, track) if packet.size), None)
        return (
            track.codec_context.name == "h264"
            and start.pixel_format == "yuv420p"
            and not start.interlaced
            and (start.width, start.height) == fit_720(start.width, start.height)
            and (not track.sample_aspect_ratio or track.sample_aspect_ratio == 1)
            and (sound is None or sound.codec_context is None or sound.codec_context.name == "aac")
            and first is not None
            and first.is_keyframe
            and not first.is_discard
            and first.pts == start.first_pts
        )


def _copy(path: Path, out: Path, start: Start, told: Callable[[float], None]) -> None:
    with open_container(path) as container, open_mp4(out) as made:
        track = picture_track(container, path)
        sound, lengths = _sound(container), length_size(track.codec_context.extradata)
        copies = {track.index: made.add_stream_from_template(track, opaque=True)}
        copies[track.index].set_display_matrix(start.turn.matrix())
        if sound is not None:
            copies[sound.index] = made.add_stream_from_template(sound, opaque=True)
        for packet in _with_decoding_times(packets(container, *(each for each in (track, sound) if each is not None)), track):
            is_picture = packet.stream_index == track.index
            if not _from_start(packet, start) and not is_picture:
                continue
            packet.stream = copies[packet.stream_index]
            at_s = float(packet.pts * packet.time_base)
            try:
                made.mux(_only_picture(packet, lengths) if is_picture else packet)
            except av.error.FFmpegError as exc:
                if exc.errno == errno.EINVAL:  # time stamps that an MP4 cannot hold
                    raise _CopyError from exc
                raise
            if is_picture:
                told(at_s)
    told(inf)


def _only_picture(packet: Any, lengths: int | None) -> Any:
    """The packet without SEI messages that tell of the camera."""
    whole = bytes(packet)
    kept = without_remarks(whole, lengths)
    if kept == whole:
        return packet
    made = av.Packet(kept)
    made.stream, made.time_base, made.is_keyframe = packet.stream, packet.time_base, packet.is_keyframe
    made.pts, made.dts, made.duration = packet.pts, packet.dts, packet.duration
    return made


def _with_decoding_times(read: Iterable[Any], track: Any) -> Iterator[Any]:
    """Whole packets only, all with a time to decode them: Matroska does not say it for the first ones of a picture track."""
    waiting: list[Any] = []
    for packet in read:
        if packet.size == 0 or packet.is_corrupt:
            continue
        if packet.pts is None:
            raise _CopyError
        if packet.dts is None:
            if packet.stream_index != track.index:
                raise _CopyError
            waiting.append(packet)
            continue
        if waiting and packet.stream_index == track.index:
            for back, earlier in enumerate(reversed(waiting), start=1):
                earlier.dts = packet.dts - back
            yield from waiting
            waiting = []
        yield packet
    if waiting:
        raise _CopyError


def _encode(path: Path, out: Path, start: Start, told: Callable[[float], None]) -> None:
    size = fit_720(start.width, start.height)
    with open_container(path) as container, open_container(path) as other, open_mp4(out) as made:
        track = picture_track(container, path)
        picture = PictureTrack(made, size, start.time_base, track.guessed_rate, PRESET, CRF)
        sound = _sound_feed(made, other, path, start)
        last_ticks = -1
        for frame in decoded(container, track):
            at = frame.pts - start.first_pts
            ticks = round(at * start.time_base / picture.clock)
            if ticks <= last_ticks:
                continue
            if last_ticks < 0:
                picture.colours(frame.colorspace, frame.color_primaries, frame.color_trc)
            at_s = float(at * start.time_base)
            length = round((frame.duration or 0) * start.time_base / picture.clock)
            picture.write(upright_yuv(frame, start.turn, size), ticks, length)
            sound.until(at_s)
            last_ticks = ticks
            told(at_s)
        picture.finish()
        sound.rest()
    told(inf)


def _sound_feed(made: Any, container: Any, path: Path, start: Start) -> Feed:
    """The clip's sound for the new file: AAC as it is, anything else encoded."""
    sound = _sound(container)
    if sound is None:
        return Feed(made, ())
    if sound.codec_context.name == "aac":
        return Feed(made, _copied_sound(container, sound, made.add_stream_from_template(sound, opaque=True), start))
    channels = 1 if sound.codec_context.layout.nb_channels == 1 else 2
    return Feed(made, encoded_sound(add_sound(made, channels), read_chunks(path, SOUND_RATE_HZ, channels)))


def _copied_sound(container: Any, sound: Any, copy: Any, start: Start) -> Iterator[Any]:
    for packet in packets(container, sound):
        if packet.pts is not None and packet.dts is not None and _from_start(packet, start):
            packet.stream = copy
            yield packet


def _from_start(packet: Any, start: Start) -> bool:
    """Put a packet on clip time; False for one from before it."""
    offset = round(Fraction(start.first_pts * start.time_base) / packet.time_base)
    packet.pts -= offset
    packet.dts -= offset
    return float((packet.pts + (packet.duration or 0)) * packet.time_base) > -PRIMING_S


def _sound(container: Any) -> Any:
    tracks = container.streams.audio
    return tracks[0] if tracks and tracks[0].codec_context is not None else None


def _teller(progress: Progress | None, length_s: float) -> Callable[[float], None]:
    """Turns times into shares that rise; packets of a copy come in the order of decoding, so their times go back and forth."""
    furthest_s = 0.0

    def told(at_s: float) -> None:
        nonlocal furthest_s
        furthest_s = max(furthest_s, at_s)
        if progress is not None:
            progress(min(1.0, furthest_s / length_s) if length_s else 1.0)

    return told
