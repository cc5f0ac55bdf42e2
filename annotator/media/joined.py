"""Lay films that were written piece by piece one behind the other, without encoding their pictures again.

In: pieces of one size from writer.py, stretches of sound, captions and chapters. Out: one MP4 that any browser plays, without metadata.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av

from annotator.errors import StageError
from annotator.media.mp4 import Feed, TimedLine, add_captions, add_sound, encoded_captions, encoded_sound, open_mp4, set_chapters
from annotator.media.opening import open_container, packets, picture_track
from annotator.media.writer import CHANNELS, SoundSpan, has_sound, laid_out
from annotator.units import Progress


@dataclass(frozen=True)
class FilmPiece:
    """A film without sound, shown from `at_s` of the joined one."""

    path: Path
    at_s: float


@dataclass(frozen=True)
class CaptionTrack:
    """Captions in one language, as ISO 639-2 names it ("eng"); a player can turn them on and off."""

    lines: Sequence[TimedLine]
    language: str = "eng"


def encoder_id() -> str:
    """Which encoder writes our films; pieces of two encoders cannot be joined, so what is kept of one counts only with the same."""
    return ".".join(map(str, av.library_versions["libavcodec"]))


def join_films(
    pieces: Sequence[FilmPiece],
    out: Path,
    *,
    sound: Sequence[SoundSpan] = (),
    captions: CaptionTrack | None = None,
    chapters: Sequence[TimedLine] = (),
    progress: Progress | None = None,
) -> None:
    """Write one film of all pieces, in order.

    Parameters
    ----------
    pieces
        At least one, of one size and one encoder, each beginning where the one before ends.
    sound
        As in `open_writer`.
    progress
        Told the share that is written; what it raises ends the work and leaves no file.

    Raises
    ------
    ValueError
        There is no piece.
    StageError
        Two pieces were not encoded alike.
    CannotWrite
        The disk is full or the folder cannot be written.
    """
    if not pieces:
        raise ValueError("there is nothing to join")
    heard = [span for span in sound if has_sound(span.path)]
    with open_container(pieces[0].path) as first, open_mp4(out) as made:
        template = picture_track(first, pieces[0].path)
        alike = template.codec_context.extradata
        picture = made.add_stream_from_template(template, opaque=True)
        sound_track = add_sound(made, CHANNELS) if heard else None
        caption_track = add_captions(made, captions.language) if captions is not None and captions.lines else None
        if chapters:
            set_chapters(made, chapters)
        feeds = []
        if caption_track is not None and captions is not None:
            feeds.append(Feed(made, encoded_captions(caption_track, captions.lines)))
        if sound_track is not None:
            feeds.append(Feed(made, encoded_sound(sound_track, laid_out(heard))))
        last_dts: int | None = None
        for number, piece in enumerate(pieces):
            with open_container(piece.path) as container:
                track = picture_track(container, piece.path)
                if track.codec_context.extradata != alike or track.time_base != template.time_base:
                    raise StageError("joining the walk", f"{piece.path.name} was encoded in another way than {pieces[0].path.name}")
                offset = round(Fraction(piece.at_s) / track.time_base)
                for packet in packets(container, track):
                    if packet.size == 0:
                        continue
                    last_dts = _move(packet, offset, last_dts)
                    packet.stream = picture
                    # The muxer changes a packet's times to its own clock.
                    now_s = float(packet.dts * packet.time_base)
                    made.mux(packet)
                    for feed in feeds:
                        feed.until(now_s)
            if progress is not None:
                progress((number + 1) / (len(pieces) + 1))
        for feed in feeds:
            feed.rest()
    if progress is not None:
        progress(1.0)


def _move(packet: Any, offset: int, last_dts: int | None) -> int:
    """Put a packet later; decoding times go on rising where two pieces meet."""
    packet.pts += offset
    packet.dts += offset
    if last_dts is not None and packet.dts <= last_dts:
        packet.dts = last_dts + 1
    return int(packet.dts)
