"""A second invented hall, for checking what reads pictures: other walls, floor, colours, places and light than the demo walk's.

Out: solids and things as hall.py gives them, and the views from which it is drawn. Nothing that looks at pictures was run on it before its
pictures and masks were committed. Metres, axes as in hall.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scripts.sample_walk.hall import BLACK, BROWN, GREEN, GREY, ORANGE, PURPLE, RED, STEEL, TIMBER, WHITE, YELLOW, Hall
from scripts.sample_walk.solids import BRICK, FABRIC, FLOOR, GLOW, NET, PLAIN, WOOD, ball, bar, box, hoop, sheet, wedge

BLUE, TEAL, PINK, NAVY = (0.13, 0.33, 0.82), (0.05, 0.50, 0.48), (0.92, 0.45, 0.62), (0.06, 0.09, 0.28)
LEFT_X, RIGHT_X, WALL_Z, FRONT_Z, CEILING_Y = -4.0, 30.0, -3.6, 9.0, 6.2

Place = tuple[float, float, float]


@dataclass(frozen=True)
class View:
    """A still: its name, the station it shows, where the camera stands and looks, and the light of the hall.

    `cast`: factors on red, green and blue. `dim`: a factor on the left half of the picture, 1 for an evenly lit hall.
    """

    name: str
    station: int
    place: Place
    target: Place
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    dim: float = 1.0


VIEWS = (
    View("o1-1", 1, (2.2, 1.7, 5.2), (2.2, 0.6, -0.6)),
    View("o1-2", 1, (-0.6, 1.8, 4.3), (2.6, 0.5, -0.6), cast=(1.12, 1.0, 0.80)),
    View("o2-1", 2, (8.4, 1.7, 5.0), (8.4, 1.3, -0.5)),
    View("o2-2", 2, (10.6, 1.6, 3.9), (8.0, 1.2, -0.5), dim=0.45),
    View("o3-1", 3, (14.6, 1.7, 5.4), (14.6, 0.8, -0.6)),
    View("o3-2", 3, (12.2, 1.75, 4.4), (15.2, 0.7, -0.6), cast=(0.86, 0.98, 1.14)),
    View("o4-1", 4, (20.4, 1.7, 5.0), (20.4, 1.1, -0.6)),
    View("o4-2", 4, (22.6, 1.7, 4.2), (20.0, 1.0, -0.6), dim=0.5),
    View("o5-1", 5, (26.2, 1.7, 5.2), (26.2, 0.9, -0.5)),
    View("o5-2", 5, (24.0, 1.8, 4.2), (26.8, 0.8, -0.5), cast=(1.10, 1.0, 0.84), dim=0.7),
)

NAMED: dict[int, tuple[tuple[str, str | None], ...]] = {
    1: (
        ("small white box", None),
        ("orange blocks", None),
        ("big red cube", None),
        ("small red cube", None),
        ("teal mat", None),
        ("grey pipe", None),
    ),
    2: (
        ("purple platform", None),
        ("green bars", None),
        ("black frame", None),
        ("yellow hoops", None),
        ("pink mat", None),
    ),
    3: (
        ("brown bench", None),
        ("blue ramp", None),
        ("yellow wedge", None),
        ("red rope", None),
        ("white platform", None),
    ),
    4: (
        ("yellow box on the left", None),
        ("yellow box on the right", None),
        ("orange wall", None),
        ("black ledges", None),
        ("green mat", None),
    ),
    5: (
        ("navy platform", None),
        ("white bars", None),
        ("red barrels", None),
        ("wooden plank", None),
        ("blue mat", None),
    ),
}
"""What would be said of each station, in the words of a walk."""


def build_other_hall() -> Hall:
    """The whole hall."""
    hall = Hall()
    hall.thing("floor")
    _cubes(hall)
    _bars(hall)
    _ramps(hall)
    _wall(hall)
    _barrels(hall)
    _clutter(hall)
    _room(hall)
    return hall


def _cubes(hall: Hall) -> None:
    hall.block("small white box", 0.1, 0.2, (0.5, 0.45, 0.5), WHITE, WOOD)
    block = hall.thing("orange blocks")
    for x, z, height in ((1.1, 0.0, 0.25), (1.9, -0.35, 0.35), (2.7, 0.1, 0.25)):
        hall.add(box((x, height / 2, z), (0.5, height, 0.5), block, ORANGE, FABRIC))
    hall.block("big red cube", 3.7, -0.5, (0.9, 0.9, 0.9), RED)
    hall.block("small red cube", 4.5, 0.6, (0.35, 0.35, 0.35), RED)
    hall.block("teal mat", 5.4, 0.1, (1.1, 0.08, 1.2), TEAL)
    hall.add(bar((0.9, 0.5, -0.9), (3.1, 0.5, -0.9), 0.045, hall.thing("grey pipe"), GREY))
    for x in (1.0, 3.0):
        hall.add(box((x, 0.23, -0.9), (0.12, 0.46, 0.3), hall.thing("pipe stand"), STEEL))


def _bars(hall: Hall) -> None:
    hall.block("purple platform", 6.7, 0.0, (0.9, 0.6, 0.9), PURPLE, WOOD)
    frame = hall.thing("black frame")
    for x in (7.4, 9.6):
        hall.add(box((x, 1.4, -0.4), (0.12, 2.8, 0.12), frame, BLACK))
    hall.add(box((8.5, 2.86, -0.4), (2.32, 0.12, 0.12), frame, BLACK))
    green = hall.thing("green bars")
    for x in (7.8, 8.4):
        hall.add(bar((x - 0.2, 2.2, -0.4), (x + 0.2, 2.2, -0.4), 0.035, green, GREEN))
        for side in (-0.17, 0.17):
            hall.add(bar((x + side, 2.23, -0.4), (x + side, 2.8, -0.4), 0.012, hall.thing("cord"), WHITE, sides=6))
    for x in (8.9, 9.3):
        hall.add(hoop((x, 2.0, -0.4), 0.2, 0.03, hall.thing("yellow hoops"), YELLOW))
        hall.add(bar((x, 2.22, -0.4), (x, 2.8, -0.4), 0.012, hall.thing("cord"), WHITE, sides=6))
    hall.block("pink mat", 10.3, 0.1, (1.2, 0.12, 1.1), PINK)


def _ramps(hall: Hall) -> None:
    hall.add(box((12.4, 0.42, 0.2), (1.3, 0.08, 0.4), hall.thing("brown bench"), BROWN, WOOD))
    for leg in (-0.5, 0.5):
        hall.add(box((12.4 + leg, 0.19, 0.2), (0.08, 0.38, 0.36), hall.thing("brown bench"), BROWN, WOOD))
    hall.add(wedge(13.4, 15.0, 0.9, -0.6, 0.3, hall.thing("blue ramp"), BLUE, WOOD))
    hall.add(wedge(15.2, 16.1, 0.45, -0.3, 0.6, hall.thing("yellow wedge"), YELLOW, FABRIC))
    hall.add(bar((15.6, 3.1, -0.5), (15.4, 0.9, -0.1), 0.035, hall.thing("red rope"), RED, sides=8))
    hall.add(box((15.6, 3.2, -0.9), (0.14, 0.14, 1.0), hall.thing("rope beam"), STEEL))
    hall.block("white platform", 17.0, 0.0, (0.9, 0.4, 1.0), WHITE, WOOD)


def _wall(hall: Hall) -> None:
    hall.block("yellow box on the left", 18.5, 0.5, (0.5, 0.5, 0.5), YELLOW)
    hall.add(box((20.3, 1.1, -0.5), (2.5, 2.2, 0.15), hall.thing("orange wall"), ORANGE, WOOD))
    ledge = hall.thing("black ledges")
    for x, y in ((19.4, 1.2), (20.0, 1.55), (20.6, 1.3), (21.2, 1.6)):
        hall.add(box((x, y, -0.36), (0.42, 0.08, 0.12), ledge, BLACK))
    hall.block("yellow box on the right", 22.2, 0.4, (0.5, 0.5, 0.5), YELLOW)
    hall.block("green mat", 20.3, 0.6, (2.2, 0.07, 1.1), GREEN)


def _barrels(hall: Hall) -> None:
    hall.block("navy platform", 24.3, 0.0, (0.9, 0.5, 0.9), NAVY, WOOD)
    barrel = hall.thing("red barrels")
    for x, z in ((25.4, -0.2), (26.4, 0.2)):
        hall.add(bar((x, 0, z), (x, 0.8, z), 0.28, barrel, RED, PLAIN, 20, line=False))
    hall.add(box((27.6, 0.34, 0.1), (1.4, 0.07, 0.3), hall.thing("wooden plank"), TIMBER, WOOD))
    for x in (27.1, 28.1):
        hall.add(box((x, 0.15, 0.1), (0.15, 0.3, 0.4), hall.thing("plank stand"), STEEL))
    white = hall.thing("white bars")
    for y in (0.95, 1.55):
        hall.add(bar((25.2, y, -0.9), (27.8, y, -0.9), 0.035, white, WHITE))
    for x in (25.3, 27.7):
        hall.add(box((x, 0.9, -0.9), (0.1, 1.8, 0.1), hall.thing("bar stand"), STEEL))
    hall.block("blue mat", 29.0, 0.2, (1.1, 0.08, 1.2), BLUE)


def _clutter(hall: Hall) -> None:
    for x, shirt in ((5.9, (0.55, 0.12, 0.12)), (11.4, (0.15, 0.3, 0.6)), (23.3, (0.3, 0.5, 0.2))):
        person = hall.thing("bystander")
        for side in (-0.09, 0.09):
            hall.add(bar((x + side, 0, -2.9), (x + side, 0.8, -2.9), 0.075, person, (0.12, 0.13, 0.2), line=False))
        hall.add(bar((x, 0.8, -2.9), (x, 1.4, -2.9), 0.17, person, shirt, FABRIC, line=False))
        hall.add(ball((x, 1.6, -2.9), 0.12, person, (0.72, 0.52, 0.42)))
    for x, z, colour in ((3.0, -2.8, BLUE), (9.3, -2.9, ORANGE), (18.0, -2.7, GREEN), (28.4, -2.8, RED)):
        hall.add(box((x, 0.16, z), (0.5, 0.32, 0.3), hall.thing("bag"), colour, FABRIC))
    for x in (1.2, 16.2, 22.9):
        hall.add(bar((x, 0, -2.4), (x, 0.4, -2.4), 0.14, hall.thing("yellow cone"), YELLOW, line=False, end_radius=0.02))
    for level in range(5):
        colour = (0.55, 0.15, 0.15) if level % 2 else (0.15, 0.2, 0.5)
        hall.add(box((7.0, 0.1 + 0.2 * level, -2.8), (1.4, 0.19, 0.9), hall.thing("stack of mats"), colour, FABRIC))
    corners = [(12.8, 0.4, -3.0), (14.6, 0.4, -3.0), (14.6, 2.4, -3.0), (12.8, 2.4, -3.0)]
    hall.add(sheet(corners, hall.thing("football net"), (0.85, 0.85, 0.85), NET, (0, 0, 1)))


def _room(hall: Hall) -> None:
    floor, wall = hall.thing("floor"), hall.thing("wall")
    z0, z1, top = WALL_Z, FRONT_Z, CEILING_Y
    for x in np.arange(LEFT_X, RIGHT_X, 4.0):
        e = min(x + 4.0, RIGHT_X)
        hall.add(sheet([(x, 0, z0), (e, 0, z0), (e, 0, z1), (x, 0, z1)], floor, (0.40, 0.44, 0.42), FLOOR, (0, 1, 0), far=True))
        hall.add(sheet([(x, 0, z0), (e, 0, z0), (e, top, z0), (x, top, z0)], wall, (0.62, 0.72, 0.74), BRICK, (0, 0, 1), far=True))
        ceiling = [(x, top, z0), (e, top, z0), (e, top, z1), (x, top, z1)]
        hall.add(sheet(ceiling, hall.thing("ceiling"), (0.42, 0.40, 0.38), PLAIN, (0, -1, 0), far=True))
        glass = [(x + 0.6, 3.4, z0 + 0.02), (x + 2.2, 3.4, z0 + 0.02), (x + 2.2, 4.9, z0 + 0.02), (x + 0.6, 4.9, z0 + 0.02)]
        hall.add(sheet(glass, hall.thing("window"), (0.78, 0.86, 0.95), GLOW, (0, 0, 1)))
    for x, out in ((LEFT_X, 1.0), (RIGHT_X, -1.0)):
        hall.add(sheet([(x, 0, z0), (x, 0, z1), (x, top, z1), (x, top, z0)], wall, (0.58, 0.66, 0.68), BRICK, (out, 0, 0), far=True))
    for z in (1.9, 3.6):
        line = [(LEFT_X, 0.004, z), (RIGHT_X, 0.004, z), (RIGHT_X, 0.004, z + 0.06), (LEFT_X, 0.004, z + 0.06)]
        hall.add(sheet(line, floor, (0.85, 0.75, 0.15), PLAIN, (0, 1, 0), far=True))
