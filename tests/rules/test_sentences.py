"""The language model that reads a walk sentence by sentence, and what its odds do beside the cues."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.rules import draft, sentences, stations
from annotator.rules.demonstration import weighed_demonstration
from annotator.rules.reading import Line, read_walk
from annotator.rules.sentences import LONGEST, WINDOW, Leanings, leanings, listen, spotted, windows
from annotator.rules.stations import divide
from tests.rules.reading_of import words_of

SAID = (
    "Morning all, lovely to see so many of you, and thanks for coming out in this weather. There are a few of these and I will take you "
    "round all of them. So this is where it begins. You stand on the red box and walk along the log, feet only. The log's stumps are out. "
    "You are done on the blue mat, and if you run past it, never mind. Right, off that and over to the net. Stand on the mat to begin "
    "with. Climb the net with hands and feet, not the frame. Drop on the straw and you have made it. Good luck to you all."
)


def walk(text: str) -> tuple[Line, ...]:
    return read_walk(words_of(text), ()).lines


@given(st.lists(st.integers(1, LONGEST), min_size=1, max_size=200))
def test_each_sentence_is_read_once_with_those_beside_it(sizes: list[int]) -> None:
    runs = windows(sizes)
    assert [at for _, kept, last in runs for at in range(kept, last)] == list(range(len(sizes)))
    assert all(first <= kept < last for first, kept, last in runs)
    assert all(2 + sum(sizes[first:last]) <= WINDOW for first, _, last in runs)
    assert all(first < kept for (_, _, _), (first, kept, _) in pairwise(runs) if 2 + sum(sizes[kept - 1 : kept + 1]) <= WINDOW)


def test_every_sentence_of_a_long_walk_has_odds_and_the_same_ones_each_time() -> None:
    lines = walk(" ".join([SAID] * 12))
    read = leanings(lines)
    assert read is not None, "run scripts/test, which installs the language model"
    assert read.begins.shape == read.inside.shape == read.course.shape == (len(lines),)
    assert read.shown.shape == (len(lines), 2)
    assert np.isfinite(read.begins).all()
    again = leanings(lines)
    assert again is not None
    assert np.array_equal(read.begins, again.begins)


def test_a_station_that_nothing_announces_begins_where_the_talk_turns() -> None:
    lines = walk(SAID)
    read = leanings(lines)
    assert read is not None
    spans = divide(lines, read).stations
    assert [lines[a].plain.split()[:2] for a, _ in spans] == [["so", "this"], ["right,", "off"]]
    assert len(divide(lines).stations) == 1  # which the cues alone do not see


def test_without_the_model_the_cues_decide_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sentences, "model", lambda: None)
    assert leanings(walk(SAID)) is None
    sheet = draft(words_of("Station one. Start on the box. Finish on the mat. Station two. Start on the mat. Finish on the log."))
    assert len(sheet.stations) == 2


def odds(lines: tuple[Line, ...], begins: dict[int, float]) -> Leanings:
    """Odds of a made-up reader that is sure of everything else."""
    n = len(lines)
    return Leanings(np.array([begins.get(k, -6.0) for k in range(n)]), np.full(n, 3.0), np.full(n, -6.0), np.full((n, 2), -8.0))


def test_what_only_announces_stations_begins_none_however_sure_the_model_is() -> None:
    text = "Next is the ring row, which we will film after lunch today. Start on the red box. Climb the wall. Finish on the mat."
    lines = walk(text)
    assert [a for a, _ in divide(lines, odds(lines, {0: 6.0, 1: 3.0})).stations] == [1]


def test_the_model_is_heard_where_no_cue_speaks() -> None:
    lines = walk("You climb the wall with both hands. You end up on the straw. You crawl along the pipe. You end up on the mat.")
    assert [a for a, _ in divide(lines, odds(lines, {0: 5.0, 2: 5.0})).stations] == [0, 2]
    assert [a for a, _ in divide(lines, odds(lines, {0: 5.0})).stations] == [0]


TWICE = (
    "You climb the wall with both hands. Mind the wet side. Use the cracks. You end up on the straw. {aside} You crawl along the pipe. "
    "Mind the ends. Use your knees. You end up on the mat."
)


def test_what_is_told_in_a_breath_is_no_station_where_the_others_are_told_at_length(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = walk(TWICE.format(aside="You start on the crate and end on the gate."))
    read = odds(lines, {0: 5.0, 4: 2.0, 5: 5.0})
    assert [a for a, _ in divide(lines, read).stations] == [0, 5]
    monkeypatch.setattr(stations, "BRIEF", 0.0)
    assert [a for a, _ in divide(lines, read).stations] == [0, 4, 5]


def test_a_walk_told_in_a_breath_a_station_keeps_them_all() -> None:
    """Common practice, no published source."""
    said = (
        "Station one, balance beam, feet only, start on the red box and finish on the blue mat. Station two, monkey bars, hands only, "
        "start on the blue mat, finish on the green box. Station three, cargo net, hands and feet, finish on the far platform."
    )
    assert len(draft(words_of(said)).stations) == 3


@pytest.mark.parametrize(
    ("told", "clear", "failed", "expected"),
    [
        pytest.param(None, -8.0, -8.0, None, id="nothing told"),
        pytest.param(None, 4.0, -8.0, "clear", id="the model hears a result that no pattern knows"),
        pytest.param(None, 2.0, -8.0, None, id="not surely enough"),
        pytest.param("clear", -8.0, 3.0, "fail", id="the model is surer than the pattern"),
        pytest.param("fail", 0.3, -1.0, "fail", id="a pattern stands against a doubt"),
        pytest.param("clear", -1.0, -8.0, "clear", id="a pattern that the model only doubts"),
        pytest.param("clear", -8.0, -8.0, None, id="a pattern where the model is sure that nothing is told"),
    ],
)
def test_a_demonstration_comes_to_what_patterns_and_model_say_together(
    told: str | None, clear: float, failed: float, expected: str | None
) -> None:
    bones = [line.skeleton for line in walk("Off you go. He went round. Thank you.")]
    rows = np.full((3, 2), -8.0)
    rows[1] = clear, failed
    result, sentence = weighed_demonstration(told, bones[2] if told else None, bones, rows)  # type: ignore[arg-type]
    assert result == expected
    assert (sentence is None) == (expected is None)
    if expected is not None and expected != told:
        assert sentence is bones[1]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("He went round, and that's a legal run.", "clear"),
        ("He went round, but that's a dud.", "fail"),
        ("If you touch it that's a fault.", "fail"),  # tells of nobody: the model alone
    ],
)
def test_the_words_of_a_verdict_tell_which_it_was_where_the_model_hears_that_there_was_one(said: str, expected: str) -> None:
    bones = [line.skeleton for line in walk(f"Magnie. {said} Thank you.")]
    rows = np.full((3, 2), -8.0)
    rows[1] = 3.9, 4.1
    rows[1] += 0.5
    assert weighed_demonstration(None, None, bones, rows)[0] == expected
    rows[1] = rows[1][::-1]
    assert weighed_demonstration(None, None, bones, rows)[0] == ("clear" if "If" in said else expected)


def test_a_demonstration_is_sought_in_the_sentences_that_the_station_has(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is said for all in the midst of a station is none of its own; the odds are those of the others."""
    asked = []

    def weigh(told: Any, sentence: Any, own: Any, rows: Any) -> Any:
        asked.append((len(own), len(rows)))
        return weighed_demonstration(told, sentence, own, rows)

    monkeypatch.setattr(sys.modules["annotator.rules.draft"], "weighed_demonstration", weigh)
    draft(
        words_of(
            "Station one. You start on the red box. On every station of this course the tyres are out, wherever you meet one. "
            "Walk along the beam, feet only. Finish on the blue mat."
        )
    )
    assert asked == [(4, 4)]


