"""A folder of films: one a station with the spans of its rules beside it; by choice the whole walk, its captions and a page to play it.

What a film is made of, and what is kept of it, is films.py; the page is annotator/booklet's.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from annotator.booklet import CaptionsRead, CueToSee, FilmText, LimitKept, WalkFilm, own_name_of, pages, write_player, write_reading
from annotator.captions import (
    WORDINGS,
    Reading,
    evidence_in,
    station_span,
    write_chapters,
    write_evidence,
    write_vtt,
)
from annotator.course import Course, FacesShown, Station
from annotator.errors import CannotWrite, InputError
from annotator.library import Edition, Library
from annotator.pipeline.captions import walk_captions
from annotator.pipeline.changes import documents
from annotator.pipeline.films import Films, FilmWishes, clip_of
from annotator.pipeline.places import folder_place
from annotator.pipeline.saving import Documents, change
from annotator.pipeline.steps import Steps, Watcher
from annotator.units import clock

WAITING = "waiting for another program that makes films of this course"
JOINING = "joining the walk"
_CARRYING, _DRAWING, _PIECE, _JOINING = 3.0, 1.0, 0.8, 0.05  # of a film's length; only for the forecast of the time left
WALK = "walk.mp4"


def show_faces(library: Library, name: str, because: str | None, *, who: str) -> None:
    """Record a person's choice to leave faces in the films of a course as they are, and why; None takes it back.

    Raises
    ------
    InputError
        The reason is empty.
    """
    try:
        chosen = None if because is None else FacesShown(by=who, because=because.strip())
    except ValidationError as exc:
        raise InputError("Say in a few words why faces may be shown, such as: all are adults and agreed in writing.") from exc
    change(library, name, who, lambda course, stations: _with_faces(course, stations, chosen))


def _with_faces(course: Course, stations: tuple[Station, ...], chosen: FacesShown | None) -> Documents:
    return course.model_copy(update={"faces_shown": chosen}), stations


@dataclass(frozen=True)
class _State:
    """What the films are of: an edition, or the course as it stands now."""

    films: Films
    edition: Edition | None


def write_films(
    library: Library, name: str, out: Path, wishes: FilmWishes, *, edition: int | None = None, progress: Watcher | None = None
) -> Path:
    """Write the films of a course into a folder and return what to open: the folder, or the walk's page.

    Raises
    ------
    InputError
        The course has no station yet, or came without its clips as filmed.
    NotFound
        No such course, edition or division.
    """
    folder_place(out)
    course, stations = documents(library, name, edition)
    films = Films(library, course, stations, wishes, drafts=edition is None)
    state = _State(films, None if edition is None else library.edition(name, edition))
    steps = Steps(_plan(films), progress)
    with library.turn(name, "films", lambda: steps.begin(WAITING)):
        out.mkdir(parents=True, exist_ok=True)
        _stations(films, out, steps)
        return _walk(state, out, steps) if wishes.whole_walk else out


def _plan(films: Films) -> list[tuple[str, float]]:
    plan = [(WAITING, 0.0)]
    for station in films.stations:
        length_s = station.end - station.start
        plan += [(_carrying(station), length_s * _CARRYING), (_drawing(station), length_s * _DRAWING)]
    if films.wishes.whole_walk:
        plan += [(_piece(at, films), (piece.end_s - piece.start_s) * _PIECE) for at, piece in enumerate(films.pieces, 1)]
        plan.append((JOINING, films.length_s * _JOINING))
    return plan


def _carrying(station: Station) -> str:
    return f"carrying the zones of station {station.number}"


def _drawing(station: Station) -> str:
    return f"drawing station {station.number}"


def _piece(number: int, films: Films) -> str:
    return f"drawing the walk, part {number} of {len(films.pieces)}"


def _stations(films: Films, out: Path, steps: Steps) -> None:
    for station in films.stations:
        steps.begin(_carrying(station))
        made = films.station_film(station, steps.within(_carrying(station)), steps.within(_drawing(station)))
        name = station_film_name(station.number)
        _lay(made, out / name)
        start_s, end_s = station_span(station, films.clip_of(station))
        evidence = evidence_in([films.told(station)], start_s, end_s - start_s)
        _write(out / f"{Path(name).stem}.rules.vtt", write_evidence(evidence, name))
        steps.done(_carrying(station))
        steps.done(_drawing(station))


def _walk(state: _State, out: Path, steps: Steps) -> Path:
    films = state.films
    made: list[Path] = []
    for number, piece in enumerate(films.pieces, 1):
        steps.begin(_piece(number, films))
        made.append(films.piece_film(piece, steps.within(_piece(number, films))))
        steps.done(_piece(number, films))
    films.walk_film(out / WALK, made, steps.within(JOINING))
    spoken = _texts(films)
    texts = tuple(text for text, _ in spoken)
    for text in texts:
        _write(out / text.file, text.content)
    _write(out / "walk.rules.vtt", write_evidence(evidence_in(list(map(films.told, films.stations)), 0.0, films.length_s), WALK))
    chapters = FilmText("chapters.vtt", "Stations", films.plain_course.language, write_chapters(films.stations, films.length_s))
    _write(out / chapters.file, chapters.content)
    stations = {station.number: (start / 1000, end / 1000) for station, (start, end, _) in zip(films.in_order, films.chapters, strict=True)}
    film = WalkFilm(
        video=WALK,
        size=films.canvas,
        captions=texts,
        chosen=None if films.wishes.in_picture or not texts else texts[WORDINGS.index(films.wishes.wording)].file,
        chapters=chapters,
        stations=stations,
        films={station.number: station_film_name(station.number) for station in films.stations},
    )
    booklet = pages(films.plain_course, films.plain_stations, state.edition)
    page = write_player(booklet, film, out)
    if texts:
        write_reading(booklet, [read for _, read in spoken], out)
    steps.done(JOINING)
    return page


def _texts(films: Films) -> tuple[tuple[FilmText, CaptionsRead], ...]:
    """The walk's captions, each wording, then each translation; and how they read."""
    texts = []
    for each in walk_captions(films.library, films.plain_course, films.plain_stations):
        text = FilmText(f"{each.stem}.vtt", each.wording or own_name_of(each.language), each.language, write_vtt(each.cues))
        texts.append((text, _read(text, each.reading)))
    return tuple(texts)


