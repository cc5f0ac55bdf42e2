"""What is drawn: its description, as SVG (checked as XML and in Chromium) and on a raster."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from playwright.sync_api import Browser
from shapely.geometry import LineString, MultiPolygon, box
from shapely.ops import unary_union

from annotator import fonts
from annotator.course import BlanketRule, Course, Station
from annotator.marks import Overlay, PlateWords, overlay, overlay_of, overlay_svg, paint, svg_of, zones
from annotator.marks.plates import place_plates
from tests.marks.makers import course, mark, square, station, surface

SVG = "{http://www.w3.org/2000/svg}"
SIZE = (1280, 720)
PADS = [
    BlanketRule(rule="surface", surface="post pads", ruling="in", contact=("hands", "feet"), id="b2", state="accepted"),
    BlanketRule(rule="surface", surface="post pads", part="top", ruling="out", id="b3", state="accepted"),
]


def scene() -> tuple[Course, Station]:
    surfaces = [
        surface("u1", "green platform", role="start"),
        surface("u2", "rungs", contact=("hands",)),
        surface("u3", "frame", "out"),
        surface("u4", "white mat", role="finish", overshoot="not allowed"),
        surface("u5", "rope", state="draft"),
    ]
    marks = [
        mark("m1", "u1", square(40, 480, 300, 640), square(90, 520, 150, 560)),
        *[mark(f"r{i}", "u2", line=[(420 + i * 110, 260), (420 + i * 110, 330)], width=24) for i in range(5)],
        mark("m3", "u3", line=[(330, 180), (330, 120), (980, 120), (980, 560)], width=22),
        mark("m4", "u4", ((850, 600), (1200, 580), (1290, 700), (820, 730))),
        mark("m5", "b2", square(1080, 150, 1160, 520)),
        mark("m6", "b3", square(1080, 150, 1160, 190)),
        mark("m7", "u5", line=[(700, 400), (720, 520)], width=16, state="draft"),
    ]
    return course(*PADS), station(surfaces, marks, width=SIZE[0], height=SIZE[1], contact=("hands",))


def described(**how: object) -> Overlay:
    return overlay(*scene(), "s1", drafts=True, **how)  # type: ignore[arg-type]


def test_each_surface_has_its_style_and_its_plate() -> None:
    found = {item.surface: (item.style, item.draft, [plate.lines for plate in item.plates]) for item in described().items}
    assert found == {
        "u1": ("start", False, [("START",)]),
        "u2": ("in play", False, [("IN · hands",)]),
        "u3": ("out of play", False, [("OUT",)]),
        "u4": ("finish", False, [("FINISH", "DO NOT LAND PAST")]),
        "b2": ("in play", False, [("IN · hands, feet",)]),
        "b3": ("excepted part", False, [("OUT: top",)]),
        "u5": ("in play", True, [("IN · hands ?",)]),
    }


def test_what_lies_over_comes_later() -> None:
    order = [item.surface for item in described().items]
    assert order.index("b2") < order.index("b3")
    assert order[-1] == "u5"


def test_drafts_stay_out_unless_asked_for() -> None:
    assert "u5" not in {item.surface for item in overlay(*scene(), "s1").items}


@pytest.mark.parametrize("drafts", [False, True])
def test_zones_that_were_worked_out_before_are_drawn_in_any_words_and_size(drafts: bool) -> None:
    there, here = scene()
    still_id = here.stills[0].id
    found = zones(there, here, still_id, drafts=drafts)
    spanish = PlateWords(in_play="DENTRO", out_of_play="FUERA")
    for words, unit in ((None, None), (spanish, None), (None, 4.0), (None, None)):
        anew = overlay(there, here, still_id, drafts=drafts, words=words, unit=unit)
        assert overlay_of(found, still_id, words=words, unit=unit) == anew


def test_plates_speak_another_language() -> None:
    words = PlateWords(in_play="DRIN", hands="Hände", feet="Füße")
    assert ("DRIN · Hände, Füße",) in {plate.lines for item in described(words=words).items for plate in item.plates}


def test_no_plate_covers_another_or_leaves_the_still() -> None:
    boxes = [plate.box for item in described().items for plate in item.plates]
    assert len(boxes) == 7
    assert all(box(0, 0, *SIZE).covers(found) for found in boxes)
    assert not [(one, two) for i, one in enumerate(boxes) for two in boxes[:i] if one.intersects(two)]


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(st.integers(0, 1100), st.integers(0, 600), st.integers(10, 180), st.integers(10, 120)), min_size=1, max_size=8))
def test_plates_never_cover_each_other_while_there_is_room(marks: list[tuple[int, int, int, int]]) -> None:
    # Eight plates of this length take a sixth of the picture: there is room.
    placed = place_plates([(box(x, y, x + w, y + h), ("IN · hands",)) for x, y, w, h in marks], SIZE, SIZE[0] / 480)
    boxes = [plate.box for own in placed for plate in own]
    assert len(boxes) == len(marks)
    assert not [(one, two) for i, one in enumerate(boxes) for two in boxes[:i] if one.intersection(two).area > 0]


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(st.integers(0, 1100), st.integers(0, 600), st.integers(10, 180), st.integers(10, 120)), min_size=1, max_size=6))
def test_plates_cover_no_marked_edge_while_there_is_room(marks: list[tuple[int, int, int, int]]) -> None:
    areas = [box(x, y, x + w, y + h) for x, y, w, h in marks]
    placed = place_plates([(area, ("FINISH", "DO NOT LAND PAST")) for area in areas], SIZE, SIZE[0] / 480)
    # Six plates and six marks of these sizes take less than half of the picture: there is room, for each in turn.
    assert not [plate for own in placed for plate in own if any(plate.box.intersects(area.boundary) for area in areas)]


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(st.integers(0, 1100), st.integers(0, 600), st.integers(10, 180), st.integers(10, 120)), min_size=1, max_size=6))
def test_plates_keep_off_what_lies_over_the_picture_while_there_is_room(marks: list[tuple[int, int, int, int]]) -> None:
    free = [box(0, 0, 640, 90), box(250, 144, 1030, 260)]  # a film's label and its captions
    placed = place_plates([(box(x, y, x + w, y + h), ("IN · hands",)) for x, y, w, h in marks], SIZE, SIZE[0] / 480, free)
    assert not [plate for own in placed for plate in own if any(plate.box.intersection(place).area > 0 for place in free)]


def test_the_line_from_a_plate_ends_on_the_nearest_part_of_its_mark() -> None:
    rungs = unary_union([box(200 + 90 * i, 340, 240 + 90 * i, 380) for i in range(9)])
    fence = unary_union([box(x, y, x + 30, y + 4) for x in range(60, 1200, 34) for y in range(200, 560, 40)]).difference(rungs.buffer(20))
    assert isinstance(fence, MultiPolygon) and isinstance(rungs, MultiPolygon)
    placed = place_plates([(fence, ("OUT",)), (rungs, ("IN · hands, feet",))], SIZE, SIZE[0] / 480)
    leaders = [(plate, plate.leader) for plate in placed[1] if plate.leader is not None]
    for plate, leader in leaders:
        assert LineString(leader).length == pytest.approx(plate.box.distance(rungs), abs=1e-6)
    assert leaders


def test_a_lone_plate_keeps_off_its_marked_edge() -> None:
    area = box(400, 300, 520, 380)
    ((plate,),) = place_plates([(area, ("IN · hands",))], SIZE, SIZE[0] / 480)
    assert not plate.box.intersects(area.boundary)


def test_the_svg_is_well_formed_and_complete_in_itself() -> None:
    text = svg_of(described())
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox") == "0 0 1280 720"
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(ids) == len(set(ids))
    for node in root.iter():
        for value in node.attrib.values():
            assert "url(" not in value or value[5:-1] in ids
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    title = root.find(f"{SVG}title")
    assert title is not None and title.text is not None
    assert "The rungs are in play, hands only." in title.text
    assert "You finish on it. Do not land past it." in title.text


@pytest.mark.parametrize(("widths", "fixed"), [("screen", True), ("picture", False)])
def test_lines_keep_their_width_on_screens_only(widths: str, fixed: bool) -> None:
    assert ("non-scaling-stroke" in overlay_svg(*scene(), "s1", widths=widths)) is fixed  # type: ignore[arg-type]


def test_two_stills_share_no_id() -> None:
    course_, there = scene()
    other = there.model_copy(
        update={
            "stills": (there.stills[0].model_copy(update={"id": "s 1"}),),
            "marks": tuple(found.model_copy(update={"still": "s 1"}) for found in there.marks),
        }
    )
    ids = [
        {node.get("id") for node in ET.fromstring(overlay_svg(course_, where, still)).iter() if node.get("id")}
        for where, still in ((there, "s1"), (other, "s 1"))
    ]
    assert len(ids[0]) == 2
    assert not ids[0] & ids[1]


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12))
@settings(deadline=None, max_examples=40)
def test_any_name_is_escaped(name: str) -> None:
    there = station([surface("u1", f"<b>&\"'{name}", part=name)], [mark("m1", "u1", square(10, 10, 200, 200))])
    root = ET.fromstring(overlay_svg(course(), there, "s1"))
    assert any(name in (node.text or "") for node in root.iter(f"{SVG}title"))
    assert not list(root.iter(f"{SVG}b"))


def test_a_still_without_marks_is_an_empty_overlay() -> None:
    text = overlay_svg(course(), station([], []), "s1")
    assert "Nothing is marked" in text
    ground = np.full((300, 400, 3), 90, np.uint8)
    assert np.array_equal(paint(ground, overlay(course(), station([], []), "s1")), ground)


def test_paint_leaves_its_picture_and_everything_far_from_marks_alone() -> None:
    ground = np.full((720, 1280, 3), 90, np.uint8)
    before = ground.copy()
    painted = paint(ground, described(plates=False))
    assert np.array_equal(ground, before)
    assert painted.dtype == np.uint8 and painted.shape == ground.shape
    assert np.array_equal(painted[380:470, 340:640], ground[380:470, 340:640])
    # 18 % of #0072B2 over grey 90, source-over.
    assert painted[350, 1120].tolist() == pytest.approx([0.82 * 90, 0.82 * 90 + 0.18 * 114, 0.82 * 90 + 0.18 * 178], abs=1)


def test_a_hole_is_not_filled() -> None:
    ground = np.full((720, 1280, 3), 90, np.uint8)
    assert paint(ground, described(plates=False))[540, 120].tolist() == [90, 90, 90]


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(np.zeros((720, 1280), np.uint8), id="grey"),
        pytest.param(np.zeros((720, 1280, 3), np.float32), id="float"),
        pytest.param(np.zeros((1280, 720, 3), np.uint8), id="turned"),
    ],
)
def test_paint_refuses_a_picture_of_another_kind_or_shape(picture: np.ndarray) -> None:
    with pytest.raises(ValueError, match="picture"):
        paint(picture, described())


def test_painted_and_svg_show_the_same(browser: Browser, tmp_path: Path) -> None:
    """Chromium draws the SVG over a grey; the raster must agree but for rounding along edges."""
    what = described()
    style = f"@font-face{{font-family:'{fonts.FAMILY}';font-weight:700;src:url({fonts.BOLD.as_uri()})}}"
    page = f"<style>{style}body{{margin:0;background:#5a5a5a}}svg{{position:absolute;inset:0;width:1280px}}</style>"
    (tmp_path / "page.html").write_text(page + svg_of(what, widths="picture"), encoding="utf-8")
    view = browser.new_page(viewport={"width": SIZE[0], "height": SIZE[1]})
    view.goto((tmp_path / "page.html").as_uri())
    view.evaluate("document.fonts.ready")
    view.screenshot(path=str(tmp_path / "drawn.png"))
    view.close()
    drawn = np.asarray(Image.open(tmp_path / "drawn.png").convert("RGB")).astype(int)
    painted = paint(np.full((720, 1280, 3), 90, np.uint8), what).astype(int)
    off = np.abs(drawn - painted).max(axis=2)
    marked = (np.abs(painted - 90).max(axis=2) > 20) | (np.abs(drawn - 90).max(axis=2) > 20)
    both = (np.abs(painted - 90).max(axis=2) > 20) & (np.abs(drawn - 90).max(axis=2) > 20)
    assert marked.mean() > 0.1
    assert both.sum() / marked.sum() > 0.97
    # Far off anywhere but within a pixel of an edge would be another picture.
    thick = cv2.erode((off > 60).astype(np.uint8), np.ones((4, 4), np.uint8))
    assert thick.sum() == 0
