"""Small things that take a while to make, kept in a folder by all that goes into them.

In: a name made of the inputs, and how to make it. Out: the thing. A folder of None keeps nothing. Who empties the folder loses only time.
What is written in whole is renamed into place, so that a killed run leaves nothing half. What hangs on the program's own code is named with
`program()`: another version of the program makes it anew.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import os
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache, lru_cache
from pathlib import Path
from secrets import token_hex
from threading import Lock

from annotator.recent import Recent

_MADE_BY = ("booklet", "course", "fonts", "marks")
"""The parts of the program whose code, templates and words go into a booklet."""
_LIBRARIES = ("babel", "jinja2", "pikepdf", "pillow", "shapely", "typst")
_LEFT_OUT = {".pyc", ".onnx"}
_BY_SIZE = {".ttf"}
"""Faces: large, and never changed in place without a change of length."""
_NOTED_NS = 600 * 10**9
"""A note that a file was of use is made again when it is older: exact enough for `prune`, and most files are asked for again and again."""


def stage_name(*parts: object) -> str:
    """SHA-256 over the parts: numbers, text, None, lists and dicts of such, with text as keys.

    >>> stage_name("1", None) == stage_name("1", None), stage_name("ab", "c") == stage_name("a", "bc")
    (True, False)
    """
    return hashlib.sha256(json.dumps(parts, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


@cache
def program() -> str:
    """Changes with the code, the templates and the catalogues that booklets are made with, and with the libraries that lay them out."""
    told = hashlib.sha256()
    for library in _LIBRARIES:
        told.update(f"{library} {importlib.metadata.version(library)}\n".encode())
    for file in _own_files():
        told.update(f"{file.name} {file.stat().st_size}\n".encode())
        if file.suffix not in _BY_SIZE:
            told.update(file.read_bytes())
    return told.hexdigest()


def _own_files() -> Iterator[Path]:
    root = Path(__file__).parent.parent
    yield from (root / "units.py", root / "recent.py")
    for part in _MADE_BY:
        yield from sorted(file for file in (root / part).rglob("*") if file.is_file() and file.suffix not in _LEFT_OUT)


def digest_of(file: Path) -> str:
    """SHA-256 of a file, read once a process as long as it stays as it is. Raises OSError."""
    told = file.stat()
    return _digest(file, told.st_ino, told.st_size, told.st_mtime_ns)


@lru_cache(maxsize=4096)
def _digest(file: Path, _inode: int, _size: int, _changed_ns: int) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def keep(place: Path, made: bytes) -> None:
    """Put it there, whole or not at all; two that keep the same at once do not disturb each other."""
    place.parent.mkdir(parents=True, exist_ok=True)
    part = place.with_name(f"{place.name}.{os.getpid()}-{token_hex(4)}.part")
    part.write_bytes(made)
    part.replace(place)


def put(place: Path, made: bytes) -> None:
    """Write a file anew. What was there may be a kept file's second name, which is taken away first and not written through."""
    place.unlink(missing_ok=True)
    place.write_bytes(made)


def kept_bytes(folder: Path | None, name: str, make: Callable[[], bytes]) -> bytes:
    """What is kept under that name, else what `make` makes, kept from then on."""
    if folder is None:
        return make()
    try:
        return read_kept(folder, name)
    except FileNotFoundError:
        made = make()
        keep(folder / name, made)
        return made


def read_kept(folder: Path, name: str) -> bytes:
    """What is kept under that name, which is noted as of use just now. Raises FileNotFoundError where nothing is."""
    # Many small files are read one after the other: a path as an object would cost as much as reading.
    place = os.path.join(folder, name)  # noqa: PTH118
    with open(place, "rb", buffering=0) as file:  # noqa: PTH123
        kept, told = file.readall(), os.fstat(file.fileno())
    _note(place, told)
    return kept


def link_kept(folder: Path, name: str, place: Path) -> bool:
    """Give what is kept under that name a second name, and note that it was of use; False where the disk does not do that.

    Nobody may write into `place` from then on; `put` does not. Raises FileNotFoundError where nothing is kept, or the place's folder is
    missing.
    """
    try:
        os.link(folder / name, place)
    except FileNotFoundError:
        raise
    except OSError:  # another disk, one without such names, or something is there already
        return False
    of_use(folder, name)
    return True


def of_use(folder: Path | None, name: str) -> None:
    """Note that what is kept under that name is of use, though nobody reads it: the process has what came of it."""
    if folder is not None:
        place = os.path.join(folder, name)  # noqa: PTH118
        with suppress(OSError):
            _noted.get((place, time.monotonic_ns() // _NOTED_NS), lambda: _note(place, os.stat(place)))  # noqa: PTH116


_noted: Recent[None] = Recent(65536)


def _note(place: str, told: os.stat_result) -> None:
    now = time.time_ns()
    if now - told.st_atime_ns > _NOTED_NS:
        with suppress(OSError):  # a library that may only be read, or somebody emptied the folder
            os.utime(place, ns=(now, told.st_mtime_ns))


def kept_lately(folder: Path | None, name: str, make: Callable[[], bytes]) -> bytes:
    """As `kept_bytes`, for what each edition and several outputs of it take: held in the process as well, which reads it no more.

    That it is of use is still noted in the folder now and then, so that `prune` takes what is not.
    """
    if folder is None:
        return make()
    return _held.get(f"{folder}/{name}", lambda: kept_bytes(folder, name, make))


class _Held:
    """Content by its place, in so many bytes; what nobody asked for the longest goes first, and its folder is asked again in time."""

    def __init__(self, most_bytes: int) -> None:
        self._left, self._turn = most_bytes, Lock()
        self._made: OrderedDict[str, tuple[bytes, int]] = OrderedDict()

    def get(self, place: str, ask: Callable[[], bytes]) -> bytes:
        """What is held of a place, else what `ask` gives; two that ask at once may both ask."""
        now = time.monotonic_ns()
        with self._turn:
            held = self._made.get(place)
            if held is not None and now - held[1] < _NOTED_NS:
                self._made.move_to_end(place)
                return held[0]
        made = ask()
        with self._turn:
            self._left += len(self._made.pop(place, (b"", 0))[0]) - len(made)
            self._made[place] = made, now
            while self._left < 0:
                _, (gone, _) = self._made.popitem(last=False)
                self._left += len(gone)
        return made


_held = _Held(64 * 2**20)
"""The pages of forty stations in five languages, with their pictures for paper and e-books."""


def kept_text(folder: Path | None, name: str, make: Callable[[], str]) -> str:
    """As `kept_bytes`, for text."""
    return kept_bytes(folder, name, lambda: make().encode()).decode()


def prune(folder: Path, most_bytes: int) -> None:
    """Throw away what was asked for longest ago until the folder's own files hold at most `most_bytes`; folders in it are left alone.

    Others may write and read in it meanwhile: what is gone is made again when it is asked for.
    """
    found: list[tuple[int, str, int]] = []
    with suppress(FileNotFoundError), os.scandir(folder) as entries:
        for entry in entries:
            with suppress(FileNotFoundError):
                if entry.is_file(follow_symlinks=False):
                    told = entry.stat(follow_symlinks=False)
                    found.append((told.st_atime_ns, entry.name, told.st_size))
    held = 0
    for _, name, size in sorted(found, reverse=True):
        held += size
        if held > most_bytes:
            (folder / name).unlink(missing_ok=True)
