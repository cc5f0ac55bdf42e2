"""Pictures are made ready ahead: publishing then encodes none, and nothing that a stopped run made is made again."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.errors import Stopped
from annotator.pipeline import pictures
from annotator.pipeline.pictures import sizes_folder
from annotator.pipeline.steps import StageProgress
from tests.pipeline.test_readers import library_with


def encoded(folder: Path) -> dict[str, int]:
    return {file.name: file.stat().st_mtime_ns for file in folder.iterdir() if file.suffix in (".avif", ".webp", ".jpg")}


def test_publishing_encodes_no_picture_that_was_made_ready(tmp_path: Path) -> None:
    told: list[StageProgress] = []
    with library_with(tmp_path / "library") as library:
        pipeline.make_sizes(library, "spring", progress=told.append)
        ready = encoded(sizes_folder(library))
        assert {Path(name).suffix for name in ready} == {".avif", ".webp", ".jpg"}
        assert told[-1].share == 1.0
        pipeline.publish(library, "spring", who="Ana")
        assert encoded(sizes_folder(library)) == ready
        shown = library.outputs("spring", 1) / "booklet" / "pictures"
        assert len(list(shown.iterdir())) == len([name for name in ready if "-print-" not in name and "-book-" not in name])
        elsewhere = pipeline.write_output(library, "spring", "booklet", tmp_path / "out", edition=1).parent / "pictures"
        assert {file.stat().st_nlink for file in shown.iterdir()} == {2}, "an edition's pictures are the kept ones"
        assert {file.stat().st_nlink for file in elsewhere.iterdir()} == {1}, "those that somebody may write to are not"


def test_what_a_stopped_run_made_is_kept(tmp_path: Path) -> None:
    def stop(_: StageProgress) -> None:
        raise Stopped("stopped")

    with library_with(tmp_path / "library") as library:
        with pytest.raises(Stopped):
            pipeline.make_sizes(library, "spring", progress=stop)
        kept = encoded(sizes_folder(library))
        assert kept
        pipeline.make_sizes(library, "spring")
        assert encoded(sizes_folder(library)) == kept


def test_a_picture_that_is_gone_is_left_for_publishing(tmp_path: Path) -> None:
    with library_with(tmp_path / "library") as library:
        library.files.path(library.station("spring", "t1").doc.stills[0].file).unlink()
        pipeline.make_sizes(library, "spring")
        assert not sizes_folder(library).exists()


def test_a_part_of_what_is_kept_may_go_missing(tmp_path: Path) -> None:
    """Somebody emptied the folder, all of it or a part: it costs time and nothing else."""
    with library_with(tmp_path / "library") as library:
        first = pipeline.write_output(library, "spring", "booklet", tmp_path / "one").parent
        next(file for file in sizes_folder(library).iterdir() if file.suffix == ".avif").unlink()
        second = pipeline.write_output(library, "spring", "booklet", tmp_path / "two").parent
        one, two = ({file.name: file.read_bytes() for file in (folder / "pictures").iterdir()} for folder in (first, second))
        assert one == two


def test_publishing_leaves_no_more_kept_than_allowed_and_the_edition_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is thrown away, outputs are the same as those that were made from it."""
    with library_with(tmp_path / "library") as library:
        monkeypatch.setattr(pictures, "MOST_KEPT_BYTES", dict.fromkeys(pictures.MOST_KEPT_BYTES, 0))
        pipeline.publish(library, "spring", who="Ana")
        for place in pictures.MOST_KEPT_BYTES:
            assert not [file for file in (library.root / place).glob("*") if file.is_file()]  # a folder that nothing came into is not made
        again = pipeline.write_output(library, "spring", "booklet", tmp_path / "again", edition=1).parent
        first = library.outputs("spring", 1) / "booklet"
        one, two = (
            {file.relative_to(folder): file.read_bytes() for file in folder.rglob("*") if file.is_file()} for folder in (first, again)
        )
        assert one == two
