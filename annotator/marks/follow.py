"""Carry marks through the frames of a clip: from the still where they were drawn, frame by frame, in short hops.

Near frames are carried to from an anchor a few frames back, which is more certain than from far away; each new anchor is checked against
the still itself, because small errors of hops add up unseen. What is lost (hidden for a while, or out of the picture) is looked for again
at each anchor, from the still and from where it was last seen. What is shown must lie, in every frame, on the edges it was drawn along.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from annotator.course import Mark
from annotator.errors import InvalidMark
from annotator.marks.carry import Carried, Tried, agreement, certain_only, tries_between
from annotator.marks.picture_edge import MOST_BARED, bared
from annotator.marks.rims import Rim, edges_hold, rim_of
from annotator.marks.views import Picture, View, view

WORK_PX = 640
CORNERS = 800
HOP_FRAMES = 8
LEAST_AGREEMENT = 0.85
MOST_HOPS_ALONE = 8
LEAST_CONFIDENCE = 0.6
LEAST_HELD = 0.74
"""Of what `edges_hold` says. Both chosen with scripts/bench/carry.py: moments of walking in the demo, seeds 31, 81, 82 and 91. Where the
edges hold, confidence tells nothing more about right or wrong: fitted together its weight came out against it. It falls with every hop."""
_HOP_TRUST = 0.97


@dataclass(frozen=True, eq=False)
class _Held:
    """A mark as it lay on the last anchor that showed it: where, how sure, and how many hops since the still itself confirmed it."""

    anchor: View
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
    yield from map(certain_only, tried_through(marks, still, frames, work_px=work_px))


def tried_through(
    marks: Sequence[Mark], still: Picture, frames: Iterable[Picture], *, work_px: int = WORK_PX
) -> Iterator[tuple[Tried | None, ...]]:
    """As `follow`, with what is not certain enough to be shown."""
    start = view(still, work_px, CORNERS)
    rims = [_rim(mark, start) for mark in marks]
    held = [_Held(start, Carried(mark, 1.0, 1.0, 1.0, 1.0), 0) for mark in marks]
    anchor = start
    for number, frame in enumerate(frames, start=1):
        here = view(frame, work_px, CORNERS)
        hop = number % HOP_FRAMES == 0
        tries = _from_anchors(held, here, None if hop else anchor)
        if hop or not any(one is not None and one.certain for one in tries):
            tries, held = _at_anchor(marks, start, here, held, tries)
            anchor = here
        yield tuple(
            None if one is None or rim is None else _held_by_edges(one, rim, start, here) for one, rim in zip(tries, rims, strict=True)
        )


def _rim(mark: Mark, start: View) -> Rim | None:
    try:
        return rim_of(mark, start)
    except InvalidMark:  # it covers nothing: there is nothing to carry
        return None


def _held_by_edges(tried: Tried, rim: Rim, start: View, here: View) -> Tried:
    """Not certain: what is not sure enough or lies beside its edges, and what the still cut off where the cut's end is in sight."""
    carried = tried.carried
    certain = (
        tried.certain
        and carried.confidence >= LEAST_CONFIDENCE
        and bared(rim.mark, start.size, carried.mark, here.size) <= MOST_BARED
        and edges_hold(rim, carried.mark, here) >= LEAST_HELD
    )
    return replace(tried, certain=certain)


def _from_anchors(held: Sequence[_Held], here: View, only: View | None) -> list[Tried | None]:
    """Each mark from the anchor that last showed it; with `only`, those of that anchor alone."""
    found: list[Tried | None] = [None] * len(held)
    anchors = list(dict.fromkeys(one.anchor for one in held)) if only is None else [only]
    for anchor in anchors:
        numbers = [number for number, one in enumerate(held) if one.anchor is anchor]
        tries = tries_between([held[number].carried.mark for number in numbers], anchor, here)
        for number, tried in zip(numbers, tries, strict=True):
            if tried is not None:
                found[number] = _trusted(tried, held[number].carried.confidence)
    return found


def _at_anchor(
    marks: Sequence[Mark], start: View, here: View, held: Sequence[_Held], chained: Sequence[Tried | None]
) -> tuple[list[Tried | None], list[_Held]]:
    """The marks at a new anchor: as the still itself says, else as the chain says for some hops; not certain where the two disagree."""
    tries: list[Tried | None] = []
    news: list[_Held] = []
    for before, direct, chain in zip(held, tries_between(marks, start, here), chained, strict=True):
        if before.anchor is start:
            chain = None
        chosen, hops = _chosen(direct, chain, before.hops)
        tries.append(chosen)
        news.append(_Held(here, chosen.carried, hops) if chosen is not None and chosen.certain else before)
    return tries, news


def _chosen(direct: Tried | None, chain: Tried | None, hops: int) -> tuple[Tried | None, int]:
    sure_direct, sure_chain = direct is not None and direct.certain, chain is not None and chain.certain
    if sure_direct and sure_chain:
        assert direct is not None and chain is not None
        if agreement(direct.carried.mark, chain.carried.mark) < LEAST_AGREEMENT:
            return replace(chain, certain=False), hops
        return direct, 0
    if sure_direct:
        return direct, 0
    if sure_chain:
        assert chain is not None
        return replace(_trusted(chain, _HOP_TRUST), certain=hops < MOST_HOPS_ALONE), hops + 1
    return (chain if chain is not None else direct), hops


def _trusted(tried: Tried, trust: float) -> Tried:
    carried = tried.carried
    confidence = carried.confidence * trust
    mark = carried.mark.model_copy(update={"confidence": confidence})
    return replace(tried, carried=replace(carried, mark=mark, confidence=confidence))
