"""Files of published folders over the wire: compressed where a browser takes that, with entity tags, ranges and a time to keep them.

In: a folder of finished files that never change in place. Out: answers. Which folder belongs to an address is readers.py's.
"""

from __future__ import annotations

import gzip
import re
from functools import lru_cache
from pathlib import Path

from flask import Response, request, send_from_directory
from werkzeug.security import safe_join

FOR_EVER = "public, max-age=31536000, immutable"
ASK_EACH_TIME = "no-cache"
HASHED = re.compile(r"[.-](?=[0-9a-f]*[a-f])(?=[0-9a-f]*[0-9])[0-9a-f]{8,}\.(js|css|woff2?|jpg|jpeg|png|webp|avif|svg)$")
"""A name that ends in the hash of the content. "station-1-1-1280.jpg" is none: the next edition has another picture of that name."""
KINDS = {
    ".vtt": "text/vtt",
    ".srt": "application/x-subrip",
    ".epub": "application/epub+zip",
    ".webmanifest": "application/manifest+json",
    ".avif": "image/avif",
    ".woff2": "font/woff2",
    ".js": "text/javascript",
}
SQUEEZED = {".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".json": "application/json"}
"""What is worth compressing; pictures, fonts, films and e-books are compressed already."""
_LARGEST = 2**20
_KEPT = 512
"""Compressed files that are kept in memory: some booklets of sixteen stations in five languages, a few megabytes."""


def send(folder: Path, path: str) -> Response:
    """A file of a folder, never one outside it; werkzeug's NotFound where there is none."""
    suffix = Path(path).suffix
    response = (_squeezed(folder, path) if suffix in SQUEEZED else None) or send_from_directory(
        folder, path, conditional=True, mimetype=KINDS.get(suffix)
    )
    if suffix in SQUEEZED:
        response.headers["Vary"] = "Accept-Encoding"
    response.headers["Cache-Control"] = FOR_EVER if HASHED.search(path) else ASK_EACH_TIME
    return response


def _squeezed(folder: Path, path: str) -> Response | None:
    """The compressed answer; None where the browser takes none, wants a part, or the file is too large to keep in memory."""
    if "Range" in request.headers or "gzip" not in request.headers.get("Accept-Encoding", ""):
        return None
    found = safe_join(str(folder), path)
    if found is None:
        return None
    try:
        stat = Path(found).stat()
        if not Path(found).is_file() or stat.st_size > _LARGEST:
            return None
        data = _gzipped(found, stat.st_mtime_ns, stat.st_size)
    except OSError:
        return None
    response = Response(data, mimetype=SQUEEZED[Path(path).suffix])
    response.headers["Content-Encoding"] = "gzip"
    response.set_etag(f"{stat.st_mtime_ns:x}-{stat.st_size:x}-gz")
    response.make_conditional(request)
    return response


@lru_cache(maxsize=_KEPT)
def _gzipped(path: str, _mtime_ns: int, _size: int) -> bytes:
    return gzip.compress(Path(path).read_bytes(), 9, mtime=0)
