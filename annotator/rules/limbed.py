"""With which limbs a thing may be touched, weighed: where no pattern ties hands or feet to it, and where one may have tied them wrongly.

In: a station's lines, one of its things, and what the patterns made of it. Out: how likely each limb is tied to the thing. Hands and feet
are asked for one by one, with the same features seen from each side ("this" limb and the "other"), so that what is learnt of one holds for
both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from annotator.course import Limb
from annotator.rules.context import context
from annotator.rules.lexicon import words
from annotator.rules.likeness import same_thing
from annotator.rules.linear import Weights, fitted
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line

CLASSES = ("no", "yes")
SIDES: tuple[Limb, Limb] = ("hands", "feet")
_WORDS: dict[Limb, frozenset[str]] = {
    "hands": words("hand arm palm mitt finger fingertip thumb paw fist grip"),
    "feet": words("foot leg shoe boot toe heel sole trainer sock"),
}
_ALL = words("limb everything anything whatever body four")
_EVERY = words("limb everything anything whatever four")
_NOT = words("not no never without nobody neither nor off away nothing out")
_ONLY = words("only just alone nothing solely exclusively but")
_MEANT = {
    "by hand": words("hang swing hold grip grab grasp pull haul haul dangle cling catch clutch ring monkey"),
    "by foot": words("walk step stand tread run hop stride tiptoe balance jump trot stroll"),
    "by both": words("climb crawl scramble clamber shin"),
}


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing of a station as the model sees it."""

    mention: Mention
    part: str | None
    tied: tuple[Limb, ...] | None
    """What patterns tied to it."""
    loose: tuple[Limb, ...] | None
    """What patterns took for the whole station."""
    role: str
    alone: bool
    """Nothing else lies between start and finish."""


def _mentions(lines: Sequence[Line], thing: Thing) -> Iterator[tuple[int, int]]:
    for at, line in enumerate(lines):
        for index, mention in enumerate(line.mentions):
            named = same_thing(mention, thing.mention) or (thing.part is not None and mention.is_part and mention.name == thing.part)
            if named and f"@{index}" in line.skeleton.items:
                yield at, index


def _places(lines: Sequence[Line], thing: Thing) -> Iterator[tuple[int, int]]:
    for at, index in _mentions(lines, thing):
        yield at, lines[at].skeleton.items.index(f"@{index}")


def _near(items: Sequence[str], k: int | None, limb: Limb, side: str) -> Iterator[str]:
    """What is said of a limb in the items, seen from the thing at item k (None: the thing is not named in them)."""
    for j, item in enumerate(items):
        if item not in _WORDS[limb]:
            continue
        before, after = items[max(0, j - 4) : j], items[j + 1 : j + 5]
        denied = any(w in _NOT for w in before) or any(w in ("not", "never", "off", "out", "away") for w in after[:3])
        only = any(w in _ONLY for w in (*before[-2:], *after[:2]))
        how = f"denied {denied}, only {only}"
        yield f"{side} said"
        yield f"{side} {how}"
        if k is None:
            yield f"{side} alone, {how}"
            continue
        low, high = min(j, k), max(j, k)
        between = items[low + 1 : high]
        gap = "close" if high - low <= 3 else "near" if high - low <= 7 else "far"
        crossed = sum(w.startswith("@") for w in between)
        clause = any(w in (",", "|", ".") for w in between)
        where = "after" if j > k else "before"
        yield f"{side} {where} {gap}, {how}"
        yield f"{side} {where}, things between {min(crossed, 2)}, border {clause}, {how}"
        if not crossed:
            yield f"{side} {where} next to it, {how}"
            for w in between:
                yield f"{side} {where} by {w}"


def features_of(lines: Sequence[Line], thing: Thing, limb: Limb) -> list[str]:
    """What speaks for and against a limb on a thing."""
    other = SIDES[1 - SIDES.index(limb)]
    out = ["always", f"role {thing.role}", f"role {thing.role}, alone {thing.alone}"]
    for name, said in (("tied", thing.tied), ("loose", thing.loose)):
        told = "none" if said is None else f"this {limb in said}, other {other in said}"
        out += [f"{name} {told}", f"{name} {told}, role {thing.role}"]
    out.append(f"tied {thing.tied is not None}, loose {thing.loose is not None}, alone {thing.alone}")
    if thing.part:
        out.append("a part")
    flat = [item for line in lines for item in line.skeleton.items]
    out.append(f"this ever {any(i in _WORDS[limb] for i in flat)}, other ever {any(i in _WORDS[other] for i in flat)}")
    places = list(_places(lines, thing))
    for at, k in places:
        items = lines[at].skeleton.items
        for side, each in (("this", limb), ("other", other)):
            out += _near(items, k, each, side)
        if any(i in _ALL for i in items[max(0, k - 6) : k + 9]):
            out.append("all near")
        for name, verbs in _MEANT.items():
            if any(i in verbs for i in items[max(0, k - 4) : k + 4]):
                out += [f"{limb}, {name}", f"{limb}, {name}, tied {thing.tied is not None}, loose {thing.loose is not None}"]
        after = lines[at + 1] if at + 1 < len(lines) else None
        if after is not None and not any((at + 1, j) in places for j in range(len(after.skeleton.items))):
            named = "no thing" if not after.mentions else "another thing"
            for side, each in (("this", limb), ("other", other)):
                out += [f"next sentence, {named}: {told}" for told in _near(after.skeleton.items, None, each, side)]
            if after.skeleton.items and after.skeleton.items[0] in ("it", "they", "them", "those", "these", "that"):
                out.append(f"next sentence goes on, this {any(i in _WORDS[limb] for i in after.skeleton.items)}")
    return list(dict.fromkeys(out))


def weighed_limbs(lines: Sequence[Line], thing: Thing, weights: Weights | None = None) -> dict[Limb, float]:
    """How likely each limb is one that the speaker tied to the thing; 0 where no word at the station is of it."""
    model = weights or fitted("limbs")
    said = {item for line in lines for item in line.skeleton.items}
    read = context(lines)
    seen = [told for place in _mentions(lines, thing) if (told := read.of(*place, "limbs")) is not None]
    out: dict[Limb, float] = dict.fromkeys(SIDES, 0.0)
    for k, limb in enumerate(SIDES):
        if said & (_WORDS[limb] | _EVERY):
            leaning = (0.0, sum(told[k] for told in seen) / len(seen)) if seen else None
            out[limb] = model.shares(features_of(lines, thing, limb), leaning)["yes"]
    return out
