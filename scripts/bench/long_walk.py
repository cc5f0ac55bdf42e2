"""How much memory a long walk takes: `annotator add` in a process of its own, its peak after each stage.

    .venv/bin/python scripts/bench/long_walk.py [--hours 3] [--clip FILE]

The walk is one clip (the sample walk's first where none is named) over and over, its packets copied as they are. The peak is the system's
own figure for the process (resident set); after each stage it is read from /proc, where there is one.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import av

SAMPLE = Path(__file__).resolve().parents[2] / "sample_media" / "clip-1.mp4"
LIMIT_MB = 1500


def repeat(clip: Path, out: Path, hours: float) -> None:
    """The clip again and again until it is so long."""
    with av.open(str(out), "w") as film:
        kept: dict[int, Any] = {}
        begins_s = 0.0
        while begins_s < hours * 3600:
            with av.open(str(clip)) as source:
                streams = (*source.streams.video, *source.streams.audio)
                kept = kept or {stream.index: film.add_stream_from_template(stream) for stream in streams}
                ends_s = begins_s
                for packet in source.demux(*streams):
                    if packet.dts is None or packet.pts is None:
                        continue
                    by = round(begins_s / packet.time_base)
                    packet.pts, packet.dts = packet.pts + by, packet.dts + by
                    ends_s = max(ends_s, float((packet.pts + (packet.duration or 0)) * packet.time_base))
                    packet.stream = kept[packet.stream.index]
                    film.mux(packet)
            begins_s = ends_s + 0.1


def peak_mb(pid: int) -> float | None:
    """The peak of a running process so far; None where the system does not tell."""
    try:
        lines = Path(f"/proc/{pid}/status").read_text("ascii", errors="replace").splitlines()
    except OSError:
        return None
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), None)


def measure(walk: Path, library: Path) -> float:
    """Take it in and say where the peak rises; the peak in MB."""
    began = time.monotonic()
    env = {**os.environ, "ANNOTATOR_LIBRARY": str(library), "PYTHONUNBUFFERED": "1"}
    adding = subprocess.Popen([sys.executable, "-m", "annotator.cli", "add", str(walk)], stderr=subprocess.PIPE, text=True, env=env)
    assert adding.stderr is not None
    for line in adding.stderr:
        peak = peak_mb(adding.pid)
        print(f"{time.monotonic() - began:7.0f} s  peak {'?' if peak is None else f'{peak:.0f}'} MB  {line.rstrip()}", flush=True)
    _, status, used = os.wait4(adding.pid, 0)
    if status:
        raise SystemExit(f"add ended with {os.waitstatus_to_exitcode(status)}")
    return used.ru_maxrss / (1024 * 1024 if sys.platform == "darwin" else 1024)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--hours", type=float, default=3.0)
    parser.add_argument("--clip", type=Path, default=SAMPLE)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        walk = Path(folder) / "long walk.mp4"
        repeat(given.clip, walk, given.hours)
        print(f"{given.hours:g} h, {walk.stat().st_size / 1e6:.0f} MB", flush=True)
        peak = measure(walk, Path(folder) / "library")
    print(f"peak {peak:.0f} MB; the limit is {LIMIT_MB} MB")


if __name__ == "__main__":
    main()
