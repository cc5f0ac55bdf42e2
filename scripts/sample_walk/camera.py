"""Where the hand-held camera stands and looks at every moment, and how a point of the hall lands on the picture.

In: keys (a time, a place, a target). Out: a pose for any time. The sway of the hand is a fixed sum of sines,
wider while walking, so that the same moment always gives the same pose. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scripts.sample_walk.solids import Vectors

NEAR_M, FAR_M = 0.2, 80.0


@dataclass(frozen=True)
class Lens:
    """Picture size in pixels and focal length in pixels."""

    width: int
    height: int
    focal: float


@dataclass(frozen=True)
class Pose:
    """A camera: where it is, and its axes (right, up, backward) as rows."""

    place: Vectors
    axes: Vectors

    def into_view(self, points: Vectors) -> Vectors:
        """Points of the hall in the camera's frame: x right, y up, z backward."""
        result: Vectors = (points - self.place) @ self.axes.T
        return result


def project(points: Vectors, pose: Pose, lens: Lens) -> tuple[Vectors, Vectors]:
    """Pixels (N, 2) of the picture, origin top left, y down, and depths (N,) in metres (negative: behind the camera)."""
    view = pose.into_view(points)
    depth = -view[:, 2]
    safe = np.where(np.abs(depth) < 1e-9, 1e-9, depth)
    x = lens.width / 2 + lens.focal * view[:, 0] / safe
    y = lens.height / 2 - lens.focal * view[:, 1] / safe
    return np.stack([x, y], axis=1), depth


def view_projection(pose: Pose, lens: Lens) -> Vectors:
    """The matrix that takes a point of the hall (as a column) to clip space; agrees with `project`."""
    view = np.eye(4)
    view[:3, :3] = pose.axes
    view[:3, 3] = -pose.axes @ pose.place
    near, far = NEAR_M, FAR_M
    projection = np.zeros((4, 4))
    projection[0, 0] = 2 * lens.focal / lens.width
    projection[1, 1] = 2 * lens.focal / lens.height
    projection[2, 2] = -(far + near) / (far - near)
    projection[2, 3] = -2 * far * near / (far - near)
    projection[3, 2] = -1
    return projection @ view


@dataclass(frozen=True)
class Key:
    """From `start_s` on, over `over_s` seconds, the camera goes to `place` and turns to look at `target`."""

    start_s: float
    over_s: float
    place: tuple[float, float, float]
    target: tuple[float, float, float]


class Path:
    """A camera path through keys in order of time."""

    def __init__(self, keys: Sequence[Key], seed: int) -> None:
        self._keys = sorted(keys, key=lambda key: key.start_s)
        rng = np.random.default_rng(seed)
        self._rates = rng.uniform(0.25, 1.1, (6, 3)) * np.array([1.0, 1.7, 2.6])
        self._phases = rng.uniform(0, 2 * np.pi, (6, 3))

    def _smooth(self, time_s: float) -> tuple[Vectors, Vectors]:
        place = np.array(self._keys[0].place, float)
        target = np.array(self._keys[0].target, float)
        for key in self._keys[1:]:
            if time_s <= key.start_s:
                break
            share = min(1.0, (time_s - key.start_s) / key.over_s) if key.over_s > 0 else 1.0
            ease = share * share * share * (10 - 15 * share + 6 * share * share)
            place = place + ease * (np.array(key.place) - place)
            target = target + ease * (np.array(key.target) - target)
        return place, target

    def speed(self, time_s: float) -> float:
        """Metres a second of the smooth path."""
        step = 0.05
        return float(np.linalg.norm(self._smooth(time_s + step)[0] - self._smooth(time_s - step)[0])) / (2 * step)

    def pose(self, time_s: float) -> Pose:
        """The pose at `time_s`, sway of the hand included."""
        place, target = self._smooth(time_s)
        walking = min(1.0, self.speed(time_s) / 1.2)
        sway = (np.sin(2 * np.pi * self._rates * time_s + self._phases) * np.array([1.0, 0.5, 0.2])).sum(axis=1)
        place = place + sway[:3] * (0.006 + 0.012 * walking)
        place[1] += 0.022 * walking * np.sin(2 * np.pi * 1.8 * time_s)
        turn = np.radians(sway[3:] * np.array([0.14, 0.14, 0.25]) * (1 + 1.2 * walking))
        back = place - target
        back /= np.linalg.norm(back)
        right = np.cross([0.0, 1.0, 0.0], back)
        right /= np.linalg.norm(right)
        axes = np.stack([right, np.cross(back, right), back])
        return Pose(place, _turned(turn) @ axes)


def _turned(angles: Vectors) -> Vectors:
    """Small turns about the camera's right, up and backward axes."""
    (cx, cy, cz), (sx, sy, sz) = np.cos(angles), np.sin(angles)
    about_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    turned: Vectors = about_z @ about_y @ about_x
    return turned
