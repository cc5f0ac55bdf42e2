"""The tables of the library's database, as they stand after the last migration. Documents are JSON text of the course models."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, ForeignKeyConstraint, Integer, LargeBinary, MetaData, String, Table, Text

metadata = MetaData()

courses = Table(
    "courses",
    metadata,
    Column("name", String, primary_key=True),
    Column("added_at", String, nullable=False),
    # JSON list of the originals' hashes that a pack came without: missing, and rightly so.
    Column("left_out", Text, nullable=False, server_default="[]"),
    # Set while the course is in the bin: who put it there, when, and until when it can be brought back.
    Column("binned_by", String),
    Column("binned_at", String),
    Column("binned_until", String),
)

# Every state that a document ever had. `item` is a station's id; the course's own document has the item "".
revisions = Table(
    "revisions",
    metadata,
    Column("course", String, ForeignKey("courses.name"), primary_key=True),
    Column("kind", String, primary_key=True),
    Column("item", String, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("before", Integer),
    Column("who", String, nullable=False),
    Column("at", String, nullable=False),
    Column("doc", Text, nullable=False),
)

# Which revision of each document holds now.
current = Table(
    "current",
    metadata,
    Column("course", String, primary_key=True),
    Column("kind", String, primary_key=True),
    Column("item", String, primary_key=True),
    Column("number", Integer, nullable=False),
    ForeignKeyConstraint(
        ["course", "kind", "item", "number"], ["revisions.course", "revisions.kind", "revisions.item", "revisions.number"]
    ),
)

editions = Table(
    "editions",
    metadata,
    Column("course", String, ForeignKey("courses.name"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("code", String, nullable=False),
    Column("who", String, nullable=False),
    Column("at", String, nullable=False),
)

# The revisions that an edition froze; `place` 0 is the course, then the stations in order.
pins = Table(
    "pins",
    metadata,
    Column("course", String, primary_key=True),
    Column("edition", Integer, primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("kind", String, nullable=False),
    Column("item", String, nullable=False),
    Column("number", Integer, nullable=False),
    ForeignKeyConstraint(["course", "edition"], ["editions.course", "editions.number"]),
    ForeignKeyConstraint(
        ["course", "kind", "item", "number"], ["revisions.course", "revisions.kind", "revisions.item", "revisions.number"]
    ),
)

# What stages have done: the output for one key of inputs, settings and version.
stages = Table(
    "stages",
    metadata,
    Column("stage", String, primary_key=True),
    Column("key", String, primary_key=True),
    Column("at", String, nullable=False),
    Column("value", LargeBinary, nullable=False),
)
