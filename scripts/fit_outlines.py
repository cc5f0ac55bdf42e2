"""Fit what snapping weighs outlines by (annotator/marks/weigh.py), on halls of random things, the second hall and photos, not the demo.

The halls are seen as photos and as films of them are decoded: a film's colours stand at half size and its edges are softer.

    .venv/bin/python scripts/fit_outlines.py [--check]

Prints the weights as they stand in weigh.py. With --check: what the weights that stand there offer on halls that were not fitted on,
plain and filmed. Things are drawn badly as in scripts/bench/snap.py. Needs moderngl and EGL, Debian's opencv-doc and scikit-image.
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
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.marks import snap
from annotator.marks.crops import Crop, Floats, Mask
from annotator.marks.film_colour import with_even_colours
from annotator.marks.rivals import rivals
from annotator.marks.tracing import traced
from annotator.marks.weigh import WEIGHTS, Outline, clues
from scripts.bench.snap import covered, drawn_badly, overlap
from scripts.bench.truths import Thing, photo_things, pieces
from scripts.sample_walk.other_hall import build_other_hall
from scripts.sample_walk.random_hall import ROOM, random_hall, stills_of

FITTED, CHECKED = range(100, 108), range(200, 204)
OTHER_FITTED, OTHER_CHECKED = (7, 10), (9, 6)
FILM_FITTED, FILM_CHECKED = range(400, 407), range(510, 514)
OTHER_FILM_FITTED, OTHER_FILM_CHECKED = (21, 10), (32, 8)
"""Of the second hall: the number its stills are drawn by, and how many they are."""
_LEAST_PX, _LEAST_DIAGONAL = 60, 16
_LEAST_PX_FILMED, _LEAST_DIAGONAL_FILMED = 300, 24
"""Of a thing in a film, the small ones of which hardly have an edge."""
_PHOTOS_COUNT = _FILMS_COUNT = 2
"""Photos are few, and what the tool is given is film: each counts so often."""
_RIDGE = 30.0
_CEILING = 1.04
_SOFT, _SURE, _NEAR_RIDGE = 0.1, 0.1, 0.003
"""How sharply the highest weight is preferred, as in annotator/marks/middle.py; how sharply more than half is; what holds weights near
those of the regression."""
_BARS = ("cord", "grey pipe", "green bars", "red rope", "white bars", "football net", "window")


@dataclass(frozen=True, eq=False)
class Case:
    """One outline drawn badly: what is seen of each that it may become, how good each is, and how good what was drawn is."""

    seen: Floats
    good: Floats
    near: Floats
    drawn: float
    taken: Floats
    """What outlines take of the picture, (kinds, outlines), 0 or 1: pixels that the same ones take are of one kind."""
    pixels: Floats
    true: Floats
    """How many pixels are of each kind, and how many of these are the thing's."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    if parser.parse_args().check:
        weights = np.array(list(WEIGHTS.values()))
        for things in (_things(CHECKED, OTHER_CHECKED), _things(FILM_CHECKED, OTHER_FILM_CHECKED, filmed=True)):
            _tell(list(_cases(things)), weights)
        return
    made, photos = list(_cases(_things(FITTED, OTHER_FITTED))), list(_cases([*photo_things(), *photo_things()]))
    films = list(_cases(_things(FILM_FITTED, OTHER_FILM_FITTED, filmed=True)))
    weights = _fitted([*made, *films * _FILMS_COUNT, *photos * _PHOTOS_COUNT])
    for name, weight in zip(WEIGHTS, weights, strict=True):
        print(f'    "{name}": {weight:.3f},')
    for cases in (made, films, photos):
        _tell(cases, weights)


def _things(seeds: range, other: tuple[int, int], filmed: bool = False) -> Iterator[Thing]:
    halls: list[tuple[Any, int, int, tuple[float, float]]] = [(random_hall, seed, 5, (-1.0, 25.0)) for seed in seeds]
    halls.append((lambda _: build_other_hall(), other[0], other[1], (0.0, 29.0)))
    least_px, least_diagonal = (_LEAST_PX_FILMED, _LEAST_DIAGONAL_FILMED) if filmed else (_LEAST_PX, _LEAST_DIAGONAL)
    for make, seed, count, between_m in halls:
        rng = np.random.default_rng(seed)
        hall = make(rng)
        for number, (picture, mask) in enumerate(stills_of(hall, rng, count, between_m, filmed)):
            for thing in hall.things:
                if thing.name in (*ROOM, *_BARS):
                    continue
                tops = [other.number for other in hall.things if other.name == thing.name and other.part == "top"]
                # A pad is said with its top as often as without.
                whole = thing.name.startswith("pad") and thing.part is None and rng.random() < 0.6
                for piece in pieces(np.isin(mask, [thing.number, *(tops if whole else [])]), least_px):
                    rows, columns = np.nonzero(piece)
                    if np.hypot(np.ptp(rows), np.ptp(columns)) >= least_diagonal:
                        yield Thing("made", f"{seed} {number} {thing.name}", picture, piece)


