"""Pages are kept without their edition, which is woven in last: they come out as if made anew, for this edition and no other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from annotator.booklet import Booklet, Stamp, Wording, pages, write_site
from annotator.booklet.site import environment
from annotator.booklet.site.folder import languages
from annotator.booklet.site.judge import judge_site
from annotator.booklet.site.stamping import stamper, unstamped
from annotator.booklet.site.told import PhoneSite, Shown, page_name
from annotator.course import Course, Station
from tests.booklet.makers import AT, DrawnPictures

LATER = Stamp(41, "Q9Z8Y7", AT + dt.timedelta(days=40))
LANGUAGES = ("en", "de")


def written(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in sorted(folder.rglob("*")) if file.is_file()}


def booklets(course: Course, stations: Sequence[Station], stamp: Stamp | None) -> tuple[Booklet, ...]:
    return tuple(pages(course, stations, stamp, wording=Wording(language)) for language in LANGUAGES)


def with_the_rail_in(stations: Sequence[Station]) -> tuple[Station, ...]:
    """One rule of the second station changed."""
    first, second, third = stations
    rail = second.surfaces[2].model_copy(update={"ruling": "in"})
    return first, second.model_copy(update={"surfaces": (*second.surfaces[:2], rail, *second.surfaces[3:])}), third


@pytest.fixture(scope="module")
def kept(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """What is kept after one edition was written."""
    folder = tmp_path_factory.mktemp("kept")
    first, *others = booklets(course, stations, stamp)
    write_site(first, pictures, tmp_path_factory.mktemp("first"), others=others, cache=folder, address="https://lane.example/a")
    return folder


@pytest.mark.parametrize("address", [None, "https://lane.example/a", "https://lane.example/b&c/"])
def test_a_later_edition_from_what_is_kept_is_the_one_that_is_made_anew(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, kept: Path, tmp_path: Path, address: str | None
) -> None:
    first, *others = booklets(course, with_the_rail_in(stations), LATER)
    for name, cache in (("kept", kept), ("anew", None)):
        write_site(first, pictures, tmp_path / name, others=others, cache=cache, address=address)
    assert written(tmp_path / "kept") == written(tmp_path / "anew")


def test_no_page_of_a_later_edition_names_the_one_before(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, kept: Path, tmp_path: Path
) -> None:
    first, *others = booklets(course, stations, LATER)
    write_site(first, pictures, tmp_path, others=others, cache=kept, address="https://lane.example/a")
    told = [text for name, text in written(tmp_path).items() if name.endswith((".html", ".json", "worker.js"))]
    assert len(told) == 2 * 2 * (1 + len(stations)) + 2
    for text in told:
        assert stamp.code.encode() not in text
        assert b'"number":3,' not in text
    assert all(LATER.code.encode() in text for text in told)


def test_one_changed_rule_makes_the_pages_of_its_station_and_the_first_pages_anew_and_no_others(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, kept: Path, tmp_path: Path
) -> None:
    first, *others = booklets(course, with_the_rail_in(stations), LATER)
    before = {file.name for file in (kept / "pages").iterdir()}
    write_site(first, pictures, tmp_path, others=others, cache=kept, address="https://lane.example/other")
    made = [file.read_text("utf-8") for file in (kept / "pages").iterdir() if file.name not in before]
    stationed = [text for text in made if 'data-number="' in text]
    assert all('data-number="2"' in text for text in stationed)
    assert len(stationed) <= 2 * len(LANGUAGES)
    assert len(made) <= 2 * 2 * len(LANGUAGES)


@pytest.mark.parametrize("number", [0, 1])
def test_what_is_woven_in_is_what_the_templates_would_have_told(
    course: Course, stations: Sequence[Station], stamp: Stamp, number: int
) -> None:
    """Against the templates themselves, given the edition: whatever of it they show has to have its mark."""
    each = booklets(course.model_copy(update={"title": "A & B <i>"}), stations, stamp)
    every = languages(each)
    assets = {"style": "s.css", "script": "s.js", "icon": "i.svg", "judge": "j.css", "find-en": "find-en-1.js", "find-de": "find-de-1.js"}
    stills = {still.id: (Shown("small.jpg"), Shown("large.jpg")) for page in each[0].stations for still in page.stills}
    site = PhoneSite(each[number], every[number], every, stills, root="https://lane.example/a&b/", assets=assets, worker=True)
    for template, full, bare in (
        ("phone.html", site, unstamped(site)),
        ("judge.html", judge_site(site), judge_site(unstamped(site))),
    ):
        for page in (None, *site.booklet.stations):
            name = "index.html" if page is None else page_name(page)
            told, woven = (environment().get_template(template).render(site=one, page=page, name=name) for one in (full, bare))
            assert woven != told
            assert stamper(site)(woven.encode()).decode() == told


def test_a_draft_is_kept_apart_from_editions(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, kept: Path, tmp_path: Path
) -> None:
    draft = pages(course, stations)
    for name, cache in (("kept", kept), ("anew", None)):
        write_site(draft, pictures, tmp_path / name, cache=cache)
    assert written(tmp_path / "kept") == written(tmp_path / "anew")


def test_a_name_that_reads_like_a_mark_stays_a_name_of_the_other_pages(course: Course, stations: Sequence[Station], stamp: Stamp) -> None:
    site = PhoneSite(replace(pages(course, stations, stamp), title="edition"), languages([pages(course, stations)])[0], (), {})
    site.assets.update({"find-en": "f.js"})
    assert stamper(site)(b"<p>editionLine and edition</p>") == b"<p>editionLine and edition</p>"
