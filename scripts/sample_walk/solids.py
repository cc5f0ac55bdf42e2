"""Solid things made of flat faces: boxes, bars, rings, wedges, sheets.

Every face knows which thing it belongs to, so that one and the same geometry is drawn as a picture, drawn as a mask of object numbers, and
projected for the outlines that a person would click. Metres; x along the hall, y up, z towards the camera. Pure numpy.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Vectors = NDArray[np.float64]
Colour = tuple[float, float, float]

PLAIN, WOOD, BRICK, FABRIC, FLOOR, NET, GLOW = range(7)
"""Textures. NET is see-through between its strands, GLOW is bright without light on it."""


@dataclass(frozen=True)
class Face:
    """A flat convex polygon, corners counter-clockwise seen from outside, with a normal for each corner."""

    corners: Vectors
    normals: Vectors
    thing: int


@dataclass(frozen=True, eq=False)
class Solid:
    """Faces of one body with its colour and texture. `axis` is set for what a person would draw as a line: its middle line and radius."""

    faces: tuple[Face, ...]
    colour: Colour
    texture: int
    axis: tuple[Vectors, float] | None = None
    far: bool = False
    """Room, not furniture: drawn last."""


def face(corners: Iterable[Sequence[float]], thing: int, outward: Sequence[float], normals: Vectors | None = None) -> Face:
    """A face whose corners are turned so that its normal looks `outward`."""
    points = np.array(list(corners), float)
    normal = np.cross(points[1] - points[0], points[2] - points[0])
    length = float(np.linalg.norm(normal))
    normal = normal / length if length > 0 else np.array([0.0, 1.0, 0.0])
    if normal @ np.asarray(outward, float) < 0:
        points, normal = points[::-1], -normal
        normals = None if normals is None else normals[::-1]
    return Face(points, np.tile(normal, (len(points), 1)) if normals is None else normals, thing)


def hexahedron(corners: Vectors, thing: int, colour: Colour, texture: int = PLAIN, top: int | None = None) -> Solid:
    """Eight corners: four of the bottom, then the four above them. `top` is the thing of the top face where it differs."""
    middle = corners.mean(axis=0)
    quads = ((0, 1, 2, 3), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))
    faces = []
    for index, quad in enumerate(quads):
        points = corners[list(quad)]
        faces.append(face(points, top if top is not None and index == 1 else thing, (points.mean(axis=0) - middle).tolist()))
    return Solid(tuple(faces), colour, texture)


def box(
    middle: Sequence[float],
    size: Sequence[float],
    thing: int,
    colour: Colour,
    texture: int = PLAIN,
    top: int | None = None,
    tilt_deg: float = 0.0,
) -> Solid:
    """An upright box; `tilt_deg` turns it about the x axis through its middle."""
    w, h, d = (value / 2 for value in size)
    at = np.array([[-w, -h, d], [w, -h, d], [w, -h, -d], [-w, -h, -d], [-w, h, d], [w, h, d], [w, h, -d], [-w, h, -d]])
    angle = np.radians(tilt_deg)
    turn = np.array([[1, 0, 0], [0, np.cos(angle), -np.sin(angle)], [0, np.sin(angle), np.cos(angle)]])
    return hexahedron(at @ turn.T + np.asarray(middle, float), thing, colour, texture, top)


def wedge(x0: float, x1: float, height: float, z0: float, z1: float, thing: int, colour: Colour, texture: int = PLAIN) -> Solid:
    """A ramp on the floor that rises from x0 to x1."""
    thin = 0.02
    corners = np.array(
        [
            [x0, 0, z1],
            [x1, 0, z1],
            [x1, 0, z0],
            [x0, 0, z0],
            [x0, thin, z1],
            [x1, height, z1],
            [x1, height, z0],
            [x0, thin, z0],
        ]
    )
    return hexahedron(corners, thing, colour, texture)


def _frame(direction: Vectors) -> tuple[Vectors, Vectors]:
    """Two unit vectors square to `direction`."""
    help_ = np.array([0.0, 1.0, 0.0]) if abs(direction[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    first = np.cross(direction, help_)
    first /= np.linalg.norm(first)
    return first, np.cross(direction, first)


def bar(
    start: Sequence[float],
    end: Sequence[float],
    radius: float,
    thing: int,
    colour: Colour,
    texture: int = PLAIN,
    sides: int = 12,
    line: bool = True,
    end_radius: float | None = None,
) -> Solid:
    """A round bar (a cone where `end_radius` differs)."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    direction = (b - a) / np.linalg.norm(b - a)
    u, v = _frame(direction)
    angles = np.arange(sides) * 2 * np.pi / sides
    around = np.outer(np.cos(angles), u) + np.outer(np.sin(angles), v)
    last = radius if end_radius is None else end_radius
    faces = []
    for i in range(sides):
        j = (i + 1) % sides
        quad = [a + radius * around[i], a + radius * around[j], b + last * around[j], b + last * around[i]]
        faces.append(face(quad, thing, around[i] + around[j], np.array([around[i], around[j], around[j], around[i]])))
    faces.append(face(a + radius * around, thing, -direction))
    faces.append(face(b + last * around, thing, direction))
    return Solid(tuple(faces), colour, texture, (np.array([a, b]), max(radius, last)) if line else None)


