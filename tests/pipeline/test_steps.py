"""How progress is told."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.errors import Stopped
from annotator.pipeline.steps import StageProgress, Steps


@given(st.lists(st.tuples(st.sampled_from(["hear", "read", "pick"]), st.floats(-1, 2)), max_size=20))
def test_the_share_only_rises_and_stays_within_0_and_1(calls: list[tuple[str, float]]) -> None:
    seen: list[StageProgress] = []
    steps = Steps([("hear", 5.0), ("read", 1.0), ("pick", 3.0)], seen.append)
    for stage, share in calls:
        steps.within(stage)(share)
    shares = [at.share for at in seen]
    assert shares == sorted(shares) and all(0 <= share <= 1 for share in shares)


def test_the_last_step_done_is_the_whole() -> None:
    seen: list[StageProgress] = []
    steps = Steps([("hear", 5.0), ("read", 1.0)], seen.append)
    steps.done("hear")
    steps.done("read")
    assert seen[-1].share == 1.0


def test_no_forecast_before_there_is_something_to_go_by() -> None:
    seen: list[StageProgress] = []
    times = iter([0.0, 0.5, 10.0])
    steps = Steps([("hear", 10.0)], seen.append, clock=lambda: next(times))
    steps.within("hear")(0.1)
    steps.within("hear")(0.5)
    assert [at.seconds_left for at in seen] == [None, pytest.approx(5.0 * (10.0 + 10.0) / (5.0 + 10.0))], (
        "5 s of the plan left, at the pace so far"
    )


def test_steps_that_were_kept_from_before_say_nothing_of_the_pace() -> None:
    seen: list[StageProgress] = []
    times = iter([0.0, 0.1, 0.2, 0.3, 10.0])
    steps = Steps([("one", 10.0), ("two", 10.0), ("three", 10.0)], seen.append, clock=lambda: next(times))
    steps.begin("one")
    steps.done("one")
    steps.done("two")
    steps.within("three")(0.5)
    assert seen[-1].share == pytest.approx(25 / 30)
    assert seen[-1].seconds_left == pytest.approx(5.0 * (10.0 + 10.0) / (5.0 + 10.0)), "as if the third were all there is"


def test_a_watcher_that_stops_the_work_is_heard() -> None:
    def stop(at: StageProgress) -> None:
        raise Stopped("enough")

    with pytest.raises(Stopped):
        Steps([("hear", 1.0)], stop).done("hear")


def test_steps_side_by_side_count_what_is_done_of_each() -> None:
    seen: list[float] = []
    steps = Steps([("pages", 6.0), ("cards", 4.0)], lambda told: seen.append(round(told.share, 3)), in_a_row=False)
    for stage, share in (("cards", 0.0), ("pages", 0.5), ("cards", 1.0), ("pages", 1.0)):
        steps.within(stage)(share)
    assert seen == [0.0, 0.3, 0.7, 1.0]
