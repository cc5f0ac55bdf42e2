"""Parts told by their wholes where nothing says so outright: what the language model makes of two phrases, and what is done with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.rules import draft
from annotator.rules.belonging import BACK, PLACES, place_of, wholes_near, with_wholes
from annotator.rules.reading import read_walk
from annotator.rules.sentences import Listened, listen
from annotator.rules.skeleton import Skeleton
from tests.rules.reading_of import words_of

LADDER = "You start on the blue mat. You go up the ladder. The rungs are out. Finish on the box."


def skeletons(text: str) -> list[Skeleton]:
    return [line.skeleton for line in read_walk(words_of(text), ()).lines]


def hearing(bones: list[Skeleton], bias: float) -> Listened:
    """A walk as the model reads it, in which every thing is as likely a whole."""
    listened = listen([each.sentence for each in bones])
    assert listened is not None, "run scripts/test, which installs the language model"
    weight, _ = listened.heads["of"]
    return replace(listened, heads={**listened.heads, "of": (np.zeros_like(weight), np.full(1, bias, np.float32))})


@given(st.integers(-3, 20), st.booleans())
def test_every_place_is_one_of_those_that_are_told_apart(back: int, before: bool) -> None:
    place = place_of(back, before=before)
    assert (place is None) == (back < -1 or back > BACK)
    assert place is None or 0 <= place < PLACES


def test_a_phrase_may_be_of_what_is_told_before_it_and_a_little_behind() -> None:
    mentions = [bones.mentions for bones in skeletons(LADDER)]
    at = next(at for at, mine in enumerate(mentions) if "rung" in [m.head for m in mine])
    near = [
        (there - at, whole.head, place) for there, whole, place in wholes_near(mentions, at, [m.head for m in mentions[at]].index("rung"))
    ]
    assert near == [(-2, "mat", 3), (-1, "ladder", 2), (1, "box", 0)]


def test_what_the_model_is_sure_of_is_a_part_and_all_else_stays_as_it_was() -> None:
    bones = skeletons(LADDER)
    assert [m.part for each in with_wholes(bones, hearing(bones, -9.0)) for m in each.mentions] == [None] * 4
    told = with_wholes(bones, hearing(bones, 9.0))
    assert all(m.part is not None for each in told for m in each.mentions)
    assert [(m.first, m.last) for each in told for m in each.mentions] == [(m.first, m.last) for each in bones for m in each.mentions]
    assert [each.items for each in told] == [each.items for each in bones]


@pytest.mark.parametrize(
    ("said", "whole", "part"),
    [
        ("There's a pony cart, you climb over it, feet on the spokes.", "pony cart", "spokes"),
        ("Then a boat, hands on the gunwales, the seats are out.", "boat", "seats"),
    ],
)
def test_a_part_is_drafted_as_one_though_nothing_says_so(said: str, whole: str, part: str) -> None:
    """A part's whole is told with it; common practice, no published source."""
    sheet = draft(words_of(f"Station one. You start on the blue mat. {said} You finish on the red box."), ())
    assert (whole, part) in [(surface.name, surface.part) for surface in sheet.stations[0].surfaces]


def test_a_thing_beside_another_is_no_part_of_it() -> None:
    """Common practice, no published source."""
    sheet = draft(
        words_of("Station one. You start on the blue mat. Cross the beam, feet only. The rope is out. Finish on the red box."), ()
    )
    assert [surface.part for surface in sheet.stations[0].surfaces] == [None] * 4
