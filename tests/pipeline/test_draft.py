"""Drafting a course: by one at a time, and with or without the clips as filmed."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from annotator import pipeline
from annotator.errors import InputError
from annotator.library import Library
from annotator.pipeline import StageProgress
from tests.small_walk import draw_clip, write_captions


@pytest.fixture
def library(tmp_path: Path) -> Library:
    return Library(tmp_path / "library")


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    return draw_clip(tmp_path / "walk.mp4", 34)


@pytest.fixture
def spring(library: Library, clip: Path, tmp_path: Path) -> str:
    return pipeline.take_in(library, [clip], title="Spring", captions=[write_captions(tmp_path / "walk.vtt")], who="Ana")


def test_of_two_that_draft_one_course_the_second_waits_and_finds_it_done(library: Library, spring: str) -> None:
    begun, waits = threading.Event(), threading.Event()
    told: list[str] = []

    def first(at: StageProgress) -> None:
        begun.set()
        waits.wait()  # in the middle of its work, until the other one stands before the door

    def second(at: StageProgress) -> None:
        told.append(at.stage)
        waits.set()

    one = threading.Thread(target=pipeline.draft_course, args=(library, spring), kwargs={"progress": first})
    one.start()
    begun.wait()
    pipeline.draft_course(library, spring, progress=second)
    one.join()
    assert told[0] == "waiting for another program that drafts this course" and told[-1] == "picking stills"
    assert len(library.history(spring)) == 2, "taken in, and drafted once"
    station = library.stations(spring)[0]
    assert station.doc.stills and station.revision == 2, "its sheet, then its stills"


def test_without_the_clips_as_filmed_a_course_says_what_it_lacks_until_they_are_back(
    library: Library, spring: str, clip: Path, tmp_path: Path
) -> None:
    pipeline.draft_course(library, spring)
    pipeline.make_proxies(library, spring)
    library.pack(spring, tmp_path / "without.zip", originals=False)
    with Library(tmp_path / "elsewhere") as other:
        assert other.unpack(tmp_path / "without.zip") == spring
        pipeline.make_proxies(other, spring)
        course = other.course(spring).doc
        with pytest.raises(InputError, match=r"needs the clip 'walk\.mp4' as filmed, .* Take in the same clip again"):
            pipeline.grab_still(other, course, 5.0, "s01-5", "chosen")
        pipeline.accept(other, spring, who="Ana")
        assert pipeline.publish(other, spring, who="Ben").number == 1, "what is there is enough for an edition"
        with pytest.raises(InputError, match="came in a pack without it"):
            pipeline.write_output(other, spring, "clips", tmp_path / "clips")
        assert pipeline.duplicate_of(other, [clip]) == spring
        assert pipeline.bring_back(other, course, [clip]) and not pipeline.bring_back(other, course, [clip])
        assert pipeline.grab_still(other, course, 5.0, "s01-5", "chosen").width == 320
        assert other.verify() == ()
