"""Cues: the published limits on speech as it comes, breaks on a list of pairs that stay together, and words that leave no choice."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.captions import Cue, Setting, broken_limits, plan_cues, speed
from annotator.captions.breaks import NEVER, PAIR, break_costs
from annotator.captions.easing import MOST_MS as EASED_MS
from annotator.captions.easing import eased
from annotator.course import Station, Surface, Word

# As a director talks; common practice, no published source.
WALK = """Okay, so from the green platform, number two, swing rungs. Hands only on these. The yellow rungs, all five, you take them in any
order, and, um, you can leave one out if you like. The frame is yellow too, I know, but the yellow frame is out, and so are the
black straps that hold the rungs up, that's all just hardware. She lands on the white mat, that's your finish, and it's only for
landing, so if you run on past the white mat, that's fine. Next up, this long thing here is the balance beam. You start on the
red, sorry, the orange box. Then you walk the wooden beam, end to end, feet only."""


def spoken(text: str, wpm: float = 200.0, pause_s: float = 0.25, start_s: float = 0.0) -> tuple[Word, ...]:
    """Words at an even pace with a short pause after each sentence."""
    words, at = [], start_s
    for word in text.split():
        words.append(Word(start=round(at, 3), end=round(at + 54 / wpm, 3), text=word))
        at += 60 / wpm + (pause_s if word.endswith((".", "?")) else 0.0)
    return tuple(words)


@pytest.mark.parametrize("portrait", [False, True], ids=["landscape", "portrait"])
@pytest.mark.parametrize("wpm", [130, 160, 200, 220])
def test_speech_at_any_human_pace_keeps_every_limit(wpm: float, portrait: bool) -> None:
    # Limits: DCMP Captioning Key ("Text") and BBC Subtitle Guidelines 1.2.5, sections 3.1, 4.5 and 5.1.
    words = spoken(WALK, wpm)
    cues = plan_cues(words, setting=Setting(portrait=portrait, numerals=False))
    assert broken_limits(cues, portrait=portrait) == ()
    assert " ".join(cue.text for cue in cues).split() == [word.text for word in words]
    starts = {round(word.start * 1000) for word in words}
    assert all(min(abs(cue.start_ms - start) for start in starts) <= EASED_MS for cue in cues)


def test_limits_of_the_report_are_counted_independently() -> None:
    cues = [Cue(0, 1000, ("x" * 38,)), Cue(1500, 9000, ("a", "b", "c"))]
    assert [(broken.cue, broken.limit) for broken in broken_limits(cues)] == [
        (0, "time"),
        (0, "length"),
        (0, "gap"),
        (1, "time"),
        (1, "lines"),
    ]


@pytest.mark.parametrize(
    ("start_ms", "end_ms", "text", "wpm"),
    [pytest.param(0, 1000, "two words", 120.0, id="2 words in 1 s"), pytest.param(500, 2500, "two words", 60.0, id="2 words in 2 s")],
)
def test_speed_is_counted_as_the_guidelines_count_it(start_ms: int, end_ms: int, text: str, wpm: float) -> None:
    assert speed(Cue(start_ms, end_ms, (text,))) == wpm  # BBC Subtitle Guidelines 1.2.5, section 4


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        pytest.param("you stand on the platform now", ("the", "platform"), id="article and noun"),
        pytest.param("then take the small blue box", ("small", "blue"), id="article, adjective and noun"),
        pytest.param("then take the small blue box", ("blue", "box"), id="last adjective and noun"),
        pytest.param("and both of your feet stay", ("of", "your"), id="preposition and phrase"),
        pytest.param("go across with hands", ("with", "hands"), id="preposition and noun"),
        pytest.param("every single one counts", ("every", "single"), id="determiner"),
    ],
)
def test_pairs_that_belong_together_are_never_broken(text: str, kept: tuple[str, str]) -> None:
    # BBC Subtitle Guidelines 1.2.5, section 3.4 and 3.10.
    words = text.split()
    at = words.index(kept[0])
    assert words[at + 1] == kept[1]
    assert break_costs(words, [0] * len(words))[at] >= NEVER


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        pytest.param("and you may touch it", "may", id="parts of a verb"),
        pytest.param("because you fall", "because", id="conjunction and clause"),
        pytest.param("so you go", "you", id="pronoun and verb"),
        pytest.param("on the, er, the green one", "the,", id="a hesitation after an article"),
    ],
)
def test_pairs_that_should_stay_together_cost_much(text: str, kept: str) -> None:
    words = text.split()
    assert break_costs(words, [0] * len(words))[words.index(kept)] >= PAIR


def test_names_of_stations_and_surfaces_are_not_torn_apart() -> None:
    words = ["then", "comes", "balance", "beam", "here"]
    assert break_costs(words, [0] * 5)[2] < PAIR <= break_costs(words, [0] * 5, ["balance beam"])[2]


def test_no_cue_and_no_line_of_the_walk_ends_on_an_article_or_a_preposition() -> None:
    for portrait in (False, True):
        for cue in plan_cues(spoken(WALK), setting=Setting(portrait=portrait)):
            for line in cue.lines:
                assert line.split()[-1] not in {"the", "a", "an", "on", "of", "from", "this", "your", "past", "to", "with"}


def test_sentences_are_the_first_choice_of_a_cut() -> None:
    cues = plan_cues(spoken("Hands only on these five yellow rungs. Nobody may touch the frame at all."))
    assert [cue.text for cue in cues] == ["Hands only on these five yellow rungs.", "Nobody may touch the frame at all."]


def test_a_silence_ends_a_cue() -> None:
    words = spoken("Off you go now please.") + spoken("That was very nicely done.", start_s=12.0)
    cues = plan_cues(words)
    assert [cue.text for cue in cues] == ["Off you go now please.", "That was very nicely done."]
    assert cues[0].end_ms <= 6000
    assert cues[1].start_ms == 12000


def test_a_demonstration_in_silence_is_described_a_second_away_from_speech() -> None:
    words = spoken("Show us how it goes please.") + spoken("And that was clear, thank you.", start_s=12.0)
    station = Station(id="s01", number=1, start=0, end=15, demonstration="clear")
    cues = plan_cues(words, [station])
    assert [cue.text for cue in cues][1] == "[demonstration: clear]"
    assert broken_limits(cues) == ()
    assert cues[1].start_ms - cues[0].end_ms >= 1000


def test_a_demonstration_that_is_spoken_over_is_not_described() -> None:
    station = Station(id="s01", number=1, start=0, end=60, demonstration="fail", surfaces=(Surface(id="u1", name="yellow rungs"),))
    assert not any("[" in cue.text for cue in plan_cues(spoken(WALK), [station]))


@pytest.mark.parametrize(
    ("words", "limits"),
    [
        pytest.param((), set(), id="no words"),
        pytest.param((Word(start=1, end=2, text="x" * 80),), {"length"}, id="one word of 80 letters"),
        pytest.param((Word(start=1, end=1, text="Go."),), set(), id="one word without length"),
        pytest.param((Word(start=1, end=90, text="Goooo."),), set(), id="a word of 89 s"),
        pytest.param((Word(start=1, end=2, text="  "),), set(), id="a word of blanks"),
        pytest.param(tuple(Word(start=5, end=5, text="word") for _ in range(60)), {"time"}, id="sixty words at one moment"),
    ],
)
def test_words_that_leave_no_choice_still_make_cues_and_lose_nothing(words: tuple[Word, ...], limits: set[str]) -> None:
    cues = plan_cues(words)
    assert {broken.limit for broken in broken_limits(cues)} == limits
    assert " ".join(cue.text for cue in cues).split() == [word.text for word in words if word.text.strip()]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 120), st.floats(0, 5), st.sampled_from(["the", "red", "box.", "and", "only,", "a<b", "x" * 30])), max_size=60
    ),
    st.booleans(),
)
def test_every_word_stands_in_one_cue_and_no_two_cues_overlap(rows: list[tuple[float, float, str]], portrait: bool) -> None:
    words = [Word(start=start, end=start + length, text=text) for start, length, text in rows]
    cues = plan_cues(words, setting=Setting(portrait=portrait))
    in_order = [word.text for word in sorted(words, key=lambda word: word.start)]
    assert " ".join(cue.text for cue in cues).split() == in_order
    assert all(earlier.end_ms <= later.start_ms and earlier.start_ms <= earlier.end_ms for earlier, later in pairwise(cues))
    assert cues == plan_cues(words, setting=Setting(portrait=portrait))


CUES = st.lists(
    st.tuples(st.integers(1334, 6000), st.sampled_from([0, 0, 0, 1000, 1100, 2500]), st.integers(1, 12)), min_size=1, max_size=12
)


@given(CUES, st.sampled_from([333, 428]))
def test_easing_moves_no_edge_far_breaks_no_limit_and_hurries_no_more_cues(rows: list[tuple[int, int, int]], hurried_ms: int) -> None:
    cues, at = [], 0
    for lasts, gap, words in rows:
        cues.append(Cue(at, at + lasts, (" ".join(["no"] * words),)))
        at += lasts + gap
    made = eased(cues, hurried_ms)
    assert [cue.lines for cue in made] == [cue.lines for cue in cues]
    assert max(abs(new.start_ms - old.start_ms) for new, old in zip(made, cues, strict=True)) <= EASED_MS
    assert (made[0].start_ms, made[-1].end_ms) == (cues[0].start_ms, cues[-1].end_ms)
    assert broken_limits(made) == broken_limits(cues) == ()

    def hurried(some: Sequence[Cue]) -> int:
        return sum(cue.end_ms - cue.start_ms < hurried_ms * len(cue.text.split()) for cue in some)

    assert hurried(made) <= hurried(cues)
