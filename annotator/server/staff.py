"""The staff pages: one page for every address of theirs, and its scripts and styles under names that change with their content."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from urllib.parse import quote

from flask import Blueprint, Response, redirect, send_from_directory
from werkzeug import Response as WerkzeugResponse

from annotator.server.config import desk
from annotator.server.sending import FOR_EVER

staff = Blueprint("staff", __name__)

NOT_BUILT = """<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>The staff pages are not built</title><h1>The staff pages are not built</h1>
<p>The server runs, but its pages were left out of this installation. Build them and reload:</p>
<pre>cd web &amp;&amp; npm ci &amp;&amp; npm run build</pre>
<p>Or install again without ANNOTATOR_SKIP_WEB set. Booklets under /booklet/ and the API under /api/ work as they are.</p>
"""


@staff.get("/")
@staff.get("/take-in")
@staff.get("/course/<course>")
@staff.get("/course/<course>/walk")
@staff.get("/course/<course>/<int:number>")
def page(course: str = "", number: int = 0) -> Response:
    """The one page of the staff; its script reads the address."""
    pages = desk().pages
    if not (pages / "index.html").is_file():
        return Response(NOT_BUILT, 503, mimetype="text/html")
    response = send_from_directory(pages, "index.html", conditional=True)
    response.headers["Cache-Control"] = "no-cache"
    return response


@staff.get("/course/<path:anything>")
def nowhere(anything: str) -> Response | WerkzeugResponse:
    """An address that somebody typed or cut short: without the stroke at its end, or the page that says so and leads to the courses."""
    if anything.endswith("/"):
        return redirect(f"/course/{quote(anything.rstrip('/'))}")
    answer = page()
    answer.status_code = 404 if answer.status_code == 200 else answer.status_code
    return answer


@staff.get("/app/<path:path>")
def asset(path: str) -> Response:
    """A script, style, font or picture of the staff pages."""
    response = send_from_directory(desk().pages, path, conditional=True)
    response.headers["Cache-Control"] = FOR_EVER if path.startswith("assets/") else "no-cache"
    return response
