"""Marking a still in a real browser: with a mouse, with fingers, with keys alone; what is drawn is what the outputs draw; axe-core."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal
from xml.etree import ElementTree

import pytest
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from annotator import pipeline
from annotator.course import Mark, read_edit
from annotator.library import Library
from annotator.marks import overlay_svg
from tests.server.browsing import BUILT, OpenPage, Serve, Served, clean, soon

if TYPE_CHECKING:
    from playwright import sync_api

WIDTH, HEIGHT = 320, 180
BLUE = (20, 95, 90, 130)
"""The start on the walk's clip (tests/small_walk.py): left, top, right, bottom."""

FLOOR = ".leaf-stills"

pytestmark = BUILT


@pytest.fixture
def at(serve: Serve, drafted: str) -> Served:  # the course is drafted
    return serve()


@dataclass(frozen=True)
class Board:
    """The still's board on the screen, and places on it by pixels of the still."""

    page: sync_api.Page

    def at(self, x: float, y: float) -> tuple[float, float]:
        shown = self.page.locator(".board.marking").bounding_box()
        assert shown is not None
        return shown["x"] + x * shown["width"] / WIDTH, shown["y"] + y * shown["height"] / HEIGHT

    def drag(self, *spots: tuple[float, float]) -> None:
        self.page.locator(".board.marking").scroll_into_view_if_needed()
        first, *rest = (self.at(*spot) for spot in spots)
        self.page.mouse.move(*first)
        self.page.mouse.down()
        for spot in rest:
            self.page.mouse.move(*spot, steps=3)
        self.page.mouse.up()

    def click(self, x: float, y: float) -> None:
        self.page.locator(".board.marking").scroll_into_view_if_needed()
        self.page.mouse.click(*self.at(x, y))

    def saved(self) -> None:
        self.page.get_by_text("All saved").wait_for()


OpenBoard = Callable[..., Board]


@pytest.fixture
def open_board(at: Served, open_page: OpenPage) -> OpenBoard:
    """Opens station 1 for marking, in a browser of its own kind that already has a name."""

    def opened(width: int = 1280, **wishes: Any) -> Board:
        page = open_page(width, who="Bo", **wishes)
        page.goto(f"{at.course}/1")
        page.locator(".board.marking .stage img").wait_for()
        page.get_by_role("button", name="Take the proposed").or_(page.get_by_role("button", name="Take all")).first.wait_for()
        return Board(page)

    return opened


def overlap(mark: Mark, bounds: tuple[float, float, float, float]) -> float:
    """Intersection over union of a mark with a box."""
    assert mark.rings is not None
    drawn, true = Polygon(mark.rings[0]), box(*bounds)
    return float(drawn.intersection(true).area / drawn.union(true).area)


def choose_way(board: Board, way: str) -> None:
    board.page.get_by_role("radio", name=way).check()


def test_a_box_by_mouse_takes_the_edge_is_reshaped_cut_named_otherwise_and_taken_back(at: Served, open_board: OpenBoard) -> None:
    board = open_board()
    page = board.page
    page.get_by_role("button", name="None of them").click()
    board.drag((14, 89), (60, 110), (97, 137))
    page.get_by_role("button", name="Take the dotted edge").click()
    page.get_by_text("The dotted edge was taken.").wait_for()
    board.saved()
    (mark,) = at.station().marks
    assert overlap(mark, BLUE) > 0.9
    assert (mark.surface, mark.origin, mark.state) == (at.station().surfaces[0].id, "snapped", "accepted")

    choose_way(board, "nothing, only look and change")
    board.click(55, 112)
    x, y = max(mark.rings[0], key=sum) if mark.rings else (0.0, 0.0)
    board.drag((x, y), (120, 150))
    board.saved()
    (moved,) = at.station().marks
    assert moved.rings is not None and any(abs(px - 120) < 2 and abs(py - 150) < 2 for px, py in moved.rings[0])
    page.keyboard.press("Control+z")
    board.saved()
    page.wait_for_function("path => document.querySelector('.hand-layer .line')?.getAttribute('d') === path", arg=path_of(mark))
    assert at.station().marks[0].rings == mark.rings

    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Cut a hole").click()
    choose_way(board, "a box")
    board.drag((40, 105), (60, 120))
    page.get_by_text("The hole is cut.").wait_for()
    page.get_by_role("combobox", name="This mark is").select_option(label="red frame")
    page.get_by_text("Marked: red frame, out of play.").wait_for()
    board.saved()
    (holed,) = at.station().marks
    assert holed.rings is not None and len(holed.rings) == 2
    assert holed.surface == next(each.id for each in at.station().surfaces if each.name == "red frame")
    page.get_by_role("button", name="Take away").click()
    board.saved()
    assert at.station().marks == ()


