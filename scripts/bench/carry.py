"""Measure carrying: how near the truth it comes, whether it knows when it does not, how fast it is.

    .venv/bin/python scripts/bench/carry.py [wall] [paths] [walk] [walking-in] [others] [replay] [speed] [--seed N]

wall        the published pair graf1 to graf3 with its homography (Mikolajczyk and Schmid), 40 outlines above the ledge
paths       made handheld paths (pan, zoom, roll, tremor, blur, light) over real photos, followed frame by frame
walk        the demo's clips against masks drawn from the poses they were filmed with, from its stills and from moments of walking
walking-in  films of walking straight into the demo's stations, made for this
others      every ordered pair of different photos: nothing may be carried
replay      clips from beside where the walk was filmed, matched to its stills as `annotator replay` does; and to stills of other stations
speed       following at 1280 x 720 with the marks of a still, as a ratio to decoding the same frames; and memory

A carried outline that is withheld counts as 0 in a median. "Shown" are those that were not withheld. What was withheld still has an
outline that would have been shown: whether withholding was right is counted from that.
"""

from __future__ import annotations

import argparse
import itertools
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.captions.replay import sure_carry
from annotator.course import Mark
from annotator.marks import carry
from annotator.marks.follow import tried_through
from annotator.media import grab, open_writer, read_frames
from scripts.bench.photo_paths import OPENCV_DOC, SIZE, PhotoPath, photo, photo_paths, photos, through
from scripts.bench.walk_truth import Numbers, Picture, TrueWalk, overlap, pieces
from scripts.sample_walk.camera import Lens, Pose
from scripts.sample_walk.camera import Path as CameraPath

Floats = NDArray[np.float64]
GOOD, BAD = 0.85, 0.7
GAPS_S = (0.5, 1.0, 2.0)
FRAMES = 45
PARTS = ("wall", "paths", "walk", "walking-in", "others", "replay", "speed")


@dataclass(frozen=True)
class Case:
    """One outline on one frame: how far in time from its still, overlap with the truth (NaN where nothing was tried), shown or withheld."""

    gap_s: float
    iou: float
    shown: bool


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], default=list(PARTS))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--paths", type=int, default=1, help="paths a photo")
    given = parser.parse_args()
    for part in given.parts:
        {
            "wall": lambda: wall(given.seed),
            "paths": lambda: paths(given.seed, given.paths),
            "walk": lambda: walk(given.seed),
            "walking-in": lambda: walking_in(given.seed),
            "others": others,
            "replay": replay,
            "speed": speed,
        }[part]()


def wall(seed: int) -> None:
    source, target = (photo(name) for name in ("graf1.png", "graf3.png"))
    store = cv2.FileStorage(str(OPENCV_DOC / "H1to3p.xml"), cv2.FILE_STORAGE_READ)
    truth = np.asarray(store.getFirstTopLevelNode().mat(), np.float64)
    rng = np.random.default_rng(seed)
    rings: list[Floats] = []
    while len(rings) < 40:
        turns = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(4, 9)))
        ring = rng.uniform((110, 110), (690, 400)) + np.stack([np.cos(turns), np.sin(turns)], axis=1) * rng.uniform(40, 100) * rng.uniform(
            0.6, 1, (len(turns), 1)
        )
        moved = through(truth, ring)
        there = moved.min() > 5 and (moved < [795, 635]).all() and ring[:, 1].max() < 460 and ring.min() > 0
        if there and Polygon(ring).is_valid and Polygon(ring).area > 1600:
            rings.append(ring)
    (found,) = carry([as_mark([ring], at) for at, ring in enumerate(rings)], source, [target])
    kept = [(rings_of(one.mark)[0], through(truth, ring)) for one, ring in zip(found, rings, strict=True) if one is not None]
    errors = [np.hypot(*(got - want).T).mean() for got, want in kept]
    overlaps = [iou(got, want) for got, want in kept]
    print(
        f"wall: {len(kept)} of 40 shown; mean corner error {np.mean(errors):.2f} px (worst mark {max(errors):.2f}); "
        f"mean IoU {np.mean(overlaps):.3f}, lowest {min(overlaps):.3f}"
    )


