"""Truth of the demo walk at any moment: which piece of which surface every pixel shows, drawn from the poses the clips were filmed with.

The poses follow from the walk file and the true times of its words, so no voice is needed. Each body of a surface has a number of its own
(the three blue boxes are three). Also films other walks through the hall: straight into a station, and from another place, as a judge
stands. Needs moderngl and Mesa's EGL.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from scripts.sample_walk.camera import Key, Lens, Pose, project
from scripts.sample_walk.camera import Path as CameraPath
from scripts.sample_walk.draw import Painter
from scripts.sample_walk.hall import Hall, build_hall
from scripts.sample_walk.plan import LENSES, STATION_X, STATION_Y, Shoot, figure_at, plan_clip
from scripts.sample_walk.solids import Solid
from scripts.sample_walk.speech import Take, TimedSentence
from scripts.sample_walk.staff import surfaces_to_mark, things_of
from scripts.sample_walk.walkfile import Shape, Walk, read_walk

SAMPLE = Path(__file__).resolve().parents[2] / "sample_media"
Picture = NDArray[np.uint8]
Numbers = NDArray[np.uint8]
Mask = NDArray[np.bool_]
OTHER, PERSON = 254, 255
LEAST_PX, LEAST_THICK_PX, LEAST_SEEN = 300, 8.0, 0.5


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a surface: its number in the masks and its outline with holes, pixels."""

    number: int
    rings: tuple[NDArray[np.float64], ...]


class TrueWalk:
    """The demo's poses, pictures and masks."""

    def __init__(self, folder: Path = SAMPLE) -> None:
        self.walk: Walk = read_walk(folder / "walk.yaml")
        self.hall: Hall = build_hall()
        self.person = self.hall.thing("demonstrator")
        told: dict[str, Any] = json.loads((folder / "truth" / "stills.json").read_text("utf-8"))
        self.stills: list[dict[str, Any]] = told["stills"]
        self.files = {clip["number"]: folder / clip["file"] for clip in told["clips"]}
        self.starts = {clip["number"]: float(clip["start_s"]) for clip in told["clips"]}
        words: list[dict[str, Any]] = json.loads((folder / "truth" / "words.json").read_text("utf-8"))
        takes = _takes(self.walk, words, {clip["number"]: (clip["start_s"], clip["duration_s"]) for clip in told["clips"]})
        self.shoots: dict[int, Shoot] = {take.clip: plan_clip(self.walk, take, self.hall) for take in takes}
        self.paths = {clip: CameraPath(shoot.keys, self.walk.seed + clip) for clip, shoot in self.shoots.items()}
        self._painters: dict[Lens, Painter] = {}
        self._numbered = _numbered(self.walk, self.hall)
        self.numbers = sorted({face.thing for solid in self._numbered for face in solid.faces} - {OTHER})

    def mask(self, clip: int, time_s: float) -> Numbers:
        """(H, W) piece numbers of the frame shown at this clip time; 254 for other things, 255 for a person."""
        pose, lens = self.at(clip, time_s)
        return self.mask_from(pose, lens, figure_at(self.shoots[clip], time_s, PERSON, float(pose.place[0])))

    def at(self, clip: int, time_s: float) -> tuple[Pose, Lens]:
        """From where the frame of this clip time was filmed."""
        return self.paths[clip].pose(time_s), self.shoots[clip].lens

    def mask_from(self, pose: Pose, lens: Lens, figure: list[Solid] | None = None) -> Numbers:
        """The same from any pose."""
        return self._painter(lens).mask(pose, figure or [])

    def picture_from(self, pose: Pose, lens: Lens, seed: int, figure: list[Solid] | None = None) -> Picture:
        """What a camera sees from a pose, with a sensor's noise."""
        seen = self._painter(lens).picture(pose, figure or []).astype(np.float32)
        return np.asarray(np.clip(seen + np.random.default_rng(seed).normal(0, 3, seen.shape), 0, 255), np.uint8)

    def into(self, station: int, seed: int = 0) -> tuple[CameraPath, Lens]:
        """A walk of four seconds from 3 m farther away straight towards a station."""
        x, y = STATION_X[station - 1], STATION_Y[station - 1]
        far, near = (x - 0.4, 1.75, 8.2), (x + 0.3, 1.75, 4.6)
        return CameraPath([Key(0.0, 0.0, far, (x, y, 0.0)), Key(-1.0, 6.0, near, (x, y, 0.0))], seed), LENSES["landscape"]

    def aside(self, station: int, metres: float, away: float = 1.0, seed: int = 3) -> tuple[CameraPath, Lens]:
        """A judge who stands that far to the side of where the walk was filmed, `away` times as far from the station."""
        shape: Shape = "landscape" if station <= 4 else "portrait"
        still = next(entry for entry in self.stills if entry["station"] == station)
        pose = self.paths[still["clip"]].pose(still["clip_time_s"])
        x, y = STATION_X[station - 1], STATION_Y[station - 1]
        place = (float(pose.place[0]) + metres, 1.6, float(pose.place[2]) * away)
        return CameraPath([Key(0.0, 0.0, place, (x, y, 0.0))], seed), LENSES[shape]

    def visible_alone(self, numbers: Iterable[int], pose: Pose, lens: Lens) -> dict[int, Mask]:
        """The pixels that each piece would take up if nothing stood in front of it."""
        found = {number: np.zeros((lens.height, lens.width), np.uint8) for number in numbers}
        for solid in self._numbered:
            for face in solid.faces:
                if face.thing not in found:
                    continue
                normal = np.cross(face.corners[1] - face.corners[0], face.corners[2] - face.corners[0])
                pixels, depth = project(face.corners, pose, lens)
                if normal @ (pose.place - face.corners[0]) > 0 and depth.min() > 0.2:
                    cv2.fillPoly(found[face.thing], [np.rint((pixels - 0.5) * 16).astype(np.int32)], 1, shift=4)
        return {number: mask > 0 for number, mask in found.items()}

    def _painter(self, lens: Lens) -> Painter:
        if lens not in self._painters:
            self._painters[lens] = Painter(self._numbered, lens, 1.25)
        self._painters[lens]._context.__enter__()  # each lens draws in a context of its own
        return self._painters[lens]


