"""What holds for all that is printed: tagged, readable back, dated, refused where a sign cannot be printed. Cards: test_cards.py."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pikepdf
import pytest

from annotator.booklet import Booklet, Stamp, Wording, missing_signs, pages, write_cards, write_print, write_slip, write_wall
from annotator.course import Course, Station, Surface
from annotator.errors import StageError
from tests.booklet.makers import AT, DrawnPictures, rules_of_print
from tests.booklet.on_paper import text_of

ADDRESS = "https://lane.example/open"


@pytest.fixture(scope="module")
def cards(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_cards(booklet, pictures, tmp_path_factory.mktemp("cards") / "cards.pdf", address=ADDRESS)


@pytest.fixture(scope="module")
def printed(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_print(booklet, pictures, tmp_path_factory.mktemp("print") / "print.pdf", address=ADDRESS)


@pytest.fixture(scope="module")
def wall(booklet: Booklet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_wall(booklet, tmp_path_factory.mktemp("wall") / "wall.pdf", address=ADDRESS, also=[Wording("es")])


@pytest.fixture(scope="module")
def slip(
    booklet: Booklet, course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    first = stations[0].model_copy(update={"contact": ("hands",), "marks": stations[0].marks[1:]})
    new = pages(course, [first, *stations[1:]], Stamp(4, "9ABCDE", AT))
    return write_slip(booklet, new, pictures, tmp_path_factory.mktemp("slip"))[1]


def elements(path: Path) -> list[pikepdf.Dictionary]:
    """All structure elements, depth first."""
    found: list[pikepdf.Dictionary] = []

    def walk(node: pikepdf.Object) -> None:
        if isinstance(node, pikepdf.Array):
            for child in node:
                walk(child)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                found.append(node)
            if "/K" in node:
                walk(node.K)

    with pikepdf.open(path) as pdf:
        walk(pdf.Root.StructTreeRoot.K)
        return [pikepdf.Dictionary({key: node[key] for key in ("/S", "/Alt") if key in node}) for node in found]


@pytest.mark.parametrize("which", ["cards", "printed"])
def test_the_pdf_is_tagged_as_pdf_ua_1_asks(which: str, request: pytest.FixtureRequest) -> None:
    """ISO 14289-1:2014: marked, a structure tree, a language, the title shown, the standard's own mark, tab order, words for figures."""
    path: Path = request.getfixturevalue(which)
    with pikepdf.open(path) as pdf:
        assert bool(pdf.Root.MarkInfo.Marked)
        assert str(pdf.Root.Lang) == "en"
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        with pdf.open_metadata() as about:
            assert about["pdfuaid:part"] == "1"
            assert about["dc:title"] == "Saltmarsh Lane Open"
        assert all(str(page.get("/Tabs")) == "/S" for page in pdf.pages)
    kinds = [str(one.S) for one in elements(path)]
    assert next(kind for kind in kinds if kind.startswith("/H")) == "/H1"
    figures = [one for one in elements(path) if str(one.S) == "/Figure"]
    assert figures
    assert all(str(one.get("/Alt", "")).strip() for one in figures)
    told = [str(one.Alt) for one in figures]
    assert any("In play: red mat, bottom left" in alt for alt in told)


