"""Cards and the printed booklet: tagged, readable back, one card a page, refused where a sign cannot be printed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image

from annotator.booklet import PAPERS_MM, Booklet, Stamp, missing_signs, pages, write_cards, write_print
from annotator.booklet.stills import paper_unit
from annotator.course import Course, Station, Surface
from annotator.errors import InvalidEdit, NotReady, StageError
from tests.booklet.makers import HEIGHT, WIDTH, DrawnPictures, outline_of_pdf, rules_of_print

ADDRESS = "https://lane.example/open"


@pytest.fixture(scope="module")
def cards(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_cards(booklet, pictures, tmp_path_factory.mktemp("cards") / "cards.pdf", address=ADDRESS)


@pytest.fixture(scope="module")
def printed(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_print(booklet, pictures, tmp_path_factory.mktemp("print") / "print.pdf", address=ADDRESS)


def text_of(path: Path, page: int | None = None) -> str:
    only = [] if page is None else ["-f", str(page), "-l", str(page)]
    done = subprocess.run(["pdftotext", *only, "-layout", str(path), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


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


@pytest.mark.parametrize("which", ["cards", "printed"])
def test_a_second_checker_finds_no_fault(which: str, request: pytest.FixtureRequest) -> None:
    """pdfua (PyPI), 16 of PDF/UA-1's rules; one rule crashes on this pikepdf and reports itself as skipped."""
    done = subprocess.run([sys.executable, "-m", "pdfua", "check", str(request.getfixturevalue(which))], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "errors=0 warnings=0" in done.stdout
    assert done.stdout.count("[skip") == 1, done.stdout


@pytest.mark.parametrize("which", ["cards", "printed"])
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


def test_a_card_holds_every_rule_of_its_station(cards: Path, booklet: Booklet) -> None:
    items = {text for tag, text in outline_of_pdf(cards) if tag == "LBody"}
    for page in booklet.stations:
        shown = {rule.text for section in page.sections if section.key != "shown" for rule in section.rules} | {page.limbs.text}
        assert shown <= items
    assert {"You have 1 retry in your run.", "Ranking: furthest then fastest."} <= items


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_a_card_a_page_on_every_paper_in_its_true_size(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path, paper: str) -> None:
    """ISO 216 and ANSI/ASME Y14.1 sizes, at 72 points an inch."""
    path = write_cards(booklet, pictures, tmp_path / "cards.pdf", paper, address=ADDRESS)
    points = tuple(round(side / 25.4 * 72, 1) for side in PAPERS_MM[paper])
    with pikepdf.open(path) as pdf:
        assert len(pdf.pages) == 3
        for page in pdf.pages:
            assert tuple(round(float(side), 1) for side in page.mediabox[2:]) == points


def test_the_code_on_a_card_leads_to_its_station(cards: Path, tmp_path: Path) -> None:
    """segno wrote it; zxing reads it from the page as poppler draws it at 150 dots an inch."""
    subprocess.run(["pdftoppm", "-r", "150", "-png", str(cards), str(tmp_path / "page")], check=True)
    for number, drawn in enumerate(sorted(tmp_path.glob("page*.png")), start=1):
        with Image.open(drawn) as image:
            (code,) = zxingcpp.read_barcodes(image.convert("RGB"))
        assert code.text == f"{ADDRESS}/station-{number}.html"


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


def test_forty_surfaces_and_a_name_of_200_letters_lose_nothing(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    many = tuple(Surface(id=f"x{at}", name=f"padded block number {at}", ruling="out", state="accepted") for at in range(40))
    full = stations[0].model_copy(update={"name": "long " * 40, "surfaces": (*stations[0].surfaces, *many)})
    path = write_cards(pages(course, [full], stamp), pictures, tmp_path / "cards.pdf")
    items = {text for tag, text in outline_of_pdf(path) if tag == "LBody"}
    assert {f"Padded block number {at}" for at in range(40)} <= items
    assert "Do not skip: platforms." in items


@pytest.mark.parametrize("paper", ["A5", "A6"])
def test_an_upright_still_keeps_its_card_on_one_page(
    course: Course, stations: Sequence[Station], stamp: Stamp, tmp_path: Path, paper: str
) -> None:
    upright = tuple(one.model_copy(update={"width": HEIGHT, "height": WIDTH}) for one in stations[0].stills)
    Image.new("RGB", (HEIGHT, WIDTH), "#998877").save(tmp_path / "s01-1.jpg")
    turned = stations[0].model_copy(update={"stills": upright})
    path = write_cards(pages(course, [turned], stamp), DrawnPictures(tmp_path), tmp_path / "cards.pdf", paper, address=ADDRESS)
    with pikepdf.open(path) as pdf:
        assert len(pdf.pages) == 1
    left, top, wide = _still_on_page(path)
    assert left > 0 and top > 0
    assert 3 * paper_unit(HEIGHT, WIDTH) * wide / HEIGHT >= 0.6 / 25.4 * 72, "outlines of at least 0.6 mm"


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


def test_a_sign_that_cannot_be_printed_is_refused_with_the_words_it_stands_in(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    odd = stations[0].model_copy(update={"name": "fire 💥 net"})
    with pytest.raises(NotReady) as refused:
        write_cards(pages(course, [odd]), pictures, tmp_path / "cards.pdf")
    assert "'Fire 💥 net' holds the sign 💥 (collision symbol), which cannot be printed. Write it in letters." in refused.value.reasons
    assert not (tmp_path / "cards.pdf").exists()


def test_an_unknown_paper_is_refused_with_those_there_are(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    with pytest.raises(InvalidEdit, match=r"no such size. Choose one of: A4, A5, A6, Letter, half Letter"):
        write_cards(booklet, pictures, tmp_path / "cards.pdf", "B5")


def test_a_missing_picture_is_named_before_anything_is_written(booklet: Booklet, tmp_path: Path) -> None:
    with pytest.raises(StageError, match=r"'s01-1\.jpg' cannot be read"):
        write_print(booklet, DrawnPictures(tmp_path), tmp_path / "out.pdf")
    assert not (tmp_path / "out.pdf").exists()


def test_in_play_and_out_of_play_print_apart_in_black_and_white(cards: Path, tmp_path: Path) -> None:
    """On the card in greyscale: the hatch of what is out swings dark and light along a line across it, the fill of what is in does not."""
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-f", "1", "-l", "1", str(cards), str(tmp_path / "page")], check=True)
    (drawn,) = tmp_path.glob("page*")
    with Image.open(drawn) as opened:
        image = opened.convert("L")
    with pikepdf.open(cards) as pdf:
        height = float(pdf.pages[0].mediabox[3])
    assert image.height == pytest.approx(height / 72 * 200, abs=2)
    left, top, wide = _still_on_page(cards)
    scale = wide / 1280

    def spread(x0: float, x1: float, y: float) -> int:
        row = [
            image.getpixel((round((left + x * scale) / 72 * 200), round((top + y * scale) / 72 * 200))) for x in range(int(x0), int(x1), 2)
        ]
        values = [value for value in row if isinstance(value, int | float)]
        return int(max(values) - min(values))

    assert spread(360, 530, 560) > 60, "blue boxes, sides: out of play, hatched"
    assert spread(960, 1180, 600) < 25, "green platform: in play, an even fill"


def _still_on_page(path: Path) -> tuple[float, float, float]:
    """Left, top (from the page's top) and width of the first still, in points, from poppler's list of image places."""
    done = subprocess.run(["pdftotext", "-bbox-layout", "-f", "1", "-l", "1", str(path), "-"], capture_output=True, text=True, check=True)
    assert done.stdout
    with pikepdf.open(path) as pdf:
        page = pdf.pages[0]
        stack, matrix = [], [1.0, 0, 0, 1.0, 0, 0]
        for step in pikepdf.parse_content_stream(page):
            name, operands = str(step.operator), step.operands
            if name == "q":
                stack.append(matrix)
            elif name == "Q":
                matrix = stack.pop()
            elif name == "cm":
                a, b, c, d, e, f = (float(value) for value in operands)
                A, B, C, D, E, F = matrix  # noqa: N806
                matrix = [a * A + b * C, a * B + b * D, c * A + d * C, c * B + d * D, e * A + f * C + E, e * B + f * D + F]
            elif name == "Do" and page.Resources.XObject[str(operands[0])].get("/Subtype") == "/Image":
                height = float(page.mediabox[3])
                return matrix[4], height - max(matrix[5], matrix[5] + matrix[3]), abs(matrix[0])
    raise AssertionError("no still on the page")
