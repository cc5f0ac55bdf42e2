"""Which station of a later clip looks like one that an earlier clip tells: the rest of it, or the same one filmed again.

A clip that was forgotten comes behind the others, and what it says before it announces a station, or of a station that is there, comes as a
station of its own (course/borders.py, course/merge.py). Whether the two are one is for a person to say. In: the stations as they stand.
Out: at most one finding a station, with the id of the other one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from annotator.course import Course, Finding, Station
from annotator.rules.across import same_name
from annotator.rules.wordings import called

_PASSED = r"\b(?:after|from|past|behind|beside|leav(?:e|ing)|left|next to) (?:the )?"
LEAST_SHARED, LEAST_SHARE = 3, 0.6  # things that an unnamed station shares with the one it tells again; as a share of the fewer


def told_before(course: Course, stations: Sequence[Station]) -> dict[str, Finding]:
    """What looks told twice, by the id of the later station.

    A station of the first clip is never one. One with a name of its own is another station, whatever things it shares.
    """
    found: dict[str, Finding] = {}
    for clip in course.clips[1:]:
        end_s = clip.start_s + clip.duration_s
        here = sorted((one for one in stations if clip.start_s <= one.start < end_s), key=lambda one: (one.start, one.number))
        before = sorted((one for one in stations if one.start < clip.start_s), key=lambda one: (one.end, -one.number), reverse=True)
        for station in here if before else ():
            for finding in _of(station, before, clip.number, opens=station is here[0]):
                found[station.id] = finding
    return found


def _of(station: Station, before: Sequence[Station], clip: int, *, opens: bool) -> Iterator[Finding]:
    """`before`: the stations of earlier clips, the one that ended last first. `opens`: it is the first of its clip."""
    who = called(station.number, station.name)
    goes_on = opens and not any(surface.role == "start" for surface in station.surfaces)
    namesake = next((one for one in before if _has_name_of(station, one)), None)
    has = "it has the name of" if station.name else "it begins with the name of"
    if namesake is not None and goes_on:
        other = namesake
        why = f"{has} {_lower(other)}, opens clip {clip} and has no start, so it looks like the rest of it"
    elif namesake is not None:
        about = f"{who}: {has} {_lower(namesake)}, which an earlier clip tells. Is it that one, told again in clip {clip}?"
        yield _finding("told-again", station, namesake, f"{about} If these are two obstacles, give each its own name.")
        return
    elif station.name:
        return
    else:
        other = max(before, key=lambda one: len(_shared(one, station)))
        shared = len(_shared(other, station))
        if not goes_on:
            if shared >= LEAST_SHARED and shared >= LEAST_SHARE * min(len(_things(other)), len(_things(station))):
                about = f"{who}: it speaks of the same things as {_lower(other)}. Is it that one, told again in clip {clip}?"
                yield _finding("told-again", station, other, about)
            return
        why = f"it opens clip {clip} without a name or a start"
        why += (", and speaks of the same things as " if shared else ", so it may be the rest of ") + _lower(other)
    yield _finding("goes-on", station, other, f"{who}: {why}. Join the two if they are one.")


def _has_name_of(station: Station, other: Station) -> bool:
    """By its own name; or, since a drafter gives each name once, by the words that a station without one begins with."""
    if station.name or not other.name:
        return bool(station.name) and same_name(other.name, station.name)
    named = rf"(?<!\w){re.escape(other.name.casefold())}(?!\w)"
    return any(re.search(named, said.text.casefold()) and not re.search(_PASSED + named, said.text.casefold()) for said in station.said[:1])


def _finding(kind: str, station: Station, other: Station, about: str) -> Finding:
    return Finding.model_validate({"kind": kind, "station": station.number, "about": about, "said": station.said[:1], "other": other.id})


def _things(station: Station) -> set[tuple[str, str]]:
    return {(surface.name.casefold(), (surface.part or "").casefold()) for surface in station.surfaces}


def _shared(one: Station, other: Station) -> set[tuple[str, str]]:
    return _things(one) & _things(other)


def _lower(station: Station) -> str:
    who = called(station.number, station.name)
    return who[:1].lower() + who[1:]
