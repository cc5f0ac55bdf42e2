"""How long the booklet's outputs take: pages, judge cards and EPUB of a course in all languages, cold, after one rule changed, and by size.

    python scripts/bench/booklets.py [--stations 16] [--profile]

Data: an invented course, seeded: each station with one still of 1920 x 1080 (drawn, faces none), eight surfaces with marks, three divisions
that differ at every second station. "Pictures ready": the published stills are encoded in every size before, as after take-in, in another
process. Seconds of the processor count all threads, and depend less on what else the machine does than those by the clock.
"""

from __future__ import annotations

import argparse
import cProfile
import datetime as dt
import pstats
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.booklet import LANGUAGES, Booklet, Stamp, Wording, pages, write_cards, write_epub, write_site
from annotator.course import BlanketRule, Course, Mark, RunFormat, Said, Station, Still, Surface
from annotator.units import clock

WIDTH, HEIGHT = 1920, 1080
DIVISIONS = ("under-tens", "juniors", "adults")
THINGS = ("blue mat", "red platform", "green beam", "white net", "yellow rings", "grey wall", "black rope", "orange post")


def course_of(count: int) -> tuple[Course, tuple[Station, ...]]:
    """An invented course of that many stations."""
    chance = random.Random(7)
    stations = tuple(station(number, chance) for number in range(1, count + 1))
    course = Course(
        name="bench", title="Invented course", order=tuple(one.id for one in stations), divisions=DIVISIONS,
        blanket=(
            BlanketRule(rule="unnamed-out", id="b1", state="accepted"),
            BlanketRule(rule="surface", surface="post pads", ruling="in", contact=("hands",), id="b2", state="accepted"),
        ),
        format=RunFormat(retries=1, ranking="furthest then fastest"),
    )  # fmt: skip
    return course, stations


