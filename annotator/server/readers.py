"""What readers and judges open: the booklet of the newest edition and of each one, the other outputs, films, and the clips' proxies.

Everything is a file of an edition's folder or of the library, sent with Range, ETag and a fitting time to keep it.
"""

from __future__ import annotations

import json
from html import escape
from pathlib import Path

from flask import Blueprint, Response, redirect, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from annotator import pipeline
from annotator.errors import NotFound
from annotator.server.config import desk
from annotator.server.sending import ASK_EACH_TIME, send

readers = Blueprint("readers", __name__)

EDITION = "edition.json"
ONE_FILE = "booklet.html"
ALONE = (
    "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; "
    "form-action 'none'; sandbox allow-scripts allow-popups allow-top-navigation-by-user-activation"
)
"""The booklet in one file carries all it needs, and needs nothing of the place that it is opened from."""


@readers.get("/booklet/<course>/", defaults={"path": ""})
@readers.get("/booklet/<course>/<path:path>")
def newest(course: str, path: str) -> AnyResponse:
    """The booklet of the newest edition."""
    number = _newest(course)
    return _no_edition(course) if number is None else _booklet(course, number, path)


@readers.get("/booklet/<course>/<int:number>/", defaults={"path": ""})
@readers.get("/booklet/<course>/<int:number>/<path:path>")
def numbered(course: str, number: int, path: str) -> AnyResponse:
    """The booklet of one edition; it never changes."""
    return _booklet(course, number, path)


@readers.get("/editions/<course>/<int:number>/<path:path>")
def output(course: str, number: int, path: str) -> AnyResponse:
    """Another output of an edition: cards, print, captions."""
    response = send(desk().library.outputs(course, number), path)
    if path == ONE_FILE:
        response.headers["Content-Security-Policy"] = ALONE
    return response


@readers.get("/films/<course>/<int:number>/", defaults={"path": "index.html"})
@readers.get("/films/<course>/<int:number>/<path:path>")
def films(course: str, number: int, path: str) -> AnyResponse:
    """The films of an edition, with the page that plays the whole walk where that was made."""
    desk().library.edition(course, number)
    return send(pipeline.films_folder(desk().library, course, number), path)


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


_NEWEST: dict[Path, tuple[int, int]] = {}
"""By a course's folder of outputs: when it last changed, and its newest edition then. A phone asks for a dozen files at once."""


def _newest(course: str) -> int | None:
    """The newest edition whose outputs are whole; NotFound where there is no such course."""
    library = desk().library
    folder = library.root / "outputs" / course
    changed = _changed(folder)
    kept = _NEWEST.get(folder)
    if changed is not None and kept is not None and kept[0] == changed:
        return kept[1]
    library.course(course)
    number = next((each.number for each in reversed(library.editions(course)) if pipeline.has_outputs(library, course, each.number)), None)
    if changed is not None and number is not None:
        _NEWEST[folder] = (changed, number)
    return number


def _changed(folder: Path) -> int | None:
    try:
        return folder.stat().st_mtime_ns
    except OSError:
        return None


def _booklet(course: str, number: int, path: str) -> AnyResponse:
    library = desk().library
    folder = library.root / "outputs" / course / f"edition-{number}" / "booklet"
    if not folder.is_dir():
        folder = library.outputs(course, number) / "booklet"  # says what there is not, or puts back what a kill left aside
    if path and (folder / path).is_dir() and not path.endswith("/"):
        return redirect(f"{url_for('readers.numbered', course=course, number=number, path=path)}/")
    if path == EDITION:
        return _edition(course, number, folder)
    return send(folder, f"{path}index.html" if not path or path.endswith("/") else path)


def _edition(course: str, number: int, folder: Path) -> AnyResponse:
    """Which edition this is, and, which a folder on another host cannot say, where its films are."""
    films = pipeline.station_films(desk().library, course, number)
    if not films or not (folder / EDITION).is_file():
        return send(folder, EDITION)
    told = json.loads((folder / EDITION).read_text("utf-8"))
    told["films"] = {
        str(station): {
            "video": url_for("readers.films", course=course, number=number, path=film.file),
            "start": film.start_s,
            "end": film.end_s,
        }
        for station, film in films.items()
    }
    response = Response(json.dumps(told), mimetype="application/json")
    response.headers["Cache-Control"] = ASK_EACH_TIME
    return response


def _no_edition(course: str) -> Response:
    title = escape(desk().library.course(course).doc.title)
    return Response(
        f'<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{title}</title><h1>{title}</h1><p>No edition of this course has been published yet. Ask the course staff.</p>",
        404,
        mimetype="text/html",
    )
