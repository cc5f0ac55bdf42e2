"""What was made lately is made once, and no more than so many of it are held."""

from __future__ import annotations

from annotator.recent import Recent


def test_what_was_made_lately_is_the_same_until_more_was_asked_for_since() -> None:
    recent: Recent[list[str]] = Recent(2)
    first = recent.get("a", lambda: ["a"])
    recent.get("b", lambda: ["b"])
    assert recent.get("a", list) is first
    recent.get("c", list)
    assert recent.get("a", list) is first
    assert recent.get("b", list) == []
