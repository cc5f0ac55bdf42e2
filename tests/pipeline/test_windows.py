"""Where stills come from."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import Clip, Station, Surface
from annotator.pipeline.windows import MOST, clip_at, still_windows

CLIPS = (
    Clip(number=1, title="a.mp4", original="0" * 64, start_s=0, duration_s=100, width=640, height=360, has_audio=True),
    Clip(number=2, title="b.mov", original="1" * 64, start_s=100, duration_s=60, width=360, height=640, has_audio=True),
)


def surface(name: str, at_s: float, role: str = "route") -> Surface:
    return Surface.model_validate({"id": f"u{at_s}", "name": name, "role": role, "said": [{"start": at_s, "end": at_s + 1, "text": name}]})


def station(*surfaces: Surface, start: float = 0, end: float = 40) -> Station:
    return Station(id="t1", number=1, start=start, end=end, surfaces=surfaces)


@pytest.mark.parametrize(
    ("time_s", "number"),
    [
        pytest.param(0, 1, id="start"),
        pytest.param(99.9, 1, id="before-the-seam"),
        pytest.param(100, 2, id="seam"),
        pytest.param(999, 2, id="after-the-end"),
    ],
)
def test_the_clip_that_runs_at_a_time(time_s: float, number: int) -> None:
    assert clip_at(CLIPS, time_s).number == number


def test_words_close_together_share_one_still() -> None:
    windows = still_windows(station(surface("blue platform", 10), surface("bar", 12), surface("mat", 30)), CLIPS)
    assert [window.about for window in windows] == [("blue platform", "bar"), ("mat",)]


def test_a_station_that_names_nothing_gives_its_middle() -> None:
    (window,) = still_windows(station(start=20, end=40), CLIPS)
    assert window.start_s <= 30 <= window.end_s and window.about == ()


def test_start_and_finish_keep_their_stills_when_there_are_too_many() -> None:
    rungs = [surface(f"rung {at}", at) for at in range(10, 60, 6)]
    windows = still_windows(station(surface("red mat", 2, "start"), *rungs, surface("green mat", 70, "finish"), end=80), CLIPS)
    named = [name for window in windows for name in window.about]
    assert len(windows) == MOST and "red mat" in named and "green mat" in named


def test_the_second_clip_is_searched_in_its_own_time() -> None:
    (window,) = still_windows(station(surface("net", 130), start=110, end=150), CLIPS)
    assert (window.clip, round(window.start_s, 1)) == (2, 29.6)


@given(st.lists(st.floats(0, 159), max_size=12))
def test_windows_lie_inside_their_clip_and_are_few(times: list[float]) -> None:
    windows = still_windows(station(*(surface(f"thing {at}", at) for at in times), end=160), CLIPS)
    assert 1 <= len(windows) <= MOST
    for window in windows:
        clip = CLIPS[window.clip - 1]
        assert 0 <= window.start_s < window.end_s <= clip.duration_s + 0.11
