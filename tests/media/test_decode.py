"""What a viewer sees at time t is the last frame with pts <= t (ISO/IEC 14496-12: a sample is presented until the next one)."""

from __future__ import annotations

import bisect
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.media import grab, open_writer, probe, read_frames
from annotator.media.opening import start_of
from tests.media.makers import HEIGHT, WIDTH, every_frame, ffmpeg_frames, make_clip, needs_ffmpeg, number_of, steady, uneven

B_FRAMES = {"bf": "3", "g": "50", "preset": "veryfast"}
OPEN_GOP = {"preset": "ultrafast", "x265-params": "open-gop=1:keyint=25:min-keyint=25:bframes=4:log-level=none"}
OPEN_GOP_264 = {"preset": "veryfast", "x264-params": "open-gop=1:keyint=25:bframes=3:scenecut=0"}

KINDS: dict[str, tuple[str, dict[str, Any]]] = {
    "constant-rate": ("a.mp4", {"times_ms": steady(120)}),
    "b-frames": ("a.mp4", {"times_ms": steady(120), "options": B_FRAMES}),
    "variable-rate": ("a.mp4", {"times_ms": uneven(100), "options": B_FRAMES}),
    "variable-rate-mkv": ("a.mkv", {"times_ms": uneven(100), "options": B_FRAMES}),
    "rotated-90": ("a.mp4", {"times_ms": steady(60), "rotation": 90, "options": B_FRAMES}),
    "rotated-180": ("a.mov", {"times_ms": steady(60), "rotation": 180}),
    "rotated-270-variable": ("a.mp4", {"times_ms": uneven(60), "rotation": 270}),
    "mirrored": ("a.mp4", {"times_ms": steady(30), "mirrored": True}),
    "mirrored-90": ("a.mp4", {"times_ms": steady(30), "rotation": 90, "mirrored": True}),
    "starts-at-3-s": ("a.mkv", {"times_ms": steady(120), "offset_ms": 3000, "options": B_FRAMES}),
    "starts-at-3-s-mp4": ("a.mp4", {"times_ms": uneven(60), "offset_ms": 3000, "options": B_FRAMES}),
    "open-gop-hevc": ("a.mp4", {"times_ms": steady(150), "codec": "libx265", "options": OPEN_GOP}),
    "open-gop-h264": ("a.mkv", {"times_ms": steady(150), "options": OPEN_GOP_264}),
    "vp9-webm": ("a.webm", {"times_ms": uneven(60), "codec": "libvpx-vp9", "options": {"deadline": "realtime"}, "sound": "libopus"}),
    "transport-stream": ("a.ts", {"times_ms": steady(120), "options": B_FRAMES, "sound": None}),
    "fragmented": ("a.mp4", {"times_ms": steady(90), "container_options": {"movflags": "frag_keyframe+empty_moov"}}),
}


@pytest.fixture(scope="module", params=list(KINDS))
def clip(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    name, made = KINDS[request.param]
    return make_clip(tmp_path_factory.mktemp(request.param) / name, **made)


@pytest.fixture(scope="module", params=["variable-rate", "b-frames", "open-gop-hevc", "starts-at-3-s", "transport-stream"])
def timed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[tuple[float, int]]]:
    name, made = KINDS[request.param]
    path = make_clip(tmp_path_factory.mktemp(request.param) / name, **made)
    return path, every_frame(path)


def shown_at(frames: list[tuple[float, int]], time_s: float) -> tuple[float, int]:
    return frames[max(0, bisect.bisect_right([at for at, _ in frames], time_s) - 1)]


@given(time_s=st.floats(-1.0, 12.0, allow_nan=False))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_grab_is_the_last_frame_not_after_the_moment(timed: tuple[Path, list[tuple[float, int]]], time_s: float) -> None:
    path, frames = timed
    frame = grab(path, time_s)
    assert (frame.time_s, frame.pts) == shown_at(frames, time_s)


def test_every_frame_is_found_again_by_its_own_time(timed: tuple[Path, list[tuple[float, int]]]) -> None:
    path, frames = timed
    for time_s, pts in frames[::9]:
        assert grab(path, time_s).pts == pts
        assert grab(path, np.nextafter(time_s, -1.0)).pts == shown_at(frames, float(np.nextafter(time_s, -1.0)))[1]


@needs_ffmpeg
def test_grabs_have_the_pixels_of_an_independent_decoder(clip: Path) -> None:
    """Peer: the ffmpeg program (its own build of the decoders, with its own rotation); its frames are all of the clip's in order."""
    facts = probe(clip)
    theirs = ffmpeg_frames(clip, facts.width, facts.height)
    times = every_frame(clip)
    assert len(theirs) == len(times)
    picked = range(0, len(times), 7)
    ours = [grab(clip, times[at][0] + 0.001).image for at in picked]
    worst = max(int(np.abs(mine.astype(int) - theirs[at].astype(int)).max()) for mine, at in zip(ours, picked, strict=True))
    assert worst <= 2, f"colours differ by {worst} of 255"


