"""Uploads: announce a file, send it in pieces from where it stands, finish it and hear at once whether it can be used."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from typing import Annotated

from flask import Response, request
from flask_openapi3 import APIBlueprint, RawModel
from pydantic import BaseModel, Field

from annotator import pipeline
from annotator.errors import InputError, UnreadableText
from annotator.media import probe
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.config import desk
from annotator.server.uploads import Upload
from annotator.server.views import BeginUpload, CourseRef, Nothing, UploadPath, UploadView
from annotator.speech import read_timed_text

api = APIBlueprint("uploads", __name__, url_prefix="/api/uploads", abp_tags=tag("uploads", "Files on their way in"))


class Piece(RawModel):
    """The bytes of a file, from `Upload-Offset` on."""

    mimetypes = ["application/octet-stream"]  # noqa: RUF012  # the library reads it from the class


class PieceHeader(BaseModel):
    """Where in the file the piece begins."""

    upload_offset: Annotated[int, Field(ge=0, le=2**53, alias="Upload-Offset")]


@api.post("", responses={201: UploadView, **WRITES})
def begin(body: BeginUpload) -> Response:
    """Announce a file."""
    return answer(_view(desk().uploads.begin(body.kind, body.name, body.size)), 201)


@api.get("/<string:upload>", responses={200: UploadView, **READS})
def stands(path: UploadPath) -> Response:
    """How much of a file is here."""
    return answer(_view(desk().uploads.get(path.upload)))


@api.patch("/<string:upload>", responses={200: UploadView, **WRITES})
def append(path: UploadPath, header: PieceHeader, raw: Piece) -> Response:
    """Send the next piece. Where `Upload-Offset` is not where the file stands, the answer (409) tells where it does."""
    return answer(_view(desk().uploads.append(path.upload, header.upload_offset, request.get_data())))


@api.post("/<string:upload>/finish", responses={200: UploadView, **WRITES})
def finish(path: UploadPath, body: Nothing) -> Response:
    """Look at a whole file. One that cannot be used is thrown away, and the sentence (422) says why."""
    here = desk()
    upload = here.uploads.seal(path.upload)
    try:
        if upload.kind == "captions":
            read = read_timed_text(here.uploads.path(upload))
            if not read.words:
                reason = "there is no caption in it. Choose the .srt or .vtt file that belongs to the clip."
                raise UnreadableText(here.uploads.path(upload), " ".join((*read.problems, reason)))
            return answer(_view(upload).model_copy(update={"cues": len(read.cues), "remarks": list(read.problems)}))
        facts = probe(here.uploads.path(upload))
        cut_off = pipeline.cut_off(here.uploads.path(upload))
    except InputError:
        here.uploads.drop(upload.id)
        raise
    already = [at.doc for at in here.library.courses() if any(clip.original == upload.sha for clip in at.doc.clips)]
    return answer(
        _view(upload).model_copy(
            update={
                "duration_s": facts.duration_s,
                "width": facts.width,
                "height": facts.height,
                "has_audio": facts.has_audio,
                "remarks": [cut_off] if cut_off else [],
                "already": [CourseRef(name=course.name, title=course.title) for course in already],
            }
        )
    )


@api.delete("/<string:upload>", responses={204: None, **WRITES})
def drop(path: UploadPath) -> Response:
    """Throw a file away."""
    here = desk()
    here.uploads.drop(here.uploads.get(path.upload).id)
    return Response(status=204)


def _view(upload: Upload) -> UploadView:
    return UploadView(
        id=upload.id, kind=upload.kind, name=upload.name, size=upload.size, offset=upload.offset, finished=upload.sha is not None
    )