def ball(middle: Sequence[float], radius: float, thing: int, colour: Colour, texture: int = PLAIN, rows: int = 7, sides: int = 12) -> Solid:
    """A ball."""
    c = np.asarray(middle, float)
    ring = np.arange(sides) * 2 * np.pi / sides
    rise = np.linspace(-np.pi / 2, np.pi / 2, rows + 1)
    unit = np.array([[[np.cos(p) * np.cos(t), np.sin(p), np.cos(p) * np.sin(t)] for t in ring] for p in rise])
    faces = []
    for i in range(rows):
        for k in range(sides):
            m = (k + 1) % sides
            normals = np.array([unit[i, k], unit[i, m], unit[i + 1, m], unit[i + 1, k]])
            if i == 0:
                normals = normals[[0, 2, 3]]
            elif i == rows - 1:
                normals = normals[[0, 1, 2]]
            faces.append(face(c + radius * normals, thing, normals.mean(axis=0).tolist(), normals))
    return Solid(tuple(faces), colour, texture)


def hoop(middle: Sequence[float], radius: float, tube: float, thing: int, colour: Colour, steps: int = 20, sides: int = 8) -> Solid:
    """A ring that hangs facing the camera (its axis is z)."""
    c = np.asarray(middle, float)

    def at(i: int, k: int) -> tuple[Vectors, Vectors]:
        t, p = i * 2 * np.pi / steps, k * 2 * np.pi / sides
        out = np.array([np.cos(t), np.sin(t), 0.0])
        normal = np.cos(p) * out + np.sin(p) * np.array([0.0, 0.0, 1.0])
        return c + radius * out + tube * normal, normal

    faces = []
    for i in range(steps):
        for k in range(sides):
            pairs = [at(i, k), at(i + 1, k), at(i + 1, k + 1), at(i, k + 1)]
            normals = np.array([n for _, n in pairs])
            faces.append(face([p.tolist() for p, _ in pairs], thing, normals.mean(axis=0).tolist(), normals))
    t = np.linspace(0, 2 * np.pi, 13)
    middle_line = c + radius * np.stack([np.cos(t), np.sin(t), 0 * t], axis=1)
    return Solid(tuple(faces), colour, PLAIN, (middle_line, tube))


def sheet(
    corners: Iterable[Sequence[float]], thing: int, colour: Colour, texture: int, outward: Sequence[float], far: bool = False
) -> Solid:
    """One flat face, seen from `outward` only."""
    return Solid((face(corners, thing, outward),), colour, texture, None, far)


def far(solid: Solid) -> Solid:
    """The same solid as part of the room."""
    return replace(solid, far=True)
