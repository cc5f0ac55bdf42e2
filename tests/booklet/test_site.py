"""The phone booklet as a browser shows it: from a folder, without a network, with and without its script, for every reader."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Literal

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from annotator.booklet import Booklet, Stamp, pages, write_single, write_site
from annotator.course import Course, Station, Surface
from annotator.errors import StageError
from annotator.marks import ruling_at
from tests.booklet.makers import HEIGHT, WIDTH, DrawnPictures, rules_of_site

NAMES = ("index.html", "station-1.html", "station-2.html", "station-3.html")
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 360, "height": 760})
    yield context.new_page()
    context.close()


def at(site: Path, name: str) -> str:
    return (site / name).as_uri()


@pytest.mark.parametrize("name", NAMES)
def test_a_page_opens_from_a_folder_and_asks_for_nothing_outside_it(site: Path, page: Page, name: str) -> None:
    asked: list[str] = []
    failed: list[str] = []
    errors: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("requestfailed", lambda request: failed.append(request.url))
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.goto(at(site, name))
    page.evaluate("for (const image of document.images) image.loading = 'eager'")
    page.wait_for_function("[...document.images].every((image) => image.complete && image.naturalWidth > 0)")
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px \"Atkinson Hyperlegible\"'))")
    assert asked
    assert not [url for url in asked if not url.startswith(site.as_uri())]
    assert (failed, errors) == ([], [])


def test_every_link_of_the_booklet_leads_to_a_page_that_is_there(site: Path) -> None:
    for name in NAMES:
        for link in re.findall(r'(?:href|src)="([^"#]+)[^"]*"', (site / name).read_text("utf-8")):
            if not link.startswith(("https://lane.example/", "walk/")):
                assert (site / link).is_file(), link


def test_the_pages_hold_the_rules_in_order(site: Path, booklet: Booklet) -> None:
    assert rules_of_site(site, 3) == booklet.texts()


def test_all_is_there_to_read_without_the_script(site: Path, browser: Browser, booklet: Booklet) -> None:
    context = browser.new_context(java_script_enabled=False)
    plain = context.new_page()
    plain.goto(at(site, "station-1.html"))
    text = plain.inner_text("body")
    for rule in booklet.texts()[1]:
        assert rule in text
    assert plain.locator(".overlay svg").first.is_visible()
    assert not plain.locator("button:visible, select:visible, input:visible").count(), "a switch that does nothing"
    context.close()


@pytest.mark.parametrize(
    ("station", "still", "division"),
    [
        pytest.param(1, 0, None, id="parts-and-blanket-rules"),
        pytest.param(2, 0, None, id="main-division"),
        pytest.param(2, 0, "under-tens", id="division"),
        pytest.param(2, 1, "under-tens", id="second-still"),
    ],
)
def test_a_tap_answers_as_the_ruling_at_that_point_does(
    site: Path, browser: Browser, course: Course, stations: Sequence[Station], station: int, still: int, division: str | None
) -> None:
    """The script's own geometry against shapely's, at random points and at points near edges."""
    this = stations[station - 1]
    still_id = this.stills[still].id
    page = browser.new_page(viewport={"width": 1400, "height": 900})  # a click falls on a whole pixel: more of them to ask about
    page.goto(at(site, f"station-{station}.html"))
    if division:
        page.select_option("select.division", division.capitalize())
    draw = random.Random(station * 10 + still)
    points = [(draw.uniform(0, WIDTH), draw.uniform(0, HEIGHT)) for _ in range(250)]
    for mark in this.marks:
        if mark.still == still_id and mark.rings:
            points += [(x + draw.uniform(-4, 4), y + draw.uniform(-4, 4)) for x, y in mark.rings[0]]
    answers = page.evaluate(
        """([still, points]) => points.map(([x, y]) => {
          const figure = document.querySelectorAll("[data-still]")[still], picture = figure.querySelector(".still");
          const box = picture.getBoundingClientRect(), size = [1280, 720];
          const clientX = Math.round(box.left + x / size[0] * box.width), clientY = Math.round(box.top + y / size[1] * box.height);
          picture.dispatchEvent(new MouseEvent("click", { bubbles: true, clientX, clientY }));
          figure.querySelector(".whole").click();  // two quick taps near each other would bring the picture closer
          const said = figure.querySelector("[role=status]");
          const place = [(clientX - box.left) / box.width * size[0], (clientY - box.top) / box.height * size[1]];
          return [place, said.dataset.ruling, said.textContent];
        })""",
        [still, points],
    )
    verdict = {"in": "in play", "out": "out of play", "close": "too close to call"}
    for place, ruling, sentence in answers:
        point = (min(max(place[0], 0.0), WIDTH), min(max(place[1], 0.0), HEIGHT))
        expected = ruling_at(course, this, still_id, point, division=division)
        assert verdict[ruling] == expected.ruling, (point, sentence, expected.because)
        if expected.surface is not None and ruling != "close":
            assert expected.surface.name in sentence
    page.close()
    assert {ruling for _, ruling, _ in answers} >= {"in", "out"}


def test_marks_can_be_put_aside_and_the_division_switched(site: Path, page: Page) -> None:
    page.goto(at(site, "station-2.html"))
    figure = page.locator("[data-still]").first
    layers = figure.locator(".overlay")
    assert layers.count() == 1 and layers.nth(0).is_visible(), "a division's marks are laid in when it is chosen"
    page.select_option("select.division", "Under-tens")
    assert layers.nth(1).is_visible() and not layers.nth(0).is_visible()
    page.uncheck(".marks-switch")
    assert not layers.nth(0).is_visible() and not layers.nth(1).is_visible()
    assert figure.locator("img").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", [*NAMES, "judge/station-1.html"])
def test_nothing_scrolls_sideways_at_320_px_nor_with_text_at_200_percent(
    site: Path, browser: Browser, name: str, scheme: Literal["light", "dark"]
) -> None:
    """WCAG 2.2 success criteria 1.4.10 (reflow at 320 CSS px) and 1.4.4 (text to 200 %)."""
    context = browser.new_context(viewport={"width": 320, "height": 640}, color_scheme=scheme)
    narrow = context.new_page()
    narrow.goto(at(site, name))
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 320
    narrow.add_style_tag(content="html { font-size: 212.5% !important }")
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 320
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", NAMES)
def test_the_accessibility_checker_finds_nothing(site: Path, browser: Browser, name: str, scheme: Literal["light", "dark"]) -> None:
    """axe-core's WCAG 2.2 A and AA rules and its best practices, on the page as shown."""
    axe = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
    if not axe.is_file():
        pytest.skip("axe-core is not installed; run scripts/test, or npm ci in web/")
    context = browser.new_context(viewport={"width": 360, "height": 760}, color_scheme=scheme)
    shown = context.new_page()
    shown.goto(at(site, name))
    shown.evaluate(axe.read_text("utf-8"))
    kinds = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = shown.evaluate("(kinds) => axe.run(document, { runOnly: kinds })", kinds)
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]] == []
    assert len(found["passes"]) > 15
    context.close()


