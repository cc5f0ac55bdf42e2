"""What patterns and models together make of a station's things, where that is more than each thing by itself."""

from __future__ import annotations

import pytest

from annotator.rules.gather import gather
from annotator.rules.reading import Line, read_walk
from annotator.rules.revised import revised
from tests.rules.reading_of import words_of


def _lines(text: str) -> tuple[Line, ...]:
    return read_walk(words_of(text), ()).lines


def test_it_does_not_mean_a_thing_that_came_to_nothing() -> None:
    lines = _lines("You climb the rope. Behind the chimney, the wind blows. It is out.")
    ruled = {entry.name: entry.weight("out") for entry in gather(lines, passing=lines[1].mentions).register.entries}
    assert "chimney" not in ruled
    assert ruled["rope"] > 0


def test_limbs_told_beside_a_thing_that_came_to_nothing_are_of_the_station() -> None:
    lines = _lines("Like the museum, hands and feet.")
    mentions = [mention for line in lines for mention in line.mentions]
    gathered = gather(lines, passing=mentions)
    assert [entry for entry in gathered.register.entries if entry.limbs] == []
    assert {limb for told, _ in gathered.loose_limbs for limb in told.limbs} == {"hands", "feet"}


@pytest.mark.parametrize(
    ("after", "passes"),
    [
        pytest.param("You climb the rope.", True, id="nothing is ruled"),
        pytest.param("The under-tens may climb the rope.", False, id="a class is named, of which it may be told"),
    ],
)
def test_a_thing_of_which_nothing_is_said_passes_by(after: str, passes: bool) -> None:
    told = revised(_lines(f"I like the museum. {after} Finish on the mat."), ())
    assert ("museum" in {mention.head for mention in told.passing}) == passes
