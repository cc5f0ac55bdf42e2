"""Courses and stations as documents with revisions, over one open transaction. `Library` (store.py) opens the transactions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Generic, Literal, TypeVar

from sqlalchemy import Connection, Row, insert, select, update

from annotator.course import Course, Station
from annotator.errors import InBin, InvalidEdit, NotFound, StaleEdit
from annotator.library import tables
from annotator.library.canon import slug

T = TypeVar("T", Course, Station)
Kind = Literal["course", "station"]


@dataclass(frozen=True)
class Revised(Generic[T]):
    """One state of a document: its number (1, 2, ...), who saved it when (UTC), and the number it was made from (None: the first)."""

    doc: T
    revision: int
    who: str
    at: datetime
    before: int | None = None


def now() -> str:
    """The moment as the database keeps it: ISO 8601 in UTC with microseconds."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def course_names(connection: Connection) -> tuple[str, ...]:
    """The names of all courses, in order; not of those in the bin."""
    here = tables.courses.c
    return tuple(connection.scalars(select(here.name).where(here.binned_at.is_(None)).order_by(here.name)))


def taken_names(connection: Connection) -> tuple[str, ...]:
    """Every name that a course has, in the bin too."""
    return tuple(connection.scalars(select(tables.courses.c.name)))


def read_course(connection: Connection, name: str) -> Revised[Course]:
    """The course's document as it stands; `NotFound` tells the names that there are, `InBin` that it was put there."""
    refuse_binned(connection, name)
    return read_binned(connection, name)


def refuse_binned(connection: Connection, name: str) -> None:
    """`InBin` where the course was put in the bin."""
    here = tables.courses.c
    who = connection.scalar(select(here.binned_by).where(here.name == name, here.binned_at.is_not(None)))
    if who is not None:
        raise InBin(name, who)


def read_binned(connection: Connection, name: str) -> Revised[Course]:
    """As `read_course`, also of a course in the bin."""
    row = _current(connection, name, "course", "")
    if row is None:
        raise NotFound("course", name, course_names(connection))
    return _revised(Course, row)


def read_stations(connection: Connection, name: str) -> tuple[Revised[Station], ...]:
    """The stations that the course's order names, in that order."""
    order = read_course(connection, name).doc.order
    found = {row.item: _revised(Station, row) for row in _all_current(connection, name, "station")}
    return tuple(found[item] for item in order)


def read_station(connection: Connection, name: str, station: str) -> Revised[Station]:
    """One station's document as it stands, by its id; also one that was taken out of the order, so that it can come back."""
    order = read_course(connection, name).doc.order
    row = _current(connection, name, "station", station)
    if row is None:
        raise NotFound("station", station, order)
    return _revised(Station, row)


def read_history(connection: Connection, name: str, kind: Kind, item: str) -> tuple[Revised[Course] | Revised[Station], ...]:
    """Every revision of a document, the oldest first."""
    read_course(connection, name)
    found = tables.revisions.c
    rows = connection.execute(
        select(tables.revisions).where(found.course == name, found.kind == kind, found.item == _item(kind, item)).order_by(found.number)
    ).all()
    if not rows:
        raise NotFound(kind, item, read_course(connection, name).doc.order)
    return tuple(_revised(Course, row) if kind == "course" else _revised(Station, row) for row in rows)


def read_revision(connection: Connection, name: str, kind: Kind, item: str, number: int) -> Revised[Course] | Revised[Station]:
    """One revision of a document."""
    found = tables.revisions.c
    row = connection.execute(
        select(tables.revisions).where(found.course == name, found.kind == kind, found.item == _item(kind, item), found.number == number)
    ).one_or_none()
    if row is None:
        known = [str(one.revision) for one in read_history(connection, name, kind, item)]
        raise NotFound(f"revision of {kind} {item or name}", str(number), known)
    return _revised(Course, row) if kind == "course" else _revised(Station, row)


