"""A station that goes on, or is filmed again, elsewhere in the walk becomes one with the station that it is."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import Course, Mark, Said, Sheet, SheetStation, SheetSurface, Station, Still, apply, merge_draft, read_edit
from annotator.errors import InvalidEdit

Documents = tuple[Course, tuple[Station, ...]]


def do(documents: Documents, *edits: dict[str, Any], who: str = "Ana") -> Documents:
    for edit in edits:
        documents = apply(*documents, read_edit(edit), who)
    return documents


def line(name: str, at: float, **more: object) -> SheetSurface:
    return SheetSurface.model_validate({"name": name, "said": (Said(start=at, end=at + 1, text=f"the {name}"),), **more})


@pytest.fixture
def again(sheet: Sheet) -> Sheet:
    """The draft with stump hop filmed once more behind the others: the post is out now, nothing is said of its top, and a rope is new."""
    surfaces = (
        line("blue mat", 51, role="start"),
        line("stump", 52),
        line("post", 53, ruling="out"),
        line("rope", 54),
        line("red mat", 55, role="finish", overshoot="allowed", divisions={"under-tens": "out"}),
    )
    more = SheetStation(number=4, name="stump hop", start=50, end=60, contact=("feet",), surfaces=surfaces)
    return sheet.model_copy(update={"stations": (*sheet.stations, more)})


@pytest.fixture
def twice(drafted: Documents, again: Sheet) -> Documents:
    """Three accepted stations, the first with two marks, and behind them the draft of the first told again, with a still of its own."""
    accepted = do(drafted, *({"do": "accept", "station": number} for number in (1, 2, 3)))
    course, stations = merge_draft(*accepted, again)
    still = Still(id="s04-1", time_s=53, clip=1, pts=9, width=64, height=48, file="1" * 64)
    ring = (((1.0, 1.0), (9.0, 1.0), (9.0, 9.0)),)
    mark = Mark(id="m1", still="s04-1", surface=stations[3].surfaces[3].id, rings=ring, origin="drawn", state="accepted")
    return course, (*stations[:3], stations[3].model_copy(update={"stills": (still,), "marks": (mark,)}))


JOIN = {"do": "merge-stations", "station": 1, "other": 4}
RETELL = {"do": "retell-station", "station": 1, "other": 4}


def lines(station: Station) -> list[tuple[str, str | None, str, str]]:
    return [(one.name, one.part, one.ruling, one.state) for one in station.surfaces]


def test_a_station_is_joined_with_one_far_behind_it_and_nothing_between_moves(twice: Documents) -> None:
    first, *between, last = twice[1]
    course, stations = do(twice, JOIN)
    assert stations[1:] == tuple(between)
    whole = stations[0]
    assert (whole.id, whole.number, whole.name, whole.start, whole.end) == ("t1", 1, "stump hop", first.start, first.end)
    assert [(name, ruling, state) for name, _, ruling, state in lines(whole)] == [
        ("blue mat", "in", "accepted"),
        ("stump", "in", "accepted"),
        ("post", "out", "accepted"),
        ("post", "in", "accepted"),
        ("red mat", "in", "accepted"),
        ("post", "out", "draft"),
        ("rope", "in", "draft"),
    ]
    assert [said.start for said in whole.surfaces[1].said] == [13, 52], "said twice, it is one line with both moments"
    assert [still.id for still in whole.stills] == ["s01-1", "s04-1"]
    assert [(mark.id, mark.still) for mark in whole.marks] == [("m1", "s01-1"), ("m2", "s01-1"), ("m1-2", "s04-1")]
    assert whole.marks[2].surface == last.surfaces[3].id
    assert (whole.state, whole.signed_by) == ("draft", None)
    assert course.order == ("t1", "t2", "t3")


def test_the_new_telling_takes_the_place_of_the_old_and_marks_of_the_same_things_stay(twice: Documents) -> None:
    course, stations = do(twice, {"do": "add-surface", "station": 1, "surface": {"name": "frame", "ruling": "out"}}, RETELL)
    whole = stations[0]
    assert (whole.id, whole.number, whole.start, whole.end, whole.state) == ("t1", 1, 50, 60, "draft")
    assert lines(whole) == [
        ("blue mat", None, "in", "accepted"),
        ("stump", None, "in", "accepted"),
        ("post", None, "out", "draft"),
        ("rope", None, "in", "draft"),
        ("red mat", None, "in", "accepted"),
        ("frame", None, "out", "accepted"),
    ], "what says the same stays accepted, what a person added stays, what was only said the first time goes"
    assert whole.surfaces[2].id == twice[1][0].surfaces[3].id
    assert [mark.surface for mark in whole.marks] == ["u2", "b2", whole.surfaces[3].id]
    assert [still.id for still in whole.stills] == ["s01-1", "s04-1"]
    assert stations[1:] == twice[1][1:3]
    assert course.order == ("t1", "t2", "t3")


def test_two_lines_about_one_thing_are_both_told_again_and_what_a_person_added_of_it_stays(twice: Documents) -> None:
    """The post is told as out, for hands as in, and somebody added that its use is up to the athlete."""
    course, stations = twice
    post = stations[0].surfaces[3]
    said_out = post.model_copy(update={"id": "u90", "ruling": "out"})
    added = post.model_copy(update={"id": "u91", "optional": True, "said": ()})
    gone = post.model_copy(update={"id": "u92", "contact": ("hands",)})
    marks = tuple(
        stations[0].marks[0].model_copy(update={"id": f"m{of}", "surface": of, "state": "accepted"}) for of in ("u90", "u91", "u92")
    )
    first = stations[0].model_copy(update={"surfaces": (gone, said_out, added), "marks": marks})
    whole = do((course, (first, *stations[1:])), RETELL)[1][0]
    assert [(one.id, one.ruling, one.state) for one in whole.surfaces if one.name == "post"] == [
        ("u90", "out", "accepted"),
        ("u91", "in", "accepted"),
    ]
    assert [mark.surface for mark in whole.marks[:3]] == ["u90", "u91", "u90"], "what was drawn for the post stays with it"


@pytest.mark.parametrize("edit", [JOIN, RETELL], ids=["joined", "retold"])
def test_reading_the_words_again_leaves_it_one_station(twice: Documents, again: Sheet, edit: dict[str, Any]) -> None:
    one = do(twice, edit)
    course, stations = merge_draft(*one, again)
    assert stations == one[1]
    assert course.order == one[0].order


@pytest.mark.parametrize("other", [4, 2], ids=["far behind", "beside"])
def test_what_only_the_other_one_gave_stays_when_the_words_are_read_again(other: int) -> None:
    def told(number: int, start: float, **more: object) -> SheetStation:
        said = (Said(start=start, end=start + 1, text=f"words of {number}"),)
        surfaces = (line(f"mat {number}", start + 2),)
        return SheetStation.model_validate({"number": number, "start": start, "end": start + 9, "said": said, "surfaces": surfaces, **more})

    given = {"name": "rope swing", "contact": ("hands",), "demonstration": "clear"}
    sheet = Sheet(stations=tuple(told(number, number * 10, **(given if number == other else {})) for number in (1, 2, 3, 4)))
    one = do(merge_draft(Course(name="c", title="C"), (), sheet), {**JOIN, "other": other})
    whole = one[1][0]
    assert (whole.name, whole.contact, whole.demonstration) == ("rope swing", ("hands",), "clear")
    assert [said.text for said in whole.said] == ["words of 1", f"words of {other}"]
    assert merge_draft(*one, sheet) == one


def test_what_the_other_clip_says_newly_comes_as_a_draft_of_the_station_it_was_joined_with(twice: Documents, again: Sheet) -> None:
    last = again.stations[3]
    more = last.model_copy(update={"surfaces": (*last.surfaces, line("bell", 57))})
    _, stations = merge_draft(*do(twice, JOIN), again.model_copy(update={"stations": (*again.stations[:3], more)}))
    assert len(stations) == 3
    assert lines(stations[0])[-1] == ("bell", None, "in", "draft")


def test_of_two_lines_about_one_thing_one_is_taken_out_and_what_is_news_about_it_still_comes(twice: Documents, again: Sheet) -> None:
    one = do(twice, JOIN)
    drafted = next(surface for surface in one[1][0].surfaces if surface.name == "post" and surface.state == "draft")
    one = do(one, {"do": "remove-surface", "station": 1, "surface": drafted.id})
    assert merge_draft(*one, again)[1] == one[1], "what was taken out stays out"
    last = again.stations[3]
    news = tuple(line("post", 53, contact=("hands",)) if surface.name == "post" else surface for surface in last.surfaces)
    sheet = again.model_copy(update={"stations": (*again.stations[:3], last.model_copy(update={"surfaces": news}))})
    posts = [surface for surface in merge_draft(*one, sheet)[1][0].surfaces if surface.name == "post" and surface.state == "draft"]
    assert [(post.ruling, post.contact) for post in posts] == [("in", ("hands",))]


def test_what_went_into_a_station_goes_along_when_that_one_is_joined_too(twice: Documents, again: Sheet) -> None:
    one = do(twice, {"do": "merge-stations", "station": 2, "other": 4}, {"do": "merge-stations", "station": 1})
    course, stations = merge_draft(*one, again)
    assert stations == one[1]
    assert [note.of for note in course.settled if note.what == "station"] == ["t1"]


@pytest.mark.parametrize("do_it", ["merge-stations", "retell-station"])
def test_a_station_is_not_joined_with_itself_or_with_none(twice: Documents, do_it: str) -> None:
    with pytest.raises(InvalidEdit, match="station 2 ring row is named twice"):
        do(twice, {"do": do_it, "station": 2, "other": 2})
    with pytest.raises(InvalidEdit, match="there is no station 9"):
        do(twice, {"do": do_it, "station": 2, "other": 9})
