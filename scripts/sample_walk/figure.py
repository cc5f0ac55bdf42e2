"""The demonstrators: two simple jointed figures, and how they move through a demonstration.

In: an act and the share of it that has passed. Out: solids. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scripts.sample_walk.hall import RING_Y, RUNG_Y, ring_places, rung_places
from scripts.sample_walk.solids import FABRIC, Colour, Solid, Vectors, ball, bar

SKIN, LEGS = (0.74, 0.54, 0.43), (0.13, 0.14, 0.22)
REACH = 0.56


@dataclass(frozen=True)
class Body:
    """Where the parts of a figure are: hip, hands and feet (left, right)."""

    hip: Vectors
    hands: tuple[Vectors, Vectors]
    feet: tuple[Vectors, Vectors]


def _at(*values: float) -> Vectors:
    return np.array(values, float)


def standing(x: float, floor_y: float, z: float) -> Body:
    """A figure that stands and waits."""
    return Body(
        _at(x, floor_y + 0.82, z),
        (_at(x - 0.26, floor_y + 0.80, z + 0.05), _at(x + 0.26, floor_y + 0.80, z + 0.05)),
        (_at(x - 0.11, floor_y + 0.05, z), _at(x + 0.11, floor_y + 0.05, z)),
    )


def _hanging(left: Vectors, right: Vectors, swing: float) -> Body:
    middle = (left + right) / 2
    hip = _at(middle[0] + 0.18 * swing, min(left[1], right[1]) - 1.02, middle[2])
    feet = tuple(_at(hip[0] + 0.22 * swing + side, hip[1] - 0.72, middle[2] - 0.05) for side in (-0.09, 0.09))
    return Body(hip, (left, right), (feet[0], feet[1]))


def _mix(a: Body, b: Body, share: float) -> Body:
    s = share * share * (3 - 2 * share)

    def between(p: Vectors, q: Vectors) -> Vectors:
        result: Vectors = p + s * (q - p)
        return result

    return Body(
        between(a.hip, b.hip),
        (between(a.hands[0], b.hands[0]), between(a.hands[1], b.hands[1])),
        (between(a.feet[0], b.feet[0]), between(a.feet[1], b.feet[1])),
    )


def _poses(act: str) -> list[tuple[float, Body]]:
    """The moments of an act, as shares of its length, and how the body is then."""
    if act == "rungs clear":
        steps, y = [_at(x, RUNG_Y, 0.0) for x in rung_places()], 0.5
        found = [
            (0.0, standing(6.05, y, 0.1)),
            (0.10, standing(6.35, y, 0.0)),
            (0.16, _hanging(steps[0] - _at(0.08, 0, 0), steps[0] + _at(0.08, 0, 0), 0.6)),
        ]
        for i in range(4):
            start = 0.16 + 0.15 * i
            found.append((start + 0.06, _hanging(steps[i] + _at(0.02, 0, 0), steps[i + 1] - _at(0.05, 0, 0), -0.4)))
            found.append((start + 0.15, _hanging(steps[i + 1] - _at(0.09, 0, 0), steps[i + 1] + _at(0.08, 0, 0), 0.5)))
        landed = standing(11.4, 0.1, 0.05)
        return [
            *found,
            (
                0.86,
                Body(
                    landed.hip - _at(0.05, 0.2, 0), (landed.hands[0] + _at(-0.2, 0.3, 0), landed.hands[1] + _at(0.2, 0.3, 0)), landed.feet
                ),
            ),
            (1.0, standing(11.85, 0.1, -0.15)),
        ]
    if act == "rings fail":
        rings, low = [_at(x, RING_Y - 0.17, 0.0) for x in ring_places()], 0.5
        side = _at(0.06, 0.02, 0.0)
        found = [
            (0.0, standing(18.05, low, 0.1)),
            (0.10, standing(18.4, low, 0.0)),
            (0.19, _hanging(rings[0] - side, rings[0] + side, 0.7)),
        ]
        found += [(0.28, _hanging(rings[0], rings[1], -0.5)), (0.36, _hanging(rings[1] - side, rings[1] + side, 0.6))]
        found += [(0.46, _hanging(rings[1], rings[2], -0.4))]
        rope = _at(ring_places()[2], RING_Y + 0.42, 0.0)
        found += [(0.58, _hanging(rings[2], rope, 0.2)), (0.72, _hanging(rings[2], rope, 0.0))]
        return [*found, (0.80, standing(21.9, 0.06, 0.2)), (1.0, standing(22.15, 0.06, 0.75))]
    raise ValueError(f"there is no act {act!r}; use 'rungs clear' or 'rings fail'")


def body_in(act: str, share: float) -> Body:
    """The body after `share` (0 to 1) of an act; before and after it, the figure stands still."""
    poses = _poses(act)
    for (t0, a), (t1, b) in pairwise(poses):
        if share <= t1:
            return _mix(a, b, max(0.0, (share - t0) / (t1 - t0)))
    return poses[-1][1]


def shirt_of(act: str) -> Colour:
    """Each act has a demonstrator of its own."""
    return (0.85, 0.20, 0.50) if act == "rungs clear" else (0.10, 0.50, 0.50)


def solids_of(body: Body, thing: int, shirt: Colour) -> list[Solid]:
    """The figure as bars and balls, all one thing."""
    up = _at(0, 1, 0)
    chest = body.hip + 0.46 * up
    lean = (body.hands[0] + body.hands[1]) / 2 - body.hip
    if lean[1] > 0.7:
        chest = body.hip + 0.46 * lean / np.linalg.norm(lean)
    found = [bar(body.hip.tolist(), chest.tolist(), 0.145, thing, shirt, FABRIC, sides=10, line=False)]
    found.append(bar(chest.tolist(), (chest + 0.14 * up + _at(0, 0, 0.02)).tolist(), 0.06, thing, SKIN, sides=8, line=False))
    found.append(ball((chest + 0.225 * up + _at(0, 0, 0.03)).tolist(), 0.115, thing, SKIN, rows=6, sides=10))
    for side, hand in zip((-0.19, 0.19), body.hands, strict=True):
        shoulder = chest + _at(side, 0, 0)
        elbow = _joint(shoulder, hand, REACH, _at(side, -0.3, -0.4))
        found += [
            bar(shoulder.tolist(), elbow.tolist(), 0.05, thing, shirt, FABRIC, sides=8, line=False),
            bar(elbow.tolist(), hand.tolist(), 0.042, thing, SKIN, sides=8, line=False),
            ball(hand.tolist(), 0.055, thing, SKIN, rows=4, sides=8),
        ]
    for side, foot in zip((-0.1, 0.1), body.feet, strict=True):
        top = body.hip + _at(side, 0, 0)
        knee = _joint(top, foot, 0.80, _at(0.1, 0, 0.8))
        found += [
            bar(top.tolist(), knee.tolist(), 0.075, thing, LEGS, sides=8, line=False),
            bar(knee.tolist(), foot.tolist(), 0.055, thing, LEGS, sides=8, line=False),
            ball((foot + _at(0, 0, 0.05)).tolist(), 0.065, thing, (0.9, 0.9, 0.9), rows=4, sides=8),
        ]
    return found


def _joint(a: Vectors, b: Vectors, length: float, towards: Vectors) -> Vectors:
    """The elbow or knee of a limb of `length` from a to b, bent towards a side."""
    span = float(np.linalg.norm(b - a))
    bend = np.sqrt(max(0.0, (length / 2) ** 2 - (span / 2) ** 2))
    away = towards - (towards @ (b - a)) * (b - a) / max(1e-9, span**2)
    size = float(np.linalg.norm(away))
    result: Vectors = (a + b) / 2 + (bend * away / size if size > 1e-9 else 0.0)
    return result