def test_words_of_things_are_told_though_the_tagger_takes_them_for_others() -> None:
    text = "Station one. Kick off on the esky, lid shut, thank you. Over the net, hands and feet. You finish on the mat, and stop there."
    lines = walk(text)
    listened = listen([line.skeleton.sentence for line in lines])
    assert listened is not None
    assert len(listened.states) == len(listened.owners) == len(lines)
    assert all(len(states) == len(owners) for states, owners in zip(listened.states, listened.owners, strict=True))
    tokens = [token.low for token in lines[1].skeleton.sentence.tokens]
    assert tokens.index("esky") in spotted(listened)[1].things
    assert not any(m.name == "esky" for m in lines[1].mentions)  # by the tagger an adjective
    assert next((s.name, s.role) for s in draft(words_of(text)).stations[0].surfaces) == ("esky", "start")


def test_shares_sum_to_one_and_words_past_the_last_that_is_read_have_none() -> None:
    (line,) = walk("Over the net and then you stop.")
    tokens = line.skeleton.sentence.tokens
    long = replace(line.skeleton.sentence, tokens=tokens[:1] * LONGEST + tokens)
    listened = listen([long])
    assert listened is not None
    told = listened.words(0, "thing")
    assert len(told) == LONGEST
    assert all(share.sum() == pytest.approx(1.0, abs=1e-5) for share in told.values())
    assert listened.mean(0, max(told) + 1, max(told) + 5) is None
