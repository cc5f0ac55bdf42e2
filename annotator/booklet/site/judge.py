"""The judge's pages: the card on a phone, held in the sun. A page a station, in a folder of their own below each language of the booklet.

In: a language of the phone booklet. Out: `judge/index.html` and `judge/station-N.html`, which share the booklet's script and pictures
and are kept without a network with its pages. Which column a rule stands in is columns.py, as on the card.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup

from annotator.booklet.columns import Column, column_of
from annotator.booklet.site.told import FIRST_PAGE, Line, PhoneSite, Shown, WalkClip
from annotator.booklet.site.weaving import STATIC, Asset, asset, slim
from annotator.booklet.values import Section, StationPage

FOLDER = "judge/"
_IN_COLUMNS = ("in", "out", "divisions", "everywhere")


@dataclass(frozen=True)
class Group:
    """Lines of one column under a title; `key` tells whose they are: the station's own ("in", "out"), a division's, every station's."""

    key: str
    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class JudgeSite(PhoneSite):
    """The same language one folder deeper."""

    @property
    def up(self) -> str:
        """The way from a page to the booklet's own folder."""
        return f"../{super().up}"

    @property
    def folder(self) -> str:
        """Where its pages lie below the booklet's own folder."""
        return f"{super().folder}{FOLDER}"

    def languages(self, name: str) -> list[tuple[str, str, str]]:
        """Code, name and address of this page in every language."""
        return [(each.code, each.name, f"{self.up}{each.folder}{FOLDER}{name}") for each in self.every]

    def absolute(self, name: str, code: str) -> str | None:
        """Where the page of that name will be read in a language."""
        found = super().absolute(FIRST_PAGE, code)
        return None if found is None else f"{found}{FOLDER}{'' if name == FIRST_PAGE else name}"

    def leads_on(self, name: str) -> Markup | None:
        """As on the booklet's pages, to the judge's page of the other language."""
        line = super().leads_on(name)
        return None if line is None else Markup(str(line).replace('c+"/', f'"../"+c+"/{FOLDER}'))

    def told(self, page: StationPage) -> dict[str, Any]:
        """What the script needs to answer taps; a judge is asked nothing."""
        return {**super().told(page), "quiz": {}}

    def column(self, page: StationPage, column: Column) -> list[Group]:
        """The lines of one column: the station's own, then those of divisions and of every station."""
        groups = []
        for section in page.sections:
            if section.key in _IN_COLUMNS:
                lines = tuple(line for line in self.lines(page, section) if column_of(section.key, line.rule) == column)
                if lines:
                    groups.append(Group(section.key, section.title, lines))
        return groups

    def section(self, page: StationPage, key: Any) -> Section | None:
        """A section of the page with its own place: the start, the finish."""
        return page.section(key)

    @property
    def run(self) -> list[Line]:
        """How a run counts, without the number of stations."""
        found = next((section for section in self.booklet.sections if section.key == "format"), None)
        return [] if found is None else self.course_lines(found)[1:]


def judge_style() -> Asset:
    """The judge's own style, which goes on top of the booklet's."""
    return asset("judge.css", slim((STATIC / "judge.css").read_text("utf-8")).encode())


def judge_site(site: PhoneSite) -> JudgeSite:
    """The judge's pages of a language. `site.assets` is filled already."""
    return JudgeSite(
        booklet=site.booklet,
        here=site.here,
        every=site.every,
        pictures={still: (_up(small), _up(large)) for still, (small, large) in site.pictures.items()},
        walk=_walk(site.walk),
        root=site.root,
        assets=site.assets,
        worker=site.worker,
    )


def _up(shown: Shown) -> Shown:
    """The same picture from one folder deeper."""

    def listed(files: str) -> str:
        return ", ".join(f"../{file}" for file in files.split(", "))

    return replace(
        shown,
        src=f"../{shown.src}",
        sources=tuple((kind, listed(files)) for kind, files in shown.sources),
        srcset=None if shown.srcset is None else listed(shown.srcset),
    )


def _walk(walk: Mapping[int, WalkClip]) -> dict[int, WalkClip]:
    return {number: WalkClip(f"../{clip.video}", clip.captions and f"../{clip.captions}") for number, clip in walk.items()}
