"""One rendering feeds all outputs: for any course, the rules read back from the site, the PDF and the EPUB are the same lists."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from annotator.booklet import LANGUAGES, Section, Stamp, StationPage, Wording, compare, pages, write_epub, write_print, write_site
from annotator.course import BlanketRule, Course, RunFormat, Station, Surface, TranslatedName
from annotator.marks import ruling_at
from tests.booklet.makers import (
    AT,
    HEIGHT,
    WIDTH,
    DrawnPictures,
    box,
    rules_of_epub,
    rules_of_print,
    rules_of_site,
    sections_of_html,
    still,
)

# Letters of the languages that staff are likely to write, and every sign that HTML, XML, typst or JSON could take for its own.
LETTERS = "abcdefghijklmnopqrstuvwxyzABCXYZ0123456789äöüßéèçñøłżščőığ"
SIGNS = "<>&\"'`#$*_@\\/[]{}()=~^|;:,.!?%+-–’“”"
NAMES = st.text(st.sampled_from(LETTERS + SIGNS + " "), min_size=1, max_size=30).map(lambda name: f"x{name}x")
RULINGS = st.sampled_from(["in", "out"])
CONTACTS = st.sampled_from([None, ("hands",), ("feet",), ("hands", "feet")])
STATES = st.sampled_from(["draft", "accepted"])
DIVISIONS = st.none() | st.dictionaries(st.sampled_from(["under-tens", "adults"]), RULINGS, min_size=1)

surfaces = st.builds(
    Surface,
    id=st.uuids().map(str),
    name=NAMES,
    part=st.none() | NAMES,
    role=st.sampled_from(["start", "route", "finish"]),
    ruling=RULINGS,
    contact=CONTACTS,
    overshoot=st.sampled_from([None, "allowed", "not allowed"]),
    divisions=DIVISIONS,
    optional=st.booleans(),
    state=STATES,
)
blanket_rules = st.one_of(
    st.just(BlanketRule(rule="unnamed-out", state="accepted")),
    st.builds(BlanketRule, rule=st.just("no-skip"), surface=NAMES, state=STATES),
    st.builds(BlanketRule, rule=st.just("surface"), surface=NAMES, part=st.none() | NAMES, ruling=RULINGS, contact=CONTACTS, state=STATES),
)


@st.composite
def courses(draw: st.DrawFn) -> tuple[Course, list[Station]]:
    stations = [
        Station(
            id=f"s{number}",
            number=number,
            name=draw(st.none() | NAMES),
            start=number * 10.0,
            end=number * 10.0 + 9,
            contact=draw(CONTACTS),
            surfaces=tuple(draw(st.lists(surfaces, max_size=5, unique_by=lambda one: one.name.casefold()))),
            demonstration=draw(st.sampled_from([None, "clear", "fail"])),
            state="accepted",
        )
        for number in range(1, draw(st.integers(1, 3)) + 1)
    ]
    course = Course(
        name="c",
        title=draw(NAMES),
        order=tuple(station.id for station in stations),
        blanket=tuple(draw(st.lists(blanket_rules, max_size=3, unique_by=lambda one: (one.surface or "").casefold()))),
        format=draw(st.none() | st.builds(RunFormat, retries=st.none() | st.integers(0, 3), ranking=st.none() | NAMES)),
        divisions=("under-tens", "adults"),
    )
    return course, stations


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(made=courses(), published=st.booleans(), language=st.sampled_from(LANGUAGES), translated=st.booleans())
def test_site_pdf_and_epub_tell_the_same_rules(
    made: tuple[Course, list[Station]], published: bool, language: str, translated: bool
) -> None:
    course, stations = made
    if translated:
        course = course.model_copy(update={"translated": translations(course, stations, language)})
    told = Wording(language)
    booklet = pages(course, stations, Stamp(1, "ABCDEF", AT) if published else None, wording=told)
    english = pages(course, stations, Stamp(1, "ABCDEF", AT) if published else None)
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        none = DrawnPictures(there)
        write_site(english, none, there / "site", others=[booklet] if language != "en" else [])
        write_epub(booklet, none, there / "booklet.epub")
        write_print(booklet, none, there / "print.pdf")
        assert rules_of_site(there / "site", len(stations)) == english.texts()
        site = rules_of_site(there / "site" / (language if language != "en" else ""), len(stations))
        assert site == booklet.texts()
        assert list(map(len, site)) == list(map(len, english.texts())), "the same rules in every language"
        assert rules_of_epub(there / "booklet.epub", len(stations)) == site
        assert rules_of_print(there / "print.pdf", told.say("heard")) == tuple(
            tuple(f"{rule.text} ? {told.say('not-accepted')}" if rule.draft else rule.text for rule in rules)
            for rules in (booklet.rules(), *(page.rules() for page in booklet.stations))
        )


def translations(course: Course, stations: list[Station], language: str) -> tuple[TranslatedName, ...]:
    """A translation, as odd as the name, for every surface, station and division that has a name."""
    names = {station.name for station in stations} | {one.name for station in stations for one in station.surfaces} | set(course.divisions)
    told = sorted({" ".join(name.casefold().split()): name for name in names if name}.values())
    return tuple(TranslatedName(said=name, language=language, translation=f"y{name[1:-1]}y") for name in told)


@settings(max_examples=60, deadline=None)
@given(old=courses(), new=courses(), language=st.sampled_from(LANGUAGES), seed=st.integers(0, 7))
def test_the_slip_is_the_new_rules_less_the_old_ones(
    old: tuple[Course, list[Station]], new: tuple[Course, list[Station]], language: str, seed: int
) -> None:
    """What the old edition says, without what went and with what came, is what the new one says: heading by heading, line by line."""
    before, after = (
        pages(course, stations, Stamp(1, "ABCDEF", AT), wording=Wording(language)) for course, stations in (old, mixed(old, new, seed))
    )
    told = {one.number: one.changes for one in compare(before, after).stations}
    pairs = zip(before.stations, after.stations, strict=False)
    for number, was, became in [
        (None, sheet(before.sections), sheet(after.sections)),
        *((page.number, own(one), own(page)) for one, page in pairs),
    ]:
        headings = {heading for heading, _ in was | became}
        for change in told.get(number, ()):
            if change.section not in headings:
                continue  # the limbs, or the station's own name
            if change.kind == "went":
                was.remove((change.section, change.text))
                continue
            if change.kind != "came":  # reads otherwise under its heading, or stands under another one
                was.remove((str(change.was), change.text) if (str(change.was), change.text) in was else (change.section, str(change.was)))
            was.add((change.section, change.text))
        assert was == became


def sheet(sections: Sequence[Section]) -> set[tuple[str, str]]:
    """What is said under each heading; "not said" is no rule."""
    return {(section.title, rule.text) for section in sections for rule in section.rules if not rule.gap}


def own(page: StationPage) -> set[tuple[str, str]]:
    """What a station itself says; what holds at every station is told of the course."""
    return sheet([section for section in page.sections if section.key != "everywhere"])


def mixed(old: tuple[Course, list[Station]], new: tuple[Course, list[Station]], seed: int) -> tuple[Course, list[Station]]:
    """The new course where some stations, and the course's own rules now and then, are still the old ones."""
    stations = [
        next((one for one in old[1] if one.number == station.number), station) if (seed >> at) & 1 else station
        for at, station in enumerate(new[1])
    ]
    return (old[0] if seed & 4 else new[0]).model_copy(update={"order": new[0].order}), stations


