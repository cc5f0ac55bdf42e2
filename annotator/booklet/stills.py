"""A still as readers get it: the overlay, the words for those who cannot see it, and the areas that answer a tap without a network.

In: a course, a station and one of its stills. Out: a `StillPage`. Zones, rulings and the drawing are annotator/marks; here they are only
asked for once per division that differs, and put into words.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

from annotator.booklet.ground import Ground, WhenAsked, ground
from annotator.booklet.keeping import kept_text, stage_name
from annotator.booklet.lines import Teller
from annotator.booklet.quiz import questions
from annotator.booklet.values import StillPage
from annotator.course import Course, Station, Still
from annotator.marks import SVG_VERSION, Marked, Zones, overlay_of, svg_of
from annotator.units import clock

RULINGS: Final = ("in", "out")


def still_page(teller: Teller, course: Course, station: Station, still: Still, title: str, drawn: Path | None = None) -> StillPage:
    """One still with everything that readers see of it, main division first, then each division that differs at this station.

    With `drawn`, the overlays are kept in that folder by all that can be seen in them, and not drawn again.
    """

    @cache
    def here() -> Ground:
        return ground(course, station, still, drafts=teller.drafts)

    def told() -> dict[str, str | None]:
        return {name: name or None for name in here().zones}

    unit = paper_unit(still.width, still.height)
    paper: dict[str, Any] = {"unit": unit, "widths": "picture", "line_share": paper_lines(still.width, still.height)}
    words = teller.wording.plates

    def asked() -> dict[str, str | None]:
        return {} if teller.drafts else told()

    def draw(division: str | None, *, widths: Literal["screen", "picture"] = "screen", **how: Any) -> str:
        return svg_of(overlay_of(here().zones[division or ""], still.id, words=words, tell=teller.ruled, **how), widths=widths)

    def kept(division: str | None, **how: Any) -> str:
        name = stage_name(SVG_VERSION, here().key, division, teller.wording.fingerprint, dict(teller.names), teller.spoken, how)
        return kept_text(drawn, f"{name}.svg", lambda: draw(division, **how))

    return StillPage(
        id=still.id,
        width=still.width,
        height=still.height,
        time_s=still.time_s,
        tell=lambda: still.alt.get(teller.wording.language) or _alt(teller, still, title, here().zones[""]),
        overlays=WhenAsked(told, kept),
        paper_overlays=WhenAsked(told, lambda division: kept(division, **paper)),
        answers=WhenAsked(told, lambda division: _answers(teller, here(), division or "")),
        areas=WhenAsked(told, lambda division: here().area(division or "")),
        questions=WhenAsked(asked, lambda name: questions(teller, still.id, here(), name or "")),
    )


def paper_unit(width_px: int, height_px: int) -> float:
    """Pixels of the still for one pixel of text or line on paper.

    >>> paper_unit(1280, 720), paper_unit(720, 1280)
    (3.2, 3.0)
    """
    return width_px / (400 if width_px >= height_px else 240)


def paper_lines(width_px: int, height_px: int) -> float:
    """The share of that for lines: those of 3 px are 0.6 mm wide or more where the still is printed 95 mm wide (upright: 48 mm).

    >>> wide = 3 * paper_unit(1280, 720) * paper_lines(1280, 720)
    >>> round(wide * 95 / 1280, 2), round(3 * paper_unit(720, 1280) * paper_lines(720, 1280) * 48 / 720, 2)
    (0.61, 0.6)
    """
    return 0.85 if width_px >= height_px else 1.0


def _answers(teller: Teller, here: Ground, division: str) -> dict[str, Any]:
    """What rules at a point, with the things named."""
    told = here.answers(division)
    things = [
        {"text": str(teller.item(one["item"], one["ruling"])), "ruling": one["ruling"], "area": one["area"]} for one in told["things"]
    ]
    return {**told, "things": things, "unmarked": [str(teller.item(item, "in")) for item in told["unmarked"]]}


def _alt(teller: Teller, still: Still, title: str, found: Zones) -> str:
    """What is marked in the picture, where, and how it is ruled: "In play: blue boxes, left."."""
    say = teller.wording.say
    sentences = []
    for ruling in RULINGS:
        names = [
            say("alt-where", thing=teller.item(one.item, ruling), where=_where(teller, one, still))
            for one in found.marked
            if one.item.ruling_for(None) == ruling and not one.effective.is_empty
        ]
        if names:
            sentences.append(say(f"alt-{ruling}", things="; ".join(dict.fromkeys(names))))
    marked = " ".join(sentences) or say("alt-bare")
    return say("alt", station=title, clock=clock(still.time_s), marked=marked)


def _where(teller: Teller, one: Marked, still: Still) -> str:
    """The ninth of the picture in which the middle of the area lies."""
    middle = one.effective.centroid
    column = min(2, max(0, int(3 * middle.x / still.width)))
    row = min(2, max(0, int(3 * middle.y / still.height)))
    return teller.wording.say(f"where:{column},{row}")
