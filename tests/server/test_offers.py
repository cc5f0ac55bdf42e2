"""What the API offers to whoever marks a still: regions to be taken as they are, and the marks of another still."""

from __future__ import annotations

from typing import Any

from flask.testing import FlaskClient

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library

RING = [[20.0, 95.0], [90.0, 95.0], [90.0, 130.0], [20.0, 130.0]]
FRAME = [[120.0, 30.0], [200.0, 30.0], [200.0, 60.0], [120.0, 60.0]]


def station(client: FlaskClient, name: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/courses/{name}/stations").json["stations"][0]["station"]  # type: ignore[index]
    return found


def address(name: str, of: dict[str, Any], still: str) -> str:
    return f"/api/courses/{name}/stations/{of['id']}/stills/{still}"


def test_offered_regions_are_drawn_snug_and_nothing_is_put_in(client: FlaskClient, library: Library, drafted: str) -> None:
    before = station(client, drafted)
    still = address(drafted, before, before["stills"][0]["id"])
    offered = client.get(f"{still}/offers", query_string={"words": "blue platform"}).json["proposals"]  # type: ignore[index]
    xs, ys = zip(*offered[0]["rings"][0], strict=True)
    drawn = (20, 95, 90, 130)  # what the walk's clip shows
    assert all(abs(found - true) <= 2 for found, true in zip((min(xs), min(ys), max(xs), max(ys)), drawn, strict=True))
    again = client.get(f"{still}/offers", query_string={"words": "blue platform"}).json["proposals"]  # type: ignore[index]
    assert again == offered
    assert client.get(f"{still}/offers", query_string={"words": "cargo net"}).json == {"proposals": []}
    assert station(client, drafted) == before


def test_the_marks_of_another_still_are_offered_where_they_lie_here(client: FlaskClient, library: Library, drafted: str) -> None:
    course = library.course(drafted).doc
    now = library.stations(drafted)[0].doc
    other = pipeline.grab_still(library, course, now.stills[0].time_s + 2, "later", "chosen")
    edits: list[dict[str, Any]] = [{"do": "put-still", "station": 1, "still": other.model_dump(mode="json")}]
    for name, ring, surface in (("m1", RING, 0), ("m2", FRAME, 1)):
        mark = {"id": name, "still": now.stills[0].id, "surface": now.surfaces[surface].id, "rings": [ring]}
        edits.append({"do": "put-mark", "station": 1, "mark": mark})
    pipeline.decide(library, drafted, [read_edit(edit) for edit in edits], who="Ana")
    before = station(client, drafted)
    there = address(drafted, before, "later")
    found: Any = client.post(f"{there}/carried", json={"still": now.stills[0].id}).json
    assert {mark["id"]: mark["still"] for mark in found["marks"]} == dict.fromkeys({"m1", "m2"} - set(found["withheld"]), "later")
    assert found["marks"], "the camera stands still, so at least one of the blocks is found again"
    for mark in found["marks"]:
        true = RING if mark["id"] == "m1" else FRAME
        assert all(abs(a - b) <= 2 for spot, at in zip(mark["rings"][0], true, strict=True) for a, b in zip(spot, at, strict=True))
        assert (mark["origin"], mark["state"]) == ("carried", "draft")
    (first, *_) = found["marks"]
    one: Any = client.post(f"{there}/carried", json={"still": now.stills[0].id, "marks": [first["id"]]}).json
    assert one["marks"] == [first]
    assert station(client, drafted) == before


def test_a_still_is_not_carried_to_itself_and_strange_marks_are_refused(client: FlaskClient, drafted: str) -> None:
    of = station(client, drafted)
    still = of["stills"][0]["id"]
    here = address(drafted, of, still)
    assert client.post(f"{here}/carried", json={"still": still}).status_code == 422
    assert client.post(f"{here}/carried", json={"still": "none"}).status_code == 404
    assert client.post(f"{here}/carried", json={"still": still, "marks": []}).status_code == 422
