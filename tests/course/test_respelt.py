"""A line is the same one under another spelling where its words are the same and nothing but the name differs, and that in spelling."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.course import BlanketRule, Course, Mark, Said, Sheet, SheetStation, SheetSurface, Station, apply, merge_draft, read_edit
from annotator.course.find import key, spelt
from annotator.course.respelt import respelt, spelling
from annotator.rules import check

Documents = tuple[Course, tuple[Station, ...]]


def thing(name: str, start: float = 12, end: float = 14, **more: object) -> SheetSurface:
    said = (Said(start=start, end=end, text=f"Feet only on the {name}."),)
    return SheetSurface.model_validate({"name": name, "contact": ("feet",), "said": said, **more})


def walk(*surfaces: SheetSurface, blanket: tuple[BlanketRule, ...] = ()) -> Sheet:
    return Sheet(stations=(SheetStation(number=1, name="hop", start=0, end=30, surfaces=surfaces),), blanket=blanket)


def signed(sheet: Sheet) -> Documents:
    """A course that was drafted so, accepted by Ana and signed by Ben."""
    course, stations = merge_draft(Course(name="c", title="C"), (), sheet)
    edits: list[dict[str, Any]] = [{"do": "accept-course"}, *({"do": "accept", "station": one.number} for one in stations)]
    for who, edit in [*(("Ana", edit) for edit in edits), ("Ben", {"do": "sign"})]:
        course, stations = apply(course, stations, read_edit(edit), who)
    return course, stations


def told(documents: Documents) -> list[tuple[str, str, str]]:
    return [(one.id, one.name, one.state) for one in documents[1][0].surfaces]


@pytest.mark.parametrize(
    ("heard", "mended"),
    [
        pytest.param("stomps", "stumps", id="a-vowel"),
        pytest.param("black strats", "black straps", id="one-word-of-two"),
        pytest.param("swing runs", "swing rungs", id="a-silent-letter"),
        pytest.param("lock roll", "log roll", id="another-word-that-sounds-so"),
        pytest.param("wooden bean", "wooden beam", id="the-last-letter"),
        pytest.param("read frame", "red frame", id="a-colour-that-was-no-colour"),
        pytest.param("cat walk", "catwalk", id="torn-in-two"),
        pytest.param("cross-bar", "cross bar", id="a-hyphen"),
    ],
)
def test_a_mended_name_at_the_same_words_is_the_accepted_line(heard: str, mended: str) -> None:
    before = signed(walk(thing("blue mat", role="start"), thing(heard), thing("red mat", role="finish")))
    course, stations = merge_draft(*before, walk(thing("blue mat", role="start"), thing(mended), thing("red mat", role="finish")))
    assert stations == before[1]
    assert stations[0].standing() == "signed"
    assert course.model_copy(update={"drafted": ()}) == before[0]
    (note,) = course.drafted
    assert (note.kind, note.severity, note.station, note.surface) == ("name-heard-wrong", "note", 1, "u2")
    assert f"“{heard}” was accepted" in note.about
    assert f"“{mended}”" in note.about
    assert note.instead == mended, "what the button that renames it takes"


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"ruling": "out"}, id="ruling"),
        pytest.param({"role": "finish"}, id="role"),
        pytest.param({"part": "top"}, id="part"),
        pytest.param({"contact": ("hands",)}, id="limbs"),
        pytest.param({"contact": None}, id="limbs-not-said"),
        pytest.param({"divisions": {"under-tens": "out"}}, id="divisions"),
        pytest.param({"overshoot": "not allowed"}, id="overshoot"),
        pytest.param({"optional": True}, id="optional"),
        pytest.param({"name": "logs"}, id="a-name-of-something-else"),
        pytest.param({"name": "stump"}, id="one-and-not-several"),
        pytest.param({"said": (Said(start=20, end=22, text="Feet only on the stumps."),)}, id="other-words"),
        pytest.param({"said": ()}, id="no-words"),
    ],
)
def test_what_differs_in_anything_but_the_spelling_stands_beside_the_accepted_line_as_news(change: dict[str, object]) -> None:
    before = signed(walk(thing("stomps")))
    new = SheetSurface.model_validate(thing("stumps").model_dump() | change)
    after = merge_draft(*before, walk(new))
    assert told(after) == [("u1", "stomps", "accepted"), ("u2", new.name, "draft")]
    assert spelt(after[1][0].surfaces[1]) == spelt(new)
    assert after[1][0].surfaces[0] == before[1][0].surfaces[0]
    assert after[1][0].standing() != "signed"


def test_the_check_tells_of_the_other_spelling_until_a_person_renames_the_line() -> None:
    course, stations = merge_draft(*signed(walk(thing("stomps"))), walk(thing("stumps")))

    def told_of() -> list[str]:
        return [one.about for one in check(course, stations) if one.kind == "name-heard-wrong"]

    about = "“stomps” was accepted; where it is told of, the words read “stumps” now. Rename it if that is its name."
    assert told_of() == [f"Station 1 (hop): {about}"]
    assert not any(one.severity == "blocks" for one in check(course, stations) if one.kind in ("name-heard-wrong", "not-accepted"))
    rename = {"do": "change-surface", "station": 1, "surface": "u1", "set": {"name": "stumps"}}
    course, stations = apply(course, stations, read_edit(rename), "Ana")
    assert told_of() == []
    course, stations = merge_draft(course, stations, walk(thing("stumps")))
    assert (told((course, stations)), course.drafted) == ([("u1", "stumps", "accepted")], ())


@pytest.mark.parametrize(
    ("one", "other"),
    [("red bar", "rear bar"), ("white bar", "wide bar"), ("left post", "right post"), ("first bar", "last bar"), ("bar 2", "bar 3"),
     ("rungs", "yellow rungs"), ("red frame", "yellow frame"), ("post", "posts"), ("cat walks", "catwalk"),
     ("red stepping platforms", "stepping platforms"), ("", "post"), ("...", "post")],
)  # fmt: skip
def test_names_that_tell_two_things_apart_are_no_spellings_of_one(one: str, other: str) -> None:
    assert spelling(one, other) == spelling(other, one) == 0


def test_the_check_tells_of_it_once_at_a_station_of_which_the_rest_is_a_draft() -> None:
    first = merge_draft(Course(name="c", title="C"), (), walk(thing("stomps"), thing("net")))
    documents = apply(*first, read_edit({"do": "accept-item", "station": 1, "id": "u1"}), "Ana")
    after = merge_draft(*documents, walk(thing("stumps"), thing("net")))
    assert told(after) == [("u1", "stomps", "accepted"), ("u2", "net", "draft")]
    assert [one.surface for one in check(*after) if one.kind == "name-heard-wrong"] == ["u1"]


def test_a_line_that_is_still_told_of_is_not_another_one_that_sounds_so() -> None:
    before = signed(walk(thing("ring"), thing("net")))
    after = merge_draft(*before, walk(thing("ring"), thing("rung"), thing("net")))
    assert told(after) == [("u1", "ring", "accepted"), ("u2", "net", "accepted"), ("u3", "rung", "draft")]
    out = signed(walk(thing("ring"), thing("rung", ruling="out")))
    after = merge_draft(*out, walk(thing("rung")))
    assert ("u3", "rung", "draft") in told(after), "a rung was out, so that it is in is news, whatever else sounds so"


def test_of_two_lines_from_the_same_words_each_is_one_thing_the_likest_first() -> None:
    before = signed(walk(thing("stomps"), thing("stamps")))
    assert merge_draft(*before, walk(thing("stumps")))[1] == before[1]
    both = merge_draft(*before, walk(thing("stumps"), thing("stampes"), thing("stemps")))
    assert told(both) == [*told(before), ("u3", "stemps", "draft")], "three are not two"
    assert len(respelt([thing("stumps"), thing("stemps")], before[1][0].surfaces, set())) == 2
    strats, strips = signed(walk(thing("black strats"), thing("black strips")))[1][0].surfaces
    assert list(respelt([thing("black straps")], [strats, strips], set()).values()) == [strips]
    mine, yours = thing("stomps", 10, 14), thing("stomps", 13, 17)
    lines = signed(walk(mine, yours.model_copy(update={"name": "stamps"})))[1][0].surfaces
    new = [thing("stumps", 13, 17), thing("stemps", 10, 14)]
    assert {says: line.name for says, line in respelt(new, lines, set()).items()} == {spelt(new[0]): "stamps", spelt(new[1]): "stomps"}


def test_a_draft_that_a_person_drew_takes_the_mended_name_and_keeps_its_mark() -> None:
    course, (station,) = merge_draft(Course(name="c", title="C"), (), walk(thing("stomps"), thing("net")))
    ring = (((1.0, 1.0), (9.0, 1.0), (9.0, 9.0)),)
    drawn = Mark(id="m1", still="s01-1", surface="u1", rings=ring, origin="drawn")
    after = merge_draft(course, (station.model_copy(update={"marks": (drawn,)}),), walk(thing("stumps"), thing("net")))
    assert told(after) == [("u1", "stumps", "draft"), ("u2", "net", "draft")]
    assert after[1][0].marks == (drawn,)


def test_a_rule_for_the_whole_course_is_the_same_one_too() -> None:
    said = (Said(start=1, end=3, text="All post pads are in."),)
    before = signed(walk(thing("net"), blanket=(BlanketRule(rule="surface", surface="post pats", ruling="in", said=said),)))
    same = BlanketRule(rule="surface", surface="post pads", ruling="in", said=said)
    assert merge_draft(*before, walk(thing("net"), blanket=(same,))) == before
    course, _ = merge_draft(*before, walk(thing("net"), blanket=(same.model_copy(update={"ruling": "out"}),)))
    assert [(rule.surface, rule.ruling, rule.state) for rule in course.blanket] == [
        ("post pats", "in", "accepted"),
        ("post pads", "out", "draft"),
    ]


things = st.builds(
    thing,
    st.sampled_from(["stomps", "stumps", "stamps", "red mat", "read mat", "net"]),
    st.sampled_from([10.0, 11.0, 16.0]),
    st.sampled_from([14.0, 18.0]),
    role=st.sampled_from(["route", "finish"]),
    ruling=st.sampled_from(["in", "out"]),
)
walks = st.lists(things, max_size=5).map(lambda surfaces: walk(*surfaces))


def says(surface: Any) -> str:
    return spelt(surface.model_copy(update={"name": ""}))


@settings(max_examples=60, deadline=None)
@given(first=walks, second=walks)
def test_drafting_again_loses_and_changes_nothing_accepted_and_swallows_no_rule(first: Sheet, second: Sheet) -> None:
    before = signed(first)
    after = merge_draft(*before, second)
    accepted = before[1][0].surfaces
    lines = after[1][0].surfaces
    assert [one for one in lines if one.state == "accepted"] == list(accepted)
    assert after[1][0].signed_by == "Ben"
    assert (after[1][0].standing() == "signed") == (lines == accepted)
    for proposal in second.stations[0].surfaces:
        there = [one for one in lines if says(one) == says(proposal)]
        assert any(key(one.name) == key(proposal.name) or spelling(one.name, proposal.name) for one in there)
    assert merge_draft(*after, second) == after, "the same draft twice is no news"


@settings(max_examples=100, deadline=None)
@given(one=st.text(max_size=20), other=st.text(max_size=20))
def test_spelling_is_a_share_for_any_two_names_and_the_same_both_ways(one: str, other: str) -> None:
    assert 0 <= spelling(one, other) == spelling(other, one) <= 1
