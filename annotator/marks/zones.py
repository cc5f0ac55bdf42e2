"""The zones that follow from a still's marks, and the ruling at a point, along a line or in a region.

In play is the union of what is in less the union of what is out. A part that says otherwise wins over its whole: a pad whose top is out,
tops that are in on boxes that are out. Everything unmarked is out of play. Near an edge nobody can tell from a still: too close to call.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import shapely
from shapely.geometry import LineString, box
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from annotator.course import Course, Limb, Mark, Said, Station, Still
from annotator.errors import InvalidMark, NotFound
from annotator.marks.items import RuleItem, known_division, limbs_only, rule_items
from annotator.marks.outlines import Area, area, polygons_of, union

PointVerdict = Literal["in play", "out of play", "too close to call"]
COMMON_PRACTICE = "What nobody names is out of play; that is common practice, this course does not say it."

LEAST_TOLERANCE_PX = 3.0
TOLERANCE_SHARE = 0.00135
"""Of the still's diagonal: 3 px at 1920 x 1080, 6 px at 3840 x 2160, never under 3.

Measured on the demo's marks (960 x 540, drawn 2 to 4 px off) within 15 px of an edge: at 2 px 0.7 % of the clear answers were wrong, at
3 px 0.1 %, at 4 px 0.02 %. The blur of an edge there is under a pixel beside that, so it is not asked for.
"""

_FRAME_PX = 1.0
_TOUCH_PX = 1e-9


@dataclass(frozen=True)
class PointRuling:
    """What holds at a place of a still, why, and the words that say so.

    `surface` is None where nothing is marked there. `distance_px` is how far the nearest edge of the zone in play is; None without one.
    """

    ruling: PointVerdict
    surface: RuleItem | None
    because: str
    said: tuple[Said, ...]
    distance_px: float | None


@dataclass(frozen=True)
class Marked:
    """A rule item with the area that its marks cover on the still, and that area after parts of the same thing have had their say.

    An item that has both accepted and draft marks comes twice.
    """

    item: RuleItem
    drawn: Area
    effective: Area
    draft: bool


@dataclass(frozen=True, eq=False)
class Zones:
    """The zones of one still for one division. Areas reach past the picture where a mark does; make once, ask often."""

    size: tuple[int, int]
    marked: tuple[Marked, ...]
    division: str | None
    unnamed_out: tuple[Said, ...] | None
    """The evidence of the blanket rule that the unnamed is out; None where the course does not say it."""
    unmarked: tuple[RuleItem, ...] = ()
    """What the station puts in play and nobody marked on this still: who asks where nothing is marked may be pointing at one of these."""

    @cached_property
    def out_of_play(self) -> Area:
        """What is expressly out; all that is not in play is out as well."""
        return union(found.effective for found in self.marked if self._ruling(found) == "out")

    @cached_property
    def in_play(self) -> Area:
        """What is in play for at least one limb."""
        return self.in_play_for(None)

    @cached_property
    def shown(self) -> tuple[Area, ...]:
        """What a reader is shown of each of `marked`, cut to the still: what is out comes without what is in play inside it."""
        frame = box(0, 0, *self.size)
        whole = (found.drawn if self._ruling(found) == "in" else polygons_of(found.drawn.difference(self.in_play)) for found in self.marked)
        return tuple(polygons_of(shape.intersection(frame)) for shape in whole)

    def in_play_for(self, limb: Limb | None) -> Area:
        """What a limb may touch; None: what any may."""
        if limb not in self._by_limb:
            inside = union(found.effective for found in self.marked if self._ruling(found) == "in" and found.item.allows(limb))
            zone = union([inside.difference(self.out_of_play)])
            shapely.prepare(zone)
            self._by_limb[limb] = zone
        return self._by_limb[limb]

    @property
    def tolerance_px(self) -> float:
        """How near an edge counts as too close to call, unless the caller says otherwise."""
        return max(LEAST_TOLERANCE_PX, TOLERANCE_SHARE * math.hypot(*self.size))

    def ruling_at(self, point: tuple[float, float], *, limb: Limb | None = None, tolerance_px: float | None = None) -> PointRuling:
        """The ruling at a point; see the function of the same name."""
        x, y = point
        if not (math.isfinite(x) and math.isfinite(y) and 0 <= x <= self.size[0] and 0 <= y <= self.size[1]):
            raise InvalidMark(
                f"point {x:g},{y:g}", f"it lies outside the still, which is {self.size[0]} x {self.size[1]} pixels. Ask inside it."
            )
        return self._ruling_of(ShapelyPoint(x, y), limb, tolerance_px)

    def ruling_along(
        self, places: Sequence[tuple[float, float]], *, region: bool, limb: Limb | None = None, tolerance_px: float | None = None
    ) -> PointRuling:
        """The ruling along a line or in a region; see the function of the same name."""
        if region:
            shape: BaseGeometry = area(Mark(id="asked region", still="", surface="", rings=(tuple(places),)), self.size)
        else:
            shape = LineString(places) if len(places) > 1 else ShapelyPoint(places[0])
            if not box(0, 0, *self.size).covers(shape):
                raise InvalidMark("asked line", f"it leaves the still, which is {self.size[0]} x {self.size[1]} pixels. Ask inside it.")
        return self._ruling_of(shape, limb, tolerance_px)

    def _ruling_of(self, shape: BaseGeometry, limb: Limb | None, tolerance_px: float | None) -> PointRuling:
        tolerance = self.tolerance_px if tolerance_px is None else tolerance_px
        zone = self.in_play_for(limb)
        edge = self._edge(limb)
        distance = None if edge.is_empty else edge.distance(shape)
        if distance is not None and distance <= max(tolerance, _TOUCH_PX):
            crossing = shape.geom_type != "Point" and distance == 0
            near = self._nearest(shape, limb)
            return PointRuling(
                "too close to call", near, _too_close(near, distance, tolerance, crossing), near.said if near else (), distance
            )
        if zone.covers(shape):
            return self._in_play(shape, limb, distance)
        return self._out_of_play(shape, limb, distance)

    def _in_play(self, shape: BaseGeometry, limb: Limb | None, distance: float | None) -> PointRuling:
        item = self._most_exact(shape, "in", limb)
        assert item is not None, "a zone in play has an item in play under it"
        because = item.sentence("in")
        if limb is not None and item.limbs is None:
            because += " Nobody said with which limbs."
        said = (*item.said, *item.limbs_said) if limb is not None and item.limbs else item.said
        return PointRuling("in play", item, because, said, distance)

    def _out_of_play(self, shape: BaseGeometry, limb: Limb | None, distance: float | None) -> PointRuling:
        item = self._most_exact(shape, "out", None)
        if item is not None:
            return PointRuling("out of play", item, item.sentence("out"), item.said, distance)
        item = self._most_exact(shape, "in", None) if limb is not None else None
        if item is not None and item.limbs is not None and limb is not None:
            because = f"The {item.full_name} {item.verb} in play, {limbs_only(item.limbs)}: the {limb} may not touch {item.pronoun}."
            return PointRuling("out of play", item, because, (*item.said, *item.limbs_said), distance)
        rule = COMMON_PRACTICE if self.unnamed_out is None else "What is not named is out of play."
        return PointRuling("out of play", None, f"Nothing is marked here. {rule}{self._but()}", self.unnamed_out or (), distance)

    def _but(self) -> str:
        """What an answer for a place where nothing is marked cannot know."""
        names = "; ".join(f"{item.full_name}" for item in self.unmarked)
        return f" In play, but not marked on this still: {names}." if names else ""

    @cached_property
    def _by_limb(self) -> dict[Limb | None, Area]:
        return {}

    @cached_property
    def _edges(self) -> dict[Limb | None, BaseGeometry]:
        return {}

    def _edge(self, limb: Limb | None) -> BaseGeometry:
        """The zone's edges less what runs along the frame: there the picture ends, not the thing."""
        if limb not in self._edges:
            frame = box(0, 0, *self.size).boundary.buffer(_FRAME_PX)
            edge = self.in_play_for(limb).boundary.difference(frame)
            shapely.prepare(edge)
            self._edges[limb] = edge
        return self._edges[limb]

    def _ruling(self, found: Marked) -> Literal["in", "out"]:
        return found.item.ruling_for(self.division)

    def _most_exact(self, shape: BaseGeometry, ruling: str, limb: Limb | None) -> RuleItem | None:
        """The item under a shape: a part before a whole, the station's own word before a blanket one, a small one before a large one."""
        touched = (self.marked[at] for at in self._areas.query(shape, predicate="intersects"))
        under = [found for found in touched if self._ruling(found) == ruling and found.item.allows(limb)]
        best = min(
            under, key=lambda found: (found.item.part is None, found.item.blanket, found.effective.area, found.item.id), default=None
        )
        return best.item if best else None

    def _nearest(self, shape: BaseGeometry, limb: Limb | None) -> RuleItem | None:
        """The item in play whose edge is nearest."""
        allowed, edges = self._edges_in_play(limb)
        return allowed[min(edges.query_nearest(shape))] if allowed else None

    @cached_property
    def _areas(self) -> shapely.STRtree:
        return shapely.STRtree([found.effective for found in self.marked])

    @cached_property
    def _nearest_by_limb(self) -> dict[Limb | None, tuple[tuple[RuleItem, ...], shapely.STRtree]]:
        return {}

    def _edges_in_play(self, limb: Limb | None) -> tuple[tuple[RuleItem, ...], shapely.STRtree]:
        if limb not in self._nearest_by_limb:
            found = [each for each in self.marked if self._ruling(each) == "in" and each.item.allows(limb) and not each.effective.is_empty]
            tree = shapely.STRtree([each.effective.boundary for each in found])
            self._nearest_by_limb[limb] = tuple(each.item for each in found), tree
        return self._nearest_by_limb[limb]


