"""Make the app, and run it."""

from __future__ import annotations

import signal
import sys
from types import FrameType
from typing import Any

import click
from flask_openapi3 import Info, OpenAPI
from waitress.server import create_server

from annotator import pipeline
from annotator.errors import InputError
from annotator.library import Library
from annotator.server import errors, guard
from annotator.server.api import ALL
from annotator.server.config import Config, Desk
from annotator.server.jobs import OPEN, Jobs
from annotator.server.readers import readers
from annotator.server.staff import staff
from annotator.server.uploads import Uploads
from annotator.server.work import Worker

LARGEST_REQUEST = 32 * 2**20
LOOPBACK = ("localhost", "127.0.0.1", "::1")
THREADS = 8


def create_app(config: Config) -> OpenAPI:
    """The app of one library. It owns its jobs: call `close(app)` when done with it."""
    app = OpenAPI(
        "annotator.server",
        info=Info(title="annotator", version="1", description="Courses, from a filmed walk to a published edition."),
        security_schemes={},
        validation_error_model=errors.Problem,
        validation_error_callback=errors.unfit,
        static_folder=None,
        doc_ui=True,
    )
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    app.json.ensure_ascii = False  # type: ignore[attr-defined]
    uploads = Uploads(config.library.root / "uploads")
    worker = Worker(
        config.library,
        uploads,
        config.weights,
        follow_up=lambda course, asked_by: jobs.add("proxies", asked_by, course=course),
        forget=lambda course: jobs.forget(course),
    )
    jobs = Jobs(config.library.root, worker.do)
    app.extensions["annotator"] = Desk(config.library, uploads, jobs, config.pages)
    errors.register(app)
    guard.register(app, config.hosts, config.staff_elsewhere)
    for api in ALL:
        app.register_api(api)
    app.register_blueprint(readers)
    app.register_blueprint(staff)
    if config.work:
        jobs.start(lambda: _left_undone(config.library, jobs))
    uploads.sweep(keep=_needed(jobs))
    return app


def close(app: OpenAPI) -> None:
    """Stop working; the job at hand goes on at the next start."""
    desk: Desk = app.extensions["annotator"]
    desk.jobs.close()


def run(library: Library, host: str = "127.0.0.1", port: int = 8017, *, weights: str | None = None, staff_elsewhere: bool = False) -> None:
    """Serve until somebody stops it (Ctrl+C, or SIGTERM). Port 0 takes any that is free; the address is printed."""
    hosts = LOOPBACK if host in LOOPBACK else ()
    app = create_app(Config(library=library, weights=weights, hosts=hosts, staff_elsewhere=staff_elsewhere))
    try:
        try:
            server = create_server(app, host=host, port=port, threads=THREADS, ident=None, max_request_body_size=LARGEST_REQUEST)
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(f"Cannot listen on {host} port {port}: {reason}. Choose another port with --port.") from error
        signal.signal(signal.SIGTERM, _leave)
        listening = getattr(server, "effective_port", port)
        click.echo(f"Open http://{'localhost' if host in ('127.0.0.1', '0.0.0.0', '::') else host}:{listening}/ (Ctrl+C stops)")
        server.run()
    finally:
        close(app)


def _leave(_number: int, _frame: FrameType | None) -> None:
    sys.exit(0)


def _left_undone(library: Library, jobs: Jobs) -> None:
    """Ask for the draft of every course that was taken in and never drafted, unless somebody stopped it, and for the removal of every one
    whose time in the bin is over."""
    asked = {job.course for job in jobs.all()}
    for at in library.courses():
        if at.doc.state == "taken in" and at.doc.name not in asked:
            jobs.add("draft", at.who, course=at.doc.name)
    for name in pipeline.due_for_removal(library):
        jobs.add("remove", "the bin", wanted={"course": name})


def _needed(jobs: Jobs) -> set[str]:
    """The uploads that open jobs still want."""
    wanted: list[dict[str, Any]] = [job.wanted for job in jobs.all() if job.state in OPEN]
    return {upload for each in wanted for upload in (*each.get("clips", ()), *each.get("captions", ()))}
