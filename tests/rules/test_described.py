"""Classes that are described instead of named: what describes persons, whom it leaves over, and what it comes to for a thing.

Plain English, no published source.
"""

from __future__ import annotations

import string
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.rules.described import described_in, leaves_over
from annotator.rules.groups import age_key, class_key
from tests.rules.reading_of import station_of

DESCRIBED = [
    ("if you're in a wheelchair, take the ramp", ["in a wheelchair"]),
    ("if you have asthma you may skip the tunnel", ["have asthma"]),
    ("if you've a broken finger, use the strap", ["a broken finger"]),
    ("if you cannot swim you stay on the jetty", ["cannot swim"]),
    ("if you work at the quarry, the hoist is yours", ["work at the quarry"]),
    ("whoever is shorter than this broom gets the stool", ["shorter than this broom"]),
    ("anyone with a sore shoulder may rest on the crate", ["with a sore shoulder"]),
    ("people who were born before the flood may sit", ["were born before the flood"]),
    ("those who are allergic to hay, the bales are not for you", ["allergic to hay"]),
    ("if you're pregnant, or you're on crutches, the gate is open", ["pregnant", "on crutches"]),
    ("unless you're left-handed, the strap stays where it is", ["left-handed"]),
    ("if you fall on the mat you start again", []),
    ("if you're on the beam, keep your arms out", []),
    ("if you have both feet on the box you are done", []),
    ("if you've landed, wave at me", []),
    ("if you're stuck, shout", []),
    ("anyone who touches the rope is out", []),
    ("whoever steps past the line goes home", []),
    ("the boards that are upright may be held", []),
    ("the knobs are in unless they're cracked", []),
    ("run clean past it if you're movin', that's fine", []),
    ("lean on the bumper if you're tippy", []),
    ("people with wide shoulders go with one shoulder first", ["with wide shoulders"]),
    ("who is it?", []),
    ("if you're a beginner, you can have the blue holds as well", ["beginners"]),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in DESCRIBED])
def test_what_lasts_longer_than_a_run_describes_a_class(said: str, expected: list[str]) -> None:
    assert [one.key for one in described_in(said)] == expected


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("without a helmet", "with a helmet", True), ("have no ticket", "have a ticket", True), ("taller than the door", "shorter than the"
        " door", True), ("with a helmet", "with a ticket", False), ("in boots", "in boots", False), ("can read", "can't swim", False),
    ],
)  # fmt: skip
def test_a_description_leaves_over_whom_its_denial_describes(one: str, other: str, expected: bool) -> None:
    assert leaves_over(one, other) is leaves_over(other, one) is expected


def test_a_description_is_a_class_but_no_age() -> None:
    said = "if you're in a wheelchair, take the ramp"
    assert (class_key(said), age_key(said)) == ("in a wheelchair", None)


RULED = [
    pytest.param(
        "If you're in a wheelchair, you may use the ramp.", ("ramp", "out", {"in a wheelchair": "in"}), id="a condition of what one is"
    ),
    pytest.param(
        "You climb the ladder. Whoever is on crutches leaves the ladder alone.", ("ladder", "in", {"on crutches": "out"}), id="whoever"
    ),
    pytest.param(
        "Anybody with a ticket can hold the rail. If you haven't a ticket, you keep off the rail.",
        ("rail", "out", {"with a ticket": "in"}),
        id="and whom it leaves over",
    ),
    pytest.param(
        "If you have a sore knee, show me the note, you may also take the hoist.",
        ("hoist", "out", {"have a sore knee": "in"}),
        id="with an aside between",
    ),
    pytest.param(
        "If you're in a wheelchair, the mats on the ramp are out. The mats are in.",
        ("mats", "in", {"in a wheelchair": "out"}),
        id="a thing that stands on another",
    ),
    pytest.param("Feet on the stone, if you're not a dancer.", ("stone", "in", None), id="what one is not describes nobody by itself"),
    pytest.param("Step on the stone. If you're wearing glasses, don't look down.", ("stone", "in", None), id="what is done with the eyes"),
    pytest.param("The beam is in. If you slip off the beam, you are out.", ("beam", "in", None), id="what happens in a run"),
]


@pytest.mark.parametrize(("said", "expected"), RULED)
def test_what_is_ruled_for_a_described_class_divides_a_thing(said: str, expected: tuple[str, str, dict[str, str] | None]) -> None:
    surface = station_of(said).surfaces[0]
    assert (surface.name, surface.ruling, surface.divisions) == expected


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet=string.ascii_lowercase + " ,.'-’", max_size=80))
def test_whatever_is_said_descriptions_stand_apart_and_inside_the_text(said: str) -> None:
    found = described_in("if you're " + said)
    assert all(0 <= one.begin < one.end <= len(said) + 10 and one.key for one in found)
    assert all(a.end <= b.begin for a, b in pairwise(found))


def test_a_description_that_never_ends_is_read_at_once() -> None:
    """It would take longer than anybody lives if words could belong to it in two ways."""
    assert len(described_in("if you have " + "never got " * 400 + "who is " * 400)) <= 400