def zones(course: Course, station: Station, still_id: str, division: str | None = None, *, drafts: bool = False) -> Zones:
    """The zones of one still.

    Parameters
    ----------
    course, station : Course, Station
        The rules; blanket surfaces hold at every station.
    still_id : str
        One of the station's stills.
    division : str, optional
        A division for which a rule may differ; the main one without it.
    drafts : bool
        Also count surfaces and marks that nobody has accepted yet.

    Raises
    ------
    NotFound
        No such still or division.
    InvalidMark
        A mark of the still covers no area or is no outline. One that lies outside the picture simply adds nothing there.
    """
    still = still_of(station, still_id)
    known_division(course, station, division)
    items = rule_items(course, station, drafts=drafts)
    by_id = {name: item for item in items for name in (item.id, *item.replaces)}
    drawn: dict[tuple[str, bool], list[Area]] = {}
    for mark in station.marks:
        if mark.still == still_id and mark.surface in by_id and (drafts or mark.state == "accepted"):
            item = by_id[mark.surface]
            drawn.setdefault((item.id, "draft" in (mark.state, item.state)), []).append(area(mark))
    covered = [(item, draft, union(drawn[item.id, draft])) for item in items for draft in (False, True) if (item.id, draft) in drawn]
    marked = tuple(Marked(item, shape, _after_parts(item, shape, covered, division), draft) for item, draft, shape in covered)
    unnamed = [rule for rule in course.blanket if rule.rule == "unnamed-out" and (drafts or rule.state == "accepted")]
    evidence = tuple(said for rule in unnamed for said in rule.said) if unnamed else None
    unmarked = tuple(item for item in items if not item.blanket and item.ruling_for(division) == "in" and not _is_drawn(item, drawn))
    return Zones((still.width, still.height), marked, division, evidence, unmarked)


