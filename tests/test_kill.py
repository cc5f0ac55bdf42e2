"""A real SIGKILL in each stage of the main job: the same command goes on, does nothing twice, and the library is whole."""

from __future__ import annotations

import shutil
from pathlib import Path

import av
import pytest

from annotator.library import Library
from tests.killing import KILLED, command, finish, kill_at
from tests.small_walk import draw_clip, write_captions

SAMPLE = Path(__file__).parent.parent / "sample_media" / "clip-2.mov"
SPOKEN_S = 21.0  # long enough for the first station to be named
KEEPING_THE_CLIP = 11  # the touch that puts the first file in its place


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first seconds of the sample walk, picture and speech as they are in it."""
    path = tmp_path_factory.mktemp("spoken") / "spoken walk.mp4"
    with av.open(str(SAMPLE)) as source, av.open(str(path), "w") as out:
        kept = {stream.index: out.add_stream_from_template(stream) for stream in (*source.streams.video, *source.streams.audio)}
        for packet in source.demux(*source.streams.video, *source.streams.audio):
            if packet.pts is not None and float(packet.pts * packet.time_base) < SPOKEN_S:
                packet.stream = kept[packet.stream.index]
                out.mux(packet)
    return path


@pytest.fixture(scope="module")
def captioned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("captioned")
    return draw_clip(folder / "walk.mp4", 34), write_captions(folder / "walk.vtt")


def whole(root: Path) -> None:
    """Nothing is wrong with the library, and nothing half-written is left in it."""
    with Library(root) as library:
        assert library.verify() == ()
    assert not list(root.rglob(".unfinished-*"))


def written(root: Path) -> dict[Path, int]:
    """Every kept file with the time at which it was written."""
    return {path: path.stat().st_mtime_ns for path in (root / "files").rglob("*") if path.is_file()}


def test_a_kill_in_each_stage_of_taking_in_loses_nothing_and_repeats_nothing(tmp_path: Path, spoken: Path) -> None:
    root = tmp_path / "library"
    add = ("add", spoken, "--title", "Spoken walk", "--by", "Ana")
    assert command(root, *add, touch=KEEPING_THE_CLIP).returncode == KILLED
    whole(root)
    with Library(root) as library:
        assert library.courses() == ()
    kill_at(root, "hearing the words", *add)
    whole(root)
    kill_at(root, "reading the rules", *add)  # the words are kept from here on
    whole(root)
    kept = written(root)
    kill_at(root, "picking stills", *add, without=("faster_whisper",))  # the sheet too
    whole(root)
    kill_at(root, "making the proxy of clip 1", *add, without=("faster_whisper", "spacy"))
    whole(root)
    assert finish(root, *add, without=("faster_whisper", "spacy")).strip() == "spoken-walk"
    whole(root)
    after = written(root)
    assert kept.items() <= after.items(), "what was kept before is still there and was not written again"
    with Library(root) as library:
        (course,) = library.courses()
        assert course.doc.state == "drafted" and course.doc.words is not None and course.doc.clips[0].proxy is not None
        assert library.stations("spoken-walk") and all(at.doc.stills for at in library.stations("spoken-walk"))
        told = library.history("spoken-walk")
    finish(root, *add, without=("faster_whisper", "spacy"))
    with Library(root) as library:
        assert library.history("spoken-walk") == told, "nothing was left to do"
    assert written(root) == after


@pytest.fixture(scope="module")
def accepted_once(tmp_path_factory: pytest.TempPathFactory, captioned: tuple[Path, Path]) -> Path:
    """A library with a course that may be published."""
    root = tmp_path_factory.mktemp("accepted") / "library"
    finish(root, "add", captioned[0], "--captions", captioned[1], "--title", "Spring", "--by", "Ana", "--no-proxy")
    finish(root, "accept", "spring", "--by", "Ana")
    return root


@pytest.fixture
def accepted(accepted_once: Path, tmp_path: Path) -> Path:
    """Such a library of its own for each test."""
    return Path(shutil.copytree(accepted_once, tmp_path / "library"))


def test_a_kill_while_publishing_gives_the_same_edition_when_it_is_done_again(accepted: Path) -> None:
    publish = ("publish", "spring", "--by", "Ben")
    kill_at(accepted, "writing the booklet", *publish)
    whole(accepted)
    with Library(accepted) as library:
        (frozen,) = library.editions("spring")
        assert not library.outputs("spring", 1).exists(), "no half of an edition is shown"
    for line in ("writing the cards", "writing the print", "writing the captions"):
        kill_at(accepted, line, *publish)
        whole(accepted)
        with Library(accepted) as library:
            assert not library.outputs("spring", 1).exists()
    assert f"Edition 1, code {frozen.code}" in finish(accepted, *publish)
    whole(accepted)
    with Library(accepted) as library:
        assert [edition.code for edition in library.editions("spring")] == [frozen.code]
        made = {path: path.stat().st_mtime_ns for path in library.outputs("spring", 1).rglob("*")}
    assert made
    assert f"Edition 1, code {frozen.code}" in finish(accepted, *publish)
    with Library(accepted) as library:
        assert {path: path.stat().st_mtime_ns for path in library.outputs("spring", 1).rglob("*")} == made


def kill_more_and_more_late(root: Path, *arguments: object, every: int) -> int:
    """Run a command over and over, each time killed some touches of the library later, until it gets to its end; the number of kills.

    The steps grow, `every` touches more each time: what is done first is the most delicate, and a command with many outputs touches often.
    """
    for kills in range(200):
        done = command(root, *arguments, touch=1 + every * kills * (kills + 1) // 2)
        whole(root)
        if done.returncode == 0:
            return kills
        assert done.returncode == KILLED, done.stderr
    raise AssertionError("it never got to its end")


def test_kills_at_many_moments_of_taking_in_lead_to_the_same_course(tmp_path: Path, captioned: tuple[Path, Path]) -> None:
    root = tmp_path / "library"
    add = ("add", captioned[0], "--captions", captioned[1], "--title", "Spring", "--by", "Ana")
    assert kill_more_and_more_late(root, *add, every=4) >= 3
    with Library(root) as library:
        assert [at.doc.name for at in library.courses()] == ["spring"]
        assert library.courses()[0].doc.clips[0].proxy is not None
        assert [at.doc.name for at in library.stations("spring")] == ["stump hop", "rung bridge"]
        assert all(at.doc.stills for at in library.stations("spring"))


def test_kills_at_many_moments_of_publishing_lead_to_one_edition(accepted: Path) -> None:
    finish(accepted, "publish", "spring", "--by", "Ben")
    elsewhere = ("publish", "spring", "--by", "Ben", "--address", "https://example.org/spring/")  # writes every output again
    assert kill_more_and_more_late(accepted, *elsewhere, every=9) >= 3
    with Library(accepted) as library:
        assert len(library.editions("spring")) == 1
        assert {path.name for path in library.outputs("spring", 1).iterdir()} >= {"booklet", "judge-cards.pdf", "booklet.pdf", "captions"}
