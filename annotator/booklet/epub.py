"""The booklet as an EPUB 3.3: the same pages for e-book readers, one file, nothing fetched.

In: a `Booklet` and the published pictures. Out: one zip file, the same bytes for the same input. The words are pages.py's.

References
----------
W3C, EPUB 3.3 (the package, the navigation document, the zip container); W3C, EPUB Accessibility 1.1 (the metadata).
"""

from __future__ import annotations

import datetime as dt
import re
import uuid
import zipfile
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from markupsafe import escape

from annotator import fonts
from annotator.booklet.keeping import kept_lately, stage_name
from annotator.booklet.pictures import Pictures, book_jpeg
from annotator.booklet.site import STATIC, environment
from annotator.booklet.site.stamping import LINE
from annotator.booklet.values import Booklet, StationPage
from annotator.units import Progress

_OLDEST = dt.datetime(1980, 1, 1, tzinfo=dt.UTC)
"""The first moment that a zip file can name; stands where a draft has no day."""
_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]+")
_FONTS = tuple(f"atkinson-hyperlegible-{part}-{weight}-normal.woff2" for part in ("latin", "latin-ext") for weight in (400, 700))


def write_epub(
    booklet: Booklet,
    pictures: Pictures,
    out: Path,
    *,
    at: dt.datetime | None = None,
    cache: Path | None = None,
    progress: Progress | None = None,
) -> Path:
    """Write the booklet as an EPUB file, in the booklet's language.

    `at` is the moment of writing that the file names; the edition's own where None. Each still comes as JPEG of at most
    `BOOK_WIDTH_PX`, without metadata, under its marks as vectors; with `cache` it is kept there by its content and encoded once.

    Raises
    ------
    StageError
        A picture is missing or damaged.
    """
    when = (at or (booklet.stamp.at if booklet.stamp else _OLDEST)).astimezone(dt.UTC)
    templates = environment()
    say = booklet.wording.say
    images = {
        still.id: (f"pictures/station-{page.number}-{number}.jpg", book_jpeg(pictures.jpeg(still.id), cache))
        for page in booklet.stations
        for number, still in enumerate(page.stills, start=1)
    }
    names = {key: name for key, (name, _) in images.items()}
    bare = replace(booklet, stamp_line=LINE)
    line = str(escape(booklet.stamp_line))
    parts: dict[str, bytes] = {}

    def told(template: str, of: Booklet, **more: object) -> str:
        return templates.get_template(template).render(booklet=of, say=say, link=document_name, images=names, **more)

    def add(name: str, template: str, **more: object) -> None:
        parts[name] = told(template, booklet, **more).encode()

    def add_station(page: StationPage) -> None:
        """A station's page is kept without the edition's line, which is the same on all of them."""
        before, after = booklet.neighbours(page)
        beside = [[one.number, one.name] if one else None for one in (before, after)]
        key = stage_name("epub", page.key, beside, [names[still.id] for still in page.stills], booklet.stamp is None)
        text = kept_lately(
            None if cache is None else cache / "pages",
            key,
            lambda: told("epub-station.xhtml", bare, page=page, before=before, after=after).encode(),
        )
        parts[document_name(page)] = text.replace(LINE.encode(), line.encode())

    add("course.xhtml", "epub-course.xhtml")
    for done, page in enumerate(booklet.stations, start=1):
        add_station(page)
        if progress is not None:
            progress(done / (len(booklet.stations) + 1))
    add("nav.xhtml", "epub-nav.xhtml")
    parts.update({name: (STATIC / name).read_bytes() for name in _FONTS})
    stand_ins = _stand_ins(parts[name].decode() for name in parts if name.endswith(".xhtml"))
    parts.update(stand_ins)
    parts["epub.css"] = "".join([(STATIC.parent / "templates" / "epub.css").read_text("utf-8"), *map(_face, stand_ins)]).encode()
    languages = tuple(dict.fromkeys((booklet.wording.language, booklet.spoken)))
    add(
        "package.opf", "epub-package.opf", identifier=_identifier(booklet), modified=when.strftime("%Y-%m-%dT%H:%M:%SZ"),
        fonts={**dict.fromkeys(_FONTS, "font/woff2"), **dict.fromkeys(stand_ins, "font/ttf")}, languages=languages,
    )  # fmt: skip

    out.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(out, "w") as book:
        stamp = max(when, _OLDEST).timetuple()[:6]
        _put(book, "mimetype", b"application/epub+zip", stamp, zipfile.ZIP_STORED)
        _put(book, "META-INF/container.xml", templates.get_template("epub-container.xml").render().encode(), stamp)
        for name, content in parts.items():
            _put(book, f"book/{name}", content, stamp, zipfile.ZIP_STORED if name in _FONTS else zipfile.ZIP_DEFLATED)
        for name, content in images.values():
            _put(book, f"book/{name}", content, stamp, zipfile.ZIP_STORED)
    if progress is not None:
        progress(1.0)
    return out


def document_name(page: StationPage) -> str:
    """The file of a station inside the book."""
    return f"station-{page.number}.xhtml"


def _stand_ins(texts: Iterable[str]) -> dict[str, bytes]:
    """The faces for what the typeface lacks, by their name in the style sheet; only those that this book needs."""
    runs = {run for text in texts for run in _BEYOND_ASCII.findall(text)}
    needed = {fonts.face_for(run) for run in runs}
    pairs = ((face, face.with_name(face.name.replace("-Bold", "-Regular"))) for face in sorted(needed) if face != fonts.BOLD)
    return {one.name: one.read_bytes() for pair in pairs for one in pair}


def _face(name: str) -> str:
    """The rule of the style sheet that names a face: "NotoSans-Bold.ttf" is NotoSans at 700."""
    family, _, style = name.partition(".")[0].partition("-")
    return f'@font-face {{ font-family: {family}; font-weight: {700 if style == "Bold" else 400}; src: url("{name}"); }}\n'


def _identifier(booklet: Booklet) -> str:
    """One name for one edition in one language, made from its course, number and code."""
    which = f"{booklet.stamp.number} {booklet.stamp.code}" if booklet.stamp else "draft"
    return f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, f'booklet {booklet.name} {which} {booklet.wording.language}')}"


def _put(book: zipfile.ZipFile, name: str, content: bytes, stamp: tuple[int, ...], how: int = zipfile.ZIP_DEFLATED) -> None:
    year, month, day, hour, minute, second = stamp
    entry = zipfile.ZipInfo(name, (year, month, day, hour, minute, second))
    entry.external_attr = 0o644 << 16
    entry.create_system = 3
    book.writestr(entry, content, how)
