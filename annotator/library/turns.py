"""Turns: one program at a time does a long piece of work for a course. The system takes a turn back however its program ends."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

LOOK_AGAIN_S = 0.2


@contextmanager
def turn(place: Path, waiting: Callable[[], None]) -> Iterator[None]:
    """Hold the turn that the file `place` stands for; `waiting` is called now and then while another one has it, and may raise.

    The file stays: taking it away could give two programs a turn each. Threads of one program take turns as well.
    """
    place.parent.mkdir(exist_ok=True)
    handle = os.open(place, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        while not _got(handle):
            waiting()
            time.sleep(LOOK_AGAIN_S)
        yield
    finally:
        os.close(handle)


def _got(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
