"""The version for browsers: every frame's time kept, nothing about who filmed where. Peers: ffprobe, ffmpeg, and the raw bytes."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from annotator.errors import CannotWrite, Stopped, UnreadableVideo
from annotator.media import grab, probe, read_audio, read_frames, write_proxy
from tests.media.makers import every_frame, ffprobe, make_clip, needs_ffmpeg, number_of, steady, uneven

B_FRAMES = {"bf": "3", "g": "50", "preset": "veryfast", "crf": "16"}
HEVC: dict[str, Any] = {"codec": "libx265", "options": {"preset": "ultrafast", "x265-params": "log-level=none:crf=16"}}
VP9: dict[str, Any] = {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8", "crf": "20"}, "sound": "libopus"}
LARGE: dict[str, Any] = {"size": (1920, 1080), "options": {"preset": "ultrafast", "crf": "18"}}

KINDS: dict[str, tuple[str, list[int], dict[str, Any], bool]] = {
    "h264-aac": ("a.mp4", steady(60), {"options": B_FRAMES}, False),
    "h264-variable": ("a.mp4", uneven(60), {"options": B_FRAMES}, False),
    "h264-mkv-starts-at-3-s": ("a.mkv", uneven(60), {"options": B_FRAMES, "offset_ms": 3000}, False),
    "h264-turned": ("a.mov", steady(60), {"options": B_FRAMES, "rotation": 90}, False),
    "h264-mirrored-turned": ("a.mov", steady(60), {"options": B_FRAMES, "rotation": 270, "mirrored": True}, False),
    "h264-no-sound": ("a.mp4", steady(60), {"options": B_FRAMES, "sound": None}, False),
    "h264-transport-stream": ("a.ts", steady(60), {"options": B_FRAMES}, False),
    "h264-pcm": ("a.mov", steady(60), {"options": B_FRAMES, "sound": "pcm_s16le"}, True),
    "h264-10-bit": ("a.mp4", steady(60), {"options": B_FRAMES, "pixel_format": "yuv420p10le"}, True),
    "h264-444": ("a.mp4", steady(60), {"options": B_FRAMES, "pixel_format": "yuv444p"}, True),
    "hevc-turned-variable": ("a.mov", uneven(60), {**HEVC, "rotation": 90}, True),
    "hevc-mirrored-turned": ("a.mov", steady(60), {**HEVC, "rotation": 270, "mirrored": True}, True),
    "hevc-upside-down": ("a.mov", steady(60), {**HEVC, "rotation": 180}, True),
    "vp9-opus": ("a.webm", uneven(60), VP9, True),
    "1080p": ("a.mp4", steady(12), LARGE, True),
    "1080p-portrait": ("a.mp4", steady(12), {**LARGE, "rotation": 270}, True),
    "odd-size": ("a.mkv", steady(12), {**VP9, "size": (163, 97)}, True),
}


@needs_ffmpeg
@pytest.mark.parametrize(("name", "times", "made", "again"), KINDS.values(), ids=list(KINDS))
def test_a_browser_can_play_it_and_every_frame_keeps_its_time_and_picture(
    tmp_path: Path, name: str, times: list[int], made: dict[str, Any], again: bool
) -> None:
    source, out = make_clip(tmp_path / name, times, **made), tmp_path / "proxy.mp4"
    assert write_proxy(source, out) is again
    told = ffprobe(out, "-show_streams", "-show_format")
    streams = {stream["codec_type"]: stream for stream in told["streams"]}
    video = streams["video"]
    assert (video["codec_name"], video["pix_fmt"]) == ("h264", "yuv420p")
    assert max(video["width"], video["height"]) <= 1280 and min(video["width"], video["height"]) <= 720
    assert video["width"] % 2 == video["height"] % 2 == 0
    assert streams.get("audio", {}).get("codec_name") == (None if made.get("sound", "aac") is None else "aac")
    assert set(streams) <= {"video", "audio"}
    data = out.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat"), "the index stands before the data"

    before, after = every_frame(source), every_frame(out)
    assert [at for at, _ in after] == pytest.approx([at for at, _ in before], abs=1e-4)
    packets = ffprobe(out, "-show_packets", "-select_streams", "v")["packets"]
    shown = sorted(float(packet["pts_time"]) for packet in packets)
    assert shown == pytest.approx([at for at, _ in before], abs=1e-4), "the player's time is clip time"
    old, new = probe(source), probe(out)
    assert new.start_pts_s == pytest.approx(0.0, abs=1e-4)
    assert new.duration_s == pytest.approx(old.duration_s, abs=0.06)
    assert new.width / new.height == pytest.approx(old.width / old.height, rel=0.02)
    for time_s, _ in before[:: len(before) // 4]:
        mine, theirs = grab(source, time_s), next(read_frames(out, time_s, height=grab(source, time_s).image.shape[0]))
        if mine.image.shape == theirs.image.shape:
            assert np.abs(mine.image.astype(int) - theirs.image.astype(int)).mean() < 12
        if not (old.rotation or made.get("mirrored")):
            assert number_of(theirs.image) == number_of(mine.image)


@pytest.mark.parametrize(
    ("name", "made"), [("a.mp4", {}), ("a.mkv", VP9), ("a.mov", {"sound": "pcm_s16le"})], ids=["copied", "both", "sound"]
)
def test_its_sound_stays_where_it_was(tmp_path: Path, name: str, made: dict[str, Any]) -> None:
    source, out = make_clip(tmp_path / name, steady(75), offset_ms=2000, sound_from_ms=1000, **made), tmp_path / "proxy.mp4"
    write_proxy(source, out)
    before, after = (np.concatenate([piece.samples for piece in read_audio(path)]) for path in (source, out))
    first = [int(np.argmax(np.abs(samples) > 0.2)) / 16_000 for samples in (before, after)]
    assert first[0] == pytest.approx(1.0, abs=0.03)
    assert first[1] == pytest.approx(first[0], abs=0.03)
    assert len(after) == pytest.approx(len(before), abs=0.06 * 16_000)


PRIVATE = {
    "location": "+37.3349-122.0090/",
    "location-eng": "+37.3349-122.0090/",
    "creation_time": "2026-03-01T10:00:00.000000Z",
    "com.apple.quicktime.location.ISO6709": "+37.3349-122.0090+010.000/",
    "com.apple.quicktime.make": "Invented Phones",
    "com.apple.quicktime.model": "Model Q",
    "make": "Invented Phones",
    "model": "Model Q",
    "title": "Secret title",
    "comment": "filmed by Robin",
    "artist": "Robin",
}
MARKS = [b"loci", b"\xa9xyz", b"com.apple.quicktime", b"37.33", b"Invented", b"Model Q", b"Robin", b"Secret", b"Lavf"]


def with_private_data(path: Path, again: bool) -> Path:
    """A clip with its place, device, date and people in all the ways that phones write them, and a track of sensor data."""
    plain = make_clip(path.with_suffix(".plain.mov"), steady(50), **(HEVC if again else {}))
    with av.open(str(plain)) as source, av.open(str(path), "w", container_options={"movflags": "use_metadata_tags"}) as made:
        made.metadata.update(PRIVATE)
        copies = {stream.index: made.add_stream_from_template(stream, opaque=True) for stream in source.streams}
        for copy in copies.values():
            copy.metadata.update({"creation_time": PRIVATE["creation_time"], "handler_name": "Robin's phone"})
        if path.suffix == ".mp4":
            sensors: Any = made.add_data_stream("bin_data")
            sensors.time_base = Fraction(1, 1000)
            note = av.Packet(b"GPS 37.3349 -122.0090")
            note.stream, note.time_base, note.pts, note.dts, note.duration = sensors, Fraction(1, 1000), 0, 0, 2000
        for packet in source.demux():
            if packet.dts is not None:
                packet.stream = copies[packet.stream_index]
                made.mux(packet)
        if path.suffix == ".mp4":
            made.mux(note)
    return path


@needs_ffmpeg
@pytest.mark.parametrize("again", [False, True], ids=["copied", "encoded"])
@pytest.mark.parametrize("suffix", [".mp4", ".mov"])
def test_no_place_device_date_or_name_is_left(tmp_path: Path, suffix: str, again: bool) -> None:
    """Places of a location in MP4 and MOV: udta `loci`, udta `(c)xyz`, and the QuickTime key; each is looked for in the bytes."""
    source, out = with_private_data(tmp_path / f"a{suffix}", again), tmp_path / "proxy.mp4"
    raw = source.read_bytes()
    assert sum(mark in raw for mark in MARKS) >= 4, "the test's clip carries what must go"
    assert write_proxy(source, out) is again
    data = out.read_bytes()
    assert [mark for mark in MARKS if mark in data] == []
    assert b"\x00\x00\x00\x08ilst" in data, "the list of tags is empty"
    told = ffprobe(out, "-show_streams", "-show_format", "-show_chapters")
    allowed = {"major_brand", "minor_version", "compatible_brands", "language", "handler_name", "vendor_id"}
    tags = {**told["format"].get("tags", {})}
    for stream in told["streams"]:
        tags |= stream.get("tags", {})
        assert stream["tags"]["handler_name"] in {"VideoHandler", "SoundHandler"}
    assert set(tags) <= allowed
    assert {stream["codec_type"] for stream in told["streams"]} == {"video", "audio"}


@pytest.mark.parametrize("again", [False, True], ids=["copied", "encoded"])
def test_progress_rises_to_the_end_and_a_stop_leaves_nothing(tmp_path: Path, again: bool) -> None:
    source = make_clip(tmp_path / "a.mov", steady(80), **(HEVC if again else {}))
    told: list[float] = []
    assert write_proxy(source, tmp_path / "whole.mp4", told.append) is again
    assert told == sorted(told) and told[-1] == 1.0 and 0 < told[len(told) // 2] < 1

    def stop(share: float) -> None:
        if share > 0.5:
            raise Stopped

    with pytest.raises(Stopped):
        write_proxy(source, tmp_path / "stopped.mp4", stop)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.mov", "whole.mp4"]


def test_a_proxy_that_was_there_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    source, out = make_clip(tmp_path / "a.mp4", steady(80)), tmp_path / "proxy.mp4"
    out.write_bytes(b"the old one")
    seen: list[bytes] = []
    write_proxy(source, out, lambda share: seen.append(out.read_bytes()))
    assert set(seen[:-1]) == {b"the old one"}
    assert probe(out).frame_count == 80


FULL_DISK = """
import resource, sys
from pathlib import Path
from annotator.errors import CannotWrite
from annotator.media import write_proxy
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
try:
    write_proxy(Path(sys.argv[1]), Path(sys.argv[2]))
