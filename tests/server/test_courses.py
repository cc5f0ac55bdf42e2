"""Courses and stations over HTTP: what is shown, edits against a revision, rulings, and refusals that say what to do."""

from __future__ import annotations

import json
from io import BytesIO
from typing import Any

import pytest
from PIL import Image

from annotator import pipeline
from annotator.course import Course, Station, read_edit
from annotator.errors import InvalidEdit
from annotator.library import Library

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON

BLUE = [[20.0, 95.0], [90.0, 95.0], [90.0, 130.0], [20.0, 130.0]]
RED = [[120.0, 30.0], [200.0, 30.0], [200.0, 60.0], [120.0, 60.0]]


def first(client: Client, course: str) -> dict[str, Any]:
    station: dict[str, Any] = client.get(f"/api/courses/{course}/stations").json["stations"][0]
    return station


@pytest.fixture
def marked(library: Library, drafted: str) -> str:
    """The drafted course with its blue start and its red frame outlined on a still of station 1."""
    station = library.stations(drafted)[0].doc
    by_name = {surface.name: surface.id for surface in station.surfaces}
    marks = [("m1", "blue platform", BLUE), ("m2", "red frame", RED)]
    edits = [
        read_edit(
            {"do": "put-mark", "station": 1, "mark": {"id": i, "still": station.stills[0].id, "surface": by_name[name], "rings": [ring]}}
        )
        for i, name, ring in marks
    ]
    pipeline.decide(library, drafted, edits, who="Ana")
    return drafted


def test_an_empty_library_shows_no_course(client: Client) -> None:
    assert client.get("/api/courses").json == {"courses": []}


def test_the_list_shows_each_course_with_its_plates_and_a_picture(client: Client, drafted: str) -> None:
    (row,) = client.get("/api/courses").json["courses"]
    assert (row["title"], row["standing"], row["edition"]) == ("Spring course", "drafted", None)
    assert [(plate["number"], plate["name"], plate["standing"]) for plate in row["plates"]] == [
        (1, "stump hop", "drafted"),
        (2, "rung bridge", "drafted"),
    ]
    assert client.get(row["picture"]).mimetype == "image/jpeg"


def test_a_course_shows_what_was_said_about_it_and_what_is_open(client: Client, drafted: str) -> None:
    view = client.get(f"/api/courses/{drafted}").json
    assert view["course"]["blanket"][0]["rule"] == "unnamed-out"
    assert view["unpublished"] is True
    assert view["editions"] == []
    assert {finding["station"] for finding in view["findings"] if finding["kind"] == "not-accepted"} >= {1, 2}
    assert client.get(f"/api/courses/{drafted}/findings").json["findings"] == view["findings"]
    words = client.get(f"/api/courses/{drafted}/words").json["words"]
    assert " ".join(word["text"] for word in words).startswith("Welcome to the walk of the spring course.")


def test_how_hard_the_booklet_reads_is_told_in_every_language(client: Client, drafted: str) -> None:
    levels = client.get(f"/api/courses/{drafted}/reading").json["levels"]
    assert [level["language"] for level in levels] == ["en", "es", "fr", "de", "pt"]
    assert all(level["lix"] < 40 and level["words_a_line"] < 8 and level["too_long"] == [] for level in levels)


def test_a_still_tells_the_words_made_from_its_marks_whatever_somebody_wrote(client: Client, marked: str) -> None:
    at = first(client, marked)
    station, still = at["station"]["id"], at["station"]["stills"][0]["id"]
    address = f"/api/courses/{marked}/stations/{station}"
    made = client.get(f"{address}/stills/{still}/alt").json["made"]
    assert list(made) == client.get(f"/api/courses/{marked}").json["languages"] == ["en", "es", "fr", "de", "pt"]
    assert made["en"].startswith("Station 1: Stump hop, as filmed at ") and "Out of play: red frame" in made["en"]
    edits = [
        {"do": "set-alt", "station": 1, "still": still, "language": "es", "text": "Un tablón azul."},
        {"do": "remove-mark", "station": 1, "id": "m2"},
    ]
    assert client.post(f"{address}/edits", json={"base": at["revision"], "edits": edits}).status_code == 200
    now = client.get(f"{address}/stills/{still}/alt").json["made"]
    assert "red frame" not in now["en"], "it changes with the marks"
    assert now["es"].startswith("Estación 1: Stump hop"), "the made one is still there to go back to"


