"""Stills: the picture in a fitting size, the marks over it, and the ruling at a point."""

from __future__ import annotations

import secrets
from pathlib import Path

from flask import Response, request, send_file
from flask_openapi3 import APIBlueprint
from PIL import Image

from annotator import pipeline
from annotator.course import Station, Still
from annotator.errors import InputError, NotFound
from annotator.library import Library
from annotator.marks import overlay_svg
from annotator.server.api.answers import READS, WRITES, answer, binary, tag
from annotator.server.config import desk
from annotator.server.still_views import (
    AltView,
    CarriedView,
    Carry,
    OverlayQuery,
    PictureQuery,
    PiecesView,
    PieceView,
    ProposalsView,
    ProposalView,
    Rough,
    RulingQuery,
    RulingView,
    SnugView,
    StillPath,
    SurfaceView,
    WordsQuery,
)

WIDTHS = (320, 640, 960, 1280, 1920)
QUALITY = 82

api = APIBlueprint(
    "stills",
    __name__,
    url_prefix="/api/courses/<string:course>/stations/<string:station>/stills/<string:still>",
    abp_tags=tag("stills", "Stills with their marks, and rulings at a point"),
)


def _find(path: StillPath) -> tuple[Station, Still]:
    station = desk().library.station(path.course, path.station).doc
    still = next((each for each in station.stills if each.id == path.still), None)
    if still is None:
        raise NotFound("still", path.still, [each.id for each in station.stills])
    return station, still


@api.get("/picture", responses={200: binary("image/jpeg", "The still as JPEG"), **READS})
def picture(path: StillPath, query: PictureQuery) -> Response:
    """The still without its marks, not wider than wanted (rounded up to a size that is kept), without metadata."""
    _, still = _find(path)
    width = min(still.width, next((size for size in WIDTHS if size >= query.width), still.width))
    small = _small(desk().library, still, width)
    response = send_file(small, mimetype="image/jpeg", conditional=True, etag=f"{still.file[:20]}-{width}")
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _small(library: Library, still: Still, width: int) -> Path:
    """The still at this width in the library's folder of things that can be made again; made where it is missing."""
    folder = library.root / "again" / "pictures"
    place = folder / f"{still.file}-{width}.jpg"
    if not place.exists():
        folder.mkdir(parents=True, exist_ok=True)
        unfinished = folder / f".{secrets.token_hex(8)}.jpg"
        with Image.open(library.files.path(still.file)) as image:
            small = image.convert("RGB")
            small.thumbnail((width, still.height * 2), Image.Resampling.LANCZOS)
            small.save(unfinished, quality=QUALITY)
        unfinished.replace(place)
    return place


@api.get("/overlay", responses={200: binary("image/svg+xml", "The marks as SVG"), **READS})
def overlay(path: StillPath, query: OverlayQuery) -> Response:
    """The marks of the still as they stand, drafts included, to lay over the picture: a viewBox of the still's size."""
    library = desk().library
    station, still = _find(path)
    course = library.course(path.course).doc
    if query.division is not None and query.division not in course.divisions:
        raise NotFound("division", query.division, course.divisions)
    drawn = overlay_svg(course, station, still.id, division=query.division, drafts=True)
    response = Response(drawn, mimetype="image/svg+xml")
    response.add_etag()
    response.make_conditional(request)
    return response


@api.get("/ruling", responses={200: RulingView, **READS})
def ruling(path: StillPath, query: RulingQuery) -> Response:
    """Whether a point is in play, for a limb and a division where given, with what was said about it."""
    station, still = _find(path)
    if not any(mark.still == still.id for mark in station.marks):
        raise InputError("Nothing is marked on this still yet, so it cannot say what is in play there.")
    found = pipeline.ask(
        desk().library, path.course, station.number, still.id, (query.x, query.y), limb=query.limb, division=query.division
    )
    item = found.surface
    return answer(
        RulingView(
            ruling=found.ruling,
            because=found.because,
            surface=None
            if item is None
            else SurfaceView(id=item.id, name=item.name, part=item.part, role=item.role, ruling=item.ruling, blanket=item.blanket),
            said=list(found.said),
            distance_px=found.distance_px,
        )
    )


@api.get("/alt", responses={200: AltView, **READS})
def alt(path: StillPath) -> Response:
    """The words for those who cannot see the still as they are made from its marks as they stand, in every language of the outputs."""
    station, still = _find(path)
    return answer(AltView(made=pipeline.made_alt(desk().library.course(path.course).doc, station, still)))


@api.get("/proposals", responses={200: ProposalsView, **READS})
def proposals(path: StillPath, query: WordsQuery) -> Response:
    """Regions of the still that a surface's words could mean; nothing is put in."""
    _, still = _find(path)
    found = pipeline.proposals(desk().library, still, query.words)
    return answer(ProposalsView(proposals=[ProposalView(rings=list(each.rings), score=each.score, why=each.why) for each in found]))


@api.get("/offers", responses={200: ProposalsView, **READS})
def offers(path: StillPath, query: WordsQuery) -> Response:
    """The same regions, drawn snug where that leaves no doubt: to be taken as they are. Nothing is put in."""
    _, still = _find(path)
    found = pipeline.offers(desk().library, still, query.words, query.part)
    return answer(ProposalsView(proposals=[ProposalView(rings=list(each.rings), score=each.score, why=each.why) for each in found]))


@api.post("/carried", responses={200: CarriedView, **WRITES})
def carried(path: StillPath, body: Carry) -> Response:
    """Marks of another still of the station as they would lie on this one, to be offered; nothing is put in."""
    station, still = _find(path)
    found = pipeline.carried_to(desk().library, station, body.still, still.id, body.marks)
    return answer(
        CarriedView(marks=list(found.put), withheld=[mark.id for mark in found.withheld], there=[mark.id for mark in found.there_already])
    )


@api.post("/like-it", responses={200: PiecesView, **WRITES})
def like_it(path: StillPath, body: Rough) -> Response:
    """The other pieces that look like one that was marked, to be offered; nothing is put in."""
    _, still = _find(path)
    found = pipeline.like_it(desk().library, still, body.points, holes=body.holes, width=body.width)
    pieces = [
        PieceView(
            rings=None if each.rings is None else list(each.rings), line=None if each.line is None else list(each.line), width=each.width
        )
        for each in found
    ]
    return answer(PiecesView(pieces=pieces))


@api.post("/snug", responses={200: SnugView, **WRITES})
def snug(path: StillPath, body: Rough) -> Response:
    """A snug outline for a rough one, to be offered; nothing is put in."""
    _, still = _find(path)
    found = pipeline.snug(desk().library, still, body.points, holes=body.holes, width=body.width, words=body.words)
    if found is None:
        return answer(SnugView(offered=False, rings=None, line=None, width=None, overlap=None, doubt=None))
    rings = None if found.rings is None else list(found.rings)
    line = None if found.line is None else list(found.line)
    return answer(SnugView(offered=True, rings=rings, line=line, width=found.width, overlap=found.overlap, doubt=found.doubt))
