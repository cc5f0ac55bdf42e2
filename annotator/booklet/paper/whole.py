"""The whole booklet for paper, in the order of the phone's pages. Layout is templates/print.typ."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from annotator.booklet.paper.codes import code_of
from annotator.booklet.paper.sizes import size_of
from annotator.booklet.paper.told import booklet_data, rule_data, section_data, texts_of, words_data
from annotator.booklet.paper.typeset import refuse_missing_signs, render
from annotator.booklet.phrases import named, plain
from annotator.booklet.pictures import Pictures, print_jpeg
from annotator.booklet.values import Booklet, Heard, StationPage
from annotator.booklet.wording import capital

CODE_MM = 30.0


def write_print(
    booklet: Booklet, pictures: Pictures, out_pdf: Path, paper: str = "A4", *, address: str | None = None, cache: Path | None = None
) -> Path:
    """Write the whole booklet for paper, with a QR code to the booklet for phones on its first page where `address` says where that is.

    Parameters and errors as `write_cards`; `paper` is one of `PAPERS_MM`.
    """
    width, height = size_of(paper)
    refuse_missing_signs(booklet.title, texts_of(booklet))
    code = None if address is None else code_of(address)
    files: dict[str, bytes] = {} if code is None else {"qr.svg": code.svg}
    data = {
        **booklet_data(booklet),
        "paper": {"width": width, "height": height},
        "qr": None if code is None else {"file": "qr.svg", "side": code.side_mm(CODE_MM), "alt": booklet.wording.say("wall-scan")},
        "stations": [_station(booklet, page, pictures, files, cache) for page in booklet.stations],
    }
    made = render("print.typ", data, files, None if booklet.stamp is None else int(booklet.stamp.at.timestamp()))
    out_pdf.parent.mkdir(parents=True, exist_ok=True)
    out_pdf.write_bytes(made)
    return out_pdf


def _station(booklet: Booklet, page: StationPage, pictures: Pictures, files: dict[str, bytes], cache: Path | None) -> dict[str, Any]:
    stills = []
    for at, still in enumerate(page.stills, start=1):
        name = f"s{page.number}-{at}"
        files[f"{name}.jpg"] = print_jpeg(pictures.jpeg(still.id), cache)
        files[f"{name}.svg"] = still.paper_overlays[""].encode()
        others = []
        for which, division in enumerate((key for key in still.paper_overlays if key), start=1):
            files[f"{name}-{which}.svg"] = still.paper_overlays[division].encode()
            others.append({"name": _division(booklet, division), "overlay": f"{name}-{which}.svg", "alt": _difference(page, division)})
        stills.append(
            {"file": f"{name}.jpg", "overlay": f"{name}.svg", "alt": still.alt, "width": still.width, "height": still.height}
            | {"divisions": others}
        )
    return {
        "number": page.number,
        "name": words_data(page.name, page.name_spans),
        "title": words_data(page.title, page.title_spans),
        "limbs": rule_data(page.limbs),
        "sections": [section_data(section) for section in page.sections],
        "heard": [{"at": booklet.wording.say("said-at", clock=one.clock), **_quoted(one)} for one in page.heard],
        "stills": stills,
    }


def _quoted(one: Heard) -> dict[str, Any]:
    return words_data(one.text, named(one.text, one.language).marked)


def _division(booklet: Booklet, name: str) -> dict[str, Any]:
    called = booklet.division_names.get(name) or plain(capital(name))
    return words_data(str(called), called.marked)


def _difference(page: StationPage, division: str) -> str:
    """What the picture of a division shows other than the one before it, in words."""
    rules = [rule.text for key in ("divisions", "everywhere") for section in [page.section(key)] if section for rule in section.rules]
    return f"{page.title}. {' '.join(f'{text}.' for text in rules if division in text)}"
