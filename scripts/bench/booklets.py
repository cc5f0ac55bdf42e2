"""How long the booklet's outputs take: pages, judge cards and EPUB of a course in all languages, cold, after one rule changed, and by size.

    python scripts/bench/booklets.py [--stations 16] [--profile]

Data: an invented course, seeded: each station with one still of 1920 x 1080 (drawn, faces none), eight surfaces with marks, three divisions
that differ at every second station. "Pictures ready": the published stills are encoded in every size before, as after take-in. Ratios are to
encoding one still as JPEG in the same run, since seconds depend on the machine and on what else it does.
"""

from __future__ import annotations

import argparse
import cProfile
import datetime as dt
import pstats
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
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
            noise = np.random.default_rng(one.number).integers(0, 255, (HEIGHT // 8, WIDTH // 8, 3), dtype=np.uint8)
            Image.fromarray(noise).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC).save(self.jpeg(one.stills[0].id), quality=85)

    def jpeg(self, still_id: str) -> Path:
        return self._folder / f"{still_id}.jpg"


class Outputs:
    """The outputs of a course in every language, into one folder, with what is kept between two writings beside it."""

    def __init__(self, folder: Path, pictures: Drawn) -> None:
        self._out, self._kept, self._pictures = folder / "out", folder / "kept", pictures
        self.took: dict[str, float] = {}

    def write(self, course: Course, stations: Sequence[Station], number: int) -> float:
        """Write all of it; return the seconds it took."""
        begun = time.perf_counter()
        stamp = Stamp(number, "ABCDEF", dt.datetime(2026, 5, 9, 12, tzinfo=dt.UTC))
        shutil.rmtree(self._out, ignore_errors=True)
        booklets: list[Booklet] = []
        self._timed("rules", lambda: booklets.extend(pages(course, stations, stamp, wording=Wording(each)) for each in LANGUAGES))
        first, *others = booklets
        self._timed("pages", lambda: write_site(first, self._pictures, self._out / "booklet", others=others, cache=self._kept))
        for each in booklets:
            name = each.wording.language
            self._timed("cards", lambda each=each, name=name: write_cards(each, self._pictures, self._out / f"cards-{name}.pdf", cache=self._kept))
            self._timed("epub", lambda each=each, name=name: write_epub(each, self._pictures, self._out / f"{name}.epub", cache=self._kept))
        return time.perf_counter() - begun

    def _timed(self, what: str, work: Callable[[], object]) -> None:
        begun = time.perf_counter()
        work()
        self.took[what] = self.took.get(what, 0.0) + time.perf_counter() - begun


def with_one_rule_changed(stations: Sequence[Station]) -> tuple[Station, ...]:
    """The middle station with one surface ruled the other way."""
    at = len(stations) // 2
    surfaces = stations[at].surfaces
    other = surfaces[6].model_copy(update={"ruling": "out"})
    changed = stations[at].model_copy(update={"surfaces": (*surfaces[:6], other, *surfaces[7:])})
    return (*stations[:at], changed, *stations[at + 1 :])


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser()
    options.add_argument("--stations", type=int, default=16)
    options.add_argument("--profile", action="store_true")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as there:
        folder = Path(there)
        course, stations = course_of(asked.stations)
        (folder / "stills").mkdir()
        pictures = Drawn(folder / "stills", stations)
        outputs = Outputs(folder, pictures)
        print(f"{asked.stations} stations, {len(DIVISIONS)} divisions, {len(LANGUAGES)} languages")
        for name, documents in (
            ("cold", stations), ("pictures ready, rest cold", stations), ("nothing changed", stations),
            ("one rule changed", with_one_rule_changed(stations)),
        ):  # fmt: skip
            if name.startswith("pictures ready"):
                for file in (folder / "kept").iterdir():
                    if file.suffix not in (".avif", ".webp", ".jpg", ".jpeg"):
                        file.unlink()
            profile = cProfile.Profile()
            if asked.profile:
                profile.enable()
            outputs.took = {}
            took = outputs.write(course, documents, 1 + (name == "one rule changed"))
            profile.disable()
            print(f"{name}: {took:.2f} s ({', '.join(f'{what} {seconds:.2f}' for what, seconds in outputs.took.items())})", flush=True)
            if asked.profile:
                pstats.Stats(profile).sort_stats("cumulative").print_stats(45)


if __name__ == "__main__":
    main()