def paths(seed: int, each: int) -> None:
    cases: list[Case] = []
    worst: list[tuple[float, str]] = []
    for path in photo_paths(FRAMES, each, seed):
        own = list(_cases_of(path))
        cases += own
        worst.append((float(np.mean([case.shown and case.iou >= GOOD for case in own])), path.name))
    print(f"paths: {len(worst)} paths of {FRAMES} frames at 30 a second, {len(cases)} outlines on frames")
    report(cases)
    print("  weakest photos (share shown and at least 0.85):", ", ".join(f"{name} {share:.0%}" for share, name in sorted(worst)[:5]))


def _cases_of(path: PhotoPath) -> Iterator[Case]:
    outlines = path.outlines(8)
    marks = [as_mark([ring], at) for at, ring in enumerate(outlines)]
    on_photo = [through(np.asarray(np.linalg.inv(path.matrices[0]), np.float64), ring) for ring in outlines]
    frame = Polygon([(0, 0), (SIZE[0], 0), SIZE, (0, SIZE[1])])
    rest = (path.frame(at) for at in range(1, len(path.matrices)))
    for at, tried in enumerate(tried_through(marks, path.frame(0), rest), start=1):
        for one, ring in zip(tried, on_photo, strict=True):
            want = through(path.matrices[at], ring)
            if Polygon(want).intersection(frame).area < 0.25 * Polygon(want).area:
                continue
            got = float("nan") if one is None else iou(rings_of(one.carried.mark)[0], want, frame)
            yield Case(at / 30, got, one is not None and one.certain)


def walk(seed: int) -> None:
    true = TrueWalk()
    standing = [(entry["clip"], entry["clip_time_s"]) for entry in true.stills]
    rng = np.random.default_rng(seed)
    moving = []
    for clip, shoot in true.shoots.items():
        times = [t for t in np.arange(3, shoot.end_tick / 600 - 5, 0.25) if true.paths[clip].speed(t) > 0.5]
        moving += [(clip, float(t)) for t in sorted(rng.choice(times, 5, replace=False))]
    for title, starts in (("from its stills", standing), ("from moments of walking", moving)):
        cases = list(itertools.chain.from_iterable(_clip_cases(true, clip, at_s, way) for clip, at_s in starts for way in (1, -1)))
        print(f"walk, {title}: {len(starts)} starts, forwards and backwards")
        by_gap(cases)
        report(cases)


def _clip_cases(true: TrueWalk, clip: int, at_s: float, way: int) -> Iterator[Case]:
    reach = max(GAPS_S) + 0.2
    frames = list(read_frames(true.files[clip], max(0.0, at_s - (reach if way < 0 else 0.0)), at_s + (reach if way > 0 else 0.01)))
    start = min(range(len(frames)), key=lambda at: abs(frames[at].time_s - at_s))
    frames = frames[start:] if way > 0 else frames[start::-1]
    times = [frame.time_s for frame in frames]
    yield from _followed(true, [frame.image for frame in frames], times, lambda t: (*true.at(clip, t), true.mask(clip, t)))


def _followed(
    true: TrueWalk, pictures: Sequence[Picture], times_s: Sequence[float], at: Callable[[float], tuple[Pose, Lens, Numbers]]
) -> Iterator[Case]:
    """Follow all pieces of the first picture through the others."""
    pose, lens, seen = at(times_s[0])
    own = pieces(seen, true.visible_alone(true.numbers, pose, lens))
    marks = [as_mark(piece.rings, number) for number, piece in enumerate(own)]
    for time_s, tried in zip(times_s[1:], tried_through(marks, pictures[0], pictures[1:]), strict=True):
        pose, lens, seen = at(time_s)
        alone = true.visible_alone([piece.number for piece in own], pose, lens)
        for one, piece in zip(tried, own, strict=True):
            there = overlap([] if one is None else rings_of(one.carried.mark), seen, alone[piece.number], piece.number)
            if not np.isnan(there):
                yield Case(abs(time_s - times_s[0]), float("nan") if one is None else there, one is not None and one.certain)


