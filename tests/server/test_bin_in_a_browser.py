"""Taking a course out on the pages: what goes is told, who has it open is told, it comes back from the bin, or is deleted."""

from __future__ import annotations

import pytest

from annotator.library import Library
from tests.server.browsing import BUILT, OpenPage, Serve, Served, clean

pytestmark = BUILT


@pytest.fixture
def at(serve: Serve, library: Library, drafted: str) -> Served:
    return serve(work=True)


def test_a_course_is_removed_brought_back_and_deleted_by_hand(at: Served, open_page: OpenPage) -> None:
    course, before = at.name, at.library.whole(at.name)
    other = open_page(1280, who="Ben")
    other.goto(at.course)
    other.get_by_role("heading", name="Spring course", exact=True).wait_for()
    page = open_page(360, who="Ana", looked_at=True)
    page.goto(at.course)
    page.get_by_text("Ben has this course open too").wait_for()
    page.get_by_role("button", name="Remove this course").click()
    panel = page.get_by_role("region", name="Remove “Spring course”?")
    panel.wait_for()
    assert "2 stations with all rules" in panel.inner_text() and "1 clip of the walk, 0:34" in panel.inner_text()
    clean(page, "somebody is asked whether a course shall go")
    panel.get_by_role("button", name="Yes, move it to the bin").click()
    panel.get_by_text("Ben has it open.").wait_for()
    clean(page, "a course that is to go is open elsewhere")
    panel.get_by_role("button", name="Move it to the bin all the same").click()
    page.get_by_text("In the bin: 1 course").click()
    assert at.library.courses() == ()
    other.get_by_text("in the bin. Bring it back from there first.").wait_for()
    clean(page, "a course lies in the bin")
    page.get_by_role("button", name="Bring Spring course back").click()
    page.get_by_role("link", name="Spring course").wait_for()
    assert at.library.whole(course) == before
    other.get_by_role("heading", name="Spring course", exact=True).wait_for()
    at.library.put_in_bin(course, "Ana")
    page.get_by_text("In the bin: 1 course").click()
    page.get_by_role("button", name="Remove Spring course for good").click()
    page.get_by_text("Nothing brings them back.").wait_for()
    clean(page, "somebody is asked whether a course shall be deleted")
    page.get_by_role("button", name="Yes, delete it").click()
    page.get_by_text("In the bin").wait_for(state="detached")
    assert (at.library.in_bin(), list(at.library.files.all())) == ((), [])
