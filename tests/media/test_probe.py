"""What a clip is, and in words why a file is none. Peer for the facts: ffprobe."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from annotator.errors import UnreadableVideo
from annotator.media import grab, probe, read_audio, read_frames, write_picture
from tests.media.makers import HEIGHT, WIDTH, every_frame, ffprobe, make_clip, needs_ffmpeg, number_of, steady, uneven

FORMATS: dict[str, tuple[str, dict[str, Any]]] = {
    "mp4-h264": ("walk.mp4", {}),
    "mov-h264": ("walk.mov", {}),
    "mkv-h264": ("walk.mkv", {}),
    "mp4-hevc": ("walk.mp4", {"codec": "libx265", "options": {"preset": "ultrafast", "x265-params": "log-level=none"}}),
    "mov-hevc-10-bit": (
        "walk.mov",
        {"codec": "libx265", "options": {"preset": "ultrafast", "x265-params": "log-level=none"}, "pixel_format": "yuv420p10le"},
    ),
    "webm-vp9-opus": ("walk.webm", {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8"}, "sound": "libopus"}),
    "mkv-vp9": ("walk.mkv", {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8"}}),
    "spaces-accents": ("Gruppe 2 – Übungslauf é.mp4", {}),
    "emoji": ("walk 🧗🏽 hall.mov", {}),
    "colon-and-percent": ("file:12:30 %03d ?#[1].mp4", {}),
    "no-suffix": ("walk", {"container": "mp4"}),
    "no-sound": ("walk.mp4", {"sound": None}),
}


@needs_ffmpeg
@pytest.mark.parametrize(("name", "made"), FORMATS.values(), ids=list(FORMATS))
def test_the_formats_that_phones_and_browsers_write_are_read_whole(tmp_path: Path, name: str, made: dict[str, Any]) -> None:
    path = make_clip(tmp_path / name, steady(50), **made)
    facts = probe(path)
    told = ffprobe(path.rename(tmp_path / "plain"), "-show_streams", "-show_format")  # the program takes a colon for a protocol
    (tmp_path / "plain").rename(path)
    streams = {stream["codec_type"]: stream for stream in told["streams"]}
    assert (facts.width, facts.height) == (streams["video"]["width"], streams["video"]["height"])
    assert facts.video_codec.replace("libdav1d", "av1") == streams["video"]["codec_name"]
    assert facts.audio_codec == streams.get("audio", {}).get("codec_name")
    assert facts.has_audio == ("audio" in streams)
    assert facts.duration_s == pytest.approx(float(told["format"]["duration"]), abs=0.05)
    assert facts.average_rate == pytest.approx(25)
    assert not facts.variable_rate and not facts.cut_off
    assert number_of(grab(path, 1.0).image) == 25
    assert len(list(read_frames(path, height=16))) == 50
    assert sum(len(piece.samples) for piece in read_audio(path)) == pytest.approx(32_000 if facts.has_audio else 0, abs=1600)


@needs_ffmpeg
@pytest.mark.parametrize("rotation", [90, 180, 270])
def test_the_turn_is_ffprobes_and_sizes_are_upright(tmp_path: Path, rotation: int) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(5), rotation=rotation)
    side = ffprobe(path, "-show_streams")["streams"][0]["side_data_list"][0]
    facts = probe(path)
    assert facts.rotation == rotation == side["rotation"] % 360
    assert (facts.width, facts.height) == ((WIDTH, HEIGHT) if rotation == 180 else (HEIGHT, WIDTH))


@pytest.mark.parametrize(
    ("name", "times", "varies"),
    [
        pytest.param("a.mp4", steady(80), False, id="mp4-constant"),
        pytest.param("a.mkv", [round(at * 1001 / 30) for at in range(80)], False, id="mkv-29.97-rounded-to-ms"),
        pytest.param("a.mp4", uneven(80), True, id="mp4-variable"),
        pytest.param("a.mkv", uneven(80), True, id="mkv-variable"),
        pytest.param("a.mp4", [0], False, id="one-frame"),
    ],
)
def test_a_rate_that_varies_is_told_from_one_that_a_clock_rounds(tmp_path: Path, name: str, times: list[int], varies: bool) -> None:
    assert probe(make_clip(tmp_path / name, times, sound=None)).variable_rate is varies


def test_a_start_that_is_not_zero_is_taken_off(tmp_path: Path) -> None:
    facts = probe(make_clip(tmp_path / "a.mkv", steady(50), offset_ms=3000))
    assert facts.start_pts_s == pytest.approx(3.0, abs=0.05)
    assert facts.duration_s == pytest.approx(2.0, abs=0.1)


def test_sound_that_goes_on_after_the_picture_counts(tmp_path: Path) -> None:
    path = tmp_path / "a.mkv"
    make_clip(path, [0, 40, 3000], sound_ms=3040)
    assert probe(path).duration_s == pytest.approx(3.04, abs=0.1)


def test_pixels_that_are_not_square_are_made_so(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    with av.open(str(path), "w") as made:
        track: Any = made.add_stream("libx264", rate=25)
        track.width, track.height, track.pix_fmt = 144, 96, "yuv420p"
        track.sample_aspect_ratio = track.codec_context.sample_aspect_ratio = 2
        track.set_display_rotation(90)
        frame = av.VideoFrame.from_ndarray(np.zeros((96, 144, 3), np.uint8), "rgb24")
        made.mux([*track.encode(frame), *track.encode(None)])
    facts = probe(path)
    assert (facts.width, facts.height) == (96, 288)
    assert grab(path, 0).image.shape == (288, 96, 3)


def write_text(path: Path) -> None:
    path.write_text("Start on the blue platform.\n" * 200, "utf-8")


def write_accents(path: Path) -> None:
    path.write_text("Départ sur la plate-forme bleue – ça va 🙂\n" * 200, "utf-8")


def write_subtitles(path: Path) -> None:
    path.write_text("1\n00:00:01,000 --> 00:00:02,000\nhands only\n\n" * 50, "utf-8")


def write_cut_mp4(path: Path) -> None:
    whole = make_clip(path.with_suffix(".whole.mp4"), steady(100))
    path.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])


def write_sound(path: Path) -> None:
    with av.open(str(path), "w", format="mp4") as made:
        track: Any = made.add_stream("aac", rate=48_000)
        frame = av.AudioFrame.from_ndarray(np.zeros((2, 48_000), np.float32), "fltp", "stereo")
        frame.sample_rate = 48_000
        made.mux([*track.encode(frame), *track.encode(None)])


def write_noise(path: Path) -> None:
    path.write_bytes(np.random.default_rng(1).bytes(40_000))


def write_damaged(path: Path) -> None:
    """An MP4 whose index is whole and whose data are zeros."""
    whole = bytearray(make_clip(path.with_suffix(".whole.mp4"), steady(20), sound=None).read_bytes())
    at = whole.index(b"mdat") + 4
    end = whole.index(b"moov") - 4
    whole[at:end] = bytes(end - at)
    path.write_bytes(whole)


def write_still(path: Path) -> None:
    path.write_bytes(write_picture(np.zeros((9, 9, 3), np.uint8), ".png"))


def write_head_only(path: Path) -> None:
    whole = make_clip(path.with_suffix(".whole.mkv"), steady(50))
    path.write_bytes(whole.read_bytes()[:60])


REFUSED: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda path: None, "no such file"),
    "folder": (lambda path: path.mkdir(), "folder"),
    "zero-bytes": (lambda path: path.touch(), "empty (0 bytes)"),
    "text": (write_text, "a text file"),
    "text-with-accents": (write_accents, "a text file"),
    "subtitles": (write_subtitles, "a text file"),
    "cut-off": (write_cut_mp4, "cut off"),
    "head-only": (write_head_only, "cut off"),
    "sound-alone": (write_sound, "no picture, only sound. Film the walk again"),
    "noise": (write_noise, "not a film in any format"),
    "damaged": (write_damaged, "Not one frame"),
    "still-picture": (write_still, "a picture, not a film"),
}


@pytest.mark.parametrize(("write", "words"), REFUSED.values(), ids=list(REFUSED))
def test_what_is_no_clip_is_refused_with_its_reason(tmp_path: Path, write: Callable[[Path], object], words: str) -> None:
    path = tmp_path / "my walk.mp4"
    write(path)
    for read in (probe, lambda at: grab(at, 0.0), lambda at: list(read_frames(at))):
        with pytest.raises(UnreadableVideo) as refused:
            read(path)
        assert refused.value.path == path
        assert words in refused.value.reason
        assert str(refused.value).startswith("Cannot read 'my walk.mp4' as a clip: ")


def test_a_playlist_that_points_at_other_files_is_not_followed(tmp_path: Path) -> None:
    make_clip(tmp_path / "secret.ts", steady(20), sound=None)
    lists = {
        "hls.mp4": "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:1,\nsecret.ts\n#EXT-X-ENDLIST\n",
        "concat.mp4": "ffconcat version 1.0\nfile secret.ts\n",
    }
    for name, text in lists.items():
        (tmp_path / name).write_text(text)
        with pytest.raises(UnreadableVideo, match="text file"):
            probe(tmp_path / name)


def test_an_mp4_whose_data_end_early_is_taken_as_far_as_they_go(tmp_path: Path) -> None:
    whole = make_clip(tmp_path / "whole.mp4", steady(200), container_options={"movflags": "+faststart"}, sound=None)
    path = tmp_path / "cut.mp4"
    path.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * 0.6)])
    facts = probe(path)
    frames = every_frame(path)
    assert facts.cut_off
    assert facts.duration_s == pytest.approx(frames[-1][0] + 0.04, abs=0.2)
    assert 60 < len(frames) < 195
    assert grab(path, 7.9).pts == frames[-1][1]


@pytest.mark.parametrize("suffix", [".mkv", ".webm"])
def test_a_matroska_file_whose_data_end_early_is_taken_as_far_as_they_go(tmp_path: Path, suffix: str) -> None:
    made: dict[str, Any] = {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8"}, "sound": "libopus"}
    whole = (
        make_clip(tmp_path / f"whole{suffix}", steady(900), options={"g": "25"})
        if suffix == ".mkv"
        else make_clip(tmp_path / f"whole{suffix}", steady(700), **made)
    )
    path = tmp_path / f"cut{suffix}"
    path.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * 0.6)])
    facts = probe(path)
    assert facts.cut_off
    assert facts.duration_s == pytest.approx(every_frame(path)[-1][0], abs=0.5)


def test_a_recording_that_was_written_in_fragments_survives_being_cut(tmp_path: Path) -> None:
    options = {"movflags": "frag_keyframe+empty_moov"}
    whole = make_clip(tmp_path / "whole.mp4", steady(200), options={"g": "25"}, container_options=options)
    path = tmp_path / "cut.mp4"
    path.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * 0.6)])
    last_s = every_frame(path)[-1][0]
    assert 3.0 < last_s < 7.0
    assert probe(path).duration_s == pytest.approx(last_s, abs=0.3)
    assert grab(path, 3.0).time_s == 3.0


def test_a_live_recording_of_a_browser_without_length_or_index_is_measured(tmp_path: Path) -> None:
    made: dict[str, Any] = {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8"}, "sound": "libopus"}
    path = make_clip(tmp_path / "a.webm", steady(100), container_options={"live": "1"}, **made)
    facts = probe(path)
    assert facts.duration_s == pytest.approx(4.0, abs=0.1)
    assert not facts.cut_off
    assert number_of(grab(path, 3.0).image) == 75


def test_a_damaged_stretch_is_passed_over(tmp_path: Path) -> None:
    whole = make_clip(tmp_path / "whole.mkv", steady(200), options={"g": "25"}, sound=None)
    data = bytearray(whole.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 2000] = np.random.default_rng(2).bytes(2000)
    path = tmp_path / "damaged.mkv"
    path.write_bytes(data)
    times = [frame.time_s for frame in read_frames(path, height=16)]
    assert times == sorted(times) and times[0] == 0.0 and times[-1] == pytest.approx(7.96)
    assert len(times) > 120


@pytest.mark.skipif(os.geteuid() == 0, reason="the administrator's account may read everything")
def test_a_file_that_may_not_be_read_says_so(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mp4", steady(2))
    path.chmod(0)
    with pytest.raises(UnreadableVideo, match="permissions"):
        probe(path)
