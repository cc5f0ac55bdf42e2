"""Courses: the list, one course with its findings and words, taking in a walk, and what a person decides about the whole."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator import pipeline
from annotator.errors import InputError
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import course_row, course_view, job_view
from annotator.server.config import Desk, desk, who
from annotator.server.edits import save_edits
from annotator.server.errors import AlreadyHere, WrongOffset
from annotator.server.uploads import Upload, UploadKind
from annotator.server.views import (
    AcceptDrafts,
    CoursePath,
    CoursesView,
    CourseView,
    Edits,
    FindingsView,
    JobView,
    Nothing,
    TakeIn,
    WordsView,
)

api = APIBlueprint("courses", __name__, url_prefix="/api/courses", abp_tags=tag("courses", "Courses and the walks they come from"))


@api.post("", responses={202: JobView, **WRITES})
def take_in(body: TakeIn) -> Response:
    """Take in a walk from finished uploads and draft it; answers with the job to follow."""
    here = desk()
    clips = _finished(here, body.clips, "clip")
    captions = _finished(here, body.captions, "captions")
    title = pipeline.fit_title(body.title)
    recordings = [(clip.name, str(clip.sha)) for clip in clips]
    pipeline.refuse_misfits(recordings, len(captions))
    same = None if body.again else pipeline.same_walk(here.library, [sha for _, sha in recordings])
    if same is not None:
        pipeline.bring_back(here.library, same, [here.uploads.path(clip) for clip in clips])
        raise AlreadyHere(same.name, same.title)
    names = [kept for name in body.names if (kept := " ".join(name.split()))]
    wanted = {"clips": body.clips, "captions": body.captions, "title": title, "names": names}
    return answer(job_view(here, here.jobs.add("take in", who(), wanted=wanted)), 202)


def _finished(here: Desk, ids: list[str], kind: UploadKind) -> list[Upload]:
    uploads = [here.uploads.get(each) for each in ids]
    for upload in uploads:
        if upload.sha is None:
            raise WrongOffset(upload.name, upload.offset)
        if upload.kind != kind:
            raise InputError(f"{upload.name!r} came as {upload.kind}, not as {kind}. Choose it again in the right place.")
    return uploads


@api.post("/<string:course>/draft", responses={202: JobView, **WRITES})
def draft(path: CoursePath, body: Nothing) -> Response:
    """Hear and draft a course again, or go on where it was stopped; what a person accepted or edited stays."""
    here = desk()
    here.library.course(path.course)
    return answer(job_view(here, here.jobs.add("draft", who(), course=path.course)), 202)


@api.post("/<string:course>/edits", responses={200: CourseView, **WRITES})
def edit(path: CoursePath, body: Edits) -> Response:
    """Change the course; refused with both sides where somebody changed it since revision `base`."""
    here = desk()
    save_edits(here.library, path.course, None, body.base, body.edits, who())
    view = course_view(here, path.course)
    return answer(view, revision=None)


@api.post("/<string:course>/accept", responses={200: CourseView, **WRITES})
def accept(path: CoursePath, body: AcceptDrafts) -> Response:
    """Accept what is drafted, of one station or of all."""
    here = desk()
    pipeline.accept(here.library, path.course, station=body.station, who=who())
    return answer(course_view(here, path.course))


@api.get("", responses={200: CoursesView, **READS})
def courses() -> Response:
    """All courses, by title."""
    here = desk()
    rows = [course_row(here, at.doc.name) for at in here.library.courses()]
    return answer(CoursesView(courses=sorted(rows, key=lambda row: (row.title.casefold(), row.name))))


@api.get("/<string:course>", responses={200: CourseView, **READS})
def course(path: CoursePath) -> Response:
    """One course as it stands."""
    return answer(course_view(desk(), path.course))


@api.get("/<string:course>/findings", responses={200: FindingsView, **READS})
def findings(path: CoursePath) -> Response:
    """Every gap and contradiction as things stand now."""
    return answer(FindingsView(findings=list(pipeline.findings(desk().library, path.course))))


@api.get("/<string:course>/words", responses={200: WordsView, **READS})
def words(path: CoursePath) -> Response:
    """What was said on the walk, word by word."""
    library = desk().library
    return answer(WordsView(words=list(pipeline.course_words(library, library.course(path.course).doc))))
