"""How long the booklet's outputs take: pages, judge cards and EPUB of a course in all languages, cold, after one rule changed, and by size.

    python scripts/bench/booklets.py [--stations 16] [--profile]
    python scripts/bench/booklets.py --sizes 25 50 100 200

Counted: the rules put into words in five languages; the phone booklet (every station's page for readers and for judges, first pages, three
divisions on each, pictures in all sizes, find lists, what keeps it without a network) in all five; A5 judge cards and an EPUB in each of
them. Done as publishing does it: pages and e-books on one thread, cards on another (annotator/pipeline/side_by_side.py), or by a second
process where many are missing (annotator/booklet/paper/aside.py), whose seconds are counted too, its start among them. Not counted:
freezing the edition in the database, blurring faces, flushing to the disk, and the outputs of other kinds.

As in an edition, which nobody writes in, pictures and cards are second names of the kept ones.

Data: an invented course, seeded: each station with one still of 1920 x 1080 (drawn, faces none), eight surfaces with marks, three divisions
that differ at every second station. Each writing has a folder of its own, as an edition has, and none is removed before all is measured:
ext4 looks through all that was deleted in the last minutes whenever it makes a file, some .6 ms each time; so wait some minutes between two
runs. Each of the first three lines is a process of its own, so that nothing is in memory from before:

- cold: nothing is there.
- pictures ready: the published stills are encoded in every size, as after take-in (`pipeline.make_sizes`); all else is made.
- one rule changed, new process: a later edition, in which the middle station has one surface ruled the other way.
- the same as made ahead: that edition once more, as it is published when its parts were made in the background after the last change.
- another number only, one rule changed: the same again in that process, which is then warm, as a server's is.

Seconds of the processor count all threads, and depend less on what else the machine does than those by the clock.
`--sizes`: one language, no difference between divisions and the same still at each station, with pictures ready and all else cold, then one
rule changed in a new process, then the same as made ahead; three lines a size.
"""

from __future__ import annotations

