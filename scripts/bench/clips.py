"""Measure films: a 720p clip with zones and captions in the picture, against real time and against the same encode without overlays.

    .venv/bin/python scripts/bench/clips.py [--seconds S] [--rounds N]

drawing     decode, zones, label, captions in the picture, encode: what was carried is given (it is kept by the library)
plain       the same decode and encode with nothing drawn
carrying    from two stills through the whole clip, once
Faces are looked for in a published film; what that takes stands beside, since no zone has to do with it.

The clip is drawn here: a handheld camera over a hall full of corners. Drawing and plain take turns in one run; the ratio is the median of
the rounds' ratios. Processor seconds stand beside the time that went by: on a busy machine only they and the ratio say anything, and on a
quiet one with two cores a film takes half of them at least.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.captions import Cue, FaceLook, FacesAt, Post, ZoneTrack, carry_beside_stills, looks_of_run, runs_over
from annotator.captions.burnt import Sheet
from annotator.captions.film import Stretch, draw_film, film_size
from annotator.course import Course, Mark, Station, Still, Surface
from annotator.media import grab, open_writer, probe

WIDTH, HEIGHT, RATE = 1280, 720, 30
SURFACES = 4


def hall() -> NDArray[np.uint8]:
    rng = np.random.default_rng(5)
    scene = np.full((HEIGHT + 200, WIDTH + 600, 3), 120, np.uint8)
    for _ in range(900):
        x, y, w, h = (int(value) for value in (*rng.integers(0, scene.shape[1::-1]), *rng.integers(10, 90, 2)))
        cv2.rectangle(scene, (x, y), (x + w, y + h), tuple(int(value) for value in rng.integers(0, 255, 3)), -1)
    return np.asarray(cv2.GaussianBlur(scene, (0, 0), 1.2), dtype=np.uint8)


def film(path: Path, seconds: float) -> Path:
    scene = hall()
    with open_writer(path, WIDTH, HEIGHT, end_s=seconds) as writer:
        for at in range(int(seconds * RATE)):
            time_s = at / RATE
            x, y = 200 + 120 * np.sin(time_s / 2), 80 + 12 * np.sin(time_s * 1.7)
            matrix = np.array([[1.0, 0.0, -x], [0.0, 1.0, -y]])
            writer.write(np.asarray(cv2.warpAffine(scene, matrix, (WIDTH, HEIGHT)), dtype=np.uint8), time_s)
    return path


def station_of(clip: Path, seconds: float) -> tuple[Station, dict[str, NDArray[np.uint8]]]:
    stills, pictures, marks = [], {}, []
    for at, moment_s in enumerate((seconds * 0.3, seconds * 0.7), 1):
        frame = grab(clip, moment_s)
        stills.append(Still(id=f"s{at}", time_s=frame.time_s, clip=1, pts=frame.pts, width=WIDTH, height=HEIGHT, file="", state="accepted"))
        pictures[f"s{at}"] = frame.image
        for of in range(SURFACES):
            x, y = 160.0 + 260 * of, 180.0 + 90 * (of % 2)
            ring = tuple((x + 90 + 90 * np.cos(turn), y + 80 + 80 * np.sin(turn)) for turn in np.linspace(0, 2 * np.pi, 14)[:-1])
            marks.append(Mark(id=f"m{at}{of}", still=f"s{at}", surface=f"u{of}", rings=(ring,), state="accepted"))
    surfaces = tuple(Surface(id=f"u{of}", name=f"thing {of}", ruling="out" if of % 2 else "in", state="accepted") for of in range(SURFACES))
    return Station(
        id="t1", number=1, name="bench", start=0, end=seconds, surfaces=surfaces, stills=tuple(stills), marks=tuple(marks), state="accepted"
    ), pictures


@dataclass(frozen=True)
class Took:
    """Seconds on the clock, and of all cores together."""

    wall_s: float
    cpu_s: float


def timed(work: Callable[[], object]) -> Took:
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    work()
    return Took(time.perf_counter() - wall_s, time.process_time() - cpu_s)


def middle(values: Iterable[float]) -> float:
    return float(np.median(list(values)))


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=12.0)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as folder:
        clip = film(Path(folder) / "clip.mp4", given.seconds)
        seconds = probe(clip).duration_s
        station, pictures = station_of(clip, given.seconds)
        course, size = Course(name="bench", title="Bench"), (WIDTH, HEIGHT)
        stretch = Stretch(clip, 0.0, seconds)
        posts: list[Post] = []
        carrying = timed(lambda: posts.extend(carry_beside_stills(station, stretch, 0.0, size, pictures)))
        cues = [
            Cue(at * 2000, at * 2000 + 1900, ("Hands only on the middle rungs,", "and the red frame is out of play.")) for at in range(99)
        ]
        drawn = film_size(probe(clip), 720)

        def draw(zones: bool, faces: FacesAt | None = None) -> Took:
            track = ZoneTrack(course, station, posts, size, drafts=False)
            return timed(
                lambda: draw_film(
                    stretch,
                    Path(folder) / "out.mp4",
                    zones=track.at if zones else lambda _: None,
                    labels=lambda _: ("Placed by machine, some may be missing: the card decides",) if zones else (),
                    short_side=720,
                    faces=None if faces is None else faces.at,
                    canvas=Sheet(drawn, drawn, cues) if zones else None,
                )
            )

        draw(False)  # what is loaded and worked out once
        draw(True)
        rounds = [(draw(True), draw(False)) for _ in range(given.rounds)]
        looks: list[FaceLook] = []
        looking = timed(lambda: looks.extend(look for run in runs_over(0.0, seconds) for look in looks_of_run(clip, run)))
        hidden = draw(True, FacesAt(looks))
        shown_s = ZoneTrack(course, station, posts, size, drafts=False).shown_s
    print(
        f"{seconds:.1f} s of {WIDTH} x {HEIGHT} at {RATE} a second; zones over {shown_s:.1f} s; load {load:.1f} on {os.cpu_count()} cores"
    )
    drawing, plain = ([each[which] for each in rounds] for which in (0, 1))
    print(f"drawing  {middle(seconds / each.wall_s for each in drawing):5.2f} of real time   {middle(e.cpu_s for e in drawing):6.1f} cpu s")
    print(
        f"plain    {middle(seconds / each.wall_s for each in plain):5.2f} of real time   {middle(each.cpu_s for each in plain):6.1f} cpu s"
    )
    by_clock, by_cpu = (middle(getattr(b, what) / getattr(a, what) for a, b in rounds) for what in ("wall_s", "cpu_s"))
    print(f"drawing has {by_clock:.2f} of the speed without overlays by the clock, {by_cpu:.2f} by processor seconds")
    drawing_cpu_s = middle(each.cpu_s for each in drawing)
    print(f"carrying {carrying.wall_s:.1f} s, {carrying.cpu_s:.1f} cpu s: once for a station, then kept")
    print(f"looking for faces {looking.wall_s:.1f} s, {looking.cpu_s:.1f} cpu s: once for a clip, then kept; hiding none of them here")
    print(f"drawing where faces are kept {seconds / hidden.wall_s:5.2f} of real time   {hidden.cpu_s:6.1f} cpu s")
    once_cpu_s = carrying.cpu_s + looking.cpu_s
    print(f"in all   {drawing_cpu_s + carrying.cpu_s:.1f} cpu s with carrying, {drawing_cpu_s + once_cpu_s:.1f} with faces too")


if __name__ == "__main__":
    main()
