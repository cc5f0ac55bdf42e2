"""What is said of a thing, weighed: where the patterns are silent or unsure, a small model says what the words around a phrase make of it.

In: a station's lines with their acts. Out: the lines with further acts, each named `weighed`. The model is a logistic regression over word
classes by their place (before or after the phrase in its clause, elsewhere in the sentence, in the sentences beside it) and over what the
phrase itself is; its weights (weights.json) were fitted by scripts/fit_weighed.py on walks that have been read, so each figure can be
looked up. It never overrules a pattern that is sure.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files

from annotator.rules.acts import Act
from annotator.rules.lexicon import APPARATUS, BODY, CONTACT_VERBS, NUMBER, PLATFORMS, SIGNALS, age_key, words
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.phrases import Mention
from annotator.rules.pieces import ActKind
from annotator.rules.reading import Line

CLASSES = ("none", "in", "out", "start", "finish")
"""What a phrase may be at its station by one sentence; "none": nothing is said of it there, or it is no surface."""

_CLASS: Mapping[str, frozenset[str]] = {
    "begin": words(
        "begin start commence depart launch embark open first wait ready position mark initial starting kickoff kick set beginning mount "
        "leave origin takeoff opening initially"
    ),
    "end": words(
        "finish end complete done conclude final last over through home clock stop arrive land landing terminate finished ending "
        "finally target goal destination exit dismount timer time arrival reach"
    ),
    "allow": words(
        "can may could allow allowed fine okay ok good legal free welcome permit permitted fair yes usable grand happy valid live"
        " available "
        "option help optional whatever whichever anything"
    ),
    "forbid": words(
        "out off forbid forbidden ban banned illegal lava prohibit prohibited avoid leave ignore away limits limit forget clear dead "
        "scenery decoration trap except bar but exclude pretend"
    ),
    "negate": words("not no never nobody none without neither nor cannot nothing nowhere hardly"),
    "cost": words("fail foul fault penalty disqualify disqualified cost lose down miss buzz failure whistle flag void fall again"),
    "want": words("want like need must should shall have will would let see"),
    "touch": frozenset(CONTACT_VERBS) | words("contact travel follow negotiate tackle pass steady brace wedge dip"),
    "move": words("go come get step jump drop fall swing slide run walk climb land head fly roll hop leap cross tumble lunge leap make"),
    "from": words("from"),
    "off": words("off"),
    "onto": words("onto to into until till"),
    "on": words("on in at upon"),
    "behind": words("behind under by beside beneath"),
    "along": words("along across over up through round around between down via past beyond"),
    "limb": frozenset(BODY),
    "only": words("only just solely exclusively alone nothing but all"),
    "you": words("you athlete competitor runner everyone everybody one we they he she"),
    "be": words("be"),
    "there": words("there here have get"),
    "that": words("that this it those they them these"),
    "if": words("if when once whoever anyone anybody unless until"),
    "and": words("and then next so"),
}
_OF_WORD: Mapping[str, tuple[str, ...]] = {
    word: tuple(name for name, members in _CLASS.items() if word in members) for members in _CLASS.values() for word in sorted(members)
}
NEAR = 4  # items on each side whose very words count
SURE = 0.8  # weight from which a pattern's word stands


@dataclass(frozen=True, slots=True)
class Weights:
    """A weight for each feature and class."""

    of: Mapping[str, tuple[float, ...]]

    def shares(self, features: Sequence[str]) -> dict[str, float]:
        """How likely each class is; the shares sum to 1."""
        sums = [0.0] * len(CLASSES)
        for feature in features:
            for k, weight in enumerate(self.of.get(feature, ())):
                sums[k] += weight
        top = max(sums)
        raised = [math.exp(each - top) for each in sums]
        return dict(zip(CLASSES, (each / sum(raised) for each in raised), strict=True))


@lru_cache(maxsize=1)
def fitted() -> Weights:
    """The weights in the package."""
    kept = json.loads(files("annotator.rules").joinpath("weights.json").read_text(encoding="utf-8"))
    return Weights({feature: tuple(row) for feature, row in kept["weights"].items()})


def _clause(items: Sequence[str], k: int) -> tuple[int, int]:
    """The items around item k up to the next border on each side."""
    a = k
    while a > 0 and items[a - 1] not in (",", "|", "."):
        a -= 1
    b = k + 1
    while b < len(items) and items[b] not in (",", "|", "."):
        b += 1
    return a, b


def _named(prefix: str, items: Sequence[str]) -> Iterator[str]:
    seen = {name for item in items for name in _OF_WORD.get(item, ())}
    for name in sorted(seen):
        yield f"{prefix}:{name}"
    if any(item.startswith("@") for item in items):
        yield f"{prefix}:thing"


def features_of(lines: Sequence[Line], at: int, index: int, seen: Sequence[Mention], before: Sequence[Mention]) -> list[str]:
    """What speaks for and against each class, for mention `index` of line `at`.

    `seen`: phrases said at the station before it; `before`: what the station before ended on.
    """
    line = lines[at]
    items = line.skeleton.items
    mention = line.mentions[index]
    k = items.index(f"@{index}")
    a, b = _clause(items, k)
    out = ["always"]
    out += _named("before", items[a:k])
    out += _named("after", items[k + 1 : b])
    out += _named("earlier", items[:a])
    out += _named("later", items[b:])
    if at > 0:
        out += _named("sentence before", [i for i in lines[at - 1].skeleton.items if not i.startswith("@")])
    if at + 1 < len(lines) and len(lines[at + 1].mentions) == 0:
        out += _named("sentence after", lines[at + 1].skeleton.items)
    for step in range(1, NEAR + 1):
        for side, where in (("left", k - step), ("right", k + step)):
            if 0 <= where < len(items):
                word = items[where] if not items[where].startswith("@") else "@"
                out.append(f"{side}:{word}")
                if step == 1:
                    out.append(f"{side} next:{word}")
                out += [f"{side} {min(step, 3)}:{name}" for name in _OF_WORD.get(word, ())]
    denied = any(i in _CLASS["negate"] for i in items[a:k])
    allowed = any(i in _CLASS["allow"] for i in items[a:k])
    touched = any(i in _CLASS["touch"] for i in items[a:k])
    out.append(f"denied {denied}, allowed {allowed}, touched {touched}")
    denied_after = any(i in _CLASS["negate"] for i in items[k + 1 : b])
    bad_after = any(i in _CLASS["forbid"] | _CLASS["cost"] for i in items[k + 1 : b])
    good_after = any(i in _CLASS["allow"] for i in items[k + 1 : b])
    out.append(f"after: denied {denied_after}, bad {bad_after}, good {good_after}")
    head = mention.head
    kind = "signal" if head in SIGNALS else "platform" if head in PLATFORMS else "apparatus" if head in APPARATUS else "unknown"
    out.append(f"is {kind}")
    out.append(f"is {kind}, {'many' if mention.plural else 'one'}")
    out.append(
        f"said with {mention.determiner if mention.determiner in ('the', 'a', 'an', 'no', 'any', 'every', 'each', 'that') else 'other'}"
    )
    if mention.colours:
        out.append("has a colour")
    if mention.part:
        out.append("is a part")
    known = any(same_thing(mention, each) for each in seen)
    out.append("known" if known else "new")
    out.append(f"{'known' if known else 'new'} {kind}")
    if any(same_head(mention.head, each.head) and (mention.colours & each.colours or not mention.colours) for each in before):
        out.append("ended on before")
    place = at / max(1, len(lines) - 1)
    third = "begin" if at <= 1 else "close" if place > 0.75 else "middle"
    out.append(f"in the {third}")
    out.append(f"in the {third}, {kind}")
    if not any(line.mentions for line in lines[at + 1 :]) and index == len(line.mentions) - 1:
        out.append("last thing said")
    if not seen and index == 0:
        out.append("first thing said")
    if age_key(line.plain):
        out.append("names a class")
    if any(i in NUMBER for i in items[max(0, k - 2) : k]):
        out.append("counted")
    out += [f"acts {act.kind}" for act in line.acts if act.mention != index]
    return list(dict.fromkeys(out))


def phrases_of(lines: Sequence[Line]) -> Iterator[tuple[int, int, list[Mention]]]:
    """Each phrase of the lines by line and index, with those said before it."""
    seen: list[Mention] = []
    for at, line in enumerate(lines):
        for index, mention in enumerate(line.mentions):
            if f"@{index}" in line.skeleton.items:
                yield at, index, list(seen)
                seen.append(mention)


LEAST: Mapping[str, float] = {"start": 0.6, "finish": 0.65}
"""Share from which a class is taken up. What it says of in and out was wrong too often on walks that taught it nothing, and is not used."""
_AS: Mapping[str, tuple[ActKind, float]] = {"start": ("start", 0.72), "finish": ("finish", 0.76)}


def weighed(lines: Sequence[Line], before: Sequence[Mention], names: Sequence[str] = (), weights: Weights | None = None) -> list[Line]:
    """The lines with what the model adds: nothing of what a pattern says surely, one start and one finish where none was told."""
    model = weights or fitted()
    own = {name.lower() for name in names}
    sure = [(line.mentions[a.mention], a) for line in lines for a in line.acts if a.mention is not None and a.weight >= SURE]
    told = {a.kind for _, a in sure} & {"start", "finish"}
    told |= {"start" for line in lines for a in line.acts if a.kind == "start" and a.weight >= 0.7}
    told |= {"finish" for line in lines for a in line.acts if a.kind == "finish" and a.weight >= 0.75}
    best: dict[str, tuple[float, int, Act]] = {}
    for at, index, seen in phrases_of(lines):
        line, mention = lines[at], lines[at].mentions[index]
        if mention.is_part or mention.part or mention.name in own or mention.head == "one":
            continue
        if any(same_thing(mention, other) and a.kind in ("in", "out", "start", "finish", "past", "include") for other, a in sure):
            continue
        shares = model.shares(features_of(lines, at, index, seen, before))
        kind, share = max(((c, shares[c]) for c in CLASSES), key=lambda each: each[1])
        if kind not in LEAST or kind in told or share < LEAST[kind] or share <= best.get(kind, (0.0,))[0]:
            continue
        as_kind, weight = _AS[kind]
        item = line.skeleton.items.index(f"@{index}")
        best[kind] = (share, at, Act(as_kind, index, f"@{index}", item, weight, f"weighed {kind}"))
    more: dict[int, list[Act]] = {}
    for _, at, act in best.values():
        more.setdefault(at, []).append(act)
    return [
        replace(line, acts=tuple(sorted((*line.acts, *more[at]), key=lambda a: (a.item, a.kind)))) if at in more else line
        for at, line in enumerate(lines)
    ]
