"""How the captions of a walk's film read, for those who made it: each limit with its share, and cues to look at, each a link into the film.

In: figures that annotator/captions counted. Out: `reading.html` beside the film's page, in English as the staff pages are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from annotator.booklet.site import environment
from annotator.booklet.values import Booklet

READING = "reading.html"


@dataclass(frozen=True)
class CueToSee:
    """A cue that keeps a limit not, or reads fast: when it begins, in seconds of the film and as people write it."""

    at_s: float
    clock: str
    text: str
    about: str


@dataclass(frozen=True)
class LimitKept:
    """A limit, or a wish: how many of the cues keep it, and who asks for it."""

    limit: str
    kept: int
    of: int
    source: str
    wish: bool


@dataclass(frozen=True)
class CaptionsRead:
    """The figures of one file of captions."""

    file: str
    label: str
    language: str
    limits: Sequence[LimitKept]
    cues: Sequence[CueToSee]


def write_reading(booklet: Booklet, read: Sequence[CaptionsRead], out_dir: Path) -> Path:
    """Write the page into the folder where `write_player` wrote its own, and return it."""
    page = out_dir / READING
    page.write_text(environment().get_template("film-reading.html").render(booklet=booklet, read=read, address=None), "utf-8", newline="\n")
    return page
