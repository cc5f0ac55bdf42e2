"""One output of a course: of an edition, or of the state it is in now ("Draft, not an edition" on every page).

Each kind is one function that gathers what its maker needs from the library and hands it over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from annotator.booklet import (
    LANGUAGES,
    Booklet,
    CardsWait,
    CardsWanted,
    Stamp,
    Wording,
    cards_aside,
    pages,
    write_cards,
    write_epub,
    write_print,
    write_single,
    write_site,
    write_slip,
    write_wall,
)
from annotator.course import Course, Station
from annotator.errors import InputError
from annotator.library import Edition, Library
from annotator.pipeline.captions import write_captions
from annotator.pipeline.changes import documents
from annotator.pipeline.film_folder import write_films
from annotator.pipeline.films import FilmWishes
from annotator.pipeline.pictures import LibraryPictures, pictures_of, refuse_gone, sizes_folder
from annotator.pipeline.places import file_place, folder_place
from annotator.pipeline.side_by_side import Task, side_by_side
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
    paper: str | None
    language: str
    backs: bool
    pictures: LibraryPictures
    linked: bool
    """What is written lies where nobody writes again: it may be what is kept, by another name."""

    told: dict[str, Booklet] = field(default_factory=dict)
    """The booklets that were made so far, by language; shared by the requests of one course."""

    def booklet_in(self, language: str) -> Booklet:
        """The course's booklet in that language, made once."""
        if language not in self.told:
            self.told[language] = pages(self.course, self.stations, self.edition, wording=Wording(language), drawn=self.drawn)
        return self.told[language]

    def prepare(self, languages: Iterable[str]) -> None:
        """Make the booklets that two threads will ask for."""
        for language in dict.fromkeys(languages):
            self.booklet_in(language)

    @property
    def booklet(self) -> Booklet:
        return self.booklet_in(self.language)

    @property
    def others(self) -> tuple[Booklet, ...]:
        """The same in every other language that there is a catalogue for."""
        return tuple(self.booklet_in(language) for language in LANGUAGES if language != self.language)

    @property
    def drawn(self) -> Path:
        """Where overlays are kept."""
        return self.library.root / "drawn"

    @property
    def sizes(self) -> Path:
        """Where pictures in the sizes of screens are kept."""
        return sizes_folder(self.library)


def write_output(
    library: Library,
    name: str,
    kind: str,
    out: Path,
    *,
    edition: int | None = None,
    address: str | None = None,
    paper: str | None = None,
    language: str | None = None,
    backs: bool = False,
    progress: Watcher | None = None,
) -> Path:
    """Write one output of a course to `out` and return what to open.

    Parameters
    ----------
    paper : str, optional
        A size such as "A5", or "A4 two up" for cards; each output has a usual one.
    language : str, optional
        One of the booklet's languages, such as "es"; the walk's own, or English where there is none in that.
    backs : bool
        Judge cards with a back each: its number as large as the card.

    Raises
    ------
    InputError
        An unknown kind, or nothing to write it from; the message says what is missing.
    NotFound
        No such course or edition.
    """
    ((_, made),) = write_outputs(
        library, name, {kind: out}, edition=edition, address=address, paper=paper, language=language, backs=backs, progress=progress
    )
    return made


def write_outputs(
    library: Library,
    name: str,
    places: Mapping[str, Path],
    *,
    edition: int | None = None,
    address: str | None = None,
    paper: str | None = None,
    language: str | None = None,
    also: Mapping[str, Mapping[str, Path]] | None = None,
    backs: bool = False,
    linked: bool = False,
    progress: Watcher | None = None,
) -> list[tuple[str, Path]]:
    """Write several outputs, each to its place, from one rendering of the rules; give back what to open for each.

    `also`: more of them in other languages, by language. `linked`: the places are an edition's, in which nobody writes again, so pictures
    and cards may be the kept ones by another name. Other parameters and errors as `write_output`.
    """
    strange = [kind for kind in places if kind not in _MAKERS]
    if strange:
        raise InputError(f"There is no output {strange[0]!r}. There is: {', '.join(OUTPUT_KINDS)}.")
    course, stations = documents(library, name, edition)
    if not stations:
        raise InputError(f"{name!r} has no station yet, so there is nothing to write.")
    frozen = None if edition is None else library.edition(name, edition)
    request = _Request(
        library, course, stations, frozen, address, paper, language or own_language(course), backs, pictures_of(library, stations), linked
    )
    return _write(request, places, also or {}, progress, aside=True)


