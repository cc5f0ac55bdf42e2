"""Films of a course: one a station, and the whole walk.

Each film, and each piece of the walk, is kept by what it was made from, its settings and the version of what makes it. A run that was
stopped or killed loses at most the piece it was at; running again makes nothing twice. The folder that people get is film_folder.py's.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from annotator.captions import (
    Cue,
    FaceLook,
    FacesAt,
    Setting,
    WalkPiece,
    Wording,
    ZoneTrack,
    canvas_of,
    chapter_spans,
    draw_piece,
    looks_of_run,
    over_piece,
    placed,
    plan_cues,
    rule_spans,
    runs_over,
    station_span,
    told_within,
    walk_pieces,
    write_clip,
)
from annotator.course import Clip, Course, Station, Surface, Word
from annotator.errors import InputError, NotFound
from annotator.library import Library, stage_key
from annotator.marks import Overlay
from annotator.media import CaptionTrack, FilmPiece, SoundSpan, TimedLine, encoder_id, join_films
from annotator.pipeline.carrying import CARRYING_VERSION, posts_of_clip
from annotator.pipeline.draft import course_words
from annotator.pipeline.originals import original
from annotator.units import Progress

FILM_VERSION = "7"
FACES_VERSION = "1"
LOOKING = 0.6
"""Of a film's making, for the forecast of the time left: faces take longer to find than the film to draw."""
LINES = (480, 720)
BEFORE = "Before the first station"
LEAD_S = 1.0  # words this near a station may stand in its film


@dataclass(frozen=True)
class FilmWishes:
    """How the films are wanted.

    lines
        480 or 720, the shorter side of the picture.
    division
        Zones as they are for this division; the main one where it is None.
    wording
        Of the captions.
    in_picture
        Captions stand in the picture itself too.
    whole_walk
        One film of all clips as well, and the page that plays it.
    """

    lines: int = 480
    division: str | None = None
    wording: Wording = "as spoken"
    in_picture: bool = False
    whole_walk: bool = False


def refuse_films(course: Course, wishes: FilmWishes) -> None:
    """`InputError` or `NotFound` where films cannot be made as they are wished."""
    if wishes.lines not in LINES:
        raise InputError(f"{wishes.lines} lines cannot be made. Choose {' or '.join(map(str, LINES))}.")
    if wishes.division is not None and wishes.division not in course.divisions:
        raise NotFound("division", wishes.division, course.divisions)


