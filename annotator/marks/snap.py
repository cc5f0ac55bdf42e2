"""Draw a rough outline snug to the thing's edge: offered, never forced, flagged where it may be worse, not at all where it would stray.

Three classic methods (cuts.py) look at a small crop around the rough outline (crops.py) and vote pixel by pixel; a second look starts
from what the first one found. Other outlines stand beside that (rivals.py); the middle of the likely ones is offered. A thin bar is a
line with a width (bars.py). In: (H, W, 3) uint8 RGB, upright; outlines in its pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from pydantic import ValidationError
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from annotator.course import Mark, Point, Ring
from annotator.errors import InvalidMark
from annotator.marks.bars import snug_line
from annotator.marks.crops import Crop, Mask, Picture, crop, outline_of
from annotator.marks.cuts import along_edges, colour_cut, grown, steepness, watershed, within_box
from annotator.marks.film_colour import with_even_colours
from annotator.marks.openings import frame_within, tube_of
from annotator.marks.outlines import Area, area, polygon_list, polygons_of
from annotator.marks.rivals import rivals
from annotator.marks.tracing import traced

LEAST_OVERLAP = 0.55
LEAST_OVERLAP_BOX = 0.3
_LEAST_OVERLAP_NEAR, _NEAR = 0.2, 0.1
"""For an outline no place of which is further off than this share of the drawn one's diagonal: a thin thing that was drawn a little
beside itself overlaps with it by little."""
FILLS_A_BOX = 0.8
"""Share of a drawn box that a thing fills from which on its sides lie near the box's. Chosen on photos and the other hall: a box drawn
around each thing comes out at a mean overlap of .873 in place of .827 there, .854 in place of .827 on the demo."""
_MOST_DRAWN = 60
"""Corners of an outline that crosses itself up to which it is looked at as it was drawn."""
LEAST_AGREEMENT = 0.88
"""Of each way of looking with the vote of all three; below it the offer carries a doubt. Chosen on the demo's stills."""
TINY_PX = 32
"""Diagonal of a thing so small that an edge off by a pixel shows; chosen on the demo's stills."""
THIN_PX = 5
"""Width of a bar that is so thin that an edge off by a pixel shows."""
_LEAST_CONTRAST = 1.0
_LEAST_PX = 12
_TINY = "It is so small that a pixel matters. Enlarge the picture and compare before you take it."
_OPEN = "An opening was found in it. Compare before you take it."
_UNSURE = "The edge is not clear all round. Compare before you take it."


@dataclass(frozen=True)
class Snapped:
    """A snug outline with holes (`rings`) or a snug line (`line` with `width`), and its overlap with the rough one (intersection/union).

    `doubt` says in a sentence why it may be worse than what was drawn; None where nothing speaks against it.
    """

    rings: tuple[Ring, ...] | None
    line: tuple[Point, ...] | None
    width: float | None
    overlap: float
    doubt: str | None = None


def snap(
    image: Picture,
    rough: Sequence[Point],
    *,
    holes: Sequence[Sequence[Point]] = (),
    width: float | None = None,
    opening: bool = False,
) -> Snapped | None:
    """Offer a snug outline for a rough one.

    Parameters
    ----------
    image : (H, W, 3) uint8 RGB
        The still.
    rough : sequence of (x, y)
        Three points or more: an outline. Two: opposite corners of a box. One: a tap on the thing. With `width`: a line along a thin bar.
    holes : sequence of rings, optional
        Holes in an outline; each snaps too. Holes that were not drawn are filled in, except that a box or a tap finds large ones.
    width : float, optional
        Of the bar, in pixels.
    opening : bool
        It is a frame or a ring: what its outline encloses is looked through for an opening.

    Returns
    -------
    Snapped or None
        None where nothing snug was found near enough to the rough outline (overlap under `LEAST_OVERLAP`): keep the rough one.

    Raises
    ------
    InvalidMark
        The rough outline covers no area of the still, or is none (points that are no numbers, crossings without end).
    """
    size = (image.shape[1], image.shape[0])
    points = tuple((float(x), float(y)) for x, y in rough)
    if width is not None:
        return _snap_line(image, points, width)
    if len(points) == 1:
        return _snap_tap(image, points[0])
    if len(points) == 2:
        (x0, y0), (x1, y1) = points
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        boxed = area(_rough([corners]), size)
        return _snap_box(with_even_colours(image, boxed.bounds), boxed)
    whole = area(_rough([points, *holes]), size)
    if not holes:  # what an outline that crosses itself goes around twice is no hole
        whole = polygons_of(unary_union([Polygon(one.exterior) for one in polygon_list(whole)]))
    opened = _opened(with_even_colours(image, whole.bounds), whole) if opening and not holes else None
    if opened is not None:
        return opened
    found = _snap_area(image, whole, find_holes=False, drawn=points)
    return _inside_a_box(image, whole, found) if not holes and _is_upright_box(points) else found


