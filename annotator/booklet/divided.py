"""What reads otherwise for a division, as the lines that then stand in the sheet, so that a switch can show a division's own rules.

In: models of the course. Out: lines with the section they belong in. The words are lines.py's: a division's sheet is told as if its rulings
were everyone's, and the lines about what differs are taken from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from annotator.booklet.lines import Teller
from annotator.booklet.values import Divided, Section
from annotator.course import BlanketRule, Course, Station, Surface

Item = TypeVar("Item", Surface, BlanketRule)


def divisions_of(course: Course, stations: Sequence[Station]) -> tuple[str, ...]:
    """The course's divisions in its order, then those that only a rule names."""
    named = {name for station in stations for one in station.surfaces for name in one.divisions or {}}
    named |= {name for one in course.blanket for name in one.divisions or {}}
    return tuple(dict.fromkeys((*course.divisions, *sorted(named))))


def divided_at(teller: Teller, course: Course, station: Station) -> tuple[Divided, ...]:
    """The lines of a station's sheet that read otherwise, division by division."""
    found: list[Divided] = []
    for name in divisions_of(course, [station]):
        ids = _differing((*station.surfaces, *course.blanket), name)
        if ids:
            own = station.model_copy(update={"surfaces": tuple(_as_for(one, name) for one in station.surfaces)})
            found += _lines(teller.station(_course_for(course, name), own), ids, name)
    return tuple(found)


def divided_everywhere(teller: Teller, course: Course) -> tuple[Divided, ...]:
    """The lines about what holds at every station that read otherwise, division by division."""
    found: list[Divided] = []
    for name in divisions_of(course, []):
        ids = _differing(course.blanket, name)
        found += _lines(teller.blanket(_course_for(course, name)), ids, name)
    return tuple(found)


def _differing(items: Iterable[Surface | BlanketRule], division: str) -> set[str | None]:
    return {one.id for one in items if (one.divisions or {}).get(division, one.ruling) != one.ruling}


def _course_for(course: Course, division: str) -> Course:
    return course.model_copy(update={"blanket": tuple(_as_for(one, division) for one in course.blanket)})


def _as_for(one: Item, division: str) -> Item:
    ruling = (one.divisions or {}).get(division, one.ruling)
    return one.model_copy(update={"ruling": ruling, "divisions": None})


def _lines(sections: Iterable[Section], ids: set[str | None], division: str) -> Iterator[Divided]:
    return (Divided(division, section.key, rule) for section in sections for rule in section.rules if rule.surface in ids - {None})
