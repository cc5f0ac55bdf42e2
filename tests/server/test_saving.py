"""Several people change one course: what goes together goes together, what meets is refused with both sides, and a batch is done once."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import Station
from annotator.library import Library
from annotator.server.present import SILENT_S, Present

Client = Any


class Desk:
    """A page at a course: it knows what it saw last, and sends edits under its own name."""

    def __init__(self, client: Client, course: str, who: str) -> None:
        self.client, self.course, self.who = client, course, who
        self.sent = 0
        self.look()

    def look(self) -> None:
        self.view = self.client.get(f"/api/courses/{self.course}").json
        self.stations = {at["station"]["id"]: at for at in self.client.get(f"/api/courses/{self.course}/stations").json["stations"]}

    def post(self, path: str, body: dict[str, Any]) -> Any:
        return self.client.post(f"/api/courses/{self.course}{path}", json=body, headers={"Annotator-Who": self.who})

    def edit(self, station: str, *edits: dict[str, Any], batch: str | None = None) -> Any:
        self.sent += 1
        at = self.stations[station]
        number = at["station"]["number"]
        body = {
            "base": at["revision"],
            "edits": [{"station": number, **edit} for edit in edits],
            "client": self.who,
            "batch": batch or f"{self.who}-{self.sent}",
        }
        return self.post(f"/stations/{station}/edits", body)

    def edit_course(self, *edits: dict[str, Any], seen: tuple[str, ...] = ()) -> Any:
        self.sent += 1
        body = {"base": self.view["revision"], "edits": list(edits), "client": self.who, "batch": f"{self.who}-{self.sent}"}
        return self.post("/edits", body | {"seen": {each: self.stations[each]["revision"] for each in seen}})

    def undo(self, of: str, batch: str) -> Any:
        return self.post("/undo", {"of": of, "client": self.who, "batch": batch})


@pytest.fixture
def ana(client: Client, drafted: str) -> Desk:
    return Desk(client, drafted, "Ana")


@pytest.fixture
def ben(client: Client, drafted: str) -> Desk:
    return Desk(client, drafted, "Ben")


def now(library: Library, name: str, station: str) -> Station:
    return library.station(name, station).doc


RENAME = {"do": "rename-station", "name": "log hop"}
LIMBS = {"do": "set-limbs", "limbs": ["hands"]}


def test_changes_of_different_places_from_one_revision_go_together(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    surfaces = ana.stations["t1"]["station"]["surfaces"]
    assert ana.edit("t1", RENAME).status_code == 200
    assert ben.edit("t1", LIMBS).status_code == 200
    assert ana.edit("t1", {"do": "change-surface", "surface": surfaces[0]["id"], "set": {"optional": True}}).status_code == 200
    assert ben.edit("t1", {"do": "change-surface", "surface": surfaces[1]["id"], "set": {"ruling": "out"}}).status_code == 200
    station = now(library, drafted, "t1")
    assert (station.name, station.contact) == ("log hop", ("hands",))
    assert (station.surfaces[0].optional, station.surfaces[1].ruling) == (True, "out")


@pytest.mark.parametrize(
    ("first", "second", "places"),
    [
        pytest.param(RENAME, {"do": "rename-station", "name": "stone hop"}, ["name"], id="the-same-field"),
        pytest.param(
            {"do": "change-surface", "surface": "u1", "set": {"ruling": "out"}},
            {"do": "change-surface", "surface": "u1", "set": {"optional": True}},
            ["surface u1"],
            id="two-fields-of-one-line",
        ),
        pytest.param(
            {"do": "change-surface", "surface": "u1", "set": {"ruling": "out"}},
            {"do": "accept-item", "id": "u1"},
            ["surface u1"],
            id="vouching-for-a-line-that-says-something-else-by-now",
        ),
        pytest.param(RENAME, {"do": "accept"}, ["name"], id="accepting-a-station-that-says-something-else-by-now"),
        pytest.param(
            {"do": "remove-surface", "surface": "u1"}, {"do": "change-surface", "surface": "u1", "set": {"optional": True}}, [], id="gone"
        ),
    ],
)
def test_an_edit_that_meets_somebody_elses_is_refused_and_told_where(
    ana: Desk, ben: Desk, library: Library, drafted: str, first: dict[str, Any], second: dict[str, Any], places: list[str]
) -> None:
    assert ana.edit("t1", first).status_code == 200
    before = now(library, drafted, "t1")
    answer = ben.edit("t1", {"do": "set-demonstration", "demonstration": "fail"}, second)
    assert (answer.status_code, answer.json["kind"]) == (409, "stale-edit")
    assert answer.json["clashes"] == [{"edit": 1, "places": places}], "the first of the two edits would go through"
    assert answer.json["theirs"] == before.model_dump(mode="json")
    assert now(library, drafted, "t1") == before, "nothing was saved"
    ben.look()
    assert ben.edit("t1", {"do": "set-demonstration", "demonstration": "fail"}).status_code == 200


def test_two_who_change_a_place_to_the_same_need_not_choose(ana: Desk, ben: Desk) -> None:
    assert ana.edit("t1", RENAME).status_code == 200
    assert ben.edit("t1", RENAME).status_code == 200


def test_what_a_page_saved_itself_is_no_other_persons_change(ana: Desk, library: Library, drafted: str) -> None:
    for name in ("log hop", "stone hop", "bar hop"):  # the page has not looked in between
        assert ana.edit("t1", {"do": "rename-station", "name": name}).status_code == 200
    assert now(library, drafted, "t1").name == "bar hop"


def test_somebody_elses_change_between_two_of_mine_is_still_seen(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    assert ana.edit("t1", LIMBS).status_code == 200
    ben.look()
    assert ben.edit("t1", RENAME).status_code == 200
    answer = ana.edit("t1", {"do": "rename-station", "name": "bar hop"})
    assert (answer.status_code, answer.json["clashes"][0]["places"]) == (409, ["name"])
    assert now(library, drafted, "t1").name == "log hop"


def test_a_batch_that_comes_twice_is_done_once_whatever_came_between(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    add = {"do": "add-surface", "surface": {"name": "grey beam"}}
    first = ana.edit("t1", add, RENAME, batch="once")
    ben.look()
    assert ben.edit("t1", {"do": "rename-station", "name": "stone hop"}).status_code == 200
    again = ana.edit("t1", add, RENAME, batch="once")
    assert (first.status_code, again.status_code) == (200, 200)
    assert again.json["station"]["name"] == "stone hop"
    assert [one.name for one in now(library, drafted, "t1").surfaces].count("grey beam") == 1


@pytest.mark.parametrize("surface", [{"id": "u-beam", "surface": {"name": "grey beam"}}, {"surface": {"name": "grey beam"}}])
def test_a_batch_whose_first_sending_is_still_under_way_is_done_once_and_taken(
    ana: Desk, library: Library, drafted: str, monkeypatch: pytest.MonkeyPatch, surface: dict[str, Any]
) -> None:
    """A tab is closed while it sends; the next one sends the same, and the first is saved just before the second reads the documents."""
    add = {"do": "add-surface", **surface}
    read, first = Library.whole, []

    def late(self: Library, name: str) -> Any:
        monkeypatch.setattr(Library, "whole", read)
        first.append(ana.edit("t1", add, batch="once").status_code)
        return read(self, name)

    monkeypatch.setattr(Library, "whole", late)
    assert ana.edit("t1", add, batch="once").status_code == 200
    assert first == [200]
    assert [one.name for one in now(library, drafted, "t1").surfaces].count("grey beam") == 1


def test_a_batch_that_changed_nothing_is_done_as_well(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    same = {"do": "set-limbs", "limbs": ana.stations["t1"]["station"]["contact"]}
    assert ana.edit("t1", same, batch="once").status_code == 200
    assert ben.edit("t1", LIMBS).status_code == 200
    assert ana.edit("t1", same, batch="once").status_code == 200
    assert now(library, drafted, "t1").contact == ("hands",)


def test_an_edit_finds_its_station_under_the_number_that_it_has_by_now(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    assert ben.edit_course({"do": "move-station", "station": 2, "to": 1}).status_code == 200
    assert ana.edit("t1", RENAME).status_code == 200
    assert [now(library, drafted, name).name for name in ("t1", "t2")] == ["log hop", "rung bridge"]


def test_a_station_that_somebody_took_out_gets_no_edit_and_loses_none(ana: Desk, ben: Desk) -> None:
    assert ben.edit_course({"do": "remove-station", "station": 1}, seen=("t1",)).status_code == 200
    answer = ana.edit("t1", RENAME)
    assert (answer.status_code, answer.json["clashes"]) == (409, [{"edit": 0, "places": []}])


def test_a_station_is_not_taken_out_over_what_somebody_changed_in_it(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    assert ana.edit("t1", RENAME).status_code == 200
    answer = ben.edit_course({"do": "remove-station", "station": 1}, seen=("t1",))
    assert (answer.status_code, answer.json["clashes"]) == (409, [{"edit": 0, "places": ["name"]}])
    assert len(library.stations(drafted)) == 2
    ben.look()
    assert ben.edit_course({"do": "remove-station", "station": 1}, seen=("t1",)).status_code == 200


@pytest.mark.parametrize(
    "edits",
    [
        pytest.param([RENAME, LIMBS], id="the-head"),
        pytest.param([{"do": "change-surface", "surface": "u2", "set": {"ruling": "out"}}], id="a-line"),
        pytest.param([{"do": "remove-surface", "surface": "u1"}], id="a-line-taken-out"),
        pytest.param([{"do": "add-surface", "surface": {"name": "grey beam"}}], id="a-line-added"),
        pytest.param([{"do": "accept"}], id="accepted"),
        pytest.param([{"do": "dismiss", "kind": "no-overshoot", "because": "mats"}], id="put-aside"),
        pytest.param([{"do": "split-station", "at": 15.0}], id="split"),
        pytest.param([{"do": "merge-stations"}], id="joined"),
    ],
)
def test_what_was_done_is_taken_back_and_done_again(
    ana: Desk, ben: Desk, library: Library, drafted: str, edits: list[dict[str, Any]]
) -> None:
    def everything() -> list[Station]:
        return [at.doc for at in library.stations(drafted)]

    before = everything()
    answer = ana.edit("t1", *edits, batch="first")
    assert answer.status_code == 200, answer.text
    after = everything()
    assert after != before
    assert ana.undo("first", "second").status_code == 200
    assert everything() == before
    assert ana.undo("first", "second").status_code == 200, "once, however often it comes"
    assert everything() == before
    assert ana.undo("second", "third").status_code == 200
    assert everything() == after


def test_taking_back_leaves_what_others_changed_elsewhere_and_never_goes_over_them(
    ana: Desk, ben: Desk, library: Library, drafted: str
) -> None:
    name = now(library, drafted, "t1").name
    assert ana.edit("t1", RENAME, batch="first").status_code == 200
    assert ana.edit("t1", LIMBS, batch="other").status_code == 200
    ben.look()
    assert ben.edit("t1", {"do": "set-limbs", "limbs": ["hands", "feet"]}).status_code == 200
    refused = ana.undo("other", "no")
    assert refused.status_code == 422 and "limbs" in refused.json["sentence"]
    assert ana.undo("first", "yes").status_code == 200
    station = now(library, drafted, "t1")
    assert (station.name, station.contact) == (name, ("hands", "feet"))


def test_a_signature_comes_back_only_where_all_is_again_as_it_was_signed(ana: Desk, ben: Desk, library: Library, drafted: str) -> None:
    assert ana.edit("t1", {"do": "accept"}).status_code == 200
    ben.look()
    assert ben.edit("t1", {"do": "sign"}).status_code == 200
    ana.look()
    assert ana.edit("t1", RENAME, batch="one").status_code == 200
    assert now(library, drafted, "t1").signed_by is None
    assert ana.undo("one", "two").status_code == 200
    assert now(library, drafted, "t1").signed_by == "Ben"


def test_what_nobody_did_cannot_be_taken_back(ana: Desk) -> None:
    answer = ana.undo("never", "so")
    assert answer.status_code == 404


def test_who_is_here_is_told_to_the_others_with_what_changed(ana: Desk, ben: Desk) -> None:
    def here(desk: Desk, station: str | None) -> Any:
        return desk.post("/here", {"client": desk.who, "station": station}).json

    assert here(ana, "t1")["others"] == []
    told = here(ben, None)
    assert told["others"] == [{"who": "Ana", "station": "t1"}]
    assert here(ana, "t2")["others"] == [{"who": "Ben", "station": None}]
    ana.edit("t1", RENAME)
    assert here(ben, None)["revisions"]["t1"] == told["revisions"]["t1"] + 1
    ana.post("/here", {"client": ana.who, "station": None, "gone": True})
    assert here(ben, None)["others"] == [], "a page that was closed is not waited for"


def test_a_page_that_fell_silent_is_forgotten() -> None:
    clock = [0.0]
    present = Present(clock=lambda: clock[0])
    present.here("p1", "spring", "t1", "Ana")
    assert [page.who for page in present.here("p2", "spring", None, "Ben")] == ["Ana"]
    assert present.here("p3", "autumn", None, "Cleo") == ()
    clock[0] = SILENT_S - 1
    present.here("p2", "spring", None, "Ben")
    clock[0] = SILENT_S
    assert [page.who for page in present.here("p4", "spring", None, "Dora")] == ["Ben"]
