"""The rules in words: order, gaps, drafts, divisions, evidence, and the shape that a ten-year-old can read."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from annotator.booklet import Booklet, Stamp, pages
from annotator.course import BlanketRule, Course, RunFormat, Station, Surface
from annotator.errors import NotReady


@pytest.fixture(scope="module")
def edition(course: Course, stations: Sequence[Station], stamp: Stamp) -> Booklet:
    return pages(course, stations, stamp)


def words(booklet: Booklet, station: int, key: str) -> list[str]:
    section = next((one for one in booklet.stations[station - 1].sections if one.key == key), None)
    return [rule.text for rule in section.rules] if section else []


def test_a_station_tells_its_rules_in_the_fixed_order(edition: Booklet) -> None:
    assert [section.key for section in edition.stations[0].sections] == ["start", "in", "out", "finish", "shown", "everywhere"]
    assert edition.texts()[1] == (
        "Feet only",
        "Red mat",
        "Blue boxes, tops",
        "Blue boxes, sides",
        "Blue barrel",
        "Green platform",
        "Do not land past it.",
        "The run shown is clear.",
        "Do not skip: platforms.",
        "In play: post pads (hands and feet)",
        "Out of play: post pads, top",
    )


def test_the_course_page_tells_format_blanket_rules_and_divisions(edition: Booklet) -> None:
    assert edition.texts()[0] == (
        "3 stations, in order.",
        "You have 1 retry in your run.",
        "Ranking: furthest then fastest.",
        "Do not skip: platforms.",
        "In play: post pads (hands and feet)",
        "Out of play: post pads, top",
        "Under-tens: see Station 2.",
        "Adults: no difference.",
    )
    assert edition.default_rule == "What is not named is out of play."
    assert edition.stamp_line == "Edition 3 · code 7KQ2MX · May 9, 2026"


def test_the_course_page_says_where_a_division_s_rules_for_every_station_differ(course: Course, stations: Sequence[Station]) -> None:
    rope = BlanketRule(
        rule="surface", surface="rope", ruling="out", divisions={"under-tens": "in", "adults": "in"}, state="accepted", id="b9"
    )
    texts = pages(course.model_copy(update={"blanket": (*course.blanket, rope)}), stations).texts()[0]
    assert "Under-tens: see “At every station” and Station 2." in texts
    assert "Adults: see “At every station”." in texts


def test_limbs_are_told_with_a_surface_only_where_they_differ_from_the_station(edition: Booklet) -> None:
    assert words(edition, 2, "in") == ["Wooden beam"]
    assert words(edition, 3, "in") == ["Red rings, your choice (hands and feet)"]


def test_a_division_that_differs_has_its_own_line_and_its_own_zones(edition: Booklet) -> None:
    assert words(edition, 2, "out") == ["White rail"]
    assert words(edition, 2, "divisions") == ["In play for under-tens: white rail"]
    assert set(edition.stations[1].stills[0].answers) == {"", "under-tens"}
    assert set(edition.stations[0].stills[0].answers) == {""}


def test_what_was_not_said_shows_as_a_gap(course: Course, stations: Sequence[Station], edition: Booklet) -> None:
    assert words(edition, 3, "finish") == ["Not said."]
    bare = pages(course.model_copy(update={"format": None}), [Station(id="s1", number=1, start=0, end=1)])
    assert [rule.text for rule in bare.rules() if rule.gap] == ["Retries: not said.", "Ranking: not said."]
    assert [rule.text for rule in bare.stations[0].rules() if rule.gap] == [
        "Hands or feet: not said",
        "Not said.",
        "Nothing named.",
        "Not said.",
    ]
    assert bare.stations[0].title == "Station 1: Name not said"


@pytest.mark.parametrize(
    ("retries", "line"),
    [
        pytest.param(0, "No second try: the first fail ends your run.", id="none"),
        pytest.param(1, "You have 1 retry in your run.", id="one"),
        pytest.param(2, "You have 2 retries in your run.", id="two"),
    ],
)
def test_retries_are_told_in_the_right_number(course: Course, retries: int, line: str) -> None:
    booklet = pages(course.model_copy(update={"format": RunFormat(retries=retries)}), [])
    assert line in [rule.text for rule in booklet.rules()]


def test_a_draft_says_so_and_marks_each_line_nobody_agreed_to(course: Course, stations: Sequence[Station]) -> None:
    loose = Surface(id="u9", name="spare crate", ruling="out")
    first = stations[0].model_copy(update={"surfaces": (*stations[0].surfaces, loose)})
    draft = pages(course, [first, *stations[1:]])
    assert draft.stamp_line == "Draft, not an edition"
    assert {rule.text for page in draft.stations for rule in page.rules() if rule.draft} == {"Spare crate"}


def test_nothing_unaccepted_reaches_an_edition(course: Course, stations: Sequence[Station], stamp: Stamp) -> None:
    first = stations[0]
    loose = first.model_copy(
        update={
            "surfaces": tuple(one.model_copy(update={"state": "draft"}) for one in first.surfaces),
            "stills": tuple(one.model_copy(update={"state": "draft"}) for one in first.stills),
        }
    )
    blanket = tuple(one.model_copy(update={"state": "draft"}) for one in course.blanket)
    booklet = pages(course.model_copy(update={"blanket": blanket}), [loose], stamp)
    assert booklet.texts()[1] == ("Feet only", "Not said.", "Nothing named.", "Not said.", "The run shown is clear.")
    assert booklet.stations[0].stills == ()
    assert booklet.default_rule == "What is not named is out of play."


def test_an_edition_with_a_station_nobody_accepted_is_refused_by_number(course: Course, stations: Sequence[Station], stamp: Stamp) -> None:
    with pytest.raises(NotReady) as refused:
        pages(course, [stations[0], stations[1].model_copy(update={"state": "draft"})], stamp)
    assert refused.value.reasons == ("Station 2 is not accepted.",)


def test_a_station_that_rules_otherwise_leaves_the_blanket_rule_out_there(
    course: Course, stations: Sequence[Station], stamp: Stamp
) -> None:
    own = Surface(id="u9", name="Post  pads", ruling="out", state="accepted")
    first = stations[0].model_copy(update={"surfaces": (*stations[0].surfaces, own)})
    booklet = pages(course, [first, *stations[1:]], stamp)
    assert words(booklet, 1, "everywhere") == ["Do not skip: platforms.", "Out of play: post pads, top"]
    assert "In play: post pads (hands and feet)" in words(booklet, 2, "everywhere")


def test_a_blanket_rule_that_differs_for_a_division_is_told_at_every_station(course: Course, stations: Sequence[Station]) -> None:
    floor = BlanketRule(rule="surface", surface="floor", ruling="out", divisions={"under-tens": "in"}, id="b9")
    booklet = pages(course.model_copy(update={"blanket": (floor,)}), stations)
    assert words(booklet, 3, "everywhere") == ["Out of play: floor", "In play for under-tens: floor"]


def test_evidence_comes_in_the_order_of_the_walk_with_its_place_in_the_clip(edition: Booklet) -> None:
    heard = edition.stations[0].heard
    assert [one.clock for one in heard] == ["1:02", "1:04", "1:07", "1:12", "1:17"]
    assert [one.text for one in heard].count("only the tops, the sides are out") == 1
    assert (heard[0].clip, heard[0].clip_time_s) == (1, 62.0)


def test_a_moment_in_the_second_clip_is_counted_from_its_start(course: Course, stations: Sequence[Station]) -> None:
    late = stations[2].model_copy(update={"said": (stations[0].said[0].model_copy(update={"start": 152.5, "end": 154.0}),)})
    (heard,) = pages(course, [late]).stations[0].heard
    assert (heard.clip, heard.clip_time_s, heard.clock) == (2, 12.5, "2:32")


def test_the_words_for_a_still_name_what_is_marked_where_and_how_it_is_ruled(edition: Booklet) -> None:
    assert edition.stations[0].stills[0].alt == (
        "Station 1: Stepping boxes, as filmed at 1:08. "
        "In play: red mat, bottom left; blue boxes, tops (feet only), middle; green platform, bottom right; "
        "post pads (hands and feet), middle. "
        "Out of play: blue boxes, sides, bottom middle; blue barrel, middle; post pads, top, top middle."
    )


def test_each_line_has_at_most_twelve_words(course: Course, stations: Sequence[Station]) -> None:
    """Our own bound for readers of ten; no published source."""
    for booklet in (pages(course, stations), pages(Course(name="c", title="C"), [Station(id="s", number=1, start=0, end=1)])):
        for text in (text for page in booklet.texts() for text in page):
            assert len(text.split()) <= 12, text
