"""The library: where courses live. One folder with a database of documents, the files they name, and the outputs of editions.

library.sqlite3   courses, stations and editions with their history; what stages have done
files/            clips, stills and words by the hash of their content
outputs/          what was made from each edition
turns/            who is at a long piece of work for a course
"""

from __future__ import annotations

import fcntl
import os
import shutil
import weakref
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Self

from sqlalchemy import Connection, delete, insert, select

from annotator.course import Course, Station
from annotator.errors import InUse
from annotator.library import binned, documents, editions, outputs, tables
from annotator.library import pack as packs
from annotator.library.binned import Binned, Judge
from annotator.library.canon import free_name
from annotator.library.database import Database
from annotator.library.documents import Kind, Revised, now
from annotator.library.editions import Edition
from annotator.library.files import Files, disk_in_our_words
from annotator.library.pack import Packed
from annotator.library.turns import turn
from annotator.library.verify import problems


class Library:
    """Opens the library in a folder, or makes it there. Safe to share between threads, and between programs on one machine.

    Whatever a killed program left half-written is thrown away at the next opening that finds nobody else at work.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, Library(Path(folder)) as library:
    ...     added = library.add_course(Course(name="spring-cup", title="Spring Cup"), who="Ana")
    ...     saved = library.save_course(added.doc.model_copy(update={"title": "Spring Cup 2"}), base=added.revision, who="Ben")
    ...     [(one.revision, one.who, one.doc.title) for one in library.history("spring-cup")]
    [(1, 'Ana', 'Spring Cup'), (2, 'Ben', 'Spring Cup 2')]
    """

    def __init__(self, root: Path) -> None:
        self.root = Path(root)
        with disk_in_our_words(self.root):
            (self.root / "files").mkdir(parents=True, exist_ok=True)
            (self.root / "outputs").mkdir(exist_ok=True)
            handle = os.open(self.root / "in-use", os.O_RDWR | os.O_CREAT, 0o644)
        self.close = weakref.finalize(self, os.close, handle)
        self._handle = handle
        self.files = Files(self.root / "files")
        self._enter(handle)
        self._database = Database(self.root / "library.sqlite3")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _enter(self, handle: int) -> None:
        # Everyone who has the library open holds a shared lock, which the system takes back however the program ends. Who gets the
        # whole lock is alone, and nothing unfinished can belong to a living program.
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            pass
        else:
            self.files.sweep()
            outputs.sweep(self.root / "outputs")
        fcntl.flock(handle, fcntl.LOCK_SH)

    # Courses and stations

    def free_name(self, title: str) -> str:
        """A course name for this title that nobody has yet: a-z, 0-9 and hyphens, "course-1" where the title has no letters."""
        with self._database.reading() as connection:
            return free_name(title, documents.taken_names(connection))

    def courses(self) -> tuple[Revised[Course], ...]:
        """All courses as they stand, by name."""
        with self._database.reading() as connection:
            return tuple(documents.read_course(connection, name) for name in documents.course_names(connection))

    def course(self, name: str) -> Revised[Course]:
        """One course as it stands; `NotFound` tells the names that there are."""
        with self._database.reading() as connection:
            return documents.read_course(connection, name)

    def stations(self, name: str) -> tuple[Revised[Station], ...]:
        """A course's stations as they stand, in its order."""
        with self._database.reading() as connection:
            return documents.read_stations(connection, name)

    def whole(self, name: str) -> tuple[Revised[Course], tuple[Revised[Station], ...]]:
        """A course and its stations as they stood at one moment."""
        with self._database.reading() as connection:
            return documents.read_course(connection, name), documents.read_stations(connection, name)

    def revisions(self, name: str) -> dict[str, int]:
        """The number of every document's revision as it stands: by station id, "" for the course itself."""
        here = tables.current.c
        with self._database.reading() as connection:
            documents.refuse_binned(connection, name)
            rows = connection.execute(select(here.item, here.number).where(here.course == name)).all()
            if not rows:
                documents.read_course(connection, name)  # tells which courses there are
        return {row.item: row.number for row in rows}

    def station(self, name: str, station_id: str) -> Revised[Station]:
        """One station as it stands, by its id; also one that was taken out of the course's order."""
        with self._database.reading() as connection:
            return documents.read_station(connection, name, station_id)

    def add_course(self, course: Course, stations: Sequence[Station] = (), who: str = "staff") -> Revised[Course]:
        """A new course at revision 1; `InvalidEdit` where its name is taken (see `free_name`)."""
        with self._database.writing() as connection:
            documents.add_course(connection, course, stations, who)
            outputs.clear_outputs(self.root / "outputs", course.name)
            return documents.read_course(connection, course.name)

    def save_course(self, course: Course, base: int, who: str) -> Revised[Course]:
        """The next revision of a course's document, made from revision `base`.

        Raises `StaleEdit` with both sides where somebody saved another one since; nothing is written then. A document equal to the
        current one makes no new revision.
        """
        saved, _ = self.save_all(course.name, (course, base), (), who)
        return saved

    def save_station(self, name: str, station: Station, base: int | None, who: str) -> Revised[Station]:
        """The next revision of a station's document, made from revision `base` (None: a new station); see `save_course`."""
        with self._database.writing() as connection:
            documents.read_course(connection, name)
            documents.write(connection, name, station, base, who)
            return documents.read_station(connection, name, station.id)

    def save_all(
        self,
        name: str,
        course: tuple[Course, int] | None,
        stations: Sequence[tuple[Station, int | None]],
        who: str,
        notes: Sequence[tuple[str, str, bytes]] = (),
    ) -> tuple[Revised[Course], tuple[Revised[Station], ...]]:
        """Several documents of a course in one step: all are saved, or none. Gives the whole course as it stands after it.

        `notes` (stage, key, value) are kept with them in the same step, as `mark_done` keeps them.

        Each document comes with the revision it was made from, None for a new station. `StaleEdit` for the first one that somebody
        else changed; `InvalidEdit` where the order would name a station that has no document.
        """
        with self._database.writing() as connection:
            documents.read_course(connection, name)
            if course is not None:
                documents.write(connection, name, *course, who)
            for station, base in stations:
                documents.write(connection, name, station, base, who)
            documents.check_order(connection, name)
            for stage, key, value in notes:
                _note(connection, stage, key, value)
            return documents.read_course(connection, name), documents.read_stations(connection, name)

    def history(self, name: str, kind: Kind = "course", item: str = "") -> tuple[Revised[Course] | Revised[Station], ...]:
        """Every revision of the course's document, or of the station with the id `item`; the oldest first."""
        with self._database.reading() as connection:
            return documents.read_history(connection, name, kind, item)

    def revision(self, name: str, kind: Kind, item: str, number: int) -> Revised[Course] | Revised[Station]:
        """One revision out of `history`."""
        with self._database.reading() as connection:
            return documents.read_revision(connection, name, kind, item, number)

    # What stages have done

    def done(self, stage: str, key: str) -> bytes | None:
        """What this stage gave for this key (see `stage_key`); None where it never finished for it."""
        here = tables.stages.c
        with self._database.reading() as connection:
            value: bytes | None = connection.scalar(select(here.value).where(here.stage == stage, here.key == key))
        return value

    def mark_done(self, stage: str, key: str, value: bytes) -> None:
        """Keep what a stage gave, so that it need not run again for this key."""
        with self._database.writing() as connection:
            _note(connection, stage, key, value)

    @contextmanager
    def turn(self, name: str, work: str, waiting: Callable[[], None] = lambda: None) -> Iterator[None]:
        """Be the only one, of all threads and programs on this machine, that is at `work` for a course until the block ends.

        While another one is, `waiting` is called now and then; it may raise to wait no longer. A killed program's turn is free at once.
        """
        with disk_in_our_words(self.root), turn(self.root / "turns" / f"{name}.{work}", waiting):
            yield

    # Editions and their outputs

    def freeze(self, name: str, who: str) -> Edition:
        """Publish the course as it stands as its next edition, with all it pins; gives the last one again where nothing changed.

        Raises `NotReady` with every reason while something is not accepted or a still's picture is missing. What else must hold
        before a publication (starts, finishes, contradictions) is checked by the pipeline.
        """
        with self._database.writing() as connection:
            number = editions.freeze(connection, name, who, self.files)
            return editions.read_edition(connection, name, number)

    def edition(self, name: str, number: int) -> Edition:
        """One edition as it was frozen; `NotFound` tells the numbers that there are."""
        with self._database.reading() as connection:
            return editions.read_edition(connection, name, number)

    def editions(self, name: str) -> tuple[Edition, ...]:
        """All editions of a course, the first one first."""
        with self._database.reading() as connection:
            return tuple(editions.read_edition(connection, name, number) for number in editions.edition_numbers(connection, name))

    def outputs(self, name: str, number: int) -> Path:
        """The folder of an edition's outputs. It does not exist before they were written, and is complete when it does."""
        self.edition(name, number)
        return outputs.outputs_folder(self.root / "outputs", name, number)

    @contextmanager
    def outputs_writer(self, name: str, number: int) -> Iterator[Path]:
        """An empty folder for an edition's outputs; it becomes `outputs(name, number)` when the block ends without an error."""
        self.edition(name, number)
        with outputs.write_outputs(self.root / "outputs", name, number) as folder:
            yield folder

    @contextmanager
    def unfinished(self) -> Iterator[Path]:
        """A folder for work in progress, gone after the block; what a killed run leaves in one is swept at the next opening."""
        with outputs.unfinished_folder(self.root / "outputs") as folder:
            yield folder

    # The bin

    def put_in_bin(self, name: str, who: str) -> Binned:
        """Take a course out, so that it can be brought back as it was for a while (`KEPT`).

        Raises
        ------
        InUse
            Another program on this machine is at a long piece of work for it.
        """
        course = self.course(name).doc
        with ExitStack() as stack, self._database.writing() as connection:
            for place in sorted((self.root / "turns").glob(f"{name}.*")):
                stack.enter_context(turn(place, lambda: _refuse(course, "A program is working on it. Wait until it is done, or stop it.")))
            binned.put_in(connection, name, who)
            _rename(self.root / "outputs" / name, binned.hidden(self.root / "outputs", name))
            return binned.find(connection, name)

    def in_bin(self) -> tuple[Binned, ...]:
        """The courses in the bin, the newest first."""
        with self._database.reading() as connection:
            return binned.all_in(connection)

    def binned(self, name: str) -> Binned:
        """One course of the bin; `NotFound` tells which are there."""
        with self._database.reading() as connection:
            return binned.find(connection, name)

    def bring_back(self, name: str) -> Revised[Course]:
        """Bring a course back from the bin, as it was; `NotFound` where it is not there, `InputError` where its time is over."""
        with self._database.writing() as connection:
            binned.take_out(connection, name)
            _rename(binned.hidden(self.root / "outputs", name), self.root / "outputs" / name)
            return documents.read_course(connection, name)

    def remove_for_good(self, name: str, judge: Judge) -> None:
        """Delete a course of the bin with its history, editions, outputs, and each file that no other course needs.

        `judge` tells what stages kept for others. A removal that is killed can only be done again.

        Raises
        ------
        NotFound
            It is not in the bin.
        InUse
            Another program has the library open, and might be using what is deleted.
        """
        course = self.binned(name).course
        with self._alone(course):
            with self._database.writing() as connection:
                binned.begin_removal(connection, name)
            with self._database.reading() as connection:
                keeps = binned.delete_files(connection, name, self.files, judge)
            for place in (binned.hidden(self.root / "outputs", name), self.root / "outputs" / name):
                shutil.rmtree(place, ignore_errors=True)
            for place in (self.root / "turns").glob(f"{name}.*"):
                place.unlink(missing_ok=True)
            with self._database.writing() as connection:
                binned.delete_rows(connection, name, keeps)
            self._database.compact()

    @contextmanager
    def _alone(self, course: Course) -> Iterator[None]:
        """No other program has the library open until the block ends."""
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            fcntl.flock(self._handle, fcntl.LOCK_SH)
            _refuse(course, "Another program has the library open. Close it, or remove the course there.")
        try:
            yield
        finally:
            fcntl.flock(self._handle, fcntl.LOCK_SH)

    # Packs

    def pack(self, name: str, out: Path, originals: bool = True) -> Packed:
        """Write a whole course, with its history, files, editions and their outputs, as one archive.

        The clips as filmed are inside, with whatever place and device the camera wrote into them, unless `originals` is False; the
        archive's README.txt and what this gives say which. The same course always gives the same bytes.
        """
        with self._database.reading() as connection:
            return packs.pack(connection, name, Path(out), self.files, self.root / "outputs", originals=originals)

    def unpack(self, path: Path) -> str:
        """Bring a packed course into the library and give its name: its own, or a free one like it where that is taken.

        Raises `UnreadablePack` where the archive is damaged or is something else; everything is checked before anything is kept.
        """
        archive, listed = packs.read_pack(Path(path))
        with archive, outputs.unfinished_folder(self.root / "outputs") as unfinished:
            packs.keep_files(archive, listed, self.files)
            packs.keep_outputs(archive, listed, unfinished)
            outputs.flush_all(unfinished)

            def place_outputs(name: str) -> None:
                outputs.clear_outputs(self.root / "outputs", name)
                if listed.outputs:
                    unfinished.rename(self.root / "outputs" / name)

            with self._database.writing() as connection:
                return packs.register(connection, Path(path), listed, place_outputs)

    def verify(self, *, files: bool = True) -> tuple[str, ...]:
        """What is wrong in this library, a sentence each; empty where all is well. `files` False skips reading every file's bytes."""
        with self._database.reading() as connection:
            return tuple(problems(connection, self.files, self.root / "outputs", contents=files))


def _refuse(course: Course, reason: str) -> None:
    raise InUse(course.title, (reason,))


def _rename(place: Path, to: Path) -> None:
    """Nothing is there where nothing was ever published, or where a killed run came as far as this."""
    if place.exists():
        shutil.rmtree(to, ignore_errors=True)
        place.rename(to)


def _note(connection: Connection, stage: str, key: str, value: bytes) -> None:
    here = tables.stages.c
    connection.execute(delete(tables.stages).where(here.stage == stage, here.key == key))
    connection.execute(insert(tables.stages).values(stage=stage, key=key, at=now(), value=value))
