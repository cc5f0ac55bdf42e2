"""Where stations begin. Speakers announce them in every way, or not at all; common practice, no published source."""

from __future__ import annotations

import pytest

from annotator.course import Course, Station, apply, read_edit
from annotator.rules import check, draft
from tests.rules.reading_of import words_of

RULES = (
    "You start on the {a} box. Walk along the beam, feet only, and mind the gap in the middle of it. The chains at the side are out, as "
    "they always are. Then you come down to the {b} mat, and that's your finish."
)
FIRST = RULES.format(a="red", b="blue")
SECOND = RULES.format(a="white", b="green")
THIRD = RULES.format(a="yellow", b="grey")

WAYS = [
    pytest.param("Station one. {0} Station two. {1} Station three. {2}", id="numbered"),
    pytest.param("Number one is here. {0} Number two is there. {1} And number three. {2}", id="number is"),
    pytest.param("The first one. {0} The second one. {1} The last one. {2}", id="ordinals"),
    pytest.param("Here we begin. {0} Next up. {1} Next one. {2}", id="next"),
    pytest.param("Okay. {0} Right, come over here. {1} Now, follow me. {2}", id="turns of speech"),
    pytest.param("{0} {1} {2}", id="nothing at all"),
]


@pytest.mark.parametrize("way", WAYS)
def test_stations_are_found_however_they_are_announced(way: str) -> None:
    sheet = draft(words_of(way.format(FIRST, SECOND, THIRD)))
    assert [[s.name for s in t.surfaces if s.role == "start"] for t in sheet.stations] == [["red box"], ["white box"], ["yellow box"]]
    assert [s.number for s in sheet.stations] == [1, 2, 3]


def test_a_name_that_nobody_gives_is_none_and_the_number_is_set_all_the_same() -> None:
    sheet = draft(words_of(f"Station one, beam walk. {FIRST} Okay, next one, this has no name. {SECOND}"), ["beam walk"])
    assert [(s.number, s.name) for s in sheet.stations] == [(1, "beam walk"), (2, None)]


def test_a_number_said_that_is_not_the_place_in_order_is_noted() -> None:
    sheet = draft(words_of(f"Station one. {FIRST} Station three. {SECOND}"))
    assert [(f.kind, f.station, f.severity) for f in sheet.findings if f.kind == "number-disagrees"] == [("number-disagrees", 2, "note")]


def test_a_rule_told_before_its_station_goes_to_it() -> None:
    early = "Oh, and before I forget, on the hoop lane, that's the one coming up, the curtain is in."
    sheet = draft(words_of(f"Station one, beam walk. {FIRST} {early} Station two, hoop lane. {SECOND}"), ["beam walk", "hoop lane"])
    assert [[s.name for s in t.surfaces if s.name == "curtain"] for t in sheet.stations] == [[], ["curtain"]]


def test_a_name_heard_nearly_right_is_the_listed_one_and_says_so() -> None:
    sheet = draft(words_of(f"Station one, lead shuffle. {FIRST} Station two, ring row. {SECOND}"), ["ledge shuffle", "ring row"])
    assert [s.name for s in sheet.stations] == ["ledge shuffle", "ring row"]
    [finding] = [f for f in sheet.findings if f.kind == "name-heard-wrong"]
    assert finding.station == 1
    assert "lead shuffle" in finding.about


def test_the_finish_told_again_is_where_the_next_one_starts() -> None:
    sheet = draft(
        words_of(
            f"Station one. {FIRST} Station two. Blue mat again, and you go along the rings, hands only, to the tall bench, "
            f"that's the finish."
        )
    )
    assert [(s.name, s.role) for s in sheet.stations[1].surfaces] == [("blue mat", "start"), ("rings", "route"), ("tall bench", "finish")]


def test_a_ruling_that_closes_a_station_does_not_open_the_next() -> None:
    closing = "The post is in, lean on it. Well. Nobody minds. So, once more, the boards are in. And the post is out."
    sheet = draft(words_of(f"Number one is the beam walk. {FIRST} {closing} Two is the board run. {SECOND}"), ["beam walk", "board run"])
    assert [any(s.name == "post" for s in t.surfaces) for t in sheet.stations] == [True, False]


def test_hands_only_on_these_is_said_of_the_station_and_not_of_where_it_starts() -> None:
    sheet = draft(words_of("Station one, ring row. From the green platform to the rings. Hands only on these. You finish on the mat."))
    (station,) = sheet.stations
    assert station.contact == ("hands",)
    assert [s.contact for s in station.surfaces if s.role == "start"] == [None]


def test_feet_only_is_known_where_it_was_heard_as_feed_only() -> None:
    sheet = draft(words_of("Station one. You start on the red box. Then you walk the beam, feed only. You finish on the mat."))
    assert sheet.stations[0].contact == ("feet",)


