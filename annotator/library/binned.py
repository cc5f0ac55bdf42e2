"""The bin: courses that were taken out and can be brought back for a while, and taking one out for good, over an open transaction.

A course in the bin keeps all it has, under its name; whoever asks for it is told that it is there (`InBin`). Its outputs lie in a folder
that nobody is sent to.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, delete, select, update

from annotator.course import Course, Station
from annotator.errors import InputError, NotFound
from annotator.library import documents, tables
from annotator.library.files import Files
from annotator.library.verify import files_of

KEPT = timedelta(days=30)
"""How long a course in the bin can be brought back."""
_HASH = re.compile(rb"[0-9a-f]{64}")

Keeps = Callable[[str, str, bytes], bool]
"""Whether what a stage kept (stage, key, value) is still of use."""
Judge = Callable[[Sequence[Course | Station], frozenset[str]], Keeps]
"""Made from every document that stays, and the hashes of all files that these name."""


@dataclass(frozen=True)
class Binned:
    """A course in the bin. Times are UTC; after `until` it goes for good."""

    course: Course
    who: str
    at: datetime
    until: datetime


def put_in(connection: Connection, name: str, who: str) -> None:
    """Put a course in the bin."""
    documents.read_course(connection, name)
    now = datetime.now(UTC)
    values = {"binned_by": who, "binned_at": now.isoformat(), "binned_until": (now + KEPT).isoformat()}
    connection.execute(update(tables.courses).where(tables.courses.c.name == name).values(**values))


def all_in(connection: Connection) -> tuple[Binned, ...]:
    """What is in the bin, the newest first."""
    here = tables.courses.c
    rows = connection.execute(select(tables.courses).where(here.binned_at.is_not(None)).order_by(here.binned_at.desc())).all()
    return tuple(
        Binned(
            documents.read_binned(connection, row.name).doc,
            row.binned_by,
            datetime.fromisoformat(row.binned_at),
            datetime.fromisoformat(row.binned_until),
        )
        for row in rows
    )


def find(connection: Connection, name: str) -> Binned:
    """One course of the bin; `NotFound` tells which are there."""
    there = {each.course.name: each for each in all_in(connection)}
    if name not in there:
        raise NotFound("course in the bin", name, sorted(there))
    return there[name]


def take_out(connection: Connection, name: str) -> None:
    """Bring a course back as it was.

    Raises
    ------
    NotFound
        It is not in the bin.
    InputError
        Its time is over, or its removal was begun: parts of it may be gone.
    """
    if find(connection, name).until <= datetime.now(UTC):
        raise InputError(f"The course {name!r} is being removed for good, so it cannot be brought back any more.")
    values = {"binned_by": None, "binned_at": None, "binned_until": None}
    connection.execute(update(tables.courses).where(tables.courses.c.name == name).values(**values))


def begin_removal(connection: Connection, name: str) -> None:
    """From now on nobody can bring it back: a removal that is killed is only ever done again."""
    find(connection, name)
    values = {"binned_until": datetime.now(UTC).isoformat()}
    connection.execute(update(tables.courses).where(tables.courses.c.name == name).values(**values))


def delete_files(connection: Connection, name: str, files: Files, judge: Judge) -> Keeps:
    """Delete each file that nothing but this course needs; gives what tells which stages' notes stay."""
    begun_s = time.time()
    docs = tuple(_others(connection, name))
    named = frozenset(sha for doc in docs for sha in files_of(doc))
    keeps = judge(docs, named)
    needed = set(named)
    for row in connection.execute(select(tables.stages)):
        if keeps(row.stage, row.key, row.value):
            needed |= {found.decode() for found in _HASH.findall(row.value)}
    for sha in files.all():
        if sha not in needed and files.path(sha).stat().st_mtime < begun_s:  # what came since is somebody's who is at work
            files.remove(sha)
    return keeps


def delete_rows(connection: Connection, name: str, keeps: Keeps) -> None:
    """Delete every row about a course, and what stages kept and nobody else needs."""
    gone = [row for row in connection.execute(select(tables.stages)) if not keeps(row.stage, row.key, row.value)]
    for row in gone:
        here = tables.stages.c
        connection.execute(delete(tables.stages).where(here.stage == row.stage, here.key == row.key))
    for table in (tables.pins, tables.editions, tables.current, tables.revisions):
        connection.execute(delete(table).where(table.c.course == name))
    connection.execute(delete(tables.courses).where(tables.courses.c.name == name))


def _others(connection: Connection, name: str) -> Iterator[Course | Station]:
    rows = connection.execute(select(tables.revisions).where(tables.revisions.c.course != name))
    for row in rows:
        yield (Course if row.kind == "course" else Station).model_validate_json(row.doc)


def hidden(outputs: Path, name: str) -> Path:
    """Where the outputs of a course in the bin lie."""
    return outputs / f".binned-{name}"