except CannotWrite as error:
    print(error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="this system has no limit on the size of files to stand in for a full disk")
@pytest.mark.parametrize("again", [False, True], ids=["copied", "encoded"])
def test_a_full_disk_is_told_and_leaves_no_half_file(tmp_path: Path, again: bool) -> None:
    """The disk is simulated by the system's own limit on the size of a file: the write call itself fails, as on a full disk."""
    source = make_clip(tmp_path / "a.mov", steady(200), **(HEVC if again else {"options": B_FRAMES}))
    assert source.stat().st_size > 40_000
    command = [sys.executable, "-c", FULL_DISK, str(source), str(tmp_path / "proxy.mp4")]
    told = subprocess.run(command, check=True, capture_output=True, text=True)
    assert told.stdout == "Cannot write 'proxy.mp4': The disk is full. Free some space and run it again; nothing else was lost.\n"
    assert [path.name for path in tmp_path.iterdir()] == ["a.mov"]


@pytest.mark.parametrize(
    ("out", "words"),
    [pytest.param("gone/proxy.mp4", "no folder 'gone'", id="no-folder"), pytest.param(".", "It is a folder", id="a-folder")],
)
def test_a_place_that_cannot_be_written_is_told(tmp_path: Path, out: str, words: str) -> None:
    source = make_clip(tmp_path / "a.mp4", steady(5))
    with pytest.raises(CannotWrite, match=words):
        write_proxy(source, tmp_path / out)


def test_a_clip_that_cannot_be_read_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_text("no film")
    with pytest.raises(UnreadableVideo):
        write_proxy(tmp_path / "a.mp4", tmp_path / "proxy.mp4")
    assert [path.name for path in tmp_path.iterdir()] == ["a.mp4"]


def cut_faststart(path: Path) -> None:
    whole = make_clip(path.with_suffix(".whole.mp4"), steady(150), container_options={"movflags": "+faststart"}, options=B_FRAMES)
    path.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])


def cut_matroska(path: Path) -> None:
    whole = make_clip(path.with_suffix(".whole.mkv"), steady(150), options=B_FRAMES)
    path.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])


@pytest.mark.parametrize("cut", [cut_faststart, cut_matroska])
def test_of_a_clip_that_was_cut_off_the_whole_part_is_kept(tmp_path: Path, cut: Callable[[Path], None]) -> None:
    source, out = tmp_path / "a.mp4", tmp_path / "proxy.mp4"
    cut(source)
    write_proxy(source, out)
    kept = [frame.time_s for frame in read_frames(out, height=16)]
    assert kept == pytest.approx([at for at, _ in every_frame(source)][: len(kept)], abs=1e-4)
    assert len(kept) >= len(every_frame(source)) - 1
