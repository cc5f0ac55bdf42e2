"""Draw the marks of the demo walk as course staff would: the corners of what is seen of a surface, clicked a few pixels off.

In: the hall and the poses of the stills. Out: marks. They come from the geometry, never from the masks: faces that look at the camera are
projected, what stands in front is cut away, and every corner gets a human error from a fixed seed. What is thin is drawn as a line.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from scripts.sample_walk.camera import Lens, Pose, project
from scripts.sample_walk.camera import Path as CameraPath
from scripts.sample_walk.hall import Hall
from scripts.sample_walk.plan import TICKS_A_SECOND, Shoot, figure_at
from scripts.sample_walk.solids import Solid, Vectors
from scripts.sample_walk.walkfile import Walk

CORNER_ERROR_PX = (2.0, 4.0)
LINE_ERROR_PX = (1.0, 2.5)
"""Along a thin bar people aim at its middle and miss by less than at a corner."""
CLICK_TOLERANCE_PX = 1.2
TOO_THIN_PX = 4.0
"""Nobody cuts out, or outlines, what is thinner than twice this."""
SMALLEST_PX2 = 120.0

SurfaceKey = tuple[str, str | None]


@dataclass(frozen=True)
class Seen:
    """A solid as projected: the region of each thing on it, all of it, and its faces in the camera's frame."""

    solid: Solid
    regions: Mapping[int, BaseGeometry]
    outline: BaseGeometry
    faces: tuple[tuple[Polygon, Vectors], ...]


def draw_marks(walk: Walk, shoots: Sequence[Shoot], hall: Hall, times: Mapping[str, float]) -> dict[str, Any]:
    """`stills` and `marks` of the marks file."""
    demonstrator = hall.thing("demonstrator")
    rng = np.random.default_rng(walk.seed + 100)
    stills: list[dict[str, Any]] = []
    marks: list[dict[str, Any]] = []
    for shoot in shoots:
        path = CameraPath(shoot.keys, walk.seed + shoot.clip)
        for still in shoot.stills:
            stills.append({"still": still.id, "station": still.station, "time_s": times[still.id]})
            moment = shoot.ticks[still.frame] / TICKS_A_SECOND
            pose = path.pose(moment)
            solids = [*hall.solids, *figure_at(shoot, moment, demonstrator, float(pose.place[0]))]
            seen = [s for s in (look_at(solid, pose, shoot.lens) for solid in solids if not solid.far) if s is not None]
            for key in surfaces_to_mark(walk, still.station):
                for shape in mark_surface(key, seen, hall, pose, shoot.lens, rng):
                    marks.append({"still": still.id, "station": still.station, "surface": key[0], "part": key[1], **shape})
    return {"stills": stills, "marks": marks}


def surfaces_to_mark(walk: Walk, station: int) -> list[SurfaceKey]:
    """What is named at a station, and what is named for every station (the floor is left unmarked: unmarked is out anyway)."""
    gold = walk.stations()[station - 1].gold or {}
    keys: list[SurfaceKey] = [(s["name"], s.get("part")) for s in gold.get("surfaces", ())]
    keys += [(s["name"], s.get("part")) for s in walk.settled if s["station"] == station]
    keys += [(r["surface"], r.get("part")) for r in walk.blanket if r["rule"] == "surface" and r["surface"] != "floor"]
    return list(dict.fromkeys(keys))


def things_of(key: SurfaceKey, hall: Hall) -> set[int]:
    """The object numbers of a surface; a whole thing includes its parts."""
    name, part = key
    return {t.number for t in hall.things if t.name == name and part in (None, t.part)}


def look_at(solid: Solid, pose: Pose, lens: Lens) -> Seen | None:
    """The faces of a solid that look at the camera, as shapes on the picture; None where nothing of it is on the picture."""
    window = shapely.box(0, 0, lens.width, lens.height)
    shapes: dict[int, list[Polygon]] = {}
    faces: list[tuple[Polygon, Vectors]] = []
    for face in solid.faces:
        corners = face.corners
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        if normal @ (pose.place - corners[0]) <= 0:
            continue
        pixels, depth = project(corners, pose, lens)
        if depth.min() < 0.2:
            continue
        shape = Polygon(pixels)
        if shape.area < 1e-6 or not shape.intersects(window):
            continue
        shapes.setdefault(face.thing, []).append(shape)
        faces.append((shape, pose.into_view(corners)))
    if not shapes:
        return None
    regions = {thing: unary_union([s.buffer(0.01) for s in parts]).intersection(window) for thing, parts in shapes.items()}
    return Seen(solid, regions, unary_union(list(regions.values())), tuple(faces))


def depth_at(seen: Seen, at: Point, lens: Lens) -> float | None:
    """How far the solid is under a pixel, None where it is not there."""
    ray = np.array([(at.x - lens.width / 2) / lens.focal, (lens.height / 2 - at.y) / lens.focal, -1.0])
    found = []
    for shape, corners in seen.faces:
        if shape.distance(at) > 0.05:
            continue
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        slope = float(normal @ ray)
        if abs(slope) > 1e-12:
            found.append(float(normal @ corners[0]) / slope)
    return min(found) if found else None


