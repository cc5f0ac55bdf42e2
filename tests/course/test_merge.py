"""Drafting again: proposals stand beside what people settled, and never over it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.course import Course, Mark, Said, Sheet, SheetStation, SheetSurface, Station, apply, merge_draft, read_edit
from annotator.errors import InvalidEdit

Documents = tuple[Course, tuple[Station, ...]]


def do(documents: Documents, *edits: dict[str, Any]) -> Documents:
    for edit in edits:
        documents = apply(*documents, read_edit(edit), "Ana")
    return documents


def with_surface(sheet: Sheet, number: int, place: int, **changes: object) -> Sheet:
    """The sheet with one surface proposed otherwise."""
    station = sheet.stations[number - 1]
    surfaces = list(station.surfaces)
    surfaces[place] = SheetSurface.model_validate(surfaces[place].model_dump() | changes)
    return with_station(sheet, number, surfaces=tuple(surfaces))


def with_station(sheet: Sheet, number: int, **changes: object) -> Sheet:
    stations = list(sheet.stations)
    stations[number - 1] = stations[number - 1].model_copy(update=changes)
    return sheet.model_copy(update={"stations": tuple(stations)})


def lines(station: Station) -> list[tuple[str, str, str | None, str, str]]:
    return [(one.id, one.name, one.part, one.ruling, one.state) for one in station.surfaces]


def test_a_first_draft_gives_ids_and_draft_states(drafted: Documents, sheet: Sheet) -> None:
    course, stations = drafted
    assert course.order == ("t1", "t2", "t3")
    assert [surface.id for station in stations for surface in station.surfaces] == [f"u{number}" for number in range(1, 10)]
    assert [rule.id for rule in course.blanket] == ["b1", "b2", "b3"]
    assert {one.state for station in stations for one in station.surfaces} | {one.state for one in stations} == {"draft"}
    assert (course.format, course.drafted, course.divisions) == (sheet.format, sheet.findings, ("under-tens",))
    drafted_names = [[surface.name for surface in station.surfaces] for station in stations]
    assert drafted_names == [[surface.name for surface in station.surfaces] for station in sheet.stations]
    assert stations[0].surfaces[4].said == sheet.stations[0].surfaces[4].said


def test_what_is_told_after_all_that_was_there_comes_last_however_people_ordered_it(drafted: Documents, sheet: Sheet) -> None:
    moved = do(drafted, {"do": "move-station", "station": 3, "to": 1}, {"do": "accept", "station": 1}, {"do": "accept", "station": 2})
    more = SheetStation(number=4, name="tall wall", start=41, end=50)
    course, stations = merge_draft(*moved, sheet.model_copy(update={"stations": (*sheet.stations, more)}))
    assert course.order == ("t3", "t1", "t2", "t4")
    assert [station.number for station in stations] == [1, 2, 3, 4]
    assert stations[:2] == moved[1][:2]


def test_drafts_that_nobody_touched_are_replaced_and_keep_their_ids(drafted: Documents, sheet: Sheet) -> None:
    new = with_surface(sheet, 2, 0, ruling="out")
    new = with_station(new, 3, name="cargo net", surfaces=sheet.stations[2].surfaces[:1])
    new = new.model_copy(update={"blanket": sheet.blanket[1:], "findings": ()})
    course, stations = merge_draft(*drafted, new)
    assert lines(stations[1])[0] == ("u6", "rings", None, "out", "draft")
    assert (stations[2].name, lines(stations[2])) == ("cargo net", [("u8", "net", None, "in", "draft")])
    assert [rule.id for rule in course.blanket] == ["b2", "b3"]
    assert course.drafted == ()
    assert stations[0].stills == drafted[1][0].stills


def test_a_machines_mark_goes_with_a_surface_that_is_no_longer_proposed(drafted: Documents, sheet: Sheet) -> None:
    surfaces = sheet.stations[0].surfaces
    _, stations = merge_draft(*drafted, with_station(sheet, 1, surfaces=(surfaces[0], *surfaces[2:])))
    assert [mark.id for mark in stations[0].marks] == ["m2"]


def test_a_surface_that_a_person_drew_stays(drafted: Documents, sheet: Sheet) -> None:
    course, stations = drafted
    ring = (((1.0, 1.0), (9.0, 1.0), (9.0, 9.0)),)
    drawn = Mark(id="m3", still="s01-1", surface="u2", rings=ring, origin="drawn")
    first = stations[0].model_copy(update={"marks": (*stations[0].marks, drawn)})
    surfaces = sheet.stations[0].surfaces
    _, after = merge_draft(course, (first, *stations[1:]), with_station(sheet, 1, surfaces=surfaces[2:]))
    assert ("u2", "stump", None, "in", "draft") in lines(after[0])
    assert drawn in after[0].marks


def test_something_new_about_an_accepted_surface_stands_beside_it(drafted: Documents, sheet: Sheet) -> None:
    accepted = do(drafted, {"do": "accept", "station": 2})
    _, stations = merge_draft(*accepted, with_surface(sheet, 2, 0, ruling="out"))
    assert lines(stations[1]) == [
        ("u6", "rings", None, "in", "accepted"),
        ("u7", "red mat", None, "in", "accepted"),
        ("u10", "rings", None, "out", "draft"),
    ]
    assert stations[1].model_copy(update={"surfaces": accepted[1][1].surfaces}) == accepted[1][1]
    _, stations = merge_draft(*accepted, with_station(sheet, 2, name="swing row", contact=("hands",)))
    assert stations[1] == accepted[1][1], "name and limbs were accepted"


def test_another_telling_of_the_same_rule_is_nothing_new(drafted: Documents, sheet: Sheet) -> None:
    accepted = do(drafted, {"do": "accept", "station": 2})
    said = (Said(start=23, end=24, text="those rings"),)
    assert merge_draft(*accepted, with_surface(sheet, 2, 0, said=said, confidence=0.2, name="Rings")) == accepted


@pytest.mark.parametrize(
    "edits",
    [
        pytest.param([{"do": "rename-station", "station": 2, "name": "swing row"}], id="renamed"),
        pytest.param([{"do": "set-limbs", "station": 2, "limbs": ["hands"]}], id="limbs"),
        pytest.param([{"do": "set-demonstration", "station": 1, "demonstration": None}], id="demonstration"),
        pytest.param([{"do": "set-span", "station": 2, "start": 19, "end": 33}], id="span"),
        pytest.param([{"do": "change-surface", "station": 2, "surface": "rings", "set": {"ruling": "out"}}], id="ruling"),
        pytest.param([{"do": "change-surface", "station": 2, "surface": "rings", "set": {"name": "rungs"}}], id="surface-renamed"),
        pytest.param([{"do": "add-surface", "station": 2, "surface": {"name": "rope"}}], id="surface-added"),
        pytest.param([{"do": "remove-surface", "station": 2, "surface": "rings"}], id="surface-removed"),
        pytest.param([{"do": "change-blanket", "blanket": "b2", "set": {"surface": "all pads"}}], id="blanket-changed"),
        pytest.param([{"do": "remove-blanket", "blanket": "b3"}], id="blanket-removed"),
        pytest.param([{"do": "set-format", "retries": 0}], id="format"),
        pytest.param([{"do": "accept-course"}, *({"do": "accept", "station": n} for n in (1, 2, 3))], id="accepted"),
        pytest.param([{"do": "remove-station", "station": 2}], id="station-removed"),
        pytest.param([{"do": "split-station", "station": 1, "at": 14.5}], id="split"),
        pytest.param([{"do": "merge-stations", "station": 1}], id="joined"),
        pytest.param([{"do": "move-station", "station": 3, "to": 1}], id="moved"),
        pytest.param([{"do": "add-station", "start": 50, "end": 60}], id="station-added"),
    ],
)
def test_the_same_draft_after_an_edit_changes_nothing(drafted: Documents, sheet: Sheet, edits: list[dict[str, Any]]) -> None:
    edited = do(drafted, *edits)
    course, stations = merge_draft(*edited, sheet)
    assert stations == edited[1]
    assert course.model_copy(update={"drafted": ()}) == edited[0].model_copy(update={"drafted": ()})


def test_a_new_station_comes_between_its_neighbours_under_a_new_id(drafted: Documents, sheet: Sheet) -> None:
    accepted = do(drafted, *({"do": "accept", "station": number} for number in (1, 2, 3)))
    stations = [
        sheet.stations[0],
        SheetStation(number=2, name="wall", start=20, end=21),
        sheet.stations[1].model_copy(update={"number": 3, "start": 21}),
        sheet.stations[2].model_copy(update={"number": 4}),
    ]
    drafted_again = sheet.model_copy(update={"stations": tuple(stations), "findings": ()})
    trimmed = do(accepted, {"do": "set-span", "station": 2, "start": 21, "end": 30})
    course, after = merge_draft(*trimmed, drafted_again)
    assert [(one.number, one.id, one.name, one.state) for one in after] == [
        (1, "t1", "stump hop", "accepted"),
        (2, "t4", "wall", "draft"),
        (3, "t2", "ring row", "accepted"),
        (4, "t3", "net", "accepted"),
    ]
    assert course.order == ("t1", "t4", "t2", "t3")


def test_findings_stand_under_the_numbers_that_stations_have_now(drafted: Documents, sheet: Sheet) -> None:
    course, stations = merge_draft(*do(drafted, {"do": "move-station", "station": 1, "to": 3}), sheet)
    assert [(finding.station, stations[finding.station - 1].name) for finding in course.drafted if finding.station] == [(1, "ring row")]


surfaces = st.builds(
    SheetSurface,
    name=st.sampled_from(["stump", "post", "rings", "red mat", "bell", "Stump"]),
    part=st.sampled_from([None, "top"]),
    role=st.sampled_from(["start", "route", "finish"]),
    ruling=st.sampled_from(["in", "out"]),
    said=st.tuples(st.builds(Said, start=st.floats(0, 60), end=st.just(60.0), text=st.just("here"))) | st.just(()),
)


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """Sheets of up to 4 stations one after the other."""
    borders = sorted(draw(st.lists(st.integers(0, 60), min_size=1, max_size=5, unique=True)))
    stations = tuple(
        SheetStation(
            number=number,
            name=draw(st.sampled_from([None, "stump hop", "ring row", "wall"])),
            start=start,
            end=end,
            contact=draw(st.sampled_from([None, ("hands",), ("feet",)])),
            surfaces=tuple(draw(st.lists(surfaces, max_size=4))),
        )
        for number, (start, end) in enumerate(pairwise(borders), start=1)
    )
    return Sheet(stations=stations)


def settled_by_a_person(station: Station) -> dict[str, object]:
    """What a draft may not change at this station."""
    fixed: dict[str, object] = {one.id: one for one in station.surfaces if one.state == "accepted"}
    fixed |= {one.id: one for one in station.marks if one.state == "accepted" or one.origin == "drawn"}
    fixed |= {one.id: one for one in station.stills}
    fields = {"name", "contact", "demonstration", "start", "end"}
    if station.state == "draft":
        fields = {field for field in fields if field in station.by_hand or ("span" in station.by_hand and field in ("start", "end"))}
    fixed |= {field: getattr(station, field) for field in fields}
    fixed |= {field: getattr(station, field) for field in ("state", "accepted_by", "signed_by", "dismissed", "settled")}
    return fixed


def is_settled(station: Station) -> bool:
    return bool(station.state == "accepted" or station.by_hand or any(one.state == "accepted" for one in station.surfaces))


EDITS: list[dict[str, Any]] = [
    {"do": "accept", "station": 1},
    {"do": "accept", "station": 2},
    {"do": "accept-item", "station": 1, "id": "u1"},
    {"do": "rename-station", "station": 1, "name": "log run"},
    {"do": "set-limbs", "station": 2, "limbs": ["hands"]},
    {"do": "set-span", "station": 2, "start": 12, "end": 31},
    {"do": "add-surface", "station": 1, "surface": {"name": "rope"}},
    {"do": "change-surface", "station": 1, "surface": "stump", "set": {"ruling": "out"}},
    {"do": "change-surface", "station": 2, "surface": "rings", "set": {"name": "rungs"}},
    {"do": "remove-surface", "station": 1, "surface": "u1"},
    {"do": "split-station", "station": 1, "at": 15},
    {"do": "merge-stations", "station": 1},
    {"do": "merge-stations", "station": 1, "other": 3},
    {"do": "retell-station", "station": 1, "other": 2},
    {"do": "move-station", "station": 2, "to": 1},
    {"do": "remove-station", "station": 2},
    {"do": "add-station", "start": 5, "end": 15},
]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=100, deadline=None)
@given(first=sheets(), second=sheets(), edits=st.lists(st.sampled_from(EDITS), max_size=6))
def test_no_draft_ever_changes_what_a_person_settled(first: Sheet, second: Sheet, edits: list[dict[str, Any]]) -> None:
    course, stations = merge_draft(Course(name="c", title="C"), (), first)
    for edit in edits:
        try:
            course, stations = do((course, stations), edit)
        except InvalidEdit:
            continue
    new_course, new_stations = merge_draft(course, stations, second)
    after = {station.id: station for station in new_stations}
    for station in stations:
        if is_settled(station):
            kept = settled_by_a_person(after[station.id])
            for name, value in settled_by_a_person(station).items():
                assert kept[name] == value, name
    settled = [station.id for station in stations if is_settled(station)]
    assert [name for name in new_course.order if name in settled] == settled, "their order stays"
    ids = [surface.id for station in new_stations for surface in station.surfaces]
    assert len(set(ids)) == len(ids)
    assert new_course.order == tuple(after)
    assert [station.number for station in new_stations] == list(range(1, len(new_stations) + 1))


@settings(max_examples=100, deadline=None)
@given(first=sheets(), second=sheets(), edits=st.lists(st.sampled_from(EDITS), max_size=6))
def test_merging_the_same_sheet_again_changes_nothing(first: Sheet, second: Sheet, edits: list[dict[str, Any]]) -> None:
    documents = merge_draft(Course(name="c", title="C"), (), first)
    for edit in edits:
        try:
            documents = do(documents, edit)
        except InvalidEdit:
            continue
    once = merge_draft(*documents, second)
    assert merge_draft(*once, second) == once
