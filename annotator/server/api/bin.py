"""The bin: putting a course there, what lies in it, bringing it back, and removing it for good."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

import time

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator.errors import InUse
from annotator.library import Binned
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import job_view, length_s
from annotator.server.config import Desk, desk, who
from annotator.server.jobs import OPEN, Job
from annotator.server.present import Page
from annotator.server.views import BinnedView, BinView, CoursePath, CourseRef, JobView, Nothing, PutInBin

api = APIBlueprint("bin", __name__, url_prefix="/api", abp_tags=tag("bin", "Courses that were taken out"))

PATIENCE_S = 10.0
"""How long work that was asked to stop is waited for; it looks for that at each sign of progress."""


@api.post("/courses/<string:course>/bin", responses={200: BinnedView, **WRITES})
def put_in_bin(path: CoursePath, body: PutInBin) -> Response:
    """Put a course in the bin; refused with the reasons while work or somebody else is at it, unless `anyway`."""
    here = desk()
    doc = here.library.course(path.course).doc
    working = _open_jobs(here, path.course)
    reasons = [_at_work(job) for job in working]
    reasons += [_has_open(page) for page in here.present.others(body.client, path.course)]
    if reasons and not body.anyway:
        raise InUse(doc.title, reasons)
    for job in working:
        here.jobs.stop(job.id)
    _wait(here, path.course, doc.title)
    return answer(_view(here, here.library.put_in_bin(path.course, who())))


@api.get("/bin", responses={200: BinView, **READS})
def in_bin() -> Response:
    """What lies in the bin, the newest first."""
    here = desk()
    return answer(BinView(courses=[_view(here, each) for each in here.library.in_bin()]))


@api.post("/bin/<string:course>/back", responses={200: CourseRef, **WRITES})
def bring_back(path: CoursePath, body: Nothing) -> Response:
    """Bring a course back as it was."""
    course = desk().library.bring_back(path.course).doc
    return answer(CourseRef(name=course.name, title=course.title))


@api.post("/bin/<string:course>/remove", responses={202: JobView, **WRITES})
def remove_for_good(path: CoursePath, body: Nothing) -> Response:
    """Delete a course of the bin from this machine, with its films; answers with the job to follow."""
    here = desk()
    here.library.binned(path.course)
    return answer(job_view(here, here.jobs.add("remove", who(), wanted={"course": path.course})), 202)


def _open_jobs(here: Desk, course: str) -> list[Job]:
    return [job for job in here.jobs.all() if job.course == course and job.state in OPEN]


def _wait(here: Desk, course: str, title: str) -> None:
    """Until no work is at the course any more; what only waits for its turn will find that it was stopped."""
    end_s = time.monotonic() + PATIENCE_S
    while any(job.state == "working" for job in _open_jobs(here, course)):
        if time.monotonic() > end_s:
            raise InUse(title, ("Its work was asked to stop and has not yet. Try again in a moment.",))
        time.sleep(0.1)


def _at_work(job: Job) -> str:
    return f"It is being worked on: {job.stage or job.kind}."


def _has_open(page: Page) -> str:
    if page.who == who():
        return "You have it open in another page too."
    return f"{'Somebody' if page.who == 'staff' else page.who} has it open."


def _view(here: Desk, each: Binned) -> BinnedView:
    name = each.course.name
    jobs = [job for job in here.jobs.all() if job.kind == "remove" and job.wanted.get("course") == name and job.at >= each.at]
    return BinnedView(
        name=name,
        title=each.course.title,
        who=each.who,
        at=each.at,
        until=each.until,
        stations=len(each.course.order),
        length_s=length_s(each.course),
        job=job_view(here, jobs[-1]) if jobs else None,
    )
