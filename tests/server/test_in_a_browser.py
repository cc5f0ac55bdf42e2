"""The staff pages in a real browser: a walk is uploaded and becomes a course; no page breaks a rule of axe-core."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from tests.server.browsing import BUILT, OpenPage, Serve, Served, clean
from tests.small_walk import LATER, draw_clip, write_captions

if TYPE_CHECKING:
    from playwright import sync_api

pytestmark = BUILT


@pytest.fixture
def at(serve: Serve) -> Served:
    return serve(work=True)


@pytest.fixture
def page(open_page: OpenPage) -> sync_api.Page:
    """A page on a phone's screen."""
    return open_page(360)


def test_a_walk_is_taken_in_by_hand_and_read_as_a_course(at: Served, page: sync_api.Page, walk_clip: Path, walk_captions: Path) -> None:
    page.goto(at.address)
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
    (course,) = at.library.courses()
    assert course.doc.title == "Spring <course> & Ł"
    assert at.library.stations(course.doc.name)[0].doc.standing() == "accepted"


def test_a_clip_that_was_forgotten_is_added_on_the_course_page(
    at: Served, open_page: OpenPage, drafted: str, walk_clip: Path, tmp_path: Path
) -> None:
    pipeline.accept(at.library, drafted, who="Ana")
    before = at.library.stations(drafted)
    forgotten, captions = draw_clip(tmp_path / "later.mp4", 12, shade=180), write_captions(tmp_path / "later.vtt", LATER)
    page = open_page(360, who="Ana", looked_at=True)
    page.goto(at.course)
    page.get_by_role("button", name="Add a clip").click()
    form = page.get_by_role("form", name="Add a clip")
    form.get_by_role("button", name="Add and read it").wait_for()
    assert form.get_by_role("button", name="Add and read it").is_disabled()
    form.locator("input[type=file]").first.set_input_files(walk_clip)
    form.get_by_text("This clip is in this course already.").wait_for()
    assert form.get_by_role("button", name="Add and read it").is_disabled()
    clean(page, "a clip that is there already is chosen to be added")
    form.get_by_role("button", name="Take spring walk.mp4 out").click()
    form.locator("input[type=file]").first.set_input_files(forgotten)
    form.get_by_text("0:12, 320 × 180").wait_for()
    assert form.locator(".clip-number").inner_text() == "2"
    form.get_by_text("Captions instead of listening").click()
    form.get_by_label("Captions of later.mp4").set_input_files(captions)
    form.get_by_text("3 captions").wait_for()
    form.get_by_label("Names of its stations and things").fill("tall wall")
    clean(page, "a clip to be added")
    form.get_by_role("button", name="Add and read it").click()
    form.wait_for(state="detached")
    assert page.evaluate("document.activeElement.innerText") == "Add a clip"
    page.locator("a.plate").nth(2).wait_for()
    page.get_by_text("Clip 2: later.mp4").wait_for()
    assert [at.doc.name for at in at.library.stations(drafted)] == ["stump hop", "rung bridge", "tall wall"]
    assert at.library.stations(drafted)[:2] == before


def test_a_file_that_is_no_clip_is_refused_in_a_sentence_where_it_was_chosen(at: Served, page: sync_api.Page, tmp_path: Path) -> None:
    notes = tmp_path / "notes.mp4"
    notes.write_text("no film")
    page.goto(f"{at.address}/take-in")
    page.locator("input[type=file]").first.set_input_files(notes)
    refused = page.locator(".clip-refused [role=alert]")
    refused.wait_for()
    assert "notes.mp4" in refused.inner_text()
    assert page.get_by_role("button", name="Take it in").is_disabled()


def test_a_clip_that_was_cut_off_says_so_where_it_was_chosen(at: Served, page: sync_api.Page, half_clip: Path) -> None:
    page.goto(f"{at.address}/take-in")
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


def test_a_spot_of_a_still_is_asked_by_tap_and_by_keys(at: Served, page: sync_api.Page, marked: str) -> None:
    page.goto(f"{at.address}/course/{marked}/1")
    board = page.locator(".board")
    board.wait_for()
    shown = board.bounding_box()
    assert shown is not None
    board.click(position={"x": shown["width"] * 55 / 320, "y": shown["height"] * 112 / 180})
    page.locator(".verdict", has_text="In play").wait_for()
    inside = (
        "() => { const at = document.querySelector('.verdict').getBoundingClientRect(); return at.top >= 0 && at.bottom <= innerHeight; }"
    )
    page.wait_for_function(inside)  # whoever asks reads the answer without looking for it
    board.focus()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    for _ in range(12):
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    page.locator(".verdict", has_text="Out of play").wait_for()
    page.keyboard.press("Escape")
    page.locator(".verdict").wait_for(state="detached")


