"""The same statements in other mouths: questions answered, lettered things, some of the things, late remarks, turned word order.

Common practice, no published source. The wordings are other ones than those of the walks in walks/.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from annotator.rules import draft
from annotator.rules.text import as_written
from tests.rules.reading_of import brief, limbs, rows, shown, station_of, tied_limbs, words_of

Row = tuple[str, str | None, str, str]

SAID: list[tuple[str, list[Row]]] = [
    ("Can you hold the grey chain? No, you can't.", [("grey chain", None, "route", "out")]),
    ("May we use the side bar? Yes, of course.", [("side bar", None, "route", "in")]),
    ("Is the long plank allowed? Nope.", [("long plank", None, "route", "out")]),
    ("You finish on deck C.", [("deck C", None, "finish", "in")]),
    ("Take the ropes. The white ropes are out.", [("ropes", None, "route", "in"), ("white ropes", None, "route", "out")]),
    ("The green pegs are out, the orange ones are fine.", [("green pegs", None, "route", "out"), ("orange pegs", None, "route", "in")]),
    ("Exception two, the bracket itself, forbidden.", [("bracket", None, "route", "out")]),
    ("The hook's out.", [("hook", None, "route", "out")]),
    ("The poles of the tent are for the hands.", [("poles", None, "route", "in")]),
    ("The side rail is not to be used.", [("side rail", None, "route", "out")]),
    ("I see a foot on the truss, you're walking.", [("truss", None, "route", "out")]),
    ("Ye may grab the ring.", [("ring", None, "route", "in")]),
    ("Step across to the round deck, and there you are.", [("round deck", None, "finish", "in")]),
    ("Black deck over there, that's your finish.", [("black deck", None, "finish", "in")]),
    ("On the grey stone is it finished.", [("grey stone", None, "finish", "in")]),
    ("The brown mat is the beginning.", [("brown mat", None, "start", "in")]),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in SAID])
def test_a_statement_in_another_mouth_gives_the_same_rule(said: str, expected: list[Row]) -> None:
    assert rows(said) == expected


MANY: dict[str, list[tuple[str, str]]] = yaml.safe_load(Path(__file__).with_name("wordings.yaml").read_text(encoding="utf-8"))
READ_BY: dict[str, Callable[[str], str]] = {"limbs of a station": limbs, "limbs of a thing": tied_limbs, "demonstrations": shown}


@pytest.mark.parametrize("kind", MANY)
def test_statements_of_one_kind_in_many_mouths_come_to_their_rules(kind: str) -> None:
    read = READ_BY.get(kind, brief)
    assert {said: read(said) for said, _ in MANY[kind]} == dict(MANY[kind])


OVERSHOOTS = [
    ("You finish on the blue mat. Fly off the far side of it, no dramas.", "allowed"),
    ("You finish on the blue mat. Run past it, doesn't bother me.", "allowed"),
    ("You finish on the blue mat. Going past the blue mat is not a fault.", "allowed"),
    ("You finish on the blue mat. Go past it and you have to repeat.", "not allowed"),
    ("You finish on the blue mat. May you run on past the blue mat? No.", "not allowed"),
    ("You finish on the blue mat. You needn't stop on it, a touch is fine.", "allowed"),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in OVERSHOOTS])
def test_going_past_the_finish_in_other_words(said: str, expected: str) -> None:
    assert [s.overshoot for s in station_of(said).surfaces if s.role == "finish"] == [expected]


LIMBS = [
    ("Top bar, hands. Low bar, feet.", ("hands", "feet")),
    ("Can you put your feet on the bar, no, you can't. Hands on the bar.", ("hands",)),
    ("Feet on the beam. She put her hand down on the beam, and that's a fail.", ("feet",)),
    ("Walk the beam, feet only, and don't put your hands down on the beam.", ("feet",)),
    ("Feet on the ramp, and hands too.", ("hands", "feet")),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in LIMBS])
def test_limbs_are_told_in_pieces_and_never_by_a_question_or_a_try_that_failed(said: str, expected: tuple[str, ...]) -> None:
    assert station_of(said).contact == expected


def test_a_late_remark_goes_to_the_station_that_it_names() -> None:
    text = (
        "Station one, log walk. You start on the red box. Walk along the log, feet only. Finish on the blue mat. "
        "Station two, ring lane. You start on the blue mat. Hands on the rings. Finish on the tall box. "
        "Oh, I forgot, back at the log walk, the handrail is out. Station three, net climb. You start on the tall box. Climb the net, "
        "hands and feet. Finish on the bench."
    )
    sheet = draft(words_of(text), ["log walk", "ring lane", "net climb"])
    assert [any(s.name == "handrail" for s in station.surfaces) for station in sheet.stations] == [True, False, False]


def test_a_number_that_is_counted_again_is_the_number_of_stations() -> None:
    opening = "There are three stations, no, sorry, two of them. "
    text = (
        "Station one, log walk. You start on the red box. Walk along the log, feet only. Finish on the blue mat. Station two, ring lane. "
        "You start on the blue mat. Hands on the rings. Finish on the tall box."
    )
    assert len(draft(words_of(opening + text)).stations) == 2


SPOKEN = [
    ("Ye,", "you,"), ("y'all", "you"), ("'em.", "them."), ("wi'", "with"), ("t'bucket,", "the bucket,"), ("an'", "and"), ("an", "an"),
    ("kids'", "kids'"), ("it's", "it's"), ("beam", "beam"), ("...", "..."),
]  # fmt: skip


@pytest.mark.parametrize(("spoken", "written"), SPOKEN)
def test_spoken_forms_are_read_as_they_are_written(spoken: str, written: str) -> None:
    assert as_written(spoken) == written
