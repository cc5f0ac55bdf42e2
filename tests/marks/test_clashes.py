"""Marks of opposite rulings over each other: found with their evidence; parts, neighbours and slivers are none."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import Dismissal, Mark, Said, Surface
from annotator.errors import InvalidMark
from annotator.marks import clashes, zones
from annotator.rules import check
from tests.marks.makers import course, mark, square, station, surface

MAT = square(50, 50, 200, 200)


def test_two_surfaces_of_opposite_rulings_over_each_other_are_told_with_both_moments() -> None:
    there = station(
        [surface("u1", "red mat"), surface("u2", "blue box", "out")], [mark("m1", "u1", MAT), mark("m2", "u2", square(150, 150, 260, 260))]
    )
    (found,) = clashes(course(), there)
    assert (found.kind, found.severity, found.station, found.surface) == ("marks-disagree", "warning", 1, "u2")
    assert found.about == (
        "Station 1 (swing rungs): on still s1 the marks of the red mat (in play) and the blue box (out of play) lie over each other. "
        "Where they do, out of play wins. Redraw one of them, or change its ruling."
    )
    assert [said.text for said in found.said] == ["the red mat is in", "the blue box is out"]


@pytest.mark.parametrize(
    ("other", "of"),
    [
        pytest.param(square(150, 150, 260, 260), {"name": "blue box"}, id="both-in-play"),
        pytest.param(square(60, 60, 120, 120), {"name": "red mats", "ruling": "out", "part": "edge"}, id="a-part-of-it"),
        pytest.param(square(200, 50, 300, 200), {"name": "blue box", "ruling": "out"}, id="side-by-side"),
        pytest.param(square(198, 50, 300, 200), {"name": "blue box", "ruling": "out"}, id="a-sliver-as-hands-draw-it"),
        pytest.param(square(250, 220, 300, 280), {"name": "blue box", "ruling": "out"}, id="apart"),
    ],
)
def test_what_is_no_clash_is_not_told(other: Any, of: dict[str, Any]) -> None:
    second = surface("u2", of.pop("name"), of.pop("ruling", "in"), **of)
    assert clashes(course(), station([surface("u1", "red mat"), second], [mark("m1", "u1", MAT), mark("m2", "u2", other)])) == ()


def test_two_parts_of_one_thing_are_not_parts_of_each_other() -> None:
    parts = [surface("u1", "wall", "in", part="face"), surface("u2", "wall", "out", part="rim")]
    assert len(clashes(course(), station(parts, [mark("m1", "u1", MAT), mark("m2", "u2", square(50, 50, 200, 100))]))) == 1


def test_a_clash_of_one_division_alone_names_it() -> None:
    surfaces = [surface("u1", "red mat"), surface("u2", "blue box", "in", divisions={"under-tens": "out"})]
    there = station(surfaces, [mark("m1", "u1", MAT), mark("m2", "u2", square(150, 150, 260, 260))])
    (found,) = clashes(course(divisions=["under-tens"]), there)
    assert "the red mat (in play for under-tens) and the blue box (out of play)" in found.about


def test_a_draft_counts_and_a_mark_that_is_no_outline_is_passed_over() -> None:
    surfaces: list[Surface] = [surface("u1", "red mat"), surface("u2", "blue box", "out", state="draft")]
    marks: list[Mark] = [mark("m1", "u1", MAT), mark("m2", "u2", square(150, 150, 260, 260), state="draft")]
    assert len(clashes(course(), station(surfaces, marks))) == 1
    broken = station(surfaces, [*marks, mark("m3", "u1", ((5, 5), (5, 5), (5, 5)))])
    with pytest.raises(InvalidMark):
        zones(course(), broken, "s1", drafts=True)
    assert clashes(course(), broken) == ()


def test_in_the_check_it_stands_with_its_station_and_can_be_put_aside() -> None:
    there = station(
        [surface("u1", "red mat"), surface("u2", "blue box", "out")], [mark("m1", "u1", MAT), mark("m2", "u2", square(150, 150, 260, 260))]
    )
    told = check(course(), [there], clashes(course(), there))
    assert [finding.kind for finding in told].count("marks-disagree") == 1
    aside = there.model_copy(
        update={"dismissed": (Dismissal(kind="marks-disagree", surface="u2", because="the box lies on the mat", by="Ana"),)}
    )
    assert "marks-disagree" not in [finding.kind for finding in check(course(), [aside], clashes(course(), aside))]
    assert Said(start=4.0, end=5.0, text="the blue box is out") in next(
        finding.said for finding in told if finding.kind == "marks-disagree"
    )
