"""Rules said once for the whole course, and how a run is counted. Common practice, no published source."""

from __future__ import annotations

import pytest

from annotator.course import Said
from annotator.rules import draft
from annotator.rules.runformat import find_format
from tests.rules.reading_of import words_of

STATION = "Station one. You start on the red box. Walk along the beam, feet only. Finish on the blue mat."
Rule = tuple[str, str | None, str | None, str | None]

RULES: list[tuple[str, list[Rule]]] = [
    ("If I don't name it, it's out.", [("unnamed-out", None, None, None)]),
    ("Anything I haven't mentioned is out of play.", [("unnamed-out", None, None, None)]),
    ("Unless I say so, it is off limits.", [("unnamed-out", None, None, None)]),
    ("You can't skip a platform.", [("no-skip", "platform", None, None)]),
    ("Every platform must be touched, you have to touch each one.", [("no-skip", "platform", None, None)]),
    ("The floor is out everywhere.", [("surface", "floor", None, "out")]),
    ("The post pads are in, except the top, the top of the pads is out.",
     [("surface", "post pads", None, "in"), ("surface", "post pads", "top", "out")]),
    ("Never touch the scaffold.", [("surface", "scaffold", None, "out")]),
    ("You can't skip a platform. And no bar may be bypassed.", [("no-skip", "platform", None, None), ("no-skip", "bar", None, None)]),
    ("Every raft you come to gets a boot on it.", [("no-skip", "raft", None, None)]),
    ("What I haven't shown you, you haven't got.", [("unnamed-out", None, None, None)]),
    ("In some halls they say whatever isn't named is out.", []),
    ("Nobody puts a finger on a mirror, it doesn't matter which station you're at.", [("surface", "mirror", None, "out")]),
    ("Wherever you are, the grass is fire.", [("surface", "grass", None, "out")]),
    ("The straw bales, they are everywhere, use them, sleep on them.", [("surface", "straw bales", None, "in")]),
    ("For the whole circuit, the parquet is not touched, never.", [("surface", "parquet", None, "out")]),
    ("No contact with the power cables, on the complete course.", [("surface", "power cables", None, "out")]),
    ("I say it now so I don't say it eight times, the ropes are out.", [("surface", "ropes", None, "out")]),
    ("If I didn't say you could use it, you can't.", [("unnamed-out", None, None, None)]),
    ("You may have a second bash at anything.", []),
    ("The pole is permitted for the over-fifties, and for all others it is not permitted.", []),
    ("The shelf is for the juniors, and for all the others it's out.", []),
    ("Every garden here has a post with a lamp, and no post is to be missed.", [("no-skip", "post", None, None)]),
    ("Pillars cannot touch.", [("surface", "pillars", None, "out")]),
    ("You can hold any barrel on all ten. But not the lid.",
     [("surface", "barrel", None, "in"), ("surface", "barrel", "lid", "out")]),
    ("At all ten, each crate wants a boot, you leave none out.", [("no-skip", "crate", None, None)]),
    ("A thing on which I have kept silent is a thing you keep your hands off.", [("unnamed-out", None, None, None)]),
    ("If it did not come from my mouth, you don't use it.", [("unnamed-out", None, None, None)]),
    ("Nobody holds anything that the coach has not handed you.", [("unnamed-out", None, None, None)]),
    ("Whatever we never spoke of is shut.", [("unnamed-out", None, None, None)]),
    ("What I pass without a word, you walk past it.", [("unnamed-out", None, None, None)]),
    ("If I said nothing about it, you do nothing with it.", [("unnamed-out", None, None, None)]),
    ("I have not said when the shop is closed.", []),
    ("If you did not hear the whistle, don't start.", []),
    ("The floor is in everywhere. No, sorry, the floor is out everywhere.", [("surface", "floor", None, "out")]),
    ("Only the sisters from the kitchen could lean on a barrel, at any station.", [("surface", "barrel", None, "out")]),
    ("Then the ground, there are nettles on the ground, nettles are poison.", [("surface", "nettles", None, "out")]),
    ("Anything with a purple star on it is out, wherever you are.", [("surface", "anything with purple star", None, "out")]),
    ("The planters, in the whole yard, you do not touch them.", [("surface", "planters", None, "out")]),
    ("Cushions, you know the ones, they have a lion on them, they are forbidden.", [("surface", "cushions", None, "out")]),
    ("The gravel is the sea, nobody walks on the sea.", [("surface", "gravel", None, "out")]),
    ("Helmets, wherever they lie, you'll not put a boot or a hand on a helmet.", [("surface", "helmets", None, "out")]),
    ("These striped tiles we're all standing on, they're out, the whole market of them.", [("surface", "striped tiles", None, "out")]),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in RULES])
def test_a_rule_for_the_whole_course_is_written_down_once(said: str, expected: list[Rule]) -> None:
    sheet = draft(words_of(f"Welcome everybody to our course. {said} {STATION}"))
    assert [(r.rule, r.surface, r.part, r.ruling) for r in sheet.blanket] == expected
    assert all(rule.said for rule in sheet.blanket)
    assert len(sheet.stations) == 1


