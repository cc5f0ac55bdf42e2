"""What stands on the pages of a PDF, measured from the file by poppler and pikepdf: words with their places, sizes of type, drawn pages."""

from __future__ import annotations

import re
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pikepdf
from numpy.typing import NDArray
from PIL import Image

MM = 72 / 25.4
"""Points in a millimetre."""


@dataclass(frozen=True)
class Word:
    """A word where poppler sees it, in points from the top left of its page."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    @property
    def area(self) -> float:
        return (self.right - self.left) * (self.bottom - self.top)

    @property
    def size(self) -> float:
        """The size of type: poppler's box is as high as the shipped face says that its lines are (ascent 950, descent 290 of 1000)."""
        return (self.bottom - self.top) / 1.24

    @property
    def ink(self) -> Word:
        """Where letters of the shipped face have ink: they begin 270 thousandths below its ascent, and reach 200 below the line."""
        below = 0.2 if set(self.text) & set("gjpqy()[],;QJç") else 0.02
        return Word(self.text, self.left, self.top + 0.27 * self.size, self.right, self.top + (0.95 + below) * self.size)

    def shared(self, other: Word) -> float:
        """The area that both cover."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        tall = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, wide) * max(0.0, tall)


def words_of(path: Path) -> list[list[Word]]:
    """The words of each page."""
    done = subprocess.run(["pdftotext", "-bbox", str(path), "-"], capture_output=True, check=True).stdout.decode("utf-8", "replace")
    plain = re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", done)
    name = "{http://www.w3.org/1999/xhtml}"
    return [
        [
            Word(one.text or "", *(float(one.attrib[side]) for side in ("xMin", "yMin", "xMax", "yMax")))
            for one in page.iter(f"{name}word")
            if (one.text or "").strip("\u200b\u202a\u202b\u202c ")
        ]
        for page in ET.fromstring(plain).iter(f"{name}page")
    ]


def text_of(path: Path, page: int | None = None) -> str:
    """The text of a page (counted from 1) or of all, blanks made one; without the break marks within long words."""
    only = [] if page is None else ["-f", str(page), "-l", str(page)]
    done = subprocess.run(["pdftotext", *only, "-layout", str(path), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.replace("\u200b", "").split())


def raw_text(path: Path) -> str:
    """The text in the order in which the file draws it, so that what stands in two columns is not mixed."""
    return subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout


def run_together(text: str) -> str:
    """A text without blanks, break marks and marks of direction."""
    return re.sub(r"[\s\u200b\u200e\u200f\u202a-\u202e\u2066-\u2069]+", "", text)


def drawn(path: Path, dpi: int, folder: Path, *, grey: bool = False, only: int | None = None) -> Iterator[Image.Image]:
    """Each page as poppler draws it, or only one (counted from 1)."""
    folder.mkdir(parents=True, exist_ok=True)
    wishes = [*(["-gray"] if grey else []), *([] if only is None else ["-f", str(only), "-l", str(only)])]
    subprocess.run(["pdftoppm", "-r", str(dpi), *wishes, "-png", str(path), str(folder / "page")], check=True)
    for page in sorted(folder.glob("page*.png")):
        with Image.open(page) as opened:
            yield opened.convert("L" if grey else "RGB")


def sizes_of_type(page: pikepdf.Page) -> set[float]:
    """The sizes in points of all text on a page (pictures and their marks are not looked into)."""
    found: set[float] = set()
    stack: list[NDArray[np.float64]] = []
    matrix, text, size = np.eye(3), np.eye(3), 0.0
    for step in pikepdf.parse_content_stream(page):
        name, operands = str(step.operator), step.operands
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            matrix = _matrix(operands) @ matrix
        elif name == "BT":
            text = np.eye(3)
        elif name == "Tm":
            text = _matrix(operands)
        elif name == "Tf":
            size = float(operands[1])
        elif name in ("Tj", "TJ"):
            whole = text @ matrix
            found.add(round(size * float(np.hypot(whole[1, 0], whole[1, 1])), 2))
    return found


def pictures_on(page: pikepdf.Page) -> list[tuple[float, float, float, float]]:
    """Left, top (from the page's top), width and height of each raster picture, in points, in the order in which they are drawn."""
    found = []
    stack: list[NDArray[np.float64]] = []
    matrix = np.eye(3)
    high = float(page.mediabox[3])
    for step in pikepdf.parse_content_stream(page):
        name, operands = str(step.operator), step.operands
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            matrix = _matrix(operands) @ matrix
        elif name == "Do" and page.Resources.XObject[str(operands[0])].get("/Subtype") == "/Image":
            x0, y0 = matrix[2, 0], matrix[2, 1]
            x1, y1 = x0 + matrix[0, 0], y0 + matrix[1, 1]
            found.append((min(x0, x1), high - max(y0, y1), abs(x1 - x0), abs(y1 - y0)))
    return found


def _matrix(operands: object) -> NDArray[np.float64]:
    a, b, c, d, e, f = (float(value) for value in operands)  # type: ignore[attr-defined]
    return np.array([[a, b, 0], [c, d, 0], [e, f, 1]])


def words_by_language(path: Path) -> dict[str, list[str]]:
    """What a voice reads in each language, run by run, from the structure tree, the content and the fonts' own ToUnicode maps.

    ISO 32000-1, 14.9.2: a structure element's `Lang` holds below it; one in the properties of a marked-content sequence wins over it.
    """
    found: dict[str, list[str]] = {}
    with pikepdf.open(path) as pdf:
        of_elements = _languages_of(pdf)
        for page in pdf.pages:
            maps = {str(name): _unicode_of(font) for name, font in page.Resources.get("/Font", {}).items()}
            letters: dict[bytes, str] = {}
            spoken: list[str] = []
            for step in pikepdf.parse_content_stream(page):
                name, operands = str(step.operator), step.operands
                if name in ("BDC", "BMC"):
                    told = operands[1] if name == "BDC" else pikepdf.Dictionary()
                    marked = isinstance(told, pikepdf.Dictionary)
                    own = told.get("/Lang") if marked else None
                    above = of_elements.get((_number(page), int(told.MCID))) if marked and "/MCID" in told else None
                    spoken.append(str(own or above or (spoken[-1] if spoken else "")))
                    found.setdefault(spoken[-1], []).append("")
                elif name == "EMC":
                    spoken.pop()
                elif name == "Tf":
                    letters = maps[str(operands[0])]
                elif name in ("Tj", "TJ") and spoken:
                    parts = operands[0] if name == "TJ" else [operands[0]]
                    raw = b"".join(bytes(part) for part in parts if isinstance(part, pikepdf.String))
                    found[spoken[-1]][-1] += "".join(letters.get(raw[at : at + 2], "") for at in range(0, len(raw), 2))
    return found


def _languages_of(pdf: pikepdf.Pdf) -> dict[tuple[tuple[int, int], int], str]:
    """The language of each piece of content, by its page and number, as its structure element or one above it says."""
    found: dict[tuple[tuple[int, int], int], str] = {}

    def walk(node: pikepdf.Object, language: str, page: pikepdf.Object | None) -> None:
        if isinstance(node, pikepdf.Array):
            for child in node:
                walk(child, language, page)
        elif isinstance(node, pikepdf.Dictionary):
            language, page = str(node.get("/Lang", language)), node.get("/Pg", page)
            if "/MCID" in node:
                walk(node.MCID, language, page)
            if "/K" in node:
                walk(node.K, language, page)
        elif page is not None:
            found[_number(page), int(node)] = language

    walk(pdf.Root.StructTreeRoot.K, str(pdf.Root.Lang), None)
    return found


def _number(page: pikepdf.Object | pikepdf.Page) -> tuple[int, int]:
    """The object number of a page."""
    number, generation = page.objgen
    return int(number), int(generation)


def _unicode_of(font: pikepdf.Object) -> dict[bytes, str]:
    """Two-byte codes and what they stand for."""
    told = font.ToUnicode.read_bytes().decode("latin-1")
    found: dict[bytes, str] = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", told, re.DOTALL):
        for code, text in re.findall(r"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>", block):
            found[bytes.fromhex(code)] = bytes.fromhex(text).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", told, re.DOTALL):
        for first, last, text in re.findall(r"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>", block):
            for at in range(int(last, 16) - int(first, 16) + 1):
                found[(int(first, 16) + at).to_bytes(2, "big")] = chr(ord(bytes.fromhex(text).decode("utf-16-be")) + at)
    return found
