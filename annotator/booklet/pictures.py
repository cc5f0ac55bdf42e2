"""The published stills in the sizes that screens take: AVIF, WebP for browsers that do not know it, JPEG for all others; no metadata.

In: full-size published JPEGs (faces already blurred). Out: files named by still, width and content. Which still goes where is site/'s.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from PIL import Image, ImageOps, UnidentifiedImageError

from annotator.booklet.keeping import digest_of, keep, kept_bytes, kept_lately, link_kept, put, read_kept
from annotator.errors import StageError

WIDTHS_PX = (192, 480, 960, 1920)
"""A thumbnail, a phone's page at one and at two device pixels a CSS pixel, and what a finger spreads; a narrower still comes as it is."""
JPEG_WIDTHS_PX = (480, 960)
"""Only browsers of before 2020 take these."""
PRINT_WIDTH_PX = 1600
"""Over 300 dots an inch on A5; more would only make the file heavy."""
BOOK_WIDTH_PX = 1280
"""In an e-book."""
AVIF_QUALITY, WEBP_QUALITY, JPEG_QUALITY = 50, 72, 78
AVIF_SPEED = 8
"""Of 0 to 10. At 6 files are 7 % smaller and take 3.5 times as long (measured on the demo's stills and on photographs)."""
SMALL_QUALITY = 40
"""Of a thumbnail as AVIF: a course page shows all of them at once."""
ENCODED = "2"
"""Part of a kept file's name; raise it when the same settings give other files."""

Suffix = Literal["avif", "webp", "jpg"]
KINDS: tuple[Suffix, ...] = ("avif", "webp", "jpg")


class Pictures(Protocol):
    """Where the published stills are."""

    def jpeg(self, still_id: str) -> Path:
        """The full-size JPEG of a still as it may be published."""
        ...


@dataclass(frozen=True)
class Sizes:
    """The file names of one still: (name, width in px) from small to large."""

    avif: tuple[tuple[str, int], ...]
    webp: tuple[tuple[str, int], ...]
    jpeg: tuple[tuple[str, int], ...]

    @property
    def middle(self) -> str:
        """The JPEG for a browser that knows no sizes."""
        return self.jpeg[-1][0]

    @property
    def kinds(self) -> dict[Suffix, tuple[tuple[str, int], ...]]:
        """All of them, the smallest kind first."""
        return {"avif": self.avif, "webp": self.webp, "jpg": self.jpeg}


def write_sizes(source: Path, stem: str, folder: Path, cache: Path | None = None, *, linked: bool = False) -> Sizes:
    """Write a still in all sizes into `folder` as `stem-WIDTH-HASH.avif`, `.webp` and `.jpg`; the hash is of the file's own content.

    With `cache` each encoded picture is kept there by the hash of its source, so that a still is encoded once and not once an output; where
    `linked`, the files in `folder` are those by another name, as far as the disk knows such: for a folder in which nobody writes.
    A picture narrower than a size is not enlarged. No metadata (EXIF, XMP, place, device) is kept.

    Raises
    ------
    StageError
        The picture is missing or no picture.
    """
    names: dict[Suffix, list[tuple[str, int]]] = {suffix: [] for suffix in KINDS}

    def named(suffix: Suffix, width: int, content: str) -> Path:
        name = f"{stem}-{width}-{content[:12]}.{suffix}"
        names[suffix].append((name, width))
        return folder / name

    if cache is None:
        for suffix, width, data in _in_sizes(source, None):
            put(named(suffix, width, hashlib.sha256(data).hexdigest()), data)
    else:
        try:
            _copy_all(_listed(source, cache), source, cache, named, linked)
        except FileNotFoundError:  # somebody emptied the folder, or part of it
            _forget(source, cache)
            for kept in names.values():
                kept.clear()
            _copy_all(_listed(source, cache), source, cache, named, linked)
    return Sizes(tuple(names["avif"]), tuple(names["webp"]), tuple(names["jpg"]))


def encode_sizes(source: Path, cache: Path) -> None:
    """Make the sizes of a still, those of paper and e-books too, before anybody asks for a booklet; what `cache` has is not made again.

    Raises as `write_sizes`.
    """
    _listed(source, cache)
    print_jpeg(source, cache)
    book_jpeg(source, cache)


_Listed = list[tuple[Suffix, int, str]]
"""Kind, width and SHA-256 of the content of each kept file of a still, from small to large."""


def _listed(source: Path, cache: Path) -> _Listed:
    """What is kept of a still; made first where it was not. The list is written last, so it names nothing that a killed run left out."""
    digest = source_digest(source)
    name = f"{digest}.{ENCODED}.json"

    def make() -> bytes:
        found = [(suffix, width, hashlib.sha256(data).hexdigest()) for suffix, width, data in _in_sizes(source, cache)]
        return json.dumps(found).encode()

    return [(suffix, width, content) for suffix, width, content in json.loads(kept_bytes(cache, name, make))]


