"""The database: brought up to date, used by several programs at once, and clear about what is wrong with it."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

import annotator.library
from annotator.course import Course
from annotator.errors import LibraryTrouble
from annotator.library import Library
from annotator.library.database import NEWEST
from annotator.library.tables import metadata

MIGRATIONS = Path(annotator.library.__file__).parent / "migrations"


def test_the_newest_migration_is_the_one_that_the_program_asks_for() -> None:
    assert ScriptDirectory(str(MIGRATIONS)).get_current_head() == NEWEST


def test_the_migrations_lead_to_the_tables_of_the_program(tmp_path: Path) -> None:
    """Alembic's own comparison finds no difference between a migrated database and tables.py."""
    Library(tmp_path)
    engine = create_engine(f"sqlite:///{tmp_path / 'library.sqlite3'}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    engine.dispose()


def test_a_library_of_a_newer_program_is_left_alone(tmp_path: Path) -> None:
    Library(tmp_path)
    with sqlite3.connect(tmp_path / "library.sqlite3") as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    with pytest.raises(LibraryTrouble, match="newer version"):
        Library(tmp_path)


def test_a_file_that_is_no_database_is_told(tmp_path: Path) -> None:
    (tmp_path / "library.sqlite3").write_bytes(b"notes about the spring cup\n" * 100)
    with pytest.raises(LibraryTrouble, match="not a library's database"):
        Library(tmp_path)


def test_a_damaged_database_is_told(library: Library) -> None:
    for number in range(30):
        library.add_course(Course(name=f"c{number}", title="x" * 2000), (), "Ana")
    library.close()
    path = library.root / "library.sqlite3"
    data = bytearray(path.read_bytes())
    data[8192:] = b"\xaa" * (len(data) - 8192)
    path.write_bytes(data)
    with pytest.raises(LibraryTrouble, match="damaged"):
        Library(library.root).courses()


WRITER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from annotator.errors import StaleEdit
    from annotator.library import Library

    library = Library(Path(sys.argv[1]))
    for _ in range(15):
        while True:
            now = library.course("spring-cup")
            try:
                library.save_course(now.doc.model_copy(update={"title": now.doc.title + sys.argv[2]}), now.revision, sys.argv[2])
                break
            except StaleEdit:
                pass
    """
)


def test_several_programs_open_a_new_library_at_once_and_lose_no_edit(tmp_path: Path) -> None:
    opening = "import sys, pathlib; from annotator.library import Library; Library(pathlib.Path(sys.argv[1]))"
    together = [subprocess.Popen([sys.executable, "-c", opening, str(tmp_path / "l")]) for _ in range(3)]
    assert [program.wait() for program in together] == [0, 0, 0]
    library = Library(tmp_path / "l")
    library.add_course(Course(name="spring-cup", title="Spring Cup "), (), "Ana")
    together = [subprocess.Popen([sys.executable, "-c", WRITER, str(library.root), letter]) for letter in "abc"]
    assert [program.wait() for program in together] == [0, 0, 0]
    title = library.course("spring-cup").doc.title.removeprefix("Spring Cup ")
    assert {letter: title.count(letter) for letter in "abc"} == dict.fromkeys("abc", 15)
    assert library.verify() == ()


@pytest.mark.parametrize(
    ("statement", "problem"),
    [
        pytest.param("UPDATE revisions SET doc = '{}' WHERE kind = 'station' AND item = 't1'", "cannot be read", id="document"),
        pytest.param("DELETE FROM current WHERE kind = 'course'", "its document is missing", id="no-course"),
        pytest.param("DELETE FROM current WHERE item = 't2'", "station t2 of its order has no document", id="no-station"),
        pytest.param("DELETE FROM revisions WHERE item = 't2'", "points to nothing", id="pointer"),
    ],
)
def test_a_library_that_is_not_whole_says_what_is_wrong(library: Library, statement: str, problem: str) -> None:
    assert library.verify() == ()
    with sqlite3.connect(library.root / "library.sqlite3") as connection:  # foreign keys are off here: this breaks what we never would
        connection.execute(statement)
    connection.close()
    assert any(problem in line for line in library.verify())


def test_a_file_that_is_gone_or_changed_is_told(library: Library) -> None:
    stills = [one.doc.stills[0].file for one in library.stations("spring-cup")]
    library.files.path(stills[0]).unlink()
    library.files.path(stills[1]).write_bytes(b"another")
    told = library.verify()
    assert f"spring-cup, station t1, revision 1: its file {stills[0][:12]}... is missing." in told
    assert f"The file {stills[1][:12]}...: its content changed." in told
    assert len(told) == 2
