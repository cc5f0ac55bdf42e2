"""How far a rule reaches by what the language model makes of it: for the whole course, or for a class of athletes only.

In: the lines of a walk, what the model read (sentences.py), and what patterns made of them. Out: the rules for all, and the surfaces with
their classes, as both together come to. Patterns know the usual ways of saying so; the model sees that "you won't lay a hand on a rudder"
puts rudders out and "sausages at one" nothing. Where it is not installed the patterns decide alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from annotator.course import BlanketRule, Ruling, SheetSurface
from annotator.rules.blanket import RIGHT, head_of
from annotator.rules.classes import named_at
from annotator.rules.freely import limbs_told
from annotator.rules.likeness import same_head
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.scope import whole_course
from annotator.rules.sentences import Listened

SAID = 0.975
"""Share from which a thing that no pattern ruled for all is. By it and the next two the surfaces ruled for all of 80 walks that had taught
the model nothing went F1 .730 -> .770, though the patterns alone had been made on some of these; .95 and .003 gave .797 there and more
false ones elsewhere."""
NOT_SAID = 0.001
"""Share up to which one that a pattern ruled for all is not."""
OTHERWISE = 0.97
"""Share of the other ruling from which that stands against the pattern's."""
FOR_CLASS = 0.5
"""Share from which a thing is ruled for a class where no pattern rules it for any."""
BESIDE = 0.7
"""What of the likeliest thing's share for a class another thing needs to be ruled for it too."""
CLASS_NAMED = 0.5
"""Share from which words that no pattern knows name a class."""
NEAR = 2
"""Lines between a thing and a class at most."""


def of_all(rules: Sequence[BlanketRule], lines: Sequence[Line], listened: Listened | None) -> tuple[BlanketRule, ...]:
    """The rules for all by patterns and model together, in the order said."""
    if listened is None:
        return tuple(rules)
    read = _read_of_all(lines, listened)
    kept = [weighed for rule in rules if (weighed := _as_read(rule, lines, read)) is not None]
    known = [head_of(rule.surface) for rule in kept if rule.surface]
    read_so_far = {said for rule in rules for said in rule.said}
    told: dict[str, tuple[float, Line, Mention, Ruling]] = {}
    for (at, index), (_, let, barred) in read.items():
        mention, share = lines[at].mentions[index], let + barred
        told_already = lines[at].said in read_so_far or any(same_head(mention.head, head) for head in known)
        if share < SAID or mention.is_part or mention.part or told_already:
            continue
        if share > told.get(mention.head, (0.0,))[0]:
            told[mention.head] = (share, lines[at], mention, "in" if let > barred else "out")
    for share, line, mention, ruling in told.values():
        contact = limbs_told(line) if ruling == "in" else None
        kept.append(
            BlanketRule(
                rule="surface",
                surface=mention.name,
                ruling=ruling,
                contact=contact,
                said=(line.said,),
                confidence=round(share * RIGHT["surface"], 3),
            )
        )
    return tuple(sorted(kept, key=lambda rule: rule.said[0].start if rule.said else 0.0))


def _read_of_all(lines: Sequence[Line], listened: Listened) -> dict[tuple[int, int], tuple[float, float, float]]:
    """For each phrase by line and index how likely it is ruled for the whole course: not, in, out."""
    places, vectors = listened.of_phrases(lines)
    if not places:
        return {}
    shares = listened.shares("all", vectors).tolist()
    return {place: (none, let, barred) for place, (none, let, barred) in zip(places, shares, strict=True)}


def _as_read(rule: BlanketRule, lines: Sequence[Line], read: Mapping[tuple[int, int], tuple[float, float, float]]) -> BlanketRule | None:
    """A pattern's rule as it stands beside the model, None where it does not."""
    if rule.rule != "surface" or rule.surface is None or rule.part:
        return rule
    head = head_of(rule.surface)
    shares = [each for (at, index), each in read.items() if lines[at].said in rule.said and same_head(lines[at].mentions[index].head, head)]
    if not shares:
        return rule
    _, let, barred = min(shares)
    everywhere = any(whole_course(line.plain) for line in lines if line.said in rule.said)
    if let + barred < NOT_SAID and not everywhere:
        return None
    other = barred if rule.ruling == "in" else let
    if other < OTHERWISE * (let + barred):
        return rule
    return rule.model_copy(update={"ruling": "out" if rule.ruling == "in" else "in", "contact": None})


@dataclass(frozen=True, slots=True)
class _ForClass:
    """A thing that is ruled for a class by the model: how likely, and where the class is named."""

    mention: Mention
    key: str
    share: float
    ruling: Ruling
    line: int
    first: int
    last: int