def _is_drawn(item: RuleItem, drawn: Mapping[tuple[str, bool], Sequence[Area]]) -> bool:
    """Whether an item has a mark, accepted or draft."""
    return any((item.id, draft) in drawn for draft in (False, True))


def ruling_at(
    course: Course,
    station: Station,
    still_id: str,
    point: tuple[float, float],
    *,
    limb: Limb | None = None,
    division: str | None = None,
    tolerance_px: float | None = None,
    drafts: bool = False,
) -> PointRuling:
    """The ruling at a point of a still, with the reason in plain words and the moment in the walk that says so.

    Parameters
    ----------
    point : (x, y)
        Pixels of the upright full-size still, origin at its top left corner.
    limb : "hands" or "feet", optional
        What touches. A surface that is in play for other limbs only is out for this one; where no limbs were said, the surface is in play
        and the reason says that limbs were not.
    division : str, optional
        As in `zones`.
    tolerance_px : float, optional
        Within this distance of the edge of the zone in play the answer is "too close to call" (on the edge itself always). Default
        `Zones.tolerance_px`, which grows with the picture.
    drafts : bool
        As in `zones`.

    Raises
    ------
    NotFound
        No such still or division.
    InvalidMark
        The point lies outside the still, or a mark is no outline.
    """
    return zones(course, station, still_id, division, drafts=drafts).ruling_at(point, limb=limb, tolerance_px=tolerance_px)


def ruling_along(
    course: Course,
    station: Station,
    still_id: str,
    ring_or_line: Sequence[tuple[float, float]],
    *,
    region: bool = True,
    limb: Limb | None = None,
    division: str | None = None,
    tolerance_px: float | None = None,
    drafts: bool = False,
) -> PointRuling:
    """The ruling for a whole region (a foot print; the ring closes itself) or, with `region` false, along a line.

    In play only where all of it is in play and farther than the tolerance from the zone's edge; out of play where none of it is and as
    far; all else is too close to call. Otherwise as `ruling_at`.
    """
    found = zones(course, station, still_id, division, drafts=drafts)
    return found.ruling_along(ring_or_line, region=region, limb=limb, tolerance_px=tolerance_px)


def still_of(station: Station, still_id: str) -> Still:
    """A station's still by its id; NotFound with those there are."""
    for still in station.stills:
        if still.id == still_id:
            return still
    raise NotFound("still", still_id, [still.id for still in station.stills])


def _after_parts(item: RuleItem, drawn: Area, covered: Sequence[tuple[RuleItem, bool, Area]], division: str | None) -> Area:
    """A whole's area less the parts of the same thing that are ruled otherwise; a part keeps what it has."""
    if item.part is not None:
        return drawn
    parts = [
        shape
        for other, _, shape in covered
        if other.part is not None and other.thing == item.thing and other.ruling_for(division) != item.ruling_for(division)
    ]
    return union([drawn.difference(union(parts))]) if parts else drawn


def _too_close(near: RuleItem | None, distance: float, tolerance: float, crossing: bool) -> str:
    of = f" of the {near.full_name}" if near else ""
    if crossing:
        return f"This reaches over the edge{of}. Look at the parts on their own, or at the walk."
    away = f"{distance:.1f} pixels from" if distance >= 0.05 else "on"
    return f"This is {away} the edge{of}; within {tolerance:.1f} a still cannot tell. Look at the walk or at the thing itself."
