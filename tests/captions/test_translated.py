"""Translated captions laid back in: their times and words stay, and the same limits are counted."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.captions import Cue, Setting, broken_limits, lay_in, plan_cues, reading, write_srt, write_vtt
from annotator.speech import TextCue, read_timed_text
from tests.captions.test_cues import WALK, spoken

LONG = "Desde la plataforma verde, número dos, peldaños colgantes, solo con las manos."
SET = [
    pytest.param("Solo los pies.", ("Solo los pies.",), id="one line"),
    pytest.param("Solo\nlos pies.", ("Solo", "los pies."), id="the translator's own break"),
    pytest.param(
        "Desde la tabla verde, los pies solo en las piedras.", ("Desde la tabla verde,", "los pies solo en las piedras."), id="too long"
    ),
    pytest.param("a\nb\nc", ("a b c",), id="three short lines"),
    pytest.param("<v Ana><i>A &amp; B</i> &lt;C&gt;", ("A & B <C>",), id="markup and references"),
    pytest.param("x" * 80, ("x" * 80,), id="one word of 80 letters"),
]


@pytest.mark.parametrize(("text", "lines"), SET)
def test_lines_are_set_anew_only_where_they_are_too_long(text: str, lines: tuple[str, ...]) -> None:
    assert lay_in([TextCue(1.0, 3.5, text)]) == (Cue(1000, 3500, lines),)


@pytest.mark.parametrize(("suffix", "write"), [pytest.param(".vtt", write_vtt, id="WebVTT"), pytest.param(".srt", write_srt, id="SubRip")])
def test_our_own_captions_laid_back_in_are_the_same_cue_for_cue(tmp_path: Path, suffix: str, write: type[str]) -> None:
    cues = plan_cues(spoken(WALK + " The sign says A & B < C. It costs nothing."))
    path = tmp_path / f"captions{suffix}"
    path.write_text(write(cues), "utf-8")
    read = read_timed_text(path)
    assert read.problems == ()
    assert lay_in(read.cues) == cues


def test_a_translation_is_counted_by_the_same_limits() -> None:
    cues = lay_in([TextCue(0.0, 1.0, "Uno."), TextCue(1.5, 9.0, LONG), TextCue(8.0, 9.0, "Tres.")])
    assert [(broken.cue, broken.limit) for broken in broken_limits(cues)] == [
        (0, "time"), (0, "gap"), (1, "time"), (1, "length"), (1, "gap"), (2, "time"),
    ]  # fmt: skip
    assert [each.kept for each in reading(cues, Setting()).limits if not each.wish] == [0, 3, 2, 1]


TEXTS = st.lists(
    st.text(st.characters(codec="utf-8", exclude_characters="<>&\r\n\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"), max_size=90),
    max_size=12,
)


@given(TEXTS)
def test_no_word_of_a_translation_is_lost_and_times_stay(texts: list[str]) -> None:
    cues = [TextCue(float(at), at + 0.9, text) for at, text in enumerate(texts)]
    laid = lay_in(cues)
    assert " ".join(cue.text for cue in laid).split() == " ".join(texts).split()
    assert {cue.start_ms for cue in laid} <= {1000 * at for at in range(len(texts))}
    assert all(earlier.start_ms < later.start_ms for earlier, later in pairwise(laid))


@pytest.mark.parametrize(
    ("second", "third", "expected"),
    [
        pytest.param("00:00:0x,000 --> 00:00:06,000", 9, [(4300, 5350, "Feet & only."), (9000, 12_000, "End.")], id="a time that is none"),
        pytest.param("00:00:06,000 --> xx", 9, [(6000, 7050, "Feet & only."), (9000, 12_000, "End.")], id="an end that is none"),
        pytest.param("00:00:0x,000 --> 00:00:06,000", 4.4, [(4400, 12_000, "End.")], id="no room between its neighbours"),
    ],
)
def test_a_caption_without_a_time_is_kept_between_its_neighbours(
    tmp_path: Path, second: str, third: float, expected: list[tuple[int, int, str]]
) -> None:
    file = tmp_path / "walk.vtt"
    begins = f"00:00:{third:06.3f}"
    file.write_text(
        f"WEBVTT\n\n00:00:00.500 --> 00:00:04.300\nWelcome.\n\n{second}\nFeet &amp; only.\n\n{begins} --> 00:00:12.000\nEnd.\n", "utf-8"
    )
    read = read_timed_text(file)
    laid = lay_in(read.cues)
    assert [(cue.start_ms, cue.end_ms, cue.text) for cue in laid[1:]] == expected
    assert "Feet & only." in " ".join(cue.text for cue in laid)
    assert len(read.problems) == 1 and "line 6" in read.problems[0].lower()
