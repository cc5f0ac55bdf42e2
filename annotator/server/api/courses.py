"""Courses: the list, one course with its findings, taking in a walk, and what a person decides about the whole."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from dataclasses import asdict

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator import pipeline
from annotator.rules import read_typed
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import course_row, course_view, job_view
from annotator.server.config import desk, publishable_soon, who
from annotator.server.edits import Sender, save_edits, take_back
from annotator.server.errors import AlreadyHere
from annotator.server.views import (
    AcceptDrafts,
    AddClips,
    CoursePath,
    CoursesView,
    CourseView,
    Edits,
    FacesInFilms,
    FindingsView,
    Here,
    HereView,
    JobView,
    Nothing,
    OtherView,
    TakeIn,
    TypedRule,
    TypedRun,
    TypedText,
    TypedView,
    Undo,
    View,
)

api = APIBlueprint("courses", __name__, url_prefix="/api/courses", abp_tags=tag("courses", "Courses and the walks they come from"))


@api.post("", responses={202: JobView, **WRITES})
def take_in(body: TakeIn) -> Response:
    """Take in a walk from finished uploads and draft it; answers with the job to follow."""
    here = desk()
    clips = [here.uploads.finished(each, "clip") for each in body.clips]
    captions = [here.uploads.finished(each, "captions") for each in body.captions]
    title = pipeline.fit_title(body.title)
    recordings = [(clip.name, str(clip.sha)) for clip in clips]
    pipeline.refuse_misfits(recordings, len(captions))
    same = None if body.again else pipeline.same_walk(here.library, [sha for _, sha in recordings])
    if same is not None:
        pipeline.bring_back(here.library, same, [here.uploads.path(clip) for clip in clips])
        raise AlreadyHere(same.name, same.title)
    wanted = {"clips": body.clips, "captions": body.captions, "title": title, "names": _plain_names(body.names)}
    return answer(job_view(here, here.jobs.add("take in", who(), wanted=wanted)), 202)


def _plain_names(names: list[str]) -> list[str]:
    return [kept for name in names if (kept := " ".join(name.split()))]


@api.post("/<string:course>/clips", responses={202: JobView, **WRITES})
def add_clips(path: CoursePath, body: AddClips) -> Response:
    """Add clips from finished uploads behind those that the course has, and read them; what people decided stays."""
    here = desk()
    there = here.library.course(path.course).doc
    clips = [here.uploads.finished(each, "clip") for each in body.clips]
    for each in body.captions:
        here.uploads.finished(each, "captions")
    recordings = [(clip.name, str(clip.sha)) for clip in clips]
    pipeline.refuse_misfits(recordings, len(body.captions))
    pipeline.refuse_there(there, recordings)
    wanted = {"clips": body.clips, "captions": body.captions, "names": _plain_names(body.names)}
    return answer(job_view(here, here.jobs.add("add clips", who(), course=path.course, wanted=wanted)), 202)


@api.post("/<string:course>/draft", responses={202: JobView, **WRITES})
def draft(path: CoursePath, body: Nothing) -> Response:
    """Hear and draft a course again, or go on where it was stopped; what a person accepted or edited stays."""
    here = desk()
    here.library.course(path.course)
    return answer(job_view(here, here.jobs.add("draft", who(), course=path.course)), 202)


@api.post("/<string:course>/edits", responses={200: CourseView, **WRITES})
def edit(path: CoursePath, body: Edits) -> Response:
    """Change the course; refused with both sides where somebody else changed the same since revision `base`."""
    library = desk().library
    save_edits(library, path.course, None, {**body.seen, "": body.base}, body.edits, Sender(who(), body.client, body.batch))
    if publishable_soon(desk(), path.course):
        desk().jobs.add("proxies", who(), course=path.course)
    return answer(course_view(desk(), path.course))


@api.post("/<string:course>/typed", responses={200: TypedView, **WRITES})
def typed(path: CoursePath, body: TypedText) -> Response:
    """Read what was typed as a rule for every station; nothing is changed by it."""
    course = desk().library.course(path.course).doc
    read = read_typed(body.text, course.names, course.divisions)
    rules = [TypedRule(**{field: getattr(rule, field) for field in TypedRule.model_fields}) for rule in read.rules]
    run = None if read.format is None else TypedRun(retries=read.format.retries, ranking=read.format.ranking)
    return answer(TypedView(rules=rules, format=run, name=read.name, left=list(read.left), may_be_name=read.may_be_name))


@api.post("/<string:course>/undo", responses={200: CourseView, **WRITES})
def undo(path: CoursePath, body: Undo) -> Response:
    """Take a batch of changes back; refused where something that it touched was changed again since."""
    take_back(desk().library, path.course, body.of, Sender(who(), body.client, body.batch))
    return answer(course_view(desk(), path.course))


@api.post("/<string:course>/here", responses={200: HereView, **WRITES})
def here(path: CoursePath, body: Here) -> Response:
    """Tell that a page is open or being closed; answers who else has the course open, and the revisions of all that it shows."""
    revisions = desk().library.revisions(path.course)
    others = desk().present.here(body.client, path.course, body.station, who(), gone=body.gone)
    return answer(HereView(others=[OtherView(who=page.who, station=page.station) for page in others], revisions=revisions))


@api.post("/<string:course>/faces", responses={200: CourseView, **WRITES})
def faces(path: CoursePath, body: FacesInFilms) -> Response:
    """Record that faces may be seen in the films of the course, with who says so and why; editions from now on follow it."""
    here = desk()
    pipeline.show_faces(here.library, path.course, body.because, who=who())
    return answer(course_view(here, path.course))


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


class LongLineView(View):
    """A line of the booklet with too many words; `station` is a number, null on the course page."""

    station: int | None
    text: str
    words: int


class ReadingLevelView(View):
    """How hard the booklet reads in one language. `lix` (Björnsson): 20 very easy, 30 easy, 40 a little hard; null without words."""

    language: str
    lines: int
    words_a_line: float
    lix: float | None
    too_long: list[LongLineView]


class ReadingView(View):
    """The walk's own language first."""

    levels: list[ReadingLevelView]


@api.get("/<string:course>/reading", responses={200: ReadingView, **READS})
def reading(path: CoursePath) -> Response:
    """How hard the booklet of the course as it stands reads, in every language that it is written in."""
    levels = pipeline.reading_levels(desk().library, path.course)
    return answer(ReadingView(levels=[ReadingLevelView.model_validate(asdict(level)) for level in levels]))