def _cases(things: Sequence[Thing] | Iterator[Thing]) -> Iterator[Case]:
    rng = np.random.default_rng(11)
    for thing in things:
        rough = drawn_badly(thing.mask, rng)
        if len(rough) > 1:
            continue
        seen: list[tuple[list[dict[str, float]], list[Floats], float]] = []

        def watch(here: Crop, like: Any, outlines: Sequence[Outline], drawn: Floats, size: float, into: Any = seen) -> Floats:
            into.append(
                (clues(here, like, outlines, drawn, size), [one.ring / here.ratio + here.corner for one in outlines], here.ratio[0])
            )
            return np.zeros(len(outlines))

        with patch.object(importlib.import_module(rivals.__module__), "weigh", watch):
            snap(thing.picture, rough[0])
        if seen:
            told, rings, ratio = seen[0]
            picture = with_even_colours(thing.picture, (*np.min(rough[0], axis=0), *np.max(rough[0], axis=0)))
            offers = [traced(picture, ring, ratio, picture is not thing.picture) for ring in rings]
            masks = [covered([[(float(x), float(y)) for x, y in ring]], thing.picture) for ring in offers]
            own = covered(rough, thing.picture)
            taken, pixels, true = _kinds(masks, thing.mask)
            yield Case(
                np.array([[one[name] for name in WEIGHTS] for one in told]),
                np.array([overlap(mask, thing.mask) for mask in masks]),
                np.array([overlap(mask, own) for mask in masks]),
                overlap(own, thing.mask),
                taken,
                pixels,
                true,
            )


def _kinds(masks: Sequence[Mask], truth: Mask) -> tuple[Floats, Floats, Floats]:
    chosen = np.any([*masks, truth], axis=0)
    taken = np.packbits(np.array([mask[chosen] for mask in masks]).T, axis=1)
    kinds, places = np.unique(taken, axis=0, return_inverse=True)
    pixels, true = (np.bincount(places.reshape(-1), counted, len(kinds)) for counted in (None, truth[chosen]))
    return np.unpackbits(kinds, axis=1, count=len(masks)).astype(np.float64), pixels.astype(np.float64), true.astype(np.float64)


def _fitted(cases: Sequence[Case]) -> Floats:
    """The weights that overlap most with the truth in what is offered, from where the regression stands: the mean over all cases.

    What is offered is the middle of the outlines (annotator/marks/middle.py): the pixels that more than half of the likelihood takes, each
    outline counted by the softmax of its weight. Here a pixel counts the more surely, the further it is from one half.
    """
    spread = np.vstack([case.seen - case.seen.mean(axis=0) for case in cases]).std(axis=0) + 1e-6
    begin = _regressed(cases) * spread
    kinds, most = (max(sizes) for sizes in zip(*(case.taken.shape for case in cases), strict=True))
    seen, there = np.zeros((len(cases), most, len(begin))), np.zeros((len(cases), most), bool)
    taken = np.zeros((len(cases), kinds, most), np.float32)
    pixels, true = np.zeros((len(cases), kinds)), np.zeros((len(cases), kinds))
    for at, case in enumerate(cases):
        kind, count = case.taken.shape
        seen[at, :count], there[at, :count] = (case.seen - case.seen.mean(axis=0)) / spread, True
        taken[at, :kind, :count], pixels[at, :kind], true[at, :kind] = case.taken, case.pixels, case.true
    whole = true.sum(axis=1)

    def loss(weights: Floats) -> tuple[float, Floats]:
        height = np.where(there, seen @ weights / _SOFT, -np.inf)
        likely = np.exp(height - height.max(axis=1, keepdims=True))
        likely /= likely.sum(axis=1, keepdims=True)
        inside = 1 / (1 + np.exp((0.5 - (taken @ likely[..., None].astype(np.float32))[..., 0]) / _SURE))
        both, either = (true * inside).sum(axis=1), whole + ((pixels - true) * inside).sum(axis=1)
        slope = (true * either[:, None] - both[:, None] * (pixels - true)) / either[:, None] ** 2 * inside * (1 - inside) / _SURE
        of_likely = (slope.astype(np.float32)[:, None] @ taken)[:, 0].astype(np.float64)
        of_height = likely * (of_likely - (likely * of_likely).sum(axis=1, keepdims=True))
        off = weights - begin
        pull = _NEAR_RIDGE * off - np.einsum("cn,cnk->k", of_height, seen) / _SOFT / len(cases)
        return float(-(both / either).mean() + _NEAR_RIDGE / 2 * off @ off), pull

    return np.asarray(minimize(loss, begin, jac=True, method="L-BFGS-B", options={"maxiter": 300}).x / spread)


def _regressed(cases: Sequence[Case]) -> Floats:
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
    offered = []
    for case in cases:
        height = np.where(case.near >= 0.55, case.seen @ weights, -np.inf) / _SOFT
        likely = np.exp(height - height.max()) if np.isfinite(height).any() else np.ones(len(height))
        inside = case.taken @ likely > likely.sum() / 2
        offered.append(float(case.true[inside].sum() / (case.true.sum() + (case.pixels - case.true)[inside].sum())))
    told = [("drawn", [case.drawn for case in cases]), ("voted", [case.good[0] for case in cases]), ("offered", offered)]
    told.append(("the best of all", [case.good.max() for case in cases]))
    print(f"{len(cases)} outlines: " + ", ".join(f"{name} {np.median(values):.3f} (mean {np.mean(values):.4f})" for name, values in told))


if __name__ == "__main__":
    main()