import argparse
import cProfile
import datetime as dt
import os
import pstats
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.booklet import (
    LANGUAGES,
    Booklet,
    CardsWanted,
    Stamp,
    Wording,
    cards_aside,
    encode_sizes,
    pages,
    write_cards,
    write_epub,
    write_site,
)
from annotator.course import BlanketRule, Course, Mark, RunFormat, Said, Station, Still, Surface
from annotator.pipeline.side_by_side import Task, side_by_side
from annotator.process import settle
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
    """Published stills as JPEG files: soft noise, so that they weigh what photographs do; or one picture for all, which is encoded once."""

    def __init__(self, folder: Path, stations: Sequence[Station], *, alike: bool = False) -> None:
        self._folder = folder
        for one in stations:
            if self.jpeg(one.stills[0].id).exists():
                continue
            noise = np.random.default_rng(0 if alike else one.number).integers(0, 255, (HEIGHT // 8, WIDTH // 8, 3), dtype=np.uint8)
            Image.fromarray(noise).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC).save(self.jpeg(one.stills[0].id), quality=85)

    def jpeg(self, still_id: str) -> Path:
        return self._folder / f"{still_id}.jpg"


class Outputs:
    """The outputs of a course in some languages, into one folder, with what is kept between two writings beside it."""

    def __init__(self, folder: Path, pictures: Drawn, languages: Sequence[str] = LANGUAGES) -> None:
        self._outs, self._kept, self._drawn, self._pictures = folder / "out", folder / "kept", folder / "drawn", pictures
        self._languages = languages
        self.took: dict[str, float] = {}

    def write(self, course: Course, stations: Sequence[Station], number: int, minute: int = 0) -> tuple[float, float]:
        """Write all of it; return the seconds that it took by the clock and of the processor."""
        self._outs.mkdir(exist_ok=True)
        out = Path(tempfile.mkdtemp(dir=self._outs))
        begun, worked = time.perf_counter(), _processor_s()
        stamp = Stamp(number, "ABCDEF", dt.datetime(2026, 5, 9, 12, minute, tzinfo=dt.UTC))
        booklets: list[Booklet] = []
        self._timed(
            "rules",
            lambda: booklets.extend(pages(course, stations, stamp, wording=Wording(each), drawn=self._drawn) for each in self._languages),
        )
        first, *others = booklets

        def site() -> object:
            return write_site(first, self._pictures, out / "booklet", others=others, cache=self._kept, linked=True)

        def epub(each: Booklet) -> object:
            return write_epub(each, self._pictures, out / f"{each.wording.language}.epub", cache=self._kept)

        def cards(each: Booklet) -> object:
            return write_cards(each, self._pictures, out / f"cards-{each.wording.language}.pdf", cache=self._kept, linked=True)

        here = [self._task("pages", site), *(self._task("epub", partial(epub, each)) for each in booklets)]
        stills = {still.id: self._pictures.jpeg(still.id) for station in stations for still in station.stills}
        wanted = CardsWanted(course, tuple(stations), stamp, tuple(self._languages), stills, "A5", None, self._drawn, self._kept)
        with cards_aside(wanted) if wanted.are_worth_a_process(first) else nullcontext(None) as wait:
            there: list[Task] = []
            for each in booklets:
                if wait is not None:
                    there.append(partial(wait, each.wording.language))
                there.append(self._task("cards", partial(cards, each)))
            side_by_side(here, there)
        return time.perf_counter() - begun, _processor_s() - worked

    def _task(self, what: str, work: Callable[[], object]) -> Task:
        return lambda _: self._timed(what, work)

    def _timed(self, what: str, work: Callable[[], object]) -> None:
        """Seconds of this thread's processor: what typst does on threads of its own is only in the sum of all."""
        begun = time.thread_time()
        work()
        self.took[what] = self.took.get(what, 0.0) + time.thread_time() - begun


def _processor_s() -> float:
    """Of this process and of those it started that are gone."""
    told = os.times()
    return told.user + told.system + told.children_user + told.children_system


def with_one_rule_changed(stations: Sequence[Station], which: int = 6) -> tuple[Station, ...]:
    """The middle station with one surface ruled the other way."""
    at = len(stations) // 2
    surfaces = stations[at].surfaces
    other = surfaces[which].model_copy(update={"ruling": "out"})
    changed = stations[at].model_copy(update={"surfaces": (*surfaces[:which], other, *surfaces[which + 1 :])})
    return (*stations[:at], changed, *stations[at + 1 :])


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--stations", type=int, default=16)
    options.add_argument("--sizes", type=int, nargs="*")
    options.add_argument("--profile", action="store_true")
    options.add_argument("--step", choices=STEPS, help=argparse.SUPPRESS)  # what a process of its own does
    options.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    options.add_argument("--plain", action="store_true", help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.step:
        do_step(asked.step, asked.folder, asked.stations, plain=asked.plain, profiled=asked.profile)
        return
    for count in asked.sizes or [asked.stations]:
        plain = ["--plain"] if asked.sizes else []
        print(f"{count} stations, {'no divisions, 1 language' if plain else '3 divisions, 5 languages'}", flush=True)
        with tempfile.TemporaryDirectory() as there:
            for step in STEPS[1:] if plain else STEPS:
                more = ["--profile"] if asked.profile and step == "changed" else []
                own = [sys.executable, __file__, "--stations", str(count), "--folder", there, "--step", step, *plain, *more]
                subprocess.run(own, check=True)


STEPS = ("cold", "ready", "changed")


def do_step(step: str, folder: Path, count: int, *, plain: bool, profiled: bool) -> None:
    """One line of figures, or three, in this process."""
    settle()
    course, stations = course_of(count)
    if plain:
        course = course.model_copy(update={"divisions": ()})
        stations = tuple(alike(one) for one in stations)
    (folder / "stills").mkdir(exist_ok=True)
    drawn = Drawn(folder / "stills", stations, alike=plain)
    outputs = Outputs(folder, drawn, LANGUAGES[:1] if plain else LANGUAGES)
    changed = with_one_rule_changed(stations)
    if step == "cold":
        report("cold", outputs, course, stations, 1)
        return
    if step == "ready":
        for name in ("drawn", "kept/pages", "kept/cards", "kept/joined"):
            shutil.rmtree(folder / name, ignore_errors=True)
        for one in stations:
            encode_sizes(drawn.jpeg(one.stills[0].id), folder / "kept")
        report("pictures ready, all else cold", outputs, course, stations, 1)
        return
    profile = cProfile.Profile(time.process_time)
    if profiled:
        profile.enable()
    report("one rule changed, new process", outputs, course, changed, 2)
    profile.disable()
    if profiled:
        pstats.Stats(profile).sort_stats("cumulative").print_stats(60)
    report("the same as made ahead, a minute later", outputs, course, changed, 2, 1)
    if not plain:
        report("another number only", outputs, course, changed, 3)
        report("one rule changed", outputs, course, stations, 4)
        report("one rule changed again", outputs, course, with_one_rule_changed(stations, 2), 5)


def alike(station: Station) -> Station:
    """The station without differences between divisions."""
    return station.model_copy(update={"surfaces": tuple(one.model_copy(update={"divisions": None}) for one in station.surfaces)})


def report(name: str, outputs: Outputs, course: Course, stations: Sequence[Station], number: int, minute: int = 0) -> None:
    """Write everything and print what it took."""
    outputs.took = {}
    clock_s, processor_s = outputs.write(course, stations, number, minute)
    parts = ", ".join(f"{what} {seconds:.2f}" for what, seconds in outputs.took.items())
    print(f"{name}: {clock_s:.2f} s by the clock, {processor_s:.2f} s of the processor ({parts})", flush=True)


if __name__ == "__main__":
    main()
