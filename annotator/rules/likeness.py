"""When two phrases can name one thing: heads agree and no colour, size, place or material word sets them apart."""

from __future__ import annotations

from functools import lru_cache

from rapidfuzz import fuzz

from annotator.rules.lexicon import ORDINAL
from annotator.rules.phrases import Mention

_APART = tuple(
    frozenset(group.split())
    for group in (
        "left right middle centre",
        "upper lower top bottom middle high low",
        "big small little large wee tiny tall short fat thin thick long skinny round square wide narrow giant huge",
        "front back rear side",
        " ".join(ORDINAL),
        "wooden metal steel timber stone foam plastic wood",
    )
)
CLOSE = 86  # likeness of spelling (0 to 100) above which two heads are one word


@lru_cache(maxsize=65536)
def same_head(a: str, b: str) -> bool:
    """Whether two head nouns are one word, loosely spelt.

    >>> same_head("rung", "rungs"), same_head("tyre", "tire"), same_head("ring", "rung")
    (True, True, False)
    """
    if a == b or a.rstrip("s") == b.rstrip("s") or {a.rstrip("s"), b.rstrip("s")} == {"tyre", "tire"}:
        return True
    return min(len(a), len(b)) >= 4 and a[0] == b[0] and fuzz.ratio(a, b) >= CLOSE


def set_apart(a: Mention, b: Mention) -> bool:
    """Whether colour, size, place or material words say that these are two things."""
    if a.colours and b.colours and not a.colours & b.colours:
        return True
    for group in _APART:
        x, y = a.mods & group, b.mods & group
        if x and y and not x & y:
            return True
    mine, yours = a.mods - b.mods, b.mods - a.mods
    return bool(mine and yours and not a.mods & b.mods)


def same_thing(a: Mention, b: Mention) -> bool:
    """Whether two phrases can name one thing."""
    return same_head(a.head, b.head) and not set_apart(a, b)
