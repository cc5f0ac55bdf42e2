"""Halls of random things in random colours, drawn with their masks: what weights of snapping are fitted on, so that the demo stays unseen.

In: a random generator. Out: a hall (hall.py), and stills of it as a camera gives them, each with its object numbers. Metres.
"""

from __future__ import annotations

import colorsys
import io
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scripts.sample_walk.camera import Key, Lens
from scripts.sample_walk.camera import Path as CameraPath
from scripts.sample_walk.draw import Painter
from scripts.sample_walk.filmed import through_film
from scripts.sample_walk.hall import Hall
from scripts.sample_walk.solids import BRICK, FABRIC, FLOOR, PLAIN, WOOD, Colour, ball, bar, box, sheet, wedge

LENS = Lens(960, 540, 711.0)
ROOM = ("floor", "wall", "ceiling", "post", "bystander")
"""What nobody outlines."""
_PLACES, _APART_M, _WALL_Z, _CEILING_Y = 12, 2.2, -3.0, 5.5
_STEEL, _SKIN, _CLOTH = (0.30, 0.32, 0.35), (0.72, 0.52, 0.42), (0.12, 0.13, 0.20)


def random_hall(rng: np.random.Generator) -> Hall:
    """Twelve things in a row, some behind padded posts or people, some with somebody standing on them."""
    hall = Hall()
    upon = rng.spawn(1)[0]
    hall.thing("floor")
    for number in range(_PLACES):
        x, z = number * _APART_M, float(rng.uniform(-0.8, 0.8))
        top = _thing(hall, rng, number, x, z)
        if top is not None and upon.random() < 0.6:
            _person(hall, upon, x + float(upon.uniform(-0.25, 0.25)), top, z + float(upon.uniform(-0.3, 0.3)))
        if rng.random() < 0.6:
            _pad(hall, rng, number, x + float(rng.uniform(0.8, 1.3)))
        if rng.random() < 0.3:
            _person(hall, rng, x + float(rng.uniform(-0.4, 0.4)), 0.0, float(rng.uniform(-0.5, 1)))
    _room(hall, rng)
    return hall


def _colour(rng: np.random.Generator) -> Colour:
    if rng.random() < 0.3:
        grey = float(rng.uniform(0.05, 0.95))
        return grey, grey, min(1.0, grey * float(rng.uniform(0.95, 1.05)))
    return colorsys.hsv_to_rgb(float(rng.random()), float(rng.uniform(0.5, 1)), float(rng.uniform(0.2, 0.95)))


def _thing(hall: Hall, rng: np.random.Generator, number: int, x: float, z: float) -> float | None:
    """A thing of one of seven kinds; how high its top is where somebody may stand on it."""
    kind = int(rng.integers(0, 7))
    cloth = int(rng.choice([FABRIC, WOOD]))
    colour = _colour(rng)
    if kind == 0:
        size = (float(rng.uniform(0.9, 2)), float(rng.uniform(0.05, 0.14)), float(rng.uniform(0.9, 1.5)))
        hall.block(f"mat {number}", x, z, size, colour, cloth)
        return size[1]
    if kind == 1:
        wide, high, deep = (float(side) for side in rng.uniform(0.35, 1.1, 3))
        hall.block(f"box {number}", x, z, (wide, high, deep), colour, cloth)
        return high
    if kind == 2:
        wide, deep = (float(side) for side in rng.uniform(0.4, 0.9, 2))
        sides, tops = hall.thing(f"step {number}", "sides"), hall.thing(f"step {number}", "top")
        hall.add(box((x, 0.2, z), (wide, 0.4, deep), sides, colour, cloth, tops))
        return 0.4
    if kind == 3:
        hall.add(wedge(x - 0.7, x + 0.7, float(rng.uniform(0.4, 1.2)), z - 0.5, z + 0.4, hall.thing(f"wedge {number}"), colour, WOOD))
    elif kind == 4:
        high = float(rng.uniform(1.2, 2.6))
        hall.add(box((x, high / 2, -0.9), (float(rng.uniform(1.2, 2)), high, 0.15), hall.thing(f"board {number}"), colour, WOOD))
        other = _colour(rng)
        for at in range(3):
            place = (x - 0.5 + 0.5 * at, float(rng.uniform(0.5, high - 0.2)), -0.79)
            size = (float(rng.uniform(0.25, 0.45)), float(rng.uniform(0.06, 0.14)), 0.1)
            hall.add(box(place, size, hall.thing(f"ledge {number}"), other))
    elif kind == 5:
        high = float(rng.uniform(0.5, 1))
        hall.add(bar((x, 0, z), (x, high, z), float(rng.uniform(0.2, 0.35)), hall.thing(f"drum {number}"), colour, PLAIN, 20, line=False))
    else:
        tilt = float(rng.uniform(10, 35))
        hall.add(box((x, 0.26, z), (0.8, 0.06, 0.8), hall.thing(f"plate {number}"), colour, WOOD, tilt_deg=tilt))
        hall.add(ball((x + 0.8, float(rng.uniform(0.5, 1.6)), z), 0.16, hall.thing(f"ball {number}"), _colour(rng)))
    return None


