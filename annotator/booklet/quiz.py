"""Questions to check oneself, made from the marks and rulings of a still: "May your foot touch here?"

In: the zones of a still, of what was accepted only. Out: questions with their answer and the words of the walk that give it. A spot lies
well inside what it asks about; the answer is the ruling at that spot. The same zones give the same questions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import cycle

import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from annotator.booklet.ground import Ground
from annotator.booklet.lines import Teller
from annotator.booklet.values import Question
from annotator.course import Limb
from annotator.marks import Marked, PointRuling, Zones

CLEAR = 2.0
"""A spot is this many times the tolerance away from every edge: what a still can just tell is no fair question. Common practice, no
published source."""
MOST = 6
"""Questions at one station."""
_FINEST_PX = 1.0
_LIMBS: tuple[Limb, ...] = ("feet", "hands")


@dataclass(frozen=True)
class Spot:
    """Where a question asks, with which limb, and what holds there; the same in every language."""

    at: tuple[float, float]
    limb: Limb | None
    ruled: PointRuling


def questions(teller: Teller, still_id: str, here: Ground, division: str) -> tuple[Question, ...]:
    """A question for each marked thing with room for a fair one, and one for a spot where nothing is named; none where nothing is marked.
    Where something in play is not marked, a spot without a mark is not asked about.

    Things in play are asked about with a limb where the walk names limbs, so that the answer may be no there too.
    """
    found = here.zones[division]
    spots: tuple[Spot, ...] = here.once("spots", division, lambda zones: tuple(_spots(zones)))
    return tuple(_question(teller, still_id, found, spot) for spot in spots)


def chosen(all_questions: Sequence[Question]) -> tuple[Question, ...]:
    """At most `MOST` of a station's questions, in play and out of play in turn as far as there are both.

    >>> def of(*yes):
    ...     return [Question("s", (at, 0.0), None, one, "", "") for at, one in enumerate(yes)]
    >>> [int(one.at[0]) for one in chosen(of(True, True, True, False))], len(chosen(of(*[True] * 9)))
    ([0, 3, 1, 2], 6)
    """
    yes = [one for one in all_questions if one.yes]
    no = [one for one in all_questions if not one.yes]
    turns = [one for at in range(max(len(yes), len(no))) for one in (*yes[at : at + 1], *no[at : at + 1])]
    return tuple(turns[:MOST])


def _spots(found: Zones) -> Iterator[Spot]:
    limbs = cycle(_LIMBS)
    for marked in found.marked:
        spot = _spot(_alone(marked, found), found)
        if spot is not None and not marked.draft:
            limb = next(limbs)
            ruling = marked.item.ruling_for(found.division)
            yield from _asked(found, spot, limb if ruling == "out" or marked.item.limbs else None)
    if found.marked and not found.unmarked:  # else the spot may be on something that is in play and was not marked
        frame = box(0, 0, *found.size)
        near = shapely.union_all([marked.drawn for marked in found.marked])
        spot = _spot(frame.difference(near), found)
        if spot is not None:
            yield from _asked(found, spot, next(limbs))


def _alone(marked: Marked, found: Zones) -> BaseGeometry:
    """Where this thing alone is under a spot: what lies under another one would ask about both."""
    others = [other.effective for other in found.marked if other is not marked]
    return marked.effective.difference(shapely.union_all(others)) if others else marked.effective


def _spot(shape: BaseGeometry, found: Zones) -> tuple[float, float] | None:
    """The spot of a shape that is farthest from its edges and from the picture's; None where that is too near to be fair."""
    inside = shape.intersection(box(0, 0, *found.size))
    parts = [part for part in getattr(inside, "geoms", [inside]) if part.geom_type == "Polygon" and not part.is_empty]
    if not parts:
        return None
    radius = shapely.maximum_inscribed_circle(max(parts, key=lambda part: part.area), tolerance=_FINEST_PX)
    middle = radius.coords[0]
    return (round(middle[0], 1), round(middle[1], 1)) if radius.length >= CLEAR * found.tolerance_px else None


def _asked(found: Zones, at: tuple[float, float], limb: Limb | None) -> Iterator[Spot]:
    """The spot with what holds there; nothing where even this spot is near an edge that counts for the limb."""
    ruled = found.ruling_at(at, limb=limb)
    if ruled.distance_px is None or ruled.distance_px >= CLEAR * found.tolerance_px - 1:
        yield Spot(at, limb, ruled)


def _question(teller: Teller, still_id: str, found: Zones, spot: Spot) -> Question:
    ruled = spot.ruled
    return Question(
        still=still_id,
        at=spot.at,
        limb=spot.limb,
        yes=ruled.ruling == "in play",
        ask=teller.wording.say(f"quiz-ask:{spot.limb or 'you'}"),
        because=_because(teller, found, ruled, spot.limb),
        heard=teller.heard(ruled.said or (found.unnamed_out or () if ruled.surface is None else ())),
    )


def _because(teller: Teller, found: Zones, ruled: PointRuling, limb: Limb | None) -> str:
    say, item = teller.wording.say, ruled.surface
    if item is None:
        return say("answer:unnamed")
    ruling = item.ruling_for(found.division)
    thing = teller.item(item, ruling)
    if ruling == "in" and ruled.ruling == "out of play":
        return say(f"quiz-not:{limb}", thing=thing)
    return say(f"answer:{ruling}", thing=thing)
