"""How far the work is, in one number that only rises, and how long it will still take.

Pure arithmetic over a list of named steps with expected seconds; the clock comes in as an argument.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from threading import RLock

from annotator.units import Progress


@dataclass(frozen=True)
class StageProgress:
    """Where a long piece of work stands. `share` is 0 to 1 over all its steps; `seconds_left` is None until there is something to go by."""

    stage: str
    share: float
    seconds_left: float | None


Watcher = Callable[[StageProgress], None]
"""Told of progress; it may raise `Stopped`, which ends the work with what was done so far kept."""

_TRUST_PLAN_S = 10.0
_FIRST_GUESS_S = 2.0  # before this much work a forecast would jump about
_NO_TIME = 0.05  # of what was planned: a step that took less was kept from before, and says nothing of the pace


class Steps:
    """Tells a watcher how far a piece of work is, over steps that were planned with their expected seconds.

    >>> seen = []
    >>> steps = Steps([("hear", 30.0), ("read", 10.0)], seen.append, clock=iter([0.0, 15.0, 30.0]).__next__)
    >>> steps.within("hear")(0.5)
    >>> steps.done("hear")
    >>> [(p.stage, p.share, p.seconds_left) for p in seen]
    [('hear', 0.375, 25.0), ('hear', 0.75, 10.0)]
    """

    def __init__(
        self,
        plan: Sequence[tuple[str, float]],
        watcher: Watcher | None,
        clock: Callable[[], float] = time.monotonic,
        *,
        in_a_row: bool = True,
    ) -> None:
        """`in_a_row`: a step that has begun tells that those before it are over; otherwise steps may run side by side, on two threads."""
        self._plan, self._watcher, self._clock = tuple(plan), watcher, clock
        self._total = sum(seconds for _, seconds in plan) or 1.0
        self._began, self._share = clock(), 0.0
        self._passed_s = self._kept_s = 0.0
        self._in_a_row, self._shares, self._turn = in_a_row, dict.fromkeys((name for name, _ in plan), 0.0), RLock()

    def within(self, stage: str) -> Progress:
        """The progress to hand to the function that does `stage`."""
        return lambda share: self._tell(stage, share)

    def begin(self, stage: str) -> None:
        """Say that `stage` is what is being done now."""
        self._tell(stage, 0.0)

    def done(self, stage: str) -> None:
        """Say that `stage` is over, also where it was skipped."""
        self._tell(stage, 1.0)

    def _tell(self, stage: str, share: float) -> None:
        with self._turn:
            before = self._shares[stage]
            self._shares[stage] = min(1.0, max(0.0, share))
            self._share = max(self._share, self._done(stage) / self._total)
            if self._watcher is not None:
                passed = self._clock() - self._began
                planned = dict(self._plan)[stage]
                if before == 0 and share >= 1 and passed - self._passed_s < _NO_TIME * planned:
                    self._kept_s += planned
                self._passed_s = passed
                left = self._left(passed) if self._share > 0 and passed > _FIRST_GUESS_S else None
                self._watcher(StageProgress(stage, self._share, left))

    def _done(self, stage: str) -> float:
        """Planned seconds that are over."""
        if not self._in_a_row:
            return sum(seconds * self._shares[name] for name, seconds in self._plan)
        before = 0.0
        for name, seconds in self._plan:
            if name == stage:
                return before + seconds * self._shares[name]
            before += seconds
        return before

    def _left(self, passed: float) -> float:
        """Seconds left at the pace so far. The planned pace counts for the first seconds: loading a model says nothing of the rest."""
        done = self._share * self._total
        worked = max(0.0, done - self._kept_s)
        return (self._total - done) * (passed + _TRUST_PLAN_S) / (worked + _TRUST_PLAN_S)
