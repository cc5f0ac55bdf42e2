"""Courses as documents with revisions, editions that pin them, and what stages have done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_REVISION = ["revisions.course", "revisions.kind", "revisions.item", "revisions.number"]


def upgrade() -> None:
    op.create_table(
        "courses",
        sa.Column("name", sa.String, primary_key=True),
        sa.Column("added_at", sa.String, nullable=False),
        sa.Column("left_out", sa.Text, nullable=False, server_default="[]"),
    )
    op.create_table(
        "revisions",
        sa.Column("course", sa.String, sa.ForeignKey("courses.name"), primary_key=True),
        sa.Column("kind", sa.String, primary_key=True),
        sa.Column("item", sa.String, primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("before", sa.Integer),
        sa.Column("who", sa.String, nullable=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("doc", sa.Text, nullable=False),
    )
    op.create_table(
        "current",
        sa.Column("course", sa.String, primary_key=True),
        sa.Column("kind", sa.String, primary_key=True),
        sa.Column("item", sa.String, primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.ForeignKeyConstraint(["course", "kind", "item", "number"], _REVISION),
    )
    op.create_table(
        "editions",
        sa.Column("course", sa.String, sa.ForeignKey("courses.name"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("code", sa.String, nullable=False),
        sa.Column("who", sa.String, nullable=False),
        sa.Column("at", sa.String, nullable=False),
    )
    op.create_table(
        "pins",
        sa.Column("course", sa.String, primary_key=True),
        sa.Column("edition", sa.Integer, primary_key=True),
        sa.Column("place", sa.Integer, primary_key=True),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("item", sa.String, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.ForeignKeyConstraint(["course", "edition"], ["editions.course", "editions.number"]),
        sa.ForeignKeyConstraint(["course", "kind", "item", "number"], _REVISION),
    )
    op.create_table(
        "stages",
        sa.Column("stage", sa.String, primary_key=True),
        sa.Column("key", sa.String, primary_key=True),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("value", sa.LargeBinary, nullable=False),
    )
