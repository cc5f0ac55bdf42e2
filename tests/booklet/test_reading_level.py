"""How hard a booklet reads: the formula against counts by hand, and the lines that are too long are found."""

from __future__ import annotations

import dataclasses

import pytest

from annotator.booklet import LANGUAGES, Wording, pages
from annotator.booklet.reading_level import MOST_WORDS, lix, reading_level
from annotator.course import Course, Station


@pytest.mark.parametrize(
    ("sentences", "wanted"),
    [
        # words / sentences + 100 * long words / words, counted by hand; the sentences are those of shared readability tables
        pytest.param(["The cat sat on the mat."], 6 / 1 + 0, id="cat"),
        pytest.param(
            ["This sentence, taken as a reading passage unto itself, is being used to prove a point."], 16 + 100 * 3 / 16, id="passage"
        ),  # sentence, reading, passage
        pytest.param(
            ["The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."], 13 + 100 * 5 / 13, id="platypus"
        ),  # Australian, platypus, seemingly, reptilian, creature
        pytest.param(
            ["Swing across the ropes without touching the ground.", "If you touch the ground, go back to the start of the rope."],
            21 / 2 + 100 * 2 / 21,  # without, touching
            id="ropes",
        ),
        pytest.param(["Nur Hände", "Stationen"], 3 / 2 + 100 / 3, id="letters-of-other-languages"),
    ],
)
def test_the_index_is_that_of_its_formula(sentences: list[str], wanted: float) -> None:
    assert lix(sentences) == pytest.approx(wanted, abs=0.05)


def test_no_words_have_no_index() -> None:
    assert lix([]) is None
    assert lix(["– …"]) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_booklet_reads_easily_in_every_language(course: Course, stations: tuple[Station, ...], language: str) -> None:
    """Björnsson's scale calls 20 very easy, 30 easy, 40 a little hard; children's books lie below 30."""
    level = reading_level(pages(course, stations, wording=Wording(language)))
    assert level.language == language
    assert level.words_a_line < 6
    assert level.lix is not None and level.lix < 35
    assert not level.too_long


def test_a_line_that_is_too_long_is_told_with_its_station(course: Course, stations: tuple[Station, ...]) -> None:
    long = "the " + "very " * MOST_WORDS + "long bar"
    first, *others = stations
    renamed = first.surfaces[1].model_copy(update={"name": long})
    changed = first.model_copy(update={"surfaces": (first.surfaces[0], renamed, *first.surfaces[2:])})
    level = reading_level(pages(course, [changed, *others]))
    assert [(line.station, line.words) for line in level.too_long] == [(1, MOST_WORDS + 4)]
    assert long in level.too_long[0].text.lower()


def test_every_line_that_is_told_is_counted(course: Course, stations: tuple[Station, ...]) -> None:
    booklet = pages(course, stations)
    sections = [*booklet.sections, *(section for page in booklet.stations for section in page.sections)]
    notes = sum(section.note is not None for section in sections)
    assert reading_level(booklet).lines == sum(map(len, booklet.texts())) + notes
    bare = dataclasses.replace(booklet, sections=(), stations=())
    assert (reading_level(bare).lines, reading_level(bare).words_a_line, reading_level(bare).lix) == (0, 0.0, None)
