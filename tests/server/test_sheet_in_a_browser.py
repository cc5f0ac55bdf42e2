"""The sheet and the course page in a real browser: by keyboard alone, by two at once, in every state; no rule of axe-core is broken."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from werkzeug.serving import make_server

from annotator.course import Station
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
MOST_TABS = 120
MARKUP = "<b>x</b><script>document.title='broken'</script>&amp;"

pytestmark = pytest.mark.skipif(not (PAGES / "index.html").is_file(), reason="the staff pages are not built: npm run build in web/")


@dataclass(frozen=True)
class Served:
    address: str
    library: Library
    course: str

    def station(self, name: str = "t1") -> Station:
        return self.library.station(self.course, name).doc


@pytest.fixture
def served(library: Library, drafted: str) -> Iterator[Served]:
    app = create_app(Config(library, work=False))
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield Served(f"http://127.0.0.1:{server.server_port}/course/{drafted}", library, drafted)
    server.shutdown()
    thread.join(10)
    server.server_close()
    close(app)


def person(browser: sync_api.Browser, served: Served, who: str, path: str = "/1", **more: object) -> sync_api.Page:
    """A browser of one person, who said their name before and knows the way around."""
    context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, "reduced_motion": "reduce", **more})  # type: ignore[arg-type]
    context.add_init_script(f"localStorage.setItem('annotator who', '{who}'); localStorage.setItem('annotator tour', 'seen')")
    page = context.new_page()
    page.goto(served.address + path)
    page.locator(".lines-start, .stations").first.wait_for()
    return page


def all_saved(page: sync_api.Page) -> None:
    page.get_by_text("All saved").wait_for()


def tab_to(page: sync_api.Page, name: str) -> None:
    """Press Tab until the thing that holds the focus has this label or text."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        told = page.evaluate(
            "() => { const e = document.activeElement;"
            " return e.getAttribute('aria-label') ?? e.labels?.[0]?.innerText ?? e.innerText ?? ''; }"
        )
        if told.strip() == name:
            return
    raise AssertionError(f"Tab does not reach {name!r}")


def test_a_station_is_put_right_accepted_and_signed_by_keyboard_alone(served: Served, browser: sync_api.Browser) -> None:
    page = person(browser, served, "Ana")
    press = page.keyboard.press
    tab_to(page, "Change name and limbs")
    press("Enter")
    tab_to(page, "Name")
    press("Control+A")
    page.keyboard.type("log hop")
    press("Enter")
    tab_to(page, "feet only")
    press("ArrowRight")
    tab_to(page, "Change stumps")
    press("Enter")
    tab_to(page, "on the way")
    press("ArrowRight")
    page.locator(".lines-finish", has_text="stumps").wait_for()
    focused = page.evaluate("document.activeElement.labels?.[0]?.innerText")
    assert focused == "the finish", "the control that took the line to another group still has the focus"
    press("ArrowLeft")
    page.locator(".lines-in", has_text="stumps").wait_for()
    tab_to(page, "Add what is out of play")
    press("Enter")
    page.keyboard.type("grey wall")
    press("Enter")
    page.locator(".lines-out", has_text="grey wall").wait_for()
    page.evaluate("document.activeElement.blur()")
    press("Control+Z")
    page.locator(".lines-out", has_text="grey wall").wait_for(state="detached")
    press("Control+Shift+Z")
    page.locator(".lines-out", has_text="grey wall").wait_for()
    tab_to(page, "Accept station 1")
    press("Enter")
    page.get_by_text("Accepted by Ana.").wait_for()
    all_saved(page)
    station = served.station()
    assert (station.name, station.contact, station.standing()) == ("log hop", ("hands", "feet"), "accepted")
    assert any(one.name == "grey wall" and one.ruling == "out" for one in station.surfaces)
    page.context.close()
    second = person(browser, served, "Ben")
    tab_to(second, "Sign as the second person")
    second.keyboard.press("Enter")
    second.get_by_text("Signed by Ben.").wait_for()
    all_saved(second)
    assert served.station().signed_by == "Ben"
    second.context.close()