@pytest.mark.parametrize("name", ["station-1.html", "station-2.html"])
def test_targets_are_large_enough_for_a_thumb(site: Path, page: Page, name: str) -> None:
    """WCAG 2.2 success criterion 2.5.8: 24 by 24 CSS px."""
    page.goto(at(site, name))
    sizes = page.eval_on_selector_all(
        "a, label, select, button, summary", "(all) => all.map((one) => one.getBoundingClientRect()).filter((box) => box.width)"
    )
    assert sizes
    assert all(box["width"] >= 24 and box["height"] >= 24 for box in sizes), sizes


def test_pictures_come_in_sizes_and_carry_no_metadata(site: Path, pictures: DrawnPictures) -> None:
    with Image.open(pictures.jpeg("s01-1")) as published:
        assert published.getexif(), "the published picture of this test carries metadata"
    found = sorted(re.sub("-[0-9a-f]{12}[.]", ".", file.name) for file in (site / "pictures").glob("station-1-1-*"))
    expected = {(width, suffix) for width in (192, 480, 960, 1280) for suffix in ("avif", "webp")} | {(480, "jpg"), (960, "jpg")}
    assert found == sorted(f"station-1-1-{width}.{suffix}" for width, suffix in expected)
    for file in (site / "pictures").iterdir():
        with Image.open(file) as image:
            assert not image.getexif() and not set(image.info) & {"exif", "xmp", "icc_profile", "comment"}
        assert b"Invented camera maker" not in file.read_bytes()