SURFACES = st.lists(
    st.tuples(st.sampled_from(["in", "out"]), st.sampled_from([None, {"under-tens": "in"}, {"under-tens": "out"}])), min_size=1, max_size=4
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ruled=SURFACES, contact=CONTACTS, language=st.sampled_from(LANGUAGES))
def test_a_point_well_inside_a_zone_is_ruled_as_the_pages_and_the_book_say(
    ruled: list[tuple[str, dict[str, str] | None]], contact: tuple[str, ...] | None, language: str
) -> None:
    """Against `ruling_at`, which `annotator ask` gives out: for everyone, and for a division as its line says."""
    surfaces = tuple(
        Surface.model_validate({"id": f"u{at}", "name": f"thing {at}", "ruling": ruling, "divisions": divisions, "state": "accepted"})
        for at, (ruling, divisions) in enumerate(ruled)
    )
    marks = tuple(box(f"m{at}", "s1", f"u{at}", 40 + 300 * at, 100, 260 + 300 * at, 600) for at in range(len(surfaces)))
    station = Station.model_validate(
        {"id": "t1", "number": 1, "name": "row", "start": 0, "end": 9, "contact": contact, "surfaces": surfaces, "marks": marks,
         "stills": (still("s1", 3.0),), "state": "accepted"}
    )  # fmt: skip
    course = Course(name="c", title="Course", order=("t1",), divisions=("under-tens",))
    told = Wording(language)
    booklet = pages(course, [station], Stamp(1, "ABCDEF", AT), wording=told)
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        Image.new("RGB", (WIDTH, HEIGHT), "#b8b2a6").save(there / "s1.jpg")
        write_site(booklet, DrawnPictures(there), there / "site")
        write_epub(booklet, DrawnPictures(there), there / "booklet.epub")
        here = sections_of_html(there / "site" / "station-1.html")
        (book,) = rules_of_epub(there / "booklet.epub", 1)[1:]
    for at, surface in enumerate(surfaces):
        point = (150.0 + 300 * at, 350.0)
        everyone = ruling_at(course, station, "s1", point)
        assert [everyone.ruling == "in play", everyone.ruling == "out of play"] == [f"Thing {at}" in here[key] for key in ("in", "out")]
        assert f"Thing {at}" in book
        for_tens = ruling_at(course, station, "s1", point, division="under-tens").ruling
        lines = [
            key
            for key in ("in", "out")
            if told.say(f"division:{key}", division="under-tens", thing=f"thing {at}") in here.get("divisions", ())
        ]
        assert lines == ([] if for_tens == everyone.ruling else [{"in play": "in", "out of play": "out"}[for_tens]])
        answer = booklet.stations[0].stills[0].answers[""]["things"]
        assert [thing["ruling"] for thing in answer if thing["text"].startswith(f"thing {at}")] == [surface.ruling]
    empty = ruling_at(course, station, "s1", (640.0, 30.0))
    assert empty.ruling == "out of play" and booklet.default_rule


@settings(max_examples=50, deadline=None)
@given(made=courses())
def test_an_edition_tells_only_what_was_accepted(made: tuple[Course, list[Station]]) -> None:
    """Against a plain reading of the models, not of the renderer's own lists."""
    course, stations = made
    booklet = pages(course, stations, Stamp(1, "ABCDEF", AT))
    for station, page in zip(stations, booklet.stations, strict=True):
        told = {rule.surface for rule in page.rules() if rule.surface is not None}
        accepted = {one.id for one in station.surfaces if one.state == "accepted"}
        assert accepted <= told
        assert not told & {one.id for one in station.surfaces if one.state == "draft"}
        assert not any(rule.draft for rule in page.rules())
