"""Editions: a course frozen under a number, and the short code of what its readers see.

The code is six of 32 letters and digits (no 0, O, 1 or I) taken from the SHA-256 of that content. It has 30 bits: it tells two
papers of one course apart, and is no protection against somebody who wants two to look the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import Connection, insert, select

from annotator.course import BlanketRule, Course, Mark, Said, Station, Still, Surface
from annotator.errors import NotFound, NotReady
from annotator.library import documents, tables
from annotator.library.canon import canonical
from annotator.library.documents import Revised, now
from annotator.library.files import Files

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"


@dataclass(frozen=True)
class Edition:
    """A published state of a course: it never changes. `who` published it, `at` is UTC."""

    number: int
    code: str
    who: str
    at: datetime
    course: Revised[Course]
    stations: tuple[Revised[Station], ...]


def content_hash(course: Course, stations: Sequence[Station]) -> str:
    """SHA-256 of what readers see: title, format, rules with their evidence, stills and marks, translations; stations in
    the order given.

    Not in it: who, when, drafts' states and confidence, ids (they are only names for our use), and the captions of the video.
    """
    blanket = {rule.id: f"blanket {place}" for place, rule in enumerate(course.blanket) if rule.id}
    content: dict[str, Any] = {
        "title": course.title,
        "divisions": course.divisions,
        "format": course.format and {"retries": course.format.retries, "ranking": course.format.ranking, "said": _said(course.format.said)},
        "blanket": [_blanket(rule) for rule in course.blanket],
        "stations": [_station(station, blanket) for station in stations],
    }
    if course.language != "en":
        content["language"] = course.language
    if course.translated:  # only where there are some: editions from before translations keep their codes
        content["translated"] = sorted((one.said, one.language, one.translation) for one in course.translated)
    return hashlib.sha256(canonical(content)).hexdigest()


def short_code(course: Course, stations: Sequence[Station]) -> str:
    """The six letters and digits that every output of this content carries.

    >>> short_code(Course(name="a", title="Spring Cup"), ()) == short_code(Course(name="b", title="Spring Cup"), ())
    True
    """
    bits = int(content_hash(course, stations), 16) >> (256 - 30)
    return "".join(LETTERS[bits >> shift & 31] for shift in range(25, -1, -5))


def missing(course: Course, stations: Sequence[Station], files: Files) -> tuple[str, ...]:
    """Why this state cannot be an edition, a sentence each: what nobody accepted, and stills whose picture is gone. Empty: it can."""
    reasons = [] if stations else ["The course has no station yet."]
    reasons += [f"Blanket rule {_label(rule)} is still a draft." for rule in course.blanket if rule.state != "accepted"]
    if course.format is not None and not course.format_by_hand:
        reasons.append("How a run counts is still a draft.")
    for station in stations:
        place = f"Station {station.number}" + (f" ({station.name})" if station.name else "")
        if station.state != "accepted":
            reasons.append(f"{place}: its name, limbs and demonstration are still a draft.")
        reasons += [f"{place}: {_label(item)} is still a draft." for item in station.surfaces if item.state != "accepted"]
        drafts = sum(item.state != "accepted" for item in station.stills)
        reasons += [f"{place}: {drafts} of its stills are still drafts."] if drafts else []
        drafts = sum(item.state != "accepted" for item in station.marks)
        reasons += [f"{place}: {drafts} of its marks are still drafts."] if drafts else []
        reasons += [f"{place}: the picture of still {still.id} is missing." for still in station.stills if not files.has(still.file)]
    return tuple(reasons)


def freeze(connection: Connection, name: str, who: str, files: Files) -> int:
    """Pin the current revisions as the next edition and give its number; see `Library.freeze`."""
    course, stations = documents.read_course(connection, name), documents.read_stations(connection, name)
    reasons = missing(course.doc, [one.doc for one in stations], files)
    if reasons:
        raise NotReady(name, reasons)
    numbers = edition_numbers(connection, name)
    if numbers:
        last = read_edition(connection, name, numbers[-1])
        if same_for_readers(last, course.doc, [one.doc for one in stations]):
            return last.number  # also where a publication was cut off: it is taken up again, not numbered again
    number = len(numbers) + 1
    code = short_code(course.doc, [one.doc for one in stations])
    connection.execute(insert(tables.editions).values(course=name, number=number, code=code, who=who, at=now()))
    pinned = [("course", "", course.revision), *(("station", one.doc.id, one.revision) for one in stations)]
    for place, (kind, item, revision) in enumerate(pinned):
        row = {"course": name, "edition": number, "place": place, "kind": kind, "item": item, "number": revision}
        connection.execute(insert(tables.pins).values(row))
    return number


def edition_numbers(connection: Connection, name: str) -> tuple[int, ...]:
    """The numbers of a course's editions: 1 and on."""
    documents.read_course(connection, name)
    here = tables.editions.c
    return tuple(connection.scalars(select(here.number).where(here.course == name).order_by(here.number)))


