"""Two rows of tasks side by side: one on this thread, one on another, so that a second processor is not idle.

It pays where one row spends its time in a library that lets go of Python's lock: the printed outputs are set by typst, the pages by Python.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Sequence

Task = Callable[[Callable[[], None]], object]
"""Does one thing; it may call what it is given now and then, which ends it by an exception where the other row has failed."""


class _Given(Exception):  # nothing went wrong here
    """The other row failed; this one leaves off."""


def side_by_side(here: Sequence[Task], there: Sequence[Task]) -> None:
    """Do all tasks: those of `here` on this thread in their order, those of `there` on another one; then this thread helps with the rest.

    The first exception ends both rows, each at its next call of what it was given or at the end of its task, and is raised when no task is
    at work any more.
    """
    left = deque(there)
    failed: list[BaseException] = []

    def check() -> None:
        if failed:
            raise _Given

    def work() -> None:
        try:
            while not failed:
                try:
                    task = left.popleft()
                except IndexError:
                    return
                task(check)
        except _Given:
            pass
        except BaseException as error:
            failed.append(error)

    other = threading.Thread(target=work, name="side by side", daemon=True)
    if there:
        other.start()
    try:
        for task in here:
            check()
            task(check)
    except _Given:
        pass
    except BaseException as error:
        failed.append(error)
    work()
    if there:
        other.join()
    if failed:
        raise failed[0]
