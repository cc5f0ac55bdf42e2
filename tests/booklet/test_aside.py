"""Judge cards set by a second process: what it keeps is what this one would have kept, and nothing hangs on it."""

from __future__ import annotations

import os
import pickle
import select
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from annotator.booklet import CardsWanted, Stamp, cards_aside, write_cards
from annotator.booklet.paper import aside
from annotator.booklet.paper.cards import missing_cards
from annotator.course import Course, Station
from annotator.errors import NotReady, StageError
from tests.booklet.makers import DrawnPictures

LONG_S = 300
"""Whatever takes longer than this hangs, on any machine."""


@pytest.fixture
def wanted(course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path) -> CardsWanted:
    stills = {still.id: pictures.jpeg(still.id) for station in stations for still in station.stills}
    return CardsWanted(
        course, tuple(stations), stamp, ("en", "es"), stills, "A5", "https://example.org/c", tmp_path / "drawn", tmp_path / "kept"
    )


def nothing() -> None:
    """Nobody asks to leave off."""


def written(wanted: CardsWanted, language: str, out: Path, cache: Path | None) -> bytes:
    return write_cards(wanted.booklet(language), wanted, out, wanted.paper, address=wanted.address, cache=cache).read_bytes()


def missing(wanted: CardsWanted, language: str) -> int:
    return missing_cards(wanted.booklet(language), wanted, wanted.paper, address=wanted.address, cache=wanted.cache)


def test_cards_of_a_second_process_are_those_of_this_one(wanted: CardsWanted, tmp_path: Path) -> None:
    assert [missing(wanted, language) for language in wanted.languages] == [3, 3]
    with cards_aside(wanted) as wait:
        for language in wanted.languages:
            wait(language, nothing)
            assert missing(wanted, language) == 0
    for language in wanted.languages:
        here = replace(wanted, drawn=tmp_path / "drawn-here")
        kept = written(wanted, language, tmp_path / "kept.pdf", wanted.cache)
        assert kept == written(here, language, tmp_path / "own.pdf", tmp_path / "own")


@pytest.mark.parametrize("program", ["no-such-program", "broken"])
def test_where_no_second_process_works_nothing_is_lost(
    wanted: CardsWanted, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, program: str
) -> None:
    broken = tmp_path / "broken"
    broken.write_text("#!/bin/sh\nexit 3\n")
    broken.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(tmp_path / program))
    with cards_aside(wanted) as wait:
        for language in wanted.languages:
            wait(language, nothing)
    assert missing(wanted, "es") == 3
    assert written(wanted, "es", tmp_path / "cards.pdf", wanted.cache).startswith(b"%PDF")


def test_what_cannot_be_set_is_told_here(wanted: CardsWanted, tmp_path: Path) -> None:
    gone = replace(wanted, stills=dict.fromkeys(wanted.stills, tmp_path / "gone.jpg"))
    with cards_aside(gone) as wait:
        wait("en", nothing)
    with pytest.raises(StageError, match=r"gone\.jpg"):
        written(gone, "en", tmp_path / "cards.pdf", gone.cache)


def test_who_waits_can_leave_off(wanted: CardsWanted, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    slow = tmp_path / "slow"
    slow.write_text("#!/bin/sh\nexec sleep 600\n")
    slow.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(slow))

    def leave_off() -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError), cards_aside(wanted) as wait:
        wait("en", leave_off)


STARTER = """
import functools, os, pickle, subprocess, sys, time
from annotator.booklet.paper import aside
aside.subprocess.Popen = functools.partial(subprocess.Popen, pass_fds=(int(sys.argv[2]),))
with open(sys.argv[1], "rb") as opened, aside.cards_aside(pickle.load(opened)):
    time.sleep(2)  # sooner or later: what it was told by then does not matter
    os._exit(0)
"""


def test_it_ends_with_the_process_that_started_it(wanted: CardsWanted, tmp_path: Path) -> None:
    """That one is gone without a word, as by a power cut; the other, which waits for a picture that never comes, held a pipe open."""
    os.mkfifo(tmp_path / "never.jpg")
    endless = replace(wanted, stills=dict.fromkeys(wanted.stills, tmp_path / "never.jpg"))
    (tmp_path / "wanted").write_bytes(pickle.dumps(endless))
    read, write = os.pipe()
    subprocess.run([sys.executable, "-c", STARTER, tmp_path / "wanted", str(write)], check=True, pass_fds=(write,), timeout=LONG_S)
    os.close(write)
    ready, _, _ = select.select([read], [], [], LONG_S)
    assert ready, "it goes on alone"
    assert os.read(read, 1) == b""
    os.close(read)


def test_a_process_is_started_only_where_many_are_missing(wanted: CardsWanted, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    one, many = wanted.booklet("en"), replace(wanted, languages=("en",) * 8)
    monkeypatch.setattr(aside, "_processors", lambda: 2)
    assert not wanted.are_worth_a_process(one)
    assert many.are_worth_a_process(one)
    monkeypatch.setattr(aside, "_processors", lambda: 1)
    assert not many.are_worth_a_process(one)
    monkeypatch.setattr(aside, "_processors", lambda: 2)
    written(wanted, "en", tmp_path / "cards.pdf", wanted.cache)
    assert not many.are_worth_a_process(one)


def test_a_title_that_cannot_be_printed_is_named_also_where_many_are_missing(wanted: CardsWanted, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(aside, "_processors", lambda: 2)
    strange = replace(wanted, course=wanted.course.model_copy(update={"title": "Spring \U00013080"}), languages=("en",) * 8)
    with pytest.raises(NotReady, match="cannot be printed"):
        strange.are_worth_a_process(strange.booklet("en"))
