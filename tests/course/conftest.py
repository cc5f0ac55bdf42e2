"""A drafted course of three stations, invented, for the tests of edits and of drafting again."""

from __future__ import annotations

import pytest

from annotator.course import (
    BlanketRule,
    Course,
    Finding,
    HeardName,
    Mark,
    RunFormat,
    Said,
    Sheet,
    SheetStation,
    SheetSurface,
    Station,
    Still,
    merge_draft,
)

Documents = tuple[Course, tuple[Station, ...]]


def _surface(name: str, at: float, **more: object) -> SheetSurface:
    said = (Said(start=at, end=at + 1, text=f"the {name}"),)
    return SheetSurface.model_validate({"name": name, "said": said, "confidence": 0.7, **more})


@pytest.fixture
def sheet() -> Sheet:
    """What the drafter says about the invented walk."""
    return Sheet(
        stations=(
            SheetStation(
                number=1,
                name="stump hop",
                start=10,
                end=20,
                contact=("feet",),
                surfaces=(
                    _surface("blue mat", 11, role="start"),
                    _surface("stump", 13),
                    _surface("post", 14, part="top", ruling="out"),
                    _surface("post", 15),
                    _surface("red mat", 18, role="finish", overshoot="allowed", divisions={"under-tens": "out"}),
                ),
                demonstration="clear",
            ),
            SheetStation(
                number=2, name="ring row", start=20, end=30, surfaces=(_surface("rings", 22), _surface("red mat", 21, role="start"))
            ),
            SheetStation(number=3, name="net", start=30, end=40, surfaces=(_surface("net", 32), _surface("bell", 38, role="finish"))),
        ),
        blanket=(
            BlanketRule(rule="unnamed-out", confidence=0.9),
            BlanketRule(rule="surface", surface="post pads", ruling="in"),
            BlanketRule(rule="surface", surface="post pads", part="top", ruling="out"),
        ),
        format=RunFormat(retries=1),
        findings=(Finding(kind="no-finish", station=2, about="no finish is named", severity="blocks"),),
    )


@pytest.fixture
def drafted(sheet: Sheet) -> Documents:
    """The course after its first draft, with a still and two marks at station 1 and a name heard wrong."""
    heard = HeardName(heard="ring roe", name="ring row", reason="sounds alike", score=0.9, at=(21.0,))
    course, stations = merge_draft(Course(name="spring-cup", title="Spring Cup", heard=(heard,)), (), sheet)
    still = Still(id="s01-1", time_s=13, clip=1, pts=1, width=64, height=48, file="0" * 64)
    ring = (((1.0, 1.0), (9.0, 1.0), (9.0, 9.0)),)
    marks = (
        Mark(id="m1", still="s01-1", surface="u2", rings=ring, origin="proposed"),
        Mark(id="m2", still="s01-1", surface="b2", rings=ring, origin="proposed"),
    )
    return course, (stations[0].model_copy(update={"stills": (still,), "marks": marks}), *stations[1:])
