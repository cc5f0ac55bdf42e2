"""What the marks of a still come to, the same in every language: zones, what rules at a point, spots to ask about. Kept by content.

In: a course, a station and one of its stills. Out: a `Ground`. Two languages of one course, and two states of it in which nothing that
counts for this still differs, share one. Putting it into words is stills.py and quiz.py.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from threading import Lock
from typing import Any, Generic, TypeVar

import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from annotator.course import Course, Station, Still
from annotator.marks import Zones, rule_items, zones

Given = TypeVar("Given")
Made = TypeVar("Made")
_FRAME_PX = 1.0
"""An edge this near to the frame is where the picture ends, not the thing; the ruling at a point leaves it out as well."""
_MOST_KEPT = 512


class WhenAsked(Mapping[str, Made], Generic[Given, Made]):
    """Things by division, each made when it is first asked for, and the divisions too: what is kept from before needs none of them."""

    def __init__(self, asked: Callable[[], Mapping[str, Given]], make: Callable[[Given], Made]) -> None:
        self._ask, self._make = asked, make
        self._done: dict[str, Made] = {}

    @cached_property
    def _asked(self) -> Mapping[str, Given]:
        return self._ask()

    def __getitem__(self, key: str) -> Made:
        if key not in self._done:
            self._done[key] = self._make(self._asked[key])
        return self._done[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._asked)

    def __len__(self) -> int:
        return len(self._asked)


@dataclass(frozen=True)
class Ground:
    """The zones of a still, "" for the course without a division, then each division that differs here, and what comes of them."""

    key: str
    """SHA-256 of all that counts for it."""
    zones: Mapping[str, Zones]
    _found: dict[tuple[str, str], Any] = field(default_factory=dict)

    def answers(self, division: str) -> dict[str, Any]:
        """What rules at a point, as plain lists, its things without their names; see `ruling_data`."""
        return self.once("answers", division, ruling_data)

    def area(self, division: str) -> bytes:
        """The zone in play as well-known binary (OGC 06-103r4)."""
        return self.once("area", division, lambda found: shapely.to_wkb(found.in_play))

    def once(self, what: str, division: str, work_out: Callable[[Zones], Made]) -> Made:
        """Something that hangs on the zones alone, worked out when it is first asked for."""
        if (what, division) not in self._found:
            self._found[what, division] = work_out(self.zones[division])
        made: Made = self._found[what, division]
        return made


_kept: OrderedDict[str, Ground] = OrderedDict()
_turn = Lock()


def ground(course: Course, station: Station, still: Still, *, drafts: bool) -> Ground:
    """The ground of a still, from what is kept where nothing that counts has changed since."""
    key = _key(course, station, still, drafts)
    with _turn:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]

    def told() -> dict[str, str | None]:
        return {"": None, **{name: name for name in differing(course, station, drafts=drafts)}}

    made = Ground(key, WhenAsked(told, lambda division: zones(course, station, still.id, division, drafts=drafts)))
    with _turn:
        _kept[key] = made
        while len(_kept) > _MOST_KEPT:
            _kept.popitem(last=False)
    return made


def _key(course: Course, station: Station, still: Still, drafts: bool) -> str:
    counts = [
        [rule.model_dump(mode="json") for rule in course.blanket],
        course.divisions,
        station.model_dump(mode="json", include={"id", "contact", "surfaces", "said"}),
        [mark.model_dump(mode="json") for mark in station.marks if mark.still == still.id],
        still.model_dump(mode="json", include={"id", "width", "height"}),
        drafts,
    ]
    return hashlib.sha256(json.dumps(counts, sort_keys=True).encode()).hexdigest()


def differing(course: Course, station: Station, *, drafts: bool = False) -> tuple[str, ...]:
    """The divisions for which something at this station is ruled otherwise, in the course's order, then those only it names."""
    items = rule_items(course, station, drafts=drafts)
    names = {name for item in items for name, ruling in item.divisions.items() if ruling != item.ruling}
    return tuple(dict.fromkeys((*(name for name in course.divisions if name in names), *sorted(names))))


def ruling_data(found: Zones) -> dict[str, Any]:
    """What rules at a point, as plain lists: a point is in play where a thing that is in covers it and none that is out does, and too
    close to call within the tolerance of the zone's edge. The first thing under a point is the one to name; `item` is to be named.
    `unmarked` are things in play that have no mark on the still.
    """
    frame = box(0, 0, *found.size).boundary.buffer(_FRAME_PX)
    edge = found.in_play.boundary.difference(frame)
    lines = [] if edge.is_empty else list(getattr(edge, "geoms", [edge]))
    first = sorted(found.marked, key=lambda one: (one.item.part is None, one.item.blanket, one.effective.area))
    return {
        "tolerance": round(found.tolerance_px, 2),
        "edge": [_points(line.coords) for line in lines],
        "things": [{"item": one.item, "ruling": one.item.ruling_for(found.division), "area": rings(one.effective)} for one in first],
        "unmarked": list(found.unmarked),
    }


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
