"""What readers and judges open: the booklet of the newest edition and of each one, the other outputs, films, and the clips' proxies.

Everything is a file of an edition's folder or of the library, sent with Range, ETag and a fitting time to keep it.
"""

from __future__ import annotations

import re
from html import escape
from pathlib import Path

from flask import Blueprint, Response, redirect, send_file, send_from_directory, url_for
from werkzeug.wrappers import Response as AnyResponse

from annotator import pipeline
from annotator.errors import NotFound
from annotator.server.config import desk

readers = Blueprint("readers", __name__)

FOR_EVER = "public, max-age=31536000, immutable"
ASK_EACH_TIME = "no-cache"
_HASHED = re.compile(r"[.-](?=[0-9a-f]*[a-f])(?=[0-9a-f]*[0-9])[0-9a-f]{8,}\.(js|css|woff2?|jpg|jpeg|png|webp|avif|svg)$")
"""A name that ends in the hash of the content. "station-1-1-1280.jpg" is none: the next edition has another picture of that name."""
_KINDS = {".vtt": "text/vtt", ".srt": "application/x-subrip", ".epub": "application/epub+zip", ".webmanifest": "application/manifest+json"}


@readers.get("/booklet/<course>/", defaults={"path": ""})
@readers.get("/booklet/<course>/<path:path>")
def newest(course: str, path: str) -> AnyResponse:
    """The booklet of the newest edition."""
    desk().library.course(course)
    number = next((each.number for each in reversed(desk().library.editions(course)) if _written(course, each.number)), None)
    if number is None:
        return _no_edition(course)
    return _booklet(course, number, path)


@readers.get("/booklet/<course>/<int:number>/", defaults={"path": ""})
@readers.get("/booklet/<course>/<int:number>/<path:path>")
def numbered(course: str, number: int, path: str) -> AnyResponse:
    """The booklet of one edition; it never changes."""
    return _booklet(course, number, path)


@readers.get("/editions/<course>/<int:number>/<path:path>")
def output(course: str, number: int, path: str) -> AnyResponse:
    """Another output of an edition: cards, print, captions."""
    return _send(desk().library.outputs(course, number), path)


@readers.get("/films/<course>/<int:number>/", defaults={"path": "index.html"})
@readers.get("/films/<course>/<int:number>/<path:path>")
def films(course: str, number: int, path: str) -> AnyResponse:
    """The films of an edition, with the page that plays the whole walk where that was made."""
    desk().library.edition(course, number)
    return _send(pipeline.films_folder(desk().library, course, number), path)


@readers.get("/courses/<course>/clips/<int:number>.mp4")
def clip(course: str, number: int) -> AnyResponse:
    """A clip's proxy, which any browser plays, without location or device data."""
    library = desk().library
    clips = library.course(course).doc.clips
    found = next((each for each in clips if each.number == number), None)
    if found is None:
        raise NotFound("clip", str(number), [str(each.number) for each in clips])
    if found.proxy is None:
        raise NotFound("proxy of clip", found.title)
    return send_file(library.files.path(found.proxy), mimetype="video/mp4", conditional=True, etag=found.proxy)


def _written(course: str, number: int) -> bool:
    return pipeline.has_outputs(desk().library, course, number)


def _booklet(course: str, number: int, path: str) -> AnyResponse:
    folder = desk().library.outputs(course, number) / "booklet"
    if path and (folder / path).is_dir() and not path.endswith("/"):
        return redirect(f"{url_for('readers.numbered', course=course, number=number, path=path)}/")
    return _send(folder, f"{path}index.html" if not path or path.endswith("/") else path)


def _send(folder: Path, path: str) -> Response:
    """A file of a folder; never one outside it."""
    response = send_from_directory(folder, path, conditional=True, mimetype=_KINDS.get(Path(path).suffix))
    response.headers["Cache-Control"] = FOR_EVER if _HASHED.search(path) else ASK_EACH_TIME
    return response


def _no_edition(course: str) -> Response:
    title = escape(desk().library.course(course).doc.title)
    return Response(
        f'<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{title}</title><h1>{title}</h1><p>No edition of this course has been published yet. Ask the course staff.</p>",
        404,
        mimetype="text/html",
    )
