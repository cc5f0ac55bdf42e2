"""Carry marks through the frames of a clip: from the still where they were drawn, frame by frame, in short hops.

Near frames are carried to from an anchor a few frames back, which is more certain than from far away; each new anchor is checked against
the still itself, because small errors of hops add up unseen. What is lost at one anchor is looked for again at the next.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks.carry import Carried, Picture, View, carry_between, view
from annotator.marks.outlines import area

WORK_PX = 640
CORNERS = 1000
HOP_FRAMES = 15
LEAST_AGREEMENT = 0.85
MOST_HOPS_ALONE = 4
_HOP_TRUST = 0.95


@dataclass(frozen=True)
class _Held:
    """A mark as it lies on the anchor: how sure, and how many hops since the still itself confirmed it."""

    carried: Carried
    hops: int


def follow(
    marks: Sequence[Mark], still: Picture, frames: Iterable[Picture], *, work_px: int = WORK_PX
) -> Iterator[tuple[Carried | None, ...]]:
    """Carry marks through frames.

    Parameters
    ----------
    marks : sequence of Mark
        In pixels of the still.
    still : (H, W, 3) uint8 RGB
        The picture they were drawn on.
    frames : iterable of (H, W, 3) uint8 RGB
        In order, from the still onwards (backwards in time as well); sizes may differ from the still's. Read one at a time.
    work_px : int
        As in `carry`; half size is as good between near frames.

    Yields
    ------
    tuple of Carried or None
        For each frame, for each mark: where it lies, or None where it is not to be seen or not certain. Confidence falls with each hop that
        the still itself did not confirm.
    """
    start = view(still, work_px, CORNERS)
    anchor = start
    held: list[_Held | None] = [_Held(Carried(mark, 1.0, 1.0, 1.0, 1.0), 0) for mark in marks]
    for number, frame in enumerate(frames, start=1):
        here = view(frame, work_px, CORNERS)
        found = _from_anchor(held, anchor, here)
        if number % HOP_FRAMES == 0 or all(one is None for one in found):
            found = _confirmed(marks, start, here, found)
            anchor, held = here, [one if one is not None and one.hops <= MOST_HOPS_ALONE else None for one in found]
            found = held
        yield tuple(None if one is None else one.carried for one in found)


def _from_anchor(held: Sequence[_Held | None], anchor: View, here: View) -> list[_Held | None]:
    there = [one for one in held if one is not None]
    carried = iter(carry_between([one.carried.mark for one in there], anchor, here)) if there else iter(())
    found: list[_Held | None] = []
    for one in held:
        new = next(carried) if one is not None else None
        if one is None or new is None:
            found.append(None)
        else:
            sure = new.confidence * one.carried.confidence
            found.append(_Held(_with_confidence(new, sure), one.hops))
    return found


def _confirmed(marks: Sequence[Mark], start: View, here: View, chained: Sequence[_Held | None]) -> list[_Held | None]:
    """The marks at a new anchor: as the still itself says, else as the chain says for a few hops; neither where the two disagree."""
    found: list[_Held | None] = []
    for direct, chain in zip(carry_between(marks, start, here), chained, strict=True):
        if direct is None:
            found.append(
                None if chain is None else _Held(_with_confidence(chain.carried, chain.carried.confidence * _HOP_TRUST), chain.hops + 1)
            )
        elif chain is not None and _agreement(direct.mark, chain.carried.mark) < LEAST_AGREEMENT:
            found.append(None)
        else:
            found.append(_Held(direct, 0))
    return found


def _unconfirmed(chain: _Held) -> _Held:
    return _Held(_with_confidence(chain.carried, chain.carried.confidence * _HOP_TRUST), chain.hops + 1)


def _with_confidence(carried: Carried, confidence: float) -> Carried:
    return replace(carried, mark=carried.mark.model_copy(update={"confidence": confidence}), confidence=confidence)


def _agreement(one: Mark, other: Mark) -> float:
    try:
        first, second = area(one), area(other)
    except InvalidMark:
        return 0.0
    return float(first.intersection(second).area / first.union(second).area)
