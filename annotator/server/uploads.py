"""Files on their way in: sent in pieces, each from where the last one ended, so that a dropped line costs one piece.

Each upload is a folder of the library's `uploads/` with what was told about it and the bytes so far; how far it is, is the size of the
file itself, so a killed server loses nothing and invents nothing. What a finished file is good for is looked at by `api/uploads.py`.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import shutil
import threading
import time
import unicodedata
from collections.abc import Collection
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict

from annotator.errors import InputError, LibraryTrouble, NotFound
from annotator.server.errors import WrongOffset

UploadKind = Literal["clip", "captions"]
LARGEST = {"clip": 64 * 2**30, "captions": 8 * 2**20}
LONGEST_NAME = 120  # bytes in UTF-8; file systems take 255, and a title is made from it
KEPT_FREE = 200 * 2**20  # bytes of disk that an upload leaves free for the database and the drafts
FORGOTTEN_S = 3 * 24 * 3600.0
_ID = re.compile(r"[0-9a-f]{16}")


class Upload(BaseModel):
    """One file on its way in. `offset` is how many of its `size` bytes are here; `sha` is set once it is whole and was looked at."""

    model_config = ConfigDict(frozen=True)

    id: str
    kind: UploadKind
    name: str
    size: int
    offset: int = 0
    sha: str | None = None


class Uploads:
    """The uploads of one library."""

    def __init__(self, root: Path) -> None:
        self._root = root
        root.mkdir(parents=True, exist_ok=True)
        self._lock = threading.Lock()

    def begin(self, kind: UploadKind, name: str, size: int) -> Upload:
        """A new upload. `InputError` for a file that is empty or too large, `LibraryTrouble` where the disk has no room for it."""
        name = clean_name(name)
        if size < 1:
            raise InputError(f"{name!r} is empty. Copy it from the camera again, or choose another file.")
        if size > LARGEST[kind]:
            raise InputError(f"{name!r} has {size / 2**30:.1f} GB; the most is {LARGEST[kind] / 2**30:.2g} GB. Cut it into several clips.")
        free = shutil.disk_usage(self._root).free
        if size + KEPT_FREE > free:
            reason = f"{name!r} needs {size / 2**30:.1f} GB and the disk has {free / 2**30:.1f} GB free. Make room and choose it again."
            raise LibraryTrouble(self._root, reason)
        upload = Upload(id=secrets.token_hex(8), kind=kind, name=name, size=size)
        folder = self._root / upload.id
        folder.mkdir()
        (folder / "data").mkdir()
        (folder / "data" / name).touch()
        (folder / "told.json").write_text(upload.model_dump_json(), "utf-8")
        return upload

    def get(self, upload_id: str) -> Upload:
        """An upload as it stands; `NotFound` where there is none (also when it was too long ago)."""
        if not self.here(upload_id):
            raise NotFound("upload", upload_id)
        upload = Upload.model_validate_json((self._root / upload_id / "told.json").read_text("utf-8"))
        return upload.model_copy(update={"offset": self.path(upload).stat().st_size})

    def here(self, upload_id: str) -> bool:
        """Whether there is an upload of that id."""
        return _ID.fullmatch(upload_id) is not None and (self._root / upload_id / "told.json").is_file()

    def path(self, upload: Upload) -> Path:
        """Where its bytes lie, under the name it came with."""
        return self._root / upload.id / "data" / upload.name

    def append(self, upload_id: str, offset: int, piece: bytes) -> Upload:
        """Put a piece at `offset`, which must be where the last one ended (`WrongOffset` tells where that is)."""
        with self._lock:
            upload = self.get(upload_id)
            if offset != upload.offset:
                raise WrongOffset(upload.name, upload.offset)
            if offset + len(piece) > upload.size:
                raise InputError(f"{upload.name!r} was announced with {upload.size} bytes and more arrived. Choose it again.")
            with self.path(upload).open("ab") as out:
                out.write(piece)
            return upload.model_copy(update={"offset": offset + len(piece)})

    def seal(self, upload_id: str) -> Upload:
        """The whole upload with the SHA-256 of its bytes; `WrongOffset` where some are still missing."""
        upload = self.get(upload_id)
        if upload.offset != upload.size:
            raise WrongOffset(upload.name, upload.offset)
        if upload.sha is None:
            with self.path(upload).open("rb") as file:
                upload = upload.model_copy(update={"sha": hashlib.file_digest(file, "sha256").hexdigest()})
            told = self._root / upload.id / "told.json"
            beside = told.with_suffix(".new")
            beside.write_text(upload.model_dump_json(), "utf-8")
            beside.replace(told)
        return upload

    def finished(self, upload_id: str, kind: UploadKind) -> Upload:
        """A whole upload that was looked at; `WrongOffset` where some of it is missing, `InputError` where it came as another kind."""
        upload = self.get(upload_id)
        if upload.sha is None:
            raise WrongOffset(upload.name, upload.offset)
        if upload.kind != kind:
            raise InputError(f"{upload.name!r} came as {upload.kind}, not as {kind}. Choose it again in the right place.")
        return upload

    def drop(self, upload_id: str) -> None:
        """Throw an upload away; nothing happens where there is none."""
        if _ID.fullmatch(upload_id):
            shutil.rmtree(self._root / upload_id, ignore_errors=True)

    def sweep(self, keep: Collection[str] = (), now_s: float | None = None) -> None:
        """Throw away what nobody went on with for three days, but for those in `keep`."""
        now_s = time.time() if now_s is None else now_s
        for folder in self._root.iterdir():
            newest = max((path.stat().st_mtime for path in folder.rglob("*")), default=folder.stat().st_mtime)
            if folder.name not in keep and now_s - newest > FORGOTTEN_S:
                self.drop(folder.name)


def clean_name(name: str) -> str:
    """A file name that is safe in any folder and still the one people know: no folders, no signs that a system reads, not too long.

    >>> clean_name("../../etc/passwd"), clean_name("C:\\\\walks\\\\morning walk.MOV"), clean_name("..")
    ('passwd', 'morning walk.MOV', 'clip')
    >>> clean_name("Läufe 🏃 1.mp4")
    'Läufe 🏃 1.mp4'
    """
    last = re.split(r"[/\\]", unicodedata.normalize("NFC", name))[-1]
    kept = "".join(sign for sign in last if unicodedata.category(sign)[0] != "C" and sign not in '<>:"|?*')
    kept = " ".join(kept.split()).strip(". ")
    stem, dot, suffix = kept.rpartition(".")
    if not dot or len(suffix) > 12:
        stem, suffix = kept, ""
    end = f".{suffix}" if suffix else ""
    while len((stem + end).encode()) > LONGEST_NAME:
        stem = stem[:-1]
    return (stem.strip() + end) or "clip"