def walking_in(seed: int) -> None:
    true = TrueWalk()
    cases = []
    for station in (1, 2, 4, 5, 7, 8):
        path, lens = true.into(station, seed)
        times = [1.0 + at / 15 for at in range(33)]
        pictures = [true.picture_from(path.pose(t), lens, number) for number, t in enumerate(times)]

        def at(time_s: float, path: CameraPath = path, lens: Lens = lens) -> tuple[Pose, Lens, Numbers]:
            pose = path.pose(time_s)
            return pose, lens, true.mask_from(pose, lens)

        cases += list(_followed(true, pictures, times, at))
    print("walking-in: 6 stations, about a metre a second straight ahead, 15 frames a second")
    by_gap(cases)
    report(cases)


def others() -> None:
    known = list(photos())
    shown = 0
    count = 0
    for (_, one), (_, other) in itertools.permutations(known, 2):
        height, width = one.shape[:2]
        grid = [
            as_mark([np.array([(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)]) * [width / 4, height / 4]], x * 4 + y)
            for x in range(4)
            for y in range(4)
        ]
        (found,) = carry(grid, one, [other], work_px=640)
        shown += sum(each is not None for each in found)
        count += len(grid)
    print(f"others: {shown} of {count} outlines shown between {len(known) * (len(known) - 1)} ordered pairs of different photos")


def replay() -> None:
    true = TrueWalk()
    first = {entry["station"]: entry for entry in reversed(true.stills)}
    own = {}
    for station, entry in first.items():
        pose, lens = true.at(entry["clip"], entry["clip_time_s"])
        found = pieces(true.mask(entry["clip"], entry["clip_time_s"]), true.visible_alone(true.numbers, pose, lens))
        marks = [as_mark(piece.rings, at) for at, piece in enumerate(found)]
        own[station] = (grab(true.files[entry["clip"]], entry["clip_time_s"] + 0.01).image, marks, found)
    for metres, away in ((0.25, 1.0), (0.5, 1.0), (1.0, 1.0), (2.0, 1.0), (0.0, 0.8), (0.0, 1.25)):
        cases: list[Case] = []
        strange = 0
        for station, (still, marks, found) in own.items():
            path, lens = true.aside(station, metres, away)
            for number, time_s in enumerate((0.5, 1.7)):
                pose = path.pose(time_s)
                picture, seen = true.picture_from(pose, lens, number), true.mask_from(pose, lens)
                alone = true.visible_alone([piece.number for piece in found], pose, lens)
                (carried,) = sure_carry(marks, still, [picture])
                there = {mark.id: mark for mark in carried}
                for mark, piece in zip(marks, found, strict=True):
                    got = there.get(mark.id)
                    value = overlap([] if got is None else rings_of(got), seen, alone[piece.number], piece.number)
                    if not np.isnan(value):
                        cases.append(Case(0.0, value, got is not None))
                wrong_still, wrong_marks, _ = own[(station + 2) % len(own) + 1]
                strange += len(sure_carry(wrong_marks, wrong_still, [picture])[0])
        shown = np.array([case.iou for case in cases if case.shown])
        where = f"{metres:g} m beside" if metres else f"at {away:g} times the distance"
        good = f"median IoU {np.median(shown):.3f}, {np.mean(shown >= GOOD):.0%} at least {GOOD}, {np.mean(shown < BAD):.0%} under {BAD}; "
        print(
            f"replay, {where}: {len(shown)} of {len(cases)} outlines shown; {good if len(shown) else ''}"
            f"{strange} shown of another station's stills"
        )


