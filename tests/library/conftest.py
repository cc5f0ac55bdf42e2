"""A small invented course, accepted in every item, with its files in a library."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from annotator.course import BlanketRule, Clip, Course, Mark, RunFormat, Said, Station, Still, Surface
from annotator.library import Library

Whole = tuple[Course, tuple[Station, ...]]


def _whole(library: Library) -> Whole:
    put = library.files.put
    clip = Clip(
        number=1,
        title="lauf eins.mov",
        original=put(b"original with a place in it", ".mov"),
        start_s=0,
        duration_s=90,
        width=1920,
        height=1080,
        has_audio=True,
        captions=put(b"WEBVTT\n", ".vtt"),
        proxy=put(b"proxy without a place", ".mp4"),
    )
    course = Course(
        name="spring-cup",
        title="Spring Cup",
        clips=(clip,),
        order=("t1", "t2"),
        divisions=("under-tens",),
        format=RunFormat(retries=1, ranking="furthest then fastest"),
        format_by_hand=True,
        blanket=(
            BlanketRule(rule="unnamed-out", id="b1", state="accepted", confidence=0.9),
            BlanketRule(rule="surface", surface="post pads", part="top", ruling="out", id="b2", state="accepted"),
        ),
        words=put(b'[{"start": 0, "end": 1, "text": "hello"}]', ".words.json"),
    )
    stations = []
    for number in (1, 2):
        surface = Surface(
            id=f"u{number}",
            name="blue platform",
            part="top",
            role="start",
            contact=("feet",),
            overshoot="allowed",
            divisions={"under-tens": "out"},
            said=(Said(start=1, end=2, text="you start on the blue platform"),),
            confidence=0.8,
            state="accepted",
        )
        still = Still(
            id=f"s{number}-1",
            time_s=number * 10 + 2.5,
            clip=1,
            pts=1000,
            width=640,
            height=480,
            file=put(f"picture {number}".encode(), ".png"),
            why="sharp",
            state="accepted",
        )
        marks = (
            Mark(id="m1", still=still.id, surface=surface.id, rings=(((1, 1), (9, 1), (9, 9)),), state="accepted"),
            Mark(id="m2", still=still.id, surface="b2", line=((1, 1), (50, 60.5)), width=9, state="accepted"),
        )
        stations.append(
            Station(
                id=f"t{number}",
                number=number,
                name="stump hop",
                start=number * 10,
                end=number * 10 + 9,
                contact=("feet",),
                surfaces=(surface,),
                demonstration="clear",
                stills=(still,),
                marks=marks,
                state="accepted",
                accepted_by="Ana",
            )
        )
    return course, tuple(stations)


@pytest.fixture
def whole_in() -> Callable[[Library], Whole]:
    """The course and its stations; their files are put into the library that is given."""
    return _whole


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """A library with the course in it, ready to publish."""
    made = Library(tmp_path / "our library")
    made.add_course(*_whole(made), "Ana")
    return made