def test_what_an_unfound_station_rules_is_not_ruled_for_all() -> None:
    opening = (
        "Welcome. The handles are out. From the cupboard you hop along on the lids. Feet on the lids. You finish on the sofa. The knobs "
        "are out. Every tile, wherever you are, is out."
    )
    sheet = draft(words_of(f"{opening} {STATION}"))
    assert len(sheet.stations) == 1
    assert [rule.surface for rule in sheet.blanket] == ["handles", "tile"]


def test_a_rule_for_all_that_is_taken_back_later_on_is_as_it_was_said_last() -> None:
    later = "Scratch what I said, cones are out, they have thorns."
    sheet = draft(words_of(f"Welcome to our course. Cones are fine, wherever you are. {STATION} {later}"))
    assert [(rule.surface, rule.ruling) for rule in sheet.blanket] == [("cones", "out")]


FORMATS = [
    ("You get one retry.", 1, None),
    ("You have two retries in the whole run.", 2, None),
    ("There are no retries.", 0, None),
    ("You have only one try at every station.", 0, None),
    ("You get a second go if you fall.", 1, None),
    ("Third fall and you're done.", 2, None),
    ("The first fall costs nothing, the second fall sends you to the gate.", 1, None),
    ("Two falls and you go and sit down.", 1, None),
    ("The third fall, and there is no more of it.", 2, None),
    ("On the second fall, join your parents behind the rail.", 1, None),
    ("You may slip once and do it again, slip twice and you walk home.", 1, None),
    ("You drop, there is no second time.", 0, None),
    ("Two slips and you're out.", 1, None),
    ("The third miss and it's over.", 2, None),
    ("You may start over.", 1, None),
    ("One go, that's your lot.", 0, None),
    ("You get another go, fall again, and you get another.", 2, None),
    ("Whoever falls gets to do the same thing over.", 1, None),
    ("If you miss you get three more tries at it.", 3, None),
    ("You may have one further go, and after that you are home.", 1, None),
    ("Everybody gets three tries at a thing.", 2, None),
    ("You can repeat each exercise two times.", 2, None),
    ("You try one time.", 0, None),
    ("You get the one run at it.", 0, None),
    ("Who falls tries again, three more times.", 3, None),
    ("Come off and you're off.", 0, None),
    ("Whoever gets furthest wins, and on a tie the fastest is ahead.", None, "furthest then fastest"),
    ("The most obstacles wins, then we look at time.", None, "most stations then fastest"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "retries", "ranking"), [pytest.param(*case, id=case[0]) for case in FORMATS])
def test_the_format_of_a_run_is_read(said: str, retries: int | None, ranking: str | None) -> None:
    run = find_format([(said.lower(), Said(start=0, end=1, text=said))])
    assert run is not None
    assert (run.retries, run.ranking) == (retries, ranking)
    assert [s.text for s in run.said] == [said]


SOMETHING_ELSE = [
    "There is a second drop after the ledge.",
    "The second time you go down the rope, let go of the knot.",
    "The second slip mat is out of play.",
    "Two drops and you are on the beam.",
    "From the ledge you can run over.",
    "The third miss of the swing is by the wall.",
    "After the second fall, start again at the post.",
    "I say once more, mind your fingers.",
    "Run two times round the post.",
    "Go round the two posts again and hold the rope.",
]


@pytest.mark.parametrize("said", SOMETHING_ELSE)
def test_no_retries_are_read_from_a_sentence_about_something_else(said: str) -> None:
    told = [(each.lower(), Said(start=0, end=1, text=each)) for each in ("If you fall off, you get one retry.", said)]
    assert find_format(told[1:]) is None
    run = find_format(told)
    assert run is not None
    assert run.retries == 1, "and it does not win over one that tells them"


CORRECTED = [
    (("You get three retries.", "No, none."), 0),
    (("Who falls gets up again.", "The third time he goes home."), 2),
    (("You get three retries.", "Sorry, one retry."), 1),
    (("You get two do-overs.", "There's one more beep and then you get going."), 2),
    (("You get a do-over.", "You get two do-overs in fact."), 2),
    (("If you fall you do not go again.",), 0),
]


@pytest.mark.parametrize(("said", "retries"), [pytest.param(*case, id=" ".join(case[0])) for case in CORRECTED])
def test_a_number_of_retries_that_is_taken_back_does_not_hold(said: tuple[str, ...], retries: int) -> None:
    run = find_format([(each.lower(), Said(start=0, end=1, text=each)) for each in said])
    assert run is not None
    assert run.retries == retries


def test_a_rule_is_for_the_whole_course_where_the_next_sentence_says_so() -> None:
    sheet = draft(words_of(f"{STATION} No beam is to be skipped. I mean that for every station. Station two. You start on the white box."))
    assert [(r.rule, r.surface) for r in sheet.blanket] == [("no-skip", "beam")]


def test_no_word_on_the_format_gives_none() -> None:
    assert find_format([("good morning everybody", Said(start=0, end=1, text="Good morning everybody"))]) is None
    turn = "the second time you touch the rope, let go"
    assert find_format([(turn, Said(start=0, end=1, text=turn))]) is None
