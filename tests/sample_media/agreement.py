"""The ruling at a point in two ways: from the drawn marks (shapely) and from the true masks; used by the tests of the demo walk."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

SAMPLE = Path(__file__).resolve().parents[2] / "sample_media"


def load(name: str) -> Any:
    """A JSON file of the demo walk."""
    return json.loads((SAMPLE / name).read_text(encoding="utf-8"))


def rulings_at(gold: dict[str, Any], number: int) -> dict[tuple[str, str | None], str]:
    """Ruling by (name, part) at one station: its own surfaces, what people settled about its gap, and what holds everywhere."""
    named = {(r["surface"], r.get("part")): r["ruling"] for r in gold["blanket"] if r["rule"] == "surface"}
    own = [*gold["stations"][number - 1]["surfaces"], *(s for s in gold.get("settled", ()) if s["station"] == number)]
    return named | {(s["name"], s.get("part")): s["ruling"] for s in own}


def shape_of(mark: dict[str, Any]) -> BaseGeometry:
    """The area of a mark."""
    if "line" in mark:
        return LineString(mark["line"]).buffer(mark["width"] / 2)
    return Polygon(mark["rings"][0], mark["rings"][1:])


def zone_from_marks(marks: Sequence[dict[str, Any]], rulings: dict[tuple[str, str | None], str]) -> BaseGeometry:
    """In play less out of play; what a part says replaces what its whole says there; unmarked is out."""
    zones: dict[str, list[BaseGeometry]] = {"in": [], "out": []}
    for mark in marks:
        shape = shape_of(mark)
        if mark["part"] is None:
            parts = [shape_of(m) for m in marks if m["surface"] == mark["surface"] and m["part"] is not None]
            shape = shape.difference(unary_union(parts)) if parts else shape
        zones[rulings[mark["surface"], mark["part"]]].append(shape)
    return unary_union(zones["in"]).difference(unary_union(zones["out"]))


@dataclass(frozen=True)
class Agreement:
    """Points where both ways give the same ruling, where they don't (x, y), and how many of the points were in play by the masks."""

    same: int
    different: tuple[tuple[float, float], ...]
    in_play: int


def compare(
    still: dict[str, Any],
    marks: Sequence[dict[str, Any]],
    rulings: dict[tuple[str, str | None], str],
    points: int,
    far_px: float,
    seed: int,
) -> Agreement:
    """Rule at `points` random points that are farther than `far_px` from every edge of the mask, half of them on named surfaces."""
    mask = np.asarray(Image.open(SAMPLE / "truth" / still["file"]))
    inside = np.zeros(256, bool)
    named = np.zeros(256, bool)
    for number, thing in still["objects"].items():
        key = (thing["name"], thing["part"])
        ruling = rulings.get(key, rulings.get((thing["name"], None)))
        inside[int(number)], named[int(number)] = ruling == "in", ruling is not None and thing["name"] != "floor"
    away = distance_to_edges(mask) > far_px
    rng = np.random.default_rng(seed)
    chosen = []
    for pool, count in ((away & named[mask], points // 2), (away, points - points // 2)):
        ys, xs = np.nonzero(pool)
        pick = rng.integers(0, len(xs), count)
        chosen += list(zip(xs[pick], ys[pick], strict=True))
    zone = zone_from_marks(marks, rulings)
    shapely.prepare(zone)
    different, in_play = [], 0
    for x, y in chosen:
        at = (float(x) + 0.5, float(y) + 0.5)
        truth = bool(inside[mask[y, x]])
        in_play += truth
        if bool(shapely.contains_xy(zone, *at)) != truth:
            different.append(at)
    return Agreement(len(chosen) - len(different), tuple(different), in_play)


def distance_to_edges(mask: NDArray[np.uint8]) -> NDArray[np.float32]:
    """For each pixel the distance in pixels to the nearest pixel next to another object number."""
    edge = np.zeros(mask.shape, bool)
    down, right = mask[1:] != mask[:-1], mask[:, 1:] != mask[:, :-1]
    edge[1:] |= down
    edge[:-1] |= down
    edge[:, 1:] |= right
    edge[:, :-1] |= right
    return np.asarray(cv2.distanceTransform((~edge).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE), np.float32)
