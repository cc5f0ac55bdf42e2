"""Picking stills: how often the pick is (nearly) the least blurred frame, and what picking costs over decoding alone.

    python scripts/bench/stills.py [--photos N]

Data: open photos (scikit-image, Debian's opencv-doc), windows of 15 frames of 640 x 360, each frame blurred along a line of 0 to 20 px in
any direction, its exposure changed by up to 8 %, with noise (sigma 2 or 6) and written as JPEG of quality 85; a standing view, and one that
pans and zooms. "ok": the picked frame is within 1 px of the least blurred. Time: `pick_stills` over films of 10 s against decoding
the same span and dropping the frames, in turns in one run; three windows of 2 stills. One film is as a phone writes it (16 Mbit/s), one so
easy to decode that what picking costs shows.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

import av
import cv2
import numpy as np
import skimage.data
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.media import Window, open_writer, pick_stills, read_picture
from annotator.media.decode import frames_from
from annotator.media.opening import open_container, picture_track, start_of
from annotator.media.stills import Best, measured

Picture = NDArray[np.uint8]
OPENCV_DOC = Path("/usr/share/doc/opencv-doc/examples/data")
FROM_DOC = ["aloeL.jpg", "baboon.jpg", "basketball1.png", "box_in_scene.png", "building.jpg", "butterfly.jpg", "fruits.jpg", "graf1.png"]
FROM_DOC += ["home.jpg", "left01.jpg", "leuvenA.jpg", "messi5.jpg", "orange.jpg", "squirrel_cls.jpg", "stuff.jpg", "tmpl.png"]
FROM_SKIMAGE = ["astronaut", "coffee", "chelsea", "rocket", "coins", "brick", "gravel", "grass"]
FRAMES, SIZE = 15, (640, 360)
EVERY_S = 1 / 30


def photos() -> list[Picture]:
    """The photos that are there, 960 x 540."""
    found = [read_picture(OPENCV_DOC / name) for name in FROM_DOC if (OPENCV_DOC / name).is_file()]
    for name in FROM_SKIMAGE:
        one = np.asarray(getattr(skimage.data, name)(), np.uint8)
        found.append(one if one.ndim == 3 else np.repeat(one[..., None], 3, axis=2))
    return [np.asarray(cv2.resize(one, (960, 540), interpolation=cv2.INTER_AREA), np.uint8) for one in found]


def window(photo: Picture, rng: np.random.Generator, sigma: float, moving: bool) -> tuple[list[NDArray[np.uint8]], NDArray[np.float64]]:
    """Luma of the frames and the true length of each one's blur."""
    lengths = rng.uniform(0, 20, FRAMES)
    frames = []
    start, step, zoom = rng.uniform(0, 40, 2), rng.uniform(-2, 2, 2), rng.uniform(-0.004, 0.004)
    for number, length in enumerate(lengths):
        x, y = start + step * number if moving else start
        scale = 1.3 + (zoom * number if moving else 0.0)
        view = cv2.warpAffine(photo, np.array([[1 / scale, 0, -x / 2], [0, 1 / scale, -y / 2]]), SIZE, borderMode=cv2.BORDER_REFLECT)
        angle = rng.uniform(0, np.pi)
        kernel = np.zeros((25, 25), np.float32)
        ends = [
            (round((12 + sign * length / 2 * np.cos(angle)) * 256), round((12 + sign * length / 2 * np.sin(angle)) * 256))
            for sign in (-1, 1)
        ]
        cv2.line(kernel, ends[0], ends[1], 1.0, 1, cv2.LINE_AA, 8)
        blurred = cv2.filter2D(view.astype(np.float32), -1, kernel / kernel.sum()) * rng.uniform(0.92, 1.08)
        noisy = np.clip(blurred + rng.normal(0, sigma, blurred.shape), 0, 255).astype(np.uint8)
        coded = cv2.imdecode(cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, 85])[1], cv2.IMREAD_COLOR)
        frames.append(np.asarray(cv2.cvtColor(np.asarray(coded, np.uint8), cv2.COLOR_RGB2GRAY), np.uint8))
    return frames, lengths


