"""The library's SQLite file: connections, transactions, migrations, and its errors in our words. Knows tables, not documents.

A connection is opened for each transaction and closed after it, so threads, forks and several processes never share one. Writers
take their turn (BEGIN IMMEDIATE, then a busy timeout); readers see the last finished state and wait for nobody (WAL).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, create_engine, event, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.pool import NullPool

from annotator.errors import LibraryTrouble

NEWEST = "0002"
"""The last migration; a test keeps it equal to the folder of steps."""
BUSY_S = 30.0  # a writer holds its turn for milliseconds; a pack being registered for a second or two


class Database:
    """One SQLite file, brought up to date when it is opened."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._engine = create_engine(f"sqlite:///{path}", poolclass=NullPool, connect_args={"timeout": BUSY_S})
        event.listen(self._engine, "connect", _prepare)
        event.listen(self._engine, "begin", _begin)
        self._bring_up_to_date()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One state of the database, the same for every question asked inside."""
        with _in_our_words(self.path), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction with the writer's turn taken from the start: all of it happens, or none."""
        with _in_our_words(self.path), self._engine.connect().execution_options(writing=True) as connection, connection.begin():
            yield connection

    def compact(self) -> None:
        """Write the file anew without what was deleted, so that no trace of that stays in it."""
        with _in_our_words(self.path), self._engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert isinstance(raw, sqlite3.Connection)
            raw.execute("VACUUM")
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def _version(self, connection: Connection) -> str | None:
        there = connection.scalar(text("SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'"))
        version: str | None = connection.scalar(text("SELECT version_num FROM alembic_version")) if there else None
        return version

    def _bring_up_to_date(self) -> None:
        with self.reading() as connection:
            version = self._version(connection)
        if version == NEWEST:
            return
        if version is not None and version > NEWEST:
            raise LibraryTrouble(self.path, "it was written by a newer version of this program; install that version to open it.")
        with self.writing() as connection:
            if self._version(connection) != NEWEST:  # another process may have been first
                _migrate(connection)


def _migrate(connection: Connection) -> None:
    # Here and not at the top: Alembic takes a while to load, and an up-to-date library never needs it.
    from alembic.config import Config
    from alembic.runtime.environment import EnvironmentContext
    from alembic.runtime.migration import MigrationContext
    from alembic.script import ScriptDirectory

    script = ScriptDirectory(str(Path(__file__).parent / "migrations"))

    def steps(revision: object, _context: MigrationContext) -> list[object]:
        return script._upgrade_revs(NEWEST, revision)  # type: ignore[arg-type,return-value]

    with EnvironmentContext(Config(), script, fn=steps, destination_rev=NEWEST) as environment:
        environment.configure(connection=connection)
        environment.run_migrations()


def _prepare(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves, see `_begin`
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def _in_our_words(path: Path) -> Iterator[None]:
    try:
        yield
    except DatabaseError as exc:
        code = getattr(exc.orig, "sqlite_errorcode", 0) & 0xFF
        raise LibraryTrouble(path, _REASONS.get(code, f"the database says: {exc.orig}.")) from exc


_REASONS = {
    sqlite3.SQLITE_FULL: "the disk is full. Nothing was saved; make room and do it again.",
    sqlite3.SQLITE_IOERR: "the disk is full or cannot be written. Nothing was saved; make room or look after the disk, and do it again.",
    sqlite3.SQLITE_BUSY: "another program has held it for too long. Nothing was saved; do it again in a moment.",
    sqlite3.SQLITE_READONLY: "it may not be written. Give yourself the right to write in its folder.",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened. Look whether its folder exists and may be written.",
    sqlite3.SQLITE_NOTADB: "it is not a library's database. Choose another folder.",
    sqlite3.SQLITE_CORRUPT: "it is damaged. Bring the folder back from a copy, or unpack your packs into a new one.",
}
