"""Find what an edit names, and say what there is where nothing or more than one thing fits. Pure."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import TypeVar

from annotator.course.document import Course, Station, Surface
from annotator.course.sheet import BlanketRule, SheetSurface
from annotator.errors import InvalidEdit

T = TypeVar("T")


def same_name(one: str | None, other: str | None) -> bool:
    """Whether two names are one to a reader: case and spaces aside.

    >>> same_name("Blue  platform", "blue platform")
    True
    """
    return key(one) == key(other)


def key(name: str | None) -> str:
    """A name as it is compared."""
    return " ".join((name or "").casefold().split())


def spelt(item: SheetSurface | Surface | BlanketRule) -> str:
    """What a surface or a blanket rule says, as one line of JSON: without its evidence, id, state and confidence."""
    said = item.model_dump(mode="json", exclude={"id", "said", "state", "confidence"})
    names = {field: key(said[field]) for field in ("name", "surface", "part") if said.get(field)}
    return json.dumps(said | names, sort_keys=True, ensure_ascii=False)


def station_at(stations: Sequence[Station], number: int, edit: str) -> Station:
    """The station with this number as it stands."""
    for station in stations:
        if station.number == number:
            return station
    there = ", ".join(label(station) for station in stations) or "none yet"
    raise InvalidEdit(edit, f"there is no station {number}. The stations are: {there}.")


def surface_of(station: Station, name: str, part: str | None, edit: str) -> Surface:
    """The station's surface with this id, or the only one with this name (and part, where one is given)."""
    found = [surface for surface in station.surfaces if surface.id == name]
    found = found or [surface for surface in station.surfaces if same_name(surface.name, name)]
    if part is not None:
        found = [surface for surface in found if same_name(surface.part, part)]
    elif len(found) > 1:
        found = [surface for surface in found if surface.part is None] or found
    known = [f"{thing(surface.name, surface.part)} [{surface.id}]" for surface in (found or station.surfaces)]
    return _only(found, edit, f"surface {thing(name, part)!r} at station {station.number}", known)


def blanket_of(course: Course, name: str, part: str | None, edit: str) -> BlanketRule:
    """The blanket rule with this id, or the only one with this surface (or kind, where it has none) and part."""
    found = [rule for rule in course.blanket if rule.id == name]
    found = found or [rule for rule in course.blanket if same_name(rule.surface or rule.rule, name)]
    if part is not None:
        found = [rule for rule in found if same_name(rule.part, part)]
    elif len(found) > 1:
        found = [rule for rule in found if rule.part is None] or found
    known = [f"{thing(rule.surface or rule.rule, rule.part)} [{rule.id}]" for rule in (found or course.blanket)]
    return _only(found, edit, f"blanket rule {thing(name, part)!r}", known)


def thing(name: str, part: str | None) -> str:
    """A surface as people write it: "post pads (top)"."""
    return f"{name} ({part})" if part else name


def label(station: Station) -> str:
    """A station as people write it: "3 ring row"."""
    return f"{station.number} {station.name}" if station.name else str(station.number)


def _only(found: Sequence[T], edit: str, what: str, known: Iterable[str]) -> T:
    there = ", ".join(known) or "none"
    if not found:
        raise InvalidEdit(edit, f"there is no {what}. There is: {there}.")
    if len(found) > 1:
        raise InvalidEdit(edit, f"more than one fits {what}: {there}. Name it by the id in brackets.")
    return found[0]
