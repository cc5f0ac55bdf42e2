"""Draw the stills of the second invented hall with their masks: a check for what reads pictures, on a hall it was not built with.

    .venv/bin/python scripts/make_other_hall.py -o FOLDER

Writes NAME.jpg (the still), NAME.png (object numbers) and stills.json (objects, and what would be said of them). Needs moderngl and EGL.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from scripts.sample_walk.answers import write_json
from scripts.sample_walk.camera import Key, Lens
from scripts.sample_walk.camera import Path as CameraPath
from scripts.sample_walk.draw import Painter
from scripts.sample_walk.other_hall import NAMED, VIEWS, View, build_other_hall

LENS = Lens(1280, 720, 930.0)
NOISE, QUALITY = 3.0, 88


def lit(image: NDArray[np.uint8], view: View, seed: int) -> NDArray[np.uint8]:
    """The picture in the light of its view, with a sensor's noise."""
    ramp = np.interp(np.arange(image.shape[1]), [0, 0.45 * image.shape[1], 0.6 * image.shape[1]], [view.dim, view.dim, 1.0])
    seen = image.astype(np.float64) * np.asarray(view.cast) * ramp[None, :, None]
    seen += np.random.default_rng(seed).normal(0, NOISE, image.shape)
    return np.asarray(np.clip(seen, 0, 255), np.uint8)


def main() -> None:
    """Draw every view."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("-o", "--out", type=Path, required=True)
    out: Path = parser.parse_args().out
    out.mkdir(parents=True, exist_ok=True)
    hall = build_other_hall()
    painter = Painter(hall.solids, LENS, 1.5)
    stills: list[dict[str, Any]] = []
    for at, view in enumerate(VIEWS):
        pose = CameraPath([Key(0.0, 0.0, view.place, view.target)], seed=40 + at).pose(1.0)
        Image.fromarray(lit(painter.picture(pose), view, 40 + at)).save(out / f"{view.name}.jpg", quality=QUALITY)
        mask = painter.mask(pose)
        Image.fromarray(mask).save(out / f"{view.name}.png", optimize=True)
        seen = {thing.number: thing for thing in hall.things if (mask == thing.number).any()}
        stills.append(
            {
                "still": view.name,
                "station": view.station,
                "width": LENS.width,
                "height": LENS.height,
                "picture": f"{view.name}.jpg",
                "file": f"{view.name}.png",
                "cast": view.cast,
                "dim": view.dim,
                "objects": {str(number): {"name": thing.name, "part": thing.part} for number, thing in sorted(seen.items())},
                "said": [name for name, _ in NAMED[view.station]],
            }
        )
    write_json(out / "stills.json", {"stills": stills})
    stations = [{"number": number, "surfaces": [{"name": name} for name, _ in things]} for number, things in sorted(NAMED.items())]
    write_json(out / "gold.json", {"stations": stations})


if __name__ == "__main__":
    main()