def test_a_station_carries_its_revision_as_its_etag(client: Client, drafted: str) -> None:
    station = first(client, drafted)["station"]
    address = f"/api/courses/{drafted}/stations/{station['id']}"
    answer = client.get(address)
    assert answer.headers["ETag"] == f'"r{answer.json["revision"]}"'
    assert client.get(address, headers={"If-None-Match": answer.headers["ETag"]}).status_code == 304


def test_an_edit_makes_the_next_revision_under_the_name_of_who_made_it(client: Client, drafted: str) -> None:
    at = first(client, drafted)
    address = f"/api/courses/{drafted}/stations/{at['station']['id']}"
    edits = {"base": at["revision"], "edits": [{"do": "rename-station", "station": 1, "name": "stone hop"}]}
    answer = client.post(f"{address}/edits", json=edits, headers={"Annotator-Who": "J%C3%B6rg%20B."})
    assert answer.status_code == 200, answer.text
    assert (answer.json["station"]["name"], answer.json["who"]) == ("stone hop", "Jörg B.")
    assert answer.json["revision"] == at["revision"] + 1


def test_the_second_of_two_edits_from_one_revision_is_refused_with_both_sides(client: Client, drafted: str) -> None:
    at = first(client, drafted)
    address = f"/api/courses/{drafted}/stations/{at['station']['id']}"
    for name, status in (("stone hop", 200), ("log hop", 409)):
        edits = {"base": at["revision"], "edits": [{"do": "rename-station", "station": 1, "name": name}]}
        answer = client.post(f"{address}/edits", json=edits)
        assert answer.status_code == status
    problem = answer.json
    assert (problem["kind"], problem["mine"]["name"], problem["theirs"]["name"]) == ("stale-edit", "log hop", "stone hop")
    assert problem["current"] == at["revision"] + 1
    assert client.get(address).json["station"]["name"] == "stone hop"


def test_what_the_program_adds_meanwhile_stands_in_nobodys_way(client: Client, library: Library, drafted: str) -> None:
    course, station = client.get(f"/api/courses/{drafted}").json, first(client, drafted)
    pipeline.make_proxies(library, drafted)
    still = library.station(drafted, station["station"]["id"]).doc.stills[0].model_copy(update={"id": "s01-77"})

    def one_more(doc: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        return doc, (stations[0].model_copy(update={"stills": (*stations[0].stills, still)}), *stations[1:])

    pipeline.change(library, drafted, "the drafter", one_more)
    renamed = {"base": course["revision"], "edits": [{"do": "rename-course", "title": "Summer course"}]}
    answer = client.post(f"/api/courses/{drafted}/edits", json=renamed)
    assert answer.status_code == 200 and answer.json["course"]["clips"][0]["proxy"]
    edits = {"base": station["revision"], "edits": [{"do": "rename-station", "station": 1, "name": "stone hop"}]}
    answer = client.post(f"/api/courses/{drafted}/stations/{station['station']['id']}/edits", json=edits)
    assert answer.status_code == 200 and answer.json["station"]["stills"][-1]["id"] == "s01-77"
    later = {"base": course["revision"], "edits": [{"do": "rename-course", "title": "Autumn course"}]}
    assert client.post(f"/api/courses/{drafted}/edits", json=later).status_code == 409


def test_a_course_is_ready_when_nothing_blocks_it_and_published_while_nothing_changed(
    client: Client, library: Library, drafted: str
) -> None:
    def standing() -> str:
        (row,) = client.get("/api/courses").json["courses"]
        assert row["standing"] == client.get(f"/api/courses/{drafted}").json["standing"]
        return str(row["standing"])

    assert standing() == "drafted"
    pipeline.accept(library, drafted, who="Ana")
    assert standing() == "ready"
    library.freeze(drafted, "Ben")
    assert standing() == "published"
    pipeline.decide(library, drafted, [read_edit({"do": "rename-course", "title": "Summer course"})], who="Ana")
    assert standing() == "ready"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"file": "0" * 64}, "names a picture that is not in the library", id="no-such-file"),
        pytest.param({"file": "captions"}, "names a file that is no picture", id="no-picture"),
        pytest.param({"width": 640}, "is said to have 640 x 180 pixels; its picture has 320 x 180", id="another-size"),
        pytest.param({"clip": 7}, "is of clip 7, which the walk does not have", id="another-clip"),
        pytest.param({"time_s": 99.0}, "is of 99 s, which is not in clip 1", id="another-time"),
    ],
)
def test_a_still_that_is_put_must_be_what_it_says(
    client: Client, library: Library, drafted: str, change: dict[str, object], words: str
) -> None:
    at = first(client, drafted)
    if change.get("file") == "captions":
        change = {"file": library.course(drafted).doc.clips[0].captions}
    still = {**at["station"]["stills"][0], "id": "s01-9", **change}
    edits = {"base": at["revision"], "edits": [{"do": "put-still", "station": 1, "still": still}]}
    answer = client.post(f"/api/courses/{drafted}/stations/{at['station']['id']}/edits", json=edits)
    assert answer.status_code == 422 and words in answer.json["sentence"]
    with pytest.raises(InvalidEdit, match=words):
        pipeline.decide(library, drafted, [read_edit(edits["edits"][0])], who="Ana")
    right = {**at["station"]["stills"][0], "id": "s01-9"}
    edits["edits"] = [{"do": "put-still", "station": 1, "still": right}]
    assert client.post(f"/api/courses/{drafted}/stations/{at['station']['id']}/edits", json=edits).status_code == 200