def station(number: int, chance: random.Random) -> Station:
    """One with eight surfaces, each with an outline of twelve corners."""
    surfaces, marks = [], []
    for at, name in enumerate(THINGS):
        begun = number * 60.0 + at
        said = (Said(start=begun, end=begun + 1, text=f"the {name}, {clock(begun)}"),)
        role = "start" if at == 0 else "finish" if at == len(THINGS) - 1 else "route"
        ruling = "out" if at in (3, 5) else "in"
        other = {"in": "out", "out": "in"}[ruling]
        differing = {DIVISIONS[at % 3]: other} if number % 2 and at in (2, 3, 4) else None
        surfaces.append(
            Surface.model_validate(
                {"id": f"u{number}-{at}", "name": name, "role": role, "ruling": ruling, "divisions": differing, "said": said,
                 "overshoot": "allowed" if role == "finish" else None, "state": "accepted"}
            )
        )  # fmt: skip
        x, y = (at % 4 + 0.5) * WIDTH / 4, (at // 4 + 0.5) * HEIGHT / 2
        turns = np.linspace(0, 2 * np.pi, 12, endpoint=False)
        far = [chance.uniform(0.2, 0.45) for _ in turns]
        ring = tuple((float(x + WIDTH / 4 * f * np.cos(t)), float(y + HEIGHT / 2 * f * np.sin(t))) for f, t in zip(far, turns, strict=True))
        marks.append(Mark(id=f"m{at}", still=f"s{number}", surface=f"u{number}-{at}", rings=(ring,), state="accepted"))
    still = Still(id=f"s{number}", time_s=number * 60.0, clip=1, pts=0, width=WIDTH, height=HEIGHT, file=f"{number:064x}", state="accepted")
    return Station(
        id=f"t{number}", number=number, name=f"station {number}", start=number * 60.0, end=number * 60.0 + 50, contact=("hands", "feet"),
        surfaces=tuple(surfaces), marks=tuple(marks), stills=(still,), state="accepted",
    )  # fmt: skip


class Drawn:
    """Published stills as JPEG files: soft noise, so that they weigh what photographs do."""

    def __init__(self, folder: Path, stations: Sequence[Station]) -> None:
        self._folder = folder
        for one in stations:
            if self.jpeg(one.stills[0].id).exists():
                continue
            noise = np.random.default_rng(one.number).integers(0, 255, (HEIGHT // 8, WIDTH // 8, 3), dtype=np.uint8)
            Image.fromarray(noise).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC).save(self.jpeg(one.stills[0].id), quality=85)

    def jpeg(self, still_id: str) -> Path:
        return self._folder / f"{still_id}.jpg"


class Outputs:
    """The outputs of a course in every language, into one folder, with what is kept between two writings beside it."""

    def __init__(self, folder: Path, pictures: Drawn) -> None:
        self._out, self._kept, self._drawn, self._pictures = folder / "out", folder / "kept", folder / "drawn", pictures
        self.took: dict[str, float] = {}

    def write(self, course: Course, stations: Sequence[Station], number: int) -> tuple[float, float]:
        """Write all of it; return the seconds that it took by the clock and of the processor."""
        begun, worked = time.perf_counter(), time.process_time()
        stamp = Stamp(number, "ABCDEF", dt.datetime(2026, 5, 9, 12, tzinfo=dt.UTC))
        shutil.rmtree(self._out, ignore_errors=True)
        booklets: list[Booklet] = []
        self._timed(
            "rules", lambda: booklets.extend(pages(course, stations, stamp, wording=Wording(each), drawn=self._drawn) for each in LANGUAGES)
        )
        first, *others = booklets
        self._timed("pages", lambda: write_site(first, self._pictures, self._out / "booklet", others=others, cache=self._kept))
        for each in booklets:
            name = each.wording.language
            self._timed("cards", partial(write_cards, each, self._pictures, self._out / f"cards-{name}.pdf", cache=self._kept))
            self._timed("epub", partial(write_epub, each, self._pictures, self._out / f"{name}.epub", cache=self._kept))
        return time.perf_counter() - begun, time.process_time() - worked

    def _timed(self, what: str, work: Callable[[], object]) -> None:
        begun = time.process_time()
        work()
        self.took[what] = self.took.get(what, 0.0) + time.process_time() - begun


def with_one_rule_changed(stations: Sequence[Station]) -> tuple[Station, ...]:
    """The middle station with one surface ruled the other way."""
    at = len(stations) // 2
    surfaces = stations[at].surfaces
    other = surfaces[6].model_copy(update={"ruling": "out"})
    changed = stations[at].model_copy(update={"surfaces": (*surfaces[:6], other, *surfaces[7:])})
    return (*stations[:at], changed, *stations[at + 1 :])


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--stations", type=int, default=16)
    options.add_argument("--profile", action="store_true")
    options.add_argument("--cold", type=Path, help=argparse.SUPPRESS)  # what the first, separate process does
    asked = options.parse_args()
    course, stations = course_of(asked.stations)
    if asked.cold:
        (asked.cold / "stills").mkdir()
        report("cold", Outputs(asked.cold, Drawn(asked.cold / "stills", stations)), course, stations, 1)
        return
    with tempfile.TemporaryDirectory() as there:
        folder = Path(there)
        print(f"{asked.stations} stations, {len(DIVISIONS)} divisions, {len(LANGUAGES)} languages", flush=True)
        subprocess.run([sys.executable, __file__, "--stations", str(asked.stations), "--cold", there], check=True)
        shutil.rmtree(folder / "drawn")
        outputs = Outputs(folder, Drawn(folder / "stills", stations))
        profile = cProfile.Profile()
        if asked.profile:
            profile.enable()
        report("pictures ready, all else cold", outputs, course, stations, 1)
        report("another number only", outputs, course, stations, 2)
        report("one rule changed", outputs, course, with_one_rule_changed(stations), 3)
        profile.disable()
        if asked.profile:
            pstats.Stats(profile).sort_stats("cumulative").print_stats(60)


def report(name: str, outputs: Outputs, course: Course, stations: Sequence[Station], number: int) -> None:
    """Write everything and print what it took."""
    outputs.took = {}
    clock_s, processor_s = outputs.write(course, stations, number)
    parts = ", ".join(f"{what} {seconds:.2f}" for what, seconds in outputs.took.items())
    print(f"{name}: {clock_s:.2f} s by the clock, {processor_s:.2f} s of the processor ({parts})", flush=True)


if __name__ == "__main__":
    main()
