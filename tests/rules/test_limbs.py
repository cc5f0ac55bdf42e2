"""Which limbs are told of which thing, where two are told in one sentence."""

from __future__ import annotations

import pytest

from annotator.rules.reading import read_walk
from tests.rules.reading_of import station_of, words_of

_ENDS = ("You start on the red box.", "You finish on the blue mat.")
TOLD = [
    ("Walk along the beam with your feet, hands stay in the air.", {"beam": ("feet",)}),
    ("The rope is for the hands, and the knot down there is for the feet.", {"rope": ("hands",), "knot": ("feet",)}),
    ("You have planks for your feet, and poles stuck upright for your hands.", {"planks": ("feet",), "poles": ("hands",)}),
    ("You push through the brushes with your hands, and your feet stay on the rails.", {"brushes": ("hands",), "rails": ("feet",)}),
    ("Put your hands on the sacks, put your feet on the sacks, and you are over.", {"sacks": ("hands", "feet")}),
    ("The bars are okay, but only for the hands.", {"bars": ("hands",)}),
]


@pytest.mark.parametrize(("said", "limbs"), [pytest.param(*case, id=case[0]) for case in TOLD])
def test_limbs_are_of_the_thing_of_their_own_clause(said: str, limbs: dict[str, tuple[str, ...]]) -> None:
    station = station_of(f"{_ENDS[0]} {said} {_ENDS[1]}")
    assert {s.name: s.contact for s in station.surfaces if s.name in limbs} == limbs


def test_a_blow_is_given_to_a_thing_and_is_none() -> None:
    station = station_of(f"{_ENDS[0]} Walk along the beam, feet only. You finish at the gong, give it a good thump with your fist.")
    assert [s.name for s in station.surfaces] == ["red box", "beam", "gong"]
    assert station.surfaces[-1].contact == ("hands",)


def test_limbs_told_of_an_end_are_of_the_station_too() -> None:
    assert station_of("You start on the red box. Hang from the rings, hands only. You land with both feet on the mat.").contact == (
        "hands",
        "feet",
    )


def test_who_does_it_with_them_may_own_the_limbs() -> None:
    (line,) = read_walk(words_of("The net we hold with our hands."), ()).lines
    assert [limb.limbs for limb in line.limbs] == [("hands",)]