def _is_upright_box(points: Sequence[Point]) -> bool:
    xs, ys = {x for x, _ in points}, {y for _, y in points}
    return len(points) == len(set(points)) == 4 and len(xs) == len(ys) == 2


def _inside_a_box(image: Picture, drawn: Area, found: Snapped | None) -> Snapped | None:
    """What stands aslant in a box that was drawn around it fills little of it: no edge lies near the box's own, and what was found near
    those is doubtful. Then the thing inside is looked for, and its own edge from there. The doubt stays."""
    if found is not None and found.doubt is None:
        return found
    inside = _snap_box(with_even_colours(image, drawn.bounds), drawn)
    if inside is None or inside.rings is None or inside.overlap >= FILLS_A_BOX:
        return found
    outline = polygons_of(Polygon(inside.rings[0]))
    closer = _snap_area(image, outline, find_holes=False) or inside
    rings = closer.rings or inside.rings
    return Snapped(rings, None, None, _overlap(polygons_of(Polygon(rings[0], rings[1:])), drawn), (found and found.doubt) or _UNSURE)


def _rough(rings: Sequence[Sequence[Point]]) -> Mark:
    if len(rings[0]) < 3:
        raise InvalidMark("rough outline", "it has no points. Draw around the thing, or tap on it.")
    return _given("rough outline", rings=rings)


def _given(name: str, **shape: Any) -> Mark:
    try:
        return Mark(id=name, still="", surface="", **shape)
    except ValidationError as error:
        raise InvalidMark(name, f"{error.errors(include_url=False)[0]['msg']}. Draw it again.") from error


def _snap_area(image: Picture, rough: Area, *, find_holes: bool, drawn: Ring = ()) -> Snapped | None:
    even = with_even_colours(image, rough.bounds)
    first = _look(even, rough, find_holes)
    if first is None:
        return None
    second = _look(even, first.found, find_holes)
    looks = [first] if second is None else [first, second]
    agreed = min(look.agreement for look in looks)
    crossing = isinstance(rough, MultiPolygon) and len(drawn) <= _MOST_DRAWN
    found, others_agree = _best(even, rough, looks, drawn if crossing else ())
    x0, y0, x1, y1 = rough.bounds
    unsure = min(agreed, others_agree) < LEAST_AGREEMENT or _overlap(found, rough) < LEAST_OVERLAP
    doubt = _TINY if np.hypot(x1 - x0, y1 - y0) < TINY_PX else _UNSURE if unsure else None
    return _offered(image, _traced(even, found, looks[0].here.ratio[0], even is not image), rough, doubt, LEAST_OVERLAP)


def _traced(image: Picture, found: Area, ratio: float, filmed: bool) -> Area:
    """Each ring of an outline along its edge to parts of a pixel."""
    whole = max(polygon_list(found), key=lambda one: one.area)
    rings = (np.asarray(ring.coords[:-1]) for ring in (whole.exterior, *whole.interiors))
    outer, *holes = (Polygon(traced(image, ring, ratio, filmed)) for ring in rings)
    return polygons_of(outer.difference(unary_union(holes)))


def _best(image: Picture, rough: Area, looks: Sequence[_Look], drawn: Ring) -> tuple[Area, float]:
    """The middle of what was voted and its rivals, and how far the others agree with the one that is weighed highest.

    Where something with holes was drawn or found, what was voted.
    """
    voted = looks[-1].found
    if any(one.interiors for shape in (rough, voted) for one in polygon_list(shape)):
        return voted, 1.0
    size = (image.shape[1], image.shape[0])
    found = [look.found for look in looks]
    chosen = rivals(looks[0].here, rough, looks[0].ways, found, size, drawn, lambda shape: _strays(shape, rough, LEAST_OVERLAP))
    return chosen or (voted, 1.0)


def _overlap(one: Area, other: Area) -> float:
    return float(one.intersection(other).area / max(one.union(other).area, 1e-9))


def _strays(found: Area, rough: Area, least: float) -> bool:
    overlap = _overlap(found, rough)
    if overlap >= least or overlap < _LEAST_OVERLAP_NEAR:
        return overlap < least
    x0, y0, x1, y1 = rough.bounds
    return bool(found.hausdorff_distance(rough) > _NEAR * np.hypot(x1 - x0, y1 - y0))


def _opened(image: Picture, rough: Area) -> Snapped | None:
    """A frame or ring with its opening, both drawn to their edges; None where no opening is seen."""
    outer = max(polygon_list(rough), key=lambda one: one.area)
    found = frame_within(image, outer)
    if found is None:
        return None
    whole = Polygon(found.exterior)
    tube = tube_of(found)
    if tube is not None:
        offered = _snap_line(image, *tube)
        if offered is not None:
            return replace(offered, doubt=_OPEN)
    overlap = float(whole.intersection(outer).area / whole.union(outer).area)
    if overlap < LEAST_OVERLAP:
        return None
    rings = tuple(tuple((float(x), float(y)) for x, y in ring.coords[:-1]) for ring in (found.exterior, *found.interiors))
    return Snapped(rings, None, None, overlap, _OPEN)


