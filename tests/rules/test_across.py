"""Between stations, and between a station and the rules for the whole course: the draft and the check say the same of the same things.

That a contradiction blocks and a shared name is only noted is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import BlanketRule, Course, Dismissal, Finding, Said, Station, Surface
from annotator.rules import check, draft
from annotator.rules.across import same_name
from tests.rules.reading_of import words_of

KINDS = ("contradiction", "not-as-everywhere", "name-for-two-things", "finish-is-not-next-start", "no-contact")


def said(text: str) -> list[tuple[str, int | None]]:
    return [(f.kind, f.station) for f in draft(words_of(text)).findings if f.kind in KINDS]


FIRST = "Station one. You start on the red box. Walk along the beam, feet only. Finish on the blue platform. "
SPOKEN = [
    pytest.param(
        "The foam blocks are out everywhere on the course. " + FIRST + "Station two. You start on the blue platform. Climb the wall, "
        "hands and feet. The foam blocks are in. Finish on the mat.",
        [("contradiction", 2)],
        id="against-a-rule-for-the-whole-course",
    ),
    pytest.param(
        FIRST + "The edge of the blue platform is out. Station two. You start on the blue platform. The edge of the blue platform is in. "
        "Climb the wall, hands and feet. Finish on the mat.",
        [("contradiction", 2)],
        id="against-the-station-before-on-what-both-share",
    ),
    pytest.param(
        FIRST + "Station two. You start on the blue platform. Climb the wall, hands and feet. Finish on the mat.", [], id="nothing-to-say"
    ),
]


@pytest.mark.parametrize(("text", "expected"), SPOKEN)
def test_what_does_not_fit_is_pointed_at_with_the_words_of_both_sides(text: str, expected: list[tuple[str, int]]) -> None:
    assert said(text) == expected
    assert all(len(f.said) == 2 for f in draft(words_of(text)).findings if f.across)


def thing(name: str, role: str = "route", **more: Any) -> Surface:
    heard = Said(start=1.0, end=2.0, text=f"The {name}.")
    given: dict[str, Any] = {"id": f"u-{name.replace(' ', '-')}", "name": name, "role": role, "state": "accepted", "said": (heard,), **more}
    return Surface.model_validate(given)


def station(number: int, *surfaces: Surface, name: str | None = None) -> Station:
    return Station(id=f"t{number}", number=number, name=name, start=0.0, end=30.0, contact=("feet",), surfaces=surfaces)


BLOCKS = BlanketRule(rule="surface", surface="foam blocks", ruling="out", said=(Said(start=0.0, end=1.0, text="No blocks."),), id="b1")
PADS = BlanketRule(rule="surface", surface="post pads", part="top", ruling="out", id="b2")
COURSE = Course(name="c", title="C", blanket=(BLOCKS, PADS))
ENDS = station(
    1, thing("box", "start"), thing("blue platform", "finish", overshoot="allowed"), thing("blue platforms", part="edge", ruling="out")
)


def found(course: Course, *stations: Station) -> list[tuple[str, int | None, str]]:
    return [(f.kind, f.station, f.about) for f in check(course, stations) if f.kind in KINDS]


def test_the_check_sees_what_people_typed_in_against_a_rule_for_the_whole_course() -> None:
    typed = station(1, thing("box", "start"), thing("the foam block"), thing("mat", "finish"))
    [(kind, number, about)] = found(COURSE, typed)
    assert (kind, number) == ("contradiction", 1)
    assert about == "Station 1: the foam block is in play here, but out of play everywhere by the rules said for the whole course."


@pytest.mark.parametrize(
    "surface",
    [
        pytest.param(thing("foam blocks", ruling="out"), id="the-same-ruling"),
        pytest.param(thing("red foam blocks"), id="another-thing"),
        pytest.param(thing("post pad"), id="the-whole-where-the-rule-is-about-a-part"),
        pytest.param(thing("foam blocks", divisions={"juniors": "out"}), id="told-by-division"),
    ],
)
def test_what_fits_a_rule_for_the_whole_course_raises_no_alarm(surface: Surface) -> None:
    assert found(COURSE, station(1, thing("box", "start"), surface, thing("mat", "finish"))) == []


def typed(surface: str, ruling: str = "out", **more: Any) -> BlanketRule:
    return BlanketRule.model_validate({"rule": "surface", "surface": surface, "ruling": ruling, "state": "accepted", "id": surface, **more})


def test_a_typed_rule_for_a_kind_of_things_is_held_against_each_of_them() -> None:
    at = station(1, thing("red mat", "start"), thing("beam"), thing("mat stack", "finish"))
    course = COURSE.model_copy(update={"blanket": (typed("mats"),)})
    [finding] = [each for each in check(course, [at]) if each.kind == "not-as-everywhere"]
    assert (finding.severity, finding.surface) == ("warning", "u-red-mat")
    assert "the red mat is in play here, but “mats: out of play” is a rule for every station" in finding.about
    aside = Dismissal(kind="not-as-everywhere", surface="u-red-mat", by="Ana", because="the landing mats are meant")
    seen = at.model_copy(update={"dismissed": (aside,)})
    assert found(course, seen) == []
    outright = COURSE.model_copy(update={"blanket": (typed("mats"), typed("red mat"))})
    assert [kind for kind, _, _ in found(outright, seen)] == ["contradiction"], "what was put aside hides nothing that came later"
    closer = COURSE.model_copy(update={"blanket": (typed("mats"), typed("red mats", "in"))})
    assert found(closer, at) == [], "the narrower rule says what holds for it"


def test_a_class_that_a_rule_for_every_station_sets_apart_and_the_station_does_not_is_told() -> None:
    at = station(1, thing("box", "start"), thing("rope"), thing("rail", ruling="out", divisions={"juniors": "in"}), thing("mat", "finish"))
    rules = (typed("ropes", "in", divisions={"juniors": "out"}), typed("rail", divisions={"juniors": "in"}))
    course = COURSE.model_copy(update={"blanket": rules})
    assert [about for _, _, about in found(course, at)] == [
        "Station 1: the rope is in play for juniors here, but out of play for them by a rule for every station. Change one of them."
    ]


def test_a_rule_for_every_station_with_a_class_of_its_own_is_held_against_what_holds_for_all() -> None:
    at = station(1, thing("red mat", "start"), thing("rope"), thing("long rail"), thing("mat stack", "finish"))
    rules = (typed("ropes", divisions={"juniors": "in"}), typed("rails", "in", divisions={"juniors": "out"}))
    told = [about for _, _, about in found(COURSE.model_copy(update={"blanket": rules}), at)]
    assert [about.split(". ")[0] for about in told] == [
        "Station 1: the rope is in play here, but “ropes: out of play, in play for juniors” is a rule for every station",
        "Station 1: the long rail is in play for juniors here, but out of play for them by a rule for every station",
    ]


def test_an_exception_that_a_person_put_aside_stays_aside_until_something_else_clashes() -> None:
    exception = station(1, thing("box", "start"), thing("foam blocks"), thing("mat", "finish"))
    aside = Dismissal(kind="contradiction", surface="u-foam-blocks", by="Ana", because="here they are steps")
    assert found(COURSE, exception.model_copy(update={"dismissed": (aside,)})) == []
    other = exception.model_copy(update={"dismissed": (aside,), "surfaces": (*exception.surfaces, thing("post pads", part="top"))})
    assert [(kind, number) for kind, number, _ in found(COURSE, other)] == [("contradiction", 1)]


def test_a_clash_that_was_drafted_goes_when_either_side_is_mended() -> None:
    drafted = Finding(kind="contradiction", station=1, severity="blocks", about="Station 1: the foam blocks ...", across=True)
    fits = station(1, thing("box", "start"), thing("foam blocks"), thing("mat", "finish"))
    course = COURSE.model_copy(update={"drafted": (drafted,)})
    assert [kind for kind, _, _ in found(course, fits)] == ["contradiction"]
    assert found(course.model_copy(update={"blanket": (PADS,)}), fits) == []
    assert found(course, station(1, thing("box", "start"), thing("foam blocks", ruling="out"), thing("mat", "finish"))) == []


def test_neighbours_that_rule_a_part_of_their_shared_platform_differently_clash() -> None:
    after = station(2, thing("blue platform", "start"), thing("blue platform", part="edge"), thing("mat", "finish"))
    [(kind, number, about)] = found(COURSE, ENDS, after)
    assert (kind, number) == ("contradiction", 2)
    assert about == "Station 2: the edge of the blue platform is in play here, but out of play at station 1, which ends on it."
    apart = station(2, thing("white box", "start"), thing("blue platform", part="edge"), thing("mat", "finish"))
    assert found(COURSE, ENDS, apart) == []


def test_one_name_for_start_and_finish_is_noted() -> None:
    there_and_back = station(1, thing("box", "start"), thing("log"), thing("the box", "finish"))
    [(kind, number, about)] = found(COURSE, there_and_back)
    assert (kind, number) == ("name-for-two-things", 1)
    assert about == "Station 1: the box is both its start and its finish. If these are two things, give each its own name."


def test_two_stations_of_one_name_are_told_at_the_later_one() -> None:
    plain = (thing("box", "start"), thing("mat", "finish"))
    stations = [station(1, *plain, name="log walk"), station(2, *plain, name="ring lane"), station(3, *plain, name="Log walks")]
    told = [(number, about) for kind, number, about in found(COURSE, *stations) if kind == "name-for-two-things"]
    assert told == []  # a plural is another name for an obstacle
    alike = [*stations[:2], station(3, *plain, name="The log walk")]
    told = [(number, about) for kind, number, about in found(COURSE, *alike) if kind == "name-for-two-things"]
    assert told == [(3, "Station 3 (The log walk) has the name of station 1. If these are two obstacles, give each its own name.")]


def test_a_finish_that_is_said_to_be_the_next_start_is_noted_until_it_is() -> None:
    noted = Finding(kind="finish-is-not-next-start", station=1, severity="note", about="Station 1: its finish ...")
    course = COURSE.model_copy(update={"drafted": (noted,)})
    elsewhere = station(2, thing("white box", "start"), thing("mat", "finish"))
    assert [kind for kind, _, _ in found(course, ENDS, elsewhere)] == ["finish-is-not-next-start"]
    assert found(course, ENDS, station(2, thing("blue platform", "start"), thing("mat", "finish"))) == []


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        pytest.param("post pads", "Post pad", True, id="plural-and-capitals"),
        pytest.param("the grey tyre", "grey tire", True, id="spelling"),
        pytest.param("blue platform", "red platform", False, id="colours"),
        pytest.param("platform", "blue platform", False, id="one-says-more"),
        pytest.param("", "", True, id="empty"),
    ],
)
def test_names_are_compared_as_a_reader_would(one: str, other: str, same: bool) -> None:
    assert same_name(one, other) is same