def speed() -> None:
    true = TrueWalk()
    entry = true.stills[0]
    source = list(read_frames(true.files[entry["clip"]], entry["clip_time_s"], entry["clip_time_s"] + 4.0))
    pose, lens = true.at(entry["clip"], source[0].time_s)
    own = pieces(true.mask(entry["clip"], source[0].time_s), true.visible_alone(true.numbers, pose, lens))
    marks = [as_mark([ring * (SIZE[1] / lens.height) for ring in piece.rings], at) for at, piece in enumerate(own)]
    with tempfile.TemporaryDirectory() as folder:
        clip = Path(folder) / "clip.mp4"
        with open_writer(clip, *SIZE, end_s=len(source) / 15) as writer:
            for at, frame in enumerate(source):
                writer.write(np.asarray(cv2.resize(frame.image, SIZE, interpolation=cv2.INTER_CUBIC), np.uint8), at / 15)
        still = next(iter(read_frames(clip, 0.0, 0.1))).image
        for again in range(2):
            began = time.perf_counter()
            count = sum(1 for _ in read_frames(clip, 0.0, 60.0))
            decoding = time.perf_counter() - began
            frames = [frame.image for frame in read_frames(clip, 0.0, 60.0)][1:]
            began, busy = time.perf_counter(), time.process_time()
            for _ in tried_through(marks, still, frames):
                pass
            following, used = time.perf_counter() - began, time.process_time() - busy
            print(
                f"speed, run {again + 1}: {len(frames) / following:.1f} frames a second followed at 1280 x 720 with {len(marks)} marks "
                f"({used / len(frames) * 1000:.0f} ms of processor a frame); decoding alone {count / decoding:.0f} a second, ratio "
                f"{following / len(frames) / (decoding / count):.1f}"
            )
    print(f"  most memory so far: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB (the frames held for this included)")


def by_gap(cases: Sequence[Case]) -> None:
    for gap in GAPS_S:
        there = [case for case in cases if abs(case.gap_s - gap) < 0.04]
        shown = [case.iou for case in there if case.shown]
        every = np.mean([case.iou >= GOOD for case in there])
        print(
            f"  {gap:g} s: {len(there)} outlines; shown {len(shown) / max(1, len(there)):.0%}; IoU at least {GOOD}: "
            f"{np.mean(np.array(shown) >= GOOD):.0%} of those shown, {sum(one >= GOOD for one in shown) / max(1, len(there)):.0%} of all "
            f"(withheld counted as failed), {every:.0%} of all before withholding"
        )


def report(cases: Sequence[Case]) -> None:
    counted = [case.iou if case.shown else 0.0 for case in cases]
    shown = np.array([case.iou for case in cases if case.shown])
    tried = [case for case in cases if not np.isnan(case.iou)]
    bad, good = [case for case in tried if case.iou < BAD], [case for case in tried if case.iou >= GOOD]
    print(
        f"  median IoU {np.median(counted):.3f} (withheld = 0); of {len(shown)} shown: 5th percentile {np.percentile(shown, 5):.3f}, "
        f"under {BAD}: {np.mean(shown < BAD):.2%}"
    )
    print(
        f"  withheld: {share_withheld(bad)} with true IoU under {BAD}, {share_withheld(good)} with {GOOD} or more; "
        f"{len(cases) - len(tried)} of {len(cases)} not even tried (lost, looked for again later)"
    )


def share_withheld(cases: Sequence[Case]) -> str:
    return f"{np.mean([not case.shown for case in cases]):.0%} of {len(cases)}" if cases else "none"


def iou(one: Floats, other: Floats, frame: Polygon | None = None) -> float:
    first: BaseGeometry = Polygon(one).buffer(0)
    second: BaseGeometry = Polygon(other).buffer(0)
    if frame is not None:
        first, second = first.intersection(frame), second.intersection(frame)
    return float(first.intersection(second).area / max(1e-9, first.union(second).area))


def as_mark(rings: Sequence[Floats], number: int) -> Mark:
    return Mark(
        id=f"m{number}", still="s", surface=f"u{number}", rings=tuple(tuple((float(x), float(y)) for x, y in ring) for ring in rings)
    )


def rings_of(mark: Mark) -> list[Floats]:
    return [np.asarray(ring, np.float64) for ring in mark.rings or ()]


if __name__ == "__main__":
    main()
