"""What readers would stumble over, told to staff before publishing: signs without a typeface, pictures that are gone, long lines.

In: a course as it stands. Out: findings in the words of the place where they apply, and how hard the booklet reads in each language.
Gaps and contradictions of the rules themselves are annotator/rules and annotator/marks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from annotator.booklet import LANGUAGES, MOST_WORDS, Booklet, ReadingLevel, Wording, missing_signs, pages, reading_level
from annotator.course import Course, Finding, Station, Still
from annotator.library import Library


def told_before_publishing(library: Library, course: Course, stations: Sequence[Station]) -> tuple[Finding, ...]:
    """Every finding about the outputs: those that block would stop publishing in its midst, or leave a hole in a page."""
    booklet = pages(course, [station.model_copy(update={"stills": ()}) for station in stations], wording=_own(course))
    return (*_unprintable(course, booklet), *_pictures_gone(library, stations), *_long_lines(booklet), *_idle_divisions(course, stations))


def reading_levels(library: Library, name: str) -> tuple[ReadingLevel, ...]:
    """How hard the booklet of a course as it stands reads, in every language that it is written in, the walk's own first.

    Raises
    ------
    NotFound
        No such course.
    """
    course, stations = library.whole(name)
    bare = [at.doc.model_copy(update={"stills": ()}) for at in stations]
    return tuple(reading_level(pages(course.doc, bare, wording=Wording(each))) for each in languages_of(course.doc))


def languages_of(course: Course) -> tuple[str, ...]:
    """The languages that the outputs of a course are written in, its own first where it is one of them."""
    own = _own(course).language
    return (own, *(language for language in LANGUAGES if language != own))


def made_alt(course: Course, station: Station, still: Still) -> dict[str, str]:
    """The words for those who cannot see a still as they are made from its marks, in every language, whatever a person wrote instead."""
    bare = station.model_copy(update={"stills": (still.model_copy(update={"alt": {}}),)})
    told = {each: pages(course, [bare], wording=Wording(each)) for each in languages_of(course)}
    return {language: booklet.stations[0].stills[0].alt for language, booklet in told.items()}


def _own(course: Course) -> Wording:
    return Wording(course.language if course.language in LANGUAGES else LANGUAGES[0])


def _unprintable(course: Course, booklet: Booklet) -> Iterator[Finding]:
    """PDF/UA refuses a sign that no face has."""
    rules_of_course, *rules_of_stations = booklet.texts()
    translations = (one.translation for one in course.translated)
    told: list[tuple[int | None, Iterable[str]]] = [(None, (booklet.title, *rules_of_course, *translations))]
    for page, rules in zip(booklet.stations, rules_of_stations, strict=True):
        told.append((page.number, (page.name, *rules, *(one.text for one in page.heard))))
    seen: set[str] = set()
    for number, texts in told:
        for text in dict.fromkeys(texts):
            for sign in sorted(missing_signs(text)):
                if text in seen:
                    continue
                seen.add(text)
                about = f"The sign {sign} in “{text}” cannot be printed: no typeface of ours has it. Write it in letters."
                yield Finding(kind="sign-not-in-font", station=number, about=about, severity="blocks")


def _pictures_gone(library: Library, stations: Sequence[Station]) -> Iterator[Finding]:
    for station in stations:
        gone = [still for still in station.stills if not library.files.has(still.file)]
        for still in gone:
            about = (
                f"The picture of still {still.id} ({_moment(still)}) is not in the library any more. Take the still again, or take it out."
            )
            yield Finding(kind="picture-gone", station=station.number, about=about, severity="blocks")


def _moment(still: Still) -> str:
    return f"at {int(still.time_s) // 60}:{int(still.time_s) % 60:02} of the walk"


def _long_lines(booklet: Booklet) -> Iterator[Finding]:
    for line in reading_level(booklet).too_long:
        about = f"This line has {line.words} words, more than {MOST_WORDS}: “{line.text}” A shorter name makes it easier to read."
        yield Finding(kind="line-too-long", station=line.station, about=about, severity="note")


def _idle_divisions(course: Course, stations: Sequence[Station]) -> Iterator[Finding]:
    """Divisions for which no rule differs anywhere: readers would look for a difference that is not there."""
    ruled = [item for station in stations for item in station.surfaces] + list(course.blanket)
    for name in course.divisions:
        if not any((one.divisions or {}).get(name, one.ruling) != one.ruling for one in ruled):
            about = f"No rule differs for “{name}”. The booklet says so; take the division out if it was not meant."
            yield Finding(kind="division-same", station=None, about=about, severity="note")
