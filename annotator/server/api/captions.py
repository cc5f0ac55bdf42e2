"""Captions of the walk: how each wording and each translation reads, and laying a translated file in."""

from __future__ import annotations

from typing import Annotated

from flask import Response
from flask_openapi3 import APIBlueprint
from pydantic import BaseModel, Field

from annotator import pipeline
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import course_view
from annotator.server.config import desk, who
from annotator.server.views import Body, CoursePath, CourseView, View

api = APIBlueprint("captions", __name__, url_prefix="/api/courses/<string:course>/captions", abp_tags=tag("captions", "How captions read"))


class LimitView(View):
    """A published limit, or a wish: how many of the cues keep it, and who asks for it."""

    limit: str
    kept: int
    of: int
    source: str
    wish: bool


class CueView(View):
    """A cue to look at: from when until when it stands on the walk, in seconds, its text, and what is the matter."""

    start: float
    end: float
    text: str
    about: str


class CaptionsOfView(View):
    """One set of captions; `wording` is null for a translation. `problems` are whole sentences about the file that was given."""

    language: str
    wording: pipeline.Wording | None
    cues: int
    problems: list[str]
    limits: list[LimitView]
    worst: list[CueView]


class CaptionsView(View):
    """All captions of a walk: every word first, then the other wordings, then each translation; none where no words were heard."""

    captions: list[CaptionsOfView]


class LayIn(Body):
    """Lays a translated caption file in, from a finished upload; it takes the place of an earlier one of the same language."""

    upload: Annotated[str, Field(max_length=500)]


class LanguagePath(BaseModel):
    """A language of a course's captions by its BCP 47 tag."""

    course: str
    language: str


@api.get("", responses={200: CaptionsView, **READS})
def captions(path: CoursePath) -> Response:
    """How the captions of the walk read, as the course stands now."""
    library = desk().library
    course, stations = library.whole(path.course)
    found = pipeline.walk_captions(library, course.doc, [at.doc for at in stations])
    return answer(CaptionsView(captions=[_view(each) for each in found]))


@api.put("/<string:language>", responses={200: CourseView, **WRITES})
def lay_in(path: LanguagePath, body: LayIn) -> Response:
    """Keep a translated caption file with the course; editions from now on have it."""
    here = desk()
    upload = here.uploads.finished(body.upload, "captions")
    pipeline.keep_translation(here.library, path.course, path.language, here.uploads.path(upload), who=who())
    here.uploads.drop(upload.id)
    return answer(course_view(here, path.course))


@api.delete("/<string:language>", responses={200: CourseView, **WRITES})
def take_out(path: LanguagePath) -> Response:
    """Take the captions of a language out; editions that have them keep them."""
    here = desk()
    pipeline.drop_translation(here.library, path.course, path.language, who=who())
    return answer(course_view(here, path.course))


def _view(captions: pipeline.WalkCaptions) -> CaptionsOfView:
    read = captions.reading
    return CaptionsOfView(
        language=captions.language,
        wording=captions.wording,
        cues=len(captions.cues),
        problems=list(captions.problems),
        limits=[LimitView(limit=each.limit, kept=each.kept, of=each.of, source=each.source, wish=each.wish) for each in read.limits],
        worst=[CueView(start=each.start_s, end=captions.cues[each.cue].end_s, text=each.text, about=each.about) for each in read.worst],
    )
