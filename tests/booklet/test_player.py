"""The page that plays the walk, in a real browser: it plays, follows the stations, and is worked by keyboard, on phones, from a folder."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from flask import Flask, send_from_directory
from playwright.sync_api import Browser, Page
from werkzeug.serving import make_server

from annotator.booklet import Booklet, CaptionsRead, CueToSee, FilmText, LimitKept, WalkFilm, write_player, write_reading
from annotator.media import open_writer
from tests.booklet.makers import rules_of_html

ROOT = Path(__file__).resolve().parents[2]
LENGTH_S, RATE = 30.0, 5
STATIONS = {1: (4.0, 12.0), 2: (12.0, 21.0), 3: (21.0, 30.0)}
SPOKEN = (
    "WEBVTT\n\n1\n00:00:04.500 --> 00:00:08.000\nFeet only &amp; no hands --&gt; here\n\n2\n00:00:13.000 --> 00:00:16.000 line:0\nHands.\n"
)
SPANISH = "WEBVTT\n\n1\n00:00:04.500 --> 00:00:08.000\nSolo pies\n"
CHAPTERS = (
    "WEBVTT\n\na\n00:00:04.000 --> 00:00:12.000\nStation 1: one\n\nb\n00:00:12.000 --> 00:00:21.000\nStation 2: two\n\n"
    "c\n00:00:21.000 --> 00:00:30.000\nStation 3: three\n"
)
TEXTS = (
    FilmText("captions.vtt", "as spoken", "en", SPOKEN),
    FilmText("captions.clean.vtt", "clean", "en", SPOKEN),
    FilmText("captions.es.vtt", "es", "es", SPANISH),
)
FILM = WalkFilm(
    video="walk.mp4",
    size=(320, 180),
    captions=TEXTS,
    chosen="captions.vtt",
    chapters=FilmText("chapters.vtt", "Stations", "en", CHAPTERS),
    stations=STATIONS,
    films={number: f"station-{number}.mp4" for number in STATIONS},
)
READY = "document.getElementById('film').readyState >= 2 && !document.getElementById('film').seeking"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, booklet: Booklet) -> Path:
    """The page with a real film of 30 s beside it."""
    out = tmp_path_factory.mktemp("the walk, für alle")
    with open_writer(out / "walk.mp4", 320, 180, end_s=LENGTH_S) as film:
        for at in range(int(LENGTH_S * RATE)):
            film.write(np.full((180, 320, 3), 40 + at, np.uint8), at / RATE)
    for text in (*TEXTS, FILM.chapters):
        (out / text.file).write_text(text.content, "utf-8")
    write_player(booklet, FILM, out)
    return out


@pytest.fixture
def served(folder: Path) -> Iterator[str]:
    app = Flask("walk", static_folder=None)
    app.add_url_rule("/<path:name>", "file", lambda name: send_from_directory(folder, name, conditional=True))  # with Range, as films need
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/index.html"
    server.shutdown()
    thread.join(10)
    server.server_close()


@pytest.fixture
def page(browser: Browser, folder: Path) -> Iterator[Page]:
    """The page opened from its folder on a phone; nothing may go wrong in it."""
    context = browser.new_context(viewport={"width": 360, "height": 760}, reduced_motion="reduce")
    opened = context.new_page()
    wrong: list[str] = []
    opened.on("pageerror", lambda error: wrong.append(str(error)))
    opened.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
    opened.on("request", lambda request: wrong.append(request.url) if not request.url.startswith((folder.as_uri(), "blob:")) else None)
    opened.goto((folder / "index.html").as_uri())
    opened.wait_for_function(READY)
    yield opened
    context.close()
    assert wrong == []


def at(page: Page, time_s: float) -> None:
    page.evaluate(f"document.getElementById('film').currentTime = {time_s}")
    page.wait_for_function(READY)


def now_s(page: Page) -> float:
    page.wait_for_function(READY)
    return float(page.evaluate("document.getElementById('film').currentTime"))


def shown_sheet(page: Page) -> list[str]:
    found: list[str] = page.eval_on_selector_all(
        "[data-sheet]", "(all) => all.filter((one) => !one.hidden).map((one) => one.dataset.sheet)"
    )
    return found


def test_the_film_plays(page: Page) -> None:
    page.locator("#film").focus()
    page.keyboard.press("Space")
    page.wait_for_function("document.getElementById('film').currentTime > 0.5")
    page.keyboard.press("Space")
    page.wait_for_function("document.getElementById('film').paused")


@pytest.mark.parametrize("way", ["folder", "server"])
def test_captions_and_chapters_are_there_as_the_browser_reads_them(folder: Path, served: str, browser: Browser, way: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto((folder / "index.html").as_uri() if way == "folder" else served)
    page.wait_for_function(READY)
    at(page, 5.0)
    page.wait_for_function(
        "[...document.getElementById('film').textTracks].some((one) => one.activeCues?.length && one.mode === 'showing')"
    )
    page.wait_for_function("[...document.getElementById('film').textTracks].find((one) => one.kind === 'chapters').cues?.length === 3")
    tracks = page.evaluate("[...document.getElementById('film').textTracks].map((one) => [one.kind, one.label, one.language, one.mode])")
    assert tracks == [
        ["captions", "As spoken", "en", "showing"],
        ["captions", "Clean", "en", "disabled"],
        ["subtitles", "es", "es", "disabled"],
        ["chapters", "Stations", "en", "hidden"],
    ]
    text = "(document.getElementById('film').textTracks[0].activeCues[0].getCueAsHTML()).textContent"
    assert page.evaluate(text) == "Feet only & no hands --> here"
    page.select_option("#captions", "captions.es.vtt")
    page.wait_for_function("document.getElementById('film').textTracks[2].activeCues?.length === 1")
    assert page.evaluate("document.getElementById('film').textTracks[2].activeCues[0].text") == "Solo pies"
    assert page.evaluate("document.getElementById('film').textTracks[0].mode") == "disabled"
    page.select_option("#captions", "")
    assert page.evaluate("[...document.getElementById('film').textTracks].every((one) => one.mode !== 'showing')")
    context.close()


def test_the_rules_beside_the_film_are_those_of_the_station_being_played(page: Page) -> None:
    assert shown_sheet(page) == ["0"]
    for moment, number in ((4.5, "1"), (11.9, "1"), (12.0, "2"), (29.5, "3"), (1.0, "0")):
        at(page, moment)
        assert shown_sheet(page) == [number]
        current = page.eval_on_selector_all(".jump[aria-current]", "(all) => all.map((one) => one.dataset.number)")
        assert current == ([number] if number != "0" else [])


def test_the_rules_are_the_booklets(folder: Path, booklet: Booklet) -> None:
    assert rules_of_html(folder / "index.html") == tuple(rule for texts in booklet.texts() for rule in texts)


def test_a_plate_leads_to_its_station_and_a_rule_to_its_words(page: Page) -> None:
    page.locator(".jump").nth(1).click()
    assert now_s(page) >= 12.0
    assert shown_sheet(page) == ["2"]
    page.evaluate("document.getElementById('film').pause()")
    link = page.locator("[data-sheet='2'] a.hear").first
    wanted = float(link.get_attribute("data-at") or "nan")
    link.click()
    assert now_s(page) >= min(wanted, LENGTH_S) - 0.01


def test_the_speed_is_a_plain_control_that_agrees_with_the_film(page: Page) -> None:
    page.select_option("#speed", "1.5")
    assert page.evaluate("document.getElementById('film').playbackRate") == 1.5
    page.evaluate("document.getElementById('film').playbackRate = 0.75")
    page.wait_for_function("document.getElementById('speed').value === '0.75'")


def test_everything_is_done_by_keyboard_and_nothing_is_trapped(page: Page) -> None:
    """The documented keys act while the film has the focus; Tab reaches every control once and leaves the page again."""
    page.locator("#film").focus()
    for key, expected in (("n", 4.0), ("n", 12.0), ("n", 21.0), ("b", 12.0), ("b", 4.0), ("b", 0.0), ("n", 4.0)):
        page.keyboard.press(key)
        assert now_s(page) == pytest.approx(expected, abs=0.05), key
    page.keyboard.press("ArrowRight")
    assert now_s(page) > 4.0
    page.keyboard.press("b")
    page.keyboard.press("c")
    assert page.input_value("#captions") == ""
    page.keyboard.press("c")
    assert page.input_value("#captions") == "captions.vtt"
    page.keyboard.press("f")
    assert page.input_value("#speed") == "1.25"
    page.keyboard.press("s")
    assert page.input_value("#speed") == "1"
    page.keyboard.press("Control+f")
    assert page.input_value("#speed") == "1", "keys of the browser stay the browser's"
    seen: list[str] = []
    for _ in range(60):
        page.keyboard.press("Tab")
        seen.append(
            str(page.evaluate("document.activeElement.id || document.activeElement.dataset.number || document.activeElement.tagName"))
        )
        if seen[-1] == "BODY":
            break
    reached = [name for name in seen if name not in ("film", "A")]
    assert reached == ["captions", "speed", "1", "2", "3", "SUMMARY", "BODY"]
    page.locator("#captions").focus()
    before = now_s(page)
    page.keyboard.press("n")
    assert now_s(page) == before, "a letter in another control is that control's"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("moment", [pytest.param(0.0, id="before the first station"), pytest.param(13.5, id="at a station")])
def test_the_accessibility_checker_finds_nothing(folder: Path, browser: Browser, scheme: Literal["light", "dark"], moment: float) -> None:
    """axe-core's WCAG 2.2 A and AA rules and its best practices, with every fold opened."""
    axe = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
    if not axe.is_file():
        pytest.skip("axe-core is not installed; run scripts/test, or npm ci in web/")
    context = browser.new_context(viewport={"width": 360, "height": 760}, color_scheme=scheme)
    page = context.new_page()
    page.goto((folder / "index.html").as_uri())
    page.wait_for_function(READY)
    at(page, moment)
    page.locator("summary").click()
    page.evaluate(axe.read_text("utf-8"))
    kinds = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("(kinds) => axe.run(document, { runOnly: kinds })", kinds)
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]] == []
    assert len(found["passes"]) > 15
    context.close()


