"""Where an output goes: a file where a file is made, a folder where a folder is made, told before any work is done."""

from __future__ import annotations

from pathlib import Path

from annotator.errors import InputError


def file_place(out: Path) -> Path:
    """A path at which a file can be written; folders on the way are made.

    >>> file_place(Path("/"))
    Traceback (most recent call last):
    annotator.errors.InputError: '/' is a folder; this output is a file. Give the file's name too.
    """
    if out.is_dir():
        raise InputError(f"{str(out)!r} is a folder; this output is a file. Give the file's name too.")
    _make(out.parent)
    return out


def folder_place(out: Path) -> Path:
    """A path at which a folder can be written; folders on the way are made, the folder itself is not."""
    if out.exists() and not out.is_dir():
        raise InputError(f"{str(out)!r} is a file; this output is a folder. Give another name.")
    _make(out.parent)
    return out


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as exc:
        raise InputError(f"{str(folder)!r} leads through a file, so no folder can be made there. Give another place.") from exc
