"""What is weighed where no pattern speaks: limbs, what lies past a finish, roles; and what must stay a gap."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import yaml

from annotator.rules import draft
from annotator.rules.limbed import CLASSES, Thing, features_of, weighed_limbs
from annotator.rules.linear import Weights, fitted
from annotator.rules.reading import Line, read_walk
from tests.rules.reading_of import words_of


def test_shares_are_those_of_a_softmax() -> None:
    weights = Weights(("a", "b", "c"), {"x": (1.0, 0.0, -1.0), "y": (0.5, 0.5, 0.0)})
    raised = [math.exp(1.5), math.exp(0.5), math.exp(-1.0)]
    assert list(weights.shares(["x", "y", "never seen"]).values()) == pytest.approx([each / sum(raised) for each in raised])


@pytest.mark.parametrize("model", ["things", "overshoot", "limbs", "told"])
def test_every_weight_in_the_package_has_a_figure_for_each_class(model: str) -> None:
    weights = fitted(model)
    assert weights.of
    assert {len(row) for row in weights.of.values()} == {len(weights.classes)}


def _thing(text: str) -> tuple[tuple[Line, ...], Thing]:
    lines = read_walk(words_of(text), ()).lines
    return lines, Thing(lines[0].mentions[0], None, None, None, "route", alone=True)


def test_a_limb_of_which_no_word_is_said_stays_open() -> None:
    lines, thing = _thing("You swing from the bar and then from the next one.")
    assert set(weighed_limbs(lines, thing).values()) == {0.0}


def test_hands_and_feet_are_seen_with_the_same_eyes() -> None:
    """Common sense as the measure: with the words for hands and feet exchanged, each side sees what the other saw."""
    hands, thing = _thing("The beam, put both hands on it.")
    feet, same = _thing("The beam, put both feet on it.")
    assert features_of(hands, thing, "hands") == features_of(feet, same, "feet")
    assert features_of(hands, thing, "feet") == features_of(feet, same, "hands")
    assert CLASSES == ("no", "yes")


def test_a_finish_that_only_the_weights_tell_is_still_asked_for_where_they_are_not_sure() -> None:
    text = (
        "Station one. You start on the red box. Walk along the beam, feet only. Finish on the blue mat. "
        "Station two. You start on the blue mat. Walk along the log, feet only, until you run out of log."
    )
    assert ("no-finish", 2) in {(finding.kind, finding.station) for finding in draft(words_of(text)).findings}


def test_no_speaker_that_is_to_stay_unread_stands_among_those_learned_from() -> None:
    here = Path(__file__).parent
    speakers = {
        name: {each["speaker"] for each in yaml.safe_load((here / f"monologues_{name}.yaml").read_text(encoding="utf-8"))}
        for name in (
            "read",
            "taught",
            "taught_a",
            "taught_b",
            "taught_c",
            "taught_d",
            "taught_f",
            "taught_g",
            "taught_h",
            "taught_k",
            "unread",
            "unread_f",
            "unread_g",
        )
    }
    unread = [name for name in speakers if name.startswith("unread")]
    assert not set().union(*(speakers[name] for name in unread)) & set().union(*(speakers[name] for name in speakers if name not in unread))