def test_nothing_scrolls_sideways_at_320_px_nor_with_text_at_200_percent(folder: Path, browser: Browser) -> None:
    """WCAG 2.2 success criteria 1.4.10 (reflow at 320 CSS px) and 1.4.4 (text to 200 %)."""
    context = browser.new_context(viewport={"width": 320, "height": 640})
    page = context.new_page()
    page.goto((folder / "index.html").as_uri())
    page.wait_for_function(READY)
    at(page, 13.0)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.add_style_tag(content="html { font-size: 212.5% !important }")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    context.close()


def test_targets_are_large_enough_for_a_thumb(page: Page) -> None:
    """WCAG 2.2 success criterion 2.5.8: 24 by 24 CSS px."""
    at(page, 13.0)
    sizes = page.eval_on_selector_all(
        "a, label, select, summary",
        "(all) => all.map((one) => one.getBoundingClientRect()).filter((box) => box.width).map((box) => [box.width, box.height])",
    )
    assert len(sizes) > 8
    assert all(width >= 24 and height >= 24 for width, height in sizes), sizes


def test_all_is_there_to_read_without_the_script(folder: Path, browser: Browser, booklet: Booklet) -> None:
    context = browser.new_context(java_script_enabled=False)
    plain = context.new_page()
    plain.goto((folder / "index.html").as_uri())
    text = plain.inner_text("body")
    assert [rule for texts in booklet.texts() for rule in texts if rule not in text] == []
    assert plain.locator(".jump").nth(1).get_attribute("href") == "walk.mp4#t=12.000"
    assert not plain.locator("#speed").is_visible(), "a control that does nothing"
    assert plain.locator("#film").get_attribute("controls") is not None
    context.close()


