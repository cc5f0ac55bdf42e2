"""Names heard wrong: pairs that tiny.en really makes, and ordinary speech in which nothing may be proposed."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import HeardName, Word
from annotator.errors import UnreadableText
from annotator.speech import apply_names, propose_names, read_names

SOME_WORDS = ("the", "swing", "runs", "rungs", "net", "peg.", "Stump,", "hop", "lead", "ledge", "shuffle", "run", "bridge", "tire", "a")
NAMES = ("stump hop", "swing rungs", "peg net", "net traverse", "tyre bridge", "ledge shuffle", "rope run-up", "brick path", "post pads")


def spoken(text: str, pace_s: float = 0.35) -> tuple[Word, ...]:
    return tuple(Word(start=round(at * pace_s, 3), end=round(at * pace_s + 0.3, 3), text=word) for at, word in enumerate(text.split()))


def found(text: str, names: tuple[str, ...] = NAMES) -> list[tuple[str, str, int]]:
    return [(one.heard, one.name, len(one.at)) for one in propose_names(spoken(text), names)]


@pytest.mark.parametrize(
    ("text", "proposed"),
    [
        pytest.param("Number two is the swing runs.", [("swing runs", "swing rungs", 1)], id="one consonant lost"),
        pytest.param("This is the lead shuffle.", [("lead shuffle", "ledge shuffle", 1)], id="another word in the name"),
        pytest.param("Then the tire bridge.", [("tire bridge", "tyre bridge", 1)], id="another spelling"),
        pytest.param("Then the stumphop, go.", [("stumphop", "stump hop", 1)], id="run together"),
        pytest.param(
            "The swing runs. Take the first run, then leave a run out, and hang on the runs.",
            [("swing runs", "swing rungs", 1), ("runs", "rungs", 1), ("run", "rung", 2)],
            id="single words near the name",
        ),
        pytest.param("The brick path. Hold the tall break.", [("break", "brick", 1)], id="a single word beside the name said right"),
    ],
)
def test_what_sounds_like_a_name_is_proposed(text: str, proposed: list[tuple[str, str, int]]) -> None:
    assert found(text) == proposed


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("You climb the net, wherever you like, and the net is in.", id="an ordinary word beside the net"),
        pytest.param("The swing rung is in. Every Swing Rungs.", id="the name itself, singular and plural"),
        pytest.param("The rope run up, and then the run.", id="a hyphen left out"),
        pytest.param("Here's the post. We start on it. The post, we said.", id="a sentence border"),
        pytest.param("You use your hands and the floor is out, hop to the stump.", id="single words of a name"),
        pytest.param("He runs to the end and the run is over.", id="a word like one of a name that is never said"),
        pytest.param("", id="nothing said"),
    ],
)
def test_ordinary_speech_is_left_alone(text: str) -> None:
    assert found(text) == []


@pytest.mark.parametrize(
    ("text", "unsure", "proposed"),
    [
        pytest.param("the rung is in. That rung too. Take each rung. Then the rong.", "rong", [("rong", "rung", 1)], id="said often"),
        pytest.param(
            "the stumps, all stumps, every stump. Hop on the stomp.", "stomp", [("stomp", "stump", 1)], id="in the number it was heard"
        ),
        pytest.param("the rung is in. That rung too. Take each rung. Then the rong.", None, [], id="a word that was heard well"),
        pytest.param("the rung is in. Then the rong.", "rong", [], id="a word that is said once"),
        pytest.param("the ring is in. That ring too. Take each ring. The rope.", "rope", [], id="another sound"),
        pytest.param("the beds, those beds, each bed. Both beads, and the beads.", "beads", [], id="two words, both said more than once"),
    ],
)
def test_an_unsure_word_is_held_against_what_the_walk_says_often(
    text: str, unsure: str | None, proposed: list[tuple[str, str, int]]
) -> None:
    words = [word.model_copy(update={"probability": 0.3 if unsure and unsure in word.text else 0.95}) for word in spoken(text)]
    assert [(one.heard, one.name, len(one.at)) for one in propose_names(words, ())] == proposed


def test_a_proposal_says_why() -> None:
    proposal = propose_names(spoken("Next, the swing runs."), NAMES)[0]
    assert proposal.reason == "“swing runs” sounds and looks like “swing rungs” of the names list."
    assert proposal.state == "proposed"
    assert proposal.at == (0.7,)


def test_only_accepted_names_are_put_in_and_times_stay() -> None:
    words = spoken("Swing runs, then the lead shuffle.")
    proposals = propose_names(words, NAMES)
    assert {one.name for one in proposals} == {"swing rungs", "ledge shuffle"}
    assert apply_names(words, proposals) == words
    accepted = [one.model_copy(update={"state": "accepted" if one.name == "swing rungs" else "declined"}) for one in proposals]
    changed = apply_names(words, accepted)
    assert " ".join(word.text for word in changed) == "Swing rungs, then the lead shuffle."
    assert [(word.start, word.end) for word in changed] == [(word.start, word.end) for word in words]


def test_a_name_of_more_words_shares_the_time_that_was_heard() -> None:
    words = spoken("The stumphop, go.")
    heard = HeardName(heard="stumphop", name="stump hop", reason="", score=1.0, at=(words[1].start,), state="accepted")
    changed = apply_names(words, [heard])
    assert [word.text for word in changed] == ["The", "stump", "hop,", "go."]
    assert (changed[1].start, changed[2].end) == (words[1].start, words[1].end)
    assert changed[1].end == changed[2].start


def test_a_proposal_whose_words_are_gone_changes_nothing() -> None:
    words = spoken("Another text now.")
    heard = HeardName(heard="swing runs", name="swing rungs", reason="", score=1.0, at=(0.0,), state="accepted")
    assert apply_names(words, [heard]) == words


@given(st.lists(st.sampled_from(SOME_WORDS), max_size=30))
def test_accepting_everything_keeps_every_other_word_and_leaves_nothing_to_propose_twice(texts: list[str]) -> None:
    words = spoken(" ".join(texts))
    proposals = [one.model_copy(update={"state": "accepted"}) for one in propose_names(words, NAMES)]
    changed = apply_names(words, proposals)
    assert all(word.end <= following.start for word, following in pairwise(changed))
    taken = {moment for one in proposals for moment in one.at}
    assert len(taken) == sum(len(one.at) for one in proposals)
    assert propose_names(words, NAMES) == propose_names(words, NAMES)


def test_a_names_list_is_a_name_a_line_with_comments(tmp_path: Path) -> None:
    path = tmp_path / "walk.names.txt"
    path.write_bytes("\ufeff# our names\r\nstump  hop\r\n\r\nÉchelle # the ladder\nstump hop\n".encode())
    assert read_names(path) == ("stump hop", "Échelle")


def test_a_names_list_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "names").write_bytes(b"\xff\xfe\x00\xd8")
    with pytest.raises(UnreadableText, match="plain text"):
        read_names(tmp_path / "names")
    with pytest.raises(UnreadableText, match="Check the file's place"):
        read_names(tmp_path / "none")
