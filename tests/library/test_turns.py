"""A turn: one at a time, given back however its holder ends."""

from __future__ import annotations

import subprocess
import sys
import threading

import pytest

from annotator.library import Library

HOLDER = """
import sys, threading
from pathlib import Path
from annotator.library import Library

with Library(Path(sys.argv[1])) as library, library.turn("spring-cup", "draft"):
    print("held", flush=True)
    threading.Event().wait()
"""


class GaveUpError(Exception):
    pass


def give_up() -> None:
    raise GaveUpError


def test_a_turn_is_one_programs_until_that_is_killed(library: Library) -> None:
    with subprocess.Popen([sys.executable, "-c", HOLDER, str(library.root)], stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(GaveUpError), library.turn("spring-cup", "draft", give_up):
            pass
        with library.turn("spring-cup", "proxies", give_up), library.turn("summer-cup", "draft", give_up):
            pass  # other work, and the same work for another course, are free
        holder.kill()
        holder.wait()
        with library.turn("spring-cup", "draft", give_up):
            pass


def test_who_waits_for_a_turn_gets_it_next(library: Library) -> None:
    waits, order = threading.Event(), []

    def second() -> None:
        with library.turn("spring-cup", "draft", waits.set):
            order.append("second")

    thread = threading.Thread(target=second)
    with library.turn("spring-cup", "draft"):
        thread.start()
        waits.wait()
        order.append("first")
    thread.join()
    assert order == ["first", "second"]
