"""A whole course as one archive, and back byte for byte.

The archive is a ZIP of plain parts, nothing compressed and all dated 1980, so that one course always gives the same bytes:

    README.txt                        what this is, and whether the clips as filmed are inside
    pack.json                         every revision of every document, the editions, and a list of all files with their hashes
    files/<sha256><suffix>            clips, stills, words
    outputs/edition-<n>/...           what was made from each edition

Nothing of an archive is kept before all of it was read and every hash agrees.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Annotated, Any, Literal
from zipfile import ZipFile, ZipInfo

from pydantic import Field
from sqlalchemy import Connection, insert, select
from sqlalchemy.exc import IntegrityError

from annotator.course import Course, Model, Station
from annotator.errors import LibraryTrouble, NotFound, UnreadablePack
from annotator.library import tables
from annotator.library.canon import canonical, free_name, slug
from annotator.library.documents import check_order, read_course, taken_names
from annotator.library.files import PIECE, UNFINISHED, Files, disk_in_our_words, plain_suffix
from annotator.library.outputs import outputs_folder

VERSION = 1
_WHAT = "a packed course"
_LIST_LIMIT = 512 << 20  # bytes of pack.json that we are willing to read; a course of 40 stations with a long history has about 20 MB
_Sha = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


@dataclass(frozen=True)
class Packed:
    """What was packed: where, whether the clips as filmed are inside, and the originals that are not, by hash."""

    path: Path
    originals: bool
    left_out: tuple[str, ...]
    size: int
    """Bytes of the archive."""


class _File(Model):
    sha: _Sha
    suffix: str
    size: Annotated[int, Field(ge=0)]


class _Output(Model):
    path: str
    sha: _Sha
    size: Annotated[int, Field(ge=0)]


class _Revision(Model):
    kind: Literal["course", "station"]
    item: str
    number: Annotated[int, Field(ge=1)]
    before: int | None
    who: str
    at: str
    current: bool
    doc: dict[str, Any]


class _Pin(Model):
    kind: Literal["course", "station"]
    item: str
    number: int


class _Edition(Model):
    number: Annotated[int, Field(ge=1)]
    code: Annotated[str, Field(pattern="^[A-Z0-9]{6}$")]
    who: str
    at: str
    pins: tuple[_Pin, ...]


class _List(Model):
    what: Literal["a packed course"]
    version: int
    course: str
    added_at: str
    originals: bool
    left_out: tuple[_Sha, ...]
    revisions: tuple[_Revision, ...]
    editions: tuple[_Edition, ...]
    files: tuple[_File, ...]
    outputs: tuple[_Output, ...]


# Out of the library


def pack(connection: Connection, name: str, out: Path, files: Files, outputs: Path, *, originals: bool) -> Packed:
    """Write the archive; see `Library.pack`."""
    if not out.parent.is_dir():
        raise NotFound("folder", str(out.parent))
    listed, sources = _listed(connection, name, files, outputs, originals=originals)
    readme = _readme(listed).encode()
    parts: list[tuple[str, Path | bytes]] = [("README.txt", readme), ("pack.json", canonical(listed)), *sources]
    unfinished = out.with_name(f"{UNFINISHED}{secrets.token_hex(8)}")
    with disk_in_our_words(out.parent):
        try:
            with ZipFile(unfinished, "x", zipfile.ZIP_STORED) as archive:
                for part, source in parts:
                    _write_part(archive, part, source)
            unfinished.replace(out)
        finally:
            unfinished.unlink(missing_ok=True)
    return Packed(out, listed.originals, listed.left_out, out.stat().st_size)


def _write_part(archive: ZipFile, part: str, source: Path | bytes) -> None:
    info = ZipInfo(part, (1980, 1, 1, 0, 0, 0))
    info.create_system, info.external_attr = 3, (stat.S_IFREG | 0o644) << 16
    info.file_size = len(source) if isinstance(source, bytes) else source.stat().st_size  # tells zipfile whether it needs ZIP64
    digest = hashlib.sha256()
    with archive.open(info, "w") as to:
        for piece in (source,) if isinstance(source, bytes) else _read(source):
            digest.update(piece)
            to.write(piece)
    folder, _, name = part.partition("/")
    if folder == "files" and name[:64] != digest.hexdigest():
        raise LibraryTrouble(Path(part), "its content changed on the disk. Bring the library's folder back from a copy.")


def _read(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            yield piece


def _listed(
    connection: Connection, name: str, files: Files, outputs: Path, *, originals: bool
) -> tuple[_List, list[tuple[str, Path | bytes]]]:
    read_course(connection, name)
    revisions = _revisions(connection, name)
    filmed, others = _named_files(revisions)
    left_out = sorted(sha for sha in filmed if not originals or not files.has(sha))
    kept = sorted((filmed | others) - set(left_out))
    listed_files, sources = [], list[tuple[str, Path | bytes]]()
    for sha in kept:
        if not files.has(sha):
            reason = f"the file {sha[:12]}..., which {name!r} names, is missing. Bring the library's folder back from a copy."
            raise LibraryTrouble(files.root.parent, reason)
        path = files.path(sha)
        suffix = plain_suffix(path.name[64:])
        listed_files.append(_File(sha=sha, suffix=suffix, size=path.stat().st_size))
        sources.append((f"files/{sha}{suffix}", path))
    editions = _editions(connection, name)
    made = []
    for edition in editions:
        folder = outputs_folder(outputs, name, edition.number)
        for path in sorted(one for one in folder.rglob("*") if one.is_file()) if folder.exists() else []:
            part = f"edition-{edition.number}/{path.relative_to(folder).as_posix()}"
            with path.open("rb") as file:
                made.append(_Output(path=part, sha=hashlib.file_digest(file, "sha256").hexdigest(), size=path.stat().st_size))
            sources.append((f"outputs/{part}", path))
    added = connection.scalar(select(tables.courses.c.added_at).where(tables.courses.c.name == name))
    listed = _List(
        what="a packed course",
        version=VERSION,
        course=name,
        added_at=str(added),
        originals=originals and not left_out,
        left_out=tuple(left_out),
        revisions=tuple(revisions),
        editions=tuple(editions),
        files=tuple(listed_files),
        outputs=tuple(made),
    )
    return listed, sources


def _revisions(connection: Connection, name: str) -> list[_Revision]:
    here, now = tables.revisions.c, tables.current.c
    current = {(row.kind, row.item): row.number for row in connection.execute(select(tables.current).where(now.course == name))}
    rows = connection.execute(select(tables.revisions).where(here.course == name).order_by(here.kind, here.item, here.number))
    return [
        _Revision(
            kind=row.kind,
            item=row.item,
            number=row.number,
            before=row.before,
            who=row.who,
            at=row.at,
            current=current[row.kind, row.item] == row.number,
            doc=json.loads(_validated(row.kind, json.loads(row.doc)).model_dump_json()),
        )
        for row in rows
    ]


def _editions(connection: Connection, name: str) -> list[_Edition]:
    here, pin = tables.editions.c, tables.pins.c
    editions = []
    for row in connection.execute(select(tables.editions).where(here.course == name).order_by(here.number)):
        pins = connection.execute(select(tables.pins).where(pin.course == name, pin.edition == row.number).order_by(pin.place))
        pinned = tuple(_Pin(kind=one.kind, item=one.item, number=one.number) for one in pins)
        editions.append(_Edition(number=row.number, code=row.code, who=row.who, at=row.at, pins=pinned))
    return editions


def _named_files(revisions: Sequence[_Revision]) -> tuple[set[str], set[str]]:
    """The hashes that any revision names: those of clips as filmed, and all others. A file that is both counts as filmed."""
    filmed, others = set[str](), set[str]()
    for revision in revisions:
        doc = _validated(revision.kind, revision.doc)
        if isinstance(doc, Course):
            filmed |= {clip.original for clip in doc.clips}
            others |= {sha for clip in doc.clips for sha in (clip.captions, clip.proxy) if sha}
            others |= {sha for sha in (doc.words, doc.corrections, doc.read_with) if sha}
            others |= {each.file for each in doc.translations}
        else:
            others |= {still.file for still in doc.stills}
    return filmed, others - filmed


def _validated(kind: str, doc: object) -> Course | Station:
    return (Course if kind == "course" else Station).model_validate(doc)


def _readme(listed: _List) -> str:
    course = next(one.doc for one in listed.revisions if one.kind == "course" and one.current)
    if listed.originals:
        clips = (
            "The clips as filmed ARE inside, unchanged: with the faces of everybody on them, and with the place, time and device\n"
            "that the camera wrote into them. Hand this file only to your own staff."
        )
    else:
        clips = (
            "The clips as filmed are NOT inside, nor the place and device that a camera wrote into them. The stills and the small\n"
            "version of the video are, with the faces on them. Hand this file only to people who may see them."
        )
    return (
        f"{course['title']}\n\nThis is a whole course: its rules with their history, its stills and marks, and {len(listed.editions)} "
        f"published edition(s).\nBring it into a library with:  annotator unpack FILE\n\n{clips}\n"
    )


# Into the library


def read_pack(path: Path) -> tuple[ZipFile, _List]:
    """The archive and its list, after every part was read and its hash agrees. The caller closes it."""
    try:
        archive = ZipFile(path)
    except FileNotFoundError as exc:
        raise UnreadablePack(path, "there is no such file.") from exc
    except (zipfile.BadZipFile, OSError) as exc:
        raise UnreadablePack(path, "it is not an archive, or it was cut off. Copy it again from where it came.") from exc
    try:
        return archive, _checked(path, archive)
    except BaseException as exc:
        archive.close()
        if isinstance(exc, zipfile.BadZipFile | EOFError | NotImplementedError | RuntimeError | zlib.error):
            raise UnreadablePack(path, "it is damaged. Copy it again from where it came.") from exc
        raise


def _checked(path: Path, archive: ZipFile) -> _List:
    parts = {info.filename: info for info in archive.infolist()}
    if "pack.json" not in parts:
        raise UnreadablePack(path, "it is an archive, but not a course that `annotator pack` wrote.")
    if len(parts) != len(archive.infolist()):
        raise UnreadablePack(path, "it holds two parts of one name, so it was not written by `annotator pack`.")
    if parts["pack.json"].file_size > _LIST_LIMIT:
        raise UnreadablePack(path, "its list of contents is larger than any course's.")
    try:
        data = json.loads(archive.read("pack.json"))
        if isinstance(data, dict) and data.get("what") == _WHAT and data.get("version") != VERSION:
            raise UnreadablePack(path, "it was packed by a newer version of this program; install that version to open it.")
        listed = _List.model_validate(data)
        fits = slug(listed.course) == listed.course and all(_fits(listed, one) for one in listed.revisions)
        fits = fits and [one.number for one in listed.editions] == list(range(1, len(listed.editions) + 1))
        fits = fits and all([pin.kind for pin in one.pins[:2]] == ["course", "station"] for one in listed.editions)
        for at in (*(one.at for one in listed.revisions), *(one.at for one in listed.editions), listed.added_at):
            datetime.fromisoformat(at)
    except UnreadablePack:
        raise
    except (ValueError, RecursionError, TypeError) as exc:  # what JSON, the models and dates say of bad input
        raise UnreadablePack(path, "its list of contents is not one that `annotator pack` wrote.") from exc
    if not fits:
        raise UnreadablePack(path, "its documents do not fit together.")
    expected: dict[str, tuple[int, str | None]] = {"README.txt": (-1, None), "pack.json": (-1, None)}
    expected |= {f"files/{one.sha}{_plain(path, one.suffix)}": (one.size, one.sha) for one in listed.files}
    expected |= {f"outputs/{_inside(path, one.path, listed)}": (one.size, one.sha) for one in listed.outputs}
    strange = sorted(set(parts) - set(expected))
    if strange:
        raise UnreadablePack(path, f"it holds {strange[0]!r}, which does not belong into a course.")
    lost = sorted(set(expected) - set(parts) - {"README.txt"})
    if lost:
        raise UnreadablePack(path, f"{lost[0]!r} is missing in it. Copy it again from where it came.")
    for part, (size, sha) in expected.items():
        if sha is not None and (parts[part].file_size != size or _hash_part(archive, part) != sha):
            raise UnreadablePack(path, f"{part!r} in it is damaged. Copy it again from where it came.")
    filmed, others = _named_files(listed.revisions)
    if {one.sha for one in listed.files} | set(listed.left_out) != filmed | others or not set(listed.left_out) <= filmed:
        raise UnreadablePack(path, "its files are not the ones that its course names.")
    return listed


def _fits(listed: _List, revision: _Revision) -> bool:
    """Whether a document stands under its own name."""
    doc = _validated(revision.kind, revision.doc)
    if isinstance(doc, Course):
        return revision.item == "" and doc.name == listed.course
    return revision.item == doc.id


def _plain(path: Path, suffix: str) -> str:
    if plain_suffix(suffix) != suffix:
        raise UnreadablePack(path, f"{suffix!r} in it is no suffix of a file.")
    return suffix


def _inside(path: Path, part: str, listed: _List) -> str:
    """The path of an output, only if it can lead nowhere but into the folder of one of the editions."""
    folders = {f"edition-{edition.number}" for edition in listed.editions}
    steps = PurePosixPath(part).parts
    plain = "/".join(steps) == part and "\\" not in part and "\0" not in part and ":" not in part
    if not plain or len(steps) < 2 or steps[0] not in folders or any(step == ".." for step in steps):
        raise UnreadablePack(path, f"the output {part!r} in it would lie outside its folder; it was not written by `annotator pack`.")
    return part


def _hash_part(archive: ZipFile, part: str) -> str:
    digest = hashlib.sha256()
    for piece in _pieces(archive, part):
        digest.update(piece)
    return digest.hexdigest()


def _pieces(archive: ZipFile, part: str) -> Iterator[bytes]:
    with archive.open(part) as file:
        while piece := file.read(PIECE):
            yield piece


def keep_files(archive: ZipFile, listed: _List, files: Files) -> None:
    """Put the files of a checked archive into the library; what is there already stays."""
    for one in listed.files:
        if not files.has(one.sha):
            files.put_stream(_pieces(archive, f"files/{one.sha}{one.suffix}"), one.suffix)


def keep_outputs(archive: ZipFile, listed: _List, folder: Path) -> None:
    """Write the outputs of all editions below a folder that nobody sees yet."""
    for one in listed.outputs:
        place = folder / one.path
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("xb") as out:
            for piece in _pieces(archive, f"outputs/{one.path}"):
                out.write(piece)


def register(connection: Connection, path: Path, listed: _List, place_outputs: Callable[[str], None]) -> str:
    """Enter a checked archive's course under its name, or a free one like it; gives that name."""
    taken = taken_names(connection)
    name = listed.course if listed.course not in taken else free_name(listed.course, taken)
    left_out = json.dumps(listed.left_out)
    try:
        connection.execute(insert(tables.courses).values(name=name, added_at=listed.added_at, left_out=left_out))
        for one in listed.revisions:
            doc = _validated(one.kind, one.doc)
            doc = doc.model_copy(update={"name": name}) if isinstance(doc, Course) else doc
            row = one.model_dump(include={"kind", "item", "number", "before", "who", "at"})
            connection.execute(insert(tables.revisions).values(course=name, **row, doc=doc.model_dump_json()))
            if one.current:
                connection.execute(insert(tables.current).values(course=name, kind=one.kind, item=one.item, number=one.number))
        for edition in listed.editions:
            row = edition.model_dump(include={"number", "code", "who", "at"})
            connection.execute(insert(tables.editions).values(course=name, **row))
            for place, pin in enumerate(edition.pins):
                row = {"course": name, "edition": edition.number, "place": place, **pin.model_dump()}
                connection.execute(insert(tables.pins).values(row))
        read_course(connection, name)
        check_order(connection, name)
    except (IntegrityError, NotFound, ValueError) as exc:
        raise UnreadablePack(path, "its documents do not fit together.") from exc
    place_outputs(name)
    return name
