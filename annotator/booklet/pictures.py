"""Smaller sizes of the published stills, for phones: WebP with a JPEG beside it, no metadata.

In: full-size published JPEGs (faces already blurred). Out: files named by still and width. Which still goes where is site.py's.
"""

from __future__ import annotations

import hashlib
import io
import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from PIL import Image, ImageOps, UnidentifiedImageError

from annotator.errors import StageError

WIDTHS_PX = (480, 960)
"""A phone's page at one and at two device pixels a CSS pixel; the full width comes on top."""
WEBP_QUALITY, JPEG_QUALITY = 72, 78


class Pictures(Protocol):
    """Where the published stills are."""

    def jpeg(self, still_id: str) -> Path:
        """The full-size JPEG of a still as it may be published."""
        ...


@dataclass(frozen=True)
class Sizes:
    """The file names of one still: (name, width in px) from small to large."""

    webp: tuple[tuple[str, int], ...]
    jpeg: tuple[tuple[str, int], ...]

    @property
    def middle(self) -> str:
        """The JPEG for a browser that knows no sizes."""
        return self.jpeg[min(1, len(self.jpeg) - 1)][0]


def write_sizes(source: Path, stem: str, folder: Path, cache: Path | None = None) -> Sizes:
    """Write a still in all sizes into `folder` as `stem-WIDTH.webp` and `.jpg`.

    With `cache` each encoded picture is kept there by the hash of its source, so that a still is encoded once and not once an output.
    A picture narrower than a size is not enlarged. No metadata (EXIF, XMP, place, device) is kept.

    Raises
    ------
    StageError
        The picture is missing or no picture.
    """
    data = source_bytes(source)
    image = None
    names: dict[str, list[tuple[str, int]]] = {"webp": [], "jpg": []}
    full = _open(data, source)
    for width in (*(width for width in WIDTHS_PX if width < full.width), full.width):
        for suffix in names:
            target = folder / f"{stem}-{width}.{suffix}"
            kept = cache / f"{hashlib.sha256(data).hexdigest()}-{width}.{suffix}" if cache else None
            if kept is not None and kept.is_file():
                shutil.copyfile(kept, target)
            else:
                image = image or _upright(full)
                target.write_bytes(_encoded(image, width, suffix))
                if kept is not None:
                    _keep(target, kept)
            names[suffix].append((target.name, width))
    return Sizes(tuple(names["webp"]), tuple(names["jpg"]))


def plain_jpeg(source: Path, width: int | None = None) -> bytes:
    """The still as JPEG of at most that width, without metadata; for paper and EPUB."""
    image = _upright(_open(source_bytes(source), source))
    return _encoded(image, min(width or image.width, image.width), "jpg")


def source_bytes(source: Path) -> bytes:
    """The file's bytes, or an error that names the still."""
    try:
        return source.read_bytes()
    except OSError as error:
        raise StageError("booklet", f"the picture {source.name!r} cannot be read ({error.strerror})") from error


def _open(data: bytes, source: Path) -> Image.Image:
    try:
        image = Image.open(io.BytesIO(data))
        image.load()
    except (UnidentifiedImageError, OSError) as error:
        raise StageError("booklet", f"{source.name!r} is not a whole picture") from error
    return image


def _upright(image: Image.Image) -> Image.Image:
    return ImageOps.exif_transpose(image).convert("RGB")


def _encoded(image: Image.Image, width: int, suffix: str) -> bytes:
    small = (
        image
        if width == image.width
        else image.resize((width, max(1, round(image.height * width / image.width))), Image.Resampling.LANCZOS, reducing_gap=2.0)
    )
    clean = Image.frombytes("RGB", small.size, small.tobytes())  # a new picture: nothing of the old one's metadata can come along
    out = io.BytesIO()
    if suffix == "webp":
        clean.save(out, "WEBP", quality=WEBP_QUALITY, method=4)
    else:
        clean.save(out, "JPEG", quality=JPEG_QUALITY, optimize=True, progressive=True)
    return out.getvalue()


def _keep(made: Path, kept: Path) -> None:
    kept.parent.mkdir(parents=True, exist_ok=True)
    part = kept.with_suffix(f"{kept.suffix}.{os.getpid()}.part")
    shutil.copyfile(made, part)
    part.replace(kept)