def hidden_by(seen: Seen, others: Sequence[Seen], same: set[int], lens: Lens) -> BaseGeometry:
    """All that stands in front of a solid and is not part of the same surface. Two bodies never pass through each other here."""
    cuts: list[BaseGeometry] = []
    for other in others:
        if other is seen or not other.outline.intersects(seen.outline):
            continue
        overlap = other.outline.intersection(seen.outline)
        if overlap.area < 1.0:
            continue
        at = max(_polygons(overlap), key=lambda p: p.area).representative_point()
        own, its = depth_at(seen, at, lens), depth_at(other, at, lens)
        if own is None or its is None or its > own - 1e-4:
            continue
        cuts += [region for thing, region in other.regions.items() if thing not in same]
    return unary_union([c for c in _polygons(unary_union(cuts)) if not c.buffer(-TOO_THIN_PX).is_empty]) if cuts else Polygon()


def mark_surface(
    key: SurfaceKey, seen: Sequence[Seen], hall: Hall, pose: Pose, lens: Lens, rng: np.random.Generator
) -> list[dict[str, Any]]:
    """The marks of one surface on one still, as shapes without their labels."""
    things = things_of(key, hall)
    areas: list[BaseGeometry] = []
    found: list[dict[str, Any]] = []
    for one in seen:
        mine = [region for thing, region in one.regions.items() if thing in things]
        if not mine:
            continue
        cut = hidden_by(one, seen, things, lens)
        if one.solid.axis is not None:
            found += _lines(one.solid.axis, cut, pose, lens, rng)
        else:
            areas.append(unary_union(mine).difference(cut))
    together = unary_union(areas).buffer(1.0, join_style="mitre").buffer(-1.0, join_style="mitre")  # what touches is outlined as one
    for area in _polygons(together):
        rings = _clicked(area, lens, rng)
        if rings is not None:
            found.append({"rings": rings})
    return found


def _clicked(area: Polygon, lens: Lens, rng: np.random.Generator) -> list[list[list[float]]] | None:
    """The corners that a person clicks round a shape; None where it is too small or thin to be marked."""
    body = max(_polygons(area.buffer(-1.5).buffer(1.5, join_style="mitre")), key=lambda p: p.area, default=None)
    if body is None or body.area < SMALLEST_PX2 or body.buffer(-TOO_THIN_PX / 2).is_empty:
        return None
    holes = [hole for hole in body.interiors if Polygon(hole).area >= SMALLEST_PX2]
    wanted = Polygon(body.exterior, holes).simplify(CLICK_TOLERANCE_PX)
    assert isinstance(wanted, Polygon)
    for attempt in range(60):
        reach = np.array(CORNER_ERROR_PX) * (1.0 if attempt < 30 else 0.6)
        rings = [_missed(np.array(ring.coords)[:-1], lens, rng, reach) for ring in (wanted.exterior, *wanted.interiors)]
        if Polygon(rings[0], rings[1:]).is_valid:
            return [[[round(x, 1), round(y, 1)] for x, y in ring.tolist()] for ring in rings]
    raise ValueError("a surface is so crumbled on a still that nobody could mark it; choose another moment")


def _missed(corners: Vectors, lens: Lens, rng: np.random.Generator, reach: Vectors) -> Vectors:
    """Corners as clicked: off by `reach` (least, most) pixels any way; what lies on the picture's edge stays on it."""
    turn, far = rng.uniform(0, 2 * np.pi, len(corners)), rng.uniform(reach[0], reach[1], len(corners))
    moved = corners + np.stack([np.cos(turn), np.sin(turn)], axis=1) * far[:, None]
    limits = np.array([lens.width, lens.height], float)
    moved = np.where(corners < 0.5, 0.0, np.where(corners > limits - 0.5, limits, moved))
    result: Vectors = np.clip(moved, 0.0, limits)
    return result


def _lines(axis: tuple[Vectors, float], cut: BaseGeometry, pose: Pose, lens: Lens, rng: np.random.Generator) -> list[dict[str, Any]]:
    """A thin thing as lines with a width, one for each piece that is seen."""
    middle, radius = axis
    pixels, depth = project(middle, pose, lens)
    width = round(2 * radius * lens.focal / float(depth.mean()), 1)
    whole = LineString(pixels).intersection(shapely.box(0, 0, lens.width, lens.height)).difference(cut)
    pieces = [whole] if isinstance(whole, LineString) else list(getattr(whole, "geoms", ()))
    if len(pieces) > 1:
        merged = shapely.line_merge(shapely.multilinestrings([p for p in pieces if isinstance(p, LineString)]))
        pieces = [merged] if isinstance(merged, LineString) else list(merged.geoms)
    found = []
    for piece in pieces:
        if not isinstance(piece, LineString) or piece.length < 8.0:
            continue
        points = np.array(piece.coords)
        missed = _missed(points, lens, rng, np.array(LINE_ERROR_PX))
        if np.allclose(points[0], points[-1]):
            missed[-1] = missed[0]
        found.append({"line": [[round(x, 1), round(y, 1)] for x, y in missed.tolist()], "width": width})
    return found


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons in any geometry."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [p for part in getattr(shape, "geoms", ()) for p in _polygons(part)]