@pytest.mark.parametrize("which", ["cards", "printed", "wall", "slip"])
def test_a_second_checker_finds_no_fault(which: str, request: pytest.FixtureRequest) -> None:
    """pdfua (PyPI), 16 of PDF/UA-1's rules; one rule crashes on this pikepdf and reports itself as skipped."""
    done = subprocess.run([sys.executable, "-m", "pdfua", "check", str(request.getfixturevalue(which))], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "errors=0 warnings=0" in done.stdout
    assert done.stdout.count("[skip") == 1, done.stdout


@pytest.mark.parametrize("which", ["cards", "printed", "wall", "slip"])
def test_a_third_checker_finds_no_error(which: str, request: pytest.FixtureRequest) -> None:
    """outloud (PyPI), after the Matterhorn Protocol; it lives in an environment of its own since it brings an AGPL library."""
    command = os.environ.get("OUTLOUD") or shutil.which("outloud")
    if not command or not Path(command).is_file():
        pytest.skip("outloud is not installed; scripts/test installs it, or set OUTLOUD to the command")
    done = subprocess.run([command, str(request.getfixturevalue(which))], capture_output=True, text=True)
    assert "0 error(s)" in done.stdout, done.stdout
    assert done.returncode == 0


def test_the_whole_booklet_reads_back_rule_by_rule(printed: Path, booklet: Booklet) -> None:
    # The course page also lists its stations; their lines are the limbs with the station's title.
    read = rules_of_print(printed)
    assert read[0][: len(booklet.texts()[0])] == booklet.texts()[0]
    assert read[1:] == booklet.texts()[1:]


def test_without_an_address_there_is_no_code(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    path = write_cards(booklet, pictures, tmp_path / "cards.pdf")
    assert "https://" not in text_of(path)
    assert len([one for one in elements(path) if str(one.S) == "/Figure"]) == 2, "the two stills"


@pytest.mark.parametrize("which", ["cards", "printed"])
def test_each_page_carries_edition_default_rule_and_caution(which: str, request: pytest.FixtureRequest) -> None:
    path: Path = request.getfixturevalue(which)
    with pikepdf.open(path) as pdf:
        count = len(pdf.pages)
    for page in range(1, count + 1):
        text = text_of(path, page)
        assert "Edition 3 · code 7KQ2MX · May 9, 2026" in text
        assert "What is not named is out of play." in text
        assert "not a safety inspection" in text


@pytest.mark.parametrize("write", [write_cards, write_print])
def test_each_page_of_a_draft_says_so(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path, write: object
) -> None:
    assert callable(write)
    path = write(pages(course, stations), pictures, tmp_path / "draft.pdf")
    with pikepdf.open(path) as pdf:
        count = len(pdf.pages)
    for page in range(1, count + 1):
        text = text_of(path, page)
        assert "Draft, not an edition" in text
        assert "Edition 3" not in text


def test_the_same_edition_gives_the_same_bytes(booklet: Booklet, pictures: DrawnPictures, cards: Path, tmp_path: Path) -> None:
    again = write_cards(booklet, pictures, tmp_path / "again.pdf", address=ADDRESS)
    assert again.read_bytes() == cards.read_bytes()


def test_markup_of_typst_in_names_is_printed_as_it_stands(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    nasty = '#panic("x") *b* _i_ $x^2$ [link] \\ = `code` <label> @ref'
    bad = stations[2].model_copy(update={"number": 1, "name": nasty, "surfaces": (Surface(id="u1", name=nasty, ruling="out"),)})
    for write in (write_cards, write_print):
        assert nasty in text_of(write(pages(course, [bad]), pictures, tmp_path / "x.pdf"))


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        pytest.param("Plain words, 12 – “quoted” · ok", set(), id="plain"),
        pytest.param("Zażółć gęślą jaźń, Müller, Łódź", set(), id="latin-extended"),
        pytest.param("net 💥 fire", {"💥"}, id="emoji"),
        pytest.param("绳网", {"绳", "网"}, id="han"),
        pytest.param("เชือก", set("เชือก"), id="thai"),
        pytest.param("σχοινί, канат", set(), id="greek-and-cyrillic-from-a-fallback-face"),
    ],
)
def test_signs_that_no_font_has_are_found(text: str, missing: set[str]) -> None:
    assert missing_signs(text) == missing


def test_a_missing_picture_is_named_before_anything_is_written(booklet: Booklet, tmp_path: Path) -> None:
    with pytest.raises(StageError, match=r"'s01-1\.jpg' cannot be read"):
        write_print(booklet, DrawnPictures(tmp_path), tmp_path / "out.pdf")
    assert not (tmp_path / "out.pdf").exists()


def test_the_contents_lead_to_each_station_and_say_its_page(printed: Path, booklet: Booklet) -> None:
    with pikepdf.open(printed) as pdf:
        numbers = {page.objgen: at for at, page in enumerate(pdf.pages, start=1)}
        leads = [numbers[pikepdf.Page(_target(pdf, link)[0]).objgen] for link in pdf.pages[0].Annots if link.Subtype == "/Link"]
    first = text_of(printed, 1)
    for page in booklet.stations:
        at = next(
            number for number in sorted(numbers.values()) if number > 1 and page.name in text_of(printed, number).partition("Start")[0]
        )
        assert at in leads
        assert f"{page.title} · {page.limbs.text} {at}" in first


def _target(pdf: pikepdf.Pdf, link: pikepdf.Object) -> pikepdf.Object:
    """The place that a link leads to: its page first."""
    where = link.Dest if "/Dest" in link else link.A.D
    if not isinstance(where, pikepdf.Array):
        where = pikepdf.NameTree(pdf.Root.Names.Dests)[str(where)]
    return where if isinstance(where, pikepdf.Array) else where.D


def test_a_division_that_differs_has_a_picture_of_its_own(printed: Path, cards: Path, booklet: Booklet) -> None:
    """On the beam's first still the white rail is marked, and it is in play for under-tens."""
    told = [str(one.Alt) for one in elements(printed) if str(one.S) == "/Figure"]
    own = [alt for alt in told if "In play for under-tens: white rail." in alt]
    assert len(own) == len([still for page in booklet.stations for still in page.stills if "under-tens" in still.overlays])
    assert "Under-tens" in text_of(printed)
