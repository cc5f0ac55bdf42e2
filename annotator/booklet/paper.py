"""Printed outputs: judge cards and the whole booklet, as PDF/UA-1.

In: a `Booklet` and the published pictures. Out: a PDF with tags, a language, a title and words for every picture. Text reaches typst as
data, never as markup; a sign that no font has is refused with the place where it stands. Layout is templates/*.typ.
"""

from __future__ import annotations

import io
import json
import shutil
import tempfile
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import segno
import typst

from annotator import fonts
from annotator.booklet.pictures import Pictures, plain_jpeg
from annotator.booklet.site import page_name
from annotator.booklet.values import Booklet, Rule, Section, StationPage
from annotator.errors import InvalidEdit, NotReady, StageError

PAPERS_MM: Mapping[str, tuple[float, float]] = {
    "A4": (210, 297),
    "A5": (148, 210),
    "A6": (105, 148),
    "Letter": (215.9, 279.4),
    "half Letter": (139.7, 215.9),
}
"""ISO 216 and ANSI/ASME Y14.1 sizes, upright."""
STANDARD: Final = "ua-1"
PRINT_WIDTH_PX = 1600
"""Over 300 dots an inch on A5; more would only make the file heavy."""
_TEMPLATES = Path(__file__).parent / "templates"


def write_cards(booklet: Booklet, pictures: Pictures, out_pdf: Path, paper: str = "A5", *, address: str | None = None) -> Path:
    """Write a judge card a station.

    Parameters
    ----------
    paper : str
        "A4", "A5", "A6", "Letter" or "half Letter".
    address : str, optional
        Where the booklet will be read; each card then carries a QR code to its station's page.

    Raises
    ------
    InvalidEdit
        No such size.
    NotReady
        A name or a word holds a sign that no font here has.
    StageError
        A picture is missing or damaged.
    """
    width, height = size_of(paper)
    return _write("cards.typ", booklet, pictures, out_pdf, {"paper": {"width": width, "height": height}}, address)


def write_print(booklet: Booklet, pictures: Pictures, out_pdf: Path, paper: str = "A4", *, address: str | None = None) -> Path:
    """Write the whole booklet for paper; parameters and errors as `write_cards`."""
    width, height = size_of(paper)
    return _write("print.typ", booklet, pictures, out_pdf, {"paper": {"width": width, "height": height}}, address)


def size_of(paper: str) -> tuple[float, float]:
    """Width and height of a paper in millimetres, upright. Upper and lower case do not matter.

    >>> size_of("a5")
    (148, 210)
    """
    for name, size in PAPERS_MM.items():
        if name.casefold() == paper.strip().casefold():
            return size
    raise InvalidEdit(f"paper {paper}", f"there is no such size. Choose one of: {', '.join(PAPERS_MM)}.")


def missing_signs(text: str) -> set[str]:
    """The signs of a text that no font for print has; PDF/UA refuses a document that holds one.

    >>> sorted(missing_signs("Zażółć 12 – “net”")), sorted(missing_signs("net \N{COLLISION SYMBOL}"))
    ([], ['💥'])
    """
    return {sign for sign in set(text) if not sign.isspace() and not _has_sign(sign)}


@lru_cache(maxsize=4096)
def _has_sign(sign: str) -> bool:
    if " " < sign <= "~":
        return True
    try:
        _compiled(b'#set document(title: "x")\n#set text(font: "Atkinson Hyperlegible")\n#sys.inputs.d', Path(), sign, 0)
    except StageError:
        return False
    return True


def render(template: str, data: Mapping[str, Any], files: Mapping[str, bytes], when: int | None) -> bytes:
    """One PDF from a template, its data and the pictures that the data names. The same input gives the same bytes."""
    with tempfile.TemporaryDirectory(prefix="booklet-") as folder:
        root = Path(folder)
        for file in ("common.typ", template):
            shutil.copyfile(_TEMPLATES / file, root / file)
        for name, content in files.items():
            (root / name).write_bytes(content)
        return _compiled(root / template, root, json.dumps(data, ensure_ascii=False), when)


def _compiled(source: Path | bytes, root: Path, data: str, when: int | None) -> bytes:
    try:
        made, warnings = typst.compile_with_warnings(
            source, root=root, font_paths=_fonts(), sys_inputs={"d": data}, pdf_standards=[STANDARD], timestamp=when or 0
        )
    except typst.TypstError as error:
        raise StageError("print", str(error)) from error
    told = [str(warning) for warning in warnings if "font" in str(warning)]
    if told:
        raise StageError("print", told[0])
    assert isinstance(made, bytes)
    return made


