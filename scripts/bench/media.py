"""Measure reading and picking against bare decoding, and memory on a three-hour film. Not part of the tests: it takes minutes.

    .venv/bin/python scripts/bench/media.py [CLIP]     a clip of yours; without one, a minute of 1080p is made
    .venv/bin/python scripts/bench/media.py --long     three hours, made on the spot: how much memory reading takes

Figures are printed, and kept in DEVELOPERS.md by hand.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np

from annotator.media import Window, grab, pick_stills, probe, read_audio, read_frames, write_proxy

LONG_S = 3 * 3600


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("clip", nargs="?", type=Path)
    parser.add_argument("--long", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if given.long:
            measure_long(make_long(Path(folder) / "long.mp4"), Path(folder))
        else:
            measure(given.clip or make_1080p(Path(folder) / "hd.mp4"), Path(folder))


def measure(path: Path, folder: Path) -> None:
    facts = probe(path)
    length_s = facts.duration_s
    print(f"{facts.width} x {facts.height} {facts.video_codec}, {length_s:.0f} s")
    bare_s = timed("decode alone", length_s, lambda: bare_decode(path))
    whole = [Window(at, min(at + 5.0, length_s), 3) for at in np.arange(0.0, length_s - 1, 5.0)]
    picked_s = timed("pick 3 stills in every 5 s", length_s, lambda: pick_stills(path, whole))
    print(f"  picking takes {picked_s / bare_s:.2f} times decoding alone")
    few = [Window(at, at + 2.2) for at in np.arange(0.0, length_s - 3, 12.0)]
    timed("pick 1 still in 2.2 s of every 12 s", length_s, lambda: pick_stills(path, few))
    timed("every frame as RGB", length_s, lambda: drain(read_frames(path)))
    moments = np.random.default_rng(1).uniform(0, length_s, 30)
    start = time.perf_counter()
    for moment in moments:
        grab(path, float(moment))
    print(f"grab: {(time.perf_counter() - start) / len(moments) * 1000:.0f} ms")
    timed("sound", length_s, lambda: drain(read_audio(path)))
    timed("proxy", length_s, lambda: write_proxy(path, folder / "proxy.mp4"))
    print(f"peak memory {peak_mb():.0f} MB")


def measure_long(path: Path, folder: Path) -> None:
    print(f"three hours, {path.stat().st_size / 1e6:.0f} MB; memory before: {peak_mb():.0f} MB")
    start = time.perf_counter()
    facts = probe(path)
    print(f"probe {time.perf_counter() - start:.2f} s: {facts.duration_s:.0f} s long, peak {peak_mb():.0f} MB")
    start = time.perf_counter()
    samples = sum(len(piece.samples) for piece in read_audio(path))
    print(f"sound {time.perf_counter() - start:.1f} s: {samples / 16_000:.0f} s of it, peak {peak_mb():.0f} MB")
    start = time.perf_counter()
    windows = [Window(at, at + 20.0, 2) for at in range(0, LONG_S - 60, 120)]
    picks = pick_stills(path, windows)
    print(f"{len(picks)} stills of {len(windows)} windows {time.perf_counter() - start:.1f} s, peak {peak_mb():.0f} MB")
    start = time.perf_counter()
    write_proxy(path, folder / "proxy.mp4")
    print(f"proxy {time.perf_counter() - start:.1f} s, peak {peak_mb():.0f} MB")


def timed(what: str, length_s: float, work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    took_s = time.perf_counter() - start
    print(f"{what}: {took_s:.1f} s, {length_s / took_s:.1f} times as fast as the clip runs")
    return took_s


def bare_decode(path: Path) -> None:
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        drain(container.decode(video=0))


def drain(things: Any) -> None:
    for _ in things:
        pass


def peak_mb() -> float:
    return (
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        / (1 if sys.platform == "darwin" else 1024)
        / (1024 if sys.platform == "darwin" else 1)
    )


def make_1080p(path: Path, length_s: int = 60) -> Path:
    """A wide textured wall that a camera pans over, 30 frames a second."""
    rng = np.random.default_rng(1)
    coarse = rng.integers(0, 256, (140, 400, 3)).astype(np.uint8)
    wall = np.asarray(cv2.resize(coarse, (4000, 1400), interpolation=cv2.INTER_CUBIC))
    with av.open(str(path), "w") as made:
        track: Any = made.add_stream("libx264", rate=30, options={"preset": "ultrafast", "b": "16M"})
        track.width, track.height, track.pix_fmt = 1920, 1080, "yuv420p"
        tone: Any = made.add_stream("aac", rate=48_000)
        tone.codec_context.layout = "mono"
        for at in range(length_s * 30):
            x, y = int(1000 + 900 * np.sin(at / 90)), int(150 + 140 * np.sin(at / 40))
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(wall[y : y + 1080, x : x + 1920], np.uint8), "rgb24")
            frame.pts = at
            made.mux(track.encode(frame))
            if at % 30 == 0:
                made.mux(tone.encode(second_of_sound(at // 30, 48_000, rng)))
        made.mux(track.encode(None))
        made.mux(tone.encode(None))
    return path


def make_long(path: Path) -> Path:
    """Three hours of a tiny picture, once a second, in a codec that has to be encoded again for browsers, with sound."""
    rng = np.random.default_rng(1)
    with av.open(str(path), "w") as made:
        track: Any = made.add_stream("mpeg4", rate=1)
        track.width, track.height, track.pix_fmt = 160, 96, "yuv420p"
        tone: Any = made.add_stream("aac", rate=16_000)
        tone.codec_context.layout = "mono"
        tone.codec_context.bit_rate = 24_000
        for at in range(LONG_S):
            frame = av.VideoFrame.from_ndarray(rng.integers(0, 256, (96, 160, 3)).astype(np.uint8), "rgb24")
            frame.pts = at
            made.mux(track.encode(frame))
            made.mux(tone.encode(second_of_sound(at, 16_000, rng)))
        made.mux(track.encode(None))
        made.mux(tone.encode(None))
    return path


def second_of_sound(at: int, rate_hz: int, rng: np.random.Generator) -> Any:
    frame = av.AudioFrame.from_ndarray((rng.standard_normal((1, rate_hz)) * 0.05).astype(np.float32), "fltp", "mono")
    frame.sample_rate, frame.time_base, frame.pts = rate_hz, Fraction(1, rate_hz), at * rate_hz
    return frame


if __name__ == "__main__":
    main()
