"""Where marks of opposite rulings lie over each other: nobody can tell from them what holds there.

In: the course and a station as people left them. Out: findings. A part and its whole may be ruled otherwise; that is no clash (zones.py
lets the part win). A sliver that drawing by hand explains is none either.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from annotator.course import Course, Finding, Station
from annotator.errors import InvalidMark
from annotator.marks.items import RuleItem, rule_items
from annotator.marks.zones import Marked, Zones, zones

SLIVERS = 1.35
"""An overlap nowhere wider than twice this many tolerances comes from drawing: two hands err at one edge."""
_SMALL = 0.02


def clashes(course: Course, station: Station) -> tuple[Finding, ...]:
    """Each pair of surfaces of opposite rulings whose marks overlap on a still, once, with the divisions that it concerns.

    Drafts count too: they are what a person is about to accept. A still with a mark that is no outline is passed over; that is told where
    the zones are asked for.
    """
    found: dict[tuple[str, str], list[tuple[str, str | None, RuleItem, RuleItem]]] = {}
    named = [None, *dict.fromkeys([*course.divisions, *(name for item in rule_items(course, station) for name in item.divisions)])]
    for still in station.stills:
        for division in named:
            try:
                here = zones(course, station, still.id, division, drafts=True)
            except InvalidMark:
                break
            for inside, outside in _pairs(here):
                key = (inside.item.id, outside.item.id)
                found.setdefault(key, []).append((still.id, division, inside.item, outside.item))
    who = f"Station {station.number} ({station.name})" if station.name else f"Station {station.number}"
    return tuple(_finding(station, who, places) for places in _once(found))


def _pairs(here: Zones) -> Iterator[tuple[Marked, Marked]]:
    """What is in play with what is out of play over it."""
    for one, other in combinations(here.marked, 2):
        rulings = {found.item.ruling_for(here.division): found for found in (one, other)}
        if len(rulings) == 1 or _is_part(one.item, other.item) or not one.effective.intersects(other.effective):
            continue
        shared = one.effective.intersection(other.effective)
        smaller = min(one.effective.area, other.effective.area)
        if shared.area > _SMALL * smaller and not shared.buffer(-SLIVERS * here.tolerance_px).is_empty:
            yield rulings["in"], rulings["out"]


def _is_part(one: RuleItem, other: RuleItem) -> bool:
    """Whether they are one thing and a part of it; two parts of one thing are not parts of each other."""
    return one.thing == other.thing and (one.part is None) != (other.part is None)


def _once(
    found: dict[tuple[str, str], list[tuple[str, str | None, RuleItem, RuleItem]]],
) -> Iterator[list[tuple[str, str | None, RuleItem, RuleItem]]]:
    """Each pair once, whichever of the two is in play in which division; the main ruling first."""
    told: set[frozenset[str]] = set()
    for key, places in found.items():
        pair = frozenset(key)
        if pair in told:
            continue
        told.add(pair)
        mirrored = found.get((key[1], key[0]), [])
        yield sorted([*places, *mirrored], key=lambda place: place[1] is not None)


def _finding(station: Station, who: str, places: list[tuple[str, str | None, RuleItem, RuleItem]]) -> Finding:
    _, division, inside, outside = places[0]
    stills = list(dict.fromkeys(still for still, _, _, _ in places))
    where = f"on still {stills[0]}" if len(stills) == 1 else f"on stills {', '.join(stills[:-1])} and {stills[-1]}"
    held = f" for {division}" if division is not None else ""
    about = (
        f"{who}: {where} the marks of the {inside.full_name} (in play{held}) and the {outside.full_name} (out of play) lie over each "
        "other. Where they do, out of play wins. Redraw one of them, or change its ruling."
    )
    said = (*inside.said[:1], *outside.said[:1])
    own = {surface.id for surface in station.surfaces}
    about_surface = next((item.id for item in (outside, inside) if item.id in own), outside.id)
    return Finding(kind="marks-disagree", station=station.number, severity="warning", about=about, surface=about_surface, said=said)
