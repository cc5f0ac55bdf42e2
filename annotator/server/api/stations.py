"""Stations: all of a course, one with its revision, and a person's changes of it."""

from __future__ import annotations

from flask import Response
from flask_openapi3 import APIBlueprint

from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import station_view
from annotator.server.config import desk, publishable_soon, who
from annotator.server.edits import Sender, save_edits
from annotator.server.views import CoursePath, Edits, StationPath, StationsView, StationView

api = APIBlueprint(
    "stations", __name__, url_prefix="/api/courses/<string:course>/stations", abp_tags=tag("stations", "Stations of a course")
)

_OTHER_PICTURES = ("put-still", "set-faces", "show-faces", "blur-faces")
"""Edits after which another picture is published; it is made ready in the background, before anybody waits for it."""


@api.post("/<string:station>/edits", responses={200: StationView, **WRITES})
def edit(path: StationPath, body: Edits) -> Response:
    """Change a station; refused with both sides where somebody else changed the same since revision `base`."""
    library = desk().library
    seen = {**body.seen, path.station: body.base}
    save_edits(library, path.course, path.station, seen, body.edits, Sender(who(), body.client, body.batch))
    if any(each.do in _OTHER_PICTURES for each in body.edits) or publishable_soon(desk(), path.course):
        desk().jobs.add("proxies", who(), course=path.course)
    at = library.station(path.course, path.station)
    return answer(station_view(at), revision=at.revision)


@api.get("", responses={200: StationsView, **READS})
def stations(path: CoursePath) -> Response:
    """The stations of a course in their order."""
    return answer(StationsView(stations=[station_view(at) for at in desk().library.stations(path.course)]))


@api.get("/<string:station>", responses={200: StationView, **READS})
def station(path: StationPath) -> Response:
    """One station; its ETag is its revision."""
    at = desk().library.station(path.course, path.station)
    return answer(station_view(at), revision=at.revision)
