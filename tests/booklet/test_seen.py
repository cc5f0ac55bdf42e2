"""In play and out of play told apart on what is really seen: cards as poppler draws them, the phone's overlay as a browser draws it.

On light, dark and busy pictures, through a printer without colour and through three kinds of colour vision. Contrast is WCAG 2.2's.
Simulated vision is Machado, Oliveira and Fernandes 2009 (IEEE TVCG 15(6)), severity 1.0, and, as a second opinion, Viénot, Brettel and
Mollon 1999 (Color Research and Application 24(4)) with the matrices of daltonlens, each on linear RGB.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser

from annotator.booklet import Stamp, pages, write_cards
from annotator.course import Course, Station
from annotator.marks import overlay
from tests.booklet.makers import AT, HEIGHT, WIDTH, DrawnPictures, box, still, surface
from tests.booklet.on_paper import drawn, pictures_on
from tests.marks.photos import opencv_doc
from tests.marks.test_looks import MACHADO, linear

VIENOT = {
    "protan by Vienot": [[0.10889, 0.89111, 0.0], [0.10889, 0.89111, 0.0], [0.00447, -0.00447, 1.0]],
    "deutan by Vienot": [[0.29031, 0.70969, 0.0], [0.29031, 0.70969, 0.0], [-0.02197, 0.02197, 1.0]],
}
KINDS = ("full", "grey print", *MACHADO, *VIENOT)
GROUNDS = ("white", "black", "busy")
INSIDE, OUTSIDE = (160, 160, 520, 560), (720, 160, 1120, 560)
DPI = 200


def station() -> Station:
    return Station(
        id="s01", number=1, name="two boxes", start=0, end=9, contact=("feet",), state="accepted", stills=(still("s01-1", 1.0),),
        surfaces=(surface("u1", "one box"), surface("u2", "other box", ruling="out")),
        marks=(box("m1", "s01-1", "u1", *INSIDE), box("m2", "s01-1", "u2", *OUTSIDE)),
    )  # fmt: skip


COURSE = Course(name="c", title="Course", order=("s01",))


@dataclass(frozen=True)
class Scene:
    """What is seen of the still: the pixels, and where the still's pixels lie in them."""

    pixels: NDArray[np.uint8]
    left: float
    top: float
    scale: float

    def light(self, kind: str) -> NDArray[np.float64]:
        """Relative luminance as that kind of eye or printer has it."""
        values = linear(self.pixels.astype(float) / 255)
        matrix = {**MACHADO, **VIENOT}.get(kind)
        if matrix is not None:
            values = np.clip(values @ np.asarray(matrix).T, 0, 1)
        elif kind == "grey print":
            grey = np.asarray(Image.fromarray(self.pixels).convert("L"), float) / 255  # ITU-R BT.601 luma, as printers' drivers make it
            values = linear(np.repeat(grey[..., None], 3, 2))
        return np.asarray(values @ [0.2126, 0.7152, 0.0722])

    def at(self, light: NDArray[np.float64], x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """The light at places of the still."""
        columns, rows = np.rint(self.left + x * self.scale - 0.5).astype(int), np.rint(self.top + y * self.scale - 0.5).astype(int)
        return np.asarray(light[rows, columns])

    def part(self, light: NDArray[np.float64], x0: float, y0: float, x1: float, y1: float) -> NDArray[np.float64]:
        rows = slice(round(self.top + y0 * self.scale), round(self.top + y1 * self.scale))
        return light[rows, slice(round(self.left + x0 * self.scale), round(self.left + x1 * self.scale))]


def ratio(values: NDArray[np.float64]) -> float:
    return float((values.max() + 0.05) / (values.min() + 0.05))


def ground(name: str) -> Image.Image:
    if name == "busy":
        photo = opencv_doc("graf1.png")
        return Image.fromarray(photo).resize((WIDTH, HEIGHT))
    return Image.new("RGB", (WIDTH, HEIGHT), name)


@pytest.fixture(scope="module", params=GROUNDS)
def picture(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder: Path = tmp_path_factory.mktemp(request.param)
    ground(request.param).save(folder / "s01-1.jpg", quality=92)
    return folder


@pytest.fixture(scope="module", params=["card", "phone", "phone-in-the-dark"])
def scene(request: pytest.FixtureRequest, picture: Path, browser: Browser) -> Scene:
    booklet = pages(COURSE, [station()], Stamp(1, "ABCDEF", AT))
    if request.param == "card":
        path = write_cards(booklet, DrawnPictures(picture), picture / "cards.pdf")
        with pikepdf.open(path) as pdf:
            ((left, top, wide, _),) = pictures_on(pdf.pages[0])
        (page,) = drawn(path, DPI, picture / "drawn")
        dots = DPI / 72
        return Scene(np.asarray(page), left * dots, top * dots, wide * dots / WIDTH)
    context = browser.new_context(
        viewport={"width": 360, "height": 640}, device_scale_factor=2, color_scheme="dark" if "dark" in request.param else "light"
    )
    shown = context.new_page()
    overlay_svg = booklet.stations[0].stills[0].overlays[""]
    (picture / "page.html").write_text(
        f"<!DOCTYPE html><style>body{{margin:0}}div{{position:relative;width:360px;aspect-ratio:{WIDTH}/{HEIGHT}}}"
        f"img,svg{{position:absolute;inset:0;width:100%;height:100%}}</style><div><img src=s01-1.jpg>{overlay_svg}</div>",
        "utf-8",
    )
    shown.goto((picture / "page.html").as_uri())
    shown.wait_for_function("document.images[0].complete")
    shot = shown.locator("div").screenshot()
    context.close()
    return Scene(np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")), 0.0, 0.0, 720 / WIDTH)


def across(x: float) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Lines over an upright edge, at several heights: a dash has gaps."""
    for y in range(220, 500, 7):
        yield np.arange(x - 12, x + 12, 0.5), np.full(48, float(y))


@pytest.mark.parametrize("kind", KINDS)
def test_outlines_have_three_to_one_within_themselves_on_any_picture(scene: Scene, kind: str) -> None:
    """WCAG 2.2 SC 1.4.11: the coloured line and its keyline, whatever lies behind them."""
    light = scene.light(kind)
    for x in (INSIDE[0], OUTSIDE[0]):
        assert max(ratio(scene.at(light, *places)) for places in across(float(x))) >= 3


@pytest.mark.parametrize("kind", KINDS)
def test_the_line_of_what_is_in_is_whole_and_of_what_is_out_is_broken(scene: Scene, kind: str) -> None:
    light = scene.light(kind)
    rows = np.arange(220.0, 500.0)
    solid = scene.at(light, np.full(rows.shape, float(INSIDE[0])), rows)
    dashed = scene.at(light, np.full(rows.shape, float(OUTSIDE[0])), rows)
    assert ratio(solid) < 1.25
    assert ratio(dashed) >= 1.5
    changes = int((np.diff((dashed > (dashed.max() + dashed.min()) / 2).astype(int)) != 0).sum())
    assert changes >= 8, "dash and gap, several times along an edge"


@pytest.mark.parametrize("kind", KINDS)
def test_words_on_plates_have_four_and_a_half_to_one(scene: Scene, kind: str) -> None:
    """WCAG 2.2 SC 1.4.3. The ground is the plate's own: the median; the letters are its brightest hundredth part."""
    light = scene.light(kind)
    there = overlay(COURSE, station(), "s01-1", unit=None if scene.left == 0 else WIDTH / 400)
    plates = [plate for item in there.items for plate in item.plates]
    assert len(plates) == 2
    for plate in plates:
        pad = 3 * there.unit
        inner = scene.part(light, plate.x + pad, plate.y + pad, plate.x + plate.width - pad, plate.y + plate.height - pad)
        assert (np.quantile(inner, 0.99) + 0.05) / (np.median(inner) + 0.05) >= 4.5


@pytest.mark.parametrize("kind", KINDS)
def test_the_hatch_is_on_what_is_out_and_only_there(scene: Scene, kind: str) -> None:
    """Against the same picture without marks: a hatch changes it in stripes, the fill of what is in changes it evenly."""
    light = scene.light(kind)
    spread = {}
    for name, (x0, y0, x1, y1) in (("in", INSIDE), ("out", OUTSIDE)):
        inner = scene.part(light, x0 + 140, y0 + 100, x1 - 60, y1 - 60)
        far = np.abs(np.diff(np.log(inner + 0.05), axis=1))
        spread[name] = float(np.quantile(far, 0.9))
    assert spread["out"] > spread["in"] + 0.05
