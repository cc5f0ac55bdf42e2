"""Sound lies on the picture's clock: late starts and gaps are silence, what comes before the first frame is left out. Peer: ffmpeg."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from annotator.errors import UnreadableVideo
from annotator.media import read_audio
from annotator.media.audio import RATE_HZ, read_chunks
from tests.media.makers import ffmpeg_sound, make_clip, needs_ffmpeg, steady


def whole(path: Path, piece_s: float = 600.0) -> NDArray[np.float32]:
    pieces = list(read_audio(path, piece_s))
    assert all(piece.samples.dtype == np.float32 and piece.samples.ndim == 1 for piece in pieces)
    return np.concatenate([piece.samples for piece in pieces]) if pieces else np.empty(0, np.float32)


def loud(samples: NDArray[np.float32], step_s: float = 0.05) -> list[bool]:
    """Whether each stretch of 50 ms carries the tone."""
    step = round(step_s * RATE_HZ)
    return [bool(samples[at : at + step].std() > 0.1) for at in range(0, len(samples) - step + 1, step)]


KINDS: dict[str, tuple[str, dict[str, Any]]] = {
    "mp4-aac": ("a.mp4", {}),
    "mov-44100": ("a.mov", {"rate_hz": 44_100}),
    "mkv-opus": ("a.mkv", {"sound": "libopus"}),
    "webm": ("a.webm", {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8"}, "sound": "libopus"}),
    "mov-pcm": ("a.mov", {"sound": "pcm_s16le"}),
    "starts-at-3-s": ("a.mkv", {"offset_ms": 3000}),
}


@needs_ffmpeg
@pytest.mark.parametrize(("name", "made"), KINDS.values(), ids=list(KINDS))
def test_samples_are_those_of_an_independent_decoder(tmp_path: Path, name: str, made: dict[str, Any]) -> None:
    path = make_clip(tmp_path / name, steady(75), **made)
    ours, theirs = whole(path), ffmpeg_sound(path)
    assert len(ours) == pytest.approx(3 * RATE_HZ, abs=0.05 * RATE_HZ)
    shared = slice(2000, min(len(ours), len(theirs)) - 2000)
    lags = range(-800, 801)  # clip time begins with the first frame, ffmpeg's with whatever comes first
    errors = [float(np.abs(ours[shared] - np.roll(theirs, lag)[shared]).mean()) for lag in lags]
    best = int(np.argmin(errors))
    assert errors[best] < 0.01
    assert any(abs(lags[at]) <= 160 for at in range(len(errors)) if errors[at] < 0.02), "more than 10 ms apart"


def test_sound_that_begins_late_is_preceded_by_silence(tmp_path: Path) -> None:
    heard = loud(whole(make_clip(tmp_path / "a.mp4", steady(75), sound_from_ms=1500)))
    assert heard[:29] == [False] * 29 and all(heard[31:58])


def test_a_hole_in_the_sound_is_silence_of_its_length(tmp_path: Path) -> None:
    heard = loud(whole(make_clip(tmp_path / "a.mkv", steady(75), hole_ms=(1000, 1600), sound="pcm_s16le")))
    assert all(heard[:20]) and not any(heard[21:31]) and all(heard[33:58])


def test_sound_from_before_the_first_frame_is_left_out(tmp_path: Path) -> None:
    times = [1000 + at for at in steady(50)]
    path = make_clip(tmp_path / "a.mkv", times, sound="pcm_s16le", sound_ms=1500)
    samples = whole(path)
    assert len(samples) == pytest.approx(0.5 * RATE_HZ, abs=0.03 * RATE_HZ)
    assert all(loud(samples)[:9])


def test_a_start_offset_moves_picture_and_sound_together(tmp_path: Path) -> None:
    here = whole(make_clip(tmp_path / "a.mkv", steady(50), sound="pcm_s16le", sound_from_ms=500))
    there = whole(make_clip(tmp_path / "b.mkv", steady(50), sound="pcm_s16le", sound_from_ms=500, offset_ms=7000))
    assert np.array_equal(here, there)


def test_a_film_without_sound_yields_nothing(tmp_path: Path) -> None:
    assert list(read_audio(make_clip(tmp_path / "a.mp4", steady(5), sound=None))) == []


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_clip(tmp_path_factory.mktemp("sound") / "a.mkv", steady(50), sound="pcm_s16le", hole_ms=(700, 1100))


@given(piece_s=st.floats(0.01, 5.0))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_pieces_of_any_length_are_the_same_sound_without_holes(clip: Path, piece_s: float) -> None:
    pieces = list(read_audio(clip, piece_s))
    lengths = {len(piece.samples) for piece in pieces[:-1]}
    assert lengths <= {round(piece_s * RATE_HZ)}
    starts = np.cumsum([0, *(len(piece.samples) for piece in pieces)])[:-1] / RATE_HZ
    assert [piece.start_s for piece in pieces] == pytest.approx(list(starts))
    assert np.array_equal(np.concatenate([piece.samples for piece in pieces]), whole(clip))


@given(start_s=st.floats(0, 1.8), length_s=st.floats(0.01, 2.0))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_span_is_cut_to_the_sample(clip: Path, start_s: float, length_s: float) -> None:
    every = whole(clip)
    span = np.concatenate([np.empty((1, 0), np.float32), *read_chunks(clip, RATE_HZ, 1, start_s, start_s + length_s)], axis=1)[0]
    begins = round(start_s * RATE_HZ)
    wanted = every[begins : begins + round(length_s * RATE_HZ)]
    assert abs(len(span) - len(wanted)) <= 1
    shared = slice(64, min(len(span), len(wanted)) - 64)  # the resampler's filter swings in at the start of a span
    worst = max((float(np.abs(span[shared] - np.roll(wanted, lag)[shared]).max(initial=0)) for lag in (0,)), default=0.0)
    assert worst < 0.2


@pytest.mark.parametrize("piece_s", [0.0, -1.0])
def test_pieces_of_no_length_are_refused(clip: Path, piece_s: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        next(read_audio(clip, piece_s))


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableVideo, match="no such file"):
        next(read_audio(tmp_path / "gone.mp4"))
