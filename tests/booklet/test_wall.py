"""The sheet for the wall: one page, a code that is read from two metres, what to do in each language, the blanket rules."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from annotator.booklet import LANGUAGES, Booklet, Stamp, Wording, pages, write_wall
from annotator.booklet.paper import WALL_MODULE_MM, code_of
from annotator.course import BlanketRule, Course, Station
from annotator.errors import InvalidEdit, NotReady
from tests.booklet.on_paper import MM, drawn, sizes_of_type, text_of, words_of

ADDRESS = "https://lane.example/open"
ALL = [Wording(language) for language in LANGUAGES]


@pytest.fixture(scope="module")
def wall(booklet: Booklet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_wall(booklet, tmp_path_factory.mktemp("wall") / "wall.pdf", address=ADDRESS, also=ALL)


def test_it_says_where_to_look_in_every_language_and_the_rules_in_short(wall: Path, booklet: Booklet) -> None:
    text = text_of(wall)
    for wording in ALL:
        assert wording.say("wall-scan") in text
        assert wording.say("default-rule") in text
    for wanted in (
        "Saltmarsh Lane Open",
        ADDRESS,
        "Do not skip: platforms.",
        "Out of play: post pads, top",
        booklet.stamp_line,
        booklet.caution,
    ):
        assert wanted in text


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_it_is_one_page_with_everything_inside_it(booklet: Booklet, tmp_path: Path, paper: str) -> None:
    path = write_wall(booklet, tmp_path / "wall.pdf", paper, address=ADDRESS, also=ALL)
    (words,) = words_of(path)
    with pikepdf.open(path) as pdf:
        wide, high = (float(side) for side in pdf.pages[0].mediabox[2:])
        assert min(sizes_of_type(pdf.pages[0])) >= 8
    assert all(word.ink.left > 0 and word.ink.top > 0 and word.ink.right < wide and word.ink.bottom < high for word in words)
    assert not [
        (one, other) for at, one in enumerate(words) for other in words[at + 1 :] if one.ink.shared(other.ink) > 0.02 * one.ink.area
    ]


def test_the_code_is_read_by_a_phone_two_metres_away(wall: Path, tmp_path: Path) -> None:
    """The sheet as a phone sees it from there (1920 pixels over 66 degrees), also out of focus by a pixel and held askew.

    segno wrote the code; zxing-cpp, another program, reads it. The phone's figures are common practice, no published source.
    """
    pixels_per_mm = 1920 / (2 * 2000 * 0.6494)
    (sheet,) = drawn(wall, 100, tmp_path)
    seen = sheet.resize((round(210 * pixels_per_mm), round(297 * pixels_per_mm)), Image.Resampling.BOX)
    for picture in (seen, seen.filter(ImageFilter.GaussianBlur(1)), seen.rotate(7, fillcolor="#888", expand=True)):
        assert [code.text for code in zxingcpp.read_barcodes(picture)] == [ADDRESS]


def test_its_modules_are_as_wide_as_said(wall: Path) -> None:
    with pikepdf.open(wall) as pdf:
        high = float(pdf.pages[0].mediabox[3])
    side = min(210 - 28, high / MM * 0.52)
    assert side / code_of(ADDRESS).modules >= WALL_MODULE_MM


def test_many_rules_and_a_long_title_still_fit_one_page(course: Course, stations: Sequence[Station], stamp: Stamp, tmp_path: Path) -> None:
    many = tuple(
        BlanketRule(rule="surface", surface=f"padded thing number {at}", ruling="out", id=f"x{at}", state="accepted") for at in range(12)
    )
    full = course.model_copy(update={"title": "A very long title of a course, " * 6, "blanket": (*course.blanket, *many)})
    path = write_wall(pages(full, stations, stamp), tmp_path / "wall.pdf", address=ADDRESS, also=ALL)
    (words,) = words_of(path)
    assert "Out of play: padded thing number 11" in text_of(path)
    assert max(word.ink.bottom for word in words) < 297 * MM
    assert not [
        (one, other) for at, one in enumerate(words) for other in words[at + 1 :] if one.ink.shared(other.ink) > 0.02 * one.ink.area
    ]


@pytest.mark.parametrize(
    ("address", "paper", "told"),
    [
        pytest.param(None, "A4", "it leads to the booklet, so it needs the address", id="no-address"),
        pytest.param(f"https://lane.example/{'x' * 300}", "A4", "too fine to read from two metres", id="address-too-long"),
        pytest.param(ADDRESS, "B5", "there is no such size", id="no-such-paper"),
    ],
)
def test_what_cannot_be_read_is_refused_before_anything_is_written(
    booklet: Booklet, tmp_path: Path, address: str | None, paper: str, told: str
) -> None:
    with pytest.raises(InvalidEdit, match=told):
        write_wall(booklet, tmp_path / "wall.pdf", paper, address=address)
    assert not (tmp_path / "wall.pdf").exists()


def test_a_title_with_a_sign_that_cannot_be_printed_is_refused(course: Course, stations: Sequence[Station], tmp_path: Path) -> None:
    odd = course.model_copy(update={"title": "Open 💥"})
    with pytest.raises(NotReady):
        write_wall(pages(odd, stations), tmp_path / "wall.pdf", address=ADDRESS)
