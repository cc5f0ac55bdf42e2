"""Measure proposals against the true masks of made walks, and against boxes by eye on photos that nobody here made.

    .venv/bin/python scripts/bench/propose.py [FOLDER...] [--each]

FOLDER is a made walk in the form of sample_media (the demo where it is left out). Asked: each surface with a colour word, by its name, on
each still of its own station that shows at least `SEEN_PX` pixels of it. Right: the region meets one piece of the surface, or all of it,
with an overlap (intersection over union) of `RIGHT`. After snapping: the best of the first three, each snapped unless in doubt.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.marks import Candidate, propose, snap
from annotator.marks.colours import COLOURS
from scripts.bench.photo_phrases import PHRASES, by_eye
from scripts.bench.truths import SAMPLE, Mask, Picture, opencv_photo, pieces, polygon_mask, walk_gold, walk_stills

SEEN_PX = 200
RIGHT = 0.4
SNUG = 0.75
FIRST = 3


@dataclass(frozen=True)
class Asked:
    """One surface on one still: at which place the right region came (None: not at all), and the overlap after snapping."""

    still: str
    station: int
    words: str
    place: int | None
    overlap: float
    snug: float
    sure: float
    ms: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--each", action="store_true", help="a line for each surface")
    given = parser.parse_args()
    for folder in given.folders or [SAMPLE]:
        report(folder.name, ask_walk(folder), given.each)
    photos()


def ask_walk(folder: Path) -> list[Asked]:
    """Every surface with a colour word on the stills of its station."""
    gold = walk_gold(folder)
    found = []
    for still in walk_stills(folder):
        surfaces = next(station["surfaces"] for station in gold["stations"] if station["number"] == still.station)
        for name in dict.fromkeys(surface["name"] for surface in surfaces):
            truth = still.mask_of(name)
            if any(word in COLOURS for word in name.split()) and truth.sum() >= SEEN_PX:
                found.append(ask(still.name, still.station, still.picture, name, truth))
    return found


def ask(still: str, station: int, picture: Picture, words: str, truth: Mask) -> Asked:
    """Propose for the words, hold the first regions against the truth, snap them."""
    began = time.process_time()
    candidates = propose(picture, words)
    took = (time.process_time() - began) * 1000
    wanted = [truth, *pieces(truth, SEEN_PX // 2)]
    overlaps = [best_overlap(candidate.rings, wanted, picture) for candidate in candidates]
    place = next((at for at, overlap in enumerate(overlaps, start=1) if overlap >= RIGHT), None)
    snug = max((best_overlap(snapped(picture, candidate), wanted, picture) for candidate in candidates[:FIRST]), default=0.0)
    sure = candidates[place - 1].score if place else max((candidate.score for candidate in candidates), default=0.0)
    return Asked(still, station, words, place, max(overlaps[:FIRST], default=0.0), snug, sure, took)


def snapped(picture: Picture, candidate: Candidate) -> Sequence[Sequence[tuple[float, float]]]:
    """The candidate drawn snug; as it was where nothing better is offered without a doubt."""
    found = snap(picture, candidate.rings[0], holes=candidate.rings[1:])
    return candidate.rings if found is None or found.rings is None or found.doubt else found.rings


def best_overlap(rings: Sequence[Sequence[tuple[float, float]]], wanted: Sequence[Mask], picture: Picture) -> float:
    """The best intersection over union with any of the masks."""
    found = polygon_mask(np.asarray(rings[0]), picture.shape)
    for hole in rings[1:]:
        found &= ~polygon_mask(np.asarray(hole), picture.shape)
    return max(float((found & mask).sum() / max(1, (found | mask).sum())) for mask in wanted)


def report(title: str, asked: Sequence[Asked], each: bool) -> None:
    """Shares over all pairs of still and surface, and over surfaces (its best still)."""
    if each:
        for one in asked:
            place = f"place {one.place or '-'}  {one.overlap:.2f}, snapped {one.snug:.2f}"
            print(f"  {one.still} {one.words:20} {place}  sure {one.sure:.2f}  {one.ms:.0f} ms")
    surfaces: dict[tuple[int, str], list[Asked]] = {}
    for one in asked:
        surfaces.setdefault((one.station, one.words), []).append(one)
    best = [min(group, key=lambda one: (one.place or 99, -one.snug)) for group in surfaces.values()]
    for what, group in (("surfaces on stills", list(asked)), ("surfaces, each on its best still", best)):
        shares = [np.mean([one.place is not None and one.place <= first for one in group]) for first in (1, 2, FIRST)]
        snug = np.mean([one.snug >= SNUG for one in group])
        print(
            f"{title}: {len(group)} {what}: right first {shares[0]:.0%}, of two {shares[1]:.0%}, of three {shares[2]:.0%};"
            f" {SNUG} after snapping {snug:.0%}; {np.median([one.ms for one in group]):.0f} ms"
        )


def photos() -> None:
    """Phrases on photos: the region's box against a box by eye."""
    places = []
    for phrase in PHRASES:
        found = propose(opencv_photo(phrase.photo), phrase.words)
        places.append(next((at for at, one in enumerate(found, start=1) if by_eye(one.rings[0], phrase)), None))
    shares = [np.mean([place is not None and place <= first for place in places]) for first in (1, 2, FIRST)]
    print(f"photos: {len(PHRASES)} phrases: right first {shares[0]:.0%}, of two {shares[1]:.0%}, of three {shares[2]:.0%}")
    missed = [f"{phrase.photo} {phrase.words!r}" for phrase, place in zip(PHRASES, places, strict=True) if place is None or place > FIRST]
    print("  missed: " + ", ".join(missed) if missed else "  none missed")


if __name__ == "__main__":
    main()
