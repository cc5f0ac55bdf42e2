"""Films that other parts draw: exact times, sound from a clip, captions and chapters that other programs read. Peers: ffprobe, ffmpeg."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest

from annotator.errors import CannotWrite, Stopped
from annotator.media import SoundSpan, TimedLine, fit_720, grab, open_writer, probe, read_audio, read_frames
from tests.media.makers import HEIGHT, WIDTH, every_frame, ffprobe, make_clip, needs_ffmpeg, number_of, picture, steady, uneven


@needs_ffmpeg
def test_frames_captions_chapters_and_sound_are_where_they_were_put(tmp_path: Path) -> None:
    source, out = make_clip(tmp_path / "a.mp4", steady(100)), tmp_path / "film.mp4"
    lines = [TimedLine(0.25, 1.0, "hands only\non the ring"), TimedLine(1.5, 2.125, "é – 🙂 50 % <b>")]
    chapters = [TimedLine(0.0, 1.0, "Setup: a; b = c #1"), TimedLine(1.0, 3.0, "Übung 🧗")]
    times = [at / 1000 for at in uneven(30) if at < 2500]
    with open_writer(out, WIDTH, HEIGHT, end_s=3.0, sound=[SoundSpan(source, 1.0, 3.0)], captions=lines, chapters=chapters) as film:
        for number, time_s in enumerate(times):
            film.write(picture(number), time_s)
    assert [at for at, _ in every_frame(out)] == pytest.approx(times, abs=1 / 90_000)
    assert [number_of(frame.image) for frame in read_frames(out)] == list(range(len(times)))
    assert probe(out).duration_s == pytest.approx(3.0, abs=0.01)
    told = ffprobe(out, "-show_streams", "-show_chapters")
    kinds = [(stream["codec_type"], stream["codec_name"]) for stream in told["streams"]][:3]
    assert kinds == [("video", "h264"), ("audio", "aac"), ("subtitle", "mov_text")]
    assert [(each["start_time"], each["end_time"], each["tags"]["title"]) for each in told["chapters"]] == [
        ("0.000000", "1.000000", "Setup: a; b = c #1"),
        ("1.000000", "3.000000", "Übung 🧗"),
    ]
    read = subprocess.run(["ffmpeg", "-v", "error", "-i", str(out), "-map", "0:s", "-f", "webvtt", "-"], check=True, capture_output=True)
    text = read.stdout.decode()
    assert "00:00.250 --> 00:01.000\nhands only\non the ring\n" in text
    assert "00:01.500 --> 00:02.125\né – 🙂 50 %" in text


def test_stretches_of_sound_lie_where_they_were_put(tmp_path: Path) -> None:
    source, out = make_clip(tmp_path / "a.mp4", steady(100)), tmp_path / "film.mp4"
    spans = [SoundSpan(source, 0.5, 1.0, at_s=0.5), SoundSpan(source, 2.0, 2.5, at_s=1.5)]
    with open_writer(out, WIDTH, HEIGHT, end_s=3.0, sound=spans) as film:
        for number in range(10):
            film.write(picture(number), number * 0.25)
    samples = np.concatenate([piece.samples for piece in read_audio(out)])
    heard = [bool(samples[at : at + 1600].std() > 0.1) for at in range(0, 31_000, 1600)]
    assert heard[:4] == [False] * 4 and all(heard[6:9]) and not any(heard[11:14]) and all(heard[16:19])


def test_a_film_without_sound_of_a_silent_clip_is_written(tmp_path: Path) -> None:
    source, out = make_clip(tmp_path / "a.mp4", steady(5), sound=None), tmp_path / "film.mp4"
    with open_writer(out, WIDTH, HEIGHT, sound=[SoundSpan(source, 0.0, 0.2)]) as film:
        film.write(picture(1), 0.0)
    assert not probe(out).has_audio
    assert probe(out).frame_count == 1


def test_large_pictures_are_scaled_down_and_odd_sizes_made_even(tmp_path: Path) -> None:
    with open_writer(tmp_path / "film.mp4", 1081, 1921) as film:
        assert film.size == (720, 1280)
        film.write(np.full((1921, 1081, 3), (200, 40, 90), np.uint8), 0.0)
    image = grab(tmp_path / "film.mp4", 0.0).image
    assert image.shape == (1280, 720, 3)
    assert np.abs(image.astype(int) - (200, 40, 90)).max() <= 4, "colours come back as they went in"


@pytest.mark.parametrize(
    ("size", "fitted"),
    [
        ((1920, 1080), (1280, 720)),
        ((1080, 1920), (720, 1280)),
        ((3840, 2160), (1280, 720)),
        ((1280, 720), (1280, 720)),
        ((2000, 500), (1280, 320)),
        ((1440, 1440), (720, 720)),
        ((161, 97), (160, 96)),
        ((1, 1), (2, 2)),
    ],
)
def test_sizes_fit_720p_in_proportion(size: tuple[int, int], fitted: tuple[int, int]) -> None:
    assert fit_720(*size) == fitted


def test_nothing_is_told_of_place_device_or_program(tmp_path: Path) -> None:
    out = tmp_path / "film.mp4"
    with open_writer(out, WIDTH, HEIGHT) as film:
        film.write(picture(1), 0.0)
    data = out.read_bytes()
    assert [mark for mark in (b"loci", b"\xa9xyz", b"\xa9too", b"Lavf") if mark in data] == []
    assert b"\x00\x00\x00\x08ilst" in data, "the list of tags is empty"
    assert data.index(b"moov") < data.index(b"mdat")


def test_a_stop_or_an_error_leaves_nothing(tmp_path: Path) -> None:
    for error in (Stopped(), RuntimeError("drawing broke")):
        with pytest.raises(type(error)), open_writer(tmp_path / "film.mp4", WIDTH, HEIGHT) as film:
            film.write(picture(1), 0.0)
            film.write(picture(2), 1.0)
            raise error
    assert list(tmp_path.iterdir()) == []


def test_an_error_of_the_files_that_are_drawn_from_is_not_taken_for_the_films(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError), open_writer(tmp_path / "film.mp4", WIDTH, HEIGHT) as film:
        film.write(picture(1), 0.0)
        (tmp_path / "logo.png").read_bytes()
    assert list(tmp_path.iterdir()) == []


def test_frames_of_another_size_or_out_of_order_are_refused(tmp_path: Path) -> None:
    with open_writer(tmp_path / "film.mp4", WIDTH, HEIGHT) as film:
        film.write(picture(1), 0.5)
        with pytest.raises(ValueError, match="opened for 160 x 96"):
            film.write(picture(1, 320, 192), 1.0)
        for wrong_s in (0.5, 0.1, -1.0):
            with pytest.raises(ValueError, match="in order of time"):
                film.write(picture(2), wrong_s)


def test_a_film_of_nothing_or_in_no_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="1 x 96"), open_writer(tmp_path / "film.mp4", 1, HEIGHT):
        pass
    with pytest.raises(CannotWrite, match="no folder"), open_writer(tmp_path / "gone" / "film.mp4", WIDTH, HEIGHT) as film:
        film.write(picture(1), 0.0)