@lru_cache(maxsize=1)
def _fonts() -> Any:
    return typst.Fonts(include_system_fonts=False, font_paths=[str(fonts.FOLDER)])


def refuse_missing_signs(booklet: Booklet, texts: Iterable[str]) -> None:
    """Raise `NotReady` that names each sign that cannot be printed and the words that it stands in."""
    reasons: dict[str, None] = {}
    for text in texts:
        for sign in sorted(missing_signs(text)):
            name = unicodedata.name(sign, f"U+{ord(sign):04X}").lower()
            reasons[f"{text!r} holds the sign {sign} ({name}), which cannot be printed. Write it in letters."] = None
    if reasons:
        raise NotReady(booklet.title, list(reasons))


def _write(template: str, booklet: Booklet, pictures: Pictures, out: Path, more: Mapping[str, Any], address: str | None) -> Path:
    refuse_missing_signs(booklet, _texts(booklet))
    files: dict[str, bytes] = {}
    data = {**booklet_data(booklet), **more}
    data["stations"] = [_station(booklet, page, pictures, files, address) for page in booklet.stations]
    when = None if booklet.stamp is None else int(booklet.stamp.at.timestamp())
    made = render(template, data, files, when)
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(made)
    return out


def booklet_data(booklet: Booklet) -> dict[str, Any]:
    """What every printed output says of the booklet as a whole."""
    say = booklet.wording.say
    run = next((section for section in booklet.sections if section.key == "format"), None)
    return {
        "title": booklet.title,
        "lang": booklet.wording.language,
        "draft": booklet.stamp is None,
        "dated": booklet.stamp is not None,
        "stamp": booklet.stamp_line,
        "caution": booklet.caution,
        "default": booklet.default_rule,
        "format": [rule_data(rule) for rule in (run.rules[1:] if run else ())],
        "sections": [section_data(section) for section in booklet.sections],
        "words": {
            "open": say("not-accepted"),
            "no_still": say("no-still"),
            "stations": say("stations"),
            "heard": say("heard"),
            "in_": say("in-plate"),
            "out": say("out-plate"),
        },
    }


def rule_data(rule: Rule) -> dict[str, Any]:
    """A rule as data for a template."""
    return {"text": rule.text, "gap": rule.gap, "draft": rule.draft}


def section_data(section: Section | None) -> dict[str, Any] | None:
    """A section as data for a template; None stays None."""
    if section is None:
        return None
    return {
        "key": section.key,
        "title": section.title,
        "rules": [rule_data(rule) for rule in section.rules],
        "note": section.note,
    }


def _station(booklet: Booklet, page: StationPage, pictures: Pictures, files: dict[str, bytes], address: str | None) -> dict[str, Any]:
    say = booklet.wording.say
    stills = []
    for at, still in enumerate(page.stills, start=1):
        name = f"s{page.number}-{at}"
        files[f"{name}.jpg"] = plain_jpeg(pictures.jpeg(still.id), PRINT_WIDTH_PX)
        files[f"{name}.svg"] = still.paper_overlays[""].encode()
        stills.append({"file": f"{name}.jpg", "overlay": f"{name}.svg", "alt": still.alt, "width": still.width, "height": still.height})
    to = None if address is None else f"{address.rstrip('/')}/{page_name(page)}"
    if to is not None:
        files[f"qr-{page.number}.svg"] = qr_svg(to)
    return {
        "number": page.number,
        "name": page.name,
        "title": page.title,
        "limbs": rule_data(page.limbs),
        **{key: section_data(page.section(key)) for key in ("start", "out", "finish", "divisions", "everywhere")},
        "in_": section_data(page.section("in")),
        "sections": [section_data(section) for section in page.sections],
        "heard": [{"at": say("said-at", clock=one.clock), "text": one.text} for one in page.heard],
        "stills": stills,
        "address": to,
        "qr": None if to is None else f"qr-{page.number}.svg",
        "qr_alt": say("scan"),
    }


def qr_svg(address: str) -> bytes:
    """The address as a QR code of at least level M, with the four modules of quiet zone that ISO/IEC 18004 asks for."""
    out = io.BytesIO()
    segno.make(address, error="m", micro=False).save(out, kind="svg", border=4, dark="#000", light="#fff", xmldecl=False, scale=1)
    return out.getvalue()


def _texts(booklet: Booklet) -> Iterator[str]:
    yield from (booklet.title, booklet.stamp_line, booklet.caution, booklet.default_rule)
    sections: Sequence[Section] = booklet.sections
    for page in booklet.stations:
        yield from (page.name, page.title, page.limbs.text)
        yield from (one.text for one in page.heard)
        sections = (*sections, *page.sections)
    for section in sections:
        yield section.title
        yield from (rule.text for rule in section.rules)