def test_two_at_one_station_see_each_other_and_keep_what_they_type(served: Served, browser: sync_api.Browser) -> None:
    ana, ben = person(browser, served, "Ana"), person(browser, served, "Ben")
    ana.get_by_text("Ben is here too.").wait_for()
    ben.get_by_text("Ana is here too.").wait_for()
    ben.get_by_role("button", name="Change name and limbs").click()
    name = ben.get_by_label("Name", exact=True)
    name.fill("bar hop")
    ana.get_by_role("button", name="Accept stumps").click()
    ben.locator(".rule-accepted", has_text="stumps").wait_for()
    assert name.input_value() == "bar hop" and name.evaluate("e => document.activeElement === e")
    ana.get_by_role("button", name="Change name and limbs").click()
    ana.get_by_label("Name", exact=True).fill("log hop")
    ana.keyboard.press("Enter")
    ben.get_by_role("heading", name="Log hop").wait_for()
    assert name.input_value() == "bar hop"
    name.press("Enter")
    sides = ben.locator(".side")
    sides.nth(1).wait_for()
    assert [side.locator(".side-words").inner_text() for side in sides.all()] == ["log hop", "bar hop"]
    assert "Ana has" in sides.nth(0).inner_text()
    assert served.station().name == "log hop", "nothing is overwritten unseen"
    ben.get_by_role("button", name="Take mine").click()
    ana.get_by_role("heading", name="Bar hop").wait_for()
    all_saved(ben)
    assert served.station().name == "bar hop"
    ana.context.close()
    ben.context.close()


def test_what_is_done_without_a_server_is_still_there_after_the_tab_was_closed(served: Served, browser: sync_api.Browser) -> None:
    page = person(browser, served, "Ana")
    page.context.set_offline(True)
    page.get_by_role("button", name="Accept stumps").click()
    page.get_by_text("1 change is kept here until the server is back").wait_for()
    other = page.context.new_page()
    page.close()
    other.context.set_offline(False)
    other.goto(served.address)
    all_saved(other)
    other.goto(served.address + "/1")
    other.locator(".rule-accepted", has_text="stumps").wait_for()
    all_saved(other)
    assert next(one for one in served.station().surfaces if one.name == "stumps").state == "accepted"
    other.context.close()


def test_markup_and_ten_thousand_letters_are_letters_and_nothing_is_lost(served: Served, browser: sync_api.Browser) -> None:
    page = person(browser, served, "Ana", "")
    page.get_by_role("button", name="Change the title").click()
    title = page.get_by_label("Title of the course")
    title.fill("x" * 10_000)
    title.press("Enter")
    page.get_by_text("That has 10000 characters; use at most 120. It is not saved yet.").wait_for()
    assert len(title.input_value()) == 10_000
    title.fill(MARKUP)
    title.press("Enter")
    page.get_by_role("heading", name=MARKUP).wait_for()
    all_saved(page)
    page.goto(served.address + "/1")
    page.get_by_role("button", name="Change name and limbs").click()
    page.get_by_label("Name", exact=True).fill(MARKUP)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Add a finish").click()
    page.get_by_label("What is the finish?").fill(MARKUP)
    page.keyboard.press("Enter")
    page.locator(".lines-finish", has_text=MARKUP).wait_for()
    all_saved(page)
    assert page.title() != "broken" and page.locator("main script, main b b").count() == 0
    assert served.station().name == MARKUP and served.library.course(served.course).doc.title == MARKUP
    page.context.close()


def test_stations_are_ordered_split_joined_added_and_taken_out_and_all_of_it_undone(served: Served, browser: sync_api.Browser) -> None:
    page = person(browser, served, "Ana", "")

    def names() -> list[str]:
        all_saved(page)
        return [str(at.doc.name) for at in served.library.stations(served.course)]

    before = names()
    page.get_by_role("button", name="Move rung bridge one place forward").click()
    assert names() == ["rung bridge", "stump hop"]
    page.get_by_role("button", name="More to do with stump hop").click()
    page.get_by_role("button", name="Make two of it").click()
    page.get_by_label("Name of the second").fill("stump hop two")
    page.get_by_role("button", name="Split here").click()
    page.get_by_role("link", name="Stump hop two").wait_for()
    assert names() == ["rung bridge", "stump hop", "stump hop two"]
    page.get_by_role("button", name="Add a station").click()
    page.get_by_label("Name of the station").fill("net")
    page.get_by_role("button", name="Add it").click()
    page.get_by_role("link", name="Net", exact=True).wait_for()
    page.get_by_role("button", name="More to do with rung bridge").click()
    page.get_by_role("button", name="Take it out of the course").click()
    page.get_by_role("link", name="Rung bridge").wait_for(state="detached")
    assert names() == ["stump hop", "stump hop two", "net"]
    for left in (4, 3, 2):
        page.get_by_role("button", name="Undo").click()
        page.locator(".stations > li").nth(left - 1).wait_for()
        page.locator(".stations > li").nth(left).wait_for(state="detached")
        all_saved(page)
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").wait_for(state="detached")
    assert names() == before
    page.context.close()


