"""The folder of what was made from each edition. It is there whole or not at all, also when it is made again."""

from __future__ import annotations

import fcntl
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from annotator.library.files import UNFINISHED, disk_in_our_words, flush_folder

_ASIDE = ".aside-"


def outputs_folder(root: Path, name: str, number: int) -> Path:
    """Where the outputs of an edition lie, or will lie: `<course>/edition-<number>`."""
    place = root / name / f"edition-{number}"
    if not place.exists() and _aside(place).exists():
        _put_back(place)
    return place


@contextmanager
def write_outputs(root: Path, name: str, number: int) -> Iterator[Path]:
    """An empty folder to write into; it takes its place, instead of an older one, when the block ends without an error."""
    place = outputs_folder(root, name, number)
    with disk_in_our_words(root):
        place.parent.mkdir(exist_ok=True)
        with unfinished_folder(place.parent) as unfinished:
            yield unfinished
            flush_all(unfinished)
            with _turn(place.parent):
                if place.exists():
                    place.rename(_aside(place))
                unfinished.rename(place)
                shutil.rmtree(_aside(place), ignore_errors=True)
            flush_folder(place.parent)


def sweep(root: Path) -> None:
    """Throw away what killed runs left half-written, and put back what they had set aside. Only where nobody else is writing."""
    for leftover in (*root.glob(f"{UNFINISHED}*"), *root.glob(f"*/{UNFINISHED}*")):
        shutil.rmtree(leftover, ignore_errors=True)
    for aside in root.glob(f"*/{_ASIDE}*"):
        _put_back(aside.with_name(aside.name.removeprefix(_ASIDE)))


def clear_outputs(root: Path, name: str) -> None:
    """Remove what a killed unpacking left under a name that no course has; call it when a course takes the name."""
    shutil.rmtree(root / name, ignore_errors=True)


@contextmanager
def unfinished_folder(root: Path) -> Iterator[Path]:
    """A folder that nobody sees, gone after the block unless it was renamed."""
    folder = root / f"{UNFINISHED}{secrets.token_hex(8)}"
    with disk_in_our_words(root):
        folder.mkdir()
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)


def _aside(place: Path) -> Path:
    return place.with_name(f"{_ASIDE}{place.name}")


def _put_back(place: Path) -> None:
    with _turn(place.parent):
        if not _aside(place).exists():
            return
        if place.exists():
            shutil.rmtree(_aside(place), ignore_errors=True)
        else:
            _aside(place).rename(place)


@contextmanager
def _turn(folder: Path) -> Iterator[None]:
    # Two renames put a folder in another's place; the lock on the folder itself lets nobody come between them.
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def flush_all(folder: Path) -> None:
    """Force everything in a folder to the disk."""
    for here, _, names in os.walk(folder):
        for name in names:
            handle = os.open(Path(here) / name, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
        flush_folder(Path(here))