def picked(frames: list[NDArray[np.uint8]]) -> int:
    """The number of the frame that is picked, by the measures of the real picker."""
    best: Best[int] = Best(1)
    for frame in measured((number * EVERY_S, gray, number) for number, gray in enumerate(frames)):
        best.add(frame)
    return best.chosen()[0].thing


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--photos", type=int, default=20)
    shown = photos()[: parser.parse_args().photos]
    for moving in (False, True):
        for sigma in (2.0, 6.0):
            rng = np.random.default_rng(11)
            excess = []
            for photo in shown:
                for _ in range(3):
                    frames, lengths = window(photo, rng, sigma, moving)
                    excess.append(float(lengths[picked(frames)] - lengths.min()))
            ok = sum(one <= 1 for one in excess)
            view = "panning and zooming" if moving else "standing"
            print(f"{view}, noise {sigma:g}: ok {ok} of {len(excess)} ({ok / len(excess):.0%}); mean excess {np.mean(excess):.2f} px")
    with tempfile.TemporaryDirectory() as folder:
        for title, size, bits in (("720p, easy to decode", (1280, 720), 0), ("1080p of 16 Mbit/s", (1920, 1080), 16_000_000)):
            film = Path(folder) / f"{size[1]}.mp4"
            write_film(film, shown[0], size, bits)
            time_picking(title, film)


def write_film(film: Path, photo: Picture, size: tuple[int, int], bits: int) -> None:
    """Ten seconds of a view that wanders: as the program writes films, or with a sensor's noise at so many bits a second."""
    width, height = size
    large = np.asarray(cv2.resize(photo, (width + 320, height + 180)), np.uint8)
    views = (large[y : y + height, x : x + width] for x, y in (_place(number) for number in range(300)))
    if not bits:
        with open_writer(film, width, height, end_s=10.0) as out:
            for number, view in enumerate(views):
                out.write(np.ascontiguousarray(view), number / 30)
        return
    grain = np.random.default_rng(1).normal(0, 3, (8, height, width, 1)).astype(np.float32)
    with av.open(str(film), "w") as container:
        track = container.add_stream("libx264", rate=30, options={"preset": "veryfast"})
        track.width, track.height, track.pix_fmt, track.bit_rate = width, height, "yuv420p", bits
        for number, view in enumerate(views):
            noisy = np.clip(view + grain[number % 8], 0, 255).astype(np.uint8)
            container.mux(track.encode(av.VideoFrame.from_ndarray(noisy, format="rgb24")))
        container.mux(track.encode())


def _place(number: int) -> tuple[int, int]:
    return int(160 + 150 * np.sin(number / 40)), int(90 + 80 * np.cos(number / 31))


def time_picking(title: str, film: Path) -> None:
    """Decoding alone and picking in turns, by the processor's time and by the wall's."""
    took: dict[str, list[tuple[float, float]]] = {"decode": [], "pick": []}
    for _ in range(7):
        for what, run in (("decode", _decoded), ("pick", _picked)):
            began = time.process_time(), time.perf_counter()
            found = run(film)
            took[what].append((time.process_time() - began[0], time.perf_counter() - began[1]))
    cpu, wall = ([pick[at] / decode[at] for pick, decode in zip(took["pick"], took["decode"], strict=True)] for at in (0, 1))
    each = min(one for one, _ in took["decode"]) / 300 * 1000
    print(
        f"{title}: picking {found} stills takes {np.median(cpu):.2f} x decoding by the processor (from {min(cpu):.2f} to {max(cpu):.2f}), ",
        end="",
    )
    print(f"{np.median(wall):.2f} by the wall (from {min(wall):.2f}); decoding takes {each:.1f} ms of the processor a frame")


def _decoded(film: Path) -> int:
    with open_container(film) as container:
        return sum(1 for _ in frames_from(film, container, picture_track(container, film), start_of(film), 0.0))


def _picked(film: Path) -> int:
    return len(pick_stills(film, [Window(0.0, 3.3, 2), Window(3.3, 6.6, 2), Window(6.6, 10.0, 2)]))


if __name__ == "__main__":
    main()