def test_two_stations_can_be_edited_at_once(client: Client, drafted: str) -> None:
    one, two = client.get(f"/api/courses/{drafted}/stations").json["stations"]
    for at, name in ((one, "log hop"), (two, "high rungs")):
        edits = {"base": at["revision"], "edits": [{"do": "rename-station", "station": at["station"]["number"], "name": name}]}
        assert client.post(f"/api/courses/{drafted}/stations/{at['station']['id']}/edits", json=edits).status_code == 200


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        pytest.param([{"do": "rename-station", "station": 99, "name": "x"}], "99", id="a-station-that-is-not-there"),
        pytest.param([{"do": "fly"}], "fly", id="an-edit-that-is-not-known"),
        pytest.param([], "at least 1", id="no-edit"),
    ],
)
def test_edits_that_do_not_fit_change_nothing_and_say_why(
    client: Client, library: Library, drafted: str, edits: list[object], words: str
) -> None:
    before = library.whole(drafted)
    answer = client.post(f"/api/courses/{drafted}/edits", json={"base": before[0].revision, "edits": edits})
    assert answer.status_code in (404, 422)
    assert words in json.dumps(answer.json)
    assert library.whole(drafted) == before


def test_accepting_a_station_leaves_the_others_alone(client: Client, drafted: str) -> None:
    answer = client.post(f"/api/courses/{drafted}/accept", json={"station": 1})
    assert [plate["standing"] for plate in answer.json["plates"]] == ["accepted", "drafted"]


def test_markup_and_odd_letters_come_back_as_they_were_typed(client: Client, drafted: str) -> None:
    typed = '<script>alert("1")</script> & Ł 🏃 \u2028'
    view = client.get(f"/api/courses/{drafted}").json
    answer = client.post(
        f"/api/courses/{drafted}/edits", json={"base": view["revision"], "edits": [{"do": "rename-course", "title": typed}]}
    )
    assert answer.status_code == 200
    assert " ".join(answer.json["course"]["title"].split()) == " ".join(typed.split())
    page = client.get(f"/booklet/{drafted}/")
    assert page.status_code == 404
    assert "<script>" not in page.text and "&lt;script&gt;" in page.text


def test_a_title_of_ten_thousand_characters_is_refused_in_an_edit(client: Client, drafted: str) -> None:
    view = client.get(f"/api/courses/{drafted}").json
    edits = [{"do": "rename-course", "title": "x" * 10_000}]
    assert client.post(f"/api/courses/{drafted}/edits", json={"base": view["revision"], "edits": edits}).status_code == 422


@pytest.mark.parametrize(
    ("point", "ruling", "surface"),
    [
        pytest.param((55, 112), "in play", "blue platform", id="inside-the-start"),
        pytest.param((160, 45), "out of play", "red frame", id="inside-the-frame"),
        pytest.param((250, 20), "out of play", None, id="where-nothing-is-marked"),
    ],
)
def test_the_ruling_at_a_point_comes_with_its_evidence(
    client: Client, marked: str, point: tuple[float, float], ruling: str, surface: str | None
) -> None:
    station = first(client, marked)["station"]
    still = f"/api/courses/{marked}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    answer = client.get(f"{still}/ruling", query_string={"x": point[0], "y": point[1]}).json
    assert answer["ruling"] == ruling
    assert (answer["surface"] and answer["surface"]["name"]) == surface
    assert answer["because"] and answer["said"]