def write_as_edition(
    library: Library, edition: Edition, places: Mapping[str, Path], also: Mapping[str, Mapping[str, Path]], progress: Watcher | None = None
) -> list[tuple[str, Path]]:
    """As `write_outputs`, of a state that is no edition of the library's, told as if it were one; on one processor, since nobody waits."""
    course, stations = edition.course.doc, tuple(at.doc for at in edition.stations)
    return _write(
        _Request(library, course, stations, edition, None, None, own_language(course), False, pictures_of(library, stations), linked=True),
        places,
        also,
        progress,
    )


def _write(
    request: _Request,
    places: Mapping[str, Path],
    also: Mapping[str, Mapping[str, Path]],
    progress: Watcher | None,
    aside: bool = False,
) -> list[tuple[str, Path]]:
    own = request.language
    wanted = [(own, kind, out) for kind, out in places.items()]
    wanted += [(other, kind, out) for other, more in also.items() for kind, out in more.items()]
    if any(kind not in _WITHOUT_STILLS for _, kind, _ in wanted):
        refuse_gone(request.library, request.stations)
    for _, kind, out in wanted:
        folder_place(out) if kind in _FOLDERS else file_place(out)
    names = [f"writing the {kind}" + (f" ({Wording(other).own_name})" if other != own else "") for other, kind, _ in wanted]
    plan = [(step, _USUAL_S[kind]) for step, (_, kind, _) in zip(names, wanted, strict=True)]
    steps = Steps(plan, progress, in_a_row=False)
    made: dict[int, tuple[str, Path]] = {}
    request.prepare(other for other, _, _ in wanted)
    with _cards_set(request, [other for other, kind, _ in wanted if kind == "cards"] if aside else []) as until_set:

        def task(number: int) -> Task:
            step, (other, kind, out) = names[number], wanted[number]
            within = steps.within(step)

            def do(check: Callable[[], None]) -> None:
                def tell(share: float) -> None:
                    check()
                    within(share)

                tell(0.0)
                if kind == "cards":
                    until_set(other, check)
                made[number] = (kind, _MAKERS[kind](replace(request, language=other), out, tell))
                steps.done(step)

            return do

        set_by_typst = [number for number, (_, kind, _) in enumerate(wanted) if kind in _BY_TYPST]
        set_by_typst.sort(key=lambda number: wanted[number][1] == "cards")  # what may have to be waited for comes last
        side_by_side([task(at) for at in range(len(wanted)) if at not in set_by_typst], [task(at) for at in set_by_typst])
    return [made[at] for at in range(len(wanted))]


@contextmanager
def _cards_set(request: _Request, languages: Sequence[str]) -> Iterator[CardsWait]:
    """Have judge cards in these languages set by a second process, where there are enough to set; waiting is over at once where not."""
    sheet = request.paper or CARDS_PAPER
    stamp = None if request.edition is None else Stamp(request.edition.number, request.edition.code, request.edition.at)
    stills = {} if not languages else {still: request.pictures.jpeg(still) for still in request.pictures.stills}
    wanted = CardsWanted(
        request.course, request.stations, stamp, tuple(languages), stills, sheet, request.address, request.drawn, request.sizes
    )
    if languages and not request.backs and wanted.are_worth_a_process(request.booklet_in(languages[0])):
        with cards_aside(wanted) as wait:
            yield wait
    else:
        yield lambda _language, _check: None


def own_language(course: Course) -> str:
    """The language that a course's booklet is in at first: the walk's own, where there is a catalogue for it."""
    return course.language if course.language in LANGUAGES else LANGUAGES[0]


