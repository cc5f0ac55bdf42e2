"""One output of a course: of an edition, or of the state it is in now ("Draft, not an edition" on every page).

Each kind is one function that gathers what its maker needs from the library and hands it over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from annotator.booklet import Booklet, pages, write_cards, write_epub, write_print, write_site, write_slip
from annotator.captions import plan_cues, station_list, write_chapters, write_clip, write_srt, write_vtt
from annotator.course import Course, Station
from annotator.errors import InputError
from annotator.library import Edition, Library
from annotator.media import read_picture
from annotator.pipeline.changes import documents
from annotator.pipeline.draft import course_words
from annotator.pipeline.pictures import LibraryPictures, pictures_of
from annotator.pipeline.steps import Steps, Watcher
from annotator.units import Progress


@dataclass(frozen=True)
class _Request:
    """What an output is to be made of."""

    library: Library
    course: Course
    stations: tuple[Station, ...]
    edition: Edition | None
    address: str | None
    progress: Progress

    @property
    def booklet(self) -> Booklet:
        return pages(self.course, self.stations, self.edition)

    @property
    def pictures(self) -> LibraryPictures:
        return pictures_of(self.library, self.stations)


def write_output(
    library: Library,
    name: str,
    kind: str,
    out: Path,
    *,
    edition: int | None = None,
    address: str | None = None,
    progress: Watcher | None = None,
) -> Path:
    """Write one output of a course to `out` and return what to open.

    Raises
    ------
    InputError
        An unknown kind, or nothing to write it from; the message says what is missing.
    NotFound
        No such course or edition.
    """
    if kind not in _MAKERS:
        raise InputError(f"There is no output {kind!r}. There is: {', '.join(OUTPUT_KINDS)}.")
    course, stations = documents(library, name, edition)
    if not stations:
        raise InputError(f"{name!r} has no station yet, so there is nothing to write.")
    steps = Steps([(f"writing the {kind}", 1.0)], progress)
    frozen = None if edition is None else library.edition(name, edition)
    request = _Request(library, course, stations, frozen, address, steps.within(f"writing the {kind}"))
    out.parent.mkdir(parents=True, exist_ok=True)
    made = _MAKERS[kind](request, out)
    steps.done(f"writing the {kind}")
    return made


def _booklet(request: _Request, out: Path) -> Path:
    _refuse_a_file(out)
    cache = request.library.root / "sizes"
    return write_site(request.booklet, request.pictures, out, address=request.address, cache=cache, progress=request.progress)


def _cards(request: _Request, out: Path) -> Path:
    return write_cards(request.booklet, request.pictures, out, address=request.address)


def _print(request: _Request, out: Path) -> Path:
    return write_print(request.booklet, request.pictures, out, address=request.address)


def _epub(request: _Request, out: Path) -> Path:
    return write_epub(request.booklet, request.pictures, out)


def _slip(request: _Request, out: Path) -> Path:
    """What changed since the edition before (or since the newest edition, for the state as it is now)."""
    _refuse_a_file(out)
    numbers = [each.number for each in request.library.editions(request.course.name)]
    this = request.edition.number if request.edition is not None else max(numbers, default=0) + 1
    earlier = [number for number in numbers if number < this]
    if not earlier:
        raise InputError("There is no earlier edition to compare with; a change slip needs two.")
    before = request.library.edition(request.course.name, earlier[-1])
    old_stations = tuple(at.doc for at in before.stations)
    old = pages(before.course.doc, old_stations, before)
    pictures = pictures_of(request.library, (*old_stations, *request.stations))
    return write_slip(old, request.booklet, pictures, out)


def _captions(request: _Request, out: Path) -> Path:
    """Captions, chapters and station list of the whole walk."""
    _refuse_a_file(out)
    words = course_words(request.library, request.course)
    if not words:
        raise InputError("No words were heard in this walk, so there are no captions to write.")
    out.mkdir(parents=True, exist_ok=True)
    portrait = all(clip.height > clip.width for clip in request.course.clips)
    cues = plan_cues(words, request.stations, portrait=portrait)
    duration_s = max((clip.start_s + clip.duration_s for clip in request.course.clips), default=0.0)
    (out / "captions.vtt").write_text(write_vtt(cues), "utf-8", newline="\n")
    (out / "captions.srt").write_text(write_srt(cues), "utf-8", newline="\n")
    (out / "chapters.vtt").write_text(write_chapters(request.stations, duration_s), "utf-8", newline="\n")
    (out / "stations.txt").write_text(station_list(request.stations), "utf-8", newline="\n")
    return out


def _clips(request: _Request, out: Path) -> Path:
    """One short clip a station."""
    _refuse_a_file(out)
    out.mkdir(parents=True, exist_ok=True)
    words = course_words(request.library, request.course)
    for at, station in enumerate(request.stations):
        clip = next(clip for clip in reversed(request.course.clips) if clip.start_s <= station.start)
        marked = {mark.still for mark in station.marks}
        stills = {still.id: read_picture(request.library.files.path(still.file)) for still in station.stills if still.id in marked}
        write_clip(
            request.course,
            station,
            request.library.files.path(clip.original),
            clip.start_s,
            out / f"station-{station.number}.mp4",
            words=words,
            stills=stills,
            drafts=request.edition is None,
            progress=lambda share, done=at: request.progress((done + share) / len(request.stations)),  # type: ignore[misc]  # bound per station
        )
    return out


def _refuse_a_file(out: Path) -> None:
    if out.is_file():
        raise InputError(f"{out.name!r} is a file; this output is a folder. Give another name.")


_MAKERS: dict[str, Callable[[_Request, Path], Path]] = {
    "booklet": _booklet,
    "cards": _cards,
    "print": _print,
    "epub": _epub,
    "slip": _slip,
    "captions": _captions,
    "clips": _clips,
}
OUTPUT_KINDS = tuple(_MAKERS)
