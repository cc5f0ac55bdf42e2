"""Files by their content: what is put in comes back under the SHA-256 of its bytes, and the same bytes are kept once.

A file appears under its name whole or not at all: it is written beside its place, forced to the disk, then renamed.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from annotator.errors import LibraryTrouble, NotFound

PIECE = 1 << 20  # bytes read at once
UNFINISHED = ".unfinished-"

_SHA = re.compile(r"[0-9a-f]{64}")
_SUFFIX = re.compile(r"(\.[a-z0-9]{1,12}){1,2}")


class Files:
    """The content-addressed folder of a library: `<first two hex digits>/<sha256><suffix>`."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def put(self, content: Path | str | bytes, suffix: str = "") -> str:
        """Keep a file's bytes; gives their SHA-256 as 64 hex digits. What is already there is not written again.

        `suffix` (".jpg", ".words.json") lets programs that look at names know what it is; a wish that is not one or two plain
        suffixes is dropped, and the first suffix that some content came with stays.

        Raises `LibraryTrouble` where the disk is full or not writable, and `NotFound` where there is no such file to take in.
        """
        if isinstance(content, bytes):
            sha = hashlib.sha256(content).hexdigest()
            return sha if self._find(sha) else self._write(lambda out: _note(out, content), suffix)
        source = Path(content)
        sha = self.digest(source)  # read once to know it: a walk that is already here must not fill the disk to find that out
        return sha if self._find(sha) else self._write(lambda out: _copy(source, out), suffix)

    def put_stream(self, pieces: Iterator[bytes], suffix: str = "") -> str:
        """Like `put` for bytes that come in pieces."""

        def write(out: BinaryIO) -> str:
            digest = hashlib.sha256()
            for piece in pieces:
                digest.update(piece)
                out.write(piece)
            return digest.hexdigest()

        return self._write(write, suffix)

    def digest(self, path: Path) -> str:
        """The hash that this file would have here, without taking it in."""
        try:
            return hash_of(path)
        except FileNotFoundError as exc:
            raise NotFound("file", str(path)) from exc

    def path(self, sha: str) -> Path:
        """Where the bytes of this hash lie; `NotFound` where they do not. The file is for reading only."""
        found = self._find(sha)
        if found is None:
            raise NotFound("file", sha)
        return found

    def has(self, sha: str) -> bool:
        """Whether the bytes of this hash are here."""
        return self._find(sha) is not None

    def remove(self, sha: str) -> None:
        """Delete the bytes of this hash; nothing happens where they are not here."""
        found = self._find(sha)
        if found is not None:
            found.unlink(missing_ok=True)

    def damaged(self, sha: str) -> str | None:
        """What is wrong with a file, in words ("missing", "its content changed"); None where it is as it was put in."""
        found = self._find(sha)
        if found is None:
            return "missing"
        return None if hash_of(found) == sha else "its content changed"

    def all(self) -> Iterator[str]:
        """The hashes of all files, in order."""
        for folder in sorted(self.root.iterdir()):
            if folder.is_dir():
                yield from sorted({path.name[:64] for path in folder.iterdir() if _SHA.match(path.name)})

    def sweep(self) -> None:
        """Throw away what killed runs left half-written. Only where nobody else is writing: see `Library`."""
        for leftover in self.root.glob(f"{UNFINISHED}*"):
            leftover.unlink(missing_ok=True)

    def _find(self, sha: str) -> Path | None:
        if not _SHA.fullmatch(sha):
            return None
        return min((self.root / sha[:2]).glob(f"{sha}*"), default=None)

    def _write(self, write: Callable[[BinaryIO], str], suffix: str) -> str:
        unfinished = self.root / f"{UNFINISHED}{secrets.token_hex(8)}"
        with disk_in_our_words(self.root.parent):
            try:
                with unfinished.open("xb") as out:
                    sha = write(out)
                    out.flush()
                    os.fsync(out.fileno())
                if not self._find(sha):
                    folder = self.root / sha[:2]
                    folder.mkdir(exist_ok=True)
                    unfinished.rename(folder / f"{sha}{plain_suffix(suffix)}")
                    flush_folder(folder)
            finally:
                unfinished.unlink(missing_ok=True)
        return sha


def plain_suffix(suffix: str) -> str:
    """The suffix in small letters, or "" where it is none.

    >>> plain_suffix(".MP4"), plain_suffix(".words.json"), plain_suffix("/../x")
    ('.mp4', '.words.json', '')
    """
    small = suffix.lower()
    return small if _SUFFIX.fullmatch(small) else ""


def hash_of(path: Path) -> str:
    """SHA-256 of a file's bytes, 64 hex digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def flush_folder(folder: Path) -> None:
    """Force a folder's list of names to the disk, so that a rename outlives a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def disk_in_our_words(path: Path) -> Iterator[None]:
    """A full or unwritable disk becomes `LibraryTrouble` with what to do; other failures pass as they are."""
    try:
        yield
    except OSError as exc:
        if exc.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            free = shutil.disk_usage(path).free // 1_000_000
            reason = f"the disk is full ({free} MB free). Nothing half-written was kept; make room and do it again."
        elif exc.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
            reason = "it may not be written. Give yourself the right to write in its folder."
        else:
            raise
        raise LibraryTrouble(path, reason) from exc


def _note(out: BinaryIO, content: bytes) -> str:
    out.write(content)
    return hashlib.sha256(content).hexdigest()


def _copy(source: Path, out: BinaryIO) -> str:
    # Hashed again while copying: the name always tells what was written, even if somebody was still writing the source.
    digest = hashlib.sha256()
    with source.open("rb") as file:
        while piece := file.read(PIECE):
            digest.update(piece)
            out.write(piece)
    return digest.hexdigest()
