"""What an app is made with, and the desk at which its requests are answered: library, uploads and jobs, handed in, never global."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import cast
from urllib.parse import unquote

from flask import current_app, request

from annotator.library import Library
from annotator.server.jobs import Jobs
from annotator.server.present import Present
from annotator.server.uploads import Uploads

STATIC = Path(__file__).parent / "static" / "app"
LONGEST_WHO = 60


@dataclass(frozen=True)
class Config:
    """What `create_app` needs.

    `weights` chooses the speech weights (see `annotator.speech`). `hosts` are the names under which the app may be called, empty for any.
    `staff_elsewhere` opens the staff pages to other machines (there are no accounts yet). With `work` off nothing is worked on: another
    program of this library does it, or a test looks first.
    """

    library: Library
    weights: str | None = None
    hosts: tuple[str, ...] = ()
    work: bool = True
    staff_elsewhere: bool = False
    pages: Path = field(default=STATIC)


@dataclass(frozen=True)
class Desk:
    """What the views work with."""

    library: Library
    uploads: Uploads
    jobs: Jobs
    pages: Path
    present: Present = field(default_factory=Present)


def desk() -> Desk:
    """The desk of the app that answers the present request."""
    return cast(Desk, current_app.extensions["annotator"])


def publishable_soon(here: Desk, course: str) -> bool:
    """Whether every station is accepted: then what publishing will want is worth making ahead."""
    stations = here.library.stations(course)
    return bool(stations) and all(at.doc.standing() in ("accepted", "signed") for at in stations)


def who() -> str:
    """Who is at the other end, as the browser tells it (percent-encoded, so that any letters fit a header); "staff" where it does not."""
    told = " ".join(unquote(request.headers.get("Annotator-Who", "")).split())
    return told[:LONGEST_WHO] or "staff"