def path_of(mark: Mark) -> str:
    def short(value: float) -> str:
        return f"{value:.2f}".rstrip("0").rstrip(".")

    assert mark.rings is not None
    return " ".join("M" + "L".join(f"{short(x)} {short(y)}" for x, y in ring) + "Z" for ring in mark.rings)


def test_everything_proposed_is_taken_with_one_press_and_something_new_is_named_after_drawing(at: Served, open_board: OpenBoard) -> None:
    board = open_board()
    page = board.page
    page.get_by_text("Looking for regions").wait_for(state="detached")
    page.get_by_role("button", name=re.compile("^Take all")).click()
    board.saved()
    taken = {mark.surface: mark for mark in at.station().marks}
    named = {each.name: each.id for each in at.station().surfaces}
    assert overlap(taken[named["blue platform"]], BLUE) > 0.9
    assert overlap(taken[named["green platform"]], (230, 95, 300, 130)) > 0.9
    assert overlap(taken[named["red frame"]], (120, 30, 200, 60)) > 0.9
    page.get_by_role("combobox", name="Which thing is marked next").select_option(label="choose afterwards")
    choose_way(board, "a round shape")
    board.drag((240, 20), (280, 50))
    page.get_by_role("button", name="Something new").click()
    page.get_by_label("What it is called").fill("<b>bell</b> & rope")
    page.get_by_label("It is out of play").check()
    page.get_by_role("button", name="Add it").click()
    page.locator(".on-plate", has_text="OUT").nth(1).wait_for()
    board.saved()
    bell = next(each for each in at.station().surfaces if each.name == "<b>bell</b> & rope")
    assert bell.ruling == "out" and any(mark.surface == bell.id for mark in at.station().marks)
    assert page.locator(".mark-list b").count() == 0, "markup in a name is shown as letters"