class Films:
    """What films of one course in one state are made of. `drafts` shows drafted marks too, and says on every film that it is no edition."""

    def __init__(self, library: Library, course: Course, stations: Sequence[Station], wishes: FilmWishes, *, drafts: bool) -> None:
        refuse_films(course, wishes)
        if not stations:
            raise InputError(f"{course.name!r} has no station yet, so there is no film to make.")
        self.library, self.wishes, self.drafts = library, wishes, drafts
        self.plain_course, self.plain_stations = course, tuple(stations)
        self.course, self.stations = for_division(course, stations, wishes.division)
        self.words = course_words(library, course)
        self.spans = rule_spans(stations, course.blanket, course.format)
        self.show_faces = course.faces_shown is not None

    @cached_property
    def cues(self) -> tuple[Cue, ...]:
        """The walk's captions, in the wording that is wished."""
        portrait = all(clip.height > clip.width for clip in self.course.clips)
        setting = Setting(self.wishes.wording, portrait=portrait)
        return placed(plan_cues(self.words, self.stations, setting, spans=self.spans), self.stations)

    # A station's film

    def clip_of(self, station: Station) -> Clip:
        """The clip in which a station begins."""
        return clip_of(self.course.clips, station)

    def station_film(self, station: Station, carrying: Progress, drawing: Progress) -> Path:
        """A station's film, from what was kept or made now."""
        clip = self.clip_of(station)
        words = [word for word in self.words if station.start - LEAD_S <= word.start <= station.end + LEAD_S]
        spans = [span for span in self.spans if span[1] >= station.start - LEAD_S and span[0] <= station.end + LEAD_S]
        settings = (self.wishes.lines, self.wishes.wording, self.wishes.in_picture)
        key = self._key("station", clip, seen_of(station), _told(words), spans, settings)

        def make(out: Path) -> None:
            posts = posts_of_clip(self.library, station, clip, drafts=self.drafts, progress=carrying)
            looking, encoding = _parts(drawing)
            write_clip(
                self.course,
                station,
                original(self.library, clip),
                clip.start_s,
                out,
                words=words,
                posts=posts,
                drafts=self.drafts,
                show_faces=self.show_faces,
                faces=self._faces(clip, *self._stretch(station, clip), looking),
                short_side=self.wishes.lines,
                wording=self.wishes.wording,
                in_picture=self.wishes.in_picture,
                spans=spans,
                progress=encoding,
            )

        return _kept(self.library, key, make)

    # The walk's film

    @cached_property
    def pieces(self) -> tuple[WalkPiece, ...]:
        """The walk, cut into what is drawn at once."""
        return walk_pieces(self.course.clips, self.stations)

    def piece_film(self, piece: WalkPiece, progress: Progress) -> Path:
        """A piece of the walk's film, without sound, from what was kept or drawn now."""
        burnt = [cue for cue in self.cues if cue.end_s > piece.at_s and cue.start_s < piece.at_s + piece.end_s - piece.start_s]
        cues = burnt if self.wishes.in_picture else []
        seen = None if piece.station is None else seen_of(piece.station)
        key = self._key("piece", piece.clip, seen, cues, (piece.start_s, piece.end_s), self.canvas)

        def make(out: Path) -> None:
            looking, encoding = _parts(progress)
            draw_piece(
                piece,
                original(self.library, piece.clip),
                out,
                canvas=self.canvas,
                zones=self._zones(piece),
                cues=cues,
                drafts=self.drafts,
                faces=self._faces(piece.clip, piece.start_s, piece.end_s, looking),
                progress=encoding,
            )

        return _kept(self.library, key, make)

    def _stretch(self, station: Station, clip: Clip) -> tuple[float, float]:
        start_s, end_s = station_span(station, clip)
        return start_s - clip.start_s, end_s - clip.start_s

    def _faces(self, clip: Clip, start_s: float, end_s: float, progress: Progress) -> FacesAt | None:
        """Where faces are in a stretch of a clip; None where they are shown."""
        return None if self.show_faces else FacesAt(looks_kept(self.library, clip, start_s, end_s, progress))

    def _zones(self, piece: WalkPiece) -> Callable[[float], Overlay | None]:
        if piece.station is None or self.clip_of(piece.station).number != piece.clip.number:
            return lambda _: None  # before the first station, or a station that goes on in the next clip: nothing was carried there
        posts = posts_of_clip(self.library, piece.station, piece.clip, drafts=self.drafts)
        free = over_piece(piece, self.canvas, drafts=self.drafts)
        size = (piece.clip.width, piece.clip.height)
        return ZoneTrack(self.course, piece.station, posts, size, drafts=self.drafts, kept_free=free).at

    def walk_film(self, out: Path, pieces: Sequence[Path], progress: Progress) -> None:
        """Join the pieces, with the sound of the clips, captions that can be turned on, and a chapter a station."""
        join_films(
            [FilmPiece(path, piece.at_s) for path, piece in zip(pieces, self.pieces, strict=True)],
            out,
            sound=[
                SoundSpan(original(self.library, clip), 0.0, clip.duration_s, clip.start_s) for clip in self.course.clips if clip.has_audio
            ],
            captions=CaptionTrack([TimedLine(cue.start_s, cue.end_s, "\n".join(cue.lines)) for cue in self.cues]),
            chapters=self._chapters_in_file(),
            progress=progress,
        )

    def _chapters_in_file(self) -> list[TimedLine]:
        """A chapter a station. An MP4's chapters leave no gap: what comes before the first one has a chapter too."""
        chapters = [TimedLine(start / 1000, end / 1000, title) for start, end, title in self.chapters]
        return [TimedLine(0.0, chapters[0].start_s, BEFORE), *chapters] if chapters[0].start_s > 0 else chapters

    @cached_property
    def canvas(self) -> tuple[int, int]:
        """Width and height of the walk's film."""
        return canvas_of(self.course.clips, self.wishes.lines)

    @property
    def in_order(self) -> list[Station]:
        """The stations in the order in which they are walked, as the chapters are."""
        return sorted(self.stations, key=lambda station: (station.start, station.number))

    def told(self, station: Station) -> Station:
        """The station with what may be told of it: in an edition only what was accepted."""
        surfaces = tuple(surface for surface in station.surfaces if self.drafts or surface.state == "accepted")
        return station.model_copy(update={"surfaces": surfaces})

    @property
    def chapters(self) -> tuple[tuple[int, int, str], ...]:
        """As `chapter_spans`, in milliseconds of the film."""
        return chapter_spans(self.stations, self.length_s)

    @property
    def length_s(self) -> float:
        """How long the walk is."""
        return max(clip.start_s + clip.duration_s for clip in self.course.clips)

    def _key(self, kind: str, clip: Clip, *parts: object) -> str:
        """What a film of this clip is made from, whatever film it is."""
        blanket = [rule.model_dump(mode="json", exclude={"said", "confidence"}) for rule in self.course.blanket]
        state = (blanket, self.wishes.division, self.drafts, self.show_faces)
        return stage_key(
            "film", FILM_VERSION, CARRYING_VERSION, FACES_VERSION, encoder_id(), kind, clip.original, clip.start_s, state, *parts
        )


