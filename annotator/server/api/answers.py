"""How the API answers, and the problems that each of its addresses may have."""

from __future__ import annotations

from typing import Any

from flask import Response, request
from flask_openapi3 import Tag
from pydantic import BaseModel

from annotator.server.errors import Problem

READS: dict[Any, Any] = {403: Problem, 404: Problem, 421: Problem, 422: Problem, 500: Problem}
WRITES: dict[Any, Any] = {**READS, 400: Problem, 409: Problem, 413: Problem, 415: Problem, 507: Problem}


def tag(name: str, description: str) -> list[Tag]:
    """The one tag of a module's addresses."""
    return [Tag(name=name, description=description)]


def answer(view: BaseModel, status: int = 200, revision: int | None = None) -> Response:
    """A view as JSON; with its document's revision as the ETag where it has one."""
    response = Response(view.model_dump_json(), status, mimetype="application/json")
    if revision is not None:
        response.set_etag(f"r{revision}")
        response.make_conditional(request)
    return response


def binary(mime: str, description: str) -> dict[str, Any]:
    """The description of an answer that is a file."""
    return {"description": description, "content": {mime: {"schema": {"type": "string", "contentMediaType": mime}}}}
