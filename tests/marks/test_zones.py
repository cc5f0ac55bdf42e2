"""Zones and rulings: worked points, parts and wholes, limbs, divisions, drafts, and an exact count of crossings as independent judge."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import BlanketRule, Station
from annotator.errors import InvalidMark, NotFound
from annotator.marks import ruling_along, ruling_at, zones
from tests.marks.exact import points_against_the_judge, segments_against_the_judge
from tests.marks.makers import SAID_HANDS, SAID_UNNAMED, UNNAMED_OUT, course, mark, square, station, surface

U_SHAPE = tuple((50.0 + 30 * x, 50.0 + 30 * y) for x, y in ((0, 0), (6, 0), (6, 6), (4, 6), (4, 2), (2, 2), (2, 6), (0, 6)))


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        # The worked points of a U whose notch is open above; 30 pixels a unit, shifted by 50.
        pytest.param((3, 4), "out of play", id="in-the-notch"),
        pytest.param((1, 4), "in play", id="left-arm"),
        pytest.param((3, 1), "in play", id="base"),
        pytest.param((2, 4), "too close to call", id="on-the-inner-edge"),
        pytest.param((0, 0), "too close to call", id="on-a-corner"),
        pytest.param((3, 2), "too close to call", id="on-the-notch's-floor"),
        pytest.param((6, 3), "too close to call", id="on-the-outer-edge"),
    ],
)
def test_worked_points_of_a_u(at: tuple[float, float], expected: str) -> None:
    there = station([surface("u1", "wall")], [mark("m1", "u1", U_SHAPE)])
    assert ruling_at(course(), there, "s1", (50 + 30 * at[0], 50 + 30 * at[1])).ruling == expected


@pytest.mark.parametrize(
    ("distance", "tolerance", "expected"),
    [
        pytest.param(2.9, None, "too close to call", id="within-the-default"),
        pytest.param(3.1, None, "in play", id="beyond-the-default"),
        pytest.param(2.1, 5.0, "too close to call", id="within-a-wider-one"),
        pytest.param(0.5, 0.0, "in play", id="no-tolerance"),
        pytest.param(0.0, 0.0, "too close to call", id="the-edge-itself-always"),
    ],
)
def test_near_the_edge_it_is_too_close_to_call(distance: float, tolerance: float | None, expected: str) -> None:
    there = station([surface("u1", "wall")], [mark("m1", "u1", square(100, 100, 200, 200))])
    found = ruling_at(course(), there, "s1", (100 + distance, 150), tolerance_px=tolerance)
    assert found.ruling == expected
    assert found.distance_px == pytest.approx(distance)
    assert found.surface is not None and found.surface.id == "u1"


@pytest.mark.parametrize(("size", "expected"), [((1280, 720), 3.0), ((1920, 1080), 3.0), ((3840, 2160), 6.0)])
def test_the_default_tolerance_grows_with_the_picture(size: tuple[int, int], expected: float) -> None:
    there = station([], [], width=size[0], height=size[1])
    assert zones(course(), there, "s1").tolerance_px == pytest.approx(expected, abs=0.06)


def test_the_frame_of_the_picture_is_no_edge() -> None:
    there = station([surface("u1", "wall")], [mark("m1", "u1", square(0, 100, 200, 200))])
    found = ruling_at(course(), there, "s1", (0.5, 150))
    assert found.ruling == "in play"
    assert found.distance_px == pytest.approx(49, abs=1.5)


@pytest.mark.parametrize("marked", [True, False])
def test_where_nothing_is_marked_the_answer_tells_what_may_be_there(marked: bool) -> None:
    """A person may be pointing at something that is in play and that nobody marked on this still."""
    surfaces = [surface("u1", "wall"), surface("u2", "bell"), surface("u3", "rope", "out")]
    marks = [mark("m1", "u1", square(100, 100, 200, 200)), *([mark("m2", "u2", square(250, 50, 300, 100))] if marked else [])]
    found = ruling_at(course(), station(surfaces, marks), "s1", (350, 250))
    assert found.ruling == "out of play"
    assert found.because.endswith(" In play, but not marked on this still: bell.") is not marked


def _pads(whole: str, part: str) -> Station:
    surfaces = [surface("u1", "post pads", whole), surface("u2", "post pad", part, part="top")]
    marks = [mark("m1", "u1", square(100, 100, 200, 200)), mark("m2", "u2", square(100, 100, 200, 140))]
    return station(surfaces, marks)


@pytest.mark.parametrize(
    ("whole", "part", "on_the_part", "on_the_rest"),
    [
        pytest.param("in", "out", "out of play", "in play", id="pad-in-top-out"),
        pytest.param("out", "in", "in play", "out of play", id="pad-out-top-in"),
        pytest.param("in", "in", "in play", "in play", id="both-in"),
        pytest.param("out", "out", "out of play", "out of play", id="both-out"),
    ],
)
def test_a_part_wins_over_its_whole(whole: str, part: str, on_the_part: str, on_the_rest: str) -> None:
    there = _pads(whole, part)
    top, rest = ruling_at(course(), there, "s1", (150, 120)), ruling_at(course(), there, "s1", (150, 170))
    assert (top.ruling, rest.ruling) == (on_the_part, on_the_rest)
    assert top.surface is not None and top.surface.id == "u2"
    assert rest.surface is not None and rest.surface.id == "u1"


def test_out_wins_over_in_where_two_things_overlap() -> None:
    marks = [mark("m1", "u1", square(50, 50, 200, 200)), mark("m2", "u2", square(150, 150, 300, 250))]
    there = station([surface("u1", "rungs"), surface("u2", "straps", "out")], marks)
    assert ruling_at(course(), there, "s1", (175, 175)).because == "The straps are out of play."
    assert ruling_at(course(), there, "s1", (100, 100)).because == "The rungs are in play."


@pytest.mark.parametrize(
    ("limb", "ruling", "because", "texts"),
    [
        pytest.param(None, "in play", "The rungs are in play, hands only.", ["the rungs is in"], id="no-limb-asked"),
        pytest.param("hands", "in play", "The rungs are in play, hands only.", ["the rungs is in", SAID_HANDS.text], id="allowed"),
        pytest.param(
            "feet",
            "out of play",
            "The rungs are in play, hands only: the feet may not touch them.",
            ["the rungs is in", SAID_HANDS.text],
            id="not-allowed",
        ),
    ],
)
def test_the_limbs_of_a_station_hold_on_its_route(limb: Any, ruling: str, because: str, texts: list[str]) -> None:
    there = station([surface("u1", "rungs")], [mark("m1", "u1", square(50, 50, 200, 200))], contact=("hands",), said=(SAID_HANDS,))
    found = ruling_at(course(), there, "s1", (100, 100), limb=limb)
    assert (found.ruling, found.because) == (ruling, because)
    assert [said.text for said in found.said] == texts


def test_the_own_limbs_of_a_surface_come_before_those_of_the_station() -> None:
    there = station([surface("u1", "ledge", contact=("feet",))], [mark("m1", "u1", square(50, 50, 200, 200))], contact=("hands",))
    assert ruling_at(course(), there, "s1", (100, 100), limb="feet").ruling == "in play"
    assert ruling_at(course(), there, "s1", (100, 100), limb="hands").ruling == "out of play"


@pytest.mark.parametrize("role", ["start", "finish"])
def test_hands_only_on_the_way_does_not_take_the_feet_off_start_and_finish(role: str) -> None:
    there = station([surface("u1", "green platform", role=role)], [mark("m1", "u1", square(50, 50, 200, 200))], contact=("hands",))
    found = ruling_at(course(), there, "s1", (100, 100), limb="feet")
    assert found.ruling == "in play"
    assert found.because == f"The green platform is in play. You {role} on it. Nobody said with which limbs."


def test_between_two_surfaces_for_other_limbs_the_edge_counts_only_for_the_limb_that_asks() -> None:
    surfaces = [surface("u1", "rung", contact=("hands",)), surface("u2", "step", contact=("feet",))]
    there = station(surfaces, [mark("m1", "u1", square(50, 50, 150, 150)), mark("m2", "u2", square(150, 50, 250, 150))])
    assert ruling_at(course(), there, "s1", (150, 100)).ruling == "in play"
    assert ruling_at(course(), there, "s1", (150, 100), limb="hands").ruling == "too close to call"
    assert ruling_at(course(), there, "s1", (200, 100), limb="hands").ruling == "out of play"


def test_a_division_has_its_own_zones() -> None:
    there = station([surface("u1", "low ledge", "out", divisions={"under-tens": "in"})], [mark("m1", "u1", square(50, 50, 200, 200))])
    found = [ruling_at(course(divisions=["under-tens"]), there, "s1", (99, 99), division=name).ruling for name in (None, "under-tens")]
    assert found == ["out of play", "in play"]
    with pytest.raises(NotFound, match=r"no division 'masters'. There is: under-tens"):
        ruling_at(course(divisions=["under-tens"]), there, "s1", (99, 99), division="masters")


BLANKET_PADS = BlanketRule(rule="surface", surface="post pads", ruling="in", contact=("hands", "feet"), id="b2", state="accepted")


def test_a_blanket_surface_holds_at_every_station() -> None:
    there = station([], [mark("m1", "b2", square(50, 50, 200, 200))], contact=("feet",))
    assert ruling_at(course(UNNAMED_OUT, BLANKET_PADS), there, "s1", (99, 99), limb="hands").because == (
        "The post pads are in play, hands and feet."
    )


def test_the_own_word_of_a_station_wins_over_the_blanket_rule() -> None:
    there = station([surface("u1", "post pad", "out")], [mark("m1", "b2", square(50, 50, 200, 200))])
    found = ruling_at(course(BLANKET_PADS), there, "s1", (99, 99))
    assert found.ruling == "out of play"
    assert found.surface is not None and found.surface.id == "u1"


def test_the_unmarked_is_out_by_the_rule_that_says_so() -> None:
    found = ruling_at(course(UNNAMED_OUT), station([], []), "s1", (10, 10))
    assert (found.ruling, found.surface, found.said, found.distance_px) == ("out of play", None, (SAID_UNNAMED,), None)


def test_the_unmarked_is_out_by_common_practice_where_nobody_said_so() -> None:
    # Common practice, no published source: what the briefing does not name is out of play.
    found = ruling_at(course(), station([], []), "s1", (10, 10))
    assert (found.ruling, found.said) == ("out of play", ())
    assert "common practice" in found.because


def test_drafts_count_only_where_they_are_asked_for() -> None:
    there = station([surface("u1", "rungs")], [mark("m1", "u1", square(50, 50, 200, 200), state="draft")])
    assert ruling_at(course(), there, "s1", (99, 99)).ruling == "out of play"
    assert ruling_at(course(), there, "s1", (99, 99), drafts=True).ruling == "in play"
    drafted = station([surface("u1", "rungs", state="draft")], [mark("m1", "u1", square(50, 50, 200, 200))])
    assert ruling_at(course(), drafted, "s1", (99, 99)).ruling == "out of play"


@pytest.mark.parametrize(
    ("point", "error"),
    [
        pytest.param((400.5, 10), "point 400.5,10.*400 x 300", id="right-of-it"),
        pytest.param((-1, 10), "lies outside the still", id="left-of-it"),
        pytest.param((float("nan"), 10), "lies outside the still", id="not-a-number"),
    ],
)
def test_a_point_outside_the_still_is_refused(point: tuple[float, float], error: str) -> None:
    with pytest.raises(InvalidMark, match=error):
        ruling_at(course(), station([], []), "s1", point)


def test_an_unknown_still_names_those_there_are() -> None:
    with pytest.raises(NotFound, match=r"no still 's9'. There is: s1"):
        ruling_at(course(), station([], []), "s9", (1, 1))


@pytest.mark.parametrize(
    ("ring", "expected"),
    [
        pytest.param(square(110, 110, 150, 150), "in play", id="all-inside"),
        pytest.param(square(210, 110, 250, 150), "out of play", id="all-outside"),
        pytest.param(square(180, 110, 250, 150), "too close to call", id="over-the-edge"),
        pytest.param(square(101, 110, 150, 150), "too close to call", id="inside-but-near"),
        pytest.param(square(50, 50, 300, 250), "too close to call", id="around-the-whole-zone"),
    ],
)
def test_a_foot_print_is_in_play_only_where_all_of_it_is(ring: tuple[tuple[float, float], ...], expected: str) -> None:
    there = station([surface("u1", "wall")], [mark("m1", "u1", square(100, 100, 200, 200))])
    assert ruling_along(course(), there, "s1", ring).ruling == expected


def test_a_line_is_judged_along_its_whole_length() -> None:
    there = station([surface("u1", "wall")], [mark("m1", "u1", square(100, 100, 200, 200))])
    assert ruling_along(course(), there, "s1", [(110, 110), (190, 190)], region=False).ruling == "in play"
    over = ruling_along(course(), there, "s1", [(110, 110), (290, 190)], region=False)
    assert (over.ruling, over.because[:25]) == ("too close to call", "This reaches over the edg")
    with pytest.raises(InvalidMark, match="leaves the still"):
        ruling_along(course(), there, "s1", [(110, 110), (490, 190)], region=False)


def test_rulings_at_points_equal_an_exact_count_of_crossings() -> None:
    found = points_against_the_judge(seed=20260801, scenes=60, each=200)
    assert found.asked > 9_000
    assert found.touching < found.asked / 5
    assert found.wrong == ()


def test_rulings_along_segments_equal_an_exact_count_of_crossings() -> None:
    found = segments_against_the_judge(seed=20260802, scenes=60, each=50)
    assert found.asked > 2_500
    assert 0.2 * found.asked < found.touching < 0.9 * found.asked
    assert found.wrong == ()