def read_edition(connection: Connection, name: str, number: int) -> Edition:
    """One edition with the documents that it pinned."""
    documents.refuse_binned(connection, name)
    here, pin = tables.editions.c, tables.pins.c
    row = connection.execute(select(tables.editions).where(here.course == name, here.number == number)).one_or_none()
    if row is None:
        raise NotFound("edition", str(number), [str(known) for known in edition_numbers(connection, name)])
    pins = connection.execute(select(tables.pins).where(pin.course == name, pin.edition == number).order_by(pin.place)).all()
    pinned = [documents.read_revision(connection, name, one.kind, one.item, one.number) for one in pins]
    course, stations = cast(Revised[Course], pinned[0]), cast(list[Revised[Station]], pinned[1:])
    return Edition(number, row.code, row.who, datetime.fromisoformat(row.at), course, tuple(stations))


def same_for_readers(edition: Edition, course: Course, stations: Sequence[Station]) -> bool:
    """Whether readers of an edition see what the course now says: the same rules and pictures (`content_hash`), and the same captions."""
    old = edition.course.doc
    if _captions(old) != _captions(course):
        return False
    return content_hash(old, [at.doc for at in edition.stations]) == content_hash(course, stations)


def _captions(course: Course) -> list[Any]:
    """What the captions of the walk are made from: its clips' lengths, words, corrections, settled names, translations."""
    clips = [(clip.original, clip.start_s, clip.duration_s) for clip in course.clips]
    names = [(one.heard, one.name, one.at) for one in course.heard if one.state == "accepted"]
    return [clips, course.words, course.corrections, names, course.translations]


def _label(item: BlanketRule | Surface) -> str:
    name = item.name if isinstance(item, Surface) else item.surface or item.rule
    return f"“{name}”" + (f" ({item.part})" if item.part else "")


def _said(said: Sequence[Said]) -> list[Any]:
    return [[one.start, one.end, one.text] for one in said]


def _blanket(rule: BlanketRule) -> dict[str, Any]:
    seen = rule.model_dump(mode="json", exclude={"id", "state", "confidence", "said"})
    return {**seen, "said": _said(rule.said)}


def _station(station: Station, blanket: dict[str, str]) -> dict[str, Any]:
    surfaces = blanket | {surface.id: f"surface {place}" for place, surface in enumerate(station.surfaces)}
    stills = {still.id: place for place, still in enumerate(station.stills)}
    seen = station.model_dump(mode="json", include={"number", "name", "start", "end", "contact", "demonstration"})
    return {
        **seen,
        "said": _said(station.said),
        "surfaces": [_surface(surface) for surface in station.surfaces],
        "stills": [_still(still) for still in station.stills],
        "marks": [_mark(mark, stills, surfaces) for mark in station.marks],
    }


def _surface(surface: Surface) -> dict[str, Any]:
    return surface.model_dump(mode="json", exclude={"id", "state", "confidence"})


def _still(still: Still) -> dict[str, Any]:
    seen = still.model_dump(mode="json", include={"time_s", "width", "height", "file", "faces"})
    return {**seen, "show_faces": still.faces_shown is not None} | ({"alt": dict(still.alt)} if still.alt else {})


def _mark(mark: Mark, stills: dict[str, int], surfaces: dict[str, str]) -> dict[str, Any]:
    shape = mark.model_dump(mode="json", include={"rings", "line", "width"})
    return {**shape, "still": stills.get(mark.still), "surface": surfaces.get(mark.surface)}
