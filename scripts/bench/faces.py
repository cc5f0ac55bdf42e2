"""Faces: how many are found in open photos whichever way up, how many boxes are none, how long it takes, and films between looks.

    python scripts/bench/faces.py [--show FOLDER]

Data: astronaut (scikit-image), messi5 and basketball1 and 2 (Debian's opencv-doc) with boxes drawn by eye around every face of 24 px or
more; 100 faces and 100 crops without faces (scikit-image's excerpt of Labeled Faces in the Wild) at 25, 50 and 100 px on grey; the same
photos' faces shrunk to 24 px, with what is around them, on a 1080p and a 2160p ground of bricks; photos without faces. Found: a box with
IoU of at least 0.3, or whose blur covers 80 % of the face. Time: searching a 1080p picture in four turns, as a ratio to reading that
picture from its PNG and JPEG.
No photo of children could be had: what the finder does on children's faces is NOT known.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import cv2
import numpy as np
import skimage.data
from numpy.typing import NDArray
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.marks import FaceTrack, Look, blur, find_faces
from annotator.marks.faces import GROW, Box
from annotator.media import read_picture, write_picture

Picture = NDArray[np.uint8]
OPENCV_DOC = Path("/usr/share/doc/opencv-doc/examples/data")
BY_EYE: dict[str, list[Box]] = {
    "astronaut": [(176, 62, 272, 190)],
    "messi5.jpg": [(213, 73, 262, 137)],
    "basketball1.png": [(70, 92, 103, 135), (510, 62, 550, 126)],
    "basketball2.png": [(70, 93, 104, 134), (515, 62, 554, 126)],
}
WITHOUT = ["graf1.png", "fruits.jpg", "aloeL.jpg", "home.jpg", "left01.jpg", "chelsea", "coffee", "coins", "rocket", "brick", "gravel"]
LEAST_PX = 24.0


def photo(name: str) -> Picture:
    """A photo by its name."""
    if "." in name:
        return read_picture(OPENCV_DOC / name)
    grey_or_colour = np.asarray(getattr(skimage.data, name)(), np.uint8)
    return grey_or_colour if grey_or_colour.ndim == 3 else np.repeat(grey_or_colour[..., None], 3, axis=2)


def turned(box: Box, quarters: int, width: int, height: int) -> Box:
    """Where a box is in the picture turned by quarters against the clock."""
    x0, y0, x1, y1 = box
    return [box, (y0, width - x1, y1, width - x0), (width - x1, height - y1, width - x0, height - y0), (height - y1, x0, height - y0, x1)][
        quarters
    ]


def same(truth: Box, found: Box) -> bool:
    """Whether a found box is of this face."""
    across, down = min(truth[2], found[2]) - max(truth[0], found[0]), min(truth[3], found[3]) - max(truth[1], found[1])
    both = max(0.0, across) * max(0.0, down)
    areas = [(box[2] - box[0]) * (box[3] - box[1]) for box in (truth, found)]
    return both / (areas[0] + areas[1] - both) >= 0.3 or hidden(truth, found) >= 0.8


def hidden(truth: Box, found: Box) -> float:
    """The share of a face that the blur of a found box covers."""
    grow = GROW * (found[2] - found[0]), GROW * (found[3] - found[1])
    across = min(truth[2], found[2] + grow[0]) - max(truth[0], found[0] - grow[0])
    down = min(truth[3], found[3] + grow[1]) - max(truth[1], found[1] - grow[1])
    return max(0.0, across) * max(0.0, down) / ((truth[2] - truth[0]) * (truth[3] - truth[1]))


def count(image: Picture, truth: list[Box]) -> tuple[int, int, int, tuple[Box, ...]]:
    """Faces found, faces there, boxes that are none."""
    found = find_faces(image)
    hits = sum(any(same(face, box) for box in found) for face in truth)
    return hits, len(truth), sum(not any(same(face, box) for face in truth) for box in found), found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--show", type=Path, help="where to put the pictures with their boxes")
    parser.add_argument("--quick", action="store_true", help="leave out crops and small faces")
    args = parser.parse_args()
    folder: Path | None = args.show
    print("photos: faces found / there, false boxes")
    for quarters, way in enumerate(("upright", "a quarter turn", "upside down", "three quarters")):
        total = np.zeros(3, int)
        for name, boxes in BY_EYE.items():
            image = photo(name)
            height, width = image.shape[:2]
            truth = [turned(box, quarters, width, height) for box in boxes]
            hits, there, false, found = count(np.ascontiguousarray(np.rot90(image, quarters)), truth)
            total += (hits, there, false)
            if folder is not None:
                drawn = np.ascontiguousarray(np.rot90(image, quarters))
                for x0, y0, x1, y1 in found:
                    cv2.rectangle(drawn, (int(x0), int(y0)), (int(x1), int(y1)), (255, 255, 0), 2)
                for x0, y0, x1, y1 in truth:
                    cv2.rectangle(drawn, (int(x0), int(y0)), (int(x1), int(y1)), (0, 255, 0), 1)
                folder.mkdir(parents=True, exist_ok=True)
                Image.fromarray(np.hstack([drawn, blur(np.ascontiguousarray(np.rot90(image, quarters)), found)])).save(
                    folder / f"{Path(name).stem}-{quarters}.png"
                )
        print(f"  {way}: {total[0]} / {total[1]}, {total[2]} false")
    nothing = {name: len(find_faces(photo(name))) for name in WITHOUT}
    print(f"photos without faces: {sum(nothing.values())} false boxes in {len(nothing)} photos {[n for n, k in nothing.items() if k]}")
    crops = np.asarray(skimage.data.lfw_subset() * 255, np.uint8)  # type: ignore[no-untyped-call]  # scikit-image has no types here
    for size in () if args.quick else (25, 50, 100):
        found_in = []
        for crop in crops:
            ground = np.full((size + 96, size + 96, 3), 128, np.uint8)
            large = np.asarray(cv2.resize(crop, (size, size), interpolation=cv2.INTER_CUBIC), np.uint8)
            ground[48 : 48 + size, 48 : 48 + size] = large[..., None]
            found_in.append(bool(find_faces(ground)))
        print(f"lfw crops at {size} px, four turns: {sum(found_in[:100])} of 100 faces, {sum(found_in[100:])} of 100 others")
    for height in () if args.quick else (1080, 2160):
        hits = there = false = 0
        bricks = np.asarray(cv2.resize(photo("brick"), (height * 16 // 9, height)), np.uint8)
        for name, boxes in BY_EYE.items():
            for quarters in (0, 2):
                image, ground = photo(name), bricks.copy()
                truth = []
                for number, (x0, y0, x1, y1) in enumerate(boxes):
                    margin_x, margin_y = int(1.5 * (x1 - x0)), int(1.5 * (y1 - y0))
                    top, left = max(0, int(y0) - margin_y), max(0, int(x0) - margin_x)
                    part = image[top : int(y1) + margin_y, left : int(x1) + margin_x]
                    scale = LEAST_PX / (x1 - x0)
                    small = cv2.resize(part, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
                    box = turned(
                        ((x0 - left) * scale, (y0 - top) * scale, (x1 - left) * scale, (y1 - top) * scale),
                        quarters,
                        small.shape[1],
                        small.shape[0],
                    )
                    small = np.rot90(small, quarters)
                    y, x = height // 3 + 250 * number, height // 2 + 400 * number
                    ground[y : y + small.shape[0], x : x + small.shape[1]] = small
                    truth.append((box[0] + x, box[1] + y, box[2] + x, box[3] + y))
                one = count(ground, truth)
                hits, there, false = hits + one[0], there + one[1], false + one[2]
        print(f"faces {LEAST_PX:g} px wide in a picture of {height} lines, upright and upside down: {hits} / {there}, {false} false")
    image = np.asarray(cv2.resize(photo("astronaut"), (1920, 1080), interpolation=cv2.INTER_CUBIC), np.uint8)
    find_faces(image)
    took: dict[str, list[float]] = {"search": [], ".png": [], ".jpg": []}
    for suffix in (".png", ".jpg"):
        place = Path(sys.argv[0]).parent / f".bench-faces{suffix}" if folder is None else folder / f"bench{suffix}"
        place.write_bytes(write_picture(image, suffix, quality=90) if suffix == ".jpg" else write_picture(image, suffix))
        for _ in range(3):
            started = time.perf_counter()
            read_picture(place)
            took[suffix].append(time.perf_counter() - started)
        place.unlink()
    for _ in range(3):
        started = time.perf_counter()
        find_faces(image)
        took["search"].append(time.perf_counter() - started)
    search, png, jpg = (float(np.median(took[name])) for name in ("search", ".png", ".jpg"))
    print(f"1080p: search {search * 1e3:.0f} ms, {search / png:.1f} x reading the PNG, {search / jpg:.1f} x reading the JPEG")
    films()


def films() -> None:
    """A face on a handheld path; each look misses it with a probability: the share of frames in which the blur covers 80 % of it."""
    for missing in (0.0, 0.1, 0.2, 0.3):
        rng = np.random.default_rng(7)
        covered = {"last and next look": 0, "with the way between": 0}
        total = 0
        for _ in range(200):
            speed, sway = rng.uniform(0, 160), rng.uniform(0, 30)

            def face(t: float, speed: float = speed, sway: float = sway) -> Box:
                x, y = 50 + speed * t, 100 + sway * np.sin(5 * t)
                return (x, y, x + 30, y + 38)

            looks = [Look(0.3 * at, () if rng.random() < missing else (face(0.3 * at),)) for at in range(11)]
            track = FaceTrack(looks)
            for t in np.arange(0.01, 3.0, 1 / 30):
                at = int(t / 0.3)
                beside = (*looks[at].boxes, *looks[at + 1].boxes)
                total += 1
                covered["last and next look"] += any(hidden(face(t), box) >= 0.8 for box in beside)
                covered["with the way between"] += any(hidden(face(t), box) >= 0.8 for box in (*beside, *track.at(float(t))))
        shares = ", ".join(f"{name} {value / total:.1%}" for name, value in covered.items())
        print(f"films, each look misses {missing:.0%}: {shares} of {total} frames hide 80 % of the face")


if __name__ == "__main__":
    main()
