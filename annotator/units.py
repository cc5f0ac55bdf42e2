"""Conversions between the units of the project. Times are seconds (float) on the walk's one time line unless a name says otherwise."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

Progress = Callable[[float], None]
"""Told the share done, 0 to 1, rising. It may raise `Stopped`, which ends the work; nobody swallows that."""


def ticks_to_seconds(ticks: int, time_base: Fraction) -> float:
    """A presentation time stamp in seconds.

    >>> ticks_to_seconds(3003, Fraction(1, 90000))
    0.03336666666666667
    """
    return float(ticks * time_base)


def seconds_to_ms(seconds: float) -> int:
    """Whole milliseconds, rounded to the nearest, never floored: frame 2 of 29.97 is shown at 67 ms.

    >>> seconds_to_ms(2 * 1001 / 30000)
    67
    """
    return round(seconds * 1000)


def clock(seconds: float) -> str:
    """A time of the walk as people say it: minutes and seconds, hours only where there are any. Rounds down: the moment has begun.

    >>> clock(252.9), clock(3671)
    ('4:12', '1:01:11')
    """
    whole = int(max(0.0, seconds))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{left:02}" if hours else f"{minutes}:{left:02}"
