"""Things with certain truth that the benches of snapping and proposing are measured on.

Stills of a walk made by `scripts/make_sample_walk` (or any folder in the form of sample_media): the mask of each named thing is drawn, not
guessed. Photos that nobody here made (Debian's opencv-doc, the scikit-image wheel): round things whose silhouette is an ellipse fitted to a
clean separation from a plain ground, the squares of a calibration board through
their corners to a fraction of a pixel.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from annotator.media import grab

Picture = NDArray[np.uint8]
Mask = NDArray[np.bool_]
SAMPLE = Path(__file__).resolve().parents[2] / "sample_media"
OPENCV_DOC = Path("/usr/share/doc/opencv-doc/examples/data")
_FINE = 8


@dataclass(frozen=True, eq=False)
class Thing:
    """A thing in a picture: what it is, of which set, the pixels it covers, and for a bar its line and width."""

    of: str
    name: str
    picture: Picture
    mask: Mask
    line: tuple[list[list[float]], float] | None = None


@dataclass(frozen=True, eq=False)
class WalkStill:
    """A still of a made walk: its picture, object numbers, what each number is, and which station's it is."""

    name: str
    station: int
    picture: Picture
    numbers: NDArray[np.uint8]
    objects: dict[int, tuple[str, str | None]]

    def mask_of(self, name: str, part: str | None = None) -> Mask:
        """The pixels of a thing; without a part, with all its parts."""
        chosen = [number for number, (other, its) in self.objects.items() if other == name and part in (None, its)]
        return np.isin(self.numbers, chosen)


def walk_stills(folder: Path = SAMPLE) -> tuple[WalkStill, ...]:
    """The stills with truth of a made walk: `folder` holds the clips and `truth/`, or is that `truth` itself."""
    truth = folder if (folder / "stills.json").is_file() else folder / "truth"
    told: dict[str, Any] = json.loads((truth / "stills.json").read_text("utf-8"))
    films = {clip["number"]: clip["file"] for clip in told.get("clips", ())}
    found = []
    for entry in told["stills"]:
        if "picture" in entry:  # drawn without a film
            picture = np.asarray(Image.open(truth / entry["picture"]).convert("RGB"), np.uint8)
        else:
            film = next(place / films[entry["clip"]] for place in (truth.parent, truth) if (place / films[entry["clip"]]).is_file())
            picture = grab(film, entry["clip_time_s"] + 0.01).image
        numbers = np.asarray(Image.open(truth / entry["file"]))
        objects = {int(number): (thing["name"], thing["part"]) for number, thing in entry["objects"].items()}
        found.append(WalkStill(entry["still"], entry["station"], picture, numbers, objects))
    return tuple(found)


def walk_gold(folder: Path = SAMPLE) -> dict[str, Any]:
    """The true rules of a made walk."""
    truth = folder if (folder / "gold.json").is_file() else folder / "truth"
    told: dict[str, Any] = json.loads((truth / "gold.json").read_text("utf-8"))
    return told


def pieces(mask: Mask, least_px: int = 60) -> Iterator[Mask]:
    """The connected pieces of a mask that are large enough to be marked."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    for label in range(1, count):
        if stats[label][cv2.CC_STAT_AREA] >= least_px:
            yield np.asarray(labels == label)


def photo_things() -> tuple[Thing, ...]:
    """Things on real photos whose outline is certain to about a pixel."""
    return (*_sweets(), *_coins(), *_desk(), *_disc(), *_squares())


def opencv_photo(name: str) -> Picture:
    """A photo of Debian's opencv-doc as RGB."""
    found = cv2.imread(str(OPENCV_DOC / name), cv2.IMREAD_COLOR)
    if found is None:
        raise SystemExit(f"{OPENCV_DOC / name} is missing: install Debian's opencv-doc.")
    return np.asarray(cv2.cvtColor(found, cv2.COLOR_BGR2RGB), np.uint8)


def _of_skimage(name: str) -> Picture:
    from skimage import data

    return np.asarray(getattr(data, name)(), np.uint8)


def polygon_mask(points: NDArray[np.float64], shape: tuple[int, ...]) -> Mask:
    """The pixels at least half of which lie inside a polygon."""
    found = np.zeros(shape[:2], bool)
    if not len(points):
        return found
    size = np.array([shape[1], shape[0]])
    (x0, y0), (x1, y1) = (np.clip(ends, 0, size).astype(int) for ends in (points.min(axis=0) - 1, points.max(axis=0) + 2))
    if x1 > x0 and y1 > y0:  # only around it: the fine picture of a whole still is of 64 times its size
        fine = np.zeros(((y1 - y0) * _FINE, (x1 - x0) * _FINE), np.uint8)
        cv2.fillPoly(fine, [np.rint(((points - (x0, y0)) * _FINE - 0.5) * 16).astype(np.int32)], 255, shift=4)
        found[y0:y1, x0:x1] = cv2.resize(fine, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA) >= 128
    return found


