"""Courses that were put in the bin: by whom, when, and until when they can be brought back."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    for name in ("binned_by", "binned_at", "binned_until"):
        op.add_column("courses", sa.Column(name, sa.String))
