"""Give a caption that reads too fast a moment of its neighbours' time: where two cues meet, the cut may lie a little beside the speech.

In: cues in order, each beginning with its speech. Out: the same cues, some beginning up to `MOST_MS` earlier or later, which nobody sees
(report.py holds every cue to 0.2 s), enough for one word more a cue. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.captions.cue import GAP_MS, LEAST_MS, Cue
from annotator.captions.cue import MOST_MS as LONGEST_MS

MOST_MS = 150
_STEPS = (0, -MOST_MS, MOST_MS, -MOST_MS // 2, MOST_MS // 2)
_FAST = 1.0
_MOVED = 0.0002  # a millisecond beside the speech; moving an edge all the way costs a thirtieth of a cue in a hurry
_HURRY = 0.05  # of a cue that stays too fast, for each second that it lacks


def eased(cues: Sequence[Cue], hurried_ms: int) -> tuple[Cue, ...]:
    """The cues with as few as possible faster than `hurried_ms` a word, none beside a limit that it kept before.

    The first and the last edge stay; so does one before a gap that would become too short.

    >>> slow, fast = Cue(0, 3000, ("Feet only.",)), Cue(3000, 5600, ("No hands at all on the frame.",))
    >>> [cue.start_ms for cue in eased([slow, fast], 60_000 // 160)]
    [0, 2925]
    """
    if len(cues) < 2:
        return tuple(cues)
    ways = {0: 0.0}  # the least price so far, by how far the edge before the next cue is moved
    came: list[dict[int, int]] = []
    for at, cue in enumerate(cues):
        following = cues[at + 1] if at + 1 < len(cues) else None
        found: dict[int, tuple[float, int]] = {}
        for after in _STEPS if following is not None and _may_move(cue, following) else (0,):
            for before, price in ways.items():
                lasts = cue.end_ms - cue.start_ms + (after if following is not None and cue.end_ms == following.start_ms else 0) - before
                cost = price + _price(cue, lasts, hurried_ms) + _MOVED * abs(after)
                if after not in found or cost < found[after][0]:
                    found[after] = (cost, before)
        came.append({after: before for after, (_, before) in found.items()})
        ways = {after: cost for after, (cost, _) in found.items()}
    step = min(ways, key=lambda each: ways[each])
    made: list[Cue] = []
    for at in range(len(cues) - 1, -1, -1):
        before, cue = came[at][step], cues[at]
        meets = at + 1 < len(cues) and cue.end_ms == cues[at + 1].start_ms
        made.append(replace(cue, start_ms=cue.start_ms + before, end_ms=cue.end_ms + (step if meets else 0)))
        step = before
    return tuple(made[::-1])


def _may_move(cue: Cue, following: Cue) -> bool:
    """Whether the next cue may begin beside its speech: where they meet, or where the gap stays long enough."""
    return cue.end_ms == following.start_ms or following.start_ms - cue.end_ms >= GAP_MS + MOST_MS


def _price(cue: Cue, lasts: int, hurried_ms: int) -> float:
    was = cue.end_ms - cue.start_ms
    price = 1000.0 if (lasts < LEAST_MS <= was) or (lasts > LONGEST_MS >= was) or (lasts < min(was, LEAST_MS)) else 0.0
    lacking = hurried_ms * len(cue.text.split()) - lasts
    return price + _FAST + _HURRY * lacking / 1000 if lacking > 0 else price
