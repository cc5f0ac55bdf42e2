"""Edits: one change as a person makes it, and nothing else changes."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.course import Course, Said, Station, Surface, apply, read_edit
from annotator.errors import InvalidEdit

Documents = tuple[Course, tuple[Station, ...]]


def do(documents: Documents, who: str, *edits: dict[str, Any]) -> Documents:
    for edit in edits:
        documents = apply(*documents, read_edit(edit), who)
    return documents


def names(station: Station) -> list[tuple[str, str | None]]:
    return [(surface.name, surface.part) for surface in station.surfaces]


def states(station: Station) -> set[str]:
    surfaces, stills, marks = station.surfaces, station.stills, station.marks
    return {station.state} | {one.state for one in surfaces} | {one.state for one in stills} | {one.state for one in marks}


def test_accepting_a_station_accepts_all_of_it_and_nothing_else(drafted: Documents) -> None:
    course, stations = do(drafted, "Ana", {"do": "accept", "station": 1})
    assert states(stations[0]) == {"accepted"}
    assert (stations[0].accepted_by, stations[0].standing()) == ("Ana", "accepted")
    assert (course, stations[1:]) == (drafted[0], drafted[1][1:])


def test_accepting_again_or_by_another_changes_nothing(drafted: Documents) -> None:
    accepted = do(drafted, "Ana", {"do": "accept", "station": 1})
    assert do(accepted, "Ben", {"do": "accept", "station": 1}) == accepted


def test_accepting_the_course_accepts_blanket_rules_and_format(drafted: Documents) -> None:
    course, stations = do(drafted, "Ana", {"do": "accept-course"})
    assert {rule.state for rule in course.blanket} == {"accepted"}
    assert course.format_by_hand
    assert stations == drafted[1]


@pytest.mark.parametrize("item", ["u2", "s01-1", "m1"])
def test_one_item_can_be_accepted_alone(drafted: Documents, item: str) -> None:
    _, stations = do(drafted, "Ana", {"do": "accept-item", "station": 1, "id": item})
    items = {one.id: one.state for one in stations[0].surfaces} | {one.id: one.state for one in stations[0].stills}
    items |= {one.id: one.state for one in stations[0].marks}
    assert [name for name, state in items.items() if state == "accepted"] == [item]


def test_one_blanket_rule_can_be_accepted_alone(drafted: Documents) -> None:
    course, _ = do(drafted, "Ana", {"do": "accept-item", "id": "b3"})
    assert [rule.id for rule in course.blanket if rule.state == "accepted"] == ["b3"]


HEAD = [
    pytest.param({"do": "rename-station", "name": "log  run"}, "name", "log run", id="name"),
    pytest.param({"do": "rename-station", "name": None}, "name", None, id="no-name"),
    pytest.param({"do": "set-limbs", "limbs": ["feet", "hands"]}, "contact", ("hands", "feet"), id="limbs"),
    pytest.param({"do": "set-limbs", "limbs": None}, "contact", None, id="no-limbs"),
    pytest.param({"do": "set-demonstration", "demonstration": "fail"}, "demonstration", "fail", id="demonstration"),
    pytest.param({"do": "set-span", "start": 9.5, "end": 21}, "start", 9.5, id="span"),
]


@pytest.mark.parametrize(("edit", "field", "value"), HEAD)
def test_the_head_of_a_station_takes_what_a_person_sets(drafted: Documents, edit: dict[str, Any], field: str, value: object) -> None:
    course, stations = do(drafted, "Ana", {**edit, "station": 1})
    assert getattr(stations[0], field) == value
    assert stations[0].by_hand in (("span",), (field,))
    assert (course, stations[1:]) == (drafted[0], drafted[1][1:])


SIGNED_EDITS = [
    *(pytest.param(case.values[0], id=str(case.id)) for case in HEAD),
    pytest.param({"do": "add-surface", "surface": {"name": "rope"}}, id="add-surface"),
    pytest.param({"do": "change-surface", "surface": "stump", "set": {"ruling": "out"}}, id="change-surface"),
    pytest.param({"do": "remove-surface", "surface": "stump"}, id="remove-surface"),
    pytest.param({"do": "remove-mark", "id": "m1"}, id="remove-mark"),
    pytest.param({"do": "remove-still", "id": "s01-1"}, id="remove-still"),
    pytest.param(
        {"do": "put-mark", "mark": {"id": "m3", "still": "s01-1", "surface": "u1", "line": [[1, 1], [5, 5]], "width": 2}},
        id="put-mark",
    ),
]


@pytest.mark.parametrize("edit", SIGNED_EDITS)
def test_an_edit_takes_the_signature_away_and_is_accepted_by_its_editor(drafted: Documents, edit: dict[str, Any]) -> None:
    signed = do(do(drafted, "Ana", {"do": "accept", "station": 1}), "Kim", {"do": "sign", "station": 1})
    assert signed[1][0].standing() == "signed"
    _, stations = do(signed, "Ben", {**edit, "station": 1})
    assert (stations[0].signed_by, stations[0].accepted_by) == (None, "Ben")
    assert states(stations[0]) == {"accepted"}
    with pytest.raises(InvalidEdit, match=r"Ben accepted station 1.*second person"):
        do((signed[0], stations), "Ben", {"do": "sign", "station": 1})


def test_an_edit_that_says_what_holds_already_keeps_the_signature(drafted: Documents) -> None:
    signed = do(do(drafted, "Ana", {"do": "accept", "station": 1}), "Kim", {"do": "sign", "station": 1})
    same = [
        {"do": "rename-station", "station": 1, "name": "stump hop"},
        {"do": "change-surface", "station": 1, "surface": "stump", "set": {"ruling": "in"}},
    ]
    assert do(signed, "Ben", *same) == signed


def test_a_signature_needs_a_second_person_and_nothing_left_to_accept(drafted: Documents) -> None:
    with pytest.raises(InvalidEdit, match="still has drafts"):
        do(drafted, "Kim", {"do": "sign", "station": 1})
    accepted = do(drafted, "Ana", *({"do": "accept", "station": number} for number in (1, 2, 3)))
    with pytest.raises(InvalidEdit, match="a second person signs"):
        do(accepted, " ana ", {"do": "sign"})
    _, stations = do(accepted, "Kim", {"do": "sign"})
    assert [station.signed_by for station in stations] == ["Kim"] * 3


def test_a_changed_blanket_rule_takes_all_signatures_away_and_an_accepted_one_does_not(drafted: Documents) -> None:
    accepted = do(drafted, "Ana", *({"do": "accept", "station": number} for number in (1, 2, 3)))
    signed = do(accepted, "Kim", {"do": "sign"})
    assert {station.signed_by for station in do(signed, "Ana", {"do": "accept-course"})[1]} == {"Kim"}
    changed = do(signed, "Ana", {"do": "change-blanket", "blanket": "post pads", "part": "top", "set": {"ruling": "in"}})
    assert {station.signed_by for station in changed[1]} == {None}


def test_a_surface_is_changed_only_in_what_is_set(drafted: Documents) -> None:
    edit = {"do": "change-surface", "station": 1, "surface": "Red Mat", "set": {"overshoot": None, "contact": ["feet"]}}
    _, stations = do(drafted, "Ana", edit)
    before, after = drafted[1][0].surfaces[4], stations[0].surfaces[4]
    assert after == before.model_copy(update={"overshoot": None, "contact": ("feet",), "state": "accepted", "confidence": None})


def test_a_surface_that_shares_its_name_is_told_by_its_part_or_id(drafted: Documents) -> None:
    for edit in ({"surface": "post", "part": "top"}, {"surface": "u3"}):
        _, stations = do(drafted, "Ana", {"do": "change-surface", "station": 1, **edit, "set": {"ruling": "in"}})
        assert stations[0].surfaces[2].ruling == "in"
    _, stations = do(drafted, "Ana", {"do": "change-surface", "station": 1, "surface": "post", "set": {"ruling": "out"}})
    assert stations[0].surfaces[3].ruling == "out", "without a part it is the thing as a whole"


def test_a_surface_goes_with_its_marks_and_a_still_with_its_marks(drafted: Documents) -> None:
    _, stations = do(drafted, "Ana", {"do": "remove-surface", "station": 1, "surface": "stump"})
    assert [mark.id for mark in stations[0].marks] == ["m2"]
    _, stations = do(drafted, "Ana", {"do": "remove-still", "station": 1, "id": "s01-1"})
    assert (stations[0].marks, stations[0].stills) == ((), ())
    course, stations = do(drafted, "Ana", {"do": "remove-blanket", "blanket": "b2"})
    assert [mark.id for mark in stations[0].marks] == ["m1"]
    assert [rule.id for rule in course.blanket] == ["b1", "b3"]


def test_a_rule_keeps_the_id_that_its_page_gave_it_and_is_changed_by_it_at_once(drafted: Documents) -> None:
    added = {"do": "add-blanket", "id": "b-7f", "rule": {"surface": "floor", "ruling": "out"}}
    course, _ = do(drafted, "Ana", added, {"do": "change-blanket", "blanket": "b-7f", "set": {"part": "edge"}})
    assert [(rule.id, rule.surface, rule.part) for rule in course.blanket][-1] == ("b-7f", "floor", "edge")
    with pytest.raises(InvalidEdit, match="taken"):
        do((course, drafted[1]), "Ana", {**added, "rule": {"surface": "pads", "ruling": "out"}})


def test_divisions_of_the_course_follow_its_rules(drafted: Documents) -> None:
    assert drafted[0].divisions == ("under-tens",)
    course, stations = do(
        drafted, "Ana", {"do": "change-surface", "station": 2, "surface": "rings", "set": {"divisions": {"adults": "out"}}}
    )
    assert course.divisions == ("under-tens", "adults")
    course, _ = do((course, stations), "Ana", {"do": "remove-surface", "station": 1, "surface": "red mat"})
    assert course.divisions == ("adults",)


def test_a_finding_is_put_aside_with_who_and_why(drafted: Documents) -> None:
    edit = {"do": "dismiss", "station": 1, "kind": "contradiction", "surface": "stump", "because": "corrected at 0:14"}
    _, stations = do(drafted, "Ana", edit, edit)
    assert [(one.kind, one.surface, one.by, one.because) for one in stations[0].dismissed] == [
        ("contradiction", "u2", "Ana", "corrected at 0:14")
    ]
    course, _ = do(drafted, "Ana", {"do": "dismiss", "station": None, "kind": "other-language", "because": "a greeting"})
    assert course.dismissed[0].by == "Ana"


def test_names_title_and_format_are_set(drafted: Documents) -> None:
    course, stations = do(
        drafted,
        "Ana",
        {"do": "accept-name", "heard": "Ring Roe", "name": "ring row"},
        {"do": "rename-course", "title": "Summer  Cup"},
        {"do": "set-format", "ranking": "fastest"},
    )
    assert (course.heard[0].state, course.title, stations) == ("accepted", "Summer Cup", drafted[1])
    assert course.format is not None
    assert (course.format.retries, course.format.ranking, course.format_by_hand) == (1, "fastest", True)
    assert do(drafted, "Ana", {"do": "decline-name", "heard": "ring roe"})[0].heard[0].state == "declined"


def test_a_split_loses_nothing_and_joining_again_gives_the_same_rules(drafted: Documents) -> None:
    course, stations = do(drafted, "Ana", {"do": "split-station", "station": 1, "at": 14.5, "name": "post row"})
    assert [(one.number, one.id, one.name, one.start, one.end) for one in stations] == [
        (1, "t1", "stump hop", 10, 14.5),
        (2, "t4", "post row", 14.5, 20),
        (3, "t2", "ring row", 20, 30),
        (4, "t3", "net", 30, 40),
    ]
    assert course.order == ("t1", "t4", "t2", "t3")
    assert names(stations[0]) + names(stations[1]) == names(drafted[1][0])
    assert (stations[0].demonstration, stations[1].demonstration) == (None, "clear")
    assert course.drafted[0].station == 3, "the finding moved along with its station"
    course, stations = do((course, stations), "Ana", {"do": "merge-stations", "station": 1})
    assert names(stations[0]) == names(drafted[1][0])
    assert (stations[0].start, stations[0].end, stations[0].demonstration) == (10, 20, "clear")
    assert (stations[0].stills, stations[0].marks) == (drafted[1][0].stills, drafted[1][0].marks)
    assert course.drafted == drafted[0].drafted


def test_a_mark_stays_with_its_surface_when_its_still_falls_to_the_other_half(drafted: Documents) -> None:
    _, stations = do(drafted, "Ana", {"do": "split-station", "station": 1, "at": 12.5})
    assert [(mark.id, mark.surface) for mark in stations[1].marks] == [("m1", "u2"), ("m2", "b2")]
    assert stations[0].stills == ()
    _, stations = do(drafted, "Ana", {"do": "split-station", "station": 1, "at": 13})
    assert [still.id for still in stations[1].stills] == ["s01-1"]


def test_a_draft_that_comes_after_the_signature_can_be_accepted_and_takes_the_signature_away(drafted: Documents) -> None:
    documents = do(drafted, "Ana", {"do": "accept", "station": 1})
    course, (first, *others) = do(documents, "Ben", {"do": "sign", "station": 1})
    late = first.model_copy(update={"surfaces": (*first.surfaces, Surface(id="u99", name="late ledge"))})
    assert (first.standing(), late.standing()) == ("signed", "marked")
    _, stations = do((course, (late, *others)), "Ana", {"do": "accept", "station": 1})
    assert (stations[0].standing(), stations[0].signed_by) == ("accepted", None)
    assert all(surface.state == "accepted" for surface in stations[0].surfaces)


def test_joined_stations_keep_both_stills_of_one_name_apart(drafted: Documents) -> None:
    first = drafted[1][0]
    still = first.stills[0].model_copy(update={"time_s": 25.0})
    second = drafted[1][1].model_copy(update={"stills": (still,), "marks": (first.marks[0].model_copy(update={"surface": "u6"}),)})
    _, stations = do((drafted[0], (first, second, drafted[1][2])), "Ana", {"do": "merge-stations", "station": 1})
    assert [one.id for one in stations[0].stills] == ["s01-1", "s01-1-2"]
    assert [(mark.id, mark.still) for mark in stations[0].marks] == [("m1", "s01-1"), ("m2", "s01-1"), ("m1-2", "s01-1-2")]


def test_stations_are_moved_added_and_taken_out(drafted: Documents) -> None:
    course, stations = do(drafted, "Ana", {"do": "move-station", "station": 3, "to": 1})
    assert [(one.number, one.name) for one in stations] == [(1, "net"), (2, "stump hop"), (3, "ring row")]
    assert course.drafted[0].station == 3
    course, stations = do((course, stations), "Ana", {"do": "add-station", "number": 2, "start": 5, "end": 6, "name": "wall"})
    assert [one.name for one in stations] == ["net", "wall", "stump hop", "ring row"]
    course, stations = do((course, stations), "Ana", {"do": "remove-station", "station": 4})
    assert [one.number for one in stations] == [1, 2, 3]
    assert course.drafted == (), "what was found at a station goes with it"
    course, stations = do((course, stations), "Ana", {"do": "add-station", "start": 50, "end": 60})
    assert stations[-1].id == "t5", "no id is given twice"


@pytest.mark.parametrize(
    ("edit", "reason"),
    [
        pytest.param({"do": "accept", "station": 9}, "no station 9. The stations are: 1 stump hop, 2 ring row, 3 net", id="no-station"),
        pytest.param(
            {"do": "change-surface", "station": 2, "surface": "bar", "set": {"ruling": "in"}},
            r"no surface 'bar' at station 2. There is: rings \[u6\], red mat \[u7\]",
            id="no-surface",
        ),
        pytest.param({"do": "remove-surface", "station": 1, "surface": "post", "part": "side"}, "no surface", id="no-part"),
        pytest.param({"do": "change-surface", "station": 1, "surface": "stump", "set": {}}, "nothing to change", id="nothing"),
        pytest.param({"do": "change-surface", "station": 1, "surface": "stump", "set": {"name": None}}, "needs a name", id="no-name"),
        pytest.param({"do": "add-surface", "station": 1, "surface": {"name": "Stump"}}, r"already \[u2\]", id="twin"),
        pytest.param({"do": "add-surface", "station": 1, "surface": {"part": "top"}}, "needs a name", id="new-without-name"),
        pytest.param(
            {"do": "change-surface", "station": 1, "surface": "post", "part": "top", "set": {"part": None}}, "already", id="twin-by-change"
        ),
        pytest.param({"do": "set-span", "station": 1, "start": 5, "end": 4}, "before it starts", id="span"),
        pytest.param({"do": "accept-name", "heard": "wall"}, "'ring roe' for 'ring row'", id="no-such-name"),
        pytest.param({"do": "change-blanket", "blanket": "floor", "set": {"ruling": "out"}}, r"unnamed-out \[b1\]", id="no-rule"),
        pytest.param({"do": "add-blanket", "rule": {"surface": "floor"}}, "in or out", id="rule-without-ruling"),
        pytest.param({"do": "add-blanket", "rule": {"rule": "no-skip"}}, "needs a surface", id="rule-without-surface"),
        pytest.param({"do": "add-blanket", "rule": {"rule": "unnamed-out"}}, "already", id="rule-twice"),
        pytest.param(
            {"do": "add-blanket", "id": "u2", "rule": {"surface": "floor", "ruling": "out"}}, "does not begin with 'b-'", id="rule-id"
        ),
        pytest.param({"do": "split-station", "station": 1, "at": 20}, "not inside station 1", id="split-outside"),
        pytest.param({"do": "merge-stations", "station": 3}, "no station 4", id="merge-the-last"),
        pytest.param({"do": "move-station", "station": 1, "to": 4}, "3 stations", id="move-too-far"),
        pytest.param({"do": "add-station", "number": 6, "start": 1, "end": 2}, "number 4 at most", id="add-too-far"),
        pytest.param({"do": "accept-item", "station": 1, "id": "u99"}, "has no 'u99'", id="no-item"),
        pytest.param({"do": "dismiss", "station": 1, "kind": "not-accepted", "because": "x"}, "accept what is", id="dismiss-draft"),
        pytest.param(
            {"do": "put-mark", "station": 2, "mark": {"id": "m", "still": "s01-1", "surface": "u6", "line": [[1, 1], [2, 2]], "width": 1}},
            "no still 's01-1'. There is: none",
            id="mark-without-still",
        ),
        pytest.param(
            {"do": "put-mark", "station": 1, "mark": {"id": "m", "still": "s01-1", "surface": "u6", "line": [[1, 1], [2, 2]], "width": 1}},
            "no surface 'u6'",
            id="mark-of-another-station",
        ),
    ],
)
def test_an_edit_that_does_not_fit_says_what_there_is(drafted: Documents, edit: dict[str, Any], reason: str) -> None:
    with pytest.raises(InvalidEdit, match=reason) as caught:
        do(drafted, "Ana", edit)
    assert caught.value.edit == edit["do"]


def test_two_things_of_one_name_and_part_are_asked_for_by_id(drafted: Documents) -> None:
    _, stations = drafted
    twin = stations[1].surfaces[0].model_copy(update={"id": "u20", "role": "finish"})
    both = stations[1].model_copy(update={"surfaces": (*stations[1].surfaces, twin)})
    with pytest.raises(InvalidEdit, match=r"more than one fits surface 'rings' at station 2: rings \[u6\], rings \[u20\]"):
        do((drafted[0], (stations[0], both)), "Ana", {"do": "remove-surface", "station": 2, "surface": "rings"})


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        pytest.param({"do": "fly"}, "'fly'", id="unknown"),
        pytest.param({}, "do", id="no-do"),
        pytest.param({"do": "accept"}, "station: Field required", id="missing"),
        pytest.param({"do": "set-limbs", "station": 1, "limbs": []}, "at least one limb", id="no-limbs"),
        pytest.param({"do": "set-limbs", "station": 1, "limbs": ["nose"]}, "'hands' or 'feet'", id="limb"),
        pytest.param({"do": "rename-station", "station": 1, "name": " "}, "name", id="blank"),
        pytest.param({"do": "accept", "station": 1, "all": True}, "all: Extra", id="extra"),
        pytest.param({"do": "set-span", "station": 1, "start": -1, "end": float("nan")}, "start.*end", id="numbers"),
    ],
)
def test_an_edit_that_cannot_be_read_says_which_field(data: dict[str, Any], reason: str) -> None:
    with pytest.raises(InvalidEdit, match=reason):
        read_edit(data)


def test_nobody_cannot_decide(drafted: Documents) -> None:
    with pytest.raises(InvalidEdit, match="nobody"):
        do(drafted, " ", {"do": "accept", "station": 1})


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=80, deadline=None)
@given(data=st.data())
def test_after_any_edits_the_documents_hold_together(drafted: Documents, data: st.DataObject) -> None:
    """Order, numbers, ids, marks and divisions stay in step, and what was given is never written into."""
    documents = drafted
    for _ in range(data.draw(st.integers(1, 8))):
        edit = data.draw(edits())
        kept = documents[0].model_dump_json(), [station.model_dump_json() for station in documents[1]]
        try:
            after = apply(*documents, edit, "Ana")
        except InvalidEdit:
            after = documents
        assert kept == (documents[0].model_dump_json(), [station.model_dump_json() for station in documents[1]])
        documents = after
        course, stations = documents
        assert course.order == tuple(station.id for station in stations)
        assert [station.number for station in stations] == list(range(1, len(stations) + 1))
        assert len(set(course.order)) == len(course.order)
        for station in stations:
            ids = [surface.id for surface in station.surfaces]
            assert len(set(ids)) == len(ids)
            assert {mark.surface for mark in station.marks} <= {*ids, *(rule.id for rule in course.blanket)}
            assert {mark.still for mark in station.marks} <= {still.id for still in station.stills}
            assert Station.model_validate_json(station.model_dump_json()) == station
        assert Course.model_validate_json(course.model_dump_json()) == course


def edits() -> st.SearchStrategy[Any]:
    """Edits that mostly fit the drafted course: numbers 1 to 4, its own surfaces, times within the walk."""
    number = st.integers(1, 4)
    surface = st.sampled_from(["u1", "u2", "u3", "u6", "stump", "rings", "net", "post", "rope"])
    fields = st.fixed_dictionaries(
        {},
        optional={
            "name": st.sampled_from(["stump", "rope", "net"]),
            "part": st.sampled_from([None, "top"]),
            "ruling": st.sampled_from(["in", "out"]),
            "role": st.sampled_from(["start", "route", "finish"]),
            "divisions": st.sampled_from([None, {"adults": "in"}]),
        },
    )
    time_s = st.floats(0, 45)
    head = {"station": number}
    kinds: list[dict[str, Any]] = [
        {"do": st.just("accept"), **head},
        {"do": st.just("sign"), **head},
        {"do": st.just("rename-station"), **head, "name": st.sampled_from([None, "wall"])},
        {"do": st.just("set-span"), **head, "start": time_s, "end": time_s},
        {"do": st.just("add-surface"), **head, "surface": fields},
        {"do": st.just("change-surface"), **head, "surface": surface, "set": fields},
        {"do": st.just("remove-surface"), **head, "surface": surface},
        {"do": st.just("remove-blanket"), "blanket": st.sampled_from(["b1", "b2", "b3"])},
        {"do": st.just("remove-still"), **head, "id": st.just("s01-1")},
        {"do": st.just("split-station"), **head, "at": time_s},
        {"do": st.just("merge-stations"), **head, "other": st.none() | number},
        {"do": st.just("retell-station"), **head, "other": number},
        {"do": st.just("move-station"), **head, "to": number},
        {"do": st.just("remove-station"), **head},
        {"do": st.just("add-station"), "start": st.just(1.0), "end": st.just(3.0)},
    ]
    return st.one_of([st.fixed_dictionaries(kind) for kind in kinds]).map(read_edit)


def test_said_words_of_a_surface_decide_its_half(drafted: Documents) -> None:
    station = drafted[1][0]
    unsaid = station.surfaces[4].model_copy(update={"said": ()})
    late = station.surfaces[0].model_copy(update={"said": (Said(start=19, end=19.5, text="oh, and the blue mat"),)})
    mixed = station.model_copy(update={"surfaces": (late, unsaid)})
    _, stations = do((drafted[0], (mixed, *drafted[1][1:])), "Ana", {"do": "split-station", "station": 1, "at": 15})
    assert (names(stations[0]), names(stations[1])) == ([("red mat", None)], [("blue mat", None)])
