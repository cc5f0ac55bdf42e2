"""The staff pages in a real browser: a walk is uploaded and becomes a course; no page breaks a rule of axe-core."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from werkzeug.serving import make_server

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from annotator.server import Config, close, create_app

if TYPE_CHECKING:
    from playwright import sync_api
else:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed; it drives the browser")
WEB = Path(__file__).resolve().parents[2] / "web"
AXE = WEB / "node_modules" / "axe-core" / "axe.min.js"
PAGES = WEB.parent / "annotator" / "server" / "static" / "app"
RULES = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]

pytestmark = pytest.mark.skipif(not (PAGES / "index.html").is_file(), reason="the staff pages are not built: npm run build in web/")


@dataclass(frozen=True)
class Served:
    address: str
    library: Library


@pytest.fixture
def served(library: Library) -> Iterator[Served]:
    app = create_app(Config(library))
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield Served(f"http://127.0.0.1:{server.server_port}", library)
    server.shutdown()
    thread.join(10)
    server.server_close()
    close(app)


@pytest.fixture
def page(browser: sync_api.Browser) -> Iterator[sync_api.Page]:
    """A page on a phone's screen that collects what goes wrong in its scripts."""
    context = browser.new_context(viewport={"width": 360, "height": 780}, reduced_motion="reduce", bypass_csp=False)
    opened = context.new_page()
    wrong: list[str] = []
    opened.on("pageerror", lambda error: wrong.append(str(error)))
    yield opened
    context.close()
    assert wrong == []


def test_a_walk_is_taken_in_by_hand_and_read_as_a_course(served: Served, page: sync_api.Page, walk_clip: Path, walk_captions: Path) -> None:
    page.goto(served.address)
    page.get_by_role("link", name="Take in a walk").click()
    page.locator("input[type=file]").first.set_input_files(walk_clip)
    page.get_by_text("0:34, 320 × 180").wait_for()
    page.get_by_text("Captions instead of listening").click()
    page.get_by_label("Captions of spring walk.mp4").set_input_files(walk_captions)
    page.get_by_text("9 captions").wait_for()
    page.get_by_label("Title of the course").fill("Spring <course> & Ł")
    page.get_by_label("Names of the stations").fill("stump hop\nrung bridge")
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Spring <course> & Ł").wait_for()
    page.locator("a.plate").nth(1).wait_for()
    page.locator("a.plate", has_text="1").first.click()
    page.get_by_role("heading", name="Stump hop").wait_for()
    assert page.locator("p.limbs").inner_text() == "Feet only"
    finish = page.locator(".lines-finish")
    assert "green platform" in finish.inner_text()
    assert "Do not land past it" in finish.inner_text()
    page.get_by_role("button", name="Accept station 1").wait_for()
    picture = page.locator(".board img")
    picture.wait_for()
    assert picture.evaluate("img => img.decode().then(() => img.naturalWidth)") > 0
    page.get_by_role("button", name="Accept station 1").click()
    page.get_by_role("button", name="Accept station 1").wait_for(state="detached")
    page.get_by_text("All saved").wait_for()
    (course,) = served.library.courses()
    assert course.doc.title == "Spring <course> & Ł"
    assert served.library.stations(course.doc.name)[0].doc.standing() == "accepted"


def test_a_file_that_is_no_clip_is_refused_in_a_sentence_where_it_was_chosen(served: Served, page: sync_api.Page, tmp_path: Path) -> None:
    notes = tmp_path / "notes.mp4"
    notes.write_text("no film")
    page.goto(f"{served.address}/take-in")
    page.locator("input[type=file]").first.set_input_files(notes)
    refused = page.locator(".clip-refused [role=alert]")
    refused.wait_for()
    assert "notes.mp4" in refused.inner_text()
    assert page.get_by_role("button", name="Take it in").is_disabled()


