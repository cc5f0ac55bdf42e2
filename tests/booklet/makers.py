"""Builders of an invented course's parts, and readers that take the rules out of the produced files again."""

from __future__ import annotations

import datetime as dt
import html.parser
import re
import subprocess
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path
from typing import Any

from annotator.course import Mark, Said, Still, Surface

WIDTH, HEIGHT = 1280, 720
AT = dt.datetime(2026, 5, 9, 18, 30, tzinfo=dt.UTC)


def said(start: float, text: str) -> Said:
    return Said(start=start, end=start + 2, text=text)


def surface(id: str, name: str, **more: Any) -> Surface:
    return Surface(id=id, name=name, state="accepted", **more)


def box(id: str, still: str, of: str, x0: float, y0: float, x1: float, y1: float, **more: Any) -> Mark:
    return Mark(id=id, still=still, surface=of, rings=(((x0, y0), (x1, y0), (x1, y1), (x0, y1)),), state="accepted", **more)


def still(id: str, time_s: float, clip: int = 1) -> Still:
    return Still(id=id, time_s=time_s, clip=clip, pts=0, width=WIDTH, height=HEIGHT, file="0" * 64, state="accepted")


class DrawnPictures:
    """Published stills as a pipeline would hand them over: one JPEG each in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def jpeg(self, still_id: str) -> Path:
        return self.folder / f"{still_id}.jpg"


class _Words(html.parser.HTMLParser):
    """The text of every `.words` within a `.rule`."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.rules: list[str] = []
        self._open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "span" and ("class", "words") in attrs:
            self.rules.append("")
            self._open = True

    def handle_endtag(self, tag: str) -> None:
        self._open = self._open and tag != "span"

    def handle_data(self, data: str) -> None:
        if self._open:
            self.rules[-1] += data


def rules_of_html(path: Path) -> tuple[str, ...]:
    reader = _Words()
    reader.feed(path.read_text("utf-8"))
    return tuple(reader.rules)


def rules_of_site(folder: Path, stations: int) -> tuple[tuple[str, ...], ...]:
    return tuple(rules_of_html(folder / name) for name in ("index.html", *(f"station-{at}.html" for at in range(1, stations + 1))))


def rules_of_epub(path: Path, stations: int) -> tuple[tuple[str, ...], ...]:
    """Read with the XML parser, as an e-book reader does; malformed pages fail here."""
    name = "{http://www.w3.org/1999/xhtml}"
    with zipfile.ZipFile(path) as book:
        pages = [book.read(f"book/{page}.xhtml") for page in ("course", *(f"station-{at}" for at in range(1, stations + 1)))]
    return tuple(
        tuple("".join(one.itertext()) for one in ET.fromstring(page).iter(f"{name}span") if one.get("class") == "words") for page in pages
    )


def outline_of_pdf(path: Path) -> list[tuple[str, str]]:
    """The tagged text in reading order as (tag, text), as poppler reads the structure tree."""
    tree = subprocess.run(["pdfinfo", "-struct-text", str(path)], capture_output=True, check=True).stdout
    found: list[tuple[str, str]] = []
    for raw in tree.split(b"\n"):  # titles of elements come as UTF-16 in between, with bytes that look like ends of lines
        line = raw.decode("utf-8", errors="replace")
        tag = re.match(r"\s*(H\d|P|LBody|Figure|Link|Span|Lbl)\b", line)
        text = re.match(r'\s*"(.*)"$', line)
        if tag:
            found.append((tag[1], ""))
        elif text and found:
            found[-1] = (found[-1][0], found[-1][1] + text[1])
    return [(tag, " ".join(text.split())) for tag, text in found if text.strip()]


def sections_of_html(path: Path) -> dict[str, tuple[str, ...]]:
    """The rules of a station's page by the section they stand in, as its `class` names it; the limbs line is in none."""
    found: dict[str, tuple[str, ...]] = {}
    for key, inner in re.findall(r'<section class="rules ([a-z-]+)">(.*?)</section>', path.read_text("utf-8"), re.DOTALL):
        reader = _Words()
        reader.feed(inner)
        found[key] = tuple(reader.rules)
    return found


def rules_of_print(path: Path, heard: str = "Said in the walk") -> tuple[tuple[str, ...], ...]:
    """The list items of the whole booklet's PDF under each first-level heading; links and quotations (under `heard`) are no rules."""
    pages: list[list[str]] = []
    quoted = False
    for tag, text in outline_of_pdf(path):
        if tag == "H1":
            pages.append([])
        quoted = text == heard if tag.startswith("H") else quoted
        if tag == "LBody" and not quoted:
            pages[-1].append(text)
    return tuple(tuple(page) for page in pages)
