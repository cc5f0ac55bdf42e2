"""What is made before anybody publishes: the parts of the next edition, so that publishing makes none of them anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.errors import Stopped
from annotator.library import Library
from annotator.pipeline.pictures import sizes_folder
from annotator.pipeline.steps import StageProgress
from tests.small_walk import draw_clip, write_captions

PARTS = ("pages", "cards")


@pytest.fixture
def library(tmp_path: Path) -> Library:
    clip, said = draw_clip(tmp_path / "walk.mp4", 34, rate=2), write_captions(tmp_path / "walk.vtt")
    library = Library(tmp_path / "library")
    assert pipeline.take_in(library, [clip], title="Spring", captions=[said], who="Ana") == "spring"
    pipeline.draft_course(library, "spring")
    return library


def parts(library: Library) -> set[str]:
    """The kept parts of outputs, by their place."""
    folder = sizes_folder(library)
    return {str(file.relative_to(folder)) for part in PARTS for file in (folder / part).rglob("*") if file.is_file()}


def test_an_edition_finds_its_parts_made(library: Library) -> None:
    with library:
        pipeline.make_ahead(library, "spring")
        assert parts(library) == set()  # drafts: nobody can publish yet
        pipeline.accept(library, "spring", who="Ana")
        pipeline.make_ahead(library, "spring")
        made = parts(library)
        assert len(made) > 20
        assert library.editions("spring") == () and not list((library.root / "outputs").glob("*/*"))
        edition = pipeline.publish(library, "spring", who="Ben")
        assert edition.number == 1
        assert parts(library) == made


def test_who_stops_it_is_heard_and_what_fails_is_left_to_publishing(library: Library) -> None:
    def stop(_: StageProgress) -> None:
        raise Stopped("enough")

    with library:
        pipeline.accept(library, "spring", who="Ana")
        with pytest.raises(Stopped):
            pipeline.make_ahead(library, "spring", stop)
        still = library.stations("spring")[0].doc.stills[0]
        library.files.path(still.file).unlink()
        pipeline.make_ahead(library, "spring")
