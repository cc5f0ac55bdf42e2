"""QR codes on paper, read back by another program (segno writes, zxing-cpp reads) from pages as poppler draws them, spoiled step by step.

Measured limits (no standard promises any), seven turns of 0 to 45 degrees of a code of 20 mm with 37 modules: seen at 100 dots an inch all
are read up to a blur with a standard deviation of 0.2 mm, one of seven at 0.25 mm. A second reader (OpenCV) reads all at 150 dots an inch
and a blur of 0.1 mm, six of seven at 100 dots an inch without blur. Of a code of 17 mm, none of seven at 100 dots and 0.2 mm. A page
that is drawn at 100 dots an inch and turned after that loses more than a camera does; 33 degrees are then not read on A5.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
import segno
import zxingcpp
from PIL import Image, ImageFilter

from annotator.booklet import Booklet, write_cards
from annotator.booklet.paper import LEAST_MODULE_MM, code_of
from tests.booklet.makers import DrawnPictures
from tests.booklet.on_paper import drawn

SHORT = "https://lane.example/open"
LONG = "https://obstacle-courses.saltmarsh-lane.example/booklets/2026/spring/saltmarsh-lane-open/edition-3"


@pytest.fixture(scope="module", params=["A5", "A6"])
def cards(request: pytest.FixtureRequest, booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    paper: str = request.param
    return write_cards(booklet, pictures, tmp_path_factory.mktemp(paper) / "cards.pdf", paper, address=SHORT)


def read(picture: Image.Image) -> list[str]:
    return [code.text for code in zxingcpp.read_barcodes(picture.convert("L"))]


def blurred(radius_mm: float) -> Callable[[Image.Image, float], Image.Image]:
    return lambda picture, dots: picture.filter(ImageFilter.GaussianBlur(radius_mm * dots))


def turned(degrees: float) -> Callable[[Image.Image, float], Image.Image]:
    return lambda picture, dots: picture.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor="#777")


def leaning(share: float) -> Callable[[Image.Image, float], Image.Image]:
    """The far edge of the page at `share` less than its width, as when a phone looks at it from below."""

    def seen(picture: Image.Image, dots: float) -> Image.Image:
        wide, high = picture.size
        corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32)
        there = corners + np.array(
            [[wide * share / 2, high * share / 3], [-wide * share / 2, high * share / 3], [0, 0], [0, 0]], np.float32
        )
        way = cv2.getPerspectiveTransform(corners, there)
        return Image.fromarray(cv2.warpPerspective(np.asarray(picture), way, (wide, high), borderValue=(119, 119, 119)))

    return seen


def coarsely(spoil: Callable[[Image.Image, float], Image.Image]) -> Callable[[Image.Image, float], Image.Image]:
    """Spoiled first and then seen with a third of the dots, as a camera does from farther away."""
    return lambda picture, dots: spoil(picture, dots).reduce(3)


SPOILED = [
    pytest.param(lambda picture, dots: picture, 100, id="as-printed-100-dpi"),
    pytest.param(lambda picture, dots: picture, 150, id="as-printed-150-dpi"),
    pytest.param(lambda picture, dots: picture, 300, id="as-printed-300-dpi"),
    pytest.param(blurred(0.2), 150, id="blurred-by-a-fifth-of-a-millimetre-150-dpi"),
    pytest.param(blurred(0.2), 300, id="blurred-by-a-fifth-of-a-millimetre-300-dpi"),
    pytest.param(turned(6), 100, id="turned-by-6-degrees-100-dpi"),
    pytest.param(coarsely(turned(33)), 300, id="turned-by-33-degrees-seen-at-100-dpi"),
    pytest.param(
        coarsely(lambda picture, dots: turned(12)(blurred(0.2)(picture, dots), dots)), 300, id="turned-and-blurred-seen-at-100-dpi"
    ),
    pytest.param(turned(6), 150, id="turned-by-6-degrees-150-dpi"),
    pytest.param(turned(33), 150, id="turned-by-33-degrees-150-dpi"),
    pytest.param(leaning(0.2), 150, id="far-edge-a-fifth-narrower-150-dpi"),
    pytest.param(lambda picture, dots: leaning(0.15)(turned(6)(blurred(0.15)(picture, dots), dots), dots), 200, id="all-three-200-dpi"),
]


@pytest.mark.parametrize(("spoil", "dpi"), SPOILED)
def test_the_code_on_a_card_leads_to_its_station(
    cards: Path, tmp_path: Path, spoil: Callable[[Image.Image, float], Image.Image], dpi: int
) -> None:
    (page,) = drawn(cards, dpi, tmp_path, grey=True, only=2)
    assert read(spoil(page, dpi / 25.4)) == [f"{SHORT}/station-2.html"]


def test_a_second_reader_reads_it_too(cards: Path, tmp_path: Path) -> None:
    """OpenCV's own decoder, on the part of the page that holds the code."""
    (page,) = drawn(cards, 150, tmp_path, grey=True, only=2)
    corner = page.crop((page.width // 2, page.height * 3 // 4, page.width, page.height))
    assert cv2.QRCodeDetector().detectAndDecode(np.asarray(corner))[0] == f"{SHORT}/station-2.html"


@pytest.mark.parametrize(
    ("paper", "address"), [("A5", SHORT), ("A6", LONG), ("A4 two up", LONG)], ids=["short-A5", "long-A6", "long-two-up"]
)
def test_the_modules_are_wide_enough_and_each_card_leads_to_its_own_page(
    booklet: Booklet, pictures: DrawnPictures, tmp_path: Path, paper: str, address: str
) -> None:
    """GS1 prints codes that are read by hand with modules of 0.396 mm or more; ours are wider. Measured on the drawn page."""
    path = write_cards(booklet, pictures, tmp_path / "cards.pdf", paper, address=address)
    found = [code for page in drawn(path, 200, tmp_path, grey=True) for code in zxingcpp.read_barcodes(page)]
    assert list(dict.fromkeys(code.text for code in found)) == [f"{address}/station-{number}.html" for number in (1, 2, 3)]
    for code in found:
        across = code.position.top_right.x - code.position.top_left.x
        modules = code_of(code.text).modules - 8
        assert (across + 1) / (200 / 25.4) / modules >= LEAST_MODULE_MM


def test_a_blot_on_a_fifteenth_of_the_code_does_not_hide_it() -> None:
    """Level M mends codewords that are wrong up to about 15 % (ISO/IEC 18004); a square blot of 6 % of the area stays below that."""
    made = segno.make(f"{SHORT}/station-12.html", error="m", micro=False)
    out = io.BytesIO()
    made.save(out, kind="png", scale=8, border=4)
    picture = Image.open(out).convert("L")
    side = round((made.symbol_size(border=0)[0] * 8) * 0.06**0.5)
    at = picture.width // 2 + side // 4
    picture.paste(0, (at, at, at + side, at + side))
    assert read(picture) == [f"{SHORT}/station-12.html"]


def test_the_code_stands_in_four_light_modules_on_every_side() -> None:
    """ISO/IEC 18004 asks for them; readers that forgive less do exist, so they are counted and not only decoded."""
    code = code_of(f"{SHORT}/station-1.html")
    plain = segno.make(f"{SHORT}/station-1.html", error="m", micro=False).symbol_size(border=0)[0]
    assert code.modules == plain + 8
