"""One rendering feeds all outputs: for any course, the rules read back from the site, the PDF and the EPUB are the same lists."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.booklet import Stamp, pages, write_epub, write_print, write_site
from annotator.course import BlanketRule, Course, RunFormat, Station, Surface
from tests.booklet.makers import AT, DrawnPictures, rules_of_epub, rules_of_print, rules_of_site

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
            surfaces=tuple(draw(st.lists(surfaces, max_size=5))),
            demonstration=draw(st.sampled_from([None, "clear", "fail"])),
            state="accepted",
        )
        for number in range(1, draw(st.integers(1, 3)) + 1)
    ]
    course = Course(
        name="c",
        title=draw(NAMES),
        order=tuple(station.id for station in stations),
        blanket=tuple(draw(st.lists(blanket_rules, max_size=3))),
        format=draw(st.none() | st.builds(RunFormat, retries=st.none() | st.integers(0, 3), ranking=st.none() | NAMES)),
        divisions=("under-tens", "adults"),
    )
    return course, stations


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(made=courses(), published=st.booleans())
def test_site_pdf_and_epub_tell_the_same_rules(made: tuple[Course, list[Station]], published: bool) -> None:
    course, stations = made
    booklet = pages(course, stations, Stamp(1, "ABCDEF", AT) if published else None)
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        none = DrawnPictures(there)
        write_site(booklet, none, there / "site")
        write_epub(booklet, none, there / "booklet.epub")
        write_print(booklet, none, there / "print.pdf")
        site = rules_of_site(there / "site", len(stations))
        assert site == booklet.texts()
        assert rules_of_epub(there / "booklet.epub", len(stations)) == site
        assert rules_of_print(there / "print.pdf") == tuple(
            tuple(f"{rule.text} ? not yet agreed" if rule.draft else rule.text for rule in rules)
            for rules in (booklet.rules(), *(page.rules() for page in booklet.stations))
        )


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