def test_a_walk_without_words_says_so_and_plays(booklet: Booklet, folder: Path, tmp_path: Path, browser: Browser) -> None:
    (tmp_path / "walk.mp4").write_bytes((folder / "walk.mp4").read_bytes())
    silent = WalkFilm("walk.mp4", (320, 180), (), None, FILM.chapters, STATIONS, {})
    write_player(booklet, silent, tmp_path)
    context = browser.new_context()
    page = context.new_page()
    page.goto((tmp_path / "index.html").as_uri())
    page.wait_for_function(READY)
    assert page.get_by_text("No words were heard in this walk").is_visible()
    assert page.locator("#captions").is_disabled()
    page.locator("#film").focus()
    page.keyboard.press("c")
    page.keyboard.press("n")
    assert now_s(page) == pytest.approx(4.0, abs=0.05)
    context.close()


def test_the_same_walk_gives_the_same_bytes(booklet: Booklet, tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_player(booklet, FILM, tmp_path / name)
    one, two = ({file.name: file.read_bytes() for file in (tmp_path / name).iterdir()} for name in ("one", "two"))
    assert one == two


def test_markup_in_captions_and_names_is_shown_and_never_run(folder: Path, booklet: Booklet, tmp_path: Path, browser: Browser) -> None:
    nasty = "</script><script>window.run = 1</script>"
    (tmp_path / "walk.mp4").write_bytes((folder / "walk.mp4").read_bytes())
    text = FilmText("captions.vtt", nasty, "en", f"WEBVTT\n\n00:00:01.000 --> 00:00:03.000\n{nasty}\n")
    write_player(booklet, WalkFilm("walk.mp4", (320, 180), [text], text.file, FILM.chapters, STATIONS, {}), tmp_path)
    context = browser.new_context()
    page = context.new_page()
    page.goto((tmp_path / "index.html").as_uri())
    page.wait_for_function(READY)
    assert page.evaluate("window.run") is None
    assert page.locator("#captions option").nth(1).inner_text() == nasty
    context.close()


def test_a_link_of_the_report_opens_the_film_at_its_moment_with_its_captions(page: Page, folder: Path, booklet: Booklet) -> None:
    read = CaptionsRead(
        "captions.clean.vtt",
        "clean",
        "en",
        [LimitKept("at most 2 lines", 3, 3, "BBC", wish=False), LimitKept("at most 180 words a minute", 2, 3, "BBC", wish=True)],
        [CueToSee(12.4, "0:12", "No <b>hands</b> & feet.", "reads at 260 words a minute")],
    )
    report = write_reading(booklet, [read], folder)
    page.goto(report.as_uri())
    row = page.locator("tbody tr").nth(1).locator("th, td")
    assert row.all_inner_texts() == ["Wish: at most 180 words a minute", "2 of 3 (66 %)", "BBC"]
    assert page.locator(".cues q").inner_text() == "No <b>hands</b> & feet."
    page.locator(".cues a").click()
    page.wait_for_url("**/index.html#t=12.400&captions=captions.clean.vtt")
    page.wait_for_function("Math.abs(document.getElementById('film').currentTime - 12.4) < 0.1")
    assert page.locator("#captions").input_value() == "captions.clean.vtt"
    assert now_s(page) == pytest.approx(12.4, abs=0.05)
