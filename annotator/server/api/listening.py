"""What the listening page needs: the words and their correcting, the frames' times of a clip, stills grabbed from it, its proxy."""

# ruff: noqa: ARG001  # the names of a view's arguments tell the framework what to read
from __future__ import annotations

from typing import Annotated, Literal

from flask import Response
from flask_openapi3 import APIBlueprint
from pydantic import BaseModel, Field

from annotator import pipeline
from annotator.course import Station, Still
from annotator.server.api.answers import READS, WRITES, answer, tag
from annotator.server.api.show import job_view
from annotator.server.config import Desk, desk, who
from annotator.server.news import news, put_away
from annotator.server.views import Body, CoursePath, JobView, Key, Nothing, StationPath, View, Whole
from annotator.speech import Correction, WordsEdit

api = APIBlueprint("listening", __name__, url_prefix="/api/courses/<string:course>", abp_tags=tag("listening", "Hearing and correcting"))

LONGEST_LOOK_S = 120.0


class WalkWord(View):
    """A word as it now reads, in place of the heard words `first` until before `last` (several words may stand for the same ones)."""

    start: float
    end: float
    text: str
    first: int
    last: int
    by: Literal["heard", "name", "hand"]
    sure: float | None
    """How sure the recogniser was, 0 to 1; null where the word was not recognised."""


class WordsView(View):
    """The walk's words in order, with accepted names and corrections in place.

    `changed` says that words were corrected since the rules were read from them. `corrections` hold what was heard in their places.
    """

    revision: int
    words: list[WalkWord]
    corrections: list[Correction]
    changed: bool


class Rewording(Body):
    """A person's changes of the words, in order, all or none."""

    edits: Annotated[list[WordsEdit], Field(min_length=1, max_length=1000)]


class RewordedView(View):
    """The words after a change, and the edits that take it back."""

    words: WordsView
    back: list[WordsEdit]


class NewsView(View):
    """What a new reading of the rules changed, as the stations before and after it; empty where nothing is news any more."""

    reading: str | None
    before: list[Station]
    after: list[Station]


class PutAway(Body):
    """Puts the news of a reading away, for everybody."""

    reading: Key


class ClipPath(BaseModel):
    """A clip by its number."""

    course: str
    number: Annotated[int, Field(ge=1, le=10_000)]


class FramesQuery(BaseModel):
    """A stretch of clip time in seconds; at most two minutes of it are looked at."""

    start: Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
    end: Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]


class FramesView(View):
    """The times of a proxy's frames in seconds of clip time, rising; the first one is on screen at the start of what was asked for."""

    times: list[float]


class Grab(Body):
    """The frame that a player shows: its clip, and its own time in the proxy, in seconds."""

    clip: Annotated[Whole, Field(ge=1, le=10_000)]
    time_s: Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False, strict=False)]


def _words(here: Desk, course: str) -> WordsView:
    at = here.library.course(course)
    return WordsView(
        revision=at.revision,
        words=[
            WalkWord(
                start=word.start,
                end=word.end,
                text=word.text,
                first=piece.first,
                last=piece.last,
                by=piece.by,
                sure=word.probability,
            )
            for piece in pipeline.word_pieces(here.library, at.doc)
            for word in piece.words
        ],
        corrections=list(pipeline.course_corrections(here.library, at.doc)),
        changed=at.doc.corrections != at.doc.read_with,
    )


@api.get("/words", responses={200: WordsView, **READS})
def words(path: CoursePath) -> Response:
    """What was said on the walk, word by word, as it now reads."""
    return answer(_words(desk(), path.course))


@api.post("/words", responses={200: RewordedView, **WRITES})
def reword(path: CoursePath, body: Rewording) -> Response:
    """Correct words; refused with both sides where somebody changed the same words since they were read."""
    here = desk()
    back = pipeline.edit_words(here.library, path.course, body.edits, who=who())
    return answer(RewordedView(words=_words(here, path.course), back=list(back)))


def _news(course: str) -> NewsView:
    found = news(desk().library, course)
    if found is None:
        return NewsView(reading=None, before=[], after=[])
    return NewsView(reading=found.reading, before=list(found.before), after=list(found.after))


@api.get("/news", responses={200: NewsView, **READS})
def newly_read(path: CoursePath) -> Response:
    """What the last reading of the rules proposes, until somebody puts it away."""
    return answer(_news(path.course))


@api.post("/news", responses={200: NewsView, **WRITES})
def put_news_away(path: CoursePath, body: PutAway) -> Response:
    """Put the news of a reading away; what a newer one proposes stays."""
    put_away(desk().library, path.course, body.reading)
    return answer(_news(path.course))


@api.get("/clips/<int:number>/frames", responses={200: FramesView, **READS})
def frames(path: ClipPath, query: FramesQuery) -> Response:
    """When each frame of a clip's proxy is shown, so that a page can step from one to the next at any rate."""
    end = min(query.end, query.start + LONGEST_LOOK_S)
    return answer(FramesView(times=list(pipeline.proxy_frames(desk().library, path.course, path.number, query.start, end))))


@api.post("/stations/<string:station>/grab", responses={200: Still, **WRITES})
def grab(path: StationPath, body: Grab) -> Response:
    """The very frame that a player shows, from the clip as filmed, as a still to be put; nothing is put yet."""
    here = desk()
    still = pipeline.grab_shown(here.library, path.course, path.station, body.clip, body.time_s)
    return answer(still)


@api.post("/proxies", responses={202: JobView, **WRITES})
def proxies(path: CoursePath, body: Nothing) -> Response:
    """Make the proxies that are missing, so that the walk can be played."""
    here = desk()
    here.library.course(path.course)
    return answer(job_view(here, here.jobs.add("proxies", who(), course=path.course)), 202)
