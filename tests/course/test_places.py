"""Places: what differs between two states of a document, what an edit vouches for, and taking a change back."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.course import Course, Sheet, Station, agreed, apply, contents, differing, merge_draft, read_edit, taken_back
from annotator.errors import InvalidEdit

NAMES = ("stump", "beam", "rope")


def small() -> tuple[Course, tuple[Station, ...]]:
    sheet = Sheet.model_validate(
        {"stations": [{"number": 1, "name": "log hop", "start": 0, "end": 9, "surfaces": [{"name": name} for name in NAMES]}]}
    )
    return merge_draft(Course(name="c", title="C"), (), sheet)


EDITS = st.one_of(
    st.builds(lambda name: {"do": "rename-station", "name": name}, st.sampled_from(["a", "b", "log hop"])),
    st.builds(lambda limbs: {"do": "set-limbs", "limbs": limbs}, st.sampled_from([["hands"], ["feet"], None])),
    st.builds(
        lambda surface, ruling: {"do": "change-surface", "surface": surface, "set": {"ruling": ruling}},
        st.sampled_from(["u1", "u2", "u3"]),
        st.sampled_from(["in", "out"]),
    ),
    st.builds(lambda surface: {"do": "remove-surface", "surface": surface}, st.sampled_from(["u1", "u2", "u3"])),
    st.builds(lambda name: {"do": "add-surface", "surface": {"name": name}}, st.sampled_from(["mat", "net"])),
    st.builds(lambda item: {"do": "accept-item", "id": item}, st.sampled_from(["u1", "u2", "u3"])),
    st.just({"do": "accept"}),
)


def done(course: Course, station: Station, edits: list[dict[str, object]]) -> tuple[Course, Station]:
    for edit in edits:
        try:
            course, (station,) = apply(course, (station,), read_edit({"station": 1, **edit}), "Ana")
        except InvalidEdit:
            continue  # it names what is out already
    return course, station


@settings(max_examples=150, deadline=None)
@given(st.lists(EDITS, max_size=5), st.lists(EDITS, min_size=1, max_size=4))
def test_taking_back_what_was_done_last_gives_what_stood_before(first: list[dict[str, object]], then: list[dict[str, object]]) -> None:
    course, (station,) = small()
    course, before = done(course, station, first)
    _, after = done(course, before, then)
    assert taken_back(before, after, after) == before


@settings(max_examples=150, deadline=None)
@given(st.lists(EDITS, min_size=1, max_size=3), st.lists(EDITS, min_size=1, max_size=3))
def test_taking_back_leaves_what_others_did_at_other_places(mine: list[dict[str, object]], theirs: list[dict[str, object]]) -> None:
    course, (before,) = small()
    course, after = done(course, before, mine)
    _, now = done(course, after, theirs)
    if differing(before, after) & differing(after, now):
        return
    try:
        back = taken_back(before, after, now)
    except InvalidEdit:
        return  # an accepted line says the same, and is another one all the same
    told = contents(back)
    assert all(told.get(place) == contents(before).get(place) for place in differing(before, after))
    assert all(told.get(place) == contents(now).get(place) for place in differing(after, now))


@pytest.mark.parametrize(
    ("edit", "places"),
    [
        pytest.param({"do": "accept-item", "station": 1, "id": "u2"}, {"surface u2"}, id="a-line"),
        pytest.param(
            {"do": "accept", "station": 1},
            {"name", "limbs", "demonstration", "span", "signature", "surface u1", "surface u2", "surface u3"},
            id="a-station",
        ),
        pytest.param({"do": "set-limbs", "station": 1, "limbs": ["hands"]}, set(), id="no-more-than-it-changes"),
    ],
)
def test_who_accepts_vouches_for_what_stands_there(edit: dict[str, object], places: set[str]) -> None:
    _, (station,) = small()
    assert agreed(read_edit(edit), station) == places
