"""The bin: a course is taken out whole, brought back as it was, and removed for good with every byte that only it needs."""

from __future__ import annotations

import pickle
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from annotator.course import Course
from annotator.errors import InBin, InputError, InUse, NotFound
from annotator.library import KEPT_IN_BIN, Keeps, Library


def nothing_else(docs: Any, named: frozenset[str]) -> Keeps:
    return lambda stage, key, value: False


@pytest.fixture
def binned(library: Library) -> Library:
    """With an edition and its outputs, in the bin."""
    library.freeze("spring-cup", "Ben")
    with library.outputs_writer("spring-cup", 1) as folder:
        (folder / "cards.pdf").write_bytes(b"cards")
    library.put_in_bin("spring-cup", "Ana")
    return library


def test_a_course_in_the_bin_is_found_by_nobody_and_says_where_it_is(binned: Library) -> None:
    assert binned.courses() == ()
    asked: list[Callable[[], object]] = [
        lambda: binned.course("spring-cup"),
        lambda: binned.whole("spring-cup"),
        lambda: binned.revisions("spring-cup"),
        lambda: binned.station("spring-cup", "t1"),
        lambda: binned.edition("spring-cup", 1),
        lambda: binned.outputs("spring-cup", 1),
        lambda: binned.freeze("spring-cup", "Ben"),
        lambda: binned.put_in_bin("spring-cup", "Ben"),
    ]
    for ask in asked:
        with pytest.raises(InBin, match="Ana put the course 'spring-cup' in the bin") as told:
            ask()
        assert str(pickle.loads(pickle.dumps(told.value))) == str(told.value)
    assert not (binned.root / "outputs" / "spring-cup").exists(), "what was sent to a reader is no address any more"
    assert binned.verify() == ()


def test_it_is_brought_back_as_it_was(library: Library) -> None:
    before = library.whole("spring-cup")
    library.freeze("spring-cup", "Ben")
    with library.outputs_writer("spring-cup", 1) as folder:
        (folder / "cards.pdf").write_bytes(b"cards")
    edition = library.edition("spring-cup", 1)
    there = library.put_in_bin("spring-cup", "Ana")
    assert (there.course.title, there.who, there.until - there.at) == ("Spring Cup", "Ana", KEPT_IN_BIN)
    with Library(library.root) as again:
        assert again.in_bin() == (there,)
        again.bring_back("spring-cup")
        assert again.in_bin() == ()
        assert (again.whole("spring-cup"), again.edition("spring-cup", 1)) == (before, edition)
        assert (again.outputs("spring-cup", 1) / "cards.pdf").read_bytes() == b"cards"
        with pytest.raises(NotFound, match="no course in the bin 'spring-cup'"):
            again.bring_back("spring-cup")


def test_its_name_stays_its_own_as_long_as_it_is_there(binned: Library, tmp_path: Path, whole_in: Any) -> None:
    assert binned.free_name("Spring Cup") == "spring-cup-2"
    with pytest.raises(InputError, match="is taken"):
        binned.add_course(Course(name="spring-cup", title="Another"))
    with Library(tmp_path / "elsewhere") as other:
        course, stations = whole_in(other)
        other.add_course(course, stations, "Ana")
        other.pack("spring-cup", tmp_path / "spring.pack")
    assert binned.unpack(tmp_path / "spring.pack") == "spring-cup-2"


def test_what_is_removed_for_good_leaves_no_trace_and_takes_nothing_of_another_course(binned: Library, whole_in: Any) -> None:
    course, stations = whole_in(binned)
    shared = course.clips[0]
    own = binned.files.put(b"the other's own picture", ".png")
    left = stations[0].model_copy(update={"stills": (stations[0].stills[0].model_copy(update={"file": own}),)})
    binned.add_course(Course(name="summer-cup", title="Summer", clips=(shared,), order=("t1",)), (left,), "Ben")
    derived = binned.files.put(b"a published picture of it", ".jpg")
    binned.mark_done("picture", "key", derived.encode())
    binned.mark_done("hear", "key", b"you start on the blue platform")
    binned.remove_for_good("spring-cup", nothing_else)
    assert set(binned.files.all()) == {shared.original, shared.captions, shared.proxy, own}
    assert [at.doc.name for at in binned.courses()] == ["summer-cup"] and binned.in_bin() == ()
    assert (binned.done("picture", "key"), binned.done("hear", "key")) == (None, None)
    assert [place.name for place in (binned.root / "outputs").iterdir()] == []
    assert binned.free_name("Spring Cup") == "spring-cup"
    assert binned.verify() == ()
    kept = b"".join(path.read_bytes() for path in binned.root.glob("library.sqlite3*"))
    assert b"Spring Cup" not in kept


def test_a_removal_that_was_begun_can_only_be_done_again(binned: Library) -> None:
    def dies(docs: Any, named: frozenset[str]) -> Keeps:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        binned.remove_for_good("spring-cup", dies)
    with pytest.raises(InputError, match="is being removed for good"):
        binned.bring_back("spring-cup")
    binned.remove_for_good("spring-cup", nothing_else)
    assert (binned.in_bin(), list(binned.files.all()), binned.verify()) == ((), [], ())


def test_only_what_is_in_the_bin_is_removed_for_good(library: Library) -> None:
    with pytest.raises(NotFound, match="no course in the bin"):
        library.remove_for_good("spring-cup", nothing_else)
    assert library.verify() == ()


def test_after_thirty_days_it_cannot_be_brought_back(binned: Library) -> None:
    with sqlite3.connect(binned.root / "library.sqlite3") as connection:
        past = (datetime.now(UTC) - timedelta(seconds=1)).isoformat()
        connection.execute("UPDATE courses SET binned_until = ?", (past,))
    connection.close()
    with pytest.raises(InputError, match="cannot be brought back any more"):
        binned.bring_back("spring-cup")


HOLDER = """
import sys, threading
from pathlib import Path
from annotator.library import Library

with Library(Path(sys.argv[1])) as library, library.turn("spring-cup", "draft"):
    print("held", flush=True)
    threading.Event().wait()
"""


def test_a_course_that_another_program_works_on_says_so(library: Library) -> None:
    with library.turn("spring-cup", "draft"):
        pass
    with library.turn("spring-cup-2", "draft"):  # another course
        library.put_in_bin("spring-cup", "Ana")
    library.bring_back("spring-cup")
    with subprocess.Popen([sys.executable, "-c", HOLDER, str(library.root)], stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(InUse, match="'Spring Cup' is in use: A program is working on it"):
            library.put_in_bin("spring-cup", "Ana")
        holder.kill()
        holder.wait()
    library.put_in_bin("spring-cup", "Ana")


def test_nothing_is_deleted_while_another_program_has_the_library_open(binned: Library) -> None:
    with subprocess.Popen([sys.executable, "-c", HOLDER, str(binned.root)], stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(InUse, match="Another program has the library open"):
            binned.remove_for_good("spring-cup", nothing_else)
        holder.kill()
        holder.wait()
    assert binned.verify() == ()
    binned.bring_back("spring-cup")
