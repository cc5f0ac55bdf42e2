"""The clips of the demo walk are what they promise: size, rotation, frame times, and a place and device to be taken away."""

from __future__ import annotations

import json
import shutil
import subprocess
from fractions import Fraction
from itertools import pairwise
from typing import Any

import av
import pytest

from tests.sample_media.agreement import SAMPLE, load

STILLS = load("truth/stills.json")
CLIPS = {clip["number"]: clip for clip in STILLS["clips"]}


def test_all_files_together_stay_below_25_megabytes() -> None:
    sizes = {path: path.stat().st_size for path in SAMPLE.rglob("*") if path.is_file()}
    assert sum(sizes.values()) < 25_000_000
    assert max(sizes.values()) < 8_000_000


def presentation_ticks(file: str) -> list[int]:
    """Sorted pts of the video track, read by libavformat without decoding."""
    with av.open(str(SAMPLE / file)) as opened:
        stream = opened.streams.video[0]
        assert stream.time_base == Fraction(1, 90_000)
        return sorted(packet.pts for packet in opened.demux(stream) if packet.pts is not None)


@pytest.mark.parametrize("number", sorted(CLIPS))
def test_every_still_is_the_last_frame_shown_at_its_time(number: int) -> None:
    ticks = presentation_ticks(CLIPS[number]["file"])
    for still in (s for s in STILLS["stills"] if s["clip"] == number):
        in_clip = still["time_s"] - CLIPS[number]["start_s"]
        shown = max(tick for tick in ticks if tick <= in_clip * 90_000)
        assert shown == still["pts"]
        assert still["clip_time_s"] == pytest.approx(still["pts"] / 90_000, abs=1e-6)


def test_the_first_clip_is_steady_and_the_second_is_not() -> None:
    first, second = ({b - a for a, b in pairwise(presentation_ticks(CLIPS[n]["file"]))} for n in (1, 2))
    assert first == {6000}
    assert len(second) > 10
    assert max(second) > 2 * min(second)


def test_the_clips_join_to_one_time_line() -> None:
    assert CLIPS[1]["start_s"] == 0
    assert CLIPS[2]["start_s"] == pytest.approx(CLIPS[1]["duration_s"], abs=1e-5)
    assert load("truth/gold.json")["duration"] == pytest.approx(CLIPS[2]["start_s"] + CLIPS[2]["duration_s"], abs=0.001)
    assert 240 < load("truth/gold.json")["duration"] < 420


needs_ffprobe = pytest.mark.skipif(shutil.which("ffprobe") is None, reason="ffprobe is not installed: apt install ffmpeg")


def probe(file: str) -> dict[str, Any]:
    """What ffprobe says about a clip."""
    command = ["ffprobe", "-v", "error", "-of", "json", "-show_format", "-show_streams", str(SAMPLE / file)]
    found: dict[str, Any] = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return found


@needs_ffprobe
@pytest.mark.parametrize(("number", "rotation"), [pytest.param(1, None, id="landscape"), pytest.param(2, -90, id="portrait-by-matrix")])
def test_ffprobe_sees_codecs_size_rotation_place_and_device(number: int, rotation: int | None) -> None:
    found = probe(CLIPS[number]["file"])
    video, audio = (next(s for s in found["streams"] if s["codec_type"] == kind) for kind in ("video", "audio"))
    assert (video["codec_name"], audio["codec_name"]) == ("h264", "aac")
    assert (video["width"], video["height"]) == (960, 540)
    assert video["has_b_frames"] > 0
    turns = [side["rotation"] for side in video.get("side_data_list", ()) if "rotation" in side]
    assert turns == ([] if rotation is None else [rotation])
    tags = found["format"]["tags"]
    assert tags["location"].startswith("+00.5000-025.5000")
    assert tags["com.apple.quicktime.location.ISO6709"].startswith("+00.5000-025.5000")
    assert tags["com.apple.quicktime.model"] == "Pocket Three"
    assert float(found["format"]["duration"]) == pytest.approx(CLIPS[number]["duration_s"], abs=0.001)


@needs_ffprobe
def test_ffprobe_finds_the_mean_and_the_nominal_rate_of_the_second_clip_apart() -> None:
    video = next(s for s in probe(CLIPS[2]["file"])["streams"] if s["codec_type"] == "video")
    assert Fraction(video["avg_frame_rate"]) < Fraction(video["r_frame_rate"])


@pytest.mark.parametrize("still", [s["still"] for s in STILLS["stills"]])
def test_the_frame_of_a_still_has_the_edges_of_its_mask(still: str) -> None:
    """Picture and mask are of one moment: brightness changes far more across the mask's edges than across the same edges moved aside."""
    import cv2
    import numpy as np
    from PIL import Image

    entry = next(s for s in STILLS["stills"] if s["still"] == still)
    mask = np.asarray(Image.open(SAMPLE / "truth" / entry["file"])).astype(np.int16)
    assert mask.shape == (entry["height"], entry["width"])
    picture = upright_frame(CLIPS[entry["clip"]]["file"], entry["pts"])
    assert picture.shape[:2] == mask.shape
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY).astype(np.float32)
    change = np.abs(cv2.Sobel(grey, cv2.CV_32F, 1, 0)) + np.abs(cv2.Sobel(grey, cv2.CV_32F, 0, 1))
    edge = np.zeros(mask.shape, bool)
    edge[1:] |= mask[1:] != mask[:-1]
    edge[:, 1:] |= mask[:, 1:] != mask[:, :-1]
    here = float(change[edge].mean())
    for dx, dy in ((6, 0), (-6, 0), (0, 6), (0, -6)):
        assert here > 1.3 * float(change[np.roll(edge, (dy, dx), (0, 1))].mean())


def upright_frame(file: str, pts: int) -> Any:
    """The decoded frame with that pts, turned upright, (H, W, 3) RGB."""
    import numpy as np

    with av.open(str(SAMPLE / file)) as opened:
        stream = opened.streams.video[0]
        opened.seek(max(0, pts - 90_000), stream=stream)
        for frame in opened.decode(stream):
            if frame.pts == pts:
                return np.rot90(frame.to_ndarray(format="rgb24"), frame.rotation // 90)
    raise AssertionError(f"{file} has no frame with pts {pts}")
