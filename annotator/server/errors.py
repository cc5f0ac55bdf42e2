"""Every error that reaches a person over HTTP: one table of status codes, one shape, a sentence that says what to do.

In: our errors, HTTP's own, a failed validation, and bugs. Out: `Problem` as JSON. A bug is logged with its trace and told without it.
"""

from __future__ import annotations

import logging
from typing import Any

from flask import Flask, Response, request
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from annotator.errors import (
    AnnotatorError,
    CannotWrite,
    InputError,
    InUse,
    LibraryTrouble,
    NotFound,
    NotReady,
    StageError,
    StaleEdit,
    Stopped,
)

log = logging.getLogger(__name__)


class WrongOffset(AnnotatorError):  # named as the tree in annotator/errors.py names them
    """A piece of an upload does not begin where the last one ended."""

    def __init__(self, name: str, offset: int) -> None:
        super().__init__(name, offset)
        self.name, self.offset = name, offset

    def __str__(self) -> str:
        return f"The upload of {self.name!r} stands at byte {self.offset}. Go on from there."


class AlreadyHere(AnnotatorError):
    """The same walk is in the library already."""

    def __init__(self, course: str, title: str) -> None:
        super().__init__(course, title)
        self.course, self.title = course, title

    def __str__(self) -> str:
        return f"This walk is here already, as {self.title!r}. Open that one, or take it in again as a course of its own."


STATUS: tuple[tuple[type[AnnotatorError], int], ...] = (
    (NotFound, 404),
    (StaleEdit, 409),
    (NotReady, 409),
    (InUse, 409),
    (WrongOffset, 409),
    (AlreadyHere, 409),
    (InputError, 422),
    (Stopped, 499),
    (LibraryTrouble, 507),
    (CannotWrite, 507),
    (StageError, 500),
    (AnnotatorError, 500),
)

SENTENCES = {
    400: "The request could not be read.",
    403: "Only the staff pages on the machine that serves may do this; other machines read the booklets.",
    404: "There is nothing at this address.",
    405: "That cannot be done at this address.",
    406: "That form is not on offer here.",
    413: "That is more than one request may carry. Send the file in pieces.",
    415: "Send this as JSON (Content-Type: application/json).",
    416: "That part of the file does not exist.",
    421: "This server is not called by that name. Open it by the address that it printed when it started.",
    500: "Something broke here; that is our fault, not yours. Nothing was half-saved. Try again, and tell us if it breaks again.",
}


class ClashView(BaseModel):
    """An edit (its place in what was sent) that meets another change, and the places where they meet; none where it fits no more."""

    edit: int
    places: list[str]


class Problem(BaseModel):
    """What went wrong, in a sentence for a person, with what a page needs to offer the way out. All fields are always there."""

    model_config = ConfigDict(
        json_schema_extra={"required": ["kind", "sentence", "reasons", "course", "offset", "current", "mine", "theirs", "clashes"]}
    )

    kind: str
    sentence: str
    reasons: list[str] = Field(default_factory=list)
    """Every single reason, where there are several."""
    course: str | None = None
    """The course that a walk already is in."""
    offset: int | None = None
    """Where an upload stands."""
    current: int | None = None
    """The revision as it stands, where a save came too late; then `mine` and `theirs` are the two sides."""
    mine: dict[str, Any] | None = None
    theirs: dict[str, Any] | None = None
    clashes: list[ClashView] = Field(default_factory=list)
    """Of several edits those that meet somebody else's change; the others would go through."""


def status_of(error: AnnotatorError) -> int:
    """The HTTP status of one of our errors.

    >>> status_of(NotFound("course", "x")), status_of(InputError("x"))
    (404, 422)
    """
    return next(status for kind, status in STATUS if isinstance(error, kind))


def problem_of(error: AnnotatorError) -> Problem:
    """One of our errors as a problem."""
    problem = Problem(kind=_kind(type(error)), sentence=str(error))
    if isinstance(error, StaleEdit):
        clashes = [ClashView(edit=edit, places=list(places)) for edit, places in error.clashes]
        return problem.model_copy(update={"current": error.current, "mine": error.mine, "theirs": error.theirs, "clashes": clashes})
    if isinstance(error, NotReady):
        first = str(error).partition("\n")[0]
        return problem.model_copy(update={"sentence": first, "reasons": list(error.reasons)})
    if isinstance(error, InUse):
        return problem.model_copy(update={"sentence": f"{error.title!r} is in use.", "reasons": list(error.reasons)})
    if isinstance(error, AlreadyHere):
        return problem.model_copy(update={"course": error.course})
    if isinstance(error, WrongOffset):
        return problem.model_copy(update={"offset": error.offset})
    return problem


def respond(problem: Problem, status: int) -> Response:
    """A problem as an HTTP answer."""
    return Response(problem.model_dump_json(), status, mimetype="application/json")


def unfit(error: ValidationError) -> Response:
    """What does not fit the description of the API, told field by field."""
    reasons = [f"{'.'.join(str(part) for part in each['loc']) or 'the body'}: {each['msg']}" for each in error.errors()]
    return respond(Problem(kind="unfit", sentence="What was sent does not fit.", reasons=reasons), 422)


def register(app: Flask) -> None:
    """Make the app answer every error with a problem."""

    def ours(error: AnnotatorError) -> Response:
        status = status_of(error)
        if status == 500:
            log.exception("%s %s broke", request.method, request.path)
        return respond(problem_of(error), status)

    def http(error: HTTPException) -> AnyResponse:
        answer = error.get_response()  # keeps Allow and Retry-After
        if answer.status_code < 400 or error.response is not None:
            return answer
        sentence = SENTENCES.get(answer.status_code, error.description or error.name)
        answer.data = Problem(kind=error.name.lower().replace(" ", "-"), sentence=sentence).model_dump_json()
        answer.content_type = "application/json"
        return answer

    def bug(error: Exception) -> Response:
        log.exception("%s %s broke", request.method, request.path, exc_info=error)
        return respond(Problem(kind="bug", sentence=SENTENCES[500]), 500)

    app.register_error_handler(AnnotatorError, ours)
    app.register_error_handler(HTTPException, http)
    app.register_error_handler(Exception, bug)


def _kind(error: type[AnnotatorError]) -> str:
    """The error's name in small letters with hyphens: StaleEdit is stale-edit."""
    return "".join(f"-{letter.lower()}" if letter.isupper() else letter for letter in error.__name__).lstrip("-")
