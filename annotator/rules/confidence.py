"""How sure a drafted surface is: the share of surfaces with such evidence that a careful listener wrote down just so.

In: a register's entry with the role and ruling it was given, and the words as they were heard. Out: a share, 0 to 1. The signs are few and
each has one weight, so that a figure can be explained: weights in log odds, added up. scripts/fit_confidence.py fitted them on stations of
speakers who had taught the models nothing, so that a new speaker's sheet is not trusted like one the drafter was built on. No sign names
a speaker, a station or a thing.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence

from annotator.course import Role, SheetSurface, Word
from annotator.rules.lexicon import APPARATUS
from annotator.rules.referents import Entry

WEIGHTS: Mapping[str, float] = {
    "always": -0.27,
    "said outright": 0.25,
    "said more than once": 0.36,
    "only spoken of": -0.29,
    "by a pronoun": 0.17,
    "unknown thing": -0.21,
    "a part": -0.41,
    "a start": 1.17,
    "a finish": -0.17,
    "out of play": 0.04,
    "taken back or differing": -0.36,
    "name heard badly": -0.93,
    "as good as certain": 2.24,
    "very likely": 1.65,
    "likely": 0.84,
    "likelier than not": 0.27,
    "held by patterns alone": -0.52,
}
"""Log odds that each sign adds; `always` is there for every surface. "name heard badly" stems from three recognised walks with few
such cases."""

LEAST, MOST = 0.05, 0.98
HEARD_BADLY = 0.6  # probability of a word below which it may well be another

_KINDS: Mapping[Role, tuple[str, ...]] = {"start": ("start",), "finish": ("finish", "arrive"), "route": ("in", "out", "use", "there")}


def signs_of(entry: Entry, role: Role, ruling: str, share: float | None = None) -> frozenset[str]:
    """What speaks for and against an entry in the role and with the ruling that it was given.

    `share`: how likely patterns and models together hold just that (revised.py); None where they were not asked.
    """
    telling = [e for e in entry.evidence if e.kind in _KINDS[role]]
    rulings = {e.kind for e in entry.evidence if e.kind in ("in", "out") and e.weight >= 0.6}
    strongest = max((e.weight for e in telling), default=0.0)
    told = {
        "always": True,
        "said outright": any(e.weight >= 0.9 and e.kind in ("in", "out", "start", "finish") for e in telling),
        "said more than once": len({e.line for e in telling}) > 1,
        "only spoken of": strongest < 0.6,
        "by a pronoun": bool(telling) and all(", by " in e.rule for e in telling if e.weight == strongest),
        "unknown thing": entry.mention.head not in APPARATUS,
        "a part": bool(entry.part),
        "a start": role == "start",
        "a finish": role == "finish",
        "out of play": ruling == "out",
        "taken back or differing": len(rulings) > 1 or any(e.corrected for e in telling),
    }
    signs = {sign for sign, holds in told.items() if holds}
    if share is not None:
        signs.add(next(sign for least, sign in LIKELY if share >= least))
    return frozenset(signs)


LIKELY = (
    (0.98, "as good as certain"), (0.9, "very likely"), (0.75, "likely"), (0.5, "likelier than not"), (0.0, "held by patterns alone"),
)  # fmt: skip
"""The least share for each sign of how likely all that was weighed holds what was drafted."""


def share_of(signs: frozenset[str], weights: Mapping[str, float] = WEIGHTS) -> float:
    """The share that the signs come to, within LEAST and MOST, to two decimals.

    >>> share_of(frozenset({"a", "b"}), {"a": 1.0, "b": -1.0, "c": 3.0})
    0.5
    """
    odds = sum(weights[sign] for sign in sorted(signs))
    return round(min(MOST, max(LEAST, 1 / (1 + math.exp(-odds)))), 2)


def confidence(entry: Entry, role: Role, ruling: str, share: float | None = None) -> float:
    """How sure an entry is, by what was said of it alone. `share`: as in `signs_of`."""
    return share_of(signs_of(entry, role, ruling, share))


def less_where_heard_badly(surface: SheetSurface, words: Sequence[Word], starts: Sequence[float]) -> SheetSurface:
    """The surface with less confidence where a word of its name was nowhere heard well. `starts` are those of `words`, rising."""
    if surface.confidence is None or not heard_badly(surface, words, starts):
        return surface
    odds = math.log(surface.confidence / (1 - surface.confidence)) + WEIGHTS["name heard badly"]
    return surface.model_copy(update={"confidence": round(max(LEAST, 1 / (1 + math.exp(-odds))), 2)})


def heard_badly(surface: SheetSurface, words: Sequence[Word], starts: Sequence[float]) -> bool:
    """Whether some word of the name was, at its best, recognised with little probability in the surface's evidence."""
    best: dict[str, float] = {}
    wanted = {_stem(word) for word in re.findall(r"[a-z]+", surface.name.lower())}
    for said in surface.said:
        for at in range(bisect_left(starts, said.start - 0.005), len(words)):
            if words[at].start > said.end:
                break
            for piece in re.findall(r"[a-z]+", words[at].text.lower()):
                if (stem := _stem(piece)) in wanted:
                    share = words[at].probability
                    best[stem] = max(best.get(stem, 0.0), 1.0 if share is None else share)
    return any(share < HEARD_BADLY for share in best.values())


def _stem(word: str) -> str:
    return word.rstrip("s")
