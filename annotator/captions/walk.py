"""The whole walk as one film: cut into pieces that are drawn one by one, each no longer than a person waits for, and laid on one canvas.

In: clips in order, stations, cues. Out: pieces without sound; annotator/media joins them. What is kept of them is annotator/pipeline's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from shapely.geometry import Polygon

from annotator.captions.burnt import Sheet
from annotator.captions.clips import CARRIED_LABEL, DRAFT_LABEL
from annotator.captions.cue import Cue
from annotator.captions.face_looks import FacesAt
from annotator.captions.film import Stretch, draw_film, film_size
from annotator.captions.placing import stands_at_top
from annotator.captions.write import station_title
from annotator.captions.written_over import written_over
from annotator.course import Clip, Station
from annotator.marks import Overlay
from annotator.media import probe
from annotator.units import Progress

MOST_PIECE_S = 90.0
LEAST_PIECE_S = 1.0


@dataclass(frozen=True)
class WalkPiece:
    """A stretch of a clip, in seconds of clip time, and the station that it belongs to (None before the first)."""

    clip: Clip
    station: Station | None
    start_s: float
    end_s: float

    @property
    def at_s(self) -> float:
        """Where it begins on the walk's time line, and in the film."""
        return self.clip.start_s + self.start_s


def walk_pieces(clips: Sequence[Clip], stations: Sequence[Station], *, most_s: float = MOST_PIECE_S) -> tuple[WalkPiece, ...]:
    """The walk without a gap: cut where a clip or a station begins, and where a piece would be longer than `most_s`."""
    ordered = sorted(stations, key=lambda station: (station.start, station.number))
    pieces: list[WalkPiece] = []
    for clip in clips:
        starts = [station.start - clip.start_s for station in ordered]
        cuts = [0.0]
        for start_s in starts:
            if cuts[-1] + LEAST_PIECE_S <= start_s <= clip.duration_s - LEAST_PIECE_S:
                cuts.append(start_s)
        cuts.append(clip.duration_s)
        for start_s, end_s in pairwise(cuts):
            # A station that begins within the first moments of a piece is the one it belongs to.
            here = [station for station in ordered if station.start - clip.start_s < start_s + LEAST_PIECE_S]
            parts = max(1, -int(-(end_s - start_s) // most_s))
            step = (end_s - start_s) / parts
            for part in range(parts):
                last_s = end_s if part == parts - 1 else start_s + (part + 1) * step
                pieces.append(WalkPiece(clip, here[-1] if here else None, start_s + part * step, last_s))
    return tuple(pieces)


def canvas_of(clips: Sequence[Clip], short_side: int) -> tuple[int, int]:
    """The size of the film: that of its largest clip; a landscape one where clips of both kinds are in the walk.

    An upright clip then stands in the middle with black at its sides, as large as the height allows: lying phones show it as they show any
    upright film, and the many that are filmed lying keep their size.
    """
    lying = [clip for clip in clips if clip.width >= clip.height]
    sizes = [_drawn_size(clip, short_side) for clip in lying or clips]
    return max(sizes, key=lambda size: (size[0] * size[1], size))


def draw_piece(
    piece: WalkPiece,
    source: Path,
    out: Path,
    *,
    canvas: tuple[int, int],
    zones: Callable[[float], Overlay | None],
    cues: Sequence[Cue] = (),
    drafts: bool = False,
    faces: FacesAt | None,
    progress: Progress | None = None,
) -> None:
    """Write one piece of the film, without sound.

    Parameters
    ----------
    source
        The piece's clip.
    canvas
        As `canvas_of` gives it.
    zones
        What lies over the picture at a moment of clip time.
    cues
        Captions to stand in the picture, on the walk's time line; none where a player shows them.
    faces
        Where they are in the clip; None leaves them as they are: a person's recorded choice.
    """
    info = probe(source)
    short_side = fitting_side((info.width, info.height), canvas)
    first_ms = round(piece.at_s * 1000)
    own = [replace(cue, start_ms=cue.start_ms - first_ms, end_ms=cue.end_ms - first_ms) for cue in cues if cue.end_ms > first_ms]
    draft = (DRAFT_LABEL,) if drafts else ()
    named = () if piece.station is None else (station_title(piece.station),)
    draw_film(
        Stretch(source, piece.start_s, piece.end_s),
        out,
        zones=zones,
        labels=lambda shown: (*named, *draft, *((CARRIED_LABEL,) if shown else ())),
        short_side=short_side,
        faces=None if faces is None else faces.at,
        sound=False,
        canvas=Sheet(canvas, film_size(info, short_side), own),
        progress=progress,
    )


def over_piece(piece: WalkPiece, canvas: tuple[int, int], *, drafts: bool) -> tuple[Polygon, ...]:
    """Where the film writes over the pictures of a piece, in the pixels of its clip; see `written_over`."""
    if piece.station is None:
        return ()
    clip = piece.clip
    picture = _drawn_size(clip, fitting_side((clip.width, clip.height), canvas))
    lines = (station_title(piece.station), *((DRAFT_LABEL,) if drafts else ()), CARRIED_LABEL)
    return written_over(canvas, picture, (clip.width, clip.height), lines, at_top=stands_at_top(piece.station))


def fitting_side(size: tuple[int, int], canvas: tuple[int, int]) -> int:
    """The largest shorter side with which a picture of this size fits on the canvas.

    >>> fitting_side((1080, 1920), (1280, 720)), fitting_side((1280, 720), (1280, 720))
    (404, 720)
    """
    width, height = size
    scale = min(1.0, canvas[0] / width, canvas[1] / height)
    short = int(min(size) * scale) // 2 * 2
    while short > 2:
        scaled = [max(2, round(side * min(1.0, short / min(size)) / 2) * 2) for side in size]
        if scaled[0] <= canvas[0] and scaled[1] <= canvas[1]:
            break
        short -= 2
    return short


def _drawn_size(clip: Clip, short_side: int) -> tuple[int, int]:
    scale = min(1.0, short_side / min(clip.width, clip.height))
    return max(2, round(clip.width * scale / 2) * 2), max(2, round(clip.height * scale / 2) * 2)
