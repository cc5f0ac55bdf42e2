"""Words corrected by hand: what was heard stays apart, times are shared out, all can be taken back, none is overwritten."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import HeardName, Word
from annotator.errors import InvalidEdit, StaleEdit
from annotator.speech import Correction, WordsEdit, Written, corrected, corrections_from_json, corrections_to_json, pieces, rewritten

NOW = datetime(2026, 5, 2, 18, 30, tzinfo=UTC)
SAID = "Now the swing runs, um, hands only on the runs."


def spoken(text: str = SAID, from_s: float = 0.0) -> tuple[Word, ...]:
    """Half a second a word, with a gap of a tenth after each."""
    return tuple(
        Word(start=round(from_s + at * 0.5, 3), end=round(from_s + at * 0.5 + 0.4, 3), text=word, probability=0.5)
        for at, word in enumerate(text.split())
    )


def edit(first: int, last: int, text: str | None, was: str | None = None, said: str = SAID) -> WordsEdit:
    """An edit over some heard words; with no text, back to what was heard."""
    parts = () if text is None else (Written(first=first, last=last, text=text),)
    return WordsEdit(first=first, last=last, was=" ".join(said.split()[first:last]) if was is None else was, parts=parts)


def after(*edits: WordsEdit, words: tuple[Word, ...] | None = None, heard: tuple[HeardName, ...] = ()) -> tuple[Correction, ...]:
    made: tuple[Correction, ...] = ()
    for one in edits:
        made, _ = rewritten(words or spoken(), heard, made, one, who="Ana", when=NOW, revision=1)
    return made


def text_of(corrections: tuple[Correction, ...], words: tuple[Word, ...] | None = None, heard: tuple[HeardName, ...] = ()) -> str:
    return " ".join(word.text for word in corrected(words or spoken(), heard, corrections))


NAME = HeardName(heard="swing runs", name="swing rungs", reason="", score=0.9, at=(1.0,), state="accepted")


@pytest.mark.parametrize(
    ("edits", "read", "times"),
    [
        pytest.param(
            [edit(3, 4, "rungs,")], "Now the swing rungs, um, hands only on the runs.", {"rungs,": (1.5, 1.9)}, id="one word for another"
        ),
        pytest.param([edit(4, 5, "")], "Now the swing runs, hands only on the runs.", {"hands": (2.5, 2.9)}, id="a filler left out"),
        pytest.param(
            [edit(2, 4, "swingrungs,")],
            "Now the swingrungs, um, hands only on the runs.",
            {"swingrungs,": (1.0, 1.9)},
            id="two words joined",
        ),
        pytest.param(
            [edit(3, 4, "rung set,")],
            "Now the swing rung set, um, hands only on the runs.",
            {"rung": (1.5, 1.7), "set,": (1.7, 1.9)},
            id="one word split: its time is shared by length",
        ),
        pytest.param(
            [edit(5, 7, "hands not only")],
            "Now the swing runs, um, hands not only on the runs.",
            {"hands": (2.5, 2.74), "not": (2.74, 2.9), "only": (3.0, 3.4)},
            id="a word put in shares the time of the one before it",
        ),
        pytest.param([edit(3, 4, "rungs,"), edit(3, 4, None, was="rungs,")], SAID, {"runs,": (1.5, 1.9)}, id="back to what was heard"),
        pytest.param(
            [edit(3, 4, "rungs,"), edit(2, 5, "rings", was="swing rungs, um,")],
            "Now the rings hands only on the runs.",
            {"rings": (1.0, 2.4)},
            id="a longer correction takes the place of one inside it",
        ),
    ],
)
def test_words_read_as_corrected_and_keep_their_times(edits: list[WordsEdit], read: str, times: dict[str, tuple[float, float]]) -> None:
    words = corrected(spoken(), (), after(*edits))
    assert " ".join(word.text for word in words) == read
    for text, (start, end) in times.items():
        found = next(word for word in words if word.text == text)
        assert (found.start, found.end) == pytest.approx((start, end))


def test_what_was_heard_is_never_changed_and_each_correction_names_its_writer() -> None:
    words = spoken()
    (made,) = after(edit(3, 4, "rungs,"), words=words)
    assert (made.heard, made.text, made.who, made.when, made.at) == ("runs,", "rungs,", "Ana", NOW, 1.5)
    assert " ".join(word.text for word in words) == SAID


def test_two_people_who_correct_different_words_are_in_nobodys_way() -> None:
    made = after(edit(3, 4, "rungs,"))
    made, _ = rewritten(spoken(), (), made, edit(9, 10, "rungs."), who="Ben", when=NOW, revision=2)
    assert text_of(made) == "Now the swing rungs, um, hands only on the rungs."
    assert [one.who for one in made] == ["Ana", "Ben"]


@pytest.mark.parametrize(
    "late",
    [
        pytest.param(edit(3, 4, "rings,"), id="the same word"),
        pytest.param(edit(3, 5, "rings,"), id="a run that holds it"),
    ],
)
def test_a_correction_of_words_that_somebody_changed_meanwhile_is_refused_with_both_sides(late: WordsEdit) -> None:
    made = after(edit(3, 4, "rungs,"))
    with pytest.raises(StaleEdit) as refused:
        rewritten(spoken(), (), made, late, who="Ben", when=NOW, revision=2)
    assert refused.value.mine["text"].startswith("rings,")
    assert refused.value.theirs["text"].startswith("rungs,")


def test_half_of_words_that_somebody_joined_is_refused() -> None:
    made = after(edit(2, 4, "swingrungs,"))
    with pytest.raises(StaleEdit, match="changed by someone else"):
        rewritten(spoken(), (), made, edit(3, 4, "rings,"), who="Ben", when=NOW, revision=2)


def test_the_same_correction_sent_twice_is_one() -> None:
    made = after(edit(3, 4, "rungs,"))
    again, _ = rewritten(spoken(), (), made, edit(3, 4, "rungs,"), who="Ben", when=NOW, revision=2)
    assert again == made


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        pytest.param(edit(9, 11, "x"), "there are 10", id="beyond the end"),
        pytest.param(edit(4, 4, "x"), "there are 10", id="over nothing"),
        pytest.param(WordsEdit(first=2, last=4, was="", parts=(Written(first=1, last=3, text="x"),)), "not inside", id="a part outside"),
        pytest.param(edit(2, 3, "x" * 501), "at most 500", id="a whole page in place of a word"),
    ],
)
def test_an_edit_that_cannot_be_says_why(bad: WordsEdit, told: str) -> None:
    with pytest.raises(InvalidEdit, match=told):
        after(bad)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        pytest.param("<b>rungs</b> & co", "<b>rungs</b> & co", id="markup is text"),
        pytest.param("\x00a\tb\n c\u2028d", "a b c d", id="control characters and line ends are blanks"),
        pytest.param("سلام", "سلام", id="from right to left"),
        pytest.param("x" * 80, "x" * 80, id="a word of 80 letters"),
        pytest.param("👩\u200d👧", "👩\u200d👧", id="signs that are joined"),
    ],
)
def test_any_text_is_kept_as_plain_text(typed: str, kept: str) -> None:
    assert after(edit(2, 3, typed))[0].text == kept


def test_an_accepted_name_stands_where_nobody_corrected_by_hand() -> None:
    assert text_of((), heard=(NAME,)) == "Now the swing rungs, um, hands only on the runs."
    by_hand = after(edit(2, 4, "swing rings,", was="swing rungs,"), heard=(NAME,))
    assert text_of(by_hand, heard=(NAME,)) == "Now the swing rings, um, hands only on the runs."
    assert [(piece.by, piece.text) for piece in pieces(spoken(), (NAME,), ()) if piece.by != "heard"] == [("name", "swing rungs,")]


def test_what_was_heard_can_be_written_over_a_name() -> None:
    by_hand = after(edit(2, 4, "swing runs,", was="swing rungs,"), heard=(NAME,))
    assert text_of(by_hand, heard=(NAME,)) == SAID


def test_corrections_find_their_words_when_the_walk_was_heard_again_a_little_otherwise() -> None:
    made = after(edit(3, 4, "rungs,"), edit(5, 6, "Hands"))
    again = (Word(start=0, end=0.1, text="So."), *spoken(from_s=0.12))
    assert text_of(made, again) == "So. Now the swing rungs, um, Hands only on the runs."
    otherwise = spoken("Now the string runs, um, feet only on the runs.", 0.12)
    assert text_of(made, otherwise) == "Now the string rungs, um, feet only on the runs."


TEXTS = st.lists(st.sampled_from(["the", "runs,", "rungs", "<i>", "سلام", "um", "x" * 80]), max_size=4).map(" ".join)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 4), TEXTS), max_size=6), st.booleans())
def test_any_row_of_edits_can_be_taken_back_and_keeps_the_order_of_times(rows: list[tuple[int, int, str]], named: bool) -> None:
    heard = (NAME,) if named else ()
    made: tuple[Correction, ...] = ()
    before: list[tuple[tuple[Correction, ...], WordsEdit]] = []
    for first, length, text in rows:
        last = min(10, first + length)
        here = [piece for piece in pieces(spoken(), heard, made) if piece.first < last and piece.last > first]
        first, last = here[0].first, here[-1].last  # a page selects whole pieces
        was = " ".join(piece.text for piece in here if piece.words)
        change = WordsEdit(first=first, last=last, was=was, parts=(Written(first=first, last=last, text=text),))
        new, back = rewritten(spoken(), heard, made, change, who="Ana", when=NOW, revision=1)
        before.append((made, back))
        made = new
        words = corrected(spoken(), heard, made)
        assert all(one.start <= one.end for one in words)
        assert all(one.end <= other.start + 1e-9 for one, other in pairwise(words))
        assert corrections_from_json(corrections_to_json(made)) == made
        covered = [place for piece in pieces(spoken(), heard, made) for place in range(piece.first, piece.last)]
        assert covered == list(range(10))
    for old, back in reversed(before):
        made, _ = rewritten(spoken(), heard, made, back, who="Ana", when=NOW, revision=1)
        assert corrected(spoken(), heard, made) == corrected(spoken(), heard, old)
