"""Captions, films and faces in films on the course page, in a real browser."""

from __future__ import annotations

from pathlib import Path

from annotator import pipeline
from annotator.library import Library
from tests.server.browsing import BUILT, OpenPage, Serve, clean, soon
from tests.server.test_captions import SPANISH

pytestmark = BUILT


def test_a_translated_file_is_laid_in_looked_at_and_taken_out(
    library: Library, drafted: str, serve: Serve, open_page: OpenPage, tmp_path: Path
) -> None:
    file = tmp_path / "walk.es.srt"
    file.write_text(SPANISH + "\n2\n00:00:0x,000 --> 00:00:06,000\nSolo los pies.\n", "utf-8")
    page = open_page(who="Nell", looked_at=True)
    page.goto(serve().course)
    part = page.locator(".walk-captions")
    part.get_by_text("How they read").click()
    part.get_by_role("heading", name="Without fillers and false starts").wait_for()
    part.locator("input[type=file]").set_input_files(str(file))
    part.get_by_text("Solo los pies").wait_for()
    clean(page, "a caption file is chosen", ".walk-captions")
    part.get_by_role("button", name="Keep it as Spanish").click()
    part.get_by_role("heading", name="In Spanish, as somebody translated them").wait_for()
    assert [each.language for each in library.course(drafted).doc.translations] == ["es"]
    assert part.get_by_text("its words 'Solo los pies.'").is_visible()
    clean(page, "translated captions are there", ".walk-captions")
    part.get_by_role("button", name="Take the captions in Spanish out").click()
    part.get_by_role("button", name="Yes, take them out").click()
    part.get_by_role("heading", name="In Spanish, as somebody translated them").wait_for(state="detached")
    assert library.course(drafted).doc.translations == ()


def test_films_are_asked_for_as_they_are_wished_and_faces_lifted_only_with_a_reason(
    library: Library, drafted: str, serve: Serve, open_page: OpenPage
) -> None:
    pipeline.accept(library, drafted, who="Ana")
    pipeline.publish(library, drafted, who="Ben")
    page = open_page(who="Nell", looked_at=True)
    page.goto(serve().course)
    films = page.locator(".films")
    films.get_by_text("How they are made").click()
    films.get_by_label("720 lines, sharper").check()
    films.get_by_label("Captions stand in the picture too, for players that show none").check()
    films.get_by_text("Faces in the films").click()
    show = films.get_by_role("button", name="Show faces from the next edition on")
    assert show.is_disabled()
    films.get_by_label("Why may they be shown?").fill("it is drawn by a program")
    clean(page, "how films are made", ".films")
    show.click()
    films.get_by_text("Faces are shown in the films").wait_for()
    shown = library.course(drafted).doc.faces_shown
    assert shown is not None and shown.because == "it is drawn by a program"
    films.get_by_role("button", name="Blur them again").click()
    films.get_by_text("Faces are blurred in every film.").wait_for()
    assert library.course(drafted).doc.faces_shown is None
    films.get_by_role("button", name="Make the films").click()
    films.get_by_text("The films are being made").wait_for()
    (job,) = page.evaluate("fetch('/api/jobs').then(answer => answer.json())")["jobs"]
    assert (job["kind"], job["state"]) == ("films", "waiting")
    clean(page, "films are being made", ".films")
    films.get_by_role("button", name="Stop making films").click()
    soon(page, lambda: page.evaluate("fetch('/api/jobs').then(answer => answer.json())")["jobs"][0]["stopping"])
    page.reload()
    page.locator(".films").wait_for()
    kept = page.evaluate(f"JSON.parse(localStorage.getItem('annotator films {drafted}'))")
    assert kept == {"lines": 720, "division": None, "wording": "as spoken", "in_picture": True, "whole_walk": True}
