"""A station of a later clip that looks like one that an earlier clip tells is pointed at; what is another obstacle is not."""

from __future__ import annotations

import pytest

from annotator.course import Clip, Contact, Course, Dismissal, Finding, Role, Ruling, Said, Station, Surface
from annotator.rules import check

KINDS = ("goes-on", "told-again", "name-for-two-things")


def clip(number: int) -> Clip:
    start = 100.0 * (number - 1)
    return Clip(number=number, title=f"{number}.mp4", original="0" * 64, start_s=start, duration_s=100, width=64, height=48, has_audio=True)


COURSE = Course(name="c", title="C", clips=(clip(1), clip(2), clip(3)))


def station(number: int, at: float, name: str | None, *things: str, **more: object) -> Station:
    """Things are "name", or "name/role"."""
    surfaces = []
    for place, thing in enumerate(things):
        what, _, role = thing.partition("/")
        surfaces.append(Surface.model_validate({"id": f"u{number}-{place}", "name": what, "role": role or "route", "state": "accepted"}))
    fields = {"id": f"t{number}", "number": number, "name": name, "start": at, "end": at + 20, "surfaces": surfaces, **more}
    return Station.model_validate(fields)


def begins(text: str) -> tuple[Said, ...]:
    return (Said(start=130, end=132, text=text),)


WALL = station(1, 10, "tall wall", "yellow box/start", "wall", "white line/finish")
HOP = station(2, 40, "stump hop", "red box/start", "stump", "blue mat/finish")


def told(*stations: Station) -> list[tuple[str, int | None, str | None]]:
    return [(f.kind, f.station, f.other) for f in check(COURSE, (WALL, HOP, *stations)) if f.kind in KINDS]


CASES = [
    pytest.param([station(3, 100, None, "mat", "rope")], [("goes-on", 3, "t2")], id="no-name-no-start-the-last-one-before"),
    pytest.param([station(3, 100, None, "wall", "rope")], [("goes-on", 3, "t1")], id="the-one-with-the-same-things"),
    pytest.param([station(3, 100, "Tall  wall", "rope")], [("goes-on", 3, "t1")], id="the-one-of-that-name"),
    pytest.param([station(3, 130, "tall wall", "box/start", "wall")], [("told-again", 3, "t1")], id="told-again"),
    pytest.param(
        [station(3, 105, "net", "net/start"), station(4, 130, "tall wall", "rope")], [("told-again", 4, "t1")], id="later-in-its-clip"
    ),
    pytest.param(
        [station(3, 105, None, "yellow box/start", "wall", "white line/finish")], [("told-again", 3, "t1")], id="the-same-things-by-no-name"
    ),
    pytest.param([station(3, 105, None, "yellow box/start", "net", "white line/finish")], [], id="only-some-of-the-same-things"),
    pytest.param([station(3, 100, "net", "wall", "white line/finish")], [], id="a-name-of-its-own"),
    pytest.param([station(3, 105, "net", "net/start"), station(4, 130, None, "rope")], [], id="goes-on-only-where-a-clip-opens"),
    pytest.param(
        [station(3, 130, None, "box/start", said=begins("Station one is the tall wall."))],
        [("told-again", 3, "t1")],
        id="by-its-first-words",
    ),
    pytest.param([station(3, 130, None, "box/start", said=begins("After the tall wall, turn left."))], [], id="only-passed-by"),
    pytest.param([station(3, 130, None, "box/start", said=begins("A tall wallet."))], [], id="a-name-inside-a-word"),
    pytest.param([station(3, 70, "tall wall", "rope")], [("name-for-two-things", 3, None)], id="twice-in-one-clip"),
    pytest.param(
        [station(3, 105, "net", "net/start"), station(4, 200, None, "net")], [("goes-on", 4, "t3")], id="of-the-clip-that-was-added-before"
    ),
]


@pytest.mark.parametrize(("later", "expected"), CASES)
def test_what_a_later_clip_tells_again_is_pointed_at(later: list[Station], expected: list[tuple[str, int, str | None]]) -> None:
    assert told(*later) == expected


def test_the_sentence_says_why_and_what_to_do() -> None:
    def sentence(later: Station) -> str:
        (found,) = [f for f in check(COURSE, (WALL, HOP, later)) if f.kind in KINDS]
        return found.about

    assert sentence(station(3, 100, None, "rope")) == (
        "Station 3: it opens clip 2 without a name or a start, so it may be the rest of station 2 (stump hop). "
        "Join the two if they are one."
    )
    assert sentence(station(3, 120, "tall wall", "box/start")) == (
        "Station 3 (tall wall): it has the name of station 1 (tall wall), which an earlier clip tells. "
        "Is it that one, told again in clip 2? If these are two obstacles, give each its own name."
    )


def test_put_aside_it_is_not_told_again_under_another_kind() -> None:
    aside = Dismissal(kind="told-again", by="Ana", because="there are two tall walls")
    assert told(station(3, 130, "tall wall", "box/start", dismissed=(aside,))) == []


def ruled(
    first: Ruling, second: Ruling, *, role: Role = "route", limbs: tuple[Contact | None, Contact | None] = (None, None)
) -> list[Finding]:
    lines = (
        Surface(id="u1", name="post", ruling=first, contact=limbs[0], state="accepted"),
        Surface(id="u2", name="the posts", ruling=second, contact=limbs[1], role=role),
    )
    both = station(1, 0, "post row").model_copy(update={"surfaces": lines})
    return [finding for finding in check(COURSE, (both,)) if finding.kind == "contradiction"]


def test_one_thing_ruled_in_two_ways_by_two_lines_blocks_until_one_is_kept() -> None:
    (clash,) = ruled("in", "out")
    assert (clash.severity, clash.surface) == ("blocks", "u2")
    assert clash.about == "Station 1 (post row): the post is in play by one line and out of play by another. Keep the one that holds."
    assert ruled("in", "in") == []
    assert ruled("in", "out", role="start") == []


def test_lines_for_different_limbs_do_not_contradict_each_other() -> None:
    assert ruled("in", "out", limbs=(("hands",), ("feet",))) == []
    assert ruled("in", "out", limbs=(("hands",), ("hands", "feet"))) != []
    assert ruled("in", "out", limbs=(("hands",), None)) != []