def test_a_clip_that_was_cut_off_says_so_where_it_was_chosen(served: Served, page: sync_api.Page, half_clip: Path) -> None:
    page.goto(f"{served.address}/take-in")
    page.locator("input[type=file]").first.set_input_files(half_clip)
    page.locator(".remark-line", has_text="half walk.mp4 was cut off: only its first").wait_for()
    assert page.get_by_role("button", name="Take it in").is_enabled(), "what is there can be used"


@pytest.fixture
def marked(library: Library, drafted: str) -> str:
    station = library.stations(drafted)[0].doc
    ring = [[20.0, 95.0], [90.0, 95.0], [90.0, 130.0], [20.0, 130.0]]
    mark = {"id": "m1", "still": station.stills[0].id, "surface": station.surfaces[0].id, "rings": [ring]}
    pipeline.decide(library, drafted, [read_edit({"do": "put-mark", "station": 1, "mark": mark})], who="Ana")
    return drafted


def test_a_spot_of_a_still_is_asked_by_tap_and_by_keys(served: Served, page: sync_api.Page, marked: str) -> None:
    page.goto(f"{served.address}/course/{marked}/1")
    board = page.locator(".board")
    board.wait_for()
    shown = board.bounding_box()
    assert shown is not None
    board.click(position={"x": shown["width"] * 55 / 320, "y": shown["height"] * 112 / 180})
    page.locator(".verdict", has_text="In play").wait_for()
    board.focus()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    for _ in range(12):
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    page.locator(".verdict", has_text="Out of play").wait_for()
    page.keyboard.press("Escape")
    page.locator(".verdict").wait_for(state="detached")


def test_somebody_who_looked_at_the_faces_of_a_still_says_so_once(served: Served, page: sync_api.Page, drafted: str) -> None:
    page.goto(f"{served.address}/course/{drafted}/1")
    seen = page.get_by_role("button", name="I looked: no face is left outside a box")
    seen.click()
    seen.wait_for(state="detached")
    page.get_by_text("looked at the faces: there are none.").wait_for()
    page.get_by_text("All saved").wait_for()
    (still, *_) = served.library.stations(drafted)[0].doc.stills
    assert still.faces == () and still.faces_by is not None


def test_what_is_done_while_the_server_is_gone_is_kept_here_and_sent_when_it_is_back(
    served: Served, page: sync_api.Page, drafted: str
) -> None:
    page.goto(f"{served.address}/course/{drafted}/1")
    accept = page.get_by_role("button", name="Accept station 1")
    accept.wait_for()
    page.context.set_offline(True)
    accept.click()
    page.get_by_text("1 change is kept here until the server is back").wait_for()
    accept.wait_for(state="detached")
    assert served.library.stations(drafted)[0].doc.standing() == "drafted"
    page.context.set_offline(False)
    page.get_by_text("All saved").wait_for()
    assert served.library.stations(drafted)[0].doc.standing() == "accepted"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_page_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(
    served: Served, browser: sync_api.Browser, marked: str, width: int, scheme: Literal["light", "dark"]
) -> None:
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in web/")
    # axe-core is put into the page by the test, which the pages' own policy rightly forbids to anyone else.
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=True)
    opened = context.new_page()
    for path, ready in (
        ("/", ".strip"),
        ("/take-in", ".take-in"),
        (f"/course/{marked}", ".whole"),
        (f"/course/{marked}/1", ".overlay svg"),
        (f"/course/{marked}/2", ".board"),
        (f"/course/{marked}/9", "main h1"),
        ("/course/none", "main p"),
    ):
        opened.goto(served.address + path)
        opened.locator(ready).first.wait_for()
        opened.evaluate(AXE.read_text("utf-8"))
        found = opened.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)
        told = [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]]
        assert told == [], path
        assert opened.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, f"{path} is wider than the screen"
    context.close()


def test_an_empty_library_says_what_to_do_first_with_one_button(served: Served, page: sync_api.Page) -> None:
    page.goto(served.address)
    page.locator(".begin").wait_for()
    assert page.locator("main a, main button").count() == 1
    assert page.locator(".begin p").inner_text() == "Film the walk of your course with a phone. Then bring the film here."
