"""The invented hall of the demo walk: eight stations in a row, post pads, clutter and the room round them.

Out: solids and the table of things (object numbers 1 to 255, each a name and a part). Names are those of the walk file; what the walk does
not name has a plain name of its own. Metres; x along the hall, y up, z towards the camera, the stations stand about z = 0.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from scripts.sample_walk.solids import (
    BRICK,
    FABRIC,
    FLOOR,
    GLOW,
    NET,
    PLAIN,
    WOOD,
    Colour,
    Solid,
    Vectors,
    ball,
    bar,
    box,
    face,
    far,
    hoop,
    sheet,
    wedge,
)

RED, GREEN, BLUE, YELLOW = (0.80, 0.10, 0.10), (0.10, 0.52, 0.18), (0.10, 0.25, 0.72), (0.93, 0.78, 0.08)
ORANGE, PURPLE, BROWN, GREY = (0.95, 0.45, 0.05), (0.45, 0.16, 0.62), (0.40, 0.23, 0.11), (0.50, 0.51, 0.53)
WHITE, BLACK, TIMBER, STEEL = (0.93, 0.93, 0.91), (0.06, 0.06, 0.07), (0.72, 0.52, 0.30), (0.33, 0.35, 0.38)

WALL_Z, CEILING_Y = -2.8, 5.6
LEFT_X, RIGHT_X, FRONT_Z = -5.0, 51.0, 10.0
PAD_HEIGHT = 0.85


@dataclass(frozen=True)
class Thing:
    """What an object number stands for."""

    number: int
    name: str
    part: str | None


@dataclass
class Hall:
    """The solids of the hall, and its things by number while it is being built."""

    things: list[Thing] = field(default_factory=list)
    solids: list[Solid] = field(default_factory=list)

    def thing(self, name: str, part: str | None = None) -> int:
        """The number of a thing, a new one when it is not known yet."""
        for known in self.things:
            if (known.name, known.part) == (name, part):
                return known.number
        self.things.append(Thing(len(self.things) + 1, name, part))
        return len(self.things)

    def add(self, *solids: Solid) -> None:
        """Stand solids in the hall."""
        self.solids.extend(solids)

    def middle_of(self, name: str, near_x: float) -> Vectors:
        """The middle of all of one name that stand within 4 m of `near_x`."""
        numbers = {t.number for t in self.things if t.name == name}
        points = [f.corners for s in self.solids for f in s.faces if f.thing in numbers and abs(float(f.corners[:, 0].mean()) - near_x) < 4]
        if not points:
            raise KeyError(f"nothing named {name!r} stands near x = {near_x}")
        every = np.concatenate(points)
        middle: Vectors = (every.min(axis=0) + every.max(axis=0)) / 2
        return middle

    def post_with_pad(self, x: float, z: float) -> None:
        """A steel post up to the ceiling with a soft pad round its foot."""
        side, top = self.thing("post pads"), self.thing("post pads", "top")
        self.add(box((x, PAD_HEIGHT / 2, z), (0.5, PAD_HEIGHT, 0.5), side, (0.42, 0.44, 0.47), FABRIC, top))
        self.add(bar((x, PAD_HEIGHT, z), (x, CEILING_Y, z), 0.055, self.thing("post"), STEEL, line=False))

    def block(self, name: str, x: float, z: float, size: tuple[float, float, float], colour: Colour, texture: int = FABRIC) -> None:
        """A box that stands on the floor."""
        self.add(box((x, size[1] / 2, z), size, self.thing(name), colour, texture))


def build_hall() -> Hall:
    """The whole hall, without the demonstrator."""
    hall = Hall()
    hall.thing("floor")
    _boxes(hall)
    _rungs(hall)
    _beam(hall)
    _rings(hall)
    _net(hall)
    _boards(hall)
    _ledges(hall)
    _ramp(hall)
    for x, z in ((2.35, -1.0), (9.6, -1.7), (15.2, -1.6), (22.9, -1.5), (27.1, -1.2), (35.25, 0.9), (37.2, -1.3), (43.3, -1.6)):
        hall.post_with_pad(x, z)
    _clutter(hall)
    _room(hall)
    return hall


def _boxes(hall: Hall) -> None:
    hall.block("red mat", 0.35, 0.1, (1.15, 0.07, 1.15), RED)
    sides, tops = hall.thing("blue boxes", "sides"), hall.thing("blue boxes", "tops")
    for x, z in ((1.75, 0.25), (2.95, -0.1), (4.15, 0.25)):
        hall.add(box((x, 0.18, z), (0.62, 0.36, 0.62), sides, BLUE, WOOD, tops))
    hall.add(bar((4.35, 0, -1.75), (4.35, 0.95, -1.75), 0.31, hall.thing("blue barrel"), (0.12, 0.30, 0.78), PLAIN, 20, line=False))
    hall.block("green platform", 6.0, 0.0, (1.1, 0.5, 1.15), GREEN, WOOD)


def _rungs(hall: Hall) -> None:
    frame = hall.thing("yellow frame")
    for x in (7.4, 10.5):
        hall.add(box((x, 1.35, 0), (0.11, 2.7, 0.11), frame, YELLOW), box((x, 0.05, 0), (0.3, 0.1, 1.3), frame, YELLOW))
    hall.add(box((8.95, 2.755, 0), (3.4, 0.11, 0.11), frame, YELLOW))
    rung, strap = hall.thing("yellow rungs"), hall.thing("black straps")
    for x in rung_places():
        hall.add(bar((x - 0.22, RUNG_Y, 0), (x + 0.22, RUNG_Y, 0), 0.026, rung, (0.98, 0.83, 0.10)))
        for side in (-0.19, 0.19):
            hall.add(bar((x + side, RUNG_Y + 0.03, 0), (x + side, 2.7, 0), 0.013, strap, BLACK, sides=6))
    hall.block("white mat", 11.45, 0.1, (1.2, 0.1, 1.3), WHITE)


RUNG_Y = 2.24


def rung_places() -> tuple[float, ...]:
    """Where the five rungs hang along the hall."""
    return (7.85, 8.4, 8.95, 9.5, 10.05)


def _beam(hall: Hall) -> None:
    hall.block("orange box", 12.7, 0.0, (0.75, 0.5, 0.75), ORANGE)
    hall.add(box((15.2, 0.48, 0), (4.0, 0.15, 0.16), hall.thing("wooden beam"), TIMBER, WOOD))
    for x in (13.7, 16.7):
        hall.add(box((x, 0.2, 0), (0.18, 0.4, 0.5), hall.thing("beam stand"), STEEL))
    rail = hall.thing("white rail")
    hall.add(bar((13.3, 1.15, -0.5), (17.1, 1.15, -0.5), 0.032, rail, WHITE))
    for x in (13.4, 15.2, 17.0):
        hall.add(bar((x, 0, -0.5), (x, 1.11, -0.5), 0.024, rail, WHITE))
    hall.block("purple platform", 18.0, 0.0, (1.1, 0.5, 1.15), PURPLE, WOOD)


RING_Y = 2.32


def ring_places() -> tuple[float, ...]:
    """Where the three rings hang along the hall."""
    return (19.9, 20.9, 21.9)


def _rings(hall: Hall) -> None:
    for x in (19.2, 22.6):
        hall.add(box((x, 1.55, 0), (0.1, 3.1, 0.1), hall.thing("ring stand"), STEEL))
    hall.add(box((20.9, 3.155, 0), (3.6, 0.11, 0.11), hall.thing("ring stand"), STEEL))
    ring, rope = hall.thing("red rings"), hall.thing("white ropes")
    for x in ring_places():
        hall.add(hoop((x, RING_Y, 0), 0.17, 0.024, ring, RED))
        hall.add(bar((x, RING_Y + 0.2, 0), (x, 3.1, 0), 0.018, rope, WHITE, sides=8))
    hall.block("blue mat", 20.9, 0.2, (3.1, 0.06, 1.5), (0.16, 0.33, 0.66))


def _net(hall: Hall) -> None:
    hall.block("black box", 27.55, 0.5, (0.65, 0.5, 0.65), BLACK)
    frame = hall.thing("wooden frame")
    x0, x1, y0, y1 = 28.1, 30.3, 0.35, 2.55
    for x in (x0, x1):
        hall.add(box((x, (y1 + 0.05) / 2, 0), (0.12, y1 + 0.05, 0.12), frame, TIMBER, WOOD))
    for y in (y0, y1):
        hall.add(box(((x0 + x1) / 2, y, 0), (x1 - x0 - 0.12, 0.1, 0.12), frame, TIMBER, WOOD))
    a, b, c, d = x0 + 0.06, x1 - 0.06, y0 + 0.05, y1 - 0.05
    hall.add(sheet([(a, c, 0), (b, c, 0), (b, d, 0), (a, d, 0)], hall.thing("net"), (0.12, 0.12, 0.13), NET, (0, 0, 1)))
    hall.block("yellow platform", 31.4, 0.1, (1.05, 0.45, 1.1), YELLOW, WOOD)


def _boards(hall: Hall) -> None:
    board = hall.thing("green boards")
    for x, z in ((32.6, 0.45), (33.25, -0.6), (34.2, 0.45), (34.85, -0.6)):
        hall.add(box((x, 0.26, z), (0.72, 0.06, 0.8), board, (0.10, 0.55, 0.20), WOOD, tilt_deg=30))
        hall.add(box((x, 0.16, z - 0.3), (0.4, 0.32, 0.08), hall.thing("board stand"), STEEL))
    hall.block("orange block", 33.4, 0.45, (0.36, 0.36, 0.36), ORANGE)
    hall.block("brown mat", 36.0, 0.1, (1.2, 0.12, 1.3), BROWN)


def _ledges(hall: Hall) -> None:
    hall.block("red box", 38.4, 0.6, (0.55, 0.4, 0.55), RED)
    wall = hall.thing("blue wall")
    hall.add(box((39.9, 1.2, -0.3), (2.7, 2.4, 0.14), wall, BLUE, WOOD))
    hall.add(box((39.9, 2.49, -0.3), (2.7, 0.18, 0.2), hall.thing("blue wall", "top"), (0.55, 0.70, 0.90)))
    for x, y in ((38.85, 1.45), (39.4, 1.7), (39.95, 1.5), (40.5, 1.75), (41.0, 1.55)):
        hall.add(box((x, y, -0.18), (0.4, 0.075, 0.1), hall.thing("red ledges"), RED))
    hall.block("grey platform", 41.95, 0.1, (1.05, 0.45, 1.1), GREY, WOOD)


def _ramp(hall: Hall) -> None:
    hall.add(wedge(42.75, 45.0, 1.5, -0.55, 0.5, hall.thing("blue ramp"), BLUE, WOOD))
    hall.add(box((45.65, 1.46, 0), (1.2, 0.16, 1.2), hall.thing("orange deck"), ORANGE, WOOD))
    for x in (45.15, 46.15):
        for z in (-0.5, 0.5):
            hall.add(box((x, 0.69, z), (0.1, 1.38, 0.1), hall.thing("deck legs"), STEEL))
    hall.add(box((45.25, 2.3, -0.5), (0.1, 1.52, 0.1), hall.thing("rope post"), STEEL))
    hall.add(bar((45.25, 2.95, -0.42), (43.35, 1.0, 0.1), 0.03, hall.thing("white rope"), WHITE, sides=8))
    hall.add(bar((46.0, 1.54, 0.35), (46.0, 2.0, 0.35), 0.035, hall.thing("button stand"), STEEL, line=False))
    hall.add(ball((46.0, 2.13, 0.35), 0.15, hall.thing("red button"), RED))


def _clutter(hall: Hall) -> None:
    """What stands about in every hall: benches, bags, cones, a ladder, stacks of mats, two people at the wall."""
    for x in (-2.4, 12.0, 26.2, 40.0):
        bench = hall.thing("bench")
        hall.add(box((x, 0.42, -2.35), (2.0, 0.06, 0.34), bench, TIMBER, WOOD))
        for leg in (-0.8, 0.8):
            hall.add(box((x + leg, 0.195, -2.35), (0.06, 0.39, 0.3), bench, STEEL))
    for x, z, colour in ((5.6, -2.2, RED), (12.5, -2.3, (0.1, 0.45, 0.45)), (19.4, -2.3, (0.2, 0.2, 0.45)), (30.9, -2.2, BROWN)):
        hall.add(box((x, 0.17, z), (0.55, 0.34, 0.3), hall.thing("bag"), colour, FABRIC))
    for x, z in ((7.0, -2.0), (16.9, -2.2), (24.1, -0.4), (32.2, -2.2), (36.9, -1.9)):
        hall.add(bar((x, 0, z), (x, 0.42, z), 0.15, hall.thing("orange cone"), ORANGE, line=False, end_radius=0.02))
    for level in range(4):
        hall.add(
            box(
                (17.9, 0.12 + 0.24 * level, -2.1),
                (1.5, 0.22, 1.0),
                hall.thing("stack of mats"),
                (0.15, 0.35 + 0.1 * (level % 2), 0.6),
                FABRIC,
            )
        )
        hall.add(
            box(
                (36.0, 0.12 + 0.24 * level, -2.2),
                (1.3, 0.22, 0.9),
                hall.thing("stack of mats"),
                (0.5, 0.2 + 0.1 * (level % 2), 0.2),
                FABRIC,
            )
        )
    for side in (-0.2, 0.2):
        hall.add(bar((10.9 + side, 0, -2.2), (10.9 + side, 3.2, -2.7), 0.03, hall.thing("ladder"), STEEL, line=False))
    for y in np.arange(0.3, 3.1, 0.33):
        hall.add(
            bar((10.7, y, -2.2 - 0.5 * y / 3.2), (11.1, y, -2.2 - 0.5 * y / 3.2), 0.018, hall.thing("ladder"), STEEL, sides=6, line=False)
        )
    for x, shirt in ((-0.9, (0.75, 0.35, 0.15)), (3.4, (0.2, 0.5, 0.3)), (30.0, (0.6, 0.15, 0.4)), (44.4, (0.15, 0.4, 0.6))):
        person = hall.thing("bystander")
        hall.add(bar((x - 0.09, 0, -2.4), (x - 0.08, 0.8, -2.4), 0.075, person, (0.12, 0.13, 0.2), line=False))
        hall.add(bar((x + 0.09, 0, -2.4), (x + 0.08, 0.8, -2.4), 0.075, person, (0.12, 0.13, 0.2), line=False))
        hall.add(bar((x, 0.8, -2.4), (x, 1.4, -2.4), 0.17, person, shirt, FABRIC, line=False))
        hall.add(ball((x, 1.6, -2.4), 0.12, person, (0.72, 0.52, 0.42)))
    hall.add(box((25.0, 1.7, -1.7), (0.12, 3.4, 2.0), hall.thing("curtain"), (0.12, 0.14, 0.24), FABRIC))


def _room(hall: Hall) -> None:
    floor, wall = hall.thing("floor"), hall.thing("wall")
    x0, x1, z0, z1, top = LEFT_X, RIGHT_X, WALL_Z, FRONT_Z, CEILING_Y
    for x in np.arange(x0, x1, 4.0):  # in pieces, so that far ones can be left out
        e = min(x + 4.0, x1)
        hall.add(sheet([(x, 0, z0), (e, 0, z0), (e, 0, z1), (x, 0, z1)], floor, (0.72, 0.56, 0.38), FLOOR, (0, 1, 0), far=True))
        hall.add(sheet([(x, 0, z0), (e, 0, z0), (e, top, z0), (x, top, z0)], wall, (0.80, 0.77, 0.70), BRICK, (0, 0, 1), far=True))
        hall.add(
            sheet(
                [(x, top, z0), (e, top, z0), (e, top, z1), (x, top, z1)],
                hall.thing("ceiling"),
                (0.55, 0.57, 0.6),
                PLAIN,
                (0, -1, 0),
                far=True,
            )
        )
        window = hall.thing("window")
        hall.add(
            sheet(
                [(x + 1, 3.6, z0 + 0.02), (x + 3, 3.6, z0 + 0.02), (x + 3, 4.8, z0 + 0.02), (x + 1, 4.8, z0 + 0.02)],
                window,
                (0.80, 0.90, 1.0),
                GLOW,
                (0, 0, 1),
            )
        )
        lamp = hall.thing("lamp")
        hall.add(
            sheet(
                [(x + 1, top - 0.03, 2.0), (x + 2.6, top - 0.03, 2.0), (x + 2.6, top - 0.03, 2.5), (x + 1, top - 0.03, 2.5)],
                lamp,
                (1, 1, 0.95),
                GLOW,
                (0, -1, 0),
            )
        )
    for x, out in ((x0, 1.0), (x1, -1.0)):
        hall.add(sheet([(x, 0, z0), (x, 0, z1), (x, top, z1), (x, top, z0)], wall, (0.74, 0.74, 0.70), BRICK, (out, 0, 0), far=True))
    for z in (1.5, 4.2):
        hall.add(
            sheet([(x0, 0.004, z), (x1, 0.004, z), (x1, 0.004, z + 0.06), (x0, 0.004, z + 0.06)], floor, WHITE, PLAIN, (0, 1, 0), far=True)
        )
    for x in (3.2, 12.2, 21.2, 30.2, 38.6, 43.0):
        line = [(x, 0.004, 1.56), (x + 0.06, 0.004, 1.56), (x + 0.06, 0.004, 4.2), (x, 0.004, 4.2)]
        hall.add(sheet(line, floor, (0.75, 0.15, 0.12), PLAIN, (0, 1, 0), far=True))
    stripe = hall.thing("wall")
    hall.add(
        far(
            Solid(
                (face([(x0, 0, z0 + 0.01), (x1, 0, z0 + 0.01), (x1, 0.9, z0 + 0.01), (x0, 0.9, z0 + 0.01)], stripe, (0, 0, 1)),),
                (0.35, 0.48, 0.45),
                PLAIN,
            )
        )
    )
