"""A rule for every station as staff type it: a thing is a thing, a sentence is read, and what was not understood is told."""

from __future__ import annotations

import pytest

from annotator.rules import read_typed

Rule = tuple[str, str | None, str | None, str | None]


@pytest.mark.parametrize(
    "text",
    [
        "floor",
        "post pads",
        "the top of the post pads",
        "climbing wall",
        "landing mats",
        "foam blocks (top)",
        "safety rope",
        "Matten",
        "walk-in gate",
        "hanging rings",
    ],
)
def test_a_thing_is_a_thing(text: str) -> None:
    read = read_typed(text)
    assert (read.name, read.rules, read.format, read.left) == (True, (), None, ())


@pytest.mark.parametrize(
    "text",
    [
        "Ropes allowed",
        "Ropes okay",
        "ropes fine",
        "floor in",
        "Post pads in",
        "all ropes allowed everywhere",
        "walls forbidden for adults",
        "Touch everything",
        "Skip nothing",
        "Nothing but the pads",
        "one retry",
        "two tries",
        "three retries each",
        "fastest wins",
        "hold bar",  # or is it the name of a bar? A look tells
        "hands on ropes",
    ],
)
def test_a_short_rule_is_never_taken_for_a_thing(text: str) -> None:
    """A thing goes in as out of play without a look: this would be the rule's opposite."""
    read = read_typed(text)
    assert not read.name
    assert read.rules or read.format or read.left == (text,)
    assert all((rule.ruling == "out") == ("forbidden" in text) for rule in read.rules)


