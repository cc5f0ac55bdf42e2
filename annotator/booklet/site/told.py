"""One language of the phone booklet, as the templates ask for it: lines with their divisions, addresses, and what the script is told.

In: a `Booklet` and where its pages lie. Out: values for the templates. Words are the booklet's and its wording's; nothing is written here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from markupsafe import Markup

from annotator.booklet.keeping import stage_name
from annotator.booklet.quiz import chosen
from annotator.booklet.site.weaving import as_json
from annotator.booklet.values import Booklet, Divided, Heard, Rule, Section, StationPage, StillPage
from annotator.booklet.wording import capital

FIRST_PAGE = "index.html"
_EARLY = ("start", "in", "out", "finish")
"""The sections that come before the words that say so."""
_WORDS = {
    "in": "answer:in", "out": "answer:out", "unnamed": "answer:unnamed", "unmarked": "answer:unmarked", "close": "answer:close",
    "keys": "picture-keys",
    "in-plate": "in-plate", "out-plate": "out-plate", "right": "quiz-right", "wrong": "quiz-wrong", "score": "quiz-score",
    "next-question": "quiz-next", "quiz-end": "quiz-done", "hits": "found", "hits:none": "found-none",
    "hear": "hear",
}  # fmt: skip
"""What the script says, by the key of the wording; places to fill in stay as they are."""
_OF_EDITIONS = {"newer": "newer", "newer-open": "newer-open"}


def page_name(page: StationPage) -> str:
    """The file of a station's page; also the end of its address in a QR code."""
    return f"station-{page.number}.html"


@dataclass(frozen=True)
class WalkClip:
    """A clip that lies beside the pages: `video` and `captions` are relative addresses such as "walk/clip-1.mp4"."""

    video: str
    captions: str | None = None


@dataclass(frozen=True)
class Shown:
    """A still as a page names it: sources by kind, and what a browser takes that knows none of them."""

    src: str
    sources: tuple[tuple[str, str], ...] = ()
    srcset: str | None = None
    sizes: str | None = None
    copy: str | None = None
    """In one file with several languages: which picture this is, so that the script copies it from the first language."""

    @property
    def told(self) -> list[Any]:
        """All of it as plain data."""
        return [self.src, self.sources, self.srcset, self.sizes, self.copy]


@dataclass(frozen=True)
class Line:
    """A rule as a line of the page. `shown`: numbers of the divisions for which it stands there, None for all; `sign` on a line that reads
    otherwise for a division; `differs`: the division whose difference the line tells.
    """

    rule: Rule
    shown: str | None = None
    sign: str | None = None
    differs: int | None = None


@dataclass(frozen=True)
class Language:
    """A booklet's language and where its pages lie: "" for the first one, "es/" below the booklet's own folder."""

    code: str
    name: str
    folder: str


