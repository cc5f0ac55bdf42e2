"""An independent judge of rulings at points and along segments: even-odd crossings in exact integer and rational arithmetic.

Knows nothing of shapely. Scenes are random: outlines in and out of play, parts that are ruled otherwise than their whole, holes, shared
edges, corners on corners. The rules it judges by are the definition: what covers a place, less wholes whose part says otherwise there;
in play where something in play stands and nothing out of play.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from annotator.errors import InvalidMark
from annotator.marks import Zones, zones
from tests.marks.makers import HEIGHT, WIDTH, course, mark, station, surface

Points = list[tuple[int, int]]
Place = tuple[Fraction, Fraction]
GRID = 8
"""Places lie on a grid of eighths of a pixel, so that they are exact as floats too."""


@dataclass(frozen=True)
class Shape:
    """An outline with its holes, what it is of, and how that is ruled."""

    name: str
    ruling: str
    part: str | None
    rings: tuple[Points, ...]


@dataclass(frozen=True)
class Tally:
    """How many were asked, how many of them touched an outline, and a line for each answer that differs."""

    asked: int
    touching: int
    wrong: tuple[str, ...]


def crossings_say_inside(point: Place, ring: Points) -> bool | None:
    """Even-odd count of crossings; None on the ring itself. All in whole numbers: the point's denominator is multiplied into the ring."""
    scale = math.lcm(point[0].denominator, point[1].denominator)
    px, py = (value.numerator * (scale // value.denominator) for value in point)
    inside = False
    ax, ay = ring[-1][0] * scale, ring[-1][1] * scale
    for x, y in ring:
        bx, by = x * scale, y * scale
        if min(ay, by) <= py <= max(ay, by):
            turn = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
            if turn == 0 and min(ax, bx) <= px <= max(ax, bx):
                return None
            if (ay > py) != (by > py) and (turn > 0) == (by > ay):
                inside = not inside
        ax, ay = bx, by
    return inside


def judge(at: Place, shapes: list[Shape]) -> bool | None:
    """In play by the definition; None where the place is on any outline."""
    covering = []
    for shape in shapes:
        inside, *in_holes = (crossings_say_inside(at, ring) for ring in shape.rings)
        if inside is None or None in in_holes:
            return None
        if inside and not any(in_holes):
            covering.append(shape)
    standing = [
        one.ruling
        for one in covering
        if one.part is not None or not any(o.name == one.name and o.part is not None and o.ruling != one.ruling for o in covering)
    ]
    return "in" in standing and "out" not in standing


def judge_segment(here: Place, there: Place, shapes: list[Shape]) -> tuple[set[bool], bool]:
    """The rulings of the stretches between the outlines that a segment meets, and whether it meets any."""
    meets = {Fraction(0), Fraction(1)}
    touching = False
    for shape in shapes:
        for ring in shape.rings:
            for one, other in zip(ring, ring[1:] + ring[:1], strict=True):
                found = list(_meetings(here, there, one, other))
                touching = touching or bool(found)
                meets.update(found)
    stops = sorted(meets)
    rulings = set()
    for first, second in pairwise(stops):
        half = (first + second) / 2
        inside = judge((here[0] + half * (there[0] - here[0]), here[1] + half * (there[1] - here[1])), shapes)
        if inside is not None:  # a stretch that runs along an outline
            rulings.add(inside)
    return rulings, touching


def _meetings(here: Place, there: Place, one: tuple[int, int], other: tuple[int, int]) -> Iterator[Fraction]:
    """Where along the segment (0 to 1) it meets an edge; both ends of the overlap where it runs along it."""
    (hx, hy), (tx, ty) = ((int(x * GRID), int(y * GRID)) for x, y in (here, there))
    dx, dy = tx - hx, ty - hy
    ex, ey = (other[0] - one[0]) * GRID, (other[1] - one[1]) * GRID
    wx, wy = one[0] * GRID - hx, one[1] * GRID - hy
    across = dx * ey - dy * ex
    if across != 0:
        along, beside = wx * ey - wy * ex, wx * dy - wy * dx
        if across < 0:
            across, along, beside = -across, -along, -beside
        if 0 <= along <= across and 0 <= beside <= across:
            yield Fraction(along, across)
    elif wx * dy - wy * dx == 0:
        length = dx * dx + dy * dy
        ends = sorted(Fraction((x * GRID - hx) * dx + (y * GRID - hy) * dy, length) for x, y in (one, other))
        if ends[1] >= 0 and ends[0] <= 1:
            yield max(ends[0], Fraction(0))
            yield min(ends[1], Fraction(1))


def scene(dice: random.Random) -> tuple[list[Shape], Zones] | None:
    """A random scene and its zones; None where a hole took all of an outline."""
    shapes: list[Shape] = []
    for name, ruling, part in (
        ("wall", "in", None),
        ("wall", "out", "top"),
        ("beam", "out", None),
        ("beam", "in", "tops"),
        ("net", "in", None),
    ):
        for _ in range(dice.randint(0, 2)):
            ring = _star(dice)
            if shapes and dice.random() < 0.4:  # share an edge with the one before: touching zones
                ring = [shapes[-1].rings[0][0], shapes[-1].rings[0][1], (ring[0][0], ring[0][1])]
            if len({*ring}) == 3 and _twice_area(ring) == 0:
                continue
            holes = [[(x + 2, y + 2) for x, y in _star(dice)]] if dice.random() < 0.4 else []
            shapes.append(Shape(name, ruling, part, (ring, *holes)))
    surfaces = [surface(f"u{i}", shape.name, shape.ruling, part=shape.part) for i, shape in enumerate(shapes)]
    marks = [mark(f"m{i}", f"u{i}", *shape.rings) for i, shape in enumerate(shapes)]
    try:
        return shapes, zones(course(), station(surfaces, marks), "s1")
    except InvalidMark:
        return None


def place(dice: random.Random, shapes: list[Shape]) -> Place:
    """A place on the grid within the still; every other one near a corner, where it is hard."""
    corners = [corner for shape in shapes for ring in shape.rings for corner in ring]
    x, y = dice.randint(0, WIDTH * GRID), dice.randint(0, HEIGHT * GRID)
    if corners and dice.random() < 0.5:
        corner = dice.choice(corners)
        x, y = (value * GRID + dice.randint(-12, 12) for value in corner)
    return Fraction(min(max(x, 0), WIDTH * GRID), GRID), Fraction(min(max(y, 0), HEIGHT * GRID), GRID)


def points_against_the_judge(seed: int, scenes: int, each: int) -> Tally:
    """Rulings at random points without tolerance against the judge."""
    dice = random.Random(seed)
    asked = touching = 0
    wrong: list[str] = []
    for _ in range(scenes):
        made = scene(dice)
        if made is None:
            continue
        shapes, found = made
        for _ in range(each):
            at = place(dice, shapes)
            asked += 1
            expected = judge(at, shapes)
            got = found.ruling_at((float(at[0]), float(at[1])), tolerance_px=0.0)
            if expected is None or got.ruling == "too close to call":
                touching += 1
                # On an outline that is not the zone's edge either answer stands; off every outline nothing is too close.
                if got.ruling == "too close to call" and expected is not None and (got.distance_px or 0) > 0:
                    wrong.append(f"{at} {got} {shapes}")
            elif (got.ruling == "in play") != expected:
                wrong.append(f"{at} {got} {shapes}")
    return Tally(asked, touching, tuple(wrong))


def segments_against_the_judge(seed: int, scenes: int, each: int) -> Tally:
    """Rulings along random segments without tolerance against the judge."""
    dice = random.Random(seed)
    asked = touching = 0
    wrong: list[str] = []
    for _ in range(scenes):
        made = scene(dice)
        if made is None:
            continue
        shapes, found = made
        for _ in range(each):
            here = place(dice, shapes)
            there = place(dice, shapes)
            if dice.random() < 0.5:  # as long as a foot, not across the picture
                steps = [int((end - start) * GRID) // 8 for start, end in zip(here, there, strict=True)]
                there = (here[0] + Fraction(steps[0], GRID), here[1] + Fraction(steps[1], GRID))
            if (here[0], here[1]) == (there[0], there[1]):
                continue
            asked += 1
            rulings, touches = judge_segment(here, there, shapes)
            got = found.ruling_along([(float(x), float(y)) for x, y in (here, there)], region=False, tolerance_px=0.0).ruling
            touching += touches
            if len(rulings) == 2:
                allowed = {"too close to call"}
            else:
                allowed = {"in play" if True in rulings else "out of play"} if rulings else {"in play", "out of play"}
                # It only touches outlines: they are the zone's edge (too close) or run within one ruling (no matter).
                allowed |= {"too close to call"} if touches else set()
            if got not in allowed:
                wrong.append(f"{here} {there} {got} {shapes}")
    return Tally(asked, touching, tuple(wrong))


def _star(dice: random.Random) -> Points:
    """A simple ring: corners around a centre in order of their direction, whole pixels, now and then with an edge along the grid."""
    while True:
        cx, cy, reach = dice.randint(60, WIDTH - 60), dice.randint(60, HEIGHT - 60), dice.randint(12, 55)
        if dice.random() < 0.3:
            width, height = dice.randint(5, reach), dice.randint(5, reach)
            return [(cx - width, cy - height), (cx + width, cy - height), (cx + width, cy + height), (cx - width, cy + height)]
        corners = {(dice.randint(-reach, reach), dice.randint(-reach, reach)) for _ in range(dice.randint(3, 9))} - {(0, 0)}
        ring = [(cx + x, cy + y) for x, y in sorted(corners, key=_direction)]
        if len({_direction(corner) for corner in corners}) == len(corners) >= 3:
            return ring


def _direction(corner: tuple[int, int]) -> tuple[int, Fraction]:
    """An exact key that rises once around the centre."""
    x, y = corner
    quarter = (0 if x > 0 and y >= 0 else 1 if x <= 0 < y else 2 if x < 0 else 3) if (x, y) != (0, 0) else 0
    along, across = ((x, y), (y, -x), (-x, -y), (-y, x))[quarter]
    return quarter, Fraction(across, along)


def _twice_area(ring: Points) -> int:
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True))
