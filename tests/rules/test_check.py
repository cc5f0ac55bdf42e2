"""The check on a course as it stands: gaps, drafts, marks, dismissed findings. States as DESIGN's words name them."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import (
    BlanketRule,
    Course,
    Dismissal,
    Finding,
    HeardName,
    Mark,
    RunFormat,
    Said,
    Station,
    Still,
    Surface,
    apply,
    read_edit,
)
from annotator.course.document import Settled
from annotator.rules import check

SAID = Said(start=1.0, end=2.0, text="The rail is in.")
LATER = Said(start=8.0, end=9.0, text="The rail is out.")


def surface(name: str, role: str = "route", **more: Any) -> Surface:
    return Surface.model_validate({"id": f"u-{name}", "name": name, "role": role, "state": "accepted", **more})


def mark(name: str, *points: tuple[float, float], **more: Any) -> Mark:
    ring = points or ((10.0, 10.0), (90.0, 10.0), (90.0, 90.0))
    return Mark.model_validate({"id": f"m-{name}", "still": "s1", "surface": f"u-{name}", "rings": (ring,), "state": "accepted", **more})


STILL = Still(id="s1", time_s=3.0, clip=1, pts=0, width=100, height=100, file="0" * 64, state="accepted")
SOUND = Station(
    id="t1", number=1, name="log walk", start=0.0, end=30.0, contact=("feet",), state="accepted", accepted_by="Ana", signed_by="Ben",
    surfaces=(surface("box", "start"), surface("log"), surface("rail", ruling="out"), surface("mat", "finish")),
    stills=(STILL,), marks=(mark("box"), mark("log"), mark("mat")),
)  # fmt: skip
COURSE = Course(name="c", title="C", order=("t1",))


def kinds(course: Course, *stations: Station) -> list[tuple[str, int | None, str]]:
    return [(f.kind, f.station, f.severity) for f in check(course, stations)]


def test_a_sound_signed_station_has_no_finding() -> None:
    assert check(COURSE, [SOUND]) == ()


def without(name: str) -> Station:
    return SOUND.model_copy(
        update={
            "surfaces": tuple(s for s in SOUND.surfaces if s.name != name),
            "marks": tuple(m for m in SOUND.marks if m.surface != f"u-{name}"),
        }
    )


GAPS = [
    pytest.param(without("box"), ("no-start", 1, "blocks"), id="no start"),
    pytest.param(without("mat"), ("no-finish", 1, "blocks"), id="no finish"),
    pytest.param(SOUND.model_copy(update={"contact": None}), ("no-contact", 1, "blocks"), id="no limbs"),
    pytest.param(SOUND.model_copy(update={"signed_by": None}), ("not-signed", 1, "note"), id="not signed"),
    pytest.param(SOUND.model_copy(update={"stills": (), "marks": ()}), ("no-still", 1, "warning"), id="no still"),
    pytest.param(SOUND.model_copy(update={"marks": SOUND.marks[:2]}), ("surface-without-mark", 1, "warning"), id="finish without mark"),
    pytest.param(
        SOUND.model_copy(update={"marks": (*SOUND.marks, mark("gone"))}), ("mark-without-surface", 1, "warning"), id="mark without surface"
    ),
    pytest.param(
        SOUND.model_copy(update={"marks": (*SOUND.marks, mark("log", (50.0, 50.0), (140.0, 50.0), (50.0, 90.0)))}),
        ("mark-outside-still", 1, "warning"),
        id="mark beyond the border",
    ),
    pytest.param(
        SOUND.model_copy(update={"marks": (*SOUND.marks, mark("log", still="s9"))}),
        ("mark-outside-still", 1, "warning"),
        id="mark on no still",
    ),
]


@pytest.mark.parametrize(("station", "expected"), GAPS)
def test_what_is_missing_is_reported_once(station: Station, expected: tuple[str, int, str]) -> None:
    assert kinds(COURSE, station) == [expected]


@pytest.mark.parametrize(("station", "expected"), [p for p in GAPS if p.id not in ("not signed",)])
def test_a_finding_that_a_person_put_aside_is_gone(station: Station, expected: tuple[str, int, str]) -> None:
    aside = Dismissal(kind=expected[0], by="Ana", because="seen")
    assert kinds(COURSE, station.model_copy(update={"dismissed": (aside,)})) == []


def test_limbs_of_the_surfaces_or_of_a_blanket_rule_are_enough() -> None:
    station = SOUND.model_copy(update={"contact": None})
    tied = station.model_copy(update={"surfaces": tuple(s.model_copy(update={"contact": ("feet",)}) for s in station.surfaces)})
    assert kinds(COURSE, tied) == []
    rule = BlanketRule(rule="surface", surface="everything", ruling="in", contact=("hands", "feet"), state="accepted")
    assert kinds(COURSE.model_copy(update={"blanket": (rule,)}), station) == []
    other = rule.model_copy(update={"surface": "foam blocks"})
    assert kinds(COURSE.model_copy(update={"blanket": (other,)}), station) == [("no-contact", 1, "blocks")]


def test_drafts_are_counted_in_one_finding_a_station_and_cannot_be_put_aside() -> None:
    drafts = SOUND.model_copy(
        update={
            "surfaces": tuple(s.model_copy(update={"state": "draft"}) if s.name in ("box", "log") else s for s in SOUND.surfaces),
            "marks": (mark("box", state="draft"), *SOUND.marks[1:]),
            "dismissed": (Dismissal(kind="not-accepted", by="Ana", because="no"),),
        }
    )
    [finding] = check(COURSE, [drafts])
    assert (finding.kind, finding.severity) == ("not-accepted", "blocks")
    assert finding.about.startswith("Station 1 (log walk): 2 surfaces and 1 mark are still drafts")


def test_blanket_rules_that_are_drafts_block_the_course() -> None:
    course = COURSE.model_copy(update={"blanket": (BlanketRule(rule="unnamed-out"),)})
    assert kinds(course, SOUND) == [("not-accepted", None, "blocks")]


def test_a_proposed_name_warns_until_it_is_settled() -> None:
    heard = HeardName(heard="lock walk", name="log walk", reason="sounds alike", score=0.9, at=(1.0,))
    course = COURSE.model_copy(update={"heard": (heard,)})
    assert kinds(course, SOUND) == [("name-heard-wrong", None, "warning")]
    settled = COURSE.model_copy(update={"heard": (heard.model_copy(update={"state": "declined"}),)})
    assert kinds(settled, SOUND) == []


CLASH = Finding(
    kind="contradiction",
    station=1,
    severity="blocks",
    said=(SAID, LATER),
    about="Station 1: the rail is said to be in play, and later out of play.",
)


class TestAContradiction:
    course = COURSE.model_copy(update={"drafted": (CLASH,)})

    def test_stays_open_while_nobody_changed_what_it_is_about(self) -> None:
        [finding] = check(self.course, [SOUND])
        assert (finding.kind, finding.severity, finding.surface, finding.said) == ("contradiction", "blocks", "u-rail", (SAID, LATER))

    def test_is_settled_where_its_surface_was_changed(self) -> None:
        note = Settled(what="surface", name="rail", proposal="{}")
        assert check(self.course, [SOUND.model_copy(update={"settled": (note,)})]) == ()

    def test_is_not_settled_by_a_change_of_something_else(self) -> None:
        note = Settled(what="surface", name="log", proposal="{}")
        assert kinds(self.course, SOUND.model_copy(update={"settled": (note,)})) == [("contradiction", 1, "blocks")]

    def test_is_settled_where_its_surface_is_gone(self) -> None:
        assert check(self.course, [without("rail")]) == ()

    def test_is_settled_where_a_person_put_it_aside(self) -> None:
        aside = Dismissal(kind="contradiction", by="Ana", because="the second one holds")
        assert check(self.course, [SOUND.model_copy(update={"dismissed": (aside,)})]) == ()

    def test_is_settled_where_a_person_sets_the_ruling_that_its_surface_has(self) -> None:
        edit = read_edit({"do": "change-surface", "station": 1, "surface": "rail", "set": {"ruling": "out"}})
        course, (station,) = apply(self.course, [SOUND], edit, "Ben")
        assert [(one.kind, one.surface, one.by) for one in station.dismissed] == [("contradiction", "u-rail", "Ben")]
        assert kinds(course, station) == [("not-signed", 1, "note")]
        assert apply(course, [station], edit, "Ben") == (course, (station,)), "once is enough"
        changed = read_edit({"do": "change-surface", "station": 1, "surface": "rail", "set": {"part": "top"}})
        assert apply(self.course, [SOUND], changed, "Ben")[1][0].dismissed == ()


def test_stations_are_reported_in_the_order_of_their_numbers_what_blocks_first() -> None:
    first = without("box").model_copy(update={"signed_by": None})
    second = without("mat").model_copy(update={"id": "t2", "number": 2, "name": None, "stills": (), "marks": ()})
    assert kinds(COURSE, second, first) == [
        ("no-start", 1, "blocks"),
        ("not-signed", 1, "note"),
        ("no-finish", 2, "blocks"),
        ("no-still", 2, "warning"),
    ]


def test_a_shared_platform_without_a_word_on_overshoot_is_noted() -> None:
    following = SOUND.model_copy(
        update={
            "id": "t2",
            "number": 2,
            "name": "ring lane",
            "surfaces": (surface("mat", "start"), surface("ring"), surface("bell", "finish")),
        }
    )
    following = following.model_copy(update={"marks": (mark("mat"), mark("ring"), mark("bell"))})
    assert kinds(COURSE, SOUND, following) == [("no-overshoot", 1, "note")]
    told = SOUND.model_copy(update={"surfaces": (*SOUND.surfaces[:3], surface("mat", "finish", overshoot="not allowed"))})
    assert kinds(COURSE, told, following) == []


def test_how_a_run_counts_is_a_draft_until_a_person_agrees() -> None:
    course = Course(name="c", title="C", format=RunFormat(retries=1))
    assert any(f.kind == "not-accepted" and f.station is None and "how a run counts" in f.about for f in check(course, []))
    assert not [f for f in check(course.model_copy(update={"format_by_hand": True}), []) if f.kind == "not-accepted"]


@pytest.mark.parametrize(("kind", "end"), [("no-start", "box"), ("no-finish", "mat")])
def test_an_end_that_was_only_guessed_is_asked_for_until_a_person_accepts_it(kind: str, end: str) -> None:
    asked = Finding(kind=kind, station=1, severity="blocks", about=f"Station 1: nobody says it plainly; it may be the {end}. Check it.")
    course = COURSE.model_copy(update={"drafted": (asked,)})
    drafted = {s.id: s.model_copy(update={"state": "draft"}) for s in SOUND.surfaces if s.name == end}
    open_ = SOUND.model_copy(update={"state": "draft", "surfaces": tuple(drafted.get(s.id, s) for s in SOUND.surfaces)})
    (told,) = [f for f in check(course, [open_]) if f.kind == kind]
    assert (told.severity, told.surface, told.about) == ("note", f"u-{end}", asked.about.replace("Station 1", "Station 1 (log walk)"))
    assert kind not in {f.kind for f in check(course, [SOUND.model_copy(update={"state": "draft"})])}
    gone = open_.model_copy(update={"surfaces": tuple(s for s in open_.surfaces if s.name != end), "marks": ()})
    assert [f.severity for f in check(course, [gone]) if f.kind == kind] == ["blocks"]
