"""The sheet and the course page in a real browser: by keyboard alone, by two at once, in every state; no rule of axe-core is broken."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from annotator import pipeline
from annotator.course import HeardName, read_edit
from tests.server.browsing import BUILT, OpenPage, Serve, Served, all_saved, clean, tab_to

if TYPE_CHECKING:
    from playwright import sync_api

MARKUP = "<b>x</b><script>document.title='broken'</script>&amp;"

pytestmark = BUILT


@pytest.fixture
def at(serve: Serve, drafted: str) -> Served:  # the course is drafted
    return serve()


def person(open_page: OpenPage, at: Served, who: str, path: str = "/1", width: int = 1280, *, looked_at: bool = False) -> sync_api.Page:
    """A browser of one person, who said their name before and knows the way around."""
    page = open_page(width, who=who, looked_at=looked_at)
    page.goto(at.course + path)
    page.locator(".lines-start, .stations").first.wait_for()
    return page


def test_a_station_is_put_right_accepted_and_signed_by_keyboard_alone(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana")
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
    tab_to(page, "Accept it and stay here")
    press("Enter")
    page.get_by_text("Accepted by Ana.").wait_for()
    all_saved(page)
    station = at.station()
    assert (station.name, station.contact, station.standing()) == ("log hop", ("hands", "feet"), "accepted")
    assert any(one.name == "grey wall" and one.ruling == "out" for one in station.surfaces)
    second = person(open_page, at, "Ben")
    tab_to(second, "Sign as the second person")
    second.keyboard.press("Enter")
    second.get_by_text("Signed by Ben.").wait_for()
    all_saved(second)
    assert at.station().signed_by == "Ben"


def test_two_at_one_station_see_each_other_and_keep_what_they_type(at: Served, open_page: OpenPage) -> None:
    ana, ben = person(open_page, at, "Ana"), person(open_page, at, "Ben")
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
    assert at.station().name == "log hop", "nothing is overwritten unseen"
    ben.get_by_role("button", name="Take mine").click()
    ana.get_by_role("heading", name="Bar hop").wait_for()
    all_saved(ben)
    assert at.station().name == "bar hop"


def test_what_is_done_without_a_server_is_still_there_after_the_tab_was_closed(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana")
    page.context.set_offline(True)
    page.get_by_role("button", name="Accept stumps").click()
    page.get_by_text("1 change is kept here until the server is back").wait_for()
    other = page.context.new_page()
    page.close()
    other.context.set_offline(False)
    other.goto(at.course)
    all_saved(other)
    other.goto(at.course + "/1")
    other.locator(".rule-accepted", has_text="stumps").wait_for()
    all_saved(other)
    assert next(one for one in at.station().surfaces if one.name == "stumps").state == "accepted"


def test_markup_and_ten_thousand_letters_are_letters_and_nothing_is_lost(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana", "")
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
    page.goto(at.course + "/1")
    page.get_by_role("button", name="Change name and limbs").click()
    page.get_by_label("Name", exact=True).fill(MARKUP)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Add a finish").click()
    page.get_by_label("What is the finish?").fill(MARKUP)
    all_saved(page)
    page.go_back()
    page.locator(".stations").wait_for()
    page.go_forward()
    half = page.get_by_label("What is the finish?")
    half.wait_for()
    assert half.input_value() == MARKUP, "what was half typed is there again"
    half.press("Enter")
    page.locator(".lines-finish", has_text=MARKUP).wait_for()
    all_saved(page)
    assert page.title() != "broken" and page.locator("main script, main b b").count() == 0
    assert at.station().name == MARKUP and at.library.course(at.name).doc.title == MARKUP


def test_stations_are_ordered_split_joined_added_and_taken_out_and_all_of_it_undone(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana", "")

    def names() -> list[str]:
        all_saved(page)
        return [str(at.doc.name) for at in at.library.stations(at.name)]

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
    page.reload()  # what was done outlasts it
    for left in (4, 3, 2):
        page.get_by_role("button", name="Undo").click()
        page.locator(".stations > li").nth(left - 1).wait_for()
        page.locator(".stations > li").nth(left).wait_for(state="detached")
        all_saved(page)
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").wait_for(state="detached")
    assert names() == before


def test_a_station_whose_draft_is_right_takes_few_actions(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana")
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
        if still:  # it opened by itself
            page.locator(".other-stills button[aria-pressed=true]").nth(0).wait_for()
            assert page.locator(".other-stills button").nth(still).get_attribute("aria-pressed") == "true"
        click("I looked: no face is left outside a box")
    click("Accept station 1 and go on to 2")
    page.get_by_role("heading", name="Rung bridge").wait_for()
    all_saved(page)
    station = at.station()
    assert station.standing() == "accepted"
    assert {mark.surface for mark in station.marks} >= {one.id for one in station.surfaces if one.ruling == "in"}
    assert [each.kind for each in pipeline.findings(at.library, at.name) if each.station == 1 and each.severity == "blocks"] == []
    assert len(actions) <= 12, actions


def test_no_state_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(at: Served, open_page: OpenPage) -> None:
    page = person(open_page, at, "Ana", looked_at=True)
    ben = person(open_page, at, "Ben")
    page.get_by_text("Ben is here too.").wait_for()
    for button in ("Change name and limbs", "Change stumps", "Add a start", "Put aside …"):
        page.get_by_role("button", name=button).first.click()
    for fold in page.locator(".in-languages summary, .still-words summary").all():
        fold.click()
    page.locator(".in-words").nth(4).wait_for()
    page.get_by_label("Name", exact=True).first.fill("x" * 300)
    clean(page, "a station with all that opens in it")
    page.get_by_label("Name", exact=True).first.fill("log hop")
    ben.get_by_role("button", name="Change name and limbs").click()
    ben.get_by_label("Name", exact=True).fill("bar hop")
    ben.keyboard.press("Enter")
    page.get_by_role("heading", name="Bar hop").wait_for()
    page.get_by_label("Name", exact=True).first.press("Enter")
    page.locator(".side").nth(1).wait_for()
    clean(page, "both versions side by side", ".choices")
    page.get_by_role("button", name="Keep theirs").click()
    page.locator(".choices").wait_for(state="detached")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("?")
    page.locator("dialog[open]").wait_for()
    clean(page, "the list of keys")
    page.keyboard.press("Escape")
    page.goto(at.course)
    page.locator(".stations").wait_for()
    for button in ("Change the title", "More to do with", "Make two of it", "Add a station", "Change: "):
        page.get_by_role("button", name=button).first.click()
    for fold in page.locator("main summary").all():
        fold.click()
    page.locator(".names-grid .text-field").first.wait_for()
    clean(page, "the course with all that opens in it")
    page.get_by_role("button", name="Show me around again").click()
    for step in range(9):
        page.locator("[data-tour]").wait_for()
        clean(page, f"step {step + 1} of the way around", ".tour")
        page.locator(".tour .row button").last.focus()
        page.locator(".tour button.small:not(.plain)").click()
    page.locator(".tour").wait_for(state="detached")


def test_the_way_around_is_offered_once_and_left_at_any_time(at: Served, open_page: OpenPage) -> None:
    page = open_page()
    page.goto(at.course)
    page.get_by_role("button", name="Show me around").click()
    page.keyboard.press("Enter")
    page.locator(".tour", has_text="2 of 9").wait_for()
    page.keyboard.press("Escape")
    page.locator(".tour").wait_for(state="detached")
    page.reload()
    page.get_by_role("button", name="Show me around again").wait_for()
    assert page.get_by_text("New here?").count() == 0


def test_a_thing_whose_name_was_heard_wrong_is_renamed_where_that_is_told(at: Served, open_page: OpenPage) -> None:
    library, drafted = at.library, at.name
    pipeline.accept(library, drafted, who="Ana")
    said = next(word.start for word in pipeline.course_words(library, library.course(drafted).doc) if word.text == "stumps.")
    name = HeardName(heard="stumps", name="stemps", reason="'stumps' sounds like 'stemps'.", score=0.9, at=(said,))
    pipeline.change(library, drafted, "Ana", lambda course, stations: (course.model_copy(update={"heard": (name,)}), stations))
    pipeline.decide(library, drafted, [read_edit({"do": "accept-name", "heard": "stumps"})], who="Ana")
    page = open_page(360, who="Ana", looked_at=True)
    page.goto(f"{at.course}/1")
    rename = page.get_by_role("button", name="Rename it to “stemps”")
    rename.wait_for()
    clean(page, "a thing that the words call otherwise now")
    rename.click()
    rename.wait_for(state="detached")
    all_saved(page)
    line = next(one for one in at.station().surfaces if one.name == "stemps")
    assert line.state == "accepted"
    assert [one for one in pipeline.findings(library, drafted) if one.kind == "name-heard-wrong"] == []
