"""One thing ruled in two ways, far apart and in unlike words, and what only looks like it."""

from __future__ import annotations

import pytest

from annotator.rules import draft
from annotator.rules.contradicted import told_by
from annotator.rules.reading import read_walk
from tests.rules.reading_of import words_of

FIRST = "Station one. You start on the red box. Walk along the beam, feet only. Finish on the blue platform. "
SECOND = "Station two. You start on the green crate. "
END = " Finish on the yellow mat."


def contradicted(text: str) -> list[int | None]:
    return [f.station for f in draft(words_of(text)).findings if f.kind == "contradiction"]


TWO_WAYS = [
    "Cross the net, hands and feet. The straps you can have, I don't mind.{end} Whoever pulls on a strap loses the go.",
    "Climb the ladder, hands and feet. The ropes are there to help you.{end} Anybody with a hand on a rope, that's a foul.",
    "Climb the wall, hands and feet. A foot on the brackets is no harm.{end} And now nobody stands on a bracket.",
    "Hands and feet on the pipes. The wheels are yours as well.{end} And leave the wheels alone, they roll.",
]
ONE_WAY = [
    "Walk along the log, feet only. Whoever puts a hand on the log loses the go." + END,
    "Climb the rungs, hands and feet. The rails are out, and I say it again, nobody touches the rails." + END,
    "Step along the tyres, feet only. Anybody who skips a tyre loses the go." + END,
    "Climb the wall, hands and feet. All the pegs are good except the red ones." + END,
    "Climb the wall, hands and feet. The stool is fine. The under-tens may not touch the stool." + END,
    "Climb the wall, hands and feet. The pegs are fine. No, scratch that, nobody touches the pegs." + END,
    "Walk the beam, feet only. Anyone in the dance squad, the beam's last metre is out for you, and everyone else goes to the end." + END,
    "Walk the beams, feet only. The price labels, all that is stuck on the beams, leave it be." + END,
    "Swing on the rope, hands only. Anybody who falls off the rope goes back to the start." + END,
]


@pytest.mark.parametrize("told", TWO_WAYS)
def test_let_to_it_here_and_kept_off_it_there(told: str) -> None:
    assert contradicted(FIRST + SECOND + told.format(end=END)) == [2]


@pytest.mark.parametrize("told", ONE_WAY)
def test_what_is_no_contradiction(told: str) -> None:
    assert contradicted(FIRST + SECOND + told) == []


def test_a_sentence_against_a_rule_for_the_whole_course() -> None:
    text = "Sandbags are in everywhere on the course, stand on them. " + FIRST + SECOND
    assert contradicted(text + "Climb the wall, hands and feet. There are sandbags by the wall, leave the sandbags alone." + END) == [2]


def test_a_sentence_of_a_later_station_belongs_to_the_one_that_it_names() -> None:
    text = FIRST + SECOND + "Climb the canoe rack, hands and feet. The straps are in, haul on them." + END
    last = " Station three. You start on the yellow mat. Walk the plank, feet only. Nobody touches the straps of the canoe rack any more. "
    assert contradicted(text + last + "Finish on the white box.") == [2]


@pytest.mark.parametrize(
    ("text", "ruling"),
    [
        ("The straps are at your service.", "in"),
        ("The straps, help yourself.", "in"),
        ("A hand on a strap is a penalty.", "out"),
        ("Keep away from the straps.", "out"),
        ("The straps are fragile, leave them be.", "out"),
        ("Nobody, but nobody, touches the straps.", "out"),
        ("The straps came from my uncle.", None),
    ],
)
def test_what_a_sentence_by_itself_says_of_a_thing(text: str, ruling: str | None) -> None:
    line = read_walk(words_of(text), ()).lines[0]
    assert next((each.ruling for each in told_by(line) if each.mention.head == "strap"), None) == ruling


def test_a_sentence_that_says_no_to_two_phrases_of_a_thing_is_asked_about_once() -> None:
    told = draft(words_of(FIRST + "Station two, the rack. Start on the blue mat. The pipes are fine, hands and feet. Leave the pipes, "
                          "I said leave the pipes alone." + END)).findings  # fmt: skip
    assert [f.about.split(": ")[1].split(".")[0] for f in told if f.kind == "contradiction"] == [
        "the pipes are said to be in play, and later out of play"
    ]