def test_reading_gives_every_frame_once_and_in_order(clip: Path) -> None:
    assert [(frame.time_s, frame.pts) for frame in read_frames(clip, height=24)] == every_frame(clip)


def test_frames_carry_their_own_picture(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mkv", uneven(60), options={**B_FRAMES, "crf": "10"}, offset_ms=1234)
    assert [number_of(frame.image) for frame in read_frames(path)] == list(range(60))
    assert number_of(grab(path, 1.5).image) == bisect.bisect_right(uneven(60), 1500) - 1


@pytest.mark.parametrize(
    ("where", "number"),
    [pytest.param(-5.0, 0, id="before-the-first"), pytest.param(0.0, 0, id="at-the-first"), pytest.param(99.0, 29, id="after-the-end")],
)
def test_a_grab_outside_the_clip_is_its_first_or_last_frame(tmp_path: Path, where: float, number: int) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(30), options={"crf": "10"})
    assert number_of(grab(path, where).image) == number


def test_a_span_begins_with_what_is_on_screen_and_ends_before_its_end(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(60))
    times = [frame.time_s for frame in read_frames(path, 1.01, 1.2)]
    assert times == pytest.approx([1.0, 1.04, 1.08, 1.12, 1.16])


@given(start_s=st.floats(0, 3), step_s=st.floats(0.01, 2))
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_steps_give_what_is_on_screen_at_each_step_and_nothing_twice(
    timed: tuple[Path, list[tuple[float, int]]], start_s: float, step_s: float
) -> None:
    path, frames = timed
    last_s = frames[-1][0]
    moments = [start_s]
    while start_s + len(moments) * step_s <= last_s:
        moments.append(start_s + len(moments) * step_s)
    expected = list(dict.fromkeys(shown_at(frames, moment) for moment in moments))
    assert [(frame.time_s, frame.pts) for frame in read_frames(path, start_s, step_s=step_s, height=16)] == expected


def test_a_height_scales_and_keeps_the_proportions(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(3), rotation=90)
    assert next(read_frames(path, height=80)).image.shape == (80, 48, 3)
    assert grab(path, 0).image.shape == (WIDTH, HEIGHT, 3)


@pytest.mark.parametrize("wrong", [{"step_s": 0}, {"step_s": -1.0}, {"height": 0}], ids=["no-step", "step-back", "no-height"])
def test_a_step_or_height_of_nothing_is_refused(tmp_path: Path, wrong: dict[str, Any]) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(3))
    with pytest.raises(ValueError, match="above 0"):
        next(read_frames(path, **wrong))


def test_a_clip_that_was_replaced_is_looked_at_again(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(5))
    assert start_of(path).width == WIDTH
    make_clip(path, steady(9), rotation=90)
    assert start_of(path).width == HEIGHT


@needs_ffmpeg
@pytest.mark.parametrize(("matrix", "full"), [("bt709", False), ("bt470bg", False), ("bt709", True)], ids=["hd", "sd", "full-range"])
def test_colours_follow_the_matrix_and_range_that_the_file_names(tmp_path: Path, matrix: str, full: bool) -> None:
    """Peer: the ffmpeg program. Phones tag HD colours; taken for SD ones, greens and reds shift visibly."""
    plain = tmp_path / "plain.mp4"
    with open_writer(plain, WIDTH, HEIGHT) as film:
        for at in range(5):
            film.write(np.full((HEIGHT, WIDTH, 3), (200, 40, 40 * at), np.uint8), at / 25)
    tagged = tmp_path / "tagged.mp4"
    _retag(plain, tagged, matrix, full)
    ours = np.stack([frame.image for frame in read_frames(tagged)]).astype(int)
    theirs = np.stack(ffmpeg_frames(tagged, WIDTH, HEIGHT)).astype(int)
    assert np.abs(ours - theirs).max() <= 2


def _retag(source: Path, out: Path, matrix: str, full: bool) -> None:
    number = {"bt709": 1, "bt470bg": 5}[matrix]
    tags = f"h264_metadata=matrix_coefficients={number}:video_full_range_flag={int(full)}"
    subprocess.run(["ffmpeg", "-v", "error", "-i", str(source), "-c", "copy", "-bsf:v", tags, str(out)], check=True)


@pytest.fixture(scope="module")
def no_index(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    folder = tmp_path_factory.mktemp("no-index")

    def make(suffix: str) -> Path:
        whole = make_clip(folder / f"whole{suffix}", steady(200), options={"g": "50"})
        cut = folder / f"cut{suffix}"
        cut.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * 0.6)])
        return cut

    return make


def test_a_matroska_file_that_was_cut_off_is_read_up_to_its_end(no_index: Callable[[str], Path]) -> None:
    path = no_index(".mkv")
    frames = every_frame(path)
    assert 60 < len(frames) < 190
    assert [frame.pts for frame in read_frames(path, height=16)] == [pts for _, pts in frames]
    assert grab(path, 3.0).time_s == 3.0
    assert grab(path, 7.9).pts == frames[-1][1]