def _pad(hall: Hall, rng: np.random.Generator, number: int, x: float) -> None:
    z, grey = float(rng.uniform(-1.6, 1.0)), float(rng.uniform(0.15, 0.7))
    wide, high, thick = float(rng.uniform(0.35, 0.55)), float(rng.uniform(0.5, 1.1)), float(rng.uniform(0.04, 0.08))
    colour = (grey, grey * float(rng.uniform(0.9, 1.1)), grey * float(rng.uniform(0.9, 1.1)))
    side, top = hall.thing(f"pad {number}"), hall.thing(f"pad {number}", "top")
    hall.add(box((x, high / 2, z), (wide, high, wide), side, colour, FABRIC, top))
    hall.add(bar((x, high, z), (x, 5.0, z), thick, hall.thing("post"), _STEEL, line=False))


def _person(hall: Hall, rng: np.random.Generator, x: float, y: float, z: float) -> None:
    """Somebody who stands at a height of `y`: in light or dark shoes, legs apart or together."""
    person = hall.thing("bystander")
    apart, shade = float(rng.uniform(0.08, 0.14)), float(rng.uniform(0.1, 0.95))
    for side in (-apart, apart):
        hall.add(ball((x + side, y + 0.06, z + 0.03), 0.075, person, (shade, shade, shade)))
        hall.add(bar((x + side, y + 0.05, z), (x + side, y + 0.8, z), 0.07, person, _CLOTH, line=False))
    hall.add(bar((x, y + 0.8, z), (x, y + 1.4, z), 0.17, person, _colour(rng), FABRIC, line=False))
    hall.add(ball((x, y + 1.6, z), 0.12, person, _SKIN))


def _room(hall: Hall, rng: np.random.Generator) -> None:
    below, behind = (tuple(float(value) for value in rng.uniform(low, high, 3)) for low, high in ((0.3, 0.75), (0.4, 0.85)))
    floor, wall, ceiling = (hall.thing(name) for name in ("floor", "wall", "ceiling"))
    for x in np.arange(-6.0, 34.0, 4.0):
        e, top, z0, z1 = x + 4.0, _CEILING_Y, _WALL_Z, 10.0
        hall.add(sheet([(x, 0, z0), (e, 0, z0), (e, 0, z1), (x, 0, z1)], floor, (below[0], below[1], below[2]), FLOOR, (0, 1, 0), far=True))
        hall.add(
            sheet([(x, 0, z0), (e, 0, z0), (e, top, z0), (x, top, z0)], wall, (behind[0], behind[1], behind[2]), BRICK, (0, 0, 1), far=True)
        )
        hall.add(sheet([(x, top, z0), (e, top, z0), (e, top, z1), (x, top, z1)], ceiling, (0.5, 0.5, 0.5), PLAIN, (0, -1, 0), far=True))


def stills_of(
    hall: Hall, rng: np.random.Generator, count: int, between_m: tuple[float, float], filmed: bool = False
) -> Iterator[tuple[NDArray[np.uint8], NDArray[np.uint8]]]:
    """Pictures with noise and compression, each with its object numbers: photos, or what a film of them is decoded to."""
    painter = Painter(hall.solids, LENS, 1.25 if filmed else 1.5)
    for _ in range(count):
        x = float(rng.uniform(*between_m))
        place = (x + float(rng.uniform(-1.5, 1.5)), float(rng.uniform(1.3, 1.9)), float(rng.uniform(2.6, 5)))
        pose = CameraPath([Key(0, 0, place, (x, float(rng.uniform(0.4, 1.2)), -0.4))], seed=int(rng.integers(1_000_000))).pose(1.0)
        seen = painter.picture(pose).astype(np.float64) * rng.uniform(0.75, 1.1)
        seen += rng.normal(0, rng.uniform(1, 2.5) if filmed else rng.uniform(1.5, 4), seen.shape)
        picture = np.asarray(np.clip(seen, 0, 255), np.uint8)
        yield (through_film(picture, int(rng.integers(24, 33))) if filmed else _through_jpeg(picture, rng)), painter.mask(pose)


def _through_jpeg(picture: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    held = io.BytesIO()
    Image.fromarray(picture).save(held, "JPEG", quality=int(rng.integers(72, 90)))
    return np.asarray(Image.open(held).convert("RGB"), np.uint8)