@dataclass(frozen=True)
class Fingers:
    """Fingers on the screen; where they are is told anew with each call."""

    session: sync_api.CDPSession

    def __call__(self, kind: Literal["touchStart", "touchMove", "touchEnd"], *spots: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(spots)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def test_one_finger_draws_and_two_enlarge_without_drawing(at: Served, open_board: OpenBoard) -> None:
    board = open_board(412, has_touch=True, is_mobile=True)
    page = board.page
    page.get_by_role("button", name="None of them").click()
    page.locator(".board.marking").scroll_into_view_if_needed()
    fingers = Fingers(page.context.new_cdp_session(page))
    fingers("touchStart", board.at(14, 89))
    for spot in ((40, 100), (70, 120), (97, 137)):
        fingers("touchMove", board.at(*spot))
    fingers("touchEnd")
    # A tap that comes at once after a drag counts as stopping a fling and is no click; a person is not that quick.
    page.get_by_role("button", name="Take the dotted edge").click()
    page.get_by_text("The dotted edge was taken.").wait_for()
    board.saved()
    (mark,) = at.station().marks
    assert overlap(mark, BLUE) > 0.9
    page.get_by_role("button", name="Let go").click()
    page.locator(".board.marking").scroll_into_view_if_needed()
    before = page.locator(".stage").evaluate("stage => stage.getBoundingClientRect().width")
    one, other = board.at(140, 90), board.at(180, 90)
    fingers("touchStart", one)
    fingers("touchStart", one, other)
    for step in range(1, 6):
        fingers("touchMove", (one[0] - 12 * step, one[1]), (other[0] + 12 * step, other[1]))
    fingers("touchEnd")
    assert page.locator(".stage").evaluate("stage => stage.getBoundingClientRect().width") > 2 * before
    assert page.locator(".hand-layer .begun").get_attribute("d") == ""
    board.saved()
    assert at.station().marks == (mark,)


def test_keys_alone_draw_take_hold_undo_and_reach_every_button(at: Served, open_board: OpenBoard) -> None:
    board = open_board()
    page = board.page
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('board')"):
            break
    status = page.locator(".says")

    def press(*keys: str) -> None:
        for key in keys:
            page.keyboard.press(key)

    # The cross begins in the middle, (160, 90); an arrow is a fiftieth of the width, 6.4 pixels.
    press(*["ArrowLeft"] * 22, "Enter")
    assert "One corner is put" in status.inner_text()
    press(*["ArrowRight"] * 11, *["ArrowDown"] * 6, "Enter")
    page.get_by_role("button", name="Take the dotted edge").wait_for()
    press("Enter")
    page.get_by_text("The dotted edge was taken.").wait_for()
    board.saved()
    (mark,) = at.station().marks
    assert overlap(mark, BLUE) > 0.9
    press("PageDown", "Enter")
    page.get_by_text("Held. Arrow keys move it, Enter lets go.").wait_for()
    press("Shift+ArrowUp", "Shift+ArrowUp", "Enter")
    page.get_by_text("Moved.").wait_for()
    board.saved()
    (moved,) = at.station().marks
    assert mark.rings and moved.rings and moved.rings[0][0][1] == pytest.approx(mark.rings[0][0][1] - 2, abs=0.02)
    press("Enter", "ArrowLeft", "Escape")
    page.get_by_text("Left as it was.").wait_for()
    press("Control+z")
    page.wait_for_function("path => document.querySelector('.hand-layer .line')?.getAttribute('d') === path", arg=path_of(mark))
    press("Delete")
    page.get_by_text("Undo brings it back.").wait_for()
    board.saved()
    assert at.station().marks == ()
    reached = set()
    for _ in range(80):
        press("Tab")
        reached.add(page.evaluate("document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent"))
    assert {"Undo", "Larger", "Mark stumps", "Not this: blue platform", "Take it: red frame", "Add or move boxes"} <= reached


def test_a_tab_that_closes_in_a_drag_loses_that_drag_only(at: Served, open_board: OpenBoard) -> None:
    board = open_board()
    page = board.page
    page.get_by_role("button", name="None of them").click()
    board.drag((20, 95), (90, 130))
    page.get_by_role("button", name="Take the dotted edge").wait_for()
    assert page.get_by_text("Marked: blue platform").is_visible(), "what was marked is still said once its edge was found"
    row, says = (page.locator(place).bounding_box() for place in (".hand-row", ".says"))
    assert row is not None and says is not None and row["y"] + row["height"] <= says["y"], "and the row does not hide it"
    choose_way(board, "an outline")
    page.get_by_role("button", name="Let go").click()
    for count, spot in enumerate(((120, 30), (200, 30), (200, 60)), 1):
        board.click(*spot)
        page.get_by_text(f"{count} corner{'s' if count > 1 else ''} so far").wait_for()
    page.mouse.move(*board.at(150, 150))
    page.mouse.down()
    page.mouse.move(*board.at(120, 60), steps=3)
    context = page.context
    page.close()
    again = context.new_page()
    again.goto(f"{at.course}/1")
    again.get_by_text("Go on with the outline that you had begun").wait_for()  # the still opens where it was left
    again.get_by_role("button", name="Done").click()
    again.get_by_text("Marked: ").wait_for()
    soon(again, lambda: len(at.station().marks) == 2)
    first, second = at.station().marks
    assert overlap(first, BLUE) > 0.9
    assert second.rings is not None and len(second.rings[0]) == 3, "the three corners that were put before the drag"


def test_an_outline_that_crosses_itself_is_mended_one_over_the_edge_cut_and_one_outside_refused_each_with_a_sentence(
    at: Served, open_board: OpenBoard
) -> None:
    board = open_board()
    page = board.page
    page.get_by_role("button", name="None of them").click()
    choose_way(board, "an outline")
    for spot in ((100, 60), (140, 100), (140, 60), (100, 100), (100, 100)):
        board.click(*spot)
    page.get_by_text("It crossed itself, so it was mended: look whether it is what you meant.").wait_for()
    board.saved()
    crossed = at.station().marks
    assert all(Polygon(mark.rings[0]).is_valid for mark in crossed if mark.rings)
    assert sum(Polygon(mark.rings[0]).area for mark in crossed if mark.rings) == pytest.approx(800, rel=0.1), "both halves of the bow"
    page.get_by_role("combobox", name="Which thing is marked next").select_option(label="red frame")
    choose_way(board, "a box")
    board.drag((280, 120), (318, 160), (330, 179))
    page.get_by_text("It reached out of the picture, so it was cut at the edge.").wait_for()
    board.saved()
    (cut,) = (mark for mark in at.station().marks if mark not in crossed)
    assert cut.rings is not None and Polygon(cut.rings[0]).bounds == pytest.approx((280, 120, WIDTH, 179), abs=1)
    before = at.station().marks
    page.get_by_role("combobox", name="Which thing is marked next").select_option(label="green platform")
    choose_way(board, "an outline")
    for spot in ((120, 150), (160, 150), (200, 150), (200, 150)):
        board.click(*spot)
    page.get_by_text("It encloses nothing, so nothing was marked.").wait_for()
    assert at.station().marks == before


def test_boxes_around_faces_are_drawn_moved_and_confirmed(at: Served, open_board: OpenBoard) -> None:
    board = open_board()
    page = board.page
    page.get_by_role("button", name="Add or move boxes").click()
    faces = page.locator(".face-board")
    faces.scroll_into_view_if_needed()
    for left, top in ((40, 20), (150, 40)):
        shown = faces.bounding_box()
        assert shown is not None
        unit = shown["width"] / WIDTH
        page.mouse.move(shown["x"] + left * unit, shown["y"] + top * unit)
        page.mouse.down()
        page.mouse.move(shown["x"] + (left + 30) * unit, shown["y"] + (top + 40) * unit, steps=4)
        page.mouse.up()
    page.get_by_role("button", name="Face 2").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    page.get_by_role("button", name="Face 1").focus()
    page.keyboard.press("Delete")
    page.get_by_role("button", name="Every face is covered").click()
    page.get_by_text("looked at the faces: 1 is blurred").wait_for()
    board.saved()
    still = at.station().stills[0]
    assert still.faces_by == "Bo"
    assert still.faces is not None and len(still.faces) == 1
    assert still.faces[0] == pytest.approx((153.2, 40, 183.2, 83.2), abs=0.6)
    page.get_by_role("button", name="Show the faces on this still").click()
    page.get_by_label("Why they may be shown").fill("all of them agreed")
    page.get_by_role("button", name="Show them").click()
    page.get_by_role("button", name="Blur them again").click()
    page.get_by_role("button", name="Show the faces on this still").wait_for()


DRAWN = """groups => groups.map(group => [
    group.dataset.surface,
    [...group.querySelectorAll("path")].map(path =>
        ["stroke", "stroke-width", "stroke-dasharray", "d"].map(name => path.getAttribute(name))
    ),
])"""


def put_each_look(library: Library, name: str) -> None:
    """One mark of each look on station 1, none over another."""
    station = library.stations(name)[0].doc
    edits: list[dict[str, Any]] = [{"do": "accept", "station": 1}]
    for number, surface in enumerate(station.surfaces):
        left = 10 + 75 * number
        ring = [[left, 20], [left + 50, 22], [left + 48, 70], [left + 4, 66]]
        mark = {"id": f"m{number + 1}", "still": station.stills[0].id, "surface": surface.id, "rings": [ring]}
        edits.append({"do": "put-mark", "station": 1, "mark": mark})
    line = {"id": "m9", "still": station.stills[0].id, "surface": station.surfaces[0].id, "line": [[20, 120], [120, 140]], "width": 20}
    edits.append({"do": "put-mark", "station": 1, "mark": line})
    pipeline.decide(library, name, [read_edit(edit) for edit in edits], who="Ana")


@pytest.mark.parametrize("drafts", [False, True], ids=["accepted", "draft"])
def test_what_is_drawn_while_marking_is_what_the_outputs_draw(at: Served, browser: sync_api.Browser, drafts: bool) -> None:
    put_each_look(at.library, at.name)
    if drafts:
        pipeline.change(
            at.library,
            at.name,
            "Ana",
            lambda course, stations: (
                course,
                tuple(
                    each.model_copy(update={"marks": tuple(mark.model_copy(update={"state": "draft"}) for mark in each.marks)})
                    for each in stations
                ),
            ),
        )
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{at.course}/1")
    page.get_by_role("button", name="Mark on this still").click()
    page.locator(".marks-layer g[data-mark]").nth(3).wait_for()
    drawn = page.locator(".marks-layer g[data-mark]").evaluate_all(DRAWN)
    page.close()
    course, station = at.library.course(at.name).doc, at.station()
    svg = ElementTree.fromstring(overlay_svg(course, station, station.stills[0].id, drafts=True))
    wanted = {group.get("data-surface"): group for group in svg.iter() if group.get("data-surface")}
    assert {surface for surface, _ in drawn} == set(wanted)
    for surface in wanted:
        paths = [each for each in wanted[surface] if each.tag.endswith("path")]
        mine = [paths_of for of, paths_of in drawn if of == surface]
        theirs = [(each.get("stroke"), each.get("stroke-dasharray")) for each in paths]
        thinned = [float(each.get("stroke-width") or 0) for each in paths if each.get("stroke")]
        for one in mine:
            assert [(stroke, dash) for stroke, _, dash, _ in one] == theirs
            widths = [float(width) for stroke, width, _, _ in one if stroke]
            # Thin things have thinner lines on both; how thin hangs on how large the still is shown.
            assert [width / widths[0] for width in widths] == pytest.approx([width / thinned[0] for width in thinned])
        union = rings_of(" ".join(one[0][3] for one in mine))
        assert union.symmetric_difference(rings_of(str(paths[0].get("d")))).area < 0.01 * union.area


def rings_of(path: str) -> BaseGeometry:
    shape: BaseGeometry = Polygon()
    for ring in re.findall(r"M([^MZ]+)Z", path):
        spots = [tuple(float(number) for number in spot.split()) for spot in ring.split("L")]
        shape = shape.symmetric_difference(Polygon(spots))
    return shape


def test_no_state_of_marking_breaks_a_rule_of_axe_core_or_runs_out_of_the_screen(open_board: OpenBoard) -> None:
    board = open_board(looked_at=True)
    page = board.page
    clean(page, "proposals are shown")
    page.get_by_role("button", name="None of them").click()
    board.drag((20, 95), (90, 130))
    page.get_by_text("Marked: blue platform").wait_for()
    page.get_by_role("button", name="More").click()
    clean(page, "a mark is chosen", FLOOR)
    page.get_by_role("button", name="Cut a hole").click()
    clean(page, "a hole is to be cut", FLOOR)
    page.get_by_role("button", name="Leave it").click()
    page.get_by_role("button", name="Let go").click()
    board.click(120, 30)
    page.locator(".says", has_text="corner").wait_for()
    clean(page, "a corner is put", FLOOR)
    page.keyboard.press("Escape")
    page.get_by_role("combobox", name="Which thing is marked next").select_option(label="choose afterwards")
    board.drag((120, 30), (200, 60))
    page.get_by_role("combobox", name="What is it?").wait_for()
    clean(page, "something drawn is to be named", FLOOR)
    page.get_by_role("button", name="Something new").click()
    clean(page, "something new is named", FLOOR)
    page.get_by_role("button", name="Leave it").click()
    page.get_by_role("button", name="Add or move boxes").click()
    page.get_by_role("button", name="Add a box").click()
    clean(page, "boxes around faces", FLOOR)
    page.get_by_role("button", name="Every face is covered").click()
    page.get_by_text("looked at the faces").wait_for()
    page.get_by_role("button", name="Show the faces on this still").click()
    page.get_by_label("Why they may be shown").wait_for()
    clean(page, "faces are to be shown", FLOOR)
