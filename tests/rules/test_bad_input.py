"""Whatever comes in, a sheet comes out: empty, odd, foreign, disordered and endless walks."""

from __future__ import annotations

import string

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.course import Sheet, Word
from annotator.rules import draft
from tests.rules.reading_of import words_of

GERMAN = "Die Matte ist nicht im Spiel und der Balken auch nicht, ihr startet hier vorne auf dem Kasten. "
FRENCH = "Vous partez de la plateforme bleue et vous finissez sur le tapis vert avec les deux mains. "

NOTHING = [
    pytest.param([], "no-station", id="no words"),
    pytest.param([Word(start=0, end=1, text="")], "no-station", id="an empty word"),
    pytest.param([Word(start=0, end=1, text="...")], "no-station", id="only dots"),
    pytest.param(words_of("\x00 \x07 ♪ 12"), "no-station", id="signs and a number"),
    pytest.param(words_of("Hello."), "no-station", id="one word"),
    pytest.param(words_of("platform"), "no-station", id="one thing"),
    pytest.param(words_of("What a lovely day, the sun is out and we all had ice cream by the river."), "no-station", id="no station"),
    pytest.param(words_of(GERMAN * 4), "other-language", id="German"),
    pytest.param(words_of(FRENCH * 4), "other-language", id="French"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "kind"), NOTHING)
def test_a_walk_without_stations_gives_an_empty_sheet_with_one_finding(words: list[Word], kind: str) -> None:
    sheet = draft(words)
    assert sheet.stations == ()
    assert [f.kind for f in sheet.findings] == [kind]
    assert sheet.findings[0].about.endswith(".")


WALK = (
    "Station one, log walk. You start on the red box. Walk along the log, feet only. Finish on the blue mat. "
    "Station two, ring swing. From the blue mat you swing along the rings, hands only. The chains are out. Finish on the green box."
)


def test_words_out_of_order_are_sorted_by_their_times() -> None:
    words = words_of(WALK)
    assert draft(words[::-1]) == draft(words)


def test_overlapping_times_are_kept_as_they_are() -> None:
    words = [w.model_copy(update={"end": w.end + 2.0}) for w in words_of(WALK)]
    assert [len(s.surfaces) for s in draft(words).stations] == [3, 4]


def test_all_words_at_one_moment_still_give_a_sheet() -> None:
    words = [Word(start=1.0, end=1.0, text=w.text) for w in words_of(WALK)]
    assert isinstance(draft(words), Sheet)


def test_markup_and_control_characters_are_read_over() -> None:
    marked = [w.model_copy(update={"text": f"<c.yellow>{w.text}</c>\u200b\x07"}) for w in words_of(WALK)]
    plain = draft(words_of(WALK))
    assert [[s.name for s in station.surfaces] for station in draft(marked).stations] == [
        [s.name for s in t.surfaces] for t in plain.stations
    ]


def test_words_without_any_punctuation_or_capitals_still_give_the_stations() -> None:
    bare = [w.model_copy(update={"text": w.text.lower().strip(".,")}) for w in words_of(WALK)]
    assert [s.number for s in draft(bare, ["log walk", "ring swing"]).stations] == [1, 2]


def test_hours_of_speech_are_read_to_the_end() -> None:
    # one hour here; 100,000 words were tried by hand and take eight times as long, no more
    words = words_of((WALK + " ") * (12_000 // len(WALK.split()) + 1))
    sheet = draft(words)
    assert len(words) >= 12_000
    assert len(sheet.stations) > 250
    assert sheet.stations[-1].end > 0.99 * words[-1].end


speech = st.lists(
    st.one_of(
        st.sampled_from(
            (WALK + " no sorry not the it that those hands feet only except top of under-tens may everywhere , . ? ! - ' 's n't").split()
        ),
        st.text(alphabet=string.printable + "äéß…“”—♪\u200b\u202e", max_size=12),
    ),
    max_size=60,
)
times = st.floats(min_value=0, max_value=1e5, allow_nan=False)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(texts=speech, starts=st.lists(times, min_size=60, max_size=60), names=st.lists(st.text(max_size=14), max_size=3))
def test_any_words_give_a_sheet_and_the_same_one_twice(texts: list[str], starts: list[float], names: list[str]) -> None:
    words = [Word(start=a, end=a + 0.2, text=t) for a, t in zip(starts, texts, strict=False)]
    sheet = draft(words, names)
    assert draft(words, names) == sheet
    assert [s.number for s in sheet.stations] == list(range(1, len(sheet.stations) + 1))
    assert all(s.start <= s.end for s in sheet.stations)
    starts_s = [s.start for s in sheet.stations]
    assert starts_s == sorted(starts_s)
    for station in sheet.stations:
        for surface in station.surfaces:
            assert surface.name.strip() == surface.name != ""
            assert surface.said or surface.confidence is not None


@settings(max_examples=60, deadline=None)
@given(texts=speech)
def test_sentences_keep_every_word_in_order(texts: list[str]) -> None:
    from annotator.rules.text import clean, cut

    heard = clean([Word(start=float(i), end=i + 0.5, text=t) for i, t in enumerate(texts)])
    spans = list(cut(heard))
    assert [w for a, b in spans for w in heard[a:b]] == list(heard)
    assert all(a < b for a, b in spans)


@settings(max_examples=60, deadline=None)
@given(texts=speech)
def test_mending_only_takes_words_out(texts: list[str]) -> None:
    from annotator.rules.repairs import mend
    from annotator.rules.text import clean

    heard = clean([Word(start=float(i), end=i + 0.5, text=t) for i, t in enumerate(texts)])
    kept = [w.order for w in mend(heard)]
    assert kept == sorted(set(kept))
    assert [heard[i].text for i in kept] == [w.text for w in mend(heard)]
