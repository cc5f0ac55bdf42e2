"""A rule for every station that is typed as a sentence, in a real browser: what was understood is seen before it is put in."""

from __future__ import annotations

import pytest

from tests.server.browsing import BUILT, OpenPage, Serve, all_saved, clean

pytestmark = BUILT


@pytest.mark.parametrize("width", [360, 1280])
def test_a_typed_sentence_is_read_shown_and_put_in(serve: Serve, drafted: str, open_page: OpenPage, width: int) -> None:
    at = serve()
    before = at.library.course(drafted).doc.blanket
    page = open_page(width, who="Ana", looked_at=True)
    page.goto(at.course)
    everywhere = page.locator("#everywhere")
    everywhere.get_by_role("button", name="Add a rule for every station").click()
    field = everywhere.get_by_label("The rule, in a sentence; or only the thing")
    field.fill("Please be kind to the judges.")
    field.press("Enter")
    everywhere.get_by_text("No rule was understood in this.").wait_for()
    assert field.input_value() == "Please be kind to the judges.", "kept as typed"
    clean(page, "a sentence that nobody understood")
    field.fill("Post pads are in, except the top. The sun shines. What we do not name is out.")
    field.press("Enter")
    everywhere.get_by_text("Understood as:").wait_for()
    assert everywhere.locator(".understood li").all_inner_texts() == [
        "post pads: in play.",
        "post pads: top: out of play.",
        "What is not named is out of play. (stands as a draft; it is accepted)",
    ]
    everywhere.get_by_text("Not understood: “The sun shines.”").wait_for()
    clean(page, "what was understood of a typed sentence")
    assert at.library.course(drafted).doc.blanket == before, "nothing is in before somebody says so"
    everywhere.get_by_role("button", name="Put them in").click()
    everywhere.get_by_role("button", name="Add a rule for every station").wait_for()
    all_saved(page)
    rules = [(rule.rule, rule.surface, rule.part, rule.ruling, rule.state) for rule in at.library.course(drafted).doc.blanket]
    assert rules == [
        ("unnamed-out", None, None, None, "accepted"),
        ("surface", "post pads", None, "in", "accepted"),
        ("surface", "post pads", "top", "out", "accepted"),
    ]
    everywhere.get_by_role("button", name="Add a rule for every station").click()
    field.fill("floor")
    field.press("Enter")
    everywhere.locator(".rule", has_text="floor: out of play.").wait_for()
    page.keyboard.press("Control+z")
    everywhere.locator(".rule", has_text="floor: out of play.").wait_for(state="detached")
    page.keyboard.press("Control+z")
    everywhere.locator(".rule", has_text="post pads").first.wait_for(state="detached")
    all_saved(page)
    assert at.library.course(drafted).doc.blanket == before, "one press took the whole sentence back"