@dataclass(frozen=True)
class PhoneSite:
    """What the templates ask."""

    booklet: Booklet
    here: Language
    every: Sequence[Language]
    pictures: Mapping[str, tuple[Shown, Shown]]
    """By still: the thumbnail and the picture."""
    walk: Mapping[int, WalkClip] = field(default_factory=dict)
    root: str | None = None
    assets: dict[str, str] = field(default_factory=dict)
    worker: bool = False
    single: bool = False
    newest: str | None = None
    """In one file: where the newest edition is read."""

    @property
    def up(self) -> str:
        """The way from a page to the booklet's own folder."""
        return "../" if self.here.folder else ""

    @property
    def folder(self) -> str:
        """Where its pages lie below the booklet's own folder."""
        return self.here.folder

    @cached_property
    def shared_key(self) -> str:
        """Changes with what all pages of the language have in common; with the edition too, unless stamping.py put its marks instead."""
        stamp = self.booklet.stamp
        return stage_name(
            [self.here.code, self.here.folder, [[each.code, each.name, each.folder] for each in self.every]],
            [self.root, dict(sorted(self.assets.items())), self.worker, self.single, self.newest],
            {str(number): [clip.video, clip.captions] for number, clip in self.walk.items()},
            [self.booklet.key, self.booklet.name, self.booklet.title, self.booklet.divisions, len(self.booklet.stations)],
            [self.booklet.stamp_line, stamp and stamp.number],
        )

    @property
    def style(self) -> str:
        """The style sheet's name."""
        return self.assets["style"]

    @property
    def script(self) -> str:
        """The script's name."""
        return self.assets["script"]

    @property
    def icon(self) -> str:
        """The icon's name."""
        return self.assets["icon"]

    @property
    def index(self) -> str | None:
        """What the find window searches, as a file beside the pages; None where it stands in the page."""
        return None if self.single else f"{self.up}assets/{self.assets[f'find-{self.here.code}']}"

    @property
    def early(self) -> list[str]:
        """The fonts that every page needs at once; from a folder browsers refuse to fetch them ahead, so only a served page asks."""
        return [name for key, name in self.assets.items() if key.startswith("font")]

    # addresses

    def link(self, page: StationPage) -> str:
        """From one page to a station's."""
        return f"#station-{page.number}" if self.single else page_name(page)

    def address(self, name: str) -> str | None:
        """Where this page will be read."""
        return self.absolute(name, self.here.code)

    def absolute(self, name: str, code: str) -> str | None:
        """Where the page of that name will be read in a language."""
        folder = next(each.folder for each in self.every if each.code == code)
        return None if self.root is None else f"{self.root.rstrip('/')}/{folder}{'' if name == FIRST_PAGE else name}"

    def languages(self, name: str) -> list[tuple[str, str, str]]:
        """Code, name and address of this page in every language."""
        if self.single:
            return [(each.code, each.name, "#course") for each in self.every]
        return [(each.code, each.name, f"{self.up}{each.folder}{name}") for each in self.every]

    def leads_on(self, name: str) -> Markup | None:
        """The line that takes a reader who chose nothing, or something else, to their language; on pages of the first one only.

        It never leads away from another language's pages, nor where a choice could not be kept.
        """
        if self.here.folder or len(self.every) < 2 or self.single:
            return None
        codes = as_json([each.code for each in self.every])
        return Markup(
            f'try{{let a={codes},s=localStorage,k="booklet language",c=s.getItem(k);s.setItem("booklet visit","1");'
            "c??=navigator.languages.map(l=>a.find(o=>o===l)??a.find(o=>o===l.split('-')[0])).find(Boolean);"
            f'if(c&&c!==a[0]&&a.includes(c))location.replace(c+"/{name}"+location.search+location.hash)}}catch{{}}'
        )

    # pictures

    def small(self, still: StillPage) -> Shown:
        """The thumbnail."""
        return self.pictures[still.id][0]

    def large(self, still: StillPage) -> Shown:
        """The picture of a station's page."""
        return self.pictures[still.id][1]

    # lines

    def number(self, division: str) -> int:
        """A division's number on the switch; 0 is everyone else."""
        return self.booklet.divisions.index(division) + 1

    def division_name(self, division: str) -> str:
        """As the switch shows it."""
        return capital(division)

    def course_lines(self, section: Section) -> list[Line]:
        """The lines of a section of the course page."""
        return self._lines(section, self.booklet.divided)

    def lines(self, page: StationPage, section: Section) -> list[Line]:
        """The lines of a section of a station's page."""
        return self._lines(section, page.divided)

    def _lines(self, section: Section, divided: Sequence[Divided]) -> list[Line]:
        """Every line with the divisions for which it stands there; those that read otherwise for one come after the line they replace."""
        moved = {number: {one.rule.surface for one in divided if self.number(one.division) == number} for number in self._numbers}
        lines: list[Line] = []
        for rule in section.rules:
            if rule.division is not None:
                lines.append(Line(rule, differs=self.number(rule.division)))
                continue
            stays = [number for number in self._numbers if rule.surface is None or rule.surface not in moved[number]]
            lines.append(Line(rule, None if len(stays) == len(self._numbers) else _numbers(stays)))
        for one in divided:
            if one.section == section.key:
                sign = self.booklet.wording.say("for-division", division=one.division)
                lines.append(Line(one.rule, str(self.number(one.division)), sign))
        return [self._gap(line, lines) for line in lines] + self._gaps(section, lines)

    def _gap(self, line: Line, lines: Sequence[Line]) -> Line:
        """A gap stands only where no other line does."""
        others = [other for other in lines if not other.rule.gap]
        if not line.rule.gap or not others:
            return line
        empty = [number for number in self._numbers if not any(_stands(other, number) for other in others)]
        return replace(line, shown=_numbers(empty))

    def _gaps(self, section: Section, lines: Sequence[Line]) -> list[Line]:
        """The gap that a division has where everyone else has rules."""
        key = f"{section.key}-gap"
        if key not in self.booklet.wording.messages or any(line.rule.gap for line in lines):
            return []
        empty = [number for number in self._numbers if not any(_stands(line, number) for line in lines)]
        sign = self.booklet.wording.say("for-division", division=self.booklet.divisions[empty[0] - 1]) if empty else ""
        return [Line(Rule(self.booklet.wording.say(key), gap=True), _numbers(empty), sign)] if empty else []

    @cached_property
    def _numbers(self) -> range:
        return range(len(self.booklet.divisions) + 1)

    def signs(self, page: StationPage) -> list[tuple[int, str]]:
        """Which divisions differ at a station: number and sign."""
        names = dict.fromkeys(one.division for one in page.divided)
        return [(self.number(name), self.booklet.wording.say("differs-for", division=name)) for name in names]

    def first_sections(self, page: StationPage) -> list[Section]:
        """Start, in play, out of play, finish."""
        return [section for section in page.sections if section.key in _EARLY]

    def last_sections(self, page: StationPage) -> list[Section]:
        """What comes after the words that say so."""
        return [section for section in page.sections if section.key not in _EARLY]

    # words of the walk

    def course_heard(self) -> list[Heard]:
        """The words that say the course page's rules, each once."""
        return list(dict.fromkeys(one for rule in self.booklet.rules() for one in rule.heard))

    def clip(self, page: StationPage) -> int | None:
        """The clip beside the pages in which the station's words are heard."""
        return next((one.clip for one in page.heard if one.clip in self.walk), None)

    # the script

    def has_quiz(self, page: StationPage) -> bool:
        """Whether there is a question at this station for anybody."""
        return any(asked for still in page.stills for asked in still.questions.values())

    def told(self, page: StationPage) -> dict[str, Any]:
        """What the script needs to answer taps and to ask on a station's page."""
        names = {name: name for still in page.stills for name in still.questions}
        return {
            "stills": [
                {"id": still.id, "size": [still.width, still.height], "answers": self._by_number(still.answers)} for still in page.stills
            ],
            "quiz": {number: self._asked(page, name) for number, name in self._by_number(names).items()},
        }

    def _by_number(self, by_name: Mapping[str, Any]) -> dict[int, Any]:
        return {0 if not name else self.number(name): value for name, value in by_name.items()}

    def _asked(self, page: StationPage, division: str) -> list[dict[str, Any]]:
        order = [still.id for still in page.stills]
        asked = [one for still in page.stills for one in still.questions.get(division, still.questions.get("", ()))]
        say = self.booklet.wording.say
        return [
            {
                "still": order.index(one.still),
                "at": one.at,
                "ask": one.ask,
                "yes": one.yes,
                "because": one.because,
                "said": [say("quiz-said", clock=heard.clock, text=heard.text) for heard in one.heard],
            }
            for one in sorted(chosen(asked), key=lambda one: order.index(one.still))
        ]

    @property
    def about(self) -> dict[str, Any]:
        """What the script needs on every page: divisions, words, and where the page stands."""
        stamp = self.booklet.stamp
        return {
            "name": self.booklet.name,
            "divisions": list(self.booklet.divisions),
            "here": {"number": stamp.number if stamp else None, "up": self.up, "language": self.here.code, "worker": self.worker},
            "words": {
                name: self.booklet.wording.say(key, **_OPEN.get(key, {}))
                for name, key in (_WORDS | (_OF_EDITIONS if stamp else {})).items()
            },
        }

    def entries(self) -> list[dict[str, Any]]:
        """What the find window searches: every station and what holds everywhere, with the things that rules name."""
        everywhere = next((section for section in self.booklet.sections if section.key == "everywhere"), None)
        found = [self._entry(page) for page in self.booklet.stations]
        if everywhere is not None and any(rule.surface for rule in everywhere.rules):
            things = [[rule.text, ""] for rule in everywhere.rules if rule.surface]
            found.append({"to": "#course" if self.single else FIRST_PAGE, "number": None, "name": everywhere.title, "things": things})
        return found

    def _entry(self, page: StationPage) -> dict[str, Any]:
        rules = [(section, rule) for section in page.sections if section.key != "everywhere" for rule in section.rules if rule.surface]
        things = [[rule.text, (rule.plate or "") if section.key != "divisions" else ""] for section, rule in rules]
        return {"to": self.link(page), "number": page.number, "name": page.name, "things": things}


_OPEN: Mapping[str, Mapping[str, str]] = {
    "answer:in": {"thing": "{thing}"},
    "answer:out": {"thing": "{thing}"},
    "answer:unmarked": {"things": "{things}"},
    "quiz-score": {"right": "{right}", "of": "{of}"},
    "found": {"count": "{count}"},
    "newer": {"number": "{number}"},
}
"""Places that the script fills in."""


def _numbers(numbers: Sequence[int]) -> str:
    return " ".join(map(str, numbers))


def _stands(line: Line, number: int) -> bool:
    return line.rule.division is None and (line.shown is None or str(number) in line.shown.split())
