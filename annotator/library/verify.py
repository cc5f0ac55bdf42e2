"""Look whether a library is whole: every pointer leads somewhere, every document reads, every file is there with its own content."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from pydantic import ValidationError
from sqlalchemy import Connection, Row, select, text

from annotator.course import Course, Station
from annotator.library import tables
from annotator.library.files import Files


def problems(connection: Connection, files: Files, outputs: Path, *, contents: bool) -> Iterator[str]:
    """What is wrong, a sentence each."""
    for line in connection.scalars(text("PRAGMA integrity_check")):
        if line != "ok":
            yield f"The database is damaged: {line}."
    for row in connection.execute(text("PRAGMA foreign_key_check")):
        yield f"A row of the table {row[0]} points to nothing."
    left_out = {row.name: set(json.loads(row.left_out)) for row in connection.execute(select(tables.courses))}
    named = dict[str, str]()
    for row in connection.execute(select(tables.revisions)):
        where = f"{row.course}, {row.kind} {row.item}".rstrip() + f", revision {row.number}"
        doc = _read(row)
        if doc is None:
            yield f"{where}: its document cannot be read."
            continue
        for sha in files_of(doc):
            if sha not in left_out[row.course]:
                named.setdefault(sha, where)
    yield from _orders(connection)
    yield from (f"Outputs of a course that is not there: {one.name}." for one in _shown(outputs) if one.name not in left_out)
    stored = set(files.all())
    for sha, where in sorted(named.items()):
        if sha not in stored:
            yield f"{where}: its file {sha[:12]}... is missing."
    for sha in sorted(stored) if contents else ():
        damage = files.damaged(sha)
        if damage:
            yield f"The file {sha[:12]}...: {damage}."


def _read(row: Row[tuple[object, ...]]) -> Course | Station | None:
    try:
        return (Course if row.kind == "course" else Station).model_validate_json(row.doc)
    except ValidationError:
        return None


def files_of(doc: Course | Station) -> Iterator[str]:
    """The hashes of the files that a document names."""
    if isinstance(doc, Course):
        for clip in doc.clips:
            yield from (sha for sha in (clip.original, clip.captions, clip.proxy) if sha)
        yield from (sha for sha in (doc.words, doc.corrections, doc.read_with) if sha)
        yield from (each.file for each in doc.translations)
    else:
        yield from (still.file for still in doc.stills)


def _orders(connection: Connection) -> Iterator[str]:
    here, now = tables.revisions.c, tables.current.c
    same = (now.course == here.course) & (now.kind == here.kind) & (now.item == here.item) & (now.number == here.number)
    rows = connection.execute(select(tables.revisions).join(tables.current, same)).all()
    stations = {(row.course, row.item) for row in rows if row.kind == "station"}
    courses = {row.course: row for row in rows if row.kind == "course"}
    for name in connection.scalars(select(tables.courses.c.name)):
        if name not in courses:
            yield f"{name}: its document is missing."
            continue
        course = _read(courses[name])
        for item in course.order if isinstance(course, Course) else ():
            if (name, item) not in stations:
                yield f"{name}: station {item} of its order has no document."


def _shown(folder: Path) -> list[Path]:
    return sorted(one for one in folder.iterdir() if not one.name.startswith("."))
