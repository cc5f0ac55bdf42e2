"""Marks from a file: read, tied to surfaces, and refused with the entry that is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from annotator.course import BlanketRule
from annotator.errors import UnreadableText
from annotator.marks import read_marks, tie_marks
from tests.marks.makers import course, station, surface

RING = [[10, 10], [90, 10], [90, 90]]
PADS = BlanketRule(rule="surface", surface="post pads", part="top", ruling="out", id="b3", state="accepted")
SURFACES = [
    surface("u1", "green platform", role="start"),
    surface("u2", "green platform", role="finish"),
    surface("u3", "blue boxes", part="tops"),
]


def file_of(tmp_path: Path, *marks: dict[str, Any]) -> Path:
    entries = [{"still": "s1", "station": 1, "rings": [RING]} | one for one in marks]
    path = tmp_path / "marks.json"
    path.write_text(json.dumps({"stills": [{"still": "s1", "station": 1, "time_s": 3.0}], "marks": entries}), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("entry", "surface_id"),
    [
        pytest.param({"surface": "u3"}, "u3", id="by-id"),
        pytest.param({"surface": "blue boxes", "part": "tops"}, "u3", id="by-name-and-part"),
        pytest.param({"surface": "Blue box", "part": "top"}, None, id="another-word-for-it"),
        pytest.param({"surface": "Blue Boxes"}, "u3", id="the-only-one-of-the-name"),
        pytest.param({"surface": "green platform", "role": "finish"}, "u2", id="by-role"),
        pytest.param({"surface": "green platform"}, "u1", id="first-of-two"),
        pytest.param({"surface": "post pad", "part": "top"}, "b3", id="blanket-by-name"),
        pytest.param({"surface": "b3"}, "b3", id="blanket-by-id"),
    ],
)
def test_a_mark_finds_its_surface(tmp_path: Path, entry: dict[str, Any], surface_id: str | None) -> None:
    read = read_marks(file_of(tmp_path, entry))
    tied = tie_marks(read.marks, course(PADS), station(SURFACES, []))
    assert [found.surface for found in tied.marks] == ([surface_id] if surface_id else [])
    assert bool(tied.problems) is (surface_id is None)


def test_marks_that_cannot_be_tied_are_named_and_the_others_kept(tmp_path: Path) -> None:
    path = file_of(
        tmp_path,
        {"surface": "u1"},
        {"surface": "red mat"},
        {"surface": "u1", "still": "s7"},
        {"surface": "u1", "rings": [[[5, 5], [5, 5], [5, 5]]]},
        {"surface": "u1", "width": 5},
        {"surface": "u9", "station": 2},
        {"surface": "u2", "line": [[1, 1], [50, 50]], "width": 5, "rings": None},
    )
    tied = tie_marks(read_marks(path).marks, course(), station(SURFACES, []), first=4)
    assert [(found.id, found.surface) for found in tied.marks] == [("m4", "u1"), ("m5", "u2")]
    assert [problem.split(":")[0] for problem in tied.problems] == [
        "Mark 2 (station 1, red mat)",
        "Mark 3 (station 1, u1)",
        "Mark 4 (station 1, u1)",
        "Mark 5 (station 1, u1)",
    ]
    assert "There is: green platform, tops of the blue boxes." in tied.problems[0]


def test_a_mark_beside_its_still_is_named_and_one_that_reaches_into_it_is_kept(tmp_path: Path) -> None:
    path = file_of(
        tmp_path,
        {"surface": "u1", "rings": [[[5000, 5000], [5100, 5000], [5100, 5100]]]},
        {"surface": "u2", "rings": [[[-50, 10], [90, 10], [90, 90]]]},
    )
    tied = tie_marks(read_marks(path).marks, course(), station(SURFACES, []))
    assert [found.surface for found in tied.marks] == ["u2"]
    (problem,) = tied.problems
    assert problem.startswith("Mark 1 (station 1, u1): it lies outside the still, which is 400 x 300 pixels.")


def test_stills_of_the_file_are_put_in_the_place_of_the_stations_own(tmp_path: Path) -> None:
    read = read_marks(file_of(tmp_path, {"surface": "u1", "still": "s01-1"}))
    tied = tie_marks(read.marks, course(), station(SURFACES, []), stills={"s01-1": "s1"})
    assert [found.still for found in tied.marks] == ["s1"]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"\xff\xfe\x00", "not UTF-8 text", id="binary"),
        pytest.param(b'{"marks": [', "not JSON: .* line 1, column 12", id="cut-off"),
        pytest.param(b"[]", "the whole file", id="a-list"),
        pytest.param(b'{"marks": [{"still": "s1", "station": 0, "surface": "u1"}]}', r"marks\.0\.station", id="station-0"),
        pytest.param(
            b'{"marks": [{"still": "s1", "station": 1, "surface": "u1", "rings": [[[0, 0], [1, 1]]]}]}',
            r"marks\.0\.rings\.0: it has 2 points and needs 3 or more",
            id="two-points",
        ),
        pytest.param(
            b'{"marks": [{"still": "s1", "station": 1, "surface": "u1", "rings": [[[0, 0], [1, 1], [NaN, 2]]]}]}', "finite", id="nan"
        ),
        pytest.param(b"[" * 100_000, "nested too deeply", id="nested"),
    ],
)
def test_a_file_that_is_none_says_where_it_fails(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "marks.json"
    path.write_bytes(content)
    with pytest.raises(UnreadableText, match=words):
        read_marks(path)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(UnreadableText, match=r"Cannot read 'none\.json': No such file"):
        read_marks(tmp_path / "none.json")
