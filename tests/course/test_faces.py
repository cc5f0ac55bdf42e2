"""What people decide about the faces on a still."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import Course, FacesShown, Station, Still, apply, faces_to_look_at, read_edit
from annotator.errors import InvalidEdit

FOUND = ((100.0, 50.0, 140.0, 100.0),)
COURSE = Course(name="demo", title="Demo", order=("t1",))


def still(**more: Any) -> Still:
    return Still.model_validate(
        {"id": "s01-1", "time_s": 3, "clip": 1, "pts": 90, "width": 640, "height": 360, "file": "0" * 64, "faces": FOUND} | more
    )


def station(*stills: Still, **more: Any) -> Station:
    return Station.model_validate({"id": "t1", "number": 1, "name": "stump hop", "start": 0, "end": 9, "stills": stills} | more)


def after(there: Station, who: str = "Ana", **edit: Any) -> Station:
    _, (new,) = apply(COURSE, (there,), read_edit({"station": 1, **edit}), who)
    return new


def test_a_person_adds_a_face_that_was_missed_and_takes_out_one_that_is_none() -> None:
    added = after(station(still()), do="set-faces", still="s01-1", faces=[*FOUND, (300, 80, 330, 120)]).stills[0]
    assert (added.faces, added.faces_by) == ((*FOUND, (300.0, 80.0, 330.0, 120.0)), "Ana")
    none = after(station(still()), do="set-faces", still="s01-1", faces=[]).stills[0]
    assert (none.faces, none.faces_by) == ((), "Ana")


def test_a_person_who_looked_may_say_that_the_found_ones_are_right() -> None:
    confirmed = after(station(still()), do="set-faces", still="s01-1").stills[0]
    assert (confirmed.faces, confirmed.faces_by, confirmed.faces_shown) == (FOUND, "Ana", None)


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        pytest.param((-20, 300, 30, 900), (0, 300, 30, 360), id="reaching-out"),
        pytest.param((140, 100, 100, 50), (100, 50, 140, 100), id="drawn-backwards"),
    ],
)
def test_a_box_is_kept_as_far_as_it_lies_in_the_picture(given: tuple[float, ...], kept: tuple[float, ...]) -> None:
    assert after(station(still()), do="set-faces", still="s01-1", faces=[given]).stills[0].faces == (kept,)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        pytest.param({"do": "set-faces", "still": "s01-1", "faces": [(5, 5, 5, 40)]}, "covers nothing", id="no-width"),
        pytest.param({"do": "set-faces", "still": "s01-1", "faces": [(700, 5, 740, 40)]}, "640 x 360", id="outside"),
        pytest.param({"do": "set-faces", "still": "s09-9", "faces": []}, "There is: s01-1", id="no-such-still"),
        pytest.param({"do": "show-faces", "still": "s09-9", "because": "agreed"}, "There is: s01-1", id="showing-no-such-still"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(edit: dict[str, Any], words: str) -> None:
    with pytest.raises(InvalidEdit, match=words):
        after(station(still()), **edit)


@pytest.mark.parametrize("box", [(0, 0, float("nan"), 5), (0, 0, float("inf"), 5), (0, 0, 5)])
def test_a_box_of_no_numbers_is_refused(box: tuple[float, ...]) -> None:
    with pytest.raises(InvalidEdit):
        read_edit({"do": "set-faces", "station": 1, "still": "s01-1", "faces": [box]})


def test_what_was_never_looked_for_cannot_be_confirmed_blindly() -> None:
    with pytest.raises(InvalidEdit, match="give the boxes"):
        after(station(still(faces=None)), do="set-faces", still="s01-1")


def test_faces_are_shown_by_a_choice_with_who_and_why_only() -> None:
    shown = after(station(still()), do="show-faces", still="s01-1", because="  both are adults\nand agreed ")
    assert shown.stills[0].faces_shown == FacesShown(by="Ana", because="both are adults and agreed")
    assert after(shown, do="blur-faces", still="s01-1").stills[0].faces_shown is None
    for because in ({}, {"because": ""}, {"because": "  "}):
        with pytest.raises(InvalidEdit):
            read_edit({"do": "show-faces", "station": 1, "still": "s01-1", **because})


@pytest.mark.parametrize("there", [pytest.param((), id="new"), pytest.param((still(file="1" * 64),), id="another-picture")])
def test_putting_a_still_never_lifts_the_blurring_nor_confirms(there: tuple[Still, ...]) -> None:
    sent = still(faces_by="Eve", faces_shown={"by": "Eve", "because": "so"}).model_dump(mode="json")
    put = after(station(*there), do="put-still", still={**sent, "show_faces": True}).stills[-1]
    assert (put.faces_by, put.faces_shown) == (None, None)


def test_putting_a_still_again_keeps_what_was_decided_about_its_faces() -> None:
    before = station(still(faces_by="Ana", faces_shown={"by": "Ben", "because": "agreed"}))
    sent = still(faces=[], faces_by=None, time_s=4).model_dump(mode="json")
    put = after(before, do="put-still", still=sent).stills[0]
    assert put.time_s == 4
    assert (put.faces, put.faces_by, put.faces_shown) == (FOUND, "Ana", FacesShown(by="Ben", because="agreed"))


def test_a_change_of_faces_takes_the_signature_away_and_saying_the_same_does_not() -> None:
    signed = station(still(state="accepted", faces_by="Ana"), state="accepted", accepted_by="Ana", signed_by="Ben")
    assert after(signed, do="set-faces", still="s01-1").signed_by == "Ben"
    assert after(signed, do="set-faces", still="s01-1", faces=[]).signed_by is None
    assert after(signed, do="show-faces", still="s01-1", because="agreed").signed_by is None


def test_stills_at_which_nobody_looked_are_a_finding_until_somebody_does() -> None:
    there = station(still(), still(id="s01-2", faces=()))
    (finding,) = faces_to_look_at(there)
    assert (finding.kind, finding.severity, finding.station) == ("faces-not-looked-at", "warning", 1)
    assert "the still at 0:03 (s01-1, 1 found) and the still at 0:03 (s01-2, none found)" in finding.about
    (finding_of_three,) = faces_to_look_at(station(still(), still(id="s01-2"), still(id="s01-3")))
    assert ", the still at 0:03 (s01-2, 1 found) and the still at 0:03 (s01-3, 1 found). What" in finding_of_three.about
    assert "misses some" in finding.about and "children" in finding.about
    there = after(there, do="set-faces", still="s01-1")
    assert "s01-1" not in next(faces_to_look_at(there)).about
    there = after(there, do="show-faces", still="s01-2", because="the coach agreed")
    assert not list(faces_to_look_at(there))


def test_an_old_still_with_a_bare_choice_is_read_and_blurred() -> None:
    assert still(show_faces=True).faces_shown is None
