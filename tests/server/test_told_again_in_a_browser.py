"""A station that an added clip goes on with, or tells again, in a real browser: pointed at, made one in a press, and taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.course import Station
from tests.server.browsing import BUILT, OpenPage, Serve, Served, clean
from tests.small_walk import draw_clip, write_captions

pytestmark = BUILT

REST = (("The yellow box is out as well.", 3.0), ("And you may not touch the wall.", 3.0))
AGAIN = (
    ("Station one is the stump hop. You start on the blue platform.", 4.0),
    ("Feet only on the stumps.", 3.0),
    ("The grey rail is out.", 3.0),
    ("You finish on the green platform.", 3.0),
)


@pytest.fixture
def at(serve: Serve, drafted: str) -> Served:
    served = serve()
    pipeline.accept(served.library, drafted, who="Ana")
    return served


def _added(at: Served, tmp_path: Path, said: tuple[tuple[str, float], ...]) -> list[Station]:
    film, captions = draw_clip(tmp_path / "more.mp4", 14, shade=170), write_captions(tmp_path / "more.vtt", said)
    pipeline.add_clips(at.library, at.name, [film], captions=[captions])
    pipeline.draft_course(at.library, at.name)
    return _stations(at)


def _stations(at: Served) -> list[Station]:
    return [one.doc for one in at.library.stations(at.name)]


def test_the_rest_of_a_station_is_joined_in_one_press_from_the_course_page(at: Served, open_page: OpenPage, tmp_path: Path) -> None:
    before = _added(at, tmp_path, REST)
    page = open_page(360, who="Ana", looked_at=True)
    page.goto(at.course)
    told = page.locator(".finding", has_text="it may be the rest of station 2")
    told.wait_for()
    clean(page, "a station that goes on in an added clip")
    told.get_by_role("button", name="Join it with station 2, rung bridge").click()
    told.wait_for(state="detached")
    page.get_by_text("All saved").wait_for()
    assert [(one.name, one.state) for one in _stations(at)] == [("stump hop", "accepted"), ("rung bridge", "draft")]
    assert _stations(at)[1].surfaces[-2:] == before[2].surfaces
    page.keyboard.press("Control+z")
    told.wait_for()
    page.get_by_text("All saved").wait_for()
    assert _stations(at) == before


def test_a_station_that_is_told_again_takes_the_place_of_the_old_one(at: Served, open_page: OpenPage, tmp_path: Path) -> None:
    before = _added(at, tmp_path, AGAIN)
    assert [one.name for one in before] == ["stump hop", "rung bridge", None], "a name of the names list is drafted once"
    page = open_page(1280, who="Ana", looked_at=True)
    page.goto(f"{at.course}/3")
    told = page.locator(".finding", has_text="told again in clip 2")
    told.get_by_text("Station 1 keeps its place").wait_for()
    clean(page, "a station that is told again")
    told.get_by_role("button", name="Take the new telling in place of the old").click()
    page.wait_for_url("**/1")
    page.get_by_text("All saved").wait_for()
    page.locator(".lines-out", has_text="grey rail").wait_for()
    after = _stations(at)
    assert [(one.name, one.state) for one in after] == [("stump hop", "draft"), ("rung bridge", "accepted")]
    assert after[0].start == before[2].start
    assert {still.id for still in before[0].stills} < {still.id for still in after[0].stills}
    page.keyboard.press("Control+z")
    page.locator("a.plate").nth(2).wait_for()
    page.get_by_text("All saved").wait_for()
    assert _stations(at) == before