def test_pictures_of_a_folder_that_nobody_writes_in_are_the_kept_ones(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    booklet, kept = pages(course, stations), tmp_path / "kept"
    for name, whether in (("plain", False), ("linked", True), ("again", True)):
        write_site(booklet, pictures, tmp_path / name, cache=kept, linked=whether)
    write_site(booklet, pictures, tmp_path / "linked", cache=kept, linked=True)  # all of them are there already
    plain, linked = (sorted((tmp_path / name / "pictures").iterdir()) for name in ("plain", "linked"))
    assert [file.read_bytes() for file in linked] == [file.read_bytes() for file in plain]
    assert {file.stat().st_nlink for file in plain} == {1} == {file.stat().st_nlink for file in linked}
    assert {file.stat().st_nlink for file in (tmp_path / "again" / "pictures").iterdir()} == {2}
    write_site(booklet, pictures, tmp_path / "again", cache=kept)
    assert {file.stat().st_nlink for file in (tmp_path / "again" / "pictures").iterdir()} == {1}, "a plain writing writes through no link"
    for file in kept.iterdir():
        if file.is_file():
            file.unlink()
    write_site(booklet, pictures, tmp_path / "later", cache=kept, linked=True)
    assert [file.read_bytes() for file in sorted((tmp_path / "later" / "pictures").iterdir())] == [file.read_bytes() for file in plain]


def test_a_still_is_encoded_once_for_all_outputs(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    write_site(booklet, pictures, tmp_path / "one", cache=tmp_path / "kept")
    kept = {file: file.stat().st_mtime_ns for file in (tmp_path / "kept").iterdir()}
    assert sum(file.suffix in (".avif", ".webp", ".jpg") for file in kept) == 3 * 10
    write_site(booklet, pictures, tmp_path / "two", cache=tmp_path / "kept")
    assert {file: file.stat().st_mtime_ns for file in (tmp_path / "kept").iterdir()} == kept
    one, two = ({file.name: file.read_bytes() for file in (tmp_path / name / "pictures").iterdir()} for name in ("one", "two"))
    assert one == two


def test_a_missing_picture_is_named(booklet: Booklet, tmp_path: Path) -> None:
    with pytest.raises(StageError, match=r"'s01-1\.jpg' cannot be read"):
        write_site(booklet, DrawnPictures(tmp_path), tmp_path / "out")


def test_half_a_picture_is_named(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    whole = pictures.jpeg("s01-1").read_bytes()
    (tmp_path / "s01-1.jpg").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(StageError, match=r"'s01-1\.jpg' is not a whole picture"):
        write_site(booklet, DrawnPictures(tmp_path), tmp_path / "out")


def test_markup_in_names_is_shown_and_never_run(course: Course, stations: Sequence[Station], page: Page, tmp_path: Path) -> None:
    nasty = '</script><script>window.run = 1</script><b onclick="x">"&amp;'
    bad = stations[2].model_copy(update={"number": 1, "name": nasty, "surfaces": (Surface(id="u1", name=nasty, ruling="out"),)})
    written = pages(course.model_copy(update={"title": nasty}), [bad])
    write_site(written, DrawnPictures(tmp_path), tmp_path / "out")
    page.goto(at(tmp_path / "out", "station-1.html"))
    assert page.evaluate("window.run") is None
    assert page.inner_text("h1 .name") == nasty[0].upper() + nasty[1:]
    assert rules_of_site(tmp_path / "out", 1) == written.texts()


@pytest.mark.parametrize("name", NAMES)
def test_every_page_carries_the_edition_the_default_rule_and_the_caution(site: Path, page: Page, name: str) -> None:
    page.goto(at(site, name))
    foot = page.inner_text("footer")
    assert "Edition 3 · code 7KQ2MX · May 9, 2026" in foot
    assert "What is not named is out of play." in foot
    assert "not a safety inspection" in foot


def test_every_page_of_a_draft_says_that_it_is_none(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    write_site(pages(course, stations), pictures, tmp_path)
    for name in NAMES:
        text = (tmp_path / name).read_text("utf-8")
        assert "Draft, not an edition" in text
        assert "Edition" not in text


def test_words_lead_to_their_moment_in_the_clip(site: Path, page: Page) -> None:
    page.goto(at(site, "station-1.html"))
    assert page.get_attribute(".heard a >> nth=1", "href") == "walk/clip-1.mp4#t=64.0"
    assert page.get_attribute("video", "data-captions") == "walk/captions.vtt"


def test_the_same_booklet_gives_the_same_bytes(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_site(booklet, pictures, tmp_path / name)
    one, two = ({file.name: file.read_bytes() for file in (tmp_path / name).rglob("*") if file.is_file()} for name in ("one", "two"))
    assert one == two


def test_forty_surfaces_and_a_name_of_200_letters_stay_within_the_page(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, browser: Browser, tmp_path: Path
) -> None:
    many = tuple(Surface(id=f"x{at}", name="w" * 200 if at == 0 else f"block {at}", state="accepted") for at in range(40))
    full = stations[0].model_copy(update={"name": "n" * 200, "surfaces": (*stations[0].surfaces, *many)})
    write_site(pages(course, [full], stamp), pictures, tmp_path)
    context = browser.new_context(viewport={"width": 320, "height": 640})
    narrow = context.new_page()
    for name in ("index.html", "station-1.html"):
        narrow.goto(at(tmp_path, name))
        assert narrow.evaluate("document.documentElement.scrollWidth") <= 320
    context.close()


def _luminance(colour: str) -> float:
    """WCAG 2.2's relative luminance."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_formula_gives_published_pairs() -> None:
    """Pairs on white of the WCAG working group's documents: #767676 passes 4.5, #777777 does not."""
    assert contrast("#767676", "#ffffff") == pytest.approx(4.5422, abs=1e-4)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.4781, abs=1e-4)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_text_has_4_5_to_1_and_signs_3_to_1(dark: bool) -> None:
    sheet = (ROOT / "annotator" / "booklet" / "static" / "booklet.css").read_text("utf-8")
    blocks = re.findall(r":root\s*\{([^}]*)\}", sheet)
    colours = dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6})", blocks[0]))
    if dark:
        colours |= dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6})", blocks[1]))
    for name in ("ink", "quiet", "in-text", "out-text"):
        assert contrast(colours[name], colours["paper"]) >= 4.5, name
    assert contrast(colours["on-tape"], colours["tape"]) >= 4.5
    assert contrast("#ffffff", colours["in"]) >= 4.5, "the IN plate"
    assert contrast("#ffffff", "#1d2329") >= 4.5, "the OUT plate"
    for name in ("in", "out"):
        assert contrast(colours[name], colours["paper"]) >= 3, name