def test_a_station_whose_draft_is_right_takes_few_actions(served: Served, browser: sync_api.Browser) -> None:
    page = person(browser, served, "Ana")
    actions: list[str] = []

    def click(name: str) -> None:
        page.get_by_role("button", name=name).first.click()
        actions.append(name)

    page.get_by_role("button", name="Take all 3 proposed").wait_for()
    click("Take all 3 proposed")
    page.locator(".mark-sign", has_text="1 mark").nth(2).wait_for()
    board = page.locator(".board").bounding_box()
    assert board is not None
    left, top, wide, high = (board[side] for side in ("x", "y", "width", "height"))
    page.get_by_label("a box").check()
    actions.append("a box")
    page.mouse.move(left + wide * 0.3, top + high * 0.7)
    page.mouse.down()
    page.mouse.move(left + wide * 0.5, top + high * 0.8, steps=5)
    page.mouse.up()
    actions.append("drag")
    page.locator(".lines-in .mark-sign", has_text="1 mark").wait_for()
    for still in range(page.locator(".other-stills button").count() or 1):
        if still:
            page.locator(".other-stills button").nth(still).click()
            actions.append("the next still")
        click("I looked: no face is left outside a box")
    click("Accept station 1")
    page.get_by_text("Accepted by Ana.").wait_for()
    all_saved(page)
    station = served.station()
    assert station.standing() == "accepted"
    assert {mark.surface for mark in station.marks} >= {one.id for one in station.surfaces if one.ruling == "in"}
    assert page.locator(".leaf-sheet .finding-blocks").count() == 0
    assert len(actions) <= 12, actions
    page.context.close()


def clean(page: sync_api.Page, state: str) -> None:
    page.evaluate(AXE.read_text("utf-8"))
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)
    assert [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]] == [], state
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, f"{state}: wider than the screen"


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light"), (2560, "dark")])
def test_no_state_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(
    served: Served, browser: sync_api.Browser, width: int, scheme: Literal["light", "dark"]
) -> None:
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in web/")
    ana = person(browser, served, "Ana", bypass_csp=True, color_scheme=scheme, viewport={"width": width, "height": 900})
    ben = person(browser, served, "Ben")
    ana.get_by_text("Ben is here too.").wait_for()
    for button in ("Change name and limbs", "Change stumps", "Add a start", "Put aside …"):
        ana.get_by_role("button", name=button).first.click()
    ana.get_by_label("Name", exact=True).first.fill("x" * 300)
    clean(ana, "a station with all that opens in it")
    ana.get_by_label("Name", exact=True).first.fill("log hop")
    ben.get_by_role("button", name="Change name and limbs").click()
    ben.get_by_label("Name", exact=True).fill("bar hop")
    ben.keyboard.press("Enter")
    ana.get_by_role("heading", name="Bar hop").wait_for()
    ana.get_by_label("Name", exact=True).first.press("Enter")
    ana.locator(".side").nth(1).wait_for()
    clean(ana, "both versions side by side")
    ana.get_by_role("button", name="Keep theirs").click()
    ana.locator(".choices").wait_for(state="detached")
    ana.evaluate("document.activeElement.blur()")
    ana.keyboard.press("?")
    ana.locator("dialog[open]").wait_for()
    clean(ana, "the list of keys")
    ana.keyboard.press("Escape")
    ana.goto(served.address)
    ana.locator(".stations").wait_for()
    for button in ("Change the title", "More to do with", "Make two of it", "Add a station", "Change: "):
        ana.get_by_role("button", name=button).first.click()
    clean(ana, "the course with all that opens in it")
    ana.get_by_role("button", name="Show me around again").click()
    for step in range(9):
        ana.locator("[data-tour]").wait_for()
        clean(ana, f"step {step + 1} of the way around")
        ana.locator(".tour .row button").last.focus()
        ana.locator(".tour button.small:not(.plain)").click()
    ana.locator(".tour").wait_for(state="detached")
    ana.context.close()
    ben.context.close()


def test_the_way_around_is_offered_once_and_left_at_any_time(served: Served, browser: sync_api.Browser) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(served.address)
    page.get_by_role("button", name="Show me around").click()
    page.keyboard.press("Enter")
    page.locator(".tour", has_text="2 of 9").wait_for()
    page.keyboard.press("Escape")
    page.locator(".tour").wait_for(state="detached")
    page.reload()
    page.get_by_role("button", name="Show me around again").wait_for()
    assert page.get_by_text("New here?").count() == 0
    context.close()
