"""Two things of one kind that only their order tells apart. Plain English, no published source."""

from __future__ import annotations

import pytest

from annotator.rules.reading import read_walk
from tests.rules.reading_of import brief, words_of

NAMES = [
    pytest.param("Go from the barrow to the other barrow.", ["barrow", "other barrow"], id="the other one"),
    pytest.param("From this bucket to that bucket.", ["bucket", "other bucket"], id="from this to that"),
    pytest.param("Leave the first stool. Sit on the second stool.", ["first stool", "second stool"], id="first and second"),
    pytest.param("Mind the second stool.", ["stool"], id="an ordinal alone"),
    pytest.param("The other rail is out.", ["rail"], id="another one of which none was told"),
    pytest.param("Hold this rope. That rope is wet.", ["rope", "rope"], id="this and that of one thing"),
    pytest.param("The first bars and the second bars.", ["bars", "bars"], id="many"),
]


@pytest.mark.parametrize(("said", "expected"), NAMES)
def test_a_pair_is_told_apart_by_its_order(said: str, expected: list[str]) -> None:
    assert [mention.name for line in read_walk(words_of(said), ()).lines for mention in line.mentions] == expected


def test_a_walk_may_end_on_the_other_thing_of_the_kind_it_began_on() -> None:
    assert (
        brief("You start on the barrow. Hands on the rope. You finish on the other barrow.") == "start barrow; in rope; finish other barrow"
    )


def test_the_other_one_is_not_told_apart_from_what_was_said_long_ago() -> None:
    rain = "It rains. We wait. Somebody sings. I like that. He smiles. She nods. They laugh. "
    lines = read_walk(words_of(f"Start on the barrow. {rain}The other barrow is out."), ()).lines
    assert [mention.name for line in lines for mention in line.mentions] == ["barrow", "barrow"]
