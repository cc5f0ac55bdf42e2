"""What goes wrong at the hands of people, in a real browser: each time a sentence says so, and nothing that was typed is lost."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from tests.server.browsing import BUILT, OpenPage, Serve, all_saved, clean, served, soon

if TYPE_CHECKING:
    from playwright import sync_api

pytestmark = BUILT
LONG = 10_000


def odd(place: str) -> str:
    """What would do harm if a page took it for markup, and would be wrong if it were escaped twice."""
    return f'{place} <i id="broken">x</i><script>window.broken=1</script><img src=x onerror="window.broken=1">&amp;'


def holds_no_markup(page: sync_api.Page, *texts: str) -> None:
    """Each text stands on the page, or in a field of it, as it was typed; nothing of it became a part of the page."""
    told = page.evaluate(
        "() => document.body.textContent + [...document.querySelectorAll('input, textarea')].map(each => ` ${each.value}`).join('')"
    )
    assert [text for text in texts if text.lower() not in told.lower()] == []
    assert page.locator("#broken").count() == 0
    assert page.evaluate("window.broken") is None


def test_an_upload_that_runs_waits_fails_or_is_here_already_says_so_and_breaks_no_rule_of_axe_core(
    serve: Serve, drafted: str, open_page: OpenPage, walk_clip: Path, tmp_path: Path
) -> None:
    page = open_page(looked_at=True, who="Ana")
    at = serve()
    notes = tmp_path / "notes.mp4"
    notes.write_text("no film " * 100)
    pieces: list[sync_api.Route] = []
    holding = True

    def piece(route: sync_api.Route) -> None:
        if holding and route.request.method == "PATCH":
            pieces.append(route)
        else:
            route.continue_()

    page.route("**/api/uploads/*", piece)
    page.goto(f"{at.address}/take-in")
    films = page.locator("input[type=file]").first
    films.set_input_files(walk_clip)
    page.get_by_text("0 % is here", exact=True).wait_for()
    soon(page, lambda: len(pieces) == 1)
    clean(page, "an upload runs")
    pieces.pop().abort()
    page.get_by_text("0 % is here. The line dropped; it goes on by itself.").wait_for()
    clean(page, "the line of an upload dropped", ".take-in")
    soon(page, lambda: len(pieces) == 1)
    holding = False
    pieces.pop().continue_()
    page.get_by_text("0:34, 320 × 180").wait_for()
    films.set_input_files([walk_clip, notes])
    page.get_by_text(f"“{walk_clip.name}”: chosen already").wait_for()
    refused = page.locator(".clip-refused [role=alert]")
    refused.wait_for()
    assert "notes.mp4" in refused.inner_text()
    assert page.get_by_role("button", name="Take it in").is_disabled()
    title, names = page.get_by_label("Title of the course"), page.get_by_label("Names of the stations")
    title.fill("x" * LONG)
    names.fill(f"{odd('one')}\nstump hop")
    page.get_by_text(f"The title has {LONG} characters").wait_for()
    clean(page, "a file that is no film, one chosen twice, and a title that is too long")
    page.reload()
    assert (len(title.input_value()), names.input_value()) == (LONG, f"{odd('one')}\nstump hop"), "what was typed outlasts the page"
    title.fill(odd("title"))
    films.set_input_files(walk_clip)
    page.get_by_text("0:34, 320 × 180").wait_for()
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("button", name="Take it in again, as another course").wait_for()
    clean(page, "the same walk is here already", ".take-in")
    holds_no_markup(page, odd("title"), odd("one"))


def test_work_that_runs_and_work_that_fails_break_no_rule_of_axe_core_and_say_what_to_do(
    serve: Serve, open_page: OpenPage, walk_clip: Path, library: Library
) -> None:
    page = open_page(looked_at=True, who="Ana")
    working = True

    def in_the_middle(route: sync_api.Route) -> None:
        """The server's own answer, as it is in the middle of the work."""
        if not working:
            route.continue_()
            return
        answer = route.fetch()
        told = answer.json() | {"state": "working", "stage": "Listening", "share": 0.4, "seconds_left": 90.0, "course": None}
        route.fulfill(response=answer, json=told)

    page.route("**/api/jobs/*", in_the_middle)
    page.goto(f"{serve(work=True).address}/take-in")
    page.locator("input[type=file]").first.set_input_files(walk_clip)
    page.get_by_text("0:34, 320 × 180").wait_for()
    (kept,) = (each for each in (library.root / "uploads").rglob("*") if each.stat().st_size == walk_clip.stat().st_size)
    kept.write_text("the disk lost it", "utf-8")
    page.get_by_role("button", name="Take it in").click()
    page.get_by_text("Listening", exact=True).wait_for()
    clean(page, "taking in runs")
    working = False
    page.locator(".band-ended", has_text=walk_clip.name).wait_for()
    clean(page, "taking in failed")
    assert library.courses() == ()


