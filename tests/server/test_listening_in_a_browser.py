"""The listening page in a real browser: words are corrected with the keys, borders move, stills are taken, and no state breaks axe-core."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from annotator import pipeline
from annotator.course import HeardName
from annotator.library import Library
from annotator.speech import WordsEdit
from tests.server.browsing import BUILT, OpenPage, Serve, all_saved, clean, soon
from tests.small_walk import draw_clip

if TYPE_CHECKING:
    from playwright import sync_api

KEY_AND_FOCUS = """async word => {
    word.focus();
    word.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true, cancelable: true }));
    await null;
    await null;
    return document.activeElement.className;
}"""
"""What has the focus when the key has been handled, before the browser draws or takes the next key."""

LONG = "pneumonoultramicroscopicsilicovolcanoconiosis-and-then-some-more-letters-to-make-80"

pytestmark = BUILT


@pytest.fixture
def address(library: Library, drafted: str, serve: Serve) -> str:
    """The page of a drafted walk that can be played."""
    pipeline.make_proxies(library, drafted)
    return f"{serve().course}/walk"


@pytest.fixture
def page(open_page: OpenPage) -> sync_api.Page:
    return open_page()


def said(page: sync_api.Page, text: str) -> sync_api.Locator:
    return page.locator(".said-word", has_text=text).first


def reads(library: Library, name: str) -> str:
    return " ".join(word.text for word in pipeline.course_words(library, library.course(name).doc))


def _is_gone(library: Library, name: str, text: str) -> bool:
    return text not in reads(library, name)


def _evaluates(place: sync_api.Locator, script: str, expected: int) -> bool:
    return bool(place.evaluate(script) == expected)


def _begins_at(library: Library, name: str, start: float) -> bool:
    return library.stations(name)[1].doc.start == start


def test_words_are_corrected_with_the_keys_alone_and_all_is_taken_back(
    page: sync_api.Page, address: str, library: Library, drafted: str
) -> None:
    before = reads(library, drafted)
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "stumps.").focus()
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    page.keyboard.type(f"<b>logs</b> سلام {LONG}.")
    page.keyboard.press("Enter")
    said(page, "<b>logs</b>").wait_for()
    soon(page, lambda: f"Feet only on the <b>logs</b> سلام {LONG}. The red" in reads(library, drafted))
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, "a word of 80 letters breaks"
    said(page, "only").focus()
    page.keyboard.press("Delete")
    soon(page, lambda: "Feet on the <b>logs</b>" in reads(library, drafted))
    said(page, "red").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    page.keyboard.type("framework is")
    page.keyboard.press("Enter")
    soon(page, lambda: "The red framework is out" in reads(library, drafted))
    for gone in ("framework", "Feet on the", "<b>logs</b>"):
        page.get_by_role("button", name="Undo").click()
        soon(page, partial(_is_gone, library, drafted, gone))
    said(page, "stumps.").wait_for()
    assert reads(library, drafted) == before
    page.get_by_role("button", name="Do it again").click()
    said(page, "<b>logs</b>").wait_for()


def test_no_letter_goes_astray_between_enter_and_the_field(page: sync_api.Page, address: str) -> None:
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    assert said(page, "stumps.").evaluate(KEY_AND_FOCUS) == "said-write"


def test_the_spoken_word_is_underlined_and_a_tap_goes_there(page: sync_api.Page, address: str) -> None:
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "stumps.").click()
    page.locator(".said-now", has_text="stumps.").wait_for()
    page.keyboard.press("n")
    page.keyboard.press("Escape")
    page.locator(".said-word[aria-pressed=true]").wait_for(state="detached")
    page.keyboard.press("Space")
    page.get_by_role("button", name="Pause").wait_for()
    page.keyboard.press("Space")
    page.get_by_role("button", name="Play", exact=True).wait_for()


def test_one_step_goes_to_the_next_frame_of_the_film(page: sync_api.Page, address: str) -> None:
    page.goto(address)
    video = page.locator(".screen video")
    page.wait_for_function("() => document.querySelector('.screen video')?.readyState >= 2")
    frame = "video => video.seeking ? -1 : Math.floor(video.currentTime * 8)"  # the clip has eight frames a second
    for name, expected in (("One frame on", 1), ("One frame on", 2), ("One frame back", 1)):
        page.get_by_role("button", name=name).click()
        soon(page, partial(_evaluates, video, frame, expected))


def test_a_border_moves_for_both_stations_from_gap_to_gap_and_can_be_taken_back(
    page: sync_api.Page, address: str, library: Library, drafted: str
) -> None:
    first, second = (at.doc for at in library.stations(drafted))
    assert first.end == second.start
    page.goto(address)
    page.locator(".shut", has_text="Rung bridge").click()
    grip = page.get_by_role("slider", name="Begins")
    grip.focus()
    assert "before “Station two is the" in (grip.get_attribute("aria-valuetext") or "")
    page.keyboard.press("ArrowLeft")
    page.locator(".told", has_text="Station 2 now begins at").wait_for()
    soon(page, lambda: library.stations(drafted)[1].doc.start < second.start)
    moved, also = (at.doc for at in library.stations(drafted))
    assert moved.end == also.start
    page.keyboard.press("ArrowLeft")
    soon(page, lambda: "before “it. Station two is" in (grip.get_attribute("aria-valuetext") or ""))
    soon(page, lambda: library.stations(drafted)[1].doc.start < also.start)
    twice = library.stations(drafted)[1].doc
    box = grip.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 + 60, box["y"] + 20, steps=4)
    page.mouse.up()
    soon(page, lambda: library.stations(drafted)[1].doc.start > twice.start)
    dragged, along = (at.doc for at in library.stations(drafted))
    assert dragged.end == along.start
    all_saved(page)
    page.reload()  # what was done outlasts it
    for back in (twice.start, also.start, second.start):
        page.get_by_role("button", name="Undo").click()
        soon(page, partial(_begins_at, library, drafted, back))
    assert [(at.doc.start, at.doc.end) for at in library.stations(drafted)] == [(first.start, first.end), (second.start, second.end)]


def test_a_station_is_split_at_a_word_and_joined_again(page: sync_api.Page, address: str, library: Library, drafted: str) -> None:
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "red").click()
    page.locator(".word-hands").get_by_role("button", name="A new station begins here").click()
    page.locator(".shut", has_text="Rung bridge").get_by_text("3", exact=True).first.wait_for()
    soon(page, lambda: len(library.stations(drafted)) == 3)
    page.locator(".shut", has_text="Stump hop").click()
    page.get_by_role("button", name="Join with station 2").click()
    page.locator(".shut", has_text="Rung bridge").get_by_text("2", exact=True).first.wait_for()
    soon(page, lambda: len(library.stations(drafted)) == 2)


def test_a_name_is_taken_everywhere_from_the_words(page: sync_api.Page, serve: Serve, library: Library, drafted: str) -> None:
    words = pipeline.course_words(library, library.course(drafted).doc)
    at = next(word.start for word in words if word.text == "stumps.")
    name = HeardName(heard="stumps", name="stump posts", reason="'stumps' sounds like 'stump posts'.", score=0.9, at=(at,))
    pipeline.change(library, drafted, "the drafter", lambda course, stations: (course.model_copy(update={"heard": (name,)}), stations))
    page.goto(f"{serve().course}/walk")
    page.locator(".shut", has_text="Stump hop").click()
    page.locator(".names-here", has_text="sounds like").wait_for()
    page.locator(".said-doubt", has_text="stumps.").wait_for()
    page.get_by_role("button", name="Yes, stump posts").click()
    said(page, "posts.").wait_for()
    assert "only on the stump posts." in reads(library, drafted)


def test_the_words_of_two_people_meet_and_the_later_one_chooses(page: sync_api.Page, address: str, library: Library, drafted: str) -> None:
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "stumps.").focus()
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    place = next(n for n, word in enumerate(pipeline.heard_words(library, library.course(drafted).doc)) if word.text == "stumps.")
    edit = {"first": place, "last": place + 1, "was": "stumps.", "parts": ({"first": place, "last": place + 1, "text": "logs."},)}
    pipeline.edit_words(library, drafted, [WordsEdit.model_validate(edit)], who="Ben")
    page.keyboard.type("poles.")
    page.keyboard.press("Enter")
    met = page.locator(".met")
    met.wait_for()
    assert "logs." in met.inner_text() and "poles." in met.inner_text()
    page.get_by_role("button", name="Take mine").click()
    met.wait_for(state="detached")
    soon(page, lambda: "only on the poles." in reads(library, drafted))


def test_corrected_words_are_read_again_and_what_is_new_stands_beside_what_was_accepted_until_it_is_taken(
    page: sync_api.Page, serve: Serve, library: Library, drafted: str
) -> None:
    pipeline.make_proxies(library, drafted)
    pipeline.accept(library, drafted, who="Ana")
    accepted = library.stations(drafted)[0].doc.surfaces
    page.goto(f"{serve(work=True).course}/walk")
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "red").focus()
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    page.keyboard.type("yellow")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Read the rules again").click()
    news = page.locator(".news")
    news.get_by_text("yellow frame").first.wait_for()
    page.reload()
    news.get_by_role("button", name="Accept yellow frame").click()
    news.wait_for(state="detached")  # nothing of it is left
    soon(page, lambda: all(one.state == "accepted" for one in library.stations(drafted)[0].doc.surfaces))
    now = library.stations(drafted)[0].doc.surfaces
    kept = [one.model_copy(update={"said": ()}) for one in now if one.id in {old.id for old in accepted}]
    assert kept == [one.model_copy(update={"said": ()}) for one in accepted]
    assert [one.state for one in now if one.name == "yellow frame"] == ["accepted"]


def test_no_state_of_the_page_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(
    serve: Serve, open_page: OpenPage, library: Library, drafted: str, tmp_path: Path
) -> None:
    pipeline.make_proxies(library, drafted)
    pipeline.accept(library, drafted, who="Ana")
    words = pipeline.course_words(library, library.course(drafted).doc)
    at = next(word.start for word in words if word.text == "bridge.")
    name = HeardName(heard="bridge", name="ridge", reason="'bridge' sounds like 'ridge'.", score=0.9, at=(at,))
    pipeline.change(library, drafted, "the drafter", lambda course, stations: (course.model_copy(update={"heard": (name,)}), stations))
    address = serve(work=True).address
    page = open_page(looked_at=True, who="Ana")
    page.goto(f"{address}/course/{drafted}/walk")
    page.locator(".open-piece .said").wait_for()
    clean(page, "between stations")
    page.locator(".shut", has_text="Rung bridge").click()
    page.locator(".names-here", has_text="sounds like").wait_for()
    clean(page, "a name was perhaps heard wrong")
    page.locator(".shut", has_text="Stump hop").click()
    said(page, "stumps.").click()
    page.locator(".word-hands").wait_for()
    clean(page, "a word is chosen")
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    clean(page, "a word is written anew")
    place = next(n for n, word in enumerate(pipeline.heard_words(library, library.course(drafted).doc)) if word.text == "stumps.")
    edit = {"first": place, "last": place + 1, "was": "stumps.", "parts": ({"first": place, "last": place + 1, "text": "logs."},)}
    pipeline.edit_words(library, drafted, [WordsEdit.model_validate(edit)], who="Ben")
    page.keyboard.type("poles.")
    page.keyboard.press("Enter")
    page.locator(".met").wait_for()
    clean(page, "two changed the same word", ".met")
    page.get_by_role("button", name="Take mine").click()
    page.locator(".met").wait_for(state="detached")
    said(page, "start").focus()
    page.keyboard.press("Enter")
    page.locator(".said-write:focus").wait_for()
    page.keyboard.type("begin")
    page.keyboard.press("Enter")
    page.locator(".offer").wait_for()
    clean(page, "the same words are said elsewhere")
    page.locator(".offer .plain").click()
    page.locator(".corrections summary").click()
    page.locator(".read-again").wait_for()
    clean(page, "words were corrected")
    page.get_by_role("button", name="Read the rules again").click()
    page.locator(".news").get_by_text("poles").first.wait_for()
    clean(page, "a new reading proposes something beside what was accepted")
    # Taken in beside the app, which makes ready what it finds when it starts and what it drafts itself.
    silent = pipeline.take_in(library, [draw_clip(tmp_path / "silent.mp4", 4)], title="Silent", who="Ana")
    page.goto(f"{address}/course/{silent}/walk")
    page.get_by_role("button", name="Make it ready to play").wait_for()
    page.locator(".open-piece").wait_for()
    clean(page, "nobody listened, and nothing plays yet")


def test_a_still_of_a_clip_that_is_missing_as_filmed_says_what_to_do(
    page: sync_api.Page, address: str, library: Library, drafted: str
) -> None:
    library.files.path(library.course(drafted).doc.clips[0].original).unlink()
    page.goto(address)
    page.locator(".shut", has_text="Stump hop").click()
    page.wait_for_function("() => document.querySelector('.screen video')?.readyState >= 2")
    page.get_by_role("button", name="Take this picture").click()
    page.get_by_role("alert").get_by_text("Take in the same clip again").wait_for()


def test_a_stretch_between_stations_becomes_one(page: sync_api.Page, address: str, library: Library, drafted: str) -> None:
    page.goto(address)
    page.get_by_role("button", name="Make this stretch a station").click()
    page.locator(".open-piece", has_text="Name not said").wait_for()
    soon(page, lambda: len(library.stations(drafted)) == 3)
    added = library.stations(drafted)[0].doc
    assert (added.start, added.name) == (0.0, None)
