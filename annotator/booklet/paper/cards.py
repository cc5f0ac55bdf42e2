"""Judge cards: a station a card, what is in and what is out as two columns, so large that they are read in two seconds at arm's length.

In: a `Booklet` and the published pictures. Out: a PDF. Here it is decided under which column each rule stands; templates/cards.typ sets the
type, never smaller than `LEAST_PT`, and goes on to a second card rather than leave a rule out.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from annotator.booklet.columns import card_groups
from annotator.booklet.paper.codes import Code, code_of
from annotator.booklet.paper.sizes import Sheet, sheet_of
from annotator.booklet.paper.told import booklet_data, rule_data, section_data, texts_of, words_data
from annotator.booklet.paper.typeset import print_jpeg, refuse_missing_signs, render
from annotator.booklet.pictures import Pictures
from annotator.booklet.site.told import page_name
from annotator.booklet.values import Booklet, StationPage

LEAST_PT: Final[Mapping[str, float]] = {"columns": 14.0, "also": 10.0, "small": 7.0}
"""The smallest type on an A5 card, in points: rules in the columns, rules that hold elsewhere or for divisions, caution and edition.

Other papers scale it by their size (A6: 9.9, 7.1), but nothing is set below 6.5. A line of 14 points has letters of 2.6 mm without
ascenders: 0.2 degrees at 70 cm, twice what a normal eye needs; common practice, no published source for cards.
"""
FLOOR_PT: Final = 6.5
CODE_MM, LEAST_CODE_MM = 20.0, 17.0
"""On A5; no code is smaller than the second, whatever the paper."""


def write_cards(
    booklet: Booklet,
    pictures: Pictures,
    out_pdf: Path,
    paper: str = "A5",
    *,
    address: str | None = None,
    backs: bool = False,
    cache: Path | None = None,
) -> Path:
    """Write a judge card a station.

    Cards of a sheet "two up" stand left, then right, to be printed on one side and cut in the middle; a card that goes on to a second one
    has both on one sheet, so that it can be folded instead. With `backs` every card has a back (its second card, or its number as large as
    the card), in the order in which a printer turns the sheets over at their short edge, two up, or their long edge, one a page.

    Parameters
    ----------
    paper : str
        One of `SHEETS`.
    address : str, optional
        Where the booklet will be read; each card then carries a QR code to its station's page.
    cache : Path, optional
        A folder in which pictures made for print are kept.

    Raises
    ------
    InvalidEdit
        No such size.
    NotReady
        A name or a word holds a sign that no font here has.
    StageError
        A picture is missing or damaged.
    """
    sheet = sheet_of(paper)
    refuse_missing_signs(booklet.title, texts_of(booklet))
    files: dict[str, bytes] = {}
    stations = [_station(booklet, page, pictures, files, address, cache, _scale(sheet)) for page in booklet.stations]
    data = {**booklet_data(booklet), **_card_words(booklet), "stations": stations, **_sizes(sheet), "backs": backs}
    made = render("cards.typ", data, files, None if booklet.stamp is None else int(booklet.stamp.at.timestamp()))
    out_pdf.parent.mkdir(parents=True, exist_ok=True)
    out_pdf.write_bytes(made)
    return out_pdf


def _scale(sheet: Sheet) -> float:
    """The card's size against A5."""
    width, height = sheet.card_mm
    return min(width / 148, height / 210)


def _sizes(sheet: Sheet) -> dict[str, Any]:
    scale = _scale(sheet)
    width, height = sheet.card_mm
    return {
        "card": {"width": width, "height": height},
        "sheet": {"width": sheet.width_mm, "height": sheet.height_mm, "cards": sheet.cards},
        "scale": scale,
        "least": {key: max(FLOOR_PT, size * scale) for key, size in LEAST_PT.items()},
    }


def _card_words(booklet: Booklet) -> dict[str, Any]:
    say = booklet.wording.say
    return {
        "card_of": say("card-of", number="{number}", count="{count}"),
        "goes_on": say("card-goes-on", number="{number}", count="{count}"),
    }


def _station(
    booklet: Booklet,
    page: StationPage,
    pictures: Pictures,
    files: dict[str, bytes],
    address: str | None,
    cache: Path | None,
    scale: float,
) -> dict[str, Any]:
    still = None
    if page.stills:
        first = page.stills[0]
        name = f"s{page.number}"
        files[f"{name}.jpg"] = print_jpeg(pictures.jpeg(first.id), cache)
        files[f"{name}.svg"] = first.paper_overlays[""].encode()
        still = {"file": f"{name}.jpg", "overlay": f"{name}.svg", "alt": first.alt, "width": first.width, "height": first.height}
    to = None if address is None else f"{address.rstrip('/')}/{page_name(page)}"
    code: Code | None = None if to is None else code_of(to)
    if code is not None:
        files[f"qr-{page.number}.svg"] = code.svg
    groups = card_groups(page)
    out = page.section("out")
    return {
        "number": page.number,
        "name": words_data(page.name, page.name_spans),
        "limbs": rule_data(page.limbs),
        "start": section_data(page.section("start")),
        "finish": section_data(page.section("finish")),
        "note": None if out is None else out.note,
        "groups": {
            column: [{"key": key, "title": title, "rules": [rule_data(rule) for rule in rules]} for key, title, rules in own]
            for column, own in groups.items()
        },
        "still": still,
        "address": to,
        "qr": None if code is None else f"qr-{page.number}.svg",
        "qr_mm": None if code is None else code.side_mm(max(LEAST_CODE_MM, CODE_MM * scale)),
        "qr_alt": booklet.wording.say("scan"),
    }