def looks_kept(library: Library, clip: Clip, start_s: float, end_s: float, progress: Progress) -> list[FaceLook]:
    """The looks for faces over a stretch of a clip, from what was kept or made now: every film of the clip needs the same."""
    looks: list[FaceLook] = []
    runs = runs_over(start_s, end_s)
    for at, number in enumerate(runs):
        key = stage_key("faces", FACES_VERSION, clip.original, number)
        kept = library.done("faces", key)
        if kept is None:
            found = looks_of_run(original(library, clip), number, progress=told_within(progress, at, len(runs)))
            kept = json.dumps([[look.time_s, look.turned, look.boxes] for look in found]).encode()
            library.mark_done("faces", key, kept)
        looks += [
            FaceLook(time_s, turned, tuple((x0, y0, x1, y1) for x0, y0, x1, y1 in boxes)) for time_s, turned, boxes in json.loads(kept)
        ]
        progress((at + 1) / len(runs))
    return looks


def _parts(progress: Progress) -> tuple[Progress, Progress]:
    """Looking for faces and drawing, as one rising share."""
    return (lambda share: progress(LOOKING * share)), (lambda share: progress(LOOKING + (1 - LOOKING) * share))


def for_division(course: Course, stations: Sequence[Station], division: str | None) -> tuple[Course, tuple[Station, ...]]:
    """The course as it is for one division: each ruling that differs for it is the ruling. Unchanged for the main one."""
    if division is None:
        return course, tuple(stations)

    def ruled(surface: Surface) -> Surface:
        return surface.model_copy(update={"ruling": (surface.divisions or {}).get(division, surface.ruling), "divisions": None})

    blanket = tuple(
        rule.model_copy(update={"ruling": (rule.divisions or {}).get(division, rule.ruling), "divisions": None}) for rule in course.blanket
    )
    there = tuple(station.model_copy(update={"surfaces": tuple(map(ruled, station.surfaces))}) for station in stations)
    return course.model_copy(update={"blanket": blanket}), there


def seen_of(station: Station) -> dict[str, Any]:
    """What of a station can be seen in a film: its sheet, span, marks and the stills that carry them; not who accepted it or why."""
    marked = {mark.still for mark in station.marks}
    surfaces = [surface.model_dump(mode="json", exclude={"confidence"}) for surface in station.surfaces]
    stills = [
        still.model_dump(mode="json", include={"id", "time_s", "clip", "width", "height", "file"})
        for still in station.stills
        if still.id in marked
    ]
    plain = station.model_dump(mode="json", include={"id", "number", "name", "start", "end", "contact", "demonstration", "said"})
    marks = [mark.model_dump(mode="json", exclude={"origin", "confidence"}) for mark in station.marks]
    return {**plain, "surfaces": surfaces, "stills": stills, "marks": marks}


def _told(words: Sequence[Word]) -> list[tuple[float, float, str]]:
    return [(word.start, word.end, word.text) for word in words]


def _kept(library: Library, key: str, make: Callable[[Path], None]) -> Path:
    """A film of the library: the one that is kept under this key, else one that is made now."""
    kept = library.done("film", key)
    if kept is None or not library.files.has(kept.decode()):
        with library.unfinished() as folder:
            out = folder / "film.mp4"
            make(out)
            kept = library.files.put(out, ".mp4").encode()
        library.mark_done("film", key, kept)
    return library.files.path(kept.decode())


def clip_of(clips: Sequence[Clip], station: Station) -> Clip:
    """The clip in which a station begins."""
    return next(clip for clip in reversed(clips) if clip.start_s <= station.start or clip is clips[0])
