"""What a clip tells behind the closing words of the walk: read by itself, its stations stand behind the others."""

from __future__ import annotations

import pytest

from annotator.course import BlanketRule, Clip, Finding, Said, Sheet, SheetStation, SheetSurface, tells_of, with_clip

CLIP = Clip(number=2, title="more.mp4", original="0" * 64, start_s=40, duration_s=20, width=64, height=48, has_audio=True)


def line(name: str, *at: float, role: str = "route") -> SheetSurface:
    said = tuple(Said(start=each, end=each + 1, text=f"the {name}") for each in at)
    return SheetSurface.model_validate({"name": name, "role": role, "said": said})


def rule(name: str, at: float) -> BlanketRule:
    return BlanketRule(rule="surface", surface=name, ruling="out", said=(Said(start=at, end=at + 1, text=name),))


def walk(*late: SheetSurface, first: tuple[SheetSurface, ...] = ()) -> Sheet:
    stations = (
        SheetStation(number=1, name="stump hop", start=10, end=20, surfaces=(line("stump", 12), *first)),
        SheetStation(number=2, name="net", start=20, end=30, surfaces=(line("net", 22), *late)),
    )
    findings = (Finding(kind="number-disagrees", station=None, about="two"), Finding(kind="no-finish", station=2, about="no finish"))
    return Sheet(stations=stations, blanket=(rule("floor", 5), rule("hardware", 46)), findings=findings)


OWN = Sheet(
    stations=(SheetStation(number=1, name="stump hop", start=41, end=55, surfaces=(line("mat", 42, role="start"), line("stump", 45))),),
    blanket=(rule("rail", 50), rule("floor", 51)),
    findings=(Finding(kind="no-contact", station=1, about="no limbs"), Finding(kind="no-station", station=None, about="none")),
)


@pytest.mark.parametrize(
    ("sheet", "tells"),
    [
        pytest.param(walk(), False, id="nothing"),
        pytest.param(walk(first=(line("post", 45),)), False, id="a-remark-about-another-one"),
        pytest.param(walk(line("rope", 45)), True, id="the-last-one-goes-on"),
        pytest.param(walk().model_copy(update={"stations": OWN.stations}), True, id="one-begins-there"),
    ],
)
def test_whether_a_clip_tells_of_a_station(sheet: Sheet, tells: bool) -> None:
    assert tells_of(sheet, CLIP) is tells


def test_the_stations_of_a_clip_come_behind_and_what_was_heard_on_it_before_goes() -> None:
    sheet = with_clip(walk(first=(line("post", 45), line("bar", 14, 47))), CLIP, OWN)
    assert [(one.number, one.name, one.start) for one in sheet.stations] == [(1, "stump hop", 10), (2, "net", 20), (3, "stump hop", 41)]
    assert [(one.name, [said.start for said in one.said]) for one in sheet.stations[0].surfaces] == [("stump", [12]), ("bar", [14])]
    assert [(one.surface, one.said[0].start) for one in sheet.blanket] == [("floor", 5), ("rail", 50)], "said again it is one rule"
    assert [(one.kind, one.station) for one in sheet.findings] == [("number-disagrees", None), ("no-finish", 2), ("no-contact", 3)]


def test_a_clip_that_tells_no_start_and_no_finish_adds_no_station() -> None:
    only_route = OWN.stations[0].model_copy(update={"surfaces": OWN.stations[0].surfaces[1:]})
    for own in (Sheet(), OWN.model_copy(update={"stations": (only_route,)})):
        assert with_clip(walk(), CLIP, own) == walk()
