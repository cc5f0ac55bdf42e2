"""A still as readers get it: the overlay, the words for those who cannot see it, and the areas that answer a tap without a network.

In: a course, a station and one of its stills. Out: a `StillPage`. Zones, rulings and the drawing are annotator/marks; here they are only
asked for once per division that differs, and put into words.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from annotator.booklet.lines import Teller
from annotator.booklet.values import StillPage
from annotator.course import BlanketRule, Course, Mark, Ruling, Station, Still, Surface
from annotator.errors import InvalidMark
from annotator.marks import area, overlay_svg, zones
from annotator.units import clock

TOLERANCE_SHARE = 0.004
"""How near to an edge a tap is too close to call, as a share of the still's longer side: about a line's width as drawn."""


def still_page(teller: Teller, course: Course, station: Station, still: Still, title: str) -> StillPage:
    """One still with everything that readers see of it, main division first, then each division that differs at this station."""
    told = {"": None, **{name: name for name in differing(course, station)}}
    things = _things(teller, course, station, still)
    return StillPage(
        id=still.id,
        width=still.width,
        height=still.height,
        time_s=still.time_s,
        alt=_alt(teller, still, title, things),
        overlays={
            key: overlay_svg(course, station, still.id, division=division, plates=True, drafts=teller.drafts)
            for key, division in told.items()
        },
        answers={key: _answers(teller, course, station, still, division, things) for key, division in told.items()},
    )


def differing(course: Course, station: Station) -> tuple[str, ...]:
    """The divisions for which something at this station is ruled otherwise, in the course's order."""
    rulings: list[tuple[Mapping[str, Ruling], Ruling]] = [(one.divisions or {}, one.ruling) for one in station.surfaces]
    rulings += [(one.divisions or {}, one.ruling or "in") for one in course.blanket if one.rule == "surface"]
    names = {name for divisions, ruling in rulings for name, other in divisions.items() if other != ruling}
    return tuple(dict.fromkeys((*(name for name in course.divisions if name in names), *sorted(names))))


def rings(shape: BaseGeometry) -> list[list[list[list[float]]]]:
    """Polygons as lists of rings (outline first) of points, to a tenth of a pixel; what has no area is left out.

    >>> rings(Polygon([(0, 0), (4, 0), (4, 4)]))
    [[[[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 0.0]]]]
    """
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [
        [[[round(x, 1), round(y, 1)] for x, y, *_ in ring.coords] for ring in (part.exterior, *part.interiors)]
        for part in parts
        if isinstance(part, Polygon) and not part.is_empty
    ]


class _Thing:
    """One surface with its marks on this still."""

    def __init__(self, one: Surface | BlanketRule, text: str, shape: BaseGeometry) -> None:
        self.ruling: Ruling = one.ruling or "in"
        self.divisions: Mapping[str, Ruling] = one.divisions or {}
        self.part = one.part
        self.text, self.shape = text, shape


def _things(teller: Teller, course: Course, station: Station, still: Still) -> list[_Thing]:
    found = []
    blanket = [one for one in teller.accepted(course.blanket) if one.rule == "surface"]
    surfaces = [one for one in station.surfaces if teller.drafts or one.state == "accepted"]
    items: tuple[Surface | BlanketRule, ...] = (*surfaces, *blanket)
    for one in items:
        shape: BaseGeometry = Polygon()
        for mark in station.marks:
            if mark.still == still.id and mark.surface == one.id and (teller.drafts or mark.state == "accepted"):
                shape = shape.union(_area(mark, still))
        if not shape.is_empty:
            name = (one.surface or "") if isinstance(one, BlanketRule) else one.name
            contact = one.contact or (station.contact if not isinstance(one, BlanketRule) else None)
            found.append(_Thing(one, teller.thing(name, one.part, contact if one.ruling != "out" else None), shape))
    return found


def _area(mark: Mark, still: Still) -> BaseGeometry:
    """The mark's area within the still; nothing for a mark that covers none of it, which the check reports to staff."""
    try:
        return area(mark, (still.width, still.height))
    except InvalidMark:
        return Polygon()


def _answers(teller: Teller, course: Course, station: Station, still: Still, division: str | None, things: list[_Thing]) -> dict[str, Any]:
    """Zones and things as plain lists, parts before wholes, so that the first thing under a point is the one that rules there."""
    found = zones(course, station, still.id, division=division, drafts=teller.drafts)
    return {
        "tolerance": round(max(still.width, still.height) * TOLERANCE_SHARE, 1),
        "in": rings(found.in_play),
        "out": rings(found.out_of_play),
        "things": [
            {"text": one.text, "ruling": one.divisions.get(division or "", one.ruling), "area": rings(one.shape)}
            for one in sorted(things, key=lambda one: (one.part is None, one.shape.area))
        ],
    }


def _alt(teller: Teller, still: Still, title: str, things: list[_Thing]) -> str:
    """What is marked in the picture, where, and how it is ruled: "In play: blue boxes, left."."""
    say = teller.wording.say
    sentences = []
    for ruling in ("in", "out"):
        names = [say("alt-where", thing=one.text, where=_where(teller, one.shape, still)) for one in things if one.ruling == ruling]
        if names:
            sentences.append(say(f"alt-{ruling}", things="; ".join(names)))
    marked = " ".join(sentences) or say("alt-bare")
    return say("alt", station=title, clock=clock(still.time_s), marked=marked)


def _where(teller: Teller, shape: BaseGeometry, still: Still) -> str:
    """The ninth of the picture in which the middle of the area lies."""
    middle = shape.centroid
    column = min(2, max(0, int(3 * middle.x / still.width)))
    row = min(2, max(0, int(3 * middle.y / still.height)))
    return teller.wording.say(f"where:{column},{row}")