def _copy_all(listed: _Listed, source: Path, cache: Path, named: Callable[[Suffix, int, str], Path], linked: bool) -> None:
    digest = source_digest(source)
    for suffix, width, content in listed:
        name, place = _kept_name(digest, width, suffix), named(suffix, width, content)
        if not (linked and link_kept(cache, name, place)):
            put(place, read_kept(cache, name))


def _forget(source: Path, cache: Path) -> None:
    (cache / f"{source_digest(source)}.{ENCODED}.json").unlink(missing_ok=True)


def inline_picture(source: Path, width: int, cache: Path | None = None) -> bytes:
    """The still as WebP of at most that width, for a file that carries its pictures itself. Raises as `write_sizes`."""

    def make() -> bytes:
        image = _upright(_open(source_bytes(source), source))
        return _encoded(image, min(width, image.width), "webp")

    if cache is None:
        return make()
    found = max(each for kind, each, _ in _listed(source, cache) if kind == "webp" and each <= max(width, WIDTHS_PX[0]))
    return kept_bytes(cache, _kept_name(source_digest(source), found, "webp"), make)


def print_jpeg(source: Path, cache: Path | None = None) -> bytes:
    """The still for print: a JPEG of at most `PRINT_WIDTH_PX`, without metadata; with `cache` kept there by its content.

    Raises as `write_sizes`.
    """
    return kept_jpeg(source, PRINT_WIDTH_PX, "print", cache)


def book_jpeg(source: Path, cache: Path | None = None) -> bytes:
    """As `print_jpeg`, of at most `BOOK_WIDTH_PX`, for e-books."""
    return kept_jpeg(source, BOOK_WIDTH_PX, "book", cache)


def kept_jpeg(source: Path, width: int, use: str, cache: Path | None) -> bytes:
    """As `plain_jpeg`, kept in `cache` by its content, its width and what it is for, which is a word."""
    return kept_lately(cache, f"{source_digest(source)}-{use}-{width}.{ENCODED}.jpg", lambda: plain_jpeg(source, width))


def _in_sizes(source: Path, cache: Path | None) -> Iterator[tuple[Suffix, int, bytes]]:
    """Kind, width and content of each file, from small to large."""
    data = source_bytes(source)
    digest = hashlib.sha256(data).hexdigest()
    full = _open(data, source)
    image = None
    for suffix in KINDS:
        widths = [width for width in (JPEG_WIDTHS_PX if suffix == "jpg" else WIDTHS_PX) if width < full.width]
        largest = JPEG_WIDTHS_PX[-1] if suffix == "jpg" else WIDTHS_PX[-1]
        for width in (*widths, *([full.width] if full.width <= largest else [])):
            kept = None if cache is None else cache / _kept_name(digest, width, suffix)
            if kept is not None and kept.is_file():
                yield suffix, width, kept.read_bytes()
                continue
            image = image or _upright(full)
            made = _encoded(image, width, suffix)
            if kept is not None:
                keep(kept, made)
            yield suffix, width, made


def _kept_name(digest: str, width: int, suffix: Suffix) -> str:
    return f"{digest}-{width}.{ENCODED}.{suffix}"


def plain_jpeg(source: Path, width: int | None = None) -> bytes:
    """The still as JPEG of at most that width, without metadata; for paper and EPUB."""
    image = _upright(_open(source_bytes(source), source))
    return _encoded(image, min(width or image.width, image.width), "jpg")


def source_digest(source: Path) -> str:
    """SHA-256 of the file, or an error that names the still."""
    try:
        return digest_of(source)
    except OSError as error:
        raise _unreadable(source, error) from error


def source_bytes(source: Path) -> bytes:
    """The file's bytes, or an error that names the still."""
    try:
        return source.read_bytes()
    except OSError as error:
        raise _unreadable(source, error) from error


def _unreadable(source: Path, error: OSError) -> StageError:
    return StageError("booklet", f"the picture {source.name!r} cannot be read ({error.strerror})")


def _open(data: bytes, source: Path) -> Image.Image:
    try:
        image = Image.open(io.BytesIO(data))
        image.load()
    except (UnidentifiedImageError, OSError) as error:
        raise StageError("booklet", f"{source.name!r} is not a whole picture") from error
    return image


def _upright(image: Image.Image) -> Image.Image:
    return ImageOps.exif_transpose(image).convert("RGB")


def _encoded(image: Image.Image, width: int, suffix: Suffix) -> bytes:
    small = (
        image
        if width == image.width
        else image.resize((width, max(1, round(image.height * width / image.width))), Image.Resampling.LANCZOS, reducing_gap=2.0)
    )
    clean = Image.frombytes("RGB", small.size, small.tobytes())  # a new picture: nothing of the old one's metadata can come along
    out = io.BytesIO()
    if suffix == "avif":
        clean.save(out, "AVIF", quality=SMALL_QUALITY if width <= WIDTHS_PX[0] else AVIF_QUALITY, speed=AVIF_SPEED)
    elif suffix == "webp":
        clean.save(out, "WEBP", quality=WEBP_QUALITY, method=4)
    else:
        clean.save(out, "JPEG", quality=JPEG_QUALITY, optimize=True, progressive=True)
    return out.getvalue()
