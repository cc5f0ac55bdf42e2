"""What a booklet is made of: frozen values that every output lays out in the same order and none rewords.

Pure data. pages.py makes them from a course; site.py, epub.py, paper.py and slip.py only lay them out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal, Protocol

from annotator.booklet.phrases import Phrase, Span, named
from annotator.booklet.wording import Wording
from annotator.course import Limb

SectionKey = Literal["format", "everywhere", "division-list", "start", "in", "out", "finish", "divisions", "shown"]


class Edition(Protocol):
    """What a booklet needs to know of an edition; the library's editions have it."""

    @property
    def number(self) -> int: ...
    @property
    def code(self) -> str: ...
    @property
    def at(self) -> dt.datetime: ...


@dataclass(frozen=True)
class Stamp:
    """The number, code and day of a published edition."""

    number: int
    code: str
    at: dt.datetime


@dataclass(frozen=True)
class Heard:
    """Words of the walk that say a rule, with the moment to hear them.

    `clip` and `clip_time_s` tell where in the clips that is; None where the course knows no clip for that moment.
    """

    time_s: float
    clock: str
    text: str
    clip: int | None = None
    clip_time_s: float | None = None
    language: str | None = None
    """Of the words, where it is not the booklet's."""


@dataclass(frozen=True)
class Rule:
    """One rule in one line of words. `gap` says that the walk does not say it; `draft` that nobody agreed to it yet.

    `division` is set on a line that tells what differs for that division. `spans` are the same words with their languages, where a name in
    them is of another language than the booklet or runs the other way; elsewhere there are none.
    """

    text: str
    plate: Literal["in", "out"] | None = None
    draft: bool = False
    gap: bool = False
    surface: str | None = None
    heard: tuple[Heard, ...] = ()
    division: str | None = None
    spans: tuple[Span, ...] = ()


@dataclass(frozen=True)
class Section:
    """A heading with its rules, and a note that closes it ("and everything not named here")."""

    key: SectionKey
    title: str
    rules: tuple[Rule, ...]
    note: str | None = None


@dataclass(frozen=True)
class Divided:
    """A line as it reads for a division that differs, and the section in which it then stands."""

    division: str
    section: SectionKey
    rule: Rule


@dataclass(frozen=True)
class Question:
    """A question to check oneself: may this limb (None: you) touch this spot of a still, and what the walk says about it.

    `at` is in pixels of the still, farther from every edge than a still can tell.
    """

    still: str
    at: tuple[float, float]
    limb: Limb | None
    yes: bool
    ask: str
    because: str
    heard: tuple[Heard, ...] = ()


@dataclass(frozen=True)
class StillPage:
    """A still as readers see it: its size, its words for those who cannot see it, its overlay and what answers a tap.

    Overlays, answers and areas are kept by division; "" is the course without a division. A division is there only where it differs.
    """

    id: str
    width: int
    height: int
    time_s: float
    tell: Callable[[], str] = field(repr=False, compare=False)
    """Puts the still into words."""
    overlays: Mapping[str, str]
    """For screens: lines keep their width at every zoom."""
    paper_overlays: Mapping[str, str]
    """For paper and e-books: bolder, and the lines scale with the picture."""
    answers: Mapping[str, Mapping[str, Any]]
    areas: Mapping[str, bytes]
    """The zone in play as well-known binary (OGC 06-103r4), for the change slip."""
    questions: Mapping[str, tuple[Question, ...]] = field(default_factory=dict)
    """To check oneself; none in a draft, where nothing is agreed."""

    @cached_property
    def alt(self) -> str:
        """The still in words, for those who cannot see it."""
        return self.tell()


@dataclass(frozen=True)
class StationPage:
    """One station in words and stills, in the order in which every output shows it."""

    id: str
    number: int
    name: str
    title: str
    limbs: Rule
    stills: tuple[StillPage, ...]
    sections: tuple[Section, ...]
    heard: tuple[Heard, ...]
    name_spans: tuple[Span, ...] = ()
    """The name's words with their languages, as in `Rule`."""
    title_spans: tuple[Span, ...] = ()
    """The same of the title."""
    divided: tuple[Divided, ...] = ()
    key: str = ""
    """SHA-256 of all that the station's pages and cards are made from but its edition: what has the same may be used again."""

    def section(self, key: SectionKey) -> Section | None:
        """The section of that key, or None where the station has none."""
        return next((section for section in self.sections if section.key == key), None)

    def rules(self) -> Iterator[Rule]:
        """Every rule in reading order, the limbs first."""
        yield self.limbs
        for section in self.sections:
            yield from section.rules


@dataclass(frozen=True)
class Booklet:
    """A course as readers get it. `stamp` is None for a draft, and `stamp_line` then says so; it stands on every page."""

    name: str
    title: str
    stamp: Stamp | None
    stamp_line: str
    default_rule: str
    caution: str
    sections: tuple[Section, ...]
    stations: tuple[StationPage, ...]
    wording: Wording
    spoken: str = "en"
    """The language of the walk, of the title and of the words that were heard."""
    division_names: Mapping[str, Phrase] = field(default_factory=dict)
    """What each division is called in this booklet."""
    divisions: tuple[str, ...] = ()
    """Every division that is named, in the course's order."""
    divided: tuple[Divided, ...] = ()
    """What differs on the course page itself."""
    key: str = ""
    """As a station's, of what is the same on every page; neither has the edition in it."""

    def rules(self) -> Iterator[Rule]:
        """Every rule of the course page in reading order."""
        for section in self.sections:
            yield from section.rules

    @property
    def title_spans(self) -> tuple[Span, ...]:
        """The title's words with their language, as in `Rule`: it stays as it was given."""
        return named(self.title, None if self.spoken == self.wording.language else self.spoken).marked

    def turn(self, way: Literal["next", "previous"], page: StationPage) -> Phrase:
        """The words of the link to a station's neighbour: "Next: 4 Ring row"."""
        return self.wording.phrase(way, station=Phrase((Span(f"{page.number} "), *(page.name_spans or (Span(page.name),)))))

    def texts(self) -> tuple[tuple[str, ...], ...]:
        """All rules as words: the course page's first, then each station's."""
        return (tuple(rule.text for rule in self.rules()), *(tuple(rule.text for rule in page.rules()) for page in self.stations))

    def neighbours(self, page: StationPage) -> tuple[StationPage | None, StationPage | None]:
        """The station before and the station after."""
        at = self.stations.index(page)
        before = self.stations[at - 1] if at else None
        return before, self.stations[at + 1] if at + 1 < len(self.stations) else None
