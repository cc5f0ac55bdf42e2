"""Hold a hundred thousand rulings at points and as many along segments against an exact count of crossings, and time a query.

    .venv/bin/python scripts/bench/rulings.py [--seed N] [--scenes N]

500 scenes of 200 points and 200 segments each make the hundred thousand. A query is timed on a still with 500 marks, as milliseconds of the
processor and as a ratio to bare shapely (is it covered, how far is the edge) on the same finished zone in the same run.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

import shapely

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.marks import zones
from tests.marks.exact import Tally, points_against_the_judge, segments_against_the_judge
from tests.marks.makers import course, mark, station, surface

WIDTH, HEIGHT = 1920, 1080
QUERIES = 2_000


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scenes", type=int, default=510, help="a few come to nothing")
    given = parser.parse_args()
    wrong = 0
    for what, ask in (("points", points_against_the_judge), ("segments", segments_against_the_judge)):
        wrong += told(what, ask, given.seed, given.scenes)
    for surfaces in (500, 25):
        time_queries(surfaces)
    return 1 if wrong else 0


def told(what: str, ask: Callable[[int, int, int], Tally], seed: int, scenes: int) -> int:
    began = time.monotonic()
    found = ask(seed, scenes, 200)
    print(
        f"{found.asked:,} {what} (seed {seed}): {found.touching:,} touch an outline, {len(found.wrong)} answers differ"
        f" ({time.monotonic() - began:.0f} s)"
    )
    print("\n".join(found.wrong[:10]), end="\n" if found.wrong else "")
    return len(found.wrong)


def time_queries(surfaces: int) -> None:
    """500 marks of 5 to 12 corners, of so many surfaces, a quarter of them out of play."""
    dice = random.Random(7)
    things = [surface(f"u{i}", f"thing {i}", "out" if i % 4 == 0 else "in") for i in range(surfaces)]
    marks = []
    for number in range(500):
        x, y, reach = dice.uniform(60, WIDTH - 60), dice.uniform(60, HEIGHT - 60), dice.uniform(15, 60)
        around = shapely.Point(x, y).buffer(reach, quad_segs=dice.randint(2, 3)).exterior.coords[:-1]
        ring = [(px + dice.uniform(-4, 4), py + dice.uniform(-4, 4)) for px, py in around]
        marks.append(mark(f"m{number}", f"u{number % surfaces}", ring))
    there = station(things, marks, width=WIDTH, height=HEIGHT)
    began = time.process_time()
    found = zones(course(), there, "s1")
    places = [(dice.uniform(0, WIDTH), dice.uniform(0, HEIGHT)) for _ in range(QUERIES)]
    found.ruling_at(places[0])
    print(f"500 marks of {surfaces} surfaces: the zones take {(time.process_time() - began) * 1000:.0f} ms once")
    zone = found.in_play
    edge = zone.boundary
    shapely.prepare(zone)
    shapely.prepare(edge)
    bare = _each(lambda at: (zone.covers(shapely.Point(at)), edge.distance(shapely.Point(at))), places)
    ours = _each(found.ruling_at, places)
    line = _each(lambda at: found.ruling_along([at, (min(at[0] + 20, WIDTH), at[1])], region=False), places)
    foot = _each(lambda at: found.ruling_along(_foot(at), region=True), places)
    print(
        f"  bare shapely {bare:.3f} ms, a point {ours:.3f} ms ({ours / bare:.1f} times), a line {line:.3f} ms, a foot print {foot:.3f} ms"
    )


def _foot(at: tuple[float, float]) -> list[tuple[float, float]]:
    x, y = min(max(at[0], 15), WIDTH - 15), min(max(at[1], 6), HEIGHT - 6)
    return [(x - 14, y - 5), (x + 14, y - 5), (x + 14, y + 5), (x - 14, y + 5)]


def _each(ask: Callable[[tuple[float, float]], object], places: list[tuple[float, float]]) -> float:
    """Milliseconds of the processor a query."""
    began = time.process_time()
    for at in places:
        ask(at)
    return (time.process_time() - began) * 1000 / len(places)


if __name__ == "__main__":
    sys.exit(main())