def add_course(connection: Connection, course: Course, stations: Sequence[Station], who: str) -> None:
    """A new course with its stations; `InvalidEdit` where the name is taken or the order names a station that is not given."""
    if slug(course.name) != course.name or not course.name:
        raise InvalidEdit("add the course", f"{course.name!r} cannot be its name: use a-z, 0-9 and single hyphens.")
    if course.name in taken_names(connection):
        raise InvalidEdit("add the course", f"the name {course.name!r} is taken; choose another.")
    connection.execute(insert(tables.courses).values(name=course.name, added_at=now()))
    write(connection, course.name, course, None, who)
    for station in stations:
        write(connection, course.name, station, None, who)
    check_order(connection, course.name)


def write(connection: Connection, name: str, doc: Course | Station, base: int | None, who: str) -> None:
    """The next revision of a document, made from revision `base` (None: it is new).

    Raises `StaleEdit` with both sides where `base` is not the current revision. A document that equals the current one is no change
    and no conflict, whatever its base: nothing is written, and a save that is sent twice does no harm.
    """
    kind: Kind = "course" if isinstance(doc, Course) else "station"
    item = "" if isinstance(doc, Course) else doc.id
    if isinstance(doc, Course) and doc.name != name:
        raise InvalidEdit("save the course", f"its name is {name!r} and stays so; a new title is all that can change.")
    row = _current(connection, name, kind, item)
    if row is None:
        if base is not None:
            raise NotFound(kind, item or name, read_course(connection, name).doc.order if item else course_names(connection))
        _write_revision(connection, name, kind, item, None, doc, who)
        return
    theirs = type(doc).model_validate_json(row.doc)
    if theirs == doc:
        return
    if row.number != base:
        label = name if isinstance(doc, Course) else " ".join(filter(None, (str(doc.number), doc.name)))
        mine, other = doc.model_dump(mode="json"), theirs.model_dump(mode="json")
        raise StaleEdit(kind, label, base or 0, row.number, mine, other)
    _write_revision(connection, name, kind, item, row.number, doc, who)


def check_order(connection: Connection, name: str) -> None:
    """`InvalidEdit` where the course's order names a station that has no document, or names one twice."""
    order = read_course(connection, name).doc.order
    known = {row.item for row in _all_current(connection, name, "station")}
    wrong = [item for place, item in enumerate(order) if item not in known or item in order[:place]]
    if wrong:
        raise InvalidEdit("save the course", f"its order names {', '.join(wrong)}: no such station, or named twice.")


def _write_revision(connection: Connection, name: str, kind: Kind, item: str, before: int | None, doc: Course | Station, who: str) -> None:
    place = {"course": name, "kind": kind, "item": item}
    number = (before or 0) + 1
    connection.execute(insert(tables.revisions).values(**place, number=number, before=before, who=who, at=now(), doc=doc.model_dump_json()))
    if before is None:
        connection.execute(insert(tables.current).values(**place, number=number))
    else:
        here = tables.current.c
        connection.execute(update(tables.current).where(here.course == name, here.kind == kind, here.item == item).values(number=number))


def _current(connection: Connection, name: str, kind: Kind, item: str) -> Row[tuple[object, ...]] | None:
    return next((row for row in _all_current(connection, name, kind, item)), None)


def _all_current(connection: Connection, name: str, kind: Kind, item: str | None = None) -> Sequence[Row[tuple[object, ...]]]:
    here, found = tables.current.c, tables.revisions.c
    query = select(tables.revisions).join(
        tables.current,
        (here.course == found.course) & (here.kind == found.kind) & (here.item == found.item) & (here.number == found.number),
    )
    query = query.where(found.course == name, found.kind == kind)
    return connection.execute(query if item is None else query.where(found.item == item)).all()


def _item(kind: Kind, item: str) -> str:
    return "" if kind == "course" else item


def _revised(model: type[T], row: Row[tuple[object, ...]]) -> Revised[T]:
    return Revised(model.model_validate_json(row.doc), row.number, row.who, datetime.fromisoformat(row.at), row.before)