def _ellipses(of: str, picture: Picture, apart: Mask, least_px: int, most_px: int) -> Iterator[Thing]:
    """Pieces of a separation that are ellipses to within a pixel and lie whole in the picture."""
    height, width = apart.shape
    filled = cv2.morphologyEx(apart.astype(np.uint8), cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7)))
    contours, _ = cv2.findContours(filled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for number, contour in enumerate(sorted(contours, key=lambda one: tuple(cv2.boundingRect(one)))):
        x, y, across, down = cv2.boundingRect(contour)
        if not (least_px <= min(across, down) and max(across, down) <= most_px) or x < 2 or y < 2 or x + across > width - 2:
            continue
        if y + down > height - 2 or len(contour) < 20:
            continue
        (cx, cy), (wide, high), turn = cv2.fitEllipse(contour)
        # A contour runs through the middles of the border's pixels: the silhouette is half a pixel larger all round.
        around = np.linspace(0, 2 * np.pi, 180, endpoint=False)
        spun = np.deg2rad(turn)
        flat = np.column_stack([np.cos(around) * (wide + 1) / 2, np.sin(around) * (high + 1) / 2])
        points = np.column_stack(
            [
                cx + 0.5 + flat[:, 0] * np.cos(spun) - flat[:, 1] * np.sin(spun),
                cy + 0.5 + flat[:, 0] * np.sin(spun) + flat[:, 1] * np.cos(spun),
            ]
        )
        mask = polygon_mask(points, picture.shape)
        piece = np.zeros(apart.shape, np.uint8)
        cv2.drawContours(piece, [contour], -1, 1, cv2.FILLED)
        if (mask & (piece > 0)).sum() / (mask | (piece > 0)).sum() >= 0.93:
            yield Thing(of, f"{of} {number}", picture, mask)


def _sweets() -> Iterator[Thing]:
    picture = opencv_photo("smarties.png")
    hsv = cv2.cvtColor(picture, cv2.COLOR_RGB2HSV)
    yield from _ellipses("sweets", picture, np.asarray(hsv[..., 1] > 110), 25, 80)


def _coins() -> Iterator[Thing]:
    grey = _of_skimage("coins")
    ground = cv2.GaussianBlur(grey, (0, 0), 40)
    apart = cv2.GaussianBlur(grey, (0, 0), 1.0).astype(float) - ground > 12
    yield from _ellipses("coins", np.dstack([grey] * 3), np.asarray(apart), 25, 90)


def _desk() -> Iterator[Thing]:
    """The bright round things only: the dark one's outline runs together with its shadow."""
    picture = opencv_photo("stuff.jpg")
    grey = cv2.GaussianBlur(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), (0, 0), 1.0)
    ground = cv2.medianBlur(cv2.resize(grey, None, fx=0.25, fy=0.25), 101)
    over = grey.astype(float) - cv2.resize(ground, (grey.shape[1], grey.shape[0]))
    yield from _ellipses("desk", picture, np.asarray(over > 18), 25, 160)


def _disc() -> Iterator[Thing]:
    picture = np.pad(_of_skimage("retina"), ((60, 60), (60, 60), (0, 0)))
    apart = cv2.GaussianBlur(picture, (0, 0), 1.5).max(axis=2) > 18
    yield from _ellipses("disc", picture, np.asarray(apart), 300, 1500)


def _squares() -> Iterator[Thing]:
    """Dark squares of the calibration board, two a photo: their corners are found to a tenth of a pixel."""
    for number in (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14):
        picture = opencv_photo(f"left{number:02d}.jpg")
        grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
        found, corners = cv2.findChessboardCorners(grey, (9, 6))
        if not found:
            continue
        corners = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.001))
        grid = corners.reshape(6, 9, 2) + 0.5
        dark = []
        for row in range(5):
            for column in range(8):
                points = np.array([grid[row, column], grid[row, column + 1], grid[row + 1, column + 1], grid[row + 1, column]], np.float64)
                mask = polygon_mask(points, grey.shape)
                if mask.sum() > 100 and float(grey[mask].mean()) < 90:
                    dark.append((row, column, mask))
        for row, column, mask in dark[3 :: max(1, len(dark) // 2)][:2]:
            yield Thing("squares", f"left{number:02d} {row},{column}", picture, mask)