def for_classes(surfaces: Sequence[SheetSurface], at: Sequence[int], lines: Sequence[Line], listened: Listened) -> tuple[SheetSurface, ...]:
    """A station's surfaces, with classes put to those that no pattern rules for any. `at`: the station's lines."""
    known = {key for surface in surfaces for key in surface.divisions or {}}
    read = _read_for_classes(at, lines, listened)
    best = reduce(lambda out, each: out | {each.key: max(each.share, out.get(each.key, 0.0))}, read, dict[str, float]())
    told: dict[int, list[_ForClass]] = {}
    for each in read:
        meant = _meant(each.mention, surfaces)
        if meant is not None and each.key not in known and each.share >= max(FOR_CLASS, BESIDE * best[each.key]):
            told.setdefault(meant, []).append(each)
    return tuple(
        _divided(surface, told[k], lines) if k in told and surface.role == "route" and not surface.divisions else surface
        for k, surface in enumerate(surfaces)
    )


def _read_for_classes(at: Sequence[int], lines: Sequence[Line], listened: Listened) -> list[_ForClass]:
    """Each thing of these lines beside each class that is named near it."""
    classes = [(k, first, last, key, listened.mean(k, first, last)) for k in at for first, last, key in _classes(lines[k], k, listened)]
    pairs, vectors = [], []
    for k in at if classes else ():
        for mention in lines[k].mentions:
            own = listened.mean(k, mention.first, mention.last)
            for line, first, last, key, named in classes:
                if own is not None and named is not None and abs(k - line) <= NEAR:
                    pairs.append((mention, key, line, first, last))
                    vectors.append(np.concatenate([own, named, own * named]))
    if not pairs:
        return []
    shares = listened.shares("for", np.stack(vectors)).tolist()
    return [
        _ForClass(mention, key, let + barred, "in" if let > barred else "out", line, first, last)
        for (mention, key, line, first, last), (_, let, barred) in zip(pairs, shares, strict=True)
    ]


def _classes(line: Line, at: int, listened: Listened) -> list[tuple[int, int, str]]:
    """The classes that a line names, by first and last token: those of the patterns, and beside them what the model takes for one."""
    named = named_at(line)
    tokens = line.skeleton.sentence.tokens
    runs: list[list[int]] = []
    shares = listened.words(at, "class")
    for word, share in shares.items():
        kind = int(share.argmax())
        if word >= 0 and kind and runs and runs[-1][-1] == word - 1 and kind == 2:
            runs[-1].append(word)
        elif word >= 0 and kind:
            runs.append([word])
    for run in runs:
        sure = sum(float(shares[word][1:].sum()) for word in run) / len(run)
        while run and tokens[run[0]].pos in ("DET", "PRON", "ADP", "PUNCT"):
            run = run[1:]
        if run and sure >= CLASS_NAMED and all(last < run[0] or run[-1] < first for first, last, _ in named):
            named.append((run[0], run[-1], _written(line, run)))
    return named


def _written(line: Line, run: Sequence[int]) -> str:
    """Words as they are said together."""
    text, before = "", -1
    for token in (line.skeleton.sentence.tokens[word] for word in run):
        text += ("" if not text or token.word == before else " ") + token.low
        before = token.word
    return text.replace("’", "'")


def _meant(mention: Mention, surfaces: Sequence[SheetSurface]) -> int | None:
    """The surface that a phrase names, None where there is none or it may be several."""
    if mention.is_part:
        fits = [k for k, surface in enumerate(surfaces) if surface.part and same_head(head_of(surface.part), mention.head)]
        return fits[0] if len(fits) == 1 else None
    fits = [k for k, surface in enumerate(surfaces) if surface.part == mention.part and same_head(head_of(surface.name), mention.head)]
    alike = [k for k in fits if surfaces[k].name == mention.name]
    fits = alike or [k for k in fits if set(mention.words[:-1]) <= set(surfaces[k].name.split())]
    return fits[0] if len(fits) == 1 else None


def _divided(surface: SheetSurface, told: Sequence[_ForClass], lines: Sequence[Line]) -> SheetSurface:
    """A surface with the likeliest class put to it, and those that are listed beside that one."""
    first = max(told, key=lambda each: each.share)
    kept = {each.key: each.ruling for each in told if each.key == first.key or _listed(first, each, lines)}
    kept = {key: ruling for key, ruling in kept.items() if ruling == first.ruling}
    ruling: Ruling = "out" if first.ruling == "in" else "in"
    said = tuple(dict.fromkeys((*surface.said, lines[first.line].said)))[:4]
    contact = surface.contact if ruling == "in" else None
    return surface.model_copy(update={"ruling": ruling, "divisions": kept, "contact": contact, "said": said})


_LISTS = frozenset({"and", "or", ",", "the", "our", "all", "any"})


def _listed(one: _ForClass, other: _ForClass, lines: Sequence[Line]) -> bool:
    """Whether two classes are told in one list: "the juniors and the over-sixties"."""
    if one.line != other.line:
        return False
    before, after = sorted((one, other), key=lambda each: each.first)
    between = [token.low for token in lines[one.line].skeleton.sentence.tokens[before.last + 1 : after.first]]
    return bool({"and", "or"} & set(between)) and _LISTS.issuperset(between)