@dataclass(frozen=True, eq=False)
class _Look:
    """What two of the three ways take, and how far the one that differs most agrees with that (intersection over union)."""

    here: Crop
    ways: tuple[Mask, ...]
    found: Polygon
    agreement: float


def _look(image: Picture, rough: Area, find_holes: bool) -> _Look | None:
    here = crop(image, rough)
    if not _worth_a_look(here):
        return None
    ways = (watershed(here), colour_cut(here), along_edges(here))
    voted = np.asarray(ways[0].astype(np.uint8) + ways[1] + ways[2] >= 2)
    found = outline_of(voted, here, find_holes=find_holes)
    agreement = min(float((way & voted).sum() / max(1, (way | voted).sum())) for way in ways)
    return None if found is None else _Look(here, ways, found, agreement)


def _snap_box(image: Picture, rough: Area) -> Snapped | None:
    here = crop(image, rough)
    if not _worth_a_look(here):
        return None
    found = outline_of(within_box(here), here, find_holes=True)
    return None if found is None else _offered(image, found, rough, None, LEAST_OVERLAP_BOX)


def _worth_a_look(here: Crop) -> bool:
    return bool(here.rough.sum() >= _LEAST_PX and float(cv2.meanStdDev(here.lab)[1].max()) >= _LEAST_CONTRAST)


def _offered(image: Picture, found: Area, rough: Area, doubt: str | None, least: float) -> Snapped | None:
    """The largest piece of what was found, within the still; None where it strays."""
    pieces = polygon_list(polygons_of(found.intersection(box(0, 0, image.shape[1], image.shape[0]))))
    if not pieces:
        return None
    snug = max(pieces, key=lambda one: one.area)
    if _strays(snug, rough, least):
        return None
    rings = tuple(tuple((float(x), float(y)) for x, y in ring.coords[:-1]) for ring in (snug.exterior, *snug.interiors))
    return Snapped(rings, None, None, _overlap(snug, rough), doubt)


def _snap_line(image: Picture, line: Sequence[Point], width: float) -> Snapped | None:
    size = (image.shape[1], image.shape[0])
    given = _given("rough line", line=line, width=width)
    rough = area(given, size)
    found = snug_line(image, line, width)
    if found is None:
        return None
    snug, snug_width = found
    try:
        moved = area(given.model_copy(update={"line": snug, "width": snug_width}), size)
    except InvalidMark:
        return None
    overlap = float(moved.intersection(rough).area / moved.union(rough).area)
    return Snapped(None, snug, snug_width, overlap, _TINY if min(snug_width, width) < THIN_PX else None)


def _snap_tap(image: Picture, point: Point) -> Snapped | None:
    """The region of like colour around a tap whose border is the steepest, then as an outline."""
    height, width = image.shape[:2]
    if not (0 <= point[0] < width and 0 <= point[1] < height):  # no number is outside, too
        raise InvalidMark("tap", f"it lies outside the still, which is {width} x {height} pixels. Tap on the thing.")
    scale = min(1.0, 480 / max(height, width))
    small = cv2.resize(image, (max(1, round(width * scale)), max(1, round(height * scale))), interpolation=cv2.INTER_AREA)
    lab = np.asarray(cv2.cvtColor(cv2.medianBlur(small, 5), cv2.COLOR_RGB2LAB), np.uint8)
    steep = steepness(lab)
    seed = (min(lab.shape[1] - 1, int(point[0] * scale)), min(lab.shape[0] - 1, int(point[1] * scale)))
    best, best_score = None, 0.0
    for tolerance in (4, 7, 10, 14, 19, 25, 32):
        flooded = np.zeros((lab.shape[0] + 2, lab.shape[1] + 2), np.uint8)
        like = (2 * tolerance, tolerance, tolerance)  # lightness may vary more than colour: a face is lit unevenly
        cv2.floodFill(lab.copy(), flooded, seed, 0, like, like, 4 | (1 << 8) | cv2.FLOODFILL_FIXED_RANGE | cv2.FLOODFILL_MASK_ONLY)
        region = np.asarray(cv2.morphologyEx(flooded[1:-1, 1:-1], cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)) > 0)
        share = region.mean()
        rim = grown(region, 1) & ~region
        if not 0.0004 < share < 0.5 or not rim.any():
            continue
        score = float(steep[rim].mean()) * float(region.sum()) ** 0.15
        if score > best_score:
            best, best_score = region, score
    if best is None:
        return None
    contours, _ = cv2.findContours(best.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea).reshape(-1, 2)
    if len(contour) < 8:
        return None
    rough = Polygon((contour + 0.5) / scale).buffer(0.5 / scale).simplify(1.0 / scale)
    outline = polygons_of(rough.intersection(box(0, 0, width, height)))
    return None if outline.is_empty else _snap_area(image, outline, find_holes=True)
