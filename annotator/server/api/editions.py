"""Editions: what was published, and publishing."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator import pipeline
from annotator.errors import InputError, NotReady
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import edition_views, job_view
from annotator.server.config import desk, who
from annotator.server.views import CoursePath, EditionPath, EditionView, JobView, MakeFilms, Publish, View

api = APIBlueprint("editions", __name__, url_prefix="/api/courses/<string:course>/editions", abp_tags=tag("editions", "Published editions"))


class EditionsView(View):
    """The editions of a course, the first one first."""

    editions: list[EditionView]


@api.post("", responses={202: JobView, **WRITES})
def publish(path: CoursePath, body: Publish) -> Response:
    """Publish the course as a numbered edition and write its outputs; refused with every reason while something blocks it."""
    here = desk()
    if not here.library.stations(path.course):
        raise NotReady(path.course, ["there is no station yet"])
    reasons = pipeline.blocking(pipeline.findings(here.library, path.course))
    if reasons:
        raise NotReady(path.course, reasons)
    address = _address(body.address)
    return answer(job_view(here, here.jobs.add("publish", who(), course=path.course, wanted={"address": address})), 202)


@api.post("/<int:number>/films", responses={202: JobView, **WRITES})
def films(path: EditionPath, body: MakeFilms) -> Response:
    """Make the films of an edition in the background; what was made before with the same wishes is not made again."""
    here = desk()
    edition = here.library.edition(path.course, path.number)
    wishes = pipeline.FilmWishes(**body.model_dump())
    pipeline.refuse_films(edition.course.doc, wishes)
    wanted = {"edition": path.number, "wishes": body.model_dump()}
    return answer(job_view(here, here.jobs.add("films", who(), course=path.course, wanted=wanted)), 202)


def _address(typed: str | None) -> str | None:
    address = (typed or "").strip()
    if not address:
        return None
    try:
        parts = urlsplit(address)
        fits = parts.scheme in ("http", "https") and bool(parts.hostname) and not any(sign.isspace() for sign in address)
    except ValueError:
        fits = False
    if not fits:
        raise InputError(f"{address[:80]!r} is not an address of a page. Write it with http:// or https:// in front.")
    return address


@api.get("", responses={200: EditionsView, **READS})
def editions(path: CoursePath) -> Response:
    """All editions of a course."""
    library = desk().library
    library.course(path.course)
    found = library.editions(path.course)
    return answer(EditionsView(editions=edition_views(library, path.course, found)))