def test_a_tab_from_yesterday_meets_what_changed_meanwhile_and_loses_nothing(library: Library, drafted: str, open_page: OpenPage) -> None:
    """The page stays open and asleep; others change the course; the server is started again; then somebody goes on in the old page."""
    ana, other = open_page(who="Ana"), open_page(who="Ana")
    stumps = next(each for each in library.stations(drafted)[0].doc.surfaces if each.name == "stumps")
    with served(library) as address:
        for page, number in ((ana, 1), (other, 2)):
            page.goto(f"{address}/course/{drafted}/{number}")
            page.locator(".lines-start").wait_for()
            page.route("**/here", lambda _: None)  # asleep: it hears of nothing
    changes = (
        {"do": "rename-station", "station": 1, "name": "log hop"},
        {"do": "change-surface", "station": 1, "surface": stumps.id, "set": {"name": "logs"}},
        {"do": "remove-station", "station": 2},
    )
    pipeline.decide(library, drafted, [read_edit(change) for change in changes], who="Ben")
    with served(library, port=urlsplit(address).port or 0):
        ana.get_by_role("button", name="Change name and limbs").click()
        ana.get_by_label("Name", exact=True).fill("bar hop")
        ana.keyboard.press("Enter")
        ana.get_by_role("button", name="Accept blue platform").click()
        ana.locator(".side").nth(1).wait_for()
        assert ana.locator(".side-words").all_inner_texts() == ["log hop", "bar hop"]
        assert library.stations(drafted)[0].doc.name == "log hop", "nothing is overwritten unseen"
        ana.get_by_role("button", name="Take mine").click()
        soon(ana, lambda: library.stations(drafted)[0].doc.name == "bar hop")
        all_saved(ana)
        surfaces = library.stations(drafted)[0].doc.surfaces
        assert next(each.name for each in surfaces if each.id == stumps.id) == "logs", "what Ben changed elsewhere stays"
        assert next(each.state for each in surfaces if each.name == "blue platform") == "accepted"
        other.get_by_role("button", name="Accept rungs").click()
        other.get_by_text("It is not there any more, or something else stands in its place now.").wait_for()
        other.get_by_text("This course has no station 2.").wait_for()
        other.get_by_role("button", name="Keep theirs").click()
        all_saved(other)


def test_markup_in_any_field_is_text_on_the_page_and_in_the_course(
    library: Library, drafted: str, serve: Serve, open_page: OpenPage
) -> None:
    """The other fields (title, a new thing's name while marking, a corrected word, those for taking in) have it in their own tests."""
    at = serve()
    page = open_page()
    typed: list[str] = []

    def type_in(place: str, field: sync_api.Locator, key: str = "Enter") -> None:
        field.fill(odd(place))
        field.press(key)
        typed.append(odd(place))

    def press(name: str) -> None:
        page.get_by_role("button", name=name).first.click()

    page.goto(f"{at.course}/1")
    press("Who are you?")
    who = page.get_by_label("Your name, as the others will see it")
    who.fill("<i id=broken>")
    who.press("Enter")
    page.get_by_role("button", name="You are <i id=broken>").wait_for()
    press("Change name and limbs")
    type_in("name", page.get_by_label("Name", exact=True))
    page.locator(".in-languages summary").first.click()
    type_in("name elsewhere", page.locator(".names-grid input").first)
    press("Done")
    press("Change stumps")
    line = page.locator(".lines-in .line-controls")
    type_in("thing", line.get_by_label("Name", exact=True))
    type_in("part", line.get_by_label("Part of it"))
    all_saved(page)  # what it is called elsewhere then stands above the button, which moves
    line.get_by_role("button", name="Differs for a division").click()
    type_in("division", line.get_by_label("Another division"))
    for group, label in (("start", "start"), ("in", "in play"), ("out", "out of play"), ("finish", "finish")):
        page.locator(f".lines-{group}").get_by_role("button", name=re.compile("^Add ")).click()
        type_in(f"a {group}", page.get_by_label(f"What is {label}?" if " " in label else f"What is the {label}?"))
    page.locator(".still-words summary").click()
    type_in("in words", page.locator(".in-words textarea").first, "Tab")
    press("Show the faces on this still")
    type_in("faces", page.get_by_label("Why they may be shown"))
    press("Put aside …")
    type_in("aside", page.get_by_label("Why may it stay so?"))
    all_saved(page)
    holds_no_markup(page, *typed)
    at_course = len(typed)
    page.goto(at.course)
    press("Add a station")
    type_in("added", page.get_by_label("Name of the station"))
    press("More to do with rung bridge")
    press("Make two of it")
    type_in("second", page.get_by_label("Name of the second"))
    page.get_by_role("link", name=odd("Second")).wait_for()
    everywhere = page.locator("#everywhere")
    everywhere.get_by_role("button", name="Add a rule for every station").click()
    type_in("rule", everywhere.get_by_label("The rule, in a sentence; or only the thing"))
    everywhere.locator(".add-rule p").last.wait_for()
    holds_no_markup(page)
    everywhere.get_by_role("button", name="It is only the name of a thing").click()
    everywhere.get_by_role("button", name=re.compile("^Change: .*rule <i")).click()
    type_in("rule's part", everywhere.get_by_label("Part of it"))
    everywhere.get_by_role("button", name="Done").click()
    everywhere.get_by_role("button", name="Change: ").last.click()
    type_in("ranking", everywhere.get_by_label("How runs are ranked"))
    all_saved(page)
    page.reload()
    page.locator(".stations").wait_for()
    holds_no_markup(page, *typed[at_course:])
    course, stations = library.course(drafted).doc, [each.doc for each in library.stations(drafted)]
    kept = json.dumps([each.model_dump(mode="json") for each in (course, *stations)], ensure_ascii=False)
    assert [text for text in typed if json.dumps(text, ensure_ascii=False)[1:-1] not in kept] == [], "kept as it was typed"
