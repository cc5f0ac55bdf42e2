"""A further clip of a walk that was drafted, marked and signed: it comes behind, and nothing of what people did is lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.course import read_edit
from annotator.errors import InputError, NotFound, UnreadableVideo
from annotator.library import Library
from tests.small_walk import LATER, SAID, draw_clip, write_captions


@pytest.fixture
def library(tmp_path: Path) -> Library:
    return Library(tmp_path / "library")


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    return draw_clip(tmp_path / "walk.mp4", 34)


@pytest.fixture
def later(tmp_path: Path) -> tuple[Path, Path]:
    """The clip that somebody forgot, with its captions."""
    return draw_clip(tmp_path / "later.mp4", 12, shade=180), write_captions(tmp_path / "later.vtt", LATER)


@pytest.fixture
def spring(library: Library, clip: Path, tmp_path: Path) -> str:
    """Drafted, with station 1 moved behind station 2, then accepted and signed."""
    name = pipeline.take_in(library, [clip], title="Spring", captions=[write_captions(tmp_path / "walk.vtt")], who="Ana")
    pipeline.draft_course(library, name)
    still = library.stations(name)[0].doc.stills[0].id
    surface = library.stations(name)[0].doc.surfaces[0].id
    mark = {"id": "m1", "still": still, "surface": surface, "rings": [[[20, 95], [90, 95], [90, 130], [20, 130]]]}
    edits = [{"do": "put-mark", "station": 1, "mark": mark}, {"do": "move-station", "station": 1, "to": 2}]
    pipeline.decide(library, name, [read_edit(each) for each in edits], who="Ana")
    pipeline.accept(library, name, who="Ana")
    pipeline.sign(library, name, who="Ben")
    return name


def test_what_was_signed_stays_as_it_was_and_the_new_station_comes_last(library: Library, spring: str, later: tuple[Path, Path]) -> None:
    before = [at.doc for at in library.stations(spring)]
    rules = library.course(spring).doc.blanket
    assert pipeline.add_clips(library, spring, [later[0]], captions=[later[1]], who="Ana") == 1
    pipeline.draft_course(library, spring)
    course, stations = library.whole(spring)
    first, second = course.doc.clips
    assert (second.number, second.title, second.start_s) == (2, "later.mp4", first.duration_s)
    assert [at.doc for at in stations][:2] == before, "order, rules, marks, stills and signatures"
    assert course.doc.blanket == rules
    (new,) = [at.doc for at in stations][2:]
    assert (new.number, new.name, new.standing()) == (3, "tall wall", "drafted")
    assert new.start >= first.duration_s
    assert {still.clip for still in new.stills} == {2}
    assert [(one.name, one.role) for one in new.surfaces] == [("yellow box", "start"), ("wall", "route"), ("white line", "finish")]


@pytest.mark.parametrize("accepted", [True, False], ids=["accepted", "a-draft"])
def test_a_clip_that_announces_no_station_adds_nothing_to_one_that_was_accepted(
    library: Library, clip: Path, tmp_path: Path, accepted: bool
) -> None:
    name = pipeline.take_in(library, [clip], title="Spring", captions=[write_captions(tmp_path / "walk.vtt")], who="Ana")
    pipeline.draft_course(library, name)
    if accepted:
        pipeline.accept(library, name, who="Ana")
    before = [at.doc for at in library.stations(name)]
    more = (("The yellow box is out as well.", 3.0), ("And you may not touch the wall.", 3.0))
    film, said = draw_clip(tmp_path / "more.mp4", 7, shade=170), write_captions(tmp_path / "more.vtt", more)
    pipeline.add_clips(library, name, [film], captions=[said])
    for _ in range(2):  # reading again changes nothing
        pipeline.draft_course(library, name)
        stations = [at.doc for at in library.stations(name)]
        if accepted:
            assert stations[:2] == before
            assert [one.name for one in stations[2].surfaces] == ["yellow box", "wall"]
            assert (len(stations), stations[2].name, stations[2].start) == (3, None, library.course(name).doc.clips[1].start_s)
        else:  # the camera began a new file in the middle of the station
            assert (len(stations), stations[0]) == (2, before[0])
            assert [one.name for one in stations[1].surfaces][-2:] == ["yellow box", "wall"]


CLOSED = (*SAID, *LATER, ("And that's the whole course. See you at the start, and have a good one.", 4.0))
AGAIN = (
    ("Okay, so from the green platform, number two, rung bridge.", 4.0),
    ("Hands only on the rungs, and the grey rail is out.", 4.0),
    ("You finish on the landing mat.", 3.0),
)


def test_what_is_told_on_a_clip_behind_the_closing_words_of_the_walk_is_a_station_all_the_same(library: Library, tmp_path: Path) -> None:
    film, said = draw_clip(tmp_path / "walk.mp4", 48), write_captions(tmp_path / "walk.vtt", CLOSED)
    name = pipeline.take_in(library, [film], title="Spring", captions=[said], names=["stump hop", "rung bridge"], who="Ana")
    pipeline.draft_course(library, name)
    pipeline.accept(library, name, who="Ana")
    before = library.whole(name)
    more, told = draw_clip(tmp_path / "more.mp4", 14, shade=170), write_captions(tmp_path / "more.vtt", AGAIN)
    pipeline.add_clips(library, name, [more], captions=[told])
    for _ in range(2):  # reading again changes nothing
        pipeline.draft_course(library, name)
        course, stations = library.whole(name)
        assert [at.doc for at in stations][:3] == [at.doc for at in before[1]]
        (new,) = [at.doc for at in stations][3:]
        assert new.start >= course.doc.clips[1].start_s
        assert ("grey rail", "out") in [(one.name, one.ruling) for one in new.surfaces]
        assert course.doc.blanket == before[0].doc.blanket
        (found,) = [each for each in pipeline.findings(library, name) if each.other is not None]
        assert (found.kind, found.station, found.other) == ("told-again", 4, stations[1].doc.id)


def test_adding_it_again_after_a_kill_adds_nothing_and_a_person_is_told(library: Library, spring: str, later: tuple[Path, Path]) -> None:
    pipeline.add_clips(library, spring, [later[0]], captions=[later[1]])
    after = library.course(spring)
    assert pipeline.add_clips(library, spring, [later[0]], captions=[later[1]]) == 0
    assert library.course(spring) == after
    with pytest.raises(InputError, match=r"later\.mp4 is in this course already, as clip 2"):
        pipeline.refuse_there(after.doc, [("later.mp4", library.files.digest(later[0]))])


def test_a_file_that_is_no_clip_leaves_the_course_as_it_was(library: Library, spring: str, tmp_path: Path) -> None:
    before = library.course(spring)
    (tmp_path / "notes.mp4").write_text("no film", "utf-8")
    with pytest.raises(UnreadableVideo, match=r"notes\.mp4"):
        pipeline.add_clips(library, spring, [tmp_path / "notes.mp4"])
    with pytest.raises(InputError, match="Name the video files"):
        pipeline.add_clips(library, spring, [])
    with pytest.raises(NotFound):
        pipeline.add_clips(library, "summer", [tmp_path / "notes.mp4"])
    assert library.course(spring) == before


def test_a_course_that_came_without_its_clips_as_filmed_takes_a_further_one(
    library: Library, spring: str, later: tuple[Path, Path], tmp_path: Path
) -> None:
    library.pack(spring, tmp_path / "spring.pack", originals=False)
    with Library(tmp_path / "elsewhere") as elsewhere:
        name = elsewhere.unpack(tmp_path / "spring.pack")
        pipeline.add_clips(elsewhere, name, [later[0]], captions=[later[1]])
        pipeline.draft_course(elsewhere, name)
        assert [at.doc.name for at in elsewhere.stations(name)] == ["rung bridge", "stump hop", "tall wall"]
