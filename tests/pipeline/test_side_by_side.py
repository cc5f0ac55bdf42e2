"""Two rows of tasks: all are done, the second row on another thread, and one that fails ends both."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from annotator.pipeline.side_by_side import Task, side_by_side

Check = Callable[[], None]
LONG_S = 60.0


def test_rows_are_done_at_the_same_time_each_in_its_order() -> None:
    """Each row waits for the other one: one after the other they would never end."""
    begun, answered = threading.Event(), threading.Event()
    seen: list[str] = []

    def here(_: Check) -> None:
        begun.set()
        assert answered.wait(LONG_S)
        seen.append("here")

    def there(_: Check) -> None:
        assert begun.wait(LONG_S)
        seen.append("there")
        answered.set()

    side_by_side([here, lambda _: seen.append("last")], [there])
    assert seen == ["there", "here", "last"]


def test_this_thread_helps_with_what_is_left_of_the_other_row() -> None:
    helped = threading.Event()
    doers: list[str] = []

    def waits(_: Check) -> None:
        assert helped.wait(LONG_S)

    def helps(_: Check) -> None:
        doers.append(threading.current_thread().name)
        helped.set()

    started = threading.Event()

    def first(_: Check) -> None:
        started.set()
        waits(_)

    side_by_side([lambda _: started.wait(LONG_S)], [first, helps])
    assert doers == [threading.current_thread().name]


@pytest.mark.parametrize("where", ["here", "there"])
def test_a_failure_ends_both_rows_and_is_the_one_that_is_raised(where: str) -> None:
    failed = threading.Event()
    seen: list[str] = []

    def fails(_: Check) -> None:
        failed.set()
        raise ValueError("the disk is full")

    def goes_on(check: Check) -> None:
        assert failed.wait(LONG_S)
        while True:  # ends only because the other row failed
            check()

    def never(_: Check) -> None:
        seen.append("never")

    rows: tuple[list[Task], list[Task]] = ([fails, never], [goes_on, never]) if where == "here" else ([goes_on, never], [fails, never])
    with pytest.raises(ValueError, match="the disk is full"):
        side_by_side(*rows)
    assert seen == []


@pytest.mark.parametrize(("here", "there"), [(0, 0), (3, 0), (0, 3), (2, 5)])
def test_every_task_is_done_once(here: int, there: int) -> None:
    done: list[int] = []
    tasks: list[Task] = [lambda _, at=at: done.append(at) for at in range(here + there)]  # type: ignore[misc]
    side_by_side(tasks[:here], tasks[here:])
    assert sorted(done) == list(range(here + there))
