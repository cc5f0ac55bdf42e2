"""Jobs: where a piece of work stands, and stopping it."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import job_view
from annotator.server.config import desk
from annotator.server.views import JobPath, JobsView, JobView, Nothing

api = APIBlueprint("jobs", __name__, url_prefix="/api/jobs", abp_tags=tag("jobs", "Work that takes longer than a request"))


@api.get("", responses={200: JobsView, **READS})
def jobs() -> Response:
    """The jobs of the last days."""
    here = desk()
    return answer(JobsView(jobs=[job_view(here, job) for job in here.jobs.all()]))


@api.get("/<string:job>", responses={200: JobView, **READS})
def job(path: JobPath) -> Response:
    """One job, to be asked again every second or so while it is open."""
    here = desk()
    return answer(job_view(here, here.jobs.get(path.job)))


@api.post("/<string:job>/stop", responses={200: JobView, **WRITES})
def stop(path: JobPath, body: Nothing) -> Response:
    """Ask a job to stop; what was done so far is kept."""
    here = desk()
    return answer(job_view(here, here.jobs.stop(path.job)))
