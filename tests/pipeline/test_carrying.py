"""Marks of one still on the others of its station: a camera that pans over a drawn wall, so that it is known where everything went."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from annotator import pipeline
from annotator.course import Station
from annotator.errors import InputError, NotFound
from annotator.library import Library
from annotator.media import open_writer
from annotator.pipeline.carrying import posts_of_clip
from tests.small_walk import write_captions

WIDTH, HEIGHT, PAN_PX_S = 320, 180, 2.0
CUT_S = 20.0
WHO = "Ana"


def wall(seed: int) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    rng = np.random.default_rng(seed)
    scene = np.full((HEIGHT, WIDTH + 120, 3), 120, np.uint8)
    for _ in range(250):
        x, y = int(rng.integers(0, scene.shape[1])), int(rng.integers(0, HEIGHT))
        across, down = (int(size) for size in rng.integers(6, 34, 2))
        cv2.rectangle(scene, (x, y), (x + across, y + down), tuple(int(value) for value in rng.integers(0, 255, 3)), -1)
    return np.asarray(cv2.GaussianBlur(scene, (0, 0), 0.7), np.uint8)


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course "spring": station 1 with a mark on one still, one still a little later and one of another wall, after a cut."""
    folder = tmp_path_factory.mktemp("carried")
    one, other = wall(1), wall(2)
    with open_writer(folder / "walk.mp4", WIDTH, HEIGHT) as film:
        for at in range(34 * 4):
            time_s = at / 4
            left = round(PAN_PX_S * time_s)
            film.write((one if time_s < CUT_S else other)[:, left : left + WIDTH], time_s)
    marks = {
        "stills": [{"still": name, "station": 1, "time_s": time_s} for name, time_s in (("s01-1", 10), ("s01-2", 16), ("s01-3", 24))],
        "marks": [
            {"still": "s01-1", "station": 1, "surface": "stumps", "rings": [[[100, 60], [170, 60], [170, 120], [100, 120]]]},
            {"still": "s01-1", "station": 1, "surface": "red frame", "rings": [[[2, 20], [62, 20], [62, 90], [2, 90]]]},
            {"still": "s01-2", "station": 1, "surface": "blue platform", "rings": [[[200, 60], [260, 60], [260, 120]]]},
            {"still": "s01-1", "station": 1, "surface": "blue platform", "rings": [[[212, 60], [272, 60], [272, 120]]]},
        ],
    }
    (folder / "marks.json").write_text(json.dumps(marks), "utf-8")
    with Library(folder / "library") as opened:
        name = pipeline.take_in(opened, [folder / "walk.mp4"], title="Spring", captions=[write_captions(folder / "walk.vtt")], who=WHO)
        pipeline.draft_course(opened, name)
        pipeline.marks_from(opened, name, folder / "marks.json", who=WHO)
        assert name == "spring"
    return folder / "library"


def station(library: Library) -> Station:
    return next(at.doc for at in library.stations("spring") if at.doc.number == 1)


def test_marks_are_offered_on_the_other_stills_once_and_only_where_they_are_certain(library: Path) -> None:
    with Library(library) as opened:
        before = station(opened)
        near, elsewhere = pipeline.carry_over(opened, "spring", 1, "s01-1", who=WHO)
        after = station(opened)
        assert (near.still, elsewhere.still) == ("s01-2", "s01-3")
        names = {surface.id: surface.name for surface in after.surfaces}
        assert [names[mark.surface] for mark in near.put] == ["stumps", "red frame"]
        assert [names[mark.surface] for mark in near.there_already] == ["blue platform"]
        assert elsewhere.put == ()
        assert len(elsewhere.withheld) == 3
        assert after.marks == (*before.marks, *near.put)
        stumps, frame = near.put
        assert {(mark.still, mark.state, mark.origin) for mark in near.put} == {("s01-2", "draft", "carried")}
        assert stumps.confidence is not None and 0.6 < stumps.confidence <= 1
        moved = np.array([[100, 60], [170, 60], [170, 120], [100, 120]]) - (PAN_PX_S * 6, 0)
        assert stumps.rings is not None and np.allclose(np.array(stumps.rings[0]), moved, atol=1.5)
        # What has left the picture is cut off.
        assert frame.rings is not None and min(x for x, _ in frame.rings[0]) == 0
        again = pipeline.carry_over(opened, "spring", 1, "s01-1", ["s01-2"], who=WHO)
        assert again[0].put == ()
        assert station(opened) == after


@pytest.mark.parametrize(
    ("number", "source", "targets", "error", "words"),
    [
        pytest.param(9, "s01-1", (), NotFound, "9", id="no such station"),
        pytest.param(1, "s09-1", (), NotFound, "s09-1", id="no such still"),
        pytest.param(1, "s01-1", ("s09-1",), NotFound, "s09-1", id="no such still to carry to"),
        pytest.param(1, "s01-3", (), InputError, "Nothing is marked on the still s01-3", id="a bare still"),
        pytest.param(1, "s01-1", ("s01-1",), InputError, "no other still than s01-1", id="onto itself"),
    ],
)
def test_what_cannot_be_carried_says_why(
    library: Path, number: int, source: str, targets: tuple[str, ...], error: type[Exception], words: str
) -> None:
    with Library(library) as opened, pytest.raises(error, match=words):
        pipeline.carry_over(opened, "spring", number, source, targets, who=WHO)


def test_the_clips_of_a_course_are_carried_once(library: Path, tmp_path: Path) -> None:
    with Library(library) as opened:
        told: list[float] = []
        first = pipeline.write_output(opened, "spring", "clips", tmp_path / "one", progress=lambda at: told.append(at.share))
        assert told == sorted(told)
        course = opened.course("spring").doc

        def never(share: float) -> None:
            raise AssertionError("it was carried again")

        posts = posts_of_clip(opened, station(opened), course.clips[0], drafts=True, progress=never)
        assert any(post.marks for post in posts)
        stumps = station(opened).marks[0]
        there = next(post for post in posts if post.still == "s01-1" and post.time_s >= 12)
        rings = next(mark.rings for mark in there.marks if mark.id == stumps.id)
        assert rings is not None and stumps.rings is not None
        assert np.allclose(np.array(rings[0]), np.array(stumps.rings[0]) - (PAN_PX_S * 2, 0), atol=1.5)
        assert (first / "station-1.mp4").is_file()
