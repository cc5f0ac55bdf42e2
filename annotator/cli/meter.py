"""How far a command is, on standard error: one line that is written over where somebody watches, a line a step where nobody does."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:  # asking for help must not load the whole pipeline
    from annotator.pipeline import StageProgress


class Meter:
    """Shows what is done, how far it is, and the time left."""

    def __init__(self) -> None:
        self._live = sys.stderr.isatty()
        self._stage, self._tenth = "", -1

    def __call__(self, at: StageProgress) -> None:
        """Show a pipeline's `StageProgress`."""
        percent = int(at.share * 100)
        left = "" if at.seconds_left is None or at.share >= 1 else f", {_time_left(at.seconds_left)}"
        if self._live:
            click.echo(f"\r\x1b[K{percent:3d} %  {at.stage}{left}", err=True, nl=False)
        elif at.stage != self._stage or percent // 10 != self._tenth:
            click.echo(f"{percent:3d} %  {at.stage}{left}", err=True)
        self._stage, self._tenth = at.stage, percent // 10

    def end(self) -> None:
        """Finish the line."""
        if self._live and self._stage:
            click.echo(err=True)


def _time_left(seconds: float) -> str:
    return f"about {round(seconds / 60)} min left" if seconds >= 90 else f"about {max(1, round(seconds))} s left"


@contextmanager
def metered() -> Iterator[Meter]:
    meter = Meter()
    try:
        yield meter
    finally:
        meter.end()