def pieces(seen: Numbers, alone: Mapping[int, Mask]) -> list[Piece]:
    """The outlines of all pieces that are mostly seen, and large and thick enough to be outlined (bars are marked as lines).

    What stands in front is not cut out of them: a mark stays whole when somebody steps before it.
    """
    found = []
    for number, mask in alone.items():
        if (seen == number).sum() < max(LEAST_PX, LEAST_SEEN * mask.sum()):
            continue
        contours, nesting = cv2.findContours(mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
        outer = max((at for at in range(len(contours)) if nesting[0][at][3] < 0), key=lambda at: cv2.contourArea(contours[at]))
        inner = [at for at in range(len(contours)) if nesting[0][at][3] == outer and cv2.contourArea(contours[at]) > LEAST_PX / 10]
        around = sum(cv2.arcLength(contours[at], True) for at in (outer, *inner))
        if 2 * mask.sum() / around < LEAST_THICK_PX:
            continue
        rings = [cv2.approxPolyDP(contours[at], 0.8, True).reshape(-1, 2).astype(np.float64) + 0.5 for at in (outer, *inner)]
        if len(rings[0]) >= 3:
            found.append(Piece(number, tuple(ring for ring in rings if len(ring) >= 3)))
    return found


def overlap(rings: Sequence[NDArray[np.float64]], seen: Numbers, alone: Mask, number: int) -> float:
    """Intersection over union of an outline with a piece, where nothing stands in front of it; NaN where too little of it is seen."""
    truth = seen == number
    if truth.sum() < max(LEAST_PX / 2, LEAST_SEEN / 2 * alone.sum()):
        return float("nan")
    drawn = np.zeros(seen.shape, np.uint8)
    cv2.fillPoly(drawn, [np.rint((ring - 0.5) * 16).astype(np.int32) for ring in rings], 1, shift=4)
    mine = drawn.astype(bool) & ~(alone & ~truth)
    return float((mine & truth).sum() / (mine | truth).sum())


def _numbered(walk: Walk, hall: Hall) -> list[Solid]:
    keys = {key for station in range(1, len(STATION_X) + 1) for key in surfaces_to_mark(walk, station)}
    named = set().union(*(things_of(key, hall) for key in keys))
    numbers: dict[tuple[int, int], int] = {}
    found = []
    for at, solid in enumerate(hall.solids):
        faces = []
        for face in solid.faces:
            number = OTHER
            if face.thing in named and not solid.far:
                number = numbers.setdefault((at, face.thing), len(numbers) + 1)
            faces.append(replace(face, thing=number))
        found.append(replace(solid, faces=tuple(faces)))
    if len(numbers) >= OTHER:
        raise SystemExit(f"{len(numbers)} pieces are too many for one byte a pixel.")
    return found


def _takes(walk: Walk, words: list[dict[str, Any]], clips: dict[int, tuple[float, float]]) -> list[Take]:
    """What was said, with the times of the words file; without its sound."""
    left = iter(words)
    said: dict[int, list[TimedSentence]] = {clip: [] for clip in clips}
    for index, section in enumerate(walk.sections):
        start_s, _ = clips[section.clip]
        for place, sentence in enumerate(section.say):
            own = [next(left) for _ in sentence.text.split()]
            end = own[-1]["end"] - start_s
            said[section.clip].append(
                TimedSentence(index, place, sentence.text, section.clip, own[0]["start"] - start_s, end, end + sentence.pause_s, ())
            )
    return [Take(clip, np.zeros(int(length * 100), np.float32), 100, tuple(said[clip])) for clip, (_, length) in clips.items()]
