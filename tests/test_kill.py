"""A real SIGKILL in each stage of the main job: the same command goes on, does nothing twice, and the library is whole."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import av
import pytest

from annotator.library import Library
from tests.small_walk import draw_clip, write_captions

SAMPLE = Path(__file__).parent.parent / "sample_media" / "clip-2.mov"
SPOKEN_S = 21.0  # long enough for the first station to be named
COMMAND_S = 240.0  # where a busy machine takes longer than this, something hangs

# Stands in the way of a library that must not be loaded again: importing it ends the command.
TRIPWIRE = "raise RuntimeError('this was done already and must not be done again')\n"


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


def command(root: Path, *arguments: object, without: tuple[str, ...] = ()) -> subprocess.Popen[str]:
    """The program as a person starts it; `without` names libraries that it must not load this time."""
    env = {**os.environ, "ANNOTATOR_LIBRARY": str(root), "PYTHONUNBUFFERED": "1"}
    if without:
        traps = root.parent / "traps"
        for name in without:
            (traps / name).mkdir(parents=True, exist_ok=True)
            (traps / name / "__init__.py").write_text(TRIPWIRE)
        env["PYTHONPATH"] = os.pathsep.join([str(traps), *filter(None, [os.environ.get("PYTHONPATH")])])
    return subprocess.Popen(
        [sys.executable, "-m", "annotator.cli", *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env
    )


def finish(running: subprocess.Popen[str]) -> str:
    """Let it run to its end, which must be a good one; what it printed as its result."""
    out, err = running.communicate(timeout=COMMAND_S)
    assert running.returncode == 0, err
    return out


def kill_at(running: subprocess.Popen[str], line: str) -> None:
    """Kill it as soon as it says that it is there."""
    assert running.stderr is not None
    for told in running.stderr:
        if line in told:
            running.send_signal(signal.SIGKILL)
            running.communicate(timeout=COMMAND_S)
            assert running.returncode == -signal.SIGKILL, "it was over before it could be killed"
            return
    pytest.fail(f"it never said {line!r}")


def kill_when(running: subprocess.Popen[str], there: Callable[[], bool]) -> None:
    until = time.monotonic() + COMMAND_S
    while not there():
        assert running.poll() is None and time.monotonic() < until, "it was over before it could be killed"
        time.sleep(0.001)
    running.send_signal(signal.SIGKILL)
    running.communicate(timeout=COMMAND_S)
    assert running.returncode == -signal.SIGKILL


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
    kill_when(command(root, *add), lambda: any((root / "files").glob("*")))  # while the clip is being kept
    whole(root)
    with Library(root) as library:
        assert len(library.courses()) <= 1
    kill_at(command(root, *add), "hearing the words")
    whole(root)
    kill_at(command(root, *add), "reading the rules")  # the words are kept from here on
    whole(root)
    kept = written(root)
    kill_at(command(root, *add, without=("faster_whisper",)), "picking stills")  # the sheet too
    whole(root)
    kill_at(command(root, *add, without=("faster_whisper", "spacy")), "preparing clip 1")
    whole(root)
    assert finish(command(root, *add, without=("faster_whisper", "spacy"))).strip() == "spoken-walk"
    whole(root)
    after = written(root)
    assert kept.items() <= after.items(), "what was kept before is still there and was not written again"
    with Library(root) as library:
        (course,) = library.courses()
        assert course.doc.state == "drafted" and course.doc.words is not None and course.doc.clips[0].proxy is not None
        assert library.stations("spoken-walk") and all(at.doc.stills for at in library.stations("spoken-walk"))
        told = library.history("spoken-walk")
    finish(command(root, *add, without=("faster_whisper", "spacy")))
    with Library(root) as library:
        assert library.history("spoken-walk") == told, "nothing was left to do"
    assert written(root) == after


@pytest.fixture(scope="module")
def accepted(tmp_path_factory: pytest.TempPathFactory, captioned: tuple[Path, Path]) -> Path:
    """A library with a course that may be published."""
    root = tmp_path_factory.mktemp("accepted") / "library"
    finish(command(root, "add", captioned[0], "--captions", captioned[1], "--title", "Spring", "--by", "Ana", "--no-proxy"))
    finish(command(root, "accept", "spring", "--by", "Ana"))
    return root


@pytest.fixture
def moments() -> Iterator[float]:
    chance = random.Random(20)
    return iter(lambda: chance.uniform(0.0, 1.0), None)


def test_a_kill_while_publishing_gives_the_same_edition_when_it_is_done_again(accepted: Path, moments: Iterator[float]) -> None:
    publish = ("publish", "spring", "--by", "Ben")
    kill_at(command(accepted, *publish), "writing the booklet")
    whole(accepted)
    with Library(accepted) as library:
        (frozen,) = library.editions("spring")
        assert not library.outputs("spring", 1).exists(), "no half of an edition is shown"
    running = command(accepted, *publish)
    time.sleep(0.8 + 2 * next(moments))  # anywhere between its start and its end
    running.kill()
    running.communicate(timeout=COMMAND_S)
    whole(accepted)
    kill_at(command(accepted, *publish), "writing the print")
    whole(accepted)
    assert f"Edition 1, code {frozen.code}" in finish(command(accepted, *publish))
    whole(accepted)
    with Library(accepted) as library:
        assert [edition.code for edition in library.editions("spring")] == [frozen.code]
        made = {path: path.stat().st_mtime_ns for path in library.outputs("spring", 1).rglob("*")}
    assert made
    assert f"Edition 1, code {frozen.code}" in finish(command(accepted, *publish))
    with Library(accepted) as library:
        assert {path: path.stat().st_mtime_ns for path in library.outputs("spring", 1).rglob("*")} == made


def test_a_kill_at_any_moment_of_taking_in_goes_on_to_the_same_course(
    tmp_path: Path, captioned: tuple[Path, Path], moments: Iterator[float]
) -> None:
    root = tmp_path / "library"
    add = ("add", captioned[0], "--captions", captioned[1], "--title", "Spring", "--by", "Ana")
    for _ in range(4):
        running = command(root, *add)
        time.sleep(6 * next(moments))
        running.kill()
        running.communicate(timeout=COMMAND_S)
        whole(root)
    finish(command(root, *add))
    whole(root)
    with Library(root) as library:
        assert [at.doc.name for at in library.courses()] == ["spring"]
        assert [at.doc.name for at in library.stations("spring")] == ["stump hop", "rung bridge"]
