"""A still as readers get it: the overlay, the words for those who cannot see it, and the areas that answer a tap without a network.

In: a course, a station and one of its stills. Out: a `StillPage`. Zones, rulings and the drawing are annotator/marks; here they are only
asked for once per division that differs, and put into words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any, Final, Generic, TypeVar

import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from annotator.booklet.lines import Teller
from annotator.booklet.quiz import questions
from annotator.booklet.values import StillPage
from annotator.course import Course, Station, Still
from annotator.marks import Marked, Zones, overlay_svg, rule_items, zones
from annotator.units import clock

RULINGS: Final = ("in", "out")
_FRAME_PX = 1.0
"""An edge this near to the frame is where the picture ends, not the thing; the ruling at a point leaves it out as well."""


Given = TypeVar("Given")
Made = TypeVar("Made")


class WhenAsked(Mapping[str, Made], Generic[Given, Made]):
    """Things by division, each made when it is first asked for: placing plates takes a while, and no output needs them all."""

    def __init__(self, asked: Mapping[str, Given], make: Callable[[Given], Made]) -> None:
        self._asked, self._make = asked, make
        self._done: dict[str, Made] = {}

    def __getitem__(self, key: str) -> Made:
        if key not in self._done:
            self._done[key] = self._make(self._asked[key])
        return self._done[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._asked)

    def __len__(self) -> int:
        return len(self._asked)


def still_page(teller: Teller, course: Course, station: Station, still: Still, title: str) -> StillPage:
    """One still with everything that readers see of it, main division first, then each division that differs at this station."""
    told: dict[str, str | None] = {"": None, **{name: name for name in differing(course, station, drafts=teller.drafts)}}
    words = teller.wording.plates
    draw = partial(overlay_svg, course, station, still.id, drafts=teller.drafts, words=words, tell=teller.ruled)
    unit = paper_unit(still.width, still.height)
    found = {key: zones(course, station, still.id, division, drafts=teller.drafts) for key, division in told.items()}
    return StillPage(
        id=still.id,
        width=still.width,
        height=still.height,
        time_s=still.time_s,
        alt=still.alt.get(teller.wording.language) or _alt(teller, still, title, found[""]),
        overlays=WhenAsked(told, lambda asked: draw(division=asked)),
        paper_overlays=WhenAsked(
            told, lambda asked: draw(division=asked, unit=unit, widths="picture", line_share=paper_lines(still.width, still.height))
        ),
        answers={key: _answers(teller, found[key]) for key in told},
        areas={key: shapely.to_wkb(found[key].in_play) for key in told},
        questions=WhenAsked({} if teller.drafts else found, lambda zones: questions(teller, still.id, zones)),
    )


def paper_unit(width_px: int, height_px: int) -> float:
    """Pixels of the still for one pixel of text or line on paper.

    >>> paper_unit(1280, 720), paper_unit(720, 1280)
    (3.2, 3.0)
    """
    return width_px / (400 if width_px >= height_px else 240)


def paper_lines(width_px: int, height_px: int) -> float:
    """The share of that for lines: those of 3 px are 0.6 mm wide or more where the still is printed 95 mm wide (upright: 48 mm).

    >>> wide = 3 * paper_unit(1280, 720) * paper_lines(1280, 720)
    >>> round(wide * 95 / 1280, 2), round(3 * paper_unit(720, 1280) * paper_lines(720, 1280) * 48 / 720, 2)
    (0.61, 0.6)
    """
    return 0.85 if width_px >= height_px else 1.0


def differing(course: Course, station: Station, *, drafts: bool = False) -> tuple[str, ...]:
    """The divisions for which something at this station is ruled otherwise, in the course's order, then those only it names."""
    items = rule_items(course, station, drafts=drafts)
    names = {name for item in items for name, ruling in item.divisions.items() if ruling != item.ruling}
    return tuple(dict.fromkeys((*(name for name in course.divisions if name in names), *sorted(names))))


def rings(shape: BaseGeometry) -> list[list[list[list[float]]]]:
    """Polygons as lists of rings (outline first) of points, to a thousandth of a pixel; what has no area is left out.

    >>> rings(Polygon([(0, 0), (4, 0), (4, 4)]))
    [[[[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 0.0]]]]
    """
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [
        [_points(ring.coords) for ring in (part.exterior, *part.interiors)]
        for part in parts
        if isinstance(part, Polygon) and not part.is_empty
    ]


def _points(places: Iterable[Any]) -> list[list[float]]:
    return [[round(x, 3), round(y, 3)] for x, y, *_ in places]


def _answers(teller: Teller, found: Zones) -> dict[str, Any]:
    """What rules at a point, as plain lists: a point is in play where a thing that is in covers it and none that is out does, and too
    close to call within the tolerance of the zone's edge. The first thing under a point is the one to name.
    """
    frame = box(0, 0, *found.size).boundary.buffer(_FRAME_PX)
    edge = found.in_play.boundary.difference(frame)
    lines = [] if edge.is_empty else list(getattr(edge, "geoms", [edge]))
    first = sorted(found.marked, key=lambda one: (one.item.part is None, one.item.blanket, one.effective.area))
    return {
        "tolerance": round(found.tolerance_px, 2),
        "edge": [_points(line.coords) for line in lines],
        "things": [
            {
                "text": str(teller.item(one.item, one.item.ruling_for(found.division))),
                "ruling": one.item.ruling_for(found.division),
                "area": rings(one.effective),
            }
            for one in first
        ],
    }


def _alt(teller: Teller, still: Still, title: str, found: Zones) -> str:
    """What is marked in the picture, where, and how it is ruled: "In play: blue boxes, left."."""
    say = teller.wording.say
    sentences = []
    for ruling in RULINGS:
        names = [
            say("alt-where", thing=teller.item(one.item, ruling), where=_where(teller, one, still))
            for one in found.marked
            if one.item.ruling_for(None) == ruling and not one.effective.is_empty
        ]
        if names:
            sentences.append(say(f"alt-{ruling}", things="; ".join(dict.fromkeys(names))))
    marked = " ".join(sentences) or say("alt-bare")
    return say("alt", station=title, clock=clock(still.time_s), marked=marked)


def _where(teller: Teller, one: Marked, still: Still) -> str:
    """The ninth of the picture in which the middle of the area lies."""
    middle = one.effective.centroid
    column = min(2, max(0, int(3 * middle.x / still.width)))
    row = min(2, max(0, int(3 * middle.y / still.height)))
    return teller.wording.say(f"where:{column},{row}")