def test_somebody_who_looked_at_the_faces_of_a_still_says_so_once(at: Served, page: sync_api.Page, drafted: str) -> None:
    page.goto(f"{at.address}/course/{drafted}/1")
    seen = page.get_by_role("button", name="I looked: no face is left outside a box")
    seen.click()
    seen.wait_for(state="detached")
    page.get_by_text("looked at the faces: there are none.").wait_for()
    page.get_by_text("All saved").wait_for()
    (still, *_) = at.library.stations(drafted)[0].doc.stills
    assert still.faces == () and still.faces_by is not None


def test_what_is_done_while_the_server_is_gone_is_kept_here_and_sent_when_it_is_back(at: Served, page: sync_api.Page, drafted: str) -> None:
    page.goto(f"{at.address}/course/{drafted}/1")
    accept = page.get_by_role("button", name="Accept station 1")
    accept.wait_for()
    page.context.set_offline(True)
    accept.click()
    page.get_by_text("1 change is kept here until the server is back").wait_for()
    accept.wait_for(state="detached")
    assert at.library.stations(drafted)[0].doc.standing() == "drafted"
    page.context.set_offline(False)
    page.get_by_text("All saved").wait_for()
    assert at.library.stations(drafted)[0].doc.standing() == "accepted"


def test_no_page_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(at: Served, open_page: OpenPage, marked: str) -> None:
    page = open_page(looked_at=True)
    for path, ready in (
        ("/", ".strip"),
        ("/take-in", ".take-in"),
        (f"/course/{marked}", ".whole"),
        (f"/course/{marked}/1", ".overlay svg"),
        (f"/course/{marked}/2", ".board"),
        (f"/course/{marked}/9", "main h1"),
        ("/course/none", "main p"),
    ):
        page.goto(at.address + path)
        page.locator(ready).first.wait_for()
        clean(page, path)
    page.goto(f"{at.address}/course/{marked}")
    page.get_by_role("button", name="Who are you?").click()
    page.get_by_role("button", name="Accept all stations as they stand").click()
    page.get_by_role("button", name="Yes, accept all").wait_for()
    clean(page, "asked who somebody is, and whether they are sure")
    page.goto(f"{at.address}/course/{marked}/1")
    page.locator(".board .overlay svg").wait_for()
    page.locator(".board").focus()
    page.keyboard.press("Enter")
    page.locator(".verdict").wait_for()
    page.context.set_offline(True)
    page.get_by_role("button", name="Accept stumps").click()
    page.get_by_text("1 change is kept here until the server is back").wait_for()
    clean(page, "a spot was asked, and a change waits for the server")


def test_an_empty_library_says_what_to_do_first_with_one_button(at: Served, page: sync_api.Page) -> None:
    page.goto(at.address)
    page.locator(".begin").wait_for()
    assert page.locator("main a, main button").count() == 1
    assert page.locator(".begin p").inner_text() == "Film the walk of your course with a phone. Then bring the film here."


def test_on_a_phone_the_row_of_plates_shows_the_open_station(at: Served, page: sync_api.Page, drafted: str) -> None:
    end = at.library.course(drafted).doc.clips[0].duration_s
    add = [read_edit({"do": "add-station", "name": f"wall {number}", "start": end - 1, "end": end}) for number in range(3, 13)]
    pipeline.decide(at.library, drafted, add, who="Ana")
    seen = """() => {
        const open = document.querySelector(".plates [aria-current=page]");
        if (!open) return false;
        const at = open.getBoundingClientRect();
        return open.textContent.startsWith("%s") && at.left >= 0 && at.right <= innerWidth && scrollY === 0;
    }"""
    page.goto(f"{at.course}/9")
    page.locator("main h1").wait_for()
    page.wait_for_function(seen % "9")
    page.locator("a.plate").nth(9).click()  # its neighbour
    page.wait_for_function(seen % "10")
    page.goto(f"{at.course}/12")
    page.wait_for_function(seen % "12")
    page.go_back()
    page.wait_for_function(seen % "10")
    page.locator(".course-plate").first.click()
    page.wait_for_function(seen % "The course")
