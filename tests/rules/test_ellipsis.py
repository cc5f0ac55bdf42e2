"""Phrases whose noun is left out, in sentences of our own."""

from __future__ import annotations

import pytest

from annotator.rules.reading import read_walk
from tests.rules.reading_of import rows, words_of


def named(text: str) -> list[str]:
    return [mention.name for line in read_walk(words_of(text), ()).lines for mention in line.mentions]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param(
            "There are two hoops. You may hold the yellow, not the green.", ["hoops", "yellow hoop", "green hoop"], id="a colour alone"
        ),
        pytest.param("There are six discs. The purple ones are out.", ["discs", "purple discs"], id="ones"),
        pytest.param("Those are the crates. Blue, fine. Brown is out.", ["crates", "blue crates", "brown crates"], id="no article"),
        pytest.param("You hold the red bar. Let go of the white.", ["red bar", "white bar"], id="another colour of the same thing"),
        pytest.param("The bars are yellow. Hang from the bars.", ["bars", "bars"], id="what tells how a thing looks is no thing"),
        pytest.param("You land on the blue mat.", ["blue mat"], id="a colour with its noun"),
        pytest.param("Then the end is the orange, orange hoop.", ["orange hoop"], id="said again"),
        pytest.param("You finish on the ring, orange.", ["orange ring"], id="told after its noun"),
        pytest.param("You use the bars, red, yellow and blue.", ["bars"], id="a list of colours"),
        pytest.param("There are two walls. The little ones may climb.", ["walls"], id="people"),
    ],
)
def test_a_phrase_without_its_noun_takes_that_of_what_was_spoken_of(text: str, expected: list[str]) -> None:
    assert named(text) == expected


def test_what_only_colours_tell_apart_is_ruled_apart() -> None:
    told = rows("You go along the posts. The green is fine to hold. The white is out.")
    assert ("green posts", None, "route", "in") in told or ("green post", None, "route", "in") in told
    assert next(row for row in told if "white" in row[0])[3] == "out"


def test_a_colour_alone_with_nothing_before_it_is_no_thing() -> None:
    assert rows("The red is out.") == []
