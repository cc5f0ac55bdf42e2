"""The whole job in a real browser with no pointer at all: from a drafted course to its published edition, by two people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from annotator import pipeline
from annotator.course import read_edit
from tests.server.browsing import BUILT, MOST_TABS, OpenPage, Serve, all_saved, tab_to

if TYPE_CHECKING:
    from playwright import sync_api

pytestmark = BUILT
BOARD = ".board.marking"
PATIENCE_MS = 300_000  # for a busy machine
FACES = "I looked: no face is left outside a box"


def test_a_drafted_course_is_mended_marked_accepted_signed_and_published_by_keys_alone(
    serve: Serve, drafted: str, open_page: OpenPage
) -> None:
    at = serve(work=True)
    mat = next(each.id for each in at.station(2).surfaces if each.name == "landing mat")
    missing = {"do": "change-surface", "station": 2, "surface": mat, "set": {"role": "route"}}
    pipeline.decide(at.library, drafted, [read_edit(missing)], who="Cleo")
    ana = open_page(1280, who="Ana")
    ana.goto(at.course)
    ana.locator(".stations").wait_for()
    press(ana, "Accept these rules")
    press(ana, "Go on with station 1, stump hop")
    mark_by_keys(ana, "Take all 3 proposed", drawn=("stumps",))
    close_station(ana, "Accept station 1 and go on to 2")
    ana.get_by_role("heading", name="Rung bridge").wait_for()
    press(ana, "Yes: the finish is the landing mat")
    ana.locator(".lines-finish", has_text="landing mat").wait_for()
    mark_by_keys(ana, "Take the proposed one", drawn=("rungs", "landing mat"))
    close_station(ana, "Accept station 2 and go to the course")
    ana.locator(".stations").wait_for()
    all_saved(ana)
    assert [each.kind for each in pipeline.findings(at.library, drafted) if each.severity == "blocks"] == []
    for number in (1, 2):
        station = at.station(number)
        assert {mark.surface for mark in station.marks} >= {each.id for each in station.surfaces if each.ruling == "in"}
        assert (station.accepted_by, all(still.faces_by == "Ana" for still in station.stills)) == ("Ana", True)
    ben = open_page(1280, who="Ben")
    ben.goto(at.course)
    ben.locator(".stations").wait_for()
    press(ben, "Sign station 1, stump hop")
    press(ben, "Sign as the second person")
    press(ben, "On to station 2")
    press(ben, "Sign as the second person")
    press(ben, "Back to the course")
    all_saved(ben)
    press(ben, "Publish edition 1")
    ben.wait_for_function("document.activeElement.matches('.publishing')")  # how far it is stands where it was asked for
    ben.locator(".publishing", has_text="Edition 1 is out.").wait_for(timeout=PATIENCE_MS)
    assert ben.locator(".publishing").get_by_role("link", name="Open the booklet").get_attribute("href") == f"/booklet/{drafted}/"
    ben.locator(".edition", has_text="Booklet").wait_for(timeout=PATIENCE_MS)
    assert [at.station(number).signed_by for number in (1, 2)] == ["Ben", "Ben"]
    (edition,) = at.library.editions(drafted)
    assert (edition.number, edition.who) == (1, "Ben")


def press(page: sync_api.Page, name: str) -> None:
    """Go to a control by Tab and press Enter on it."""
    page.get_by_text(name, exact=True).or_(page.get_by_label(name, exact=True)).first.wait_for()
    tab_to(page, name)
    page.keyboard.press("Enter")


def mark_by_keys(page: sync_api.Page, proposed: str, drawn: tuple[str, ...]) -> None:
    """Take what is proposed, then draw each other thing from corner to corner, or from end to end where it is thin."""
    page.get_by_text("Looking for regions").wait_for(state="detached")
    press(page, proposed)
    for turn, name in enumerate(drawn):
        press(page, f"Mark {name}")
        for _ in range(MOST_TABS):
            page.keyboard.press("Shift+Tab")
            if page.evaluate("place => document.activeElement.matches(place)", BOARD):
                break
        end = ["Enter", "Enter"] if page.get_by_role("radio", name="a bar or rope").is_checked() else ["Enter"]
        for key in (*["ArrowDown", "ArrowRight"] * (2 + 4 * turn), "Enter", *["ArrowRight"] * 4, *["ArrowDown"] * 3, *end):
            page.keyboard.press(key)
        page.locator(f".mark-list [aria-label='{name} 1']").wait_for()
        page.locator(".hand-near[data-seeking]").wait_for(state="detached")
        page.keyboard.press("Escape")


def close_station(page: sync_api.Page, accept: str) -> None:
    """Say of each still that its faces are covered; the next one opens by itself, and after the last the focus is on what closes."""
    count = page.locator(".other-stills button").count() or 1
    for still in range(count):
        if still:
            page.locator(".other-stills li", has=page.locator("[aria-pressed=true]")).nth(0).wait_for()
        press(page, FACES)
    page.wait_for_function("name => document.activeElement.innerText === name", arg=accept)
    page.keyboard.press("Enter")