SLIP_TO_BOOKLET = "../booklet/"
"""The way from an edition's change slip to its booklet; a slip that is written elsewhere has no booklet to lead to."""

CARDS_PAPER, PRINT_PAPER, WALL_PAPER = "A5", "A4", "A4"
_FOLDERS = ("booklet", "slip", "captions", "clips")  # the others are one file each
_BY_TYPST = ("cards", "wall", "print")
_WITHOUT_STILLS = ("wall", "captions", "clips")
_USUAL_S = {
    "booklet": 6.0,
    "single": 1.0,
    "cards": 4.0,
    "wall": 0.5,
    "print": 3.0,
    "epub": 2.0,
    "slip": 2.0,
    "captions": 1.0,
    "clips": 120.0,
}
"""Seconds that a small course takes; only for the forecast of the time left."""


def _booklet(request: _Request, out: Path, progress: Progress) -> Path:
    return write_site(
        request.booklet,
        request.pictures,
        out,
        others=request.others,
        address=request.address,
        cache=request.sizes,
        linked=request.linked,
        progress=progress,
    )


def _single(request: _Request, out: Path, progress: Progress) -> Path:
    return write_single(
        request.booklet, request.pictures, out, others=request.others, address=request.address, cache=request.sizes, progress=progress
    )


def _cards(request: _Request, out: Path, _: Progress) -> Path:
    return write_cards(
        request.booklet,
        request.pictures,
        out,
        request.paper or CARDS_PAPER,
        address=request.address,
        backs=request.backs,
        cache=request.sizes,
        linked=request.linked,
    )


def _wall(request: _Request, out: Path, _: Progress) -> Path:
    also = [other.wording for other in request.others]
    return write_wall(request.booklet, out, request.paper or WALL_PAPER, address=request.address, also=also)


def _print(request: _Request, out: Path, _: Progress) -> Path:
    paper = request.paper or PRINT_PAPER
    return write_print(request.booklet, request.pictures, out, paper, address=request.address, cache=request.sizes)


def _epub(request: _Request, out: Path, progress: Progress) -> Path:
    return write_epub(request.booklet, request.pictures, out, cache=request.sizes, progress=progress)


def _slip(request: _Request, out: Path, _: Progress) -> Path:
    """What changed since the edition before (or since the newest edition, for the state as it is now)."""
    numbers = [each.number for each in request.library.editions(request.course.name)]
    this = request.edition.number if request.edition is not None else max(numbers, default=0) + 1
    earlier = [number for number in numbers if number < this]
    if not earlier:
        raise InputError("There is no earlier edition to compare with; a change slip needs two.")
    before = request.library.edition(request.course.name, earlier[-1])
    old_stations = tuple(at.doc for at in before.stations)
    old, *olds = (pages(before.course.doc, old_stations, before, wording=one.wording) for one in (request.booklet, *request.others))
    pictures = pictures_of(request.library, (*old_stations, *request.stations))
    pages_at = SLIP_TO_BOOKLET if out.parent.joinpath(SLIP_TO_BOOKLET.split("/")[1]).is_dir() else None
    page, _pdf = write_slip(
        old,
        request.booklet,
        pictures,
        out,
        address=request.address,
        paper=request.paper or CARDS_PAPER,
        pages_at=pages_at,
        others=list(zip(olds, request.others, strict=True)),
        cache=request.sizes,
    )
    return page


def _captions(request: _Request, out: Path, _: Progress) -> Path:
    return write_captions(request.library, request.course, request.stations, out)


def _clips(request: _Request, out: Path, progress: Progress) -> Path:
    """One short film a station."""
    number = None if request.edition is None else request.edition.number
    return write_films(request.library, request.course.name, out, FilmWishes(), edition=number, progress=lambda at: progress(at.share))


_MAKERS: dict[str, Callable[[_Request, Path, Progress], Path]] = {
    "booklet": _booklet,
    "single": _single,
    "cards": _cards,
    "wall": _wall,
    "print": _print,
    "epub": _epub,
    "slip": _slip,
    "captions": _captions,
    "clips": _clips,
}
OUTPUT_KINDS = tuple(_MAKERS)