def test_proposals_and_a_snug_outline_are_offered_and_nothing_is_put_in(client: Client, drafted: str) -> None:
    station = first(client, drafted)["station"]
    still = f"/api/courses/{drafted}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    found = client.get(f"{still}/proposals", query_string={"words": "the blue platform"}).json["proposals"]
    assert found and found[0]["why"] == "blue platform"
    x, y = (sum(point[axis] for point in found[0]["rings"][0]) / len(found[0]["rings"][0]) for axis in (0, 1))
    assert 20 <= x <= 90 and 95 <= y <= 130
    rough = [[17, 92], [93, 97], [88, 133], [22, 128]]
    offer = client.post(f"{still}/snug", json={"points": rough}).json
    assert offer["offered"] and len(offer["rings"]) == 1 and 0.6 < offer["overlap"] < 1
    assert client.get(f"{still}/proposals", query_string={"words": "cargo net"}).json == {"proposals": []}
    assert client.post(f"{still}/snug", json={"points": [[5, 5], [5, 5], [5, 5]]}).status_code == 422
    assert client.post(f"{still}/snug", json={"points": []}).status_code == 422
    assert client.post(f"{still}/like-it", json={"points": rough}).json == {"pieces": []}  # there is one platform only
    assert client.post(f"{still}/like-it", json={"points": [[5, 5], [5, 5], [5, 5]]}).status_code == 422
    assert first(client, drafted)["station"]["marks"] == station["marks"]


def test_a_still_without_marks_says_that_it_cannot_answer(client: Client, drafted: str) -> None:
    station = first(client, drafted)["station"]
    still = f"/api/courses/{drafted}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    answer = client.get(f"{still}/ruling?x=5&y=5")
    assert answer.status_code == 422
    assert answer.json["sentence"] == "Nothing is marked on this still yet, so it cannot say what is in play there."


@pytest.mark.parametrize("query", ["x=5", "x=nan&y=5", "x=5&y=1e9", "x=5&y=5&limb=nose", "x=5&y=5&division=giants"])
def test_a_question_that_cannot_be_asked_is_refused(client: Client, marked: str, query: str) -> None:
    station = first(client, marked)["station"]
    still = f"/api/courses/{marked}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    assert client.get(f"{still}/ruling?{query}").status_code in (404, 422)


def test_a_still_comes_as_a_jpeg_of_a_kept_size_without_metadata(client: Client, drafted: str) -> None:
    station = first(client, drafted)["station"]
    still = f"/api/courses/{drafted}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    answer = client.get(f"{still}/picture?width=200")
    with Image.open(BytesIO(answer.data)) as image:
        assert (image.format, image.size) == ("JPEG", (320, 180))
        assert len(image.getexif()) == 0
    assert client.get(f"{still}/picture?width=200", headers={"If-None-Match": answer.headers["ETag"]}).status_code == 304


def test_the_overlay_is_an_svg_of_the_stills_size(client: Client, marked: str) -> None:
    station = first(client, marked)["station"]
    still = f"/api/courses/{marked}/stations/{station['id']}/stills/{station['stills'][0]['id']}"
    answer = client.get(f"{still}/overlay")
    assert answer.mimetype == "image/svg+xml"
    assert 'viewBox="0 0 320 180"' in answer.text


@pytest.mark.parametrize(
    "path", ["/api/courses/none", "/api/courses/none/stations", "/api/courses/none/words", "/api/courses/none/editions"]
)
def test_a_course_that_there_is_not_tells_which_there_are(client: Client, drafted: str, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert drafted in answer.json["sentence"]


def test_a_typed_rule_is_read_and_nothing_is_changed_by_it(client: Client, library: Library, drafted: str) -> None:
    def typed(text: str) -> Any:
        answer = client.post(f"/api/courses/{drafted}/typed", json={"text": text})
        assert answer.status_code == 200, answer.text
        return answer.json

    before = library.course(drafted)
    pads = {"rule": "surface", "surface": "post pads", "part": None, "ruling": "out", "contact": None, "divisions": None}
    assert typed("The post pads are out.") == {"rules": [pads], "format": None, "name": False, "left": [], "may_be_name": False}
    assert typed("You get two retries.")["format"] == {"retries": 2, "ranking": None}
    assert typed("post pads") == {"rules": [], "format": None, "name": True, "left": [], "may_be_name": True}
    sun = {"rules": [], "format": None, "name": False, "left": ["The sun shines today."], "may_be_name": False}
    assert typed("The sun shines today.") == sun
    assert library.course(drafted) == before
    assert client.post("/api/courses/none/typed", json={"text": "floor"}).status_code == 404
    assert client.post(f"/api/courses/{drafted}/typed", json={"text": ""}).status_code == 422
