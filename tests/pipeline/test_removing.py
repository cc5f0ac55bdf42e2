"""Removing a course of the bin for good: nothing that was made from its film stays, and another course need not be heard again."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.library import Library
from tests.small_walk import LATER, draw_clip, write_captions


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Two courses, "spring" and "summer", each drafted from a walk of its own, with what publishing wants made ahead."""
    library = Library(tmp_path / "library")
    for title, said, seconds in (("Spring", None, 34), ("Summer", LATER, 12)):
        captions = tmp_path / f"{title}.vtt"
        write_captions(captions) if said is None else write_captions(captions, said)
        clip = draw_clip(tmp_path / f"{title}.mp4", seconds, shade=150 + seconds)
        name = pipeline.take_in(library, [clip], title=title, captions=[captions], who="Ana")
        pipeline.draft_course(library, name)
        pipeline.make_proxies(library, name)
        pipeline.make_sizes(library, name)
    (library.root / "films" / "spring" / "edition-1").mkdir(parents=True)
    return library


def test_nothing_of_its_film_or_words_stays(library: Library) -> None:
    course = library.course("spring").doc
    stills = [still for at in library.stations("spring") for still in at.doc.stills]
    own = {course.clips[0].original, course.clips[0].proxy, course.words, *(still.file for still in stills)}
    own |= {(library.done("picture", pipeline.picture_key(still)) or b"").decode() for still in stills}
    assert own <= set(library.files.all())
    library.put_in_bin("spring", "Ana")
    pipeline.remove_for_good(library, "spring")
    assert not own & set(library.files.all())
    assert not list(library.root.glob("films/*")) and not [place for place in library.root.glob("sizes/**/*") if place.is_file()]
    everything = b"".join(path.read_bytes() for path in library.root.rglob("*") if path.is_file())
    for words in (b"stump", b"blue platform", b"spring", b"Spring.mp4"):
        assert words not in everything, words
    assert library.verify() == ()


def test_the_other_course_keeps_what_was_heard_and_made_for_it(library: Library) -> None:
    whole = library.whole("summer")
    clip = whole[0].doc.clips[0]
    stills = [still for at in whole[1] for still in at.doc.stills]
    library.put_in_bin("spring", "Ana")
    pipeline.remove_for_good(library, "spring")
    assert library.whole("summer") == whole
    assert library.done("hear", pipeline.words_key(clip.original, clip.captions, None)) is not None
    pictures = pipeline.pictures_of(library, [at.doc for at in whole[1]])
    kept = [library.done("picture", pipeline.picture_key(still)) for still in stills]
    assert kept and all(kept)
    assert all(pictures.jpeg(still.id).is_file() for still in stills)
    library.files.path(clip.original).unlink()  # nothing need be looked at or heard again
    pipeline.draft_course(library, "summer")
    assert library.whole("summer")[1] == whole[1]


def test_a_published_picture_that_was_deleted_is_made_again(library: Library) -> None:
    still = library.stations("summer")[0].doc.stills[0]
    library.files.remove((library.done("picture", pipeline.picture_key(still)) or b"").decode())
    pictures = pipeline.pictures_of(library, [at.doc for at in library.stations("summer")])
    assert pictures.jpeg(still.id).is_file()
