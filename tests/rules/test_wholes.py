"""Parts told by their whole. Plain English, no published source."""

from __future__ import annotations

import pytest

from annotator.rules.reading import read_walk
from tests.rules.reading_of import brief, words_of

PARTS = [
    pytest.param("There is a shed. The roof of the shed is out.", ["shed", "roof / shed"], id="of a whole that was given"),
    pytest.param("The roof of the shed is out.", ["roof"], id="of a whole that comes up only here"),
    pytest.param("There is a trolley. The rope of the trolley is out.", ["trolley", "rope"], id="a thing by itself, whatever it is of"),
    pytest.param("Climb the ladder, the fourth step of it is out.", ["ladder", "step / ladder"], id="of it"),
    pytest.param("Go to the wagon and touch its wheels.", ["wagon", "wheels / wagon"], id="its"),
    pytest.param("There are barrels. Nobody holds their handles.", ["barrels", "handles / barrels"], id="their"),
    pytest.param("There is a pulley and the bar of it.", ["pulley", "bar"], id="a thing by itself, of it"),
    pytest.param("Mind the wasp, its nest is up there.", ["wasp", "nest"], id="of what is no equipment"),
    pytest.param("Step over the benches. The backrests are out.", ["benches", "backrests / benches"], id="what such things are made up of"),
    pytest.param("Climb the dresser. The backrests are out.", ["dresser", "backrests"], id="what such things have not"),
    pytest.param("Step over the bucket. There is a broom handle.", ["bucket", "broom handle"], id="a thing of a kind"),
    pytest.param("Climb the tall stool. The seats are out.", ["tall stool", "seats"], id="more of them than the thing has"),
    pytest.param("You take the ladder, only the rungs.", ["ladder", "rungs / ladder"], id="only what is fixed on it"),
    pytest.param("Any bit of the crate will do, bar the hinges.", ["crate", "hinges / crate"], id="all but what is fixed on it"),
    pytest.param("Take the ladder. Only the rope is out.", ["ladder", "rope"], id="only a thing by itself"),
    pytest.param("The rails are just rails.", ["rails", "rails"], id="only what it is"),
    pytest.param("There are hurdles. The top rails of them are out.", ["hurdles", "top rails / hurdles"], id="fixed on them"),
    pytest.param("There are pans, you step on their backs.", ["pans", "backs / pans"], id="a side of theirs"),
    pytest.param("There are crates laid on their sides.", ["crates", "sides"], id="how they lie"),
    pytest.param("See the barrel. The belly of the barrel is wet.", ["barrel", "belly / barrel"], id="a word for the body, of a thing"),
]


@pytest.mark.parametrize(("said", "expected"), PARTS)
def test_a_part_is_told_by_a_whole_that_was_given(said: str, expected: list[str]) -> None:
    lines = read_walk(words_of(said), ()).lines
    assert [f"{m.part} / {m.name}" if m.part else m.name for line in lines for m in line.mentions] == expected


NAMED = [
    pytest.param("Climb the wooden boxes. The sides of the boxes are out.", "sides of wooden boxes", id="the only colour it was told with"),
    pytest.param("Not the red boxes, the blue boxes. The sides of the boxes are out.", "sides of boxes", id="one of two colours"),
]


@pytest.mark.parametrize(("said", "expected"), NAMED)
def test_a_parts_thing_bears_the_colour_that_it_was_told_with(said: str, expected: str) -> None:
    assert f"out {expected}" in brief(f"You start on the mat. {said}")


def test_one_goes_over_the_tops_of_them() -> None:
    assert brief("You start on the mat. There are bales. You go over the tops of them.") == "start mat; in tops of bales"


def test_a_part_that_is_no_place_is_ruled_as_soon_as_a_thing() -> None:
    assert brief("You start on the mat. Step over the chairs, feet on the seats. The backs are out.") == (
        "start mat; in seats of chairs; out backs of chairs"
    )


def test_what_is_ruled_of_a_part_is_not_ruled_of_its_whole() -> None:
    assert brief("You start on the mat. Hands on the shed. The door of the shed is out.") == "start mat; in shed; out door of shed"


def test_a_part_told_alone_is_of_what_was_used_and_not_of_what_was_named_in_passing() -> None:
    assert (
        brief("You start on the mat. Feet on the crates. My uncle made them. The lids are out.")
        == "start mat; in crates; out lids of crates"
    )
