"""The sheet for the wall of a venue: the way to the booklet as a code that a phone reads from two metres, and the blanket rules in short.

In: a `Booklet`, the address of its pages and the languages that readers there speak. Out: one page as PDF. Layout is templates/wall.typ.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from annotator.booklet.paper.codes import code_of
from annotator.booklet.paper.sizes import size_of
from annotator.booklet.paper.told import booklet_data, section_data, texts_of
from annotator.booklet.paper.typeset import refuse_missing_signs, render
from annotator.booklet.values import Booklet
from annotator.booklet.wording import Wording
from annotator.errors import InvalidEdit

WALL_MODULE_MM: Final = 3.5
"""The narrowest module of the code on a wall: at 2 m a phone that previews 1080 lines over 66 degrees sees it in 2.9 pixels.

(1920 pixels over 2 x 2 m x tan 33 degrees = 2.6 m.) The angle is common practice, no published source.
"""
_MARGIN_MM: Final = 14.0
_CODE_SHARE: Final = 0.52
"""Of the sheet's height, at most, so that title and rules have room."""


def write_wall(booklet: Booklet, out_pdf: Path, paper: str = "A4", *, address: str | None = None, also: Sequence[Wording] = ()) -> Path:
    """Write the wall sheet.

    Parameters
    ----------
    paper : str
        "A3", "A4" or another of `PAPERS_MM`.
    address : str
        Where the booklet is read. Without it there is nothing to lead to.
    also : sequence of Wording
        Further languages: each gets its line of what to do and its default rule.

    Raises
    ------
    InvalidEdit
        No address, no such paper, or an address so long that its code would be too fine to read from two metres on this paper.
    NotReady
        A sign that no font has.
    """
    if not address:
        raise InvalidEdit("the wall sheet", "it leads to the booklet, so it needs the address at which that is read (--address).")
    width, height = size_of(paper)
    code = code_of(address)
    side = min(width - 2 * _MARGIN_MM, height * _CODE_SHARE)
    if side / code.modules < WALL_MODULE_MM:
        raise InvalidEdit(
            f"the address {address}",
            f"its code would have modules of {side / code.modules:.1f} mm on {paper}, too fine to read from two metres. "
            "Take a larger paper or a shorter address.",
        )
    languages = [booklet.wording, *(one for one in also if one.language != booklet.wording.language)]
    lines = [{"lang": one.language, "scan": one.say("wall-scan"), "default": one.say("default-rule")} for one in languages]
    refuse_missing_signs(booklet.title, [*texts_of(booklet), address])
    data = {
        **booklet_data(booklet),
        "paper": {"width": width, "height": height},
        "scale": min(width / 210, height / 297),
        "margin": _MARGIN_MM,
        "everywhere": section_data(next((one for one in booklet.sections if one.key == "everywhere"), None)),
        "lines": lines,
        "address": address,
        "qr": {"file": "qr.svg", "side": side, "alt": f"{booklet.wording.say('wall-scan')} {address}"},
    }
    made = render("wall.typ", data, {"qr.svg": code.svg}, None if booklet.stamp is None else int(booklet.stamp.at.timestamp()))
    out_pdf.parent.mkdir(parents=True, exist_ok=True)
    out_pdf.write_bytes(made)
    return out_pdf
