"""Measure snapping against things of certain truth: how snug, how often worse than what was drawn without saying so, how long.

    .venv/bin/python scripts/bench/snap.py [FOLDER...] [--rounds N] [--each]

FOLDER is a made walk in the form of sample_media (the demo where it is left out). The person is played by the true outline, thinned to
corners, each corner off by a normal error with a deviation of 3 % of the thing's own diagonal in x and in y, the whole scaled by 0.9 to
1.15 about its middle. Where snapping declines, what was drawn stays and is counted as it is. "worse": by more than 0.02; "unflagged": worse
and without a doubt said. Times are of the processor, all threads.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.marks import snap
from scripts.bench.truths import SAMPLE, Mask, Picture, Thing, photo_things, pieces, polygon_mask, walk_stills

JITTER = 0.03
SCALES = (0.9, 1.15)
WORSE = 0.02
LEAST_PX = 60
LINE_JITTER = 1.0
"""Ends of a bar are off by at most this many of its widths: whoever clicks on the end of a long bar hits the bar."""
Rings = list[list[tuple[float, float]]]


@dataclass(frozen=True)
class Try:
    """One drawn outline and what became of it."""

    of: str
    name: str
    before: float
    after: float
    flagged: bool
    declined: bool
    diagonal_px: float
    ms: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--rounds", type=int, default=4, help="drawn outlines a thing")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", action="store_true", help="a line for each try that came out worse")
    parser.add_argument("--at-1080p", action="store_true", help="enlarge the walk's stills to 1920 pixels first: for the time it takes")
    given = parser.parse_args()
    rng = np.random.default_rng(given.seed)
    for title, things in (
        ("real photos", photo_things()),
        *((str(folder.name), walk_things(folder, given.at_1080p)) for folder in given.folders or [SAMPLE]),
    ):
        areas = [thing for thing in things if thing.line is None]
        report(title, [attempt(thing, rng) for thing in areas for _ in range(given.rounds)], given.each)
        bars = [thing for thing in things if thing.line is not None]
        if bars:
            report(
                f"{title}: bars, as lines with a width",
                [attempt_line(thing, rng) for thing in bars for _ in range(given.rounds)],
                given.each,
            )


def walk_things(folder: Path, at_1080p: bool = False) -> tuple[Thing, ...]:
    """What staff outlined on a walk (its marks.json), each with its true pixels; without marks, every piece of every named thing."""
    found = tuple(_walk_things(folder))
    return tuple(_enlarged(thing) for thing in found if thing.line is None) if at_1080p else found


def _enlarged(thing: Thing) -> Thing:
    scale = 1920 / max(thing.mask.shape)
    mask = cv2.resize(thing.mask.astype(np.uint8), None, fx=scale, fy=scale, interpolation=cv2.INTER_NEAREST) > 0
    picture = np.asarray(cv2.resize(thing.picture, (mask.shape[1], mask.shape[0]), interpolation=cv2.INTER_CUBIC), np.uint8)
    return Thing(thing.of, thing.name, picture, np.asarray(mask))


def _walk_things(folder: Path) -> Iterator[Thing]:
    home = folder.parent if folder.name == "truth" else folder
    drawn: list[dict[str, Any]] = json.loads((home / "marks.json").read_text("utf-8"))["marks"] if (home / "marks.json").is_file() else []
    for still in walk_stills(folder):
        for number, mark in enumerate(mark for mark in drawn if mark["still"] == still.name):
            name = f"{still.name} {number} {mark['part'] or ''} {mark['surface']}"
            whole = still.mask_of(mark["surface"], mark["part"])
            if "line" in mark:
                near = LineString(mark["line"]).buffer(1.5 * mark["width"] + 1.5, cap_style="flat")
                truth = whole & shape_mask(near, still.picture)
                if truth.sum() >= LEAST_PX:
                    yield Thing("bar", name, still.picture, truth, (mark["line"], mark["width"]))
            else:
                inside = shape_mask(Polygon(mark["rings"][0]), still.picture)
                best = max(pieces(whole, LEAST_PX), key=lambda piece: int((piece & inside).sum()), default=None)
                if best is not None:
                    yield Thing("with a hole" if len(outline(best)[0]) > 1 else "whole", name, still.picture, best)
        if not drawn:
            for name, part in dict.fromkeys(still.objects.values()):
                if name not in ("floor", "wall", "demonstrator", "bystander", "window", "ceiling"):
                    yield from (
                        Thing("whole", f"{still.name} {part or ''} {name}", still.picture, mask)
                        for mask in pieces(still.mask_of(name, part), 400)
                    )


def outline(mask: Mask) -> tuple[list[NDArray[np.float64]], float]:
    """The outline (and holes worth drawing) of a mask along the pixels' sides, thinned to corners, and the diagonal of its box."""
    fine = cv2.resize(mask.astype(np.uint8), None, fx=4, fy=4, interpolation=cv2.INTER_NEAREST)
    contours, tree = cv2.findContours(fine, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    rows, columns = np.nonzero(mask.any(axis=1))[0], np.nonzero(mask.any(axis=0))[0]
    diagonal = float(np.hypot(rows[-1] - rows[0] + 1, columns[-1] - columns[0] + 1))
    order = sorted(range(len(contours)), key=lambda at: -cv2.contourArea(contours[at]))
    outer = next(at for at in order if tree[0][at][3] < 0)
    holes = [at for at in order if tree[0][at][3] == outer and cv2.contourArea(contours[at]) > 0.03 * 16 * mask.sum()]
    rings = []
    for at in (outer, *holes):
        thinned = cv2.approxPolyDP(contours[at], max(2.0, 0.012 * diagonal * 4), True).reshape(-1, 2)
        if at == outer and len(thinned) < 3:  # of a thing of a pixel's thickness hardly a line is left
            thinned = cv2.boxPoints(cv2.minAreaRect(contours[at]))
        if len(thinned) >= 3:
            rings.append((thinned + 0.5) / 4)
    return rings, diagonal


def drawn_badly(mask: Mask, rng: np.random.Generator) -> Rings:
    """The outline of a thing and its holes as a person in a hurry draws them."""
    rings, diagonal = outline(mask)
    middle = rings[0].mean(axis=0)
    grow = rng.uniform(*SCALES)
    drawn = [middle + (ring - middle) * grow + rng.normal(0, JITTER * diagonal, ring.shape) for ring in rings]
    height, width = mask.shape
    drawn = [np.clip(ring, 0, (width, height)) for ring in drawn]
    return [[(float(x), float(y)) for x, y in ring] for ring in drawn]


def attempt(thing: Thing, rng: np.random.Generator) -> Try:
    """Draw badly, snap, compare."""
    rough, diagonal = drawn_badly(thing.mask, rng), outline(thing.mask)[1]
    began = time.process_time()
    found = snap(thing.picture, rough[0], holes=rough[1:])
    took = (time.process_time() - began) * 1000
    before = overlap(covered(rough, thing.picture), thing.mask)
    if found is None or found.rings is None:
        return Try(thing.of, thing.name, before, before, False, True, diagonal, took)
    after = overlap(covered([list(ring) for ring in found.rings], thing.picture), thing.mask)
    return Try(thing.of, thing.name, before, after, found.doubt is not None, False, diagonal, took)


def attempt_line(thing: Thing, rng: np.random.Generator) -> Try:
    """The same for a bar: its two ends and its width."""
    assert thing.line is not None
    given, width = np.array(thing.line[0]), thing.line[1]
    length = float(np.hypot(*np.diff(given, axis=0).T).sum())
    off = rng.normal(0, min(JITTER * float(np.hypot(*np.ptp(given, axis=0))), LINE_JITTER * width), given.shape)
    if len(given) > 2 and (given[0] == given[-1]).all():
        off[-1] = off[0]
    line = [(float(x), float(y)) for x, y in np.clip(given + off, 0, (thing.mask.shape[1], thing.mask.shape[0]))]
    drawn_width = width * rng.uniform(0.75, 1.4)
    began = time.process_time()
    found = snap(thing.picture, line, width=drawn_width)
    took = (time.process_time() - began) * 1000
    before = overlap(strip(line, drawn_width, thing.picture), thing.mask)
    if found is None or found.line is None or found.width is None:
        return Try(thing.of, thing.name, before, before, False, True, length, took)
    after = overlap(strip(list(found.line), found.width, thing.picture), thing.mask)
    return Try(thing.of, thing.name, before, after, found.doubt is not None, False, length, took)


def strip(line: Sequence[tuple[float, float]], width: float, picture: Picture) -> Mask:
    """The pixels of a line with a width."""
    return shape_mask(LineString(line).buffer(width / 2, cap_style="flat"), picture)


def shape_mask(shape: BaseGeometry, picture: Picture) -> Mask:
    """The pixels of any area."""
    found = np.zeros(picture.shape[:2], bool)
    for one in getattr(shape, "geoms", [shape]):
        found |= covered([list(ring.coords) for ring in (one.exterior, *one.interiors)], picture)
    return found


def covered(rings: Rings, picture: Picture) -> Mask:
    """The pixels of an outline less its holes."""
    masks = [polygon_mask(np.asarray(ring), picture.shape) for ring in rings]
    found = masks[0]
    for hole in masks[1:]:
        found = found & ~hole
    return found


def overlap(one: Mask, other: Mask) -> float:
    """Intersection over union."""
    return float((one & other).sum() / max(1, (one | other).sum()))


def report(title: str, tries: Sequence[Try], each: bool) -> None:
    """What came of all tries, by size."""
    print(f"\n{title}: {len(tries)} drawn outlines of {len({one.name for one in tries})} things")
    heads = {"n": 5, "drawn": 8, "snapped": 9, "p10": 7, "declined": 10, "flagged": 9, "worse": 8, "unflagged": 11, "ms": 7, "max": 6}
    print(" " * 26 + "".join(f"{head:>{wide}}" for head, wide in heads.items()))
    groups: list[tuple[str, list[Try]]] = [("all", list(tries))]
    for low, high in ((0, 40), (40, 120), (120, 300), (300, 5000)):
        groups.append((f"diagonal {low} to {high} px", [one for one in tries if low <= one.diagonal_px < high]))
    kinds = sorted({one.of for one in tries})
    groups += [(kind, [one for one in tries if one.of == kind]) for kind in kinds if len(kinds) > 1]
    for name, group in groups:
        if group:
            _line(name, group)
    if each:
        for one in sorted(tries, key=lambda one: one.after - one.before):
            if one.after < one.before - WORSE or one.after < 0.75:
                how = "flagged" if one.flagged else "declined" if one.declined else ""
                print(f"    {one.name:40} {one.before:.3f} -> {one.after:.3f} {how:9} {one.diagonal_px:.0f} px")


def _line(name: str, group: Sequence[Try]) -> None:
    worse = [one for one in group if one.after < one.before - WORSE]
    silent = [one for one in worse if not one.flagged]
    after = [one.after for one in group]
    shares = "".join(
        f"{share:{width}.1%}"
        for share, width in (
            (np.mean([one.declined for one in group]), 10),
            (np.mean([one.flagged for one in group]), 9),
            (len(worse) / len(group), 8),
            (len(silent) / len(group), 11),
        )
    )
    times = [one.ms for one in group]
    middle = f"{np.median([one.before for one in group]):8.3f}{np.median(after):9.3f}{np.percentile(after, 10):7.3f}"
    print(f"  {name:24}{len(group):5}{middle}{shares}{np.median(times):7.0f}{max(times):6.0f}")


if __name__ == "__main__":
    main()