SENTENCES: list[tuple[str, list[Rule]]] = [
    ("The floor is out.", [("surface", "floor", None, "out")]),
    ("floor is out", [("surface", "floor", None, "out")]),
    ("walls out", [("surface", "walls", None, "out")]),
    ("Nobody may touch the scaffolding.", [("surface", "scaffolding", None, "out")]),
    ("Post pads are in play except the top.", [("surface", "post pads", None, "in"), ("surface", "post pads", "top", "out")]),
    ("The frame, the bolts and the chains are out.", [("surface", each, None, "out") for each in ("frame", "bolts", "chains")]),
    ("No skipping of platforms.", [("no-skip", "platforms", None, None)]),
    ("Anything not named is out of play", [("unnamed-out", None, None, None)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), [pytest.param(*case, id=case[0]) for case in SENTENCES])
def test_a_sentence_is_read_as_one_that_holds_everywhere(text: str, expected: list[Rule]) -> None:
    read = read_typed(text)
    assert [(rule.rule, rule.surface, rule.part, rule.ruling) for rule in read.rules] == expected
    assert (read.name, read.left) == (False, ())
    assert all(rule.said == () and rule.confidence is None and rule.id is None for rule in read.rules), "nobody said it on the walk"


def test_limbs_and_the_run_are_read_too() -> None:
    (ropes,) = read_typed("Ropes may be touched with the hands only.").rules
    assert (ropes.ruling, ropes.contact) == ("in", ("hands",))
    read = read_typed("You get two retries. The floor is out.")
    assert read.format is not None
    assert (read.format.retries, [rule.surface for rule in read.rules], read.left) == (2, ["floor"], ())


@pytest.mark.parametrize("text", ["The weather is fine today.", "Please be kind to the judges.", "Los postes no se tocan.", "!!!", " "])
def test_a_sentence_that_rules_nothing_is_neither_a_rule_nor_a_thing(text: str) -> None:
    read = read_typed(text)
    assert (read.rules, read.format, read.name) == ((), None, False)


def test_of_several_sentences_those_without_a_rule_are_told_as_typed() -> None:
    read = read_typed("The floor is out. The sun shines today. Post pads are in.")
    assert [rule.surface for rule in read.rules] == ["floor", "post pads"]
    assert read.left == ("The sun shines today.",)


def test_endless_text_is_read_to_its_two_hundredth_word() -> None:
    read = read_typed("The floor is out. " * 50 + "Ropes are in. The post pads are out.")
    assert [rule.surface for rule in read.rules] == ["floor"]
    assert read.left == ("Ropes are in. The post pads are out.",), "what was not read is told"


@pytest.mark.parametrize(
    ("text", "things"),
    [
        ("mats out", ["mats"]),
        ("rings and ropes out", ["rings", "ropes"]),
        ("red mats, blue mats out", ["red mats", "blue mats"]),
        ("floor, red mats, ropes: out of play", ["floor", "red mats", "ropes"]),
    ],
)
def test_a_rule_without_a_verb_is_one_for_each_thing_of_its_list(text: str, things: list[str]) -> None:
    read = read_typed(text)
    assert [(rule.surface, rule.ruling) for rule in read.rules] == [(thing, "out") for thing in things]
    assert read.left == ()


@pytest.mark.parametrize(
    "text",
    [
        "Don't touch the ropes with your feet",
        "No shoes on the mats",
        "No hands on the walls.",
        "The ropes must not be touched with the feet.",
        "Feet may not touch the ropes.",
        "Keep your feet off the mats",
        "The mats may not be touched by hand",
        "No hands on the wall but feet are fine",
        "The mats are out for hands",
        "shoes on mats not allowed",
        "Not one hand may touch the wall.",
    ],
)
def test_what_keeps_some_limbs_off_is_not_read_as_out_for_all(text: str) -> None:
    read = read_typed(text)
    assert (read.rules, read.left, read.may_be_name) == ((), (text,), False)


@pytest.mark.parametrize(
    "text",
    [
        "everything but the mats out",
        "everything but the mats is out",
        "Seniors ropes out",
        "look out",
        "mats out, juniors in",
        "Juniors out",
    ],
)
def test_what_may_be_another_rule_is_not_read_as_a_thing_that_is_out(text: str) -> None:
    read = read_typed(text, divisions=("juniors", "seniors"))
    assert (read.rules, read.left) == ((), (text,))


@pytest.mark.parametrize(
    ("text", "thing"),
    [
        ("skipping platforms not allowed", "platforms"),
        ("Skipping a bar is a fail.", "bar"),
        ("Miss a bar and you are out", "bar"),
        ("Skip a bar and you fail.", "bar"),
    ],
)
def test_what_it_costs_to_skip_a_thing_is_no_ruling_of_the_thing(text: str, thing: str) -> None:
    assert [(rule.rule, rule.surface, rule.ruling) for rule in read_typed(text).rules] == [("no-skip", thing, None)]


@pytest.mark.parametrize("text", ["Don't use the foot rails.", "No foot rails."])
def test_a_thing_with_a_limb_in_its_name_is_a_thing(text: str) -> None:
    assert [(rule.surface, rule.ruling) for rule in read_typed(text).rules] == [("foot rails", "out")]


@pytest.mark.parametrize(
    "text",
    ["Hands off the walls", "Neither hands nor feet may touch the walls", "Keep your hands off the walls", "No hands or feet on the walls"],
)
def test_hands_off_is_said_of_all_limbs(text: str) -> None:
    assert [(rule.surface, rule.ruling) for rule in read_typed(text).rules] == [("walls", "out")]


def test_adults_are_a_class_where_the_course_has_it_as_a_division_and_may_be_everybody_where_not() -> None:
    text = "Adults can't use the ropes"
    assert (read_typed(text).rules, read_typed(text).left) == ((), (text,))
    (ropes,) = read_typed(text, divisions=("Adults", "juniors")).rules
    assert (ropes.surface, ropes.ruling, ropes.divisions) == ("ropes", "in", {"Adults": "out"}), "as the course spells it"
    category = "The ropes are out for Category B"
    assert read_typed(category, divisions=("Category B",)).left == (category,), "not for all what is told of a division"


@pytest.mark.parametrize(
    ("text", "division", "expected"),
    [
        ("Under 12s may not use the ropes.", "Under 12s", {"Under 12s": "out"}),
        ("U10s may not use the ropes.", "U10", {"U10": "out"}),
        ("12 and under may not use the ropes", "12 and under", {"12 and under": "out"}),
        ("You may touch the ropes.", "A", None),
        ("The kids ropes are in.", "Kids", None),
    ],
)
def test_a_division_is_known_by_however_the_course_spells_it(text: str, division: str, expected: dict[str, str] | None) -> None:
    (ropes,) = read_typed(text, divisions=(division,)).rules
    assert (ropes.ruling, ropes.divisions) == ("in", expected)


def test_a_division_that_cannot_be_read_is_left_also_with_a_sign_behind_it() -> None:
    text = "The ropes are out for 40+."
    assert read_typed(text, divisions=("40+",)).rules == ()


@pytest.mark.parametrize("text", ["mats not forbidden", "mats not off limits", "never mats out"])
def test_a_denied_ruling_without_a_verb_is_not_turned_round(text: str) -> None:
    assert read_typed(text).rules == ()


@pytest.mark.parametrize(
    ("text", "may_be"),
    [
        ("post pads", True),
        ("the swingy thing that turns", True),
        ("foot rail", True),
        ("Seniors get two tries", False),
        ("mats out", False),
    ],
)
def test_only_what_may_name_a_thing_is_offered_as_a_name(text: str, may_be: bool) -> None:
    assert read_typed(text).may_be_name == may_be


FOR_CLASSES: list[tuple[str, list[tuple[str, str, dict[str, str]]]]] = [
    ("steps are out, but in for under-tens", [("steps", "out", {"under-tens": "in"})]),
    ("Under-tens may use the steps, nobody else.", [("steps", "out", {"under-tens": "in"})]),
    ("juniors may use the blue blocks", [("blue blocks", "out", {"juniors": "in"})]),
    ("The ropes are out for juniors and seniors", [("ropes", "in", {"juniors": "out", "seniors": "out"})]),
    ("Nobody may touch the ropes except juniors", [("ropes", "out", {"juniors": "in"})]),
    ("Juniors may hold the rope, seniors not", [("rope", "out", {"juniors": "in"})]),
    ("The handrail and the step are out for seniors", [("handrail", "in", {"seniors": "out"}), ("step", "in", {"seniors": "out"})]),
    ("the ropes are in, the nets are out for juniors", [("ropes", "in", {}), ("nets", "in", {"juniors": "out"})]),
    ("Only under-tens may use the rails, posts and ropes.", [(each, "out", {"under-tens": "in"}) for each in ("rails", "posts", "ropes")]),
    ("The low bar is out for seniors and the high bar is out for juniors.",
     [("low bar", "in", {"seniors": "out"}), ("high bar", "in", {"juniors": "out"})]),
    ("The net is out except for juniors and seniors.", [("net", "out", {"juniors": "in", "seniors": "in"})]),
    ("Beginners may use the step.", [("step", "out", {"beginners": "in"})]),
    ("The rail is only for seniors. Everybody else must leave it.", [("rail", "out", {"seniors": "in"})]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), [pytest.param(*case, id=case[0]) for case in FOR_CLASSES])
def test_what_holds_for_a_class_alone_is_never_read_as_for_all(text: str, expected: list[tuple[str, str, dict[str, str]]]) -> None:
    read = read_typed(text)
    assert [(rule.surface, rule.ruling, rule.divisions or {}) for rule in read.rules] == expected
    assert read.left == ()


def test_limbs_stay_with_what_everybody_may_where_a_class_may_not() -> None:
    (ropes,) = read_typed("Ropes are in for hands only, juniors may not touch them.").rules
    assert (ropes.ruling, ropes.contact, ropes.divisions) == ("in", ("hands",), {"juniors": "out"})


@pytest.mark.parametrize(
    "text",
    [
        "juniors get two tries",
        "Juniors may skip platforms",
        "juniors: hands and feet on the ropes",
        "juniors out",
        "Seniors may use hands on the beams too.",
        "Under-tens get a second try. They may also use the rope.",
    ],
)
def test_what_a_class_is_told_and_no_rule_can_hold_is_left(text: str) -> None:
    """Not for all classes what was typed for one: neither a second try nor a platform that may be left out."""
    read = read_typed(f"The floor is out. {text}")
    assert [(rule.surface, rule.ruling) for rule in read.rules] == [("floor", "out")]
    assert (read.format, " ".join(read.left)) == (None, text)
