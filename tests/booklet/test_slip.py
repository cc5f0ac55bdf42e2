"""The change slip: rules in words that came, went and changed; areas that came and went; nothing else."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

from annotator.booklet import Booklet, Stamp, Wording, compare, encode_sizes, pages, write_slip
from annotator.booklet.slip import Change
from annotator.course import BlanketRule, Course, Mark, RunFormat, Station, Surface
from tests.booklet.makers import DrawnPictures, outline_of_pdf
from tests.booklet.on_paper import text_of, words_by_language, words_of

LATER = Stamp(4, "9ABCDE", dt.datetime(2026, 5, 10, 7, 0, tzinfo=dt.UTC))


def with_surface(station: Station, surface: str, **more: object) -> Station:
    found = tuple(one.model_copy(update=more) if one.id == surface else one for one in station.surfaces)
    return station.model_copy(update={"surfaces": found})


def with_shift(station: Station, mark: str, dx: float) -> Station:
    def moved(one: Mark) -> Mark:
        assert one.rings is not None
        return one.model_copy(update={"rings": tuple(tuple((x + dx, y) for x, y in ring) for ring in one.rings)})

    return station.model_copy(update={"marks": tuple(moved(one) if one.id == mark else one for one in station.marks)})


def test_two_equal_booklets_differ_in_nothing(booklet: Booklet) -> None:
    assert compare(booklet, booklet).stations == ()


@pytest.mark.parametrize(
    ("surface", "more", "expected"),
    [
        pytest.param("u4", {"ruling": "in"}, Change("changed", "In play", "Blue barrel", "Out of play"), id="now-in-play"),
        pytest.param("u2", {"ruling": "out"}, Change("changed", "Out of play", "Blue boxes, tops", "In play"), id="now-out-of-play"),
        pytest.param(
            "u5", {"overshoot": "allowed"}, Change("changed", "Finish", "You may land past it.", "Do not land past it."), id="overshoot"
        ),
        pytest.param("u1", {"name": "red mats"}, Change("renamed", "Start", "Red mats", "Red mat"), id="renamed"),
        pytest.param(
            "u4",
            {"divisions": {"under-tens": "in"}},
            Change("came", "Other divisions", "In play for under-tens: blue barrel"),
            id="division",
        ),
        pytest.param(
            "u2",
            {"contact": ("hands", "feet")},
            Change("changed", "In play", "Blue boxes, tops (hands and feet)", "Blue boxes, tops"),
            id="limbs-of-one-thing",
        ),
    ],
)
def test_one_change_of_a_rule_is_one_line(
    course: Course, stations: Sequence[Station], booklet: Booklet, surface: str, more: dict[str, object], expected: Change
) -> None:
    new = pages(course, [with_surface(stations[0], surface, **more), *stations[1:]], LATER)
    changes = {station.number: station.changes for station in compare(booklet, new).stations}
    assert changes[1] == (expected,)


def test_what_came_and_what_went_is_told_under_its_heading(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    cone = Surface(id="u9", name="cone", ruling="out", state="accepted")
    first = stations[0].model_copy(update={"surfaces": (*stations[0].surfaces[:3], stations[0].surfaces[4], cone), "contact": ("hands",)})
    (station,) = compare(booklet, pages(course, [first, *stations[1:]], LATER)).stations
    assert set(station.changes) == {
        Change("changed", "Station 1", "Hands only", "Feet only"),
        Change("changed", "In play", "Blue boxes, tops (feet only)", "Blue boxes, tops"),
        Change("came", "Out of play", "Cone"),
        Change("went", "Out of play", "Blue barrel"),
    }


def test_the_course_rules_are_told_once_and_not_at_every_station(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    floor = BlanketRule(rule="surface", surface="floor", ruling="out", id="b9", state="accepted")
    changed = course.model_copy(
        update={
            "blanket": (*course.blanket, floor),
            "format": RunFormat(retries=2, ranking=course.format.ranking if course.format else None),
        }
    )
    (only,) = compare(booklet, pages(changed, stations, LATER)).stations
    assert only.number is None
    assert only.changes == (
        Change("changed", "How a run counts", "You have 2 retries in your run.", "You have 1 retry in your run."),
        Change("came", "At every station", "Out of play: floor"),
    )


def test_a_station_that_is_gone_and_one_that_is_new_are_told(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    new = stations[2].model_copy(update={"id": "s09", "name": "rope ramp"})
    told = {(one.number, change) for one in compare(booklet, pages(course, [*stations[:2], new], LATER)).stations for change in one.changes}
    assert (3, Change("went", "Stations", "Station 3: Ring row")) in told
    assert (3, Change("came", "Stations", "Station 3: Rope ramp")) in told


def test_an_area_that_moved_shows_what_came_and_what_went(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    """The red mat, 220 x 120 px, moved by 60 px: 60 x 120 px came and as much went."""
    new = pages(course, [with_shift(stations[0], "m1", 60), *stations[1:]], LATER)
    (station,) = compare(booklet, new).stations
    (area,) = station.areas
    assert station.changes == ()
    assert area.came.area == pytest.approx(60 * 120, rel=0.01)
    assert area.went.area == pytest.approx(60 * 120, rel=0.01)
    assert area.came.centroid.x == pytest.approx(290, abs=1)
    assert area.went.centroid.x == pytest.approx(70, abs=1)


def test_what_was_in_play_all_along_and_is_marked_now_or_no_more_is_no_change(
    course: Course, stations: Sequence[Station], booklet: Booklet
) -> None:
    bare = stations[0].model_copy(update={"marks": tuple(mark for mark in stations[0].marks if mark.id != "m1")})
    unmarked = pages(course, [bare, *stations[1:]], LATER)
    assert compare(unmarked, booklet).stations == ()
    assert compare(booklet, unmarked).stations == ()
    out = with_surface(bare, "u1", ruling="out")
    (station,) = compare(booklet, pages(course, [out, *stations[1:]], LATER)).stations
    assert [round(area.went.area) for area in station.areas] == [220 * 120], "out of play now, it is shown although nothing is marked"


def test_an_edge_redrawn_by_a_hand_is_no_change(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    assert compare(booklet, pages(course, [with_shift(stations[0], "m1", 4), *stations[1:]], LATER)).stations == ()


def test_a_ruling_that_changed_for_a_division_shows_its_area(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    second = with_surface(stations[1], "u3", divisions=None)
    (_, station) = compare(booklet, pages(course, [stations[0], second, stations[2]], LATER)).stations
    assert station.changes == (Change("went", "Other divisions", "In play for under-tens: white rail"),)
    assert [(area.division, round(area.went.area), area.came.is_empty) for area in station.areas] == [("under-tens", 900 * 20, True)]


def test_the_page_and_the_sheet_say_the_same(
    course: Course, stations: Sequence[Station], booklet: Booklet, pictures: DrawnPictures, tmp_path: Path
) -> None:
    first = with_surface(with_shift(stations[0], "m1", 60), "u5", overshoot="allowed")
    new = pages(course, [first, *stations[1:]], LATER)
    page, sheet = write_slip(booklet, new, pictures, tmp_path)
    html = page.read_text("utf-8")
    assert "From Edition 3 · code 7KQ2MX · May 9, 2026 to Edition 4 · code 9ABCDE · May 10, 2026" in html
    assert "<ins>You may land past it.</ins>" in html and "was: Do not land past it." in html
    for name in re.findall(r'(?:href|src)="([^"#]+)"', html):
        assert (tmp_path / name).is_file() or name.endswith(".html"), name
    items = [text for tag, text in outline_of_pdf(sheet) if tag == "LBody"]
    assert items == ["Changed Finish: You may land past it. (was: Do not land past it.)"]
    text = subprocess.run(["pdftotext", "-layout", str(sheet), "-"], capture_output=True, text=True, check=True).stdout
    for told in (html, " ".join(text.split())):
        assert "not a safety inspection" in told and "What is not named is out of play." in told


def test_pictures_that_were_made_before_are_taken_as_they_are(
    course: Course, stations: Sequence[Station], booklet: Booklet, pictures: DrawnPictures, tmp_path: Path
) -> None:
    new = pages(course, [with_shift(stations[0], "m1", 60), *stations[1:]], LATER)
    encode_sizes(pictures.jpeg("s01-1"), tmp_path / "kept")
    before = {file.name for file in (tmp_path / "kept").iterdir()}
    for name, cache in (("kept", tmp_path / "kept"), ("anew", None)):
        write_slip(booklet, new, pictures, tmp_path / f"out-{name}", cache=cache)
    (own,) = {file.name for file in (tmp_path / "kept").iterdir()} - before
    assert "-slip-" in own
    first, second = (
        {file.relative_to(folder): file.read_bytes() for file in folder.rglob("*") if file.is_file()} for folder in tmp_path.glob("out-*")
    )
    assert first == second


def test_a_slip_without_a_change_says_so(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    page, sheet = write_slip(booklet, booklet, pictures, tmp_path)
    assert "No rule changed." in page.read_text("utf-8")
    assert "No rule changed." in subprocess.run(["pdftotext", str(sheet), "-"], capture_output=True, text=True, check=True).stdout


def test_a_station_with_another_name_or_another_place_is_told_as_such(
    course: Course, stations: Sequence[Station], booklet: Booklet
) -> None:
    first, second, third = stations
    turned = [
        first.model_copy(update={"name": "box steps"}),
        third.model_copy(update={"number": 2}),
        second.model_copy(update={"number": 3}),
    ]
    told = {one.number: one.changes for one in compare(booklet, pages(course, turned, LATER)).stations}
    assert told[1] == (Change("renamed", "Stations", "Station 1: Box steps", "Station 1: Stepping boxes"),)
    assert told[2] == (Change("moved", "Stations", "Station 2: Ring row", "Station 3: Ring row"),)
    assert told[3] == (Change("moved", "Stations", "Station 3: Balance beam", "Station 2: Balance beam"),)


def test_what_went_for_one_division_and_came_for_another_is_not_one_change(
    course: Course, stations: Sequence[Station], booklet: Booklet
) -> None:
    second = with_surface(stations[1], "u3", divisions={"adults": "in"})
    (*_, station) = compare(booklet, pages(course, [stations[0], second, stations[2]], LATER)).stations
    assert set(station.changes) == {
        Change("came", "Other divisions", "In play for adults: white rail"),
        Change("went", "Other divisions", "In play for under-tens: white rail"),
    }
    assert {(area.division, area.came.is_empty, area.went.is_empty) for area in station.areas} == {
        ("adults", False, True),
        ("under-tens", True, False),
    }


def test_an_area_that_changed_for_everyone_alike_is_shown_once(course: Course, stations: Sequence[Station], booklet: Booklet) -> None:
    """The beam moved for everyone; under-tens have a rail more, but what came and went is the same for them."""
    new = pages(course, [stations[0], with_shift(stations[1], "m1", 70), stations[2]], LATER)
    (station,) = compare(booklet, new).stations
    assert [area.division for area in station.areas] == [""]


def test_the_sheet_of_a_long_slip_stays_on_its_paper_and_shows_divisions(
    course: Course, stations: Sequence[Station], booklet: Booklet, pictures: DrawnPictures, tmp_path: Path
) -> None:
    long = Surface(id="u9", name="W" * 90, ruling="out", state="accepted")
    first = stations[0].model_copy(update={"surfaces": (*stations[0].surfaces, long)})
    second = with_surface(stations[1], "u3", divisions={"adults": "in"})
    _, sheet = write_slip(booklet, pages(course, [first, second, stations[2]], LATER), pictures, tmp_path)
    words = [word for page in words_of(sheet) for word in page]
    assert max(word.right for word in words) <= 148 / 25.4 * 72
    text = text_of(sheet)
    assert "Adults" in text and "Under-tens" in text and "now in play" in text and "no longer in play" in text


def test_the_slip_stands_in_every_language_as_page_and_on_paper(
    course: Course, stations: Sequence[Station], booklet: Booklet, stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    """One line of each kind; the names stay English and say so, the pages lead to each other and to their own language's booklet."""
    first = with_surface(with_shift(stations[0], "m1", 60), "u4", ruling="in", name="blue drum")
    changed = [first.model_copy(update={"contact": ("hands",)}), *stations[1:]]
    told = [Wording(language) for language in ("es", "de")]
    others = [(pages(course, stations, stamp, wording=one), pages(course, changed, LATER, wording=one)) for one in told]
    write_slip(booklet, pages(course, changed, LATER), pictures, tmp_path, pages_at="../booklet/", others=others)
    html = (tmp_path / "es" / "changes.html").read_text("utf-8")
    assert '<html lang="es"' in html
    assert "Qué ha cambiado" in html
    assert '<ins>Solo manos</ins> <span class="was">antes: Solo pies</span>' in html
    assert '<ins><bdi lang="en">Blue drum</bdi></ins>' in html
    assert '<del><bdi lang="en">Blue barrel</bdi></del>' in html
    assert 'href="../../booklet/es/station-1.html"' in html
    for page in (tmp_path / "changes.html", tmp_path / "es" / "changes.html", tmp_path / "de" / "changes.html"):
        text = page.read_text("utf-8")
        named = re.findall(r'(?:href|src)="([^"#]+)"', text) + re.findall(r"[^ ,\"]+[.]webp", text)
        beside = [name for name in named if "booklet/" not in name]
        assert len([name for name in beside if name.endswith("changes.html")]) == 2
        assert [name for name in beside if not (page.parent / name).is_file()] == []
    runs = words_by_language(tmp_path / "es" / "changes.pdf")
    assert "Solo manos" in runs["es"]
    assert {"Blue drum", "Blue barrel"} <= {run.strip() for run in runs["en"]}
    assert "Was sich geändert hat" in text_of(tmp_path / "de" / "changes.pdf")