HARD_NAMES = [
    pytest.param("n" * 200, id="200-letters"),
    pytest.param("مسار الصناديق الزرقاء", id="right-to-left"),
    pytest.param("שביל הקוביות 🟦🟦", id="right-to-left-with-emoji"),
    pytest.param("🤸‍♀️🟩 jump 👨‍👩‍👧‍👦", id="joined-emoji"),
    pytest.param("a\u202eb\u2066c", id="signs-that-turn-the-direction"),
    pytest.param("{{ 7 * 7 }} {thing} %s </title>", id="looks-like-a-template"),
]


@pytest.mark.parametrize("name", HARD_NAMES)
def test_hard_names_break_no_page(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, browser: Browser, tmp_path: Path, name: str
) -> None:
    """Stations and things of that name, beside one without a still, a name or a surface, for a division that no station knows."""
    surfaces = tuple(one.model_copy(update={"name": name}) for one in stations[0].surfaces)
    hard = stations[0].model_copy(update={"name": name, "surfaces": surfaces})
    empty = Station(id="s9", number=2, name=" ", start=200, end=201, state="accepted")
    told = pages(course.model_copy(update={"title": name, "divisions": (*course.divisions, name)}), [hard, empty], stamp)
    write_site(told, pictures, tmp_path / "site")
    write_single(told, pictures, tmp_path / "single.html")
    context = browser.new_context(viewport={"width": 320, "height": 640})
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
    for file in (*("site/" + each for each in ("index.html", "station-1.html", "station-2.html")), "single.html"):
        page.goto((tmp_path / file).as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        page.select_option("select.division", "3")
        assert page.locator("footer").is_visible()
    page.goto((tmp_path / "site" / "station-1.html").as_uri())
    assert page.text_content("h1 .name") == name[0].upper() + name[1:]
    page.click("button.find")
    page.fill(".finder input", "1")
    expect(page.locator(".hits a").first).to_be_visible()
    page.goto((tmp_path / "site" / "station-2.html").as_uri())
    assert "No picture yet." in page.inner_text("body")
    context.close()
    assert wrong == []