OPENING = [
    pytest.param("There are eight obstacles today.", "", 8, id="only counted"),
    pytest.param(
        "There are eight altogether, and two of them are in this barn.", "So that was two of the eight.", 8, id="counted with a part"
    ),
    pytest.param(
        "Rule number one, no spikes. Rule number two, the grass is out wherever you are. Number three, no shouting.",
        "",
        None,
        id="rules counted",
    ),
    pytest.param(
        "You will meet a beam walk, a ledge shuffle, a ring row and a hoop lane.",
        "Next is the ring row, but we can't film that today, and then comes the hoop lane.",
        None,
        id="listed and announced",
    ),
    pytest.param("", "Number three is the rope and number four is the swing, Ada will show you those tomorrow.", None, id="others later"),
]


@pytest.mark.parametrize(("before", "after", "announced"), OPENING)
def test_what_is_only_announced_is_no_station_and_a_count_that_is_not_reached_is_told(
    before: str, after: str, announced: int | None
) -> None:
    said = f"Good morning everybody. {before} Station one, beam walk. {FIRST} Station two, ledge shuffle. {SECOND} {after}"
    sheet = draft(words_of(said), ["beam walk", "ledge shuffle", "ring row", "hoop lane"])
    assert [s.name for s in sheet.stations] == ["beam walk", "ledge shuffle"]
    told = [f.about for f in sheet.findings if f.kind == "number-disagrees"]
    assert [about.split(" and")[0] for about in told] == (["Eight stations are announced"] if announced else [])


def test_the_count_is_told_until_there_are_as_many_stations_as_announced() -> None:
    sheet = draft(words_of(f"We have three stations here. Station one. {FIRST} Station two. {SECOND}"))
    course = Course(name="c", title="C", drafted=sheet.findings)

    def told(count: int) -> list[str]:
        stations = [Station(id=f"t{k}", number=k, start=0, end=9) for k in range(1, count + 1)]
        return [f.about for f in check(course, stations) if f.kind == "number-disagrees"]

    assert [about[:48] for about in told(2)] == ["Three stations are announced and two are here. I"]
    assert [about[:48] for about in told(4)] == ["Three stations are announced and four are here. "]
    assert told(3) == []


def test_what_was_drafted_of_a_station_is_told_under_the_number_and_name_that_it_has_now() -> None:
    sheet = draft(words_of(f"Station one. {FIRST} Station three, ledge shuffle. {SECOND}"), ["ledge shuffle"])
    course = Course(name="c", title="C", drafted=sheet.findings, order=("t1", "t2"))
    stations = tuple(Station(id=f"t{s.number}", number=s.number, name=s.name, start=s.start, end=s.end) for s in sheet.stations)

    def told(*edits: dict[str, object]) -> list[str]:
        now, docs = course, stations
        for edit in edits:
            now, docs = apply(now, docs, read_edit(edit), "Ana")
        return [f.about for f in check(now, docs) if f.kind == "number-disagrees"]

    before = {"do": "add-station", "number": 1, "name": "net", "start": 0, "end": 0}
    assert told() == ["Station 2 (ledge shuffle) is number 2 in order, but the speaker calls it number 3."]
    assert told({"do": "remove-station", "station": 1}, {"do": "rename-station", "station": 1, "name": "rim (low)"}) == [
        "Station 1 (rim (low)) is number 1 in order, but the speaker calls it number 3."
    ]
    assert told(before) == [], "with one more before it the speaker's number is right"
    assert told(before, before) == ["Station 4 (ledge shuffle) is number 4 in order, but the speaker calls it number 3."]


def test_a_name_told_where_its_station_ends_does_not_begin_another() -> None:
    sheet = draft(
        words_of(
            "So you stand on the red box. Walk along the beam, feet only. You get to the blue mat, and that's your beam walk. "
            "Off the blue mat there is a rope, hands on the rope. Drop on the green mat, and that is the rope row."
        ),
        ["beam walk", "rope row"],
    )
    assert [s.name for s in sheet.stations] == ["beam walk", "rope row"]


OPENINGS = [
    pytest.param("Alright. So, this is the log walk, station two.", "So, this is the log walk, station two.", id="named"),
    pytest.param("Okay. Here is station two, then.", "Here is station two, then.", id="more-than-a-word"),
    pytest.param("Station two.", "Station two.", id="only-its-number"),
]


@pytest.mark.parametrize(("said", "begins"), OPENINGS)
def test_the_words_that_a_station_begins_with_are_those_that_name_it(said: str, begins: str) -> None:
    first = "Station one. You start on the mat. Feet only on the steps. Finish on the blue box."
    sheet = draft(words_of(f"{first} [4] {said} You start on the red box. Feet only on the log. Finish on the green mat."), ["log walk"])
    assert [station.said[0].text for station in sheet.stations] == ["Station one.", begins]
