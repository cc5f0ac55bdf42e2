"""A kill at any moment (a real SIGKILL) leaves a library that is whole, and a full disk a clear message and nothing half-written."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from annotator.course import Course, Station
from annotator.library import Library

Whole = tuple[Course, tuple[Station, ...]]

# Writes everything that a library holds, over and over, and says on a pipe what is certainly kept ("said") as it goes.
WORKER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from annotator.library import Library, stage_key

    library, pack = Library(Path(sys.argv[1])), Path(sys.argv[2])
    name = "spring-cup"
    for turn in range(int(sys.argv[3]), 1_000_000):
        sha = library.files.put(b"%d " % turn * 300_000, ".bin")
        at = library.station(name, "t1")
        still = at.doc.stills[0].model_copy(update={"file": sha})
        saved = library.save_station(name, at.doc.model_copy(update={"stills": (still,), "name": str(turn)}), at.revision, "w")
        print("station", saved.revision, sha, flush=True)
        library.mark_done("turn", stage_key("turn", "1", turn), sha.encode())
        print("done", turn, sha, flush=True)
        edition = library.freeze(name, "w")
        print("edition", edition.number, edition.code, flush=True)
        with library.outputs_writer(name, edition.number) as folder:
            for page in range(20):
                (folder / str(page)).write_text(str(edition.number) * 1000)
        with library.outputs_writer(name, edition.number) as folder:
            for page in range(20):
                (folder / str(page)).write_text(str(edition.number) * 1000)
        print("outputs", edition.number, "-", flush=True)
        if turn % 5 == 2:
            print("unpacked", library.unpack(pack), "-", flush=True)
    """
)


def told(lines: list[str]) -> list[tuple[str, str, str]]:
    """What the worker said in whole lines before it was killed."""
    return [(words[0], words[1], words[2]) for line in lines if line.endswith("\n") and len(words := line.split()) == 3]


def test_a_kill_at_any_moment_leaves_a_whole_library(library: Library, tmp_path: Path) -> None:
    library.pack("spring-cup", tmp_path / "a.zip")
    library.close()
    chance = random.Random(20)
    said: list[tuple[str, str, str]] = []
    for round_, after in enumerate(("station", "done", "edition", "outputs", "unpacked", "station", "edition", "outputs")):
        command = [sys.executable, "-c", WORKER, str(library.root), str(tmp_path / "a.zip"), str(round_ * 1000)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as worker:
            assert worker.stdout is not None
            for line in worker.stdout:
                said += told([line])
                if line.startswith(after):
                    break
            time.sleep(chance.uniform(0, 0.2))  # it goes on until it is killed, however long that takes
            worker.send_signal(signal.SIGKILL)
            said += told(worker.stdout.readlines())
        assert worker.returncode == -signal.SIGKILL, "it must have been at work until it was killed"
        with Library(library.root) as again:
            assert again.verify() == ()
            for folder in (again.files.root, again.root / "outputs"):
                assert not [path for path in folder.rglob("*") if path.name.startswith(".")], "leftovers are swept at opening"
            for kind, number, value in said:
                if kind == "station":
                    found = again.revision("spring-cup", "station", "t1", int(number)).doc
                    assert isinstance(found, Station) and found.stills[0].file == value
                elif kind == "edition":
                    assert again.edition("spring-cup", int(number)).code == value
                elif kind == "outputs":
                    assert again.outputs("spring-cup", int(number)).is_dir()
                elif kind == "unpacked":
                    assert (again.course(number).revision, len(again.stations(number))) == (1, 2)
            for edition in again.editions("spring-cup"):
                folder = again.outputs("spring-cup", edition.number)
                if folder.exists():
                    pages = sorted(int(page.name) for page in folder.iterdir())
                    assert pages == list(range(20)), "the outputs are there whole or not at all"
                    assert {page.stat().st_size for page in folder.iterdir()} == {1000 * len(str(edition.number))}
    assert {kind for kind, _, _ in said} == {"station", "done", "edition", "outputs", "unpacked"}


FULL = textwrap.dedent(
    """
    import resource, sys
    from pathlib import Path
    from annotator.errors import LibraryTrouble
    from annotator.library import Library

    library, what = Library(Path(sys.argv[1])), sys.argv[2]
    if sys.argv[3] != "0":  # no file may grow past this, as on a disk that has no more room
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), resource.RLIM_INFINITY))
    large = b"x" * 3_000_000
    try:
        if what == "file":
            library.files.put(large)
        elif what == "document":
            course = library.course("spring-cup")
            library.save_course(course.doc.model_copy(update={"title": "x" * 3_000_000}), course.revision, "Ben")
        elif what == "stage":
            library.mark_done("words", "1", large)
        elif what == "outputs":
            with library.outputs_writer("spring-cup", 1) as folder:
                (folder / "page").write_bytes(large)
        elif what == "pack":
            library.pack("spring-cup", Path(sys.argv[1]).parent / "a.zip")
        print("no trouble")
    except LibraryTrouble as exc:
        print(exc)
    """
)


def run_full(root: Path, what: str, limit: int) -> str:
    done = subprocess.run([sys.executable, "-c", FULL, str(root), what, str(limit)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def assert_untouched(library: Library) -> None:
    with Library(library.root) as again:
        assert again.verify() == ()
        assert again.course("spring-cup").revision == 1
        assert again.done("words", "1") is None
        assert not again.outputs("spring-cup", 1).exists()
        hidden = [path for path in again.root.parent.rglob(".unfinished-*") if again.root in path.parents or path.is_file()]
        assert hidden == []
        assert again.save_course(again.course("spring-cup").doc.model_copy(update={"title": "Room again"}), 1, "Ben").revision == 2


@pytest.fixture
def ready(library: Library) -> Library:
    library.freeze("spring-cup", "Dana")
    return library


@pytest.mark.parametrize("what", ["file", "document", "stage", "outputs"])
def test_a_full_disk_is_told_and_nothing_half_written_is_kept(ready: Library, what: str) -> None:
    ready.close()
    assert "the disk is full" in run_full(ready.root, what, 400_000)
    assert_untouched(ready)


def test_a_full_disk_leaves_no_half_a_pack(ready: Library) -> None:
    ready.close()
    assert "the disk is full" in run_full(ready.root, "pack", 2_000)
    assert not list(ready.root.parent.glob("*.zip"))
    assert_untouched(ready)


def test_a_small_disk_that_is_really_full(tmp_path: Path, whole_in: Callable[[Library], Whole]) -> None:
    """The same on a memory disk of 2 MB, where this machine lets us make one."""
    mount = shutil.which("mount")
    place = tmp_path / "disk"
    place.mkdir()
    if mount is None or os.geteuid() != 0:
        pytest.skip("making a small disk needs the superuser")
    made = subprocess.run([mount, "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], capture_output=True, check=False)
    if made.returncode != 0:
        pytest.skip("this machine does not let us make a small disk")
    try:
        library = Library(place / "library")
        library.add_course(*whole_in(library), "Ana")
        library.freeze("spring-cup", "Dana")
        library.close()
        for what in ("file", "document", "stage", "outputs"):
            assert "the disk is full" in run_full(library.root, what, 0)
        assert_untouched(library)
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)
