"""What does not fit between a station and the rules for the whole course, between neighbours, or between two things of one name.

Works on drafted and on kept surfaces alike, so that the draft and the check on a course say the same. Contradictions inside one station are
heard by the drafter (sheet.py), which knows what corrected what.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Protocol, TypeVar

from annotator.course import BlanketRule, Contact, Ruling, Said
from annotator.rules.likeness import same_head
from annotator.rules.wordings import be, called

EVERYTHING = frozenset({"everything", "anything", "all", "all obstacles", "all stations", "everywhere"})
_ARTICLE = re.compile(r"^(?:the|a|an|this|that|these|those|our|your|all|any|every|each)\s+")


class Ruled(Protocol):
    """A surface of a station, drafted or kept."""

    @property
    def name(self) -> str: ...
    @property
    def part(self) -> str | None: ...
    @property
    def role(self) -> str: ...
    @property
    def ruling(self) -> Ruling: ...
    @property
    def contact(self) -> Contact | None: ...
    @property
    def divisions(self) -> dict[str, Ruling] | None: ...
    @property
    def said(self) -> tuple[Said, ...]: ...


S = TypeVar("S", bound=Ruled)


def same_name(one: str | None, other: str | None) -> bool:
    """Whether two names are written for one thing: articles, capitals and the plural of the last word aside.

    >>> same_name("the Post pads", "post pad"), same_name("red ring", "ring"), same_name(None, None), same_name(None, "top")
    (True, False, True, False)
    """
    if one is None or other is None:
        return one is other
    mine, yours = _bare(one), _bare(other)
    return mine[:-1] == yours[:-1] and (mine == yours or bool(mine and yours and same_head(mine[-1], yours[-1])))


def _bare(name: str) -> list[str]:
    return _ARTICLE.sub("", " ".join(name.casefold().replace("-", " ").split())).split()


def limbs_known(contact: Contact | None, surfaces: Sequence[Ruled], blanket: Sequence[BlanketRule]) -> bool:
    """Whether the station, its route or a rule for the whole course says the limbs.

    A rule for the whole course counts for everything, or for each thing that it names.
    """
    if contact is not None:
        return True
    stated = [rule for rule in blanket if rule.rule == "surface" and rule.contact is not None and rule.part is None]
    if any((rule.surface or "").casefold() in EVERYTHING for rule in stated):
        return True
    route = [s for s in surfaces if s.role == "route" and s.ruling == "in"]
    return bool(route) and all(s.contact is not None or any(same_name(s.name, rule.surface) for rule in stated) for s in route)


def against_blanket(surfaces: Sequence[S], blanket: Sequence[BlanketRule]) -> Iterator[tuple[S, BlanketRule]]:
    """Each surface that rules against a rule for the whole course: an exception perhaps, which a person has to say.

    A rule that differs by division is left to the divisions.
    """
    for surface in surfaces:
        for rule in blanket:
            if (
                rule.rule == "surface"
                and rule.ruling not in (None, surface.ruling)
                and same_name(rule.surface, surface.name)
                and same_name(rule.part, surface.part)
                and not surface.divisions
                and not rule.divisions
            ):
                yield surface, rule


def about_blanket(who: str, surface: Ruled, rule: BlanketRule) -> str:
    """The sentence for one that `against_blanket` found."""
    here, there = (_in_words(ruling) for ruling in (surface.ruling, rule.ruling))
    return f"{who}: the {_is(surface)} {here} here, but {there} everywhere by the rules said for the whole course."


def kinds_against_blanket(surfaces: Sequence[S], blanket: Sequence[BlanketRule]) -> Iterator[tuple[S, BlanketRule]]:
    """Each surface that a typed rule for every station rules otherwise for all of its kind: the red mat is the start, and mats are out.

    Who says so on the walk has the course before the eyes and means other mats; who types it may not have thought of that one. A rule for a
    narrower kind that agrees with the station ("red mats are in") goes before that for the wider one.
    """
    ruled = [rule for rule in blanket if rule.rule == "surface" and rule.ruling and not (rule.part or rule.said)]
    for surface in surfaces:
        mine = [rule for rule in ruled if surface.part is None and not surface.divisions and _is_kind_of(surface.name, rule.surface)]
        for rule in mine:
            closer = [other for other in mine if len(_bare(other.surface or "")) > len(_bare(rule.surface or ""))]
            told = not rule.divisions and same_name(rule.surface, surface.name)  # `against_blanket` tells of it
            if rule.ruling != surface.ruling and not told and not closer:
                yield surface, rule


def _is_kind_of(name: str, kind: str | None) -> bool:
    """Whether a name is of a kind of things, or written for it: "red mat" of "the mats".

    >>> _is_kind_of("red mat", "the mats"), _is_kind_of("mat", "mats"), _is_kind_of("mat", "red mats"), _is_kind_of("mat stack", "mats")
    (True, True, False, False)
    """
    mine, yours = _bare(name), _bare(kind or "")
    return bool(yours) and len(yours) <= len(mine) and same_name(" ".join(mine[-len(yours) :]), " ".join(yours))


def about_kind(who: str, surface: Ruled, rule: BlanketRule) -> str:
    """The sentence for one that `kinds_against_blanket` found."""
    here, there = (_in_words(ruling) for ruling in (surface.ruling, rule.ruling))
    kind = _ARTICLE.sub("", rule.surface or "")
    there += "".join(f", {_in_words(ruling)} for {division}" for division, ruling in (rule.divisions or {}).items())
    return (
        f"{who}: the {_is(surface)} {here} here, but “{kind}: {there}” is a rule for every station. Change one of them; or put this "
        "aside if that rule is not about it."
    )


def classes_against_blanket(surfaces: Sequence[S], blanket: Sequence[BlanketRule]) -> Iterator[tuple[S, BlanketRule, str, Ruling]]:
    """Each surface that rules for all what a rule for the whole course rules otherwise for a class, with the class and that ruling.

    The station's own line holds there, and the class would be told two things.
    """
    for surface in surfaces:
        for rule in blanket:
            if rule.rule == "surface" and _is_about(rule, surface):
                here = {name.casefold(): ruling for name, ruling in (surface.divisions or {}).items()}
                for division, ruling in (rule.divisions or {}).items():
                    if ruling not in (rule.ruling, here.get(division.casefold(), surface.ruling)):
                        yield surface, rule, division, ruling


def _is_about(rule: BlanketRule, surface: Ruled) -> bool:
    """Whether a rule for the whole course is about a surface; a typed one is about all of its kind."""
    if not same_name(rule.part, surface.part):
        return False
    return same_name(rule.surface, surface.name) or (not rule.said and rule.part is None and _is_kind_of(surface.name, rule.surface))


def about_class(who: str, surface: Ruled, division: str, ruling: Ruling) -> str:
    """The sentence for one that `classes_against_blanket` found."""
    here, there = _in_words("in" if ruling == "out" else "out"), _in_words(ruling)
    return f"{who}: the {_is(surface)} {here} for {division} here, but {there} for them by a rule for every station. Change one of them."


def against_neighbour(before: Sequence[Ruled], after: Sequence[S]) -> Iterator[tuple[Ruled, S]]:
    """Each part of a shared platform (one station's finish, the next one's start) that the two stations rule differently."""
    ends = [surface.name for surface in before if surface.role == "finish"]
    starts = [surface.name for surface in after if surface.role == "start"]
    shared = [name for name in starts if any(same_name(name, end) for end in ends)]
    for mine in before:
        for yours in after:
            if (
                mine.part is not None
                and same_name(mine.part, yours.part)
                and mine.ruling != yours.ruling
                and same_name(mine.name, yours.name)
                and any(same_name(mine.name, name) for name in shared)
                and not mine.divisions
                and not yours.divisions
            ):
                yield mine, yours


def about_neighbour(who: str, before: str, mine: Ruled, yours: Ruled) -> str:
    """The sentence for one that `against_neighbour` found; `before` is how the station before it is called."""
    here, there = _in_words(yours.ruling), _in_words(mine.ruling)
    return f"{who}: the {_is(yours)} {here} here, but {there} at {_lower(before)}, which ends on it."


def start_and_finish(surfaces: Sequence[S]) -> Iterator[tuple[S, S]]:
    """Each start and finish of a station that go by one name: the athlete comes back to it, or two things share a name."""
    for start in surfaces:
        for finish in surfaces:
            if (
                start.role == "start"
                and finish.role == "finish"
                and same_name(start.name, finish.name)
                and same_name(start.part, finish.part)
            ):
                yield start, finish


def about_start_and_finish(who: str, finish: Ruled) -> str:
    """The sentence for one that `start_and_finish` found."""
    return f"{who}: the {_is(finish)} both its start and its finish. If these are two things, give each its own name."


def ruled_twice(surfaces: Sequence[S]) -> Iterator[tuple[S, S]]:
    """Each pair of lines of one station that rule one thing, in one role, in two ways, as after two tellings were put together.

    Lines for different limbs may both hold ("the rope is in for hands", "out for feet"), and so may those that differ for a division.
    """
    for place, one in enumerate(surfaces):
        for other in surfaces[place + 1 :]:
            if (
                one.role == other.role
                and one.ruling != other.ruling
                and same_name(one.name, other.name)
                and same_name(one.part, other.part)
                and not one.divisions
                and not other.divisions
                and not (one.contact and other.contact and set(one.contact).isdisjoint(other.contact))
            ):
                yield one, other


def about_ruled_twice(who: str, one: Ruled, other: Ruled) -> str:
    """The sentence for a pair that `ruled_twice` found."""
    return f"{who}: the {_is(one)} {_in_words(one.ruling)} by one line and {_in_words(other.ruling)} by another. Keep the one that holds."


def named_alike(stations: Sequence[tuple[int, str | None]]) -> Iterator[tuple[int, str]]:
    """Stations (number, name) whose name an earlier one has already: the number of the later one, and the sentence.

    >>> [number for number, about in named_alike([(1, "log walk"), (2, None), (3, "Log walk")])]
    [3]
    """
    named = sorted((" ".join(_bare(name)), number, name) for number, name in stations if name)
    for _, group in groupby(named, key=lambda one: one[0]):
        (_, first, _), *others = group
        for _, number, name in others:
            yield number, f"{called(number, name)} has the name of station {first}. If these are two obstacles, give each its own name."


def _what(surface: Ruled) -> str:
    name = _ARTICLE.sub("", surface.name)
    return f"{surface.part} of the {name}" if surface.part else name


def _is(surface: Ruled) -> str:
    what = _what(surface)
    return f"{what} {be(what)}"


def _in_words(ruling: Ruling | None) -> str:
    return "out of play" if ruling == "out" else "in play"


def _lower(who: str) -> str:
    return who[:1].lower() + who[1:]