def _read(text: FilmText, report: Reading) -> CaptionsRead:
    limits = [LimitKept(each.limit, each.kept, each.of, each.source, each.wish) for each in report.limits]
    cues = [CueToSee(each.start_s, clock(each.start_s), each.text, each.about) for each in report.worst]
    return CaptionsRead(text.file, text.label, text.language, limits, cues)


def station_film_name(number: int) -> str:
    """The file of a station's film."""
    return f"station-{number}.mp4"


def _lay(kept: Path, out: Path) -> None:
    """A copy of a kept film in its place, whole or not at all; never the kept file itself, since people edit what they are given."""
    part = out.with_name(f".{out.name}.{os.getpid()}.part")
    try:
        shutil.copyfile(kept, part)
        part.replace(out)
    except OSError as exc:
        raise CannotWrite(out, f"{exc.strerror or exc}. Check the disk and run it again.") from exc
    finally:
        part.unlink(missing_ok=True)


def _write(out: Path, text: str) -> None:
    out.write_text(text, "utf-8", newline="\n")


# What the server shows


def films_folder(library: Library, name: str, number: int) -> Path:
    """Where the films of an edition lie that the server shows; it is there when they are whole."""
    return library.root / "films" / name / f"edition-{number}"


@dataclass(frozen=True)
class StationFilm:
    """A station's film that the server shows: its file, and from when until when it is on the walk's time line."""

    file: str
    start_s: float
    end_s: float


def station_films(library: Library, name: str, number: int) -> dict[int, StationFilm]:
    """The films of an edition's stations by number; none where they were not made."""
    folder = films_folder(library, name, number)
    if not folder.is_dir():
        return {}
    edition = library.edition(name, number)
    clips = edition.course.doc.clips
    found = {}
    for station in (at.doc for at in edition.stations):
        file = station_film_name(station.number)
        if (folder / file).is_file():
            found[station.number] = StationFilm(file, *station_span(station, clip_of(clips, station)))
    return found


def make_films(library: Library, name: str, wishes: FilmWishes, *, edition: int, progress: Watcher | None = None) -> Path:
    """Write the films of an edition to where the server shows them; an older set of them is there until the new one is whole."""
    library.edition(name, edition)
    place = films_folder(library, name, edition)
    with library.unfinished() as unfinished:
        write_films(library, name, unfinished, wishes, edition=edition, progress=progress)
        place.parent.mkdir(parents=True, exist_ok=True)
        aside = place.with_name(f".aside-{place.name}")
        shutil.rmtree(aside, ignore_errors=True)
        if place.exists():
            place.rename(aside)
        unfinished.rename(place)
        shutil.rmtree(aside, ignore_errors=True)
    return place
