"""Fit what snapping weighs outlines by (annotator/marks/weigh.py), on halls of random things, the second hall and photos, not the demo.

    .venv/bin/python scripts/fit_outlines.py [--check]

Prints the weights as they stand in weigh.py. With --check: what the weights that stand there choose on halls that were not fitted on.
Things are drawn badly as in scripts/bench/snap.py. Needs moderngl and EGL, Debian's opencv-doc and scikit-image.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.marks import snap
from annotator.marks.crops import Crop, Floats
from annotator.marks.rivals import rivals
from annotator.marks.weigh import WEIGHTS, Outline, clues
from scripts.bench.snap import covered, drawn_badly, overlap
from scripts.bench.truths import Thing, photo_things, pieces
from scripts.sample_walk.other_hall import build_other_hall
from scripts.sample_walk.random_hall import ROOM, random_hall, stills_of

FITTED, CHECKED = range(100, 108), range(200, 204)
OTHER_FITTED, OTHER_CHECKED = (7, 10), (9, 6)
_LEAST_PX, _LEAST_DIAGONAL = 300, 24
_PHOTOS_COUNT = 2
"""Photos are few; each counts so often."""
_RIDGE = 3.0
_CEILING = 1.04
_BARS = ("cord", "grey pipe", "green bars", "red rope", "white bars", "football net", "window")


@dataclass(frozen=True, eq=False)
class Case:
    """One outline drawn badly: what is seen of each that it may become, how good each is, and how good what was drawn is."""

    seen: Floats
    good: Floats
    near: Floats
    drawn: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    if parser.parse_args().check:
        cases = list(_cases(_things(CHECKED, OTHER_CHECKED)))
        _tell(cases, np.array(list(WEIGHTS.values())))
        return
    made, photos = list(_cases(_things(FITTED, OTHER_FITTED))), list(_cases([*photo_things(), *photo_things()]))
    weights = _fitted([*made, *photos * _PHOTOS_COUNT])
    for name, weight in zip(WEIGHTS, weights, strict=True):
        print(f'    "{name}": {weight:.3f},')
    for cases in (made, photos):
        _tell(cases, weights)


def _things(seeds: range, other: tuple[int, int]) -> Iterator[Thing]:
    halls: list[tuple[Any, int, int, tuple[float, float]]] = [(random_hall, seed, 5, (-1.0, 25.0)) for seed in seeds]
    halls.append((lambda _: build_other_hall(), other[0], other[1], (0.0, 29.0)))
    for make, seed, count, between_m in halls:
        rng = np.random.default_rng(seed)
        hall = make(rng)
        for number, (picture, mask) in enumerate(stills_of(hall, rng, count, between_m)):
            for thing in hall.things:
                if thing.name in (*ROOM, *_BARS):
                    continue
                tops = [other.number for other in hall.things if other.name == thing.name and other.part == "top"]
                # A pad is said with its top as often as without.
                whole = thing.name.startswith("pad") and thing.part is None and rng.random() < 0.6
                for piece in pieces(np.isin(mask, [thing.number, *(tops if whole else [])]), _LEAST_PX):
                    rows, columns = np.nonzero(piece)
                    if np.hypot(np.ptp(rows), np.ptp(columns)) >= _LEAST_DIAGONAL:
                        yield Thing("made", f"{seed} {number} {thing.name}", picture, piece)


def _cases(things: Sequence[Thing] | Iterator[Thing]) -> Iterator[Case]:
    rng = np.random.default_rng(11)
    for thing in things:
        rough = drawn_badly(thing.mask, rng)
        if len(rough) > 1:
            continue
        seen: list[tuple[list[dict[str, float]], list[Floats]]] = []

        def watch(here: Crop, like: Any, outlines: Sequence[Outline], drawn: Floats, size: float, into: Any = seen) -> Floats:
            into.append((clues(here, like, outlines, drawn, size), [one.ring / here.ratio + here.corner for one in outlines]))
            return np.zeros(len(outlines))

        with patch.object(importlib.import_module(rivals.__module__), "weigh", watch):
            snap(thing.picture, rough[0])
        if seen:
            told, rings = seen[0]
            masks = [covered([[(float(x), float(y)) for x, y in ring]], thing.picture) for ring in rings]
            own = covered(rough, thing.picture)
            yield Case(
                np.array([[one[name] for name in WEIGHTS] for one in told]),
                np.array([overlap(mask, thing.mask) for mask in masks]),
                np.array([overlap(mask, own) for mask in masks]),
                overlap(own, thing.mask),
            )


def _fitted(cases: Sequence[Case]) -> Floats:
    """Ridge regression of how much better an outline is than its rivals; each case counts once."""
    rows, better, counts = [], [], []
    for case in cases:
        good = -np.log(_CEILING - case.good)
        rows.append(case.seen - case.seen.mean(axis=0))
        better.append(good - good.mean())
        counts.append(np.full(len(good), 1 / len(good)))
    seen, wanted, weight = np.vstack(rows), np.concatenate(better), np.concatenate(counts)
    spread = seen.std(axis=0) + 1e-6
    seen = seen / spread
    normal = (seen.T * weight) @ seen + _RIDGE / 100 * weight.sum() * np.eye(seen.shape[1])
    return np.asarray(np.linalg.solve(normal, (seen.T * weight) @ wanted) / spread)


def _tell(cases: Sequence[Case], weights: Floats) -> None:
    chosen = [case.good[int(np.argmax(np.where(case.near >= 0.55, case.seen @ weights, -np.inf)))] for case in cases]
    told = [("drawn", [case.drawn for case in cases]), ("voted", [case.good[0] for case in cases]), ("chosen", chosen)]
    told.append(("the best of all", [case.good.max() for case in cases]))
    print(f"{len(cases)} outlines: " + ", ".join(f"{name} {np.median(values):.3f} (mean {np.mean(values):.3f})" for name, values in told))


if __name__ == "__main__":
    main()
