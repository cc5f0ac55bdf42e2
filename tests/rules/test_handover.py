"""Where a station takes over from the one before. The sentences are ours, by nobody in particular."""

from __future__ import annotations

import pytest

from annotator.rules import draft, sentences
from annotator.rules.handover import LEAVES, STANDS, Told, takes_over
from annotator.rules.reading import read_walk
from tests.rules.reading_of import words_of

BEFORE = "Over the ropes you go, hands and feet. The chain is out. Last there is an old wardrobe."

TAKES_OVER = [
    pytest.param("From that wardrobe there's a row of kettles.", LEAVES, id="from"),
    pytest.param("Now get down off the wardrobe, and mind the kettles.", LEAVES, id="off"),
    pytest.param("You leave the wardrobe and look at the kettles.", LEAVES, id="one leaves it"),
    pytest.param("The same wardrobe is good for the kettles.", LEAVES, id="the same"),
    pytest.param("That wardrobe again.", LEAVES, id="again"),
    pytest.param("So you're on the wardrobe, and what do you see, kettles.", STANDS, id="one is on it"),
    pytest.param("Seated in the wardrobe one sees a row of kettles.", STANDS, id="seated in it"),
    pytest.param("Still on the wardrobe, stretch out.", STANDS, id="still"),
    pytest.param("You leave the wardrobe alone.", 0.0, id="left alone"),
    pytest.param("You're not on the wardrobe to sleep.", 0.0, id="denied"),
    pytest.param("On the wardrobe everything is allowed.", 0.0, id="ruled"),
    pytest.param("From the ropes you take the left one.", 0.0, id="not told last"),
    pytest.param("From the kettles you go on.", 0.0, id="never told"),
]


@pytest.mark.parametrize(("text", "weight"), TAKES_OVER)
def test_a_station_takes_over_where_one_leaves_or_stands_on_what_was_told_last(text: str, weight: float) -> None:
    lines = read_walk(words_of(f"{BEFORE} [2] {text}"), ()).lines
    told = Told()
    for line in lines[:3]:
        told.take(line)
    assert lines[3].said.text.startswith(text.split()[0])
    assert takes_over(lines[3], told)[0] == weight


UNANNOUNCED = (
    "Good morning to all of you, it is a little cold. You start on the trunk. There are nine barrels, and you go from "
    "one to the next, with your feet, it is called barrel street, and the hoops of the barrels are out, they "
    "have cost me two fingers already. "
    "Then there's a sofa, you sit down on the sofa and you have made it. "
    "Off the sofa there's a wardrobe to climb, it belonged to my aunt, who was a singer, hands and feet on the wardrobe. The "
    "mirror is out, it has cost me money. My cousin fell off here last week and laughed. It is one of my favourites, wardrobe hill, and "
    "down you slide on the eiderdown. "
    "Out of the eiderdown there's a curtain to swing on, it is from the theatre, so it will carry you, hands on the curtain. Nobody "
    "pulls on the rail, it is only glued. And that's the curtain swing, and you end up in the bath."
)


def test_stations_that_nobody_announces_begin_where_the_one_before_ended_also_where_the_name_comes_late(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sentences, "model", lambda: None)  # by these cues alone
    sheet = draft(words_of(UNANNOUNCED), ["barrel street", "wardrobe hill", "curtain swing"])
    starts = [next((s.name for s in station.surfaces if s.role == "start"), None) for station in sheet.stations]
    assert starts == ["trunk", "sofa", "eiderdown"]
    assert [station.name for station in sheet.stations] == ["barrel street", "wardrobe hill", "curtain swing"]
