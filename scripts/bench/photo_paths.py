"""Made handheld paths over photos that nobody here made, with the true homography of each frame.

The photos are those of Debian's opencv-doc and of the scikit-image wheel.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

Picture = NDArray[np.uint8]
Floats = NDArray[np.float64]
OPENCV_DOC = Path("/usr/share/doc/opencv-doc/examples/data")
SIZE = (1280, 720)
PHOTOS = (
    "graf1.png",
    "aloeL.jpg",
    "building.jpg",
    "home.jpg",
    "fruits.jpg",
    "board.jpg",
    "baboon.jpg",
    "butterfly.jpg",
    "messi5.jpg",
    "leuvenA.jpg",
    "basketball1.png",
    "rubberwhale1.png",
    "aero1.jpg",
    "stuff.jpg",
    "licenseplate_motion.jpg",
    "left01.jpg",
    "starry_night.jpg",
    "squirrel_cls.jpg",
)
OF_SKIMAGE = ("astronaut", "coffee", "chelsea", "rocket", "stereo_motorcycle")


@dataclass(frozen=True, eq=False)
class PhotoPath:
    """A path: photo to frame for each frame, and what the light and the shutter do."""

    name: str
    photo: Picture
    matrices: tuple[Floats, ...]
    lights: Floats
    blurs: NDArray[np.int64]
    seed: int

    def frame(self, at: int) -> Picture:
        """The frame with blur, light, sensor noise and JPEG's losses."""
        seen = cv2.warpPerspective(self.photo, self.matrices[at], SIZE, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        rng = np.random.default_rng((self.seed, at))
        length = int(self.blurs[at])
        if length > 1:
            kernel = np.zeros((length, length), np.float32)
            turn = rng.uniform(0, np.pi)
            middle, reach = (length - 1) / 2, (length - 1) / 2
            ends = [(round(middle + sign * reach * np.cos(turn)), round(middle + sign * reach * np.sin(turn))) for sign in (-1, 1)]
            cv2.line(kernel, ends[0], ends[1], 1.0)
            seen = cv2.filter2D(seen, -1, kernel / kernel.sum())
        gain, gamma = self.lights[at]
        lit = np.asarray(255 * gain * (np.asarray(seen, np.float32) / 255) ** gamma + rng.normal(0, 3, seen.shape), np.float32)
        _, coded = cv2.imencode(".jpg", np.clip(lit, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 80])
        return np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), np.uint8)

    def outlines(self, count: int) -> list[Floats]:
        """Random outlines in pixels of the first frame, over the photo itself."""
        rng = np.random.default_rng((self.seed, 77))
        width, height = SIZE
        across, down = self.photo.shape[1], self.photo.shape[0]
        found: list[Floats] = []
        for _ in range(2000):
            turns = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(4, 9)))
            radii = rng.uniform(50, 150) * rng.uniform(0.6, 1, (len(turns), 1))
            ring = rng.uniform((150, 120), (width - 150, height - 120)) + np.stack([np.cos(turns), np.sin(turns)], axis=1) * radii
            on_photo = through(np.asarray(np.linalg.inv(self.matrices[0]), np.float64), ring)
            inside = on_photo.min() > 0 and on_photo[:, 0].max() < across and on_photo[:, 1].max() < down
            if Polygon(ring).is_valid and Polygon(ring).area > 4000 and inside:
                found.append(ring)
                if len(found) == count:
                    break
        return found


def photo_paths(frames: int, paths_each: int, seed: int) -> Iterator[PhotoPath]:
    """Seeded paths: pan, zoom, roll, a little tilt, tremor; now and then blur and a change of light."""
    for number, (name, photo) in enumerate(photos()):
        for again in range(paths_each):
            rng = np.random.default_rng((seed, number, again))
            height, width = photo.shape[:2]
            fit = max(SIZE[0] / width, SIZE[1] / height) * 1.25
            drift = rng.uniform(-3.0, 3.0, 2)
            roll, growth = rng.uniform(-0.25, 0.25), 1 + rng.uniform(-0.004, 0.006)
            tilt = rng.normal(0, 1.5e-6, 2)
            tremor = np.cumsum(rng.normal(0, 1.0, (frames, 2)), axis=0)
            matrices = []
            for at in range(frames):
                turn, zoom = np.deg2rad(roll * at + rng.normal(0, 0.1)), growth**at
                c, s = zoom * np.cos(turn), zoom * np.sin(turn)
                middle = np.array([SIZE[0] / 2, SIZE[1] / 2])
                shift = middle - np.array([[c, -s], [s, c]]) @ middle + drift * at + tremor[at]
                moved = np.array([[c, -s, shift[0]], [s, c, shift[1]], [tilt[0] * at, tilt[1] * at, 1]])
                place = np.array([[fit, 0, (SIZE[0] - fit * width) / 2], [0, fit, (SIZE[1] - fit * height) / 2], [0, 0, 1]])
                matrices.append(moved @ place)
            ramp = np.linspace(0, 1, frames)[:, None]
            lights = np.array([[1.0, 1.0]]) * (1 - ramp) + np.array([[rng.uniform(0.6, 1.2), rng.uniform(0.8, 1.5)]]) * ramp
            blurs = np.where(rng.random(frames) < 0.3, rng.integers(3, 14, frames), 1)
            blurs[0] = 1
            yield PhotoPath(f"{name} {again + 1}", photo, tuple(matrices), lights, blurs, seed * 1000 + number * 10 + again)


def photos() -> Iterator[tuple[str, Picture]]:
    """Every photo with its name."""
    yield from ((name, photo(name)) for name in PHOTOS)
    from skimage import data

    for name in OF_SKIMAGE:
        found = getattr(data, name)()
        yield name, np.ascontiguousarray((found[0] if isinstance(found, tuple) else found)[..., :3], dtype=np.uint8)


def photo(name: str) -> Picture:
    """One of opencv-doc's photos, RGB."""
    found = cv2.imread(str(OPENCV_DOC / name), cv2.IMREAD_COLOR)
    if found is None:
        raise SystemExit(f"{OPENCV_DOC / name} is missing: install Debian's opencv-doc.")
    return np.asarray(found[..., ::-1], np.uint8).copy()


def through(matrix: Floats, ring: Floats) -> Floats:
    """A homography between pixel middles, for points counted from pixel corners."""
    moved = np.column_stack([ring - 0.5, np.ones(len(ring))]) @ matrix.T
    return np.asarray(moved[:, :2] / moved[:, 2:] + 0.5, np.float64)
