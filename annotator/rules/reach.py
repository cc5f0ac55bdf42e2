"""How far a rule reaches by what the language model makes of it: for the whole course, or for a class of athletes only.

In: the lines of a walk, what the model read (sentences.py), and what patterns made of them. Out: the rules for all, and the surfaces with
their classes, as both together come to. Patterns know the usual ways of saying so; the model sees that "you won't lay a hand on a rudder"
puts rudders out and "sausages at one" nothing. Where it is not installed the patterns decide alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np

from annotator.course import BlanketRule, Ruling, SheetSurface
from annotator.rules.blanket import RIGHT, head_of
from annotator.rules.classes import named_at, names_the_rest
from annotator.rules.freely import limbs_told
from annotator.rules.likeness import same_head
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.scope import whole_course
from annotator.rules.sentences import Listened
from annotator.rules.text import Token

SAID = 0.95
"""Share from which a thing that no pattern ruled for all is. With this, the next one and NOT_OF_ALL of draft.py the rules for all of 80
walks that had taught the model nothing went F1 .757 -> .779; .975, .001 and -4 were right for the fit before."""
NOT_SAID = 0.03
"""Share up to which one that a pattern ruled for all is not."""
OF_A_STATION = 8.0
"""Log odds of being part of a station from which the model is not asked whether a line rules for all: where none was found there it has
seen something else than patterns have."""
OTHERWISE = 0.97
"""Share of the other ruling from which that stands against the pattern's."""
FOR_CLASS = 0.25
"""Share from which a thing is ruled for a class where no pattern rules it for any."""
BESIDE = 0.7
"""What of the likeliest thing's share for a class another thing needs to be ruled for it too."""
DOUBTED = 0.005
"""Share below which a thing that patterns rule for a class is not ruled for it. With this and the next one 14 of 42 false ones of 80 walks
that had taught the model nothing go."""
ANOTHERS = 0.03
"""The same where the model rules another thing for the class."""
CLASS_NAMED = 0.5
"""Share from which words that no pattern knows name a class."""
NEAR = 2
"""Lines between a thing and a class at most."""


def of_all(rules: Sequence[BlanketRule], lines: Sequence[Line], listened: Listened | None) -> tuple[BlanketRule, ...]:
    """The rules for all by patterns and model together, in the order said."""
    if listened is None:
        return tuple(rules)
    read = _read_of_all(lines, listened)
    kept = [weighed for rule in rules if (weighed := _as_read(rule, lines, read, listened)) is not None]
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


def _as_read(
    rule: BlanketRule, lines: Sequence[Line], read: Mapping[tuple[int, int], tuple[float, float, float]], listened: Listened
) -> BlanketRule | None:
    """A pattern's rule as it stands beside the model, None where it does not. Which ruling it is, is asked where it was said last."""
    if rule.rule != "surface" or rule.surface is None or rule.part:
        return rule
    head = head_of(rule.surface)
    said = [
        (at, each) for (at, index), each in read.items() if lines[at].said in rule.said and same_head(lines[at].mentions[index].head, head)
    ]
    if not said:
        return rule
    told = 1 - min(none for _, (none, _, _) in said)
    everywhere = any(whole_course(line.plain) for line in lines if line.said in rule.said)
    if told < NOT_SAID and not everywhere and all(listened.leanings.inside[at] <= OF_A_STATION for at, _ in said):
        return None
    last = max(at for at, _ in said)
    _, let, barred = min(each for at, each in said if at == last)
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
    """A station's surfaces, with classes as patterns and model together put them. `at`: the station's lines."""
    read = _read_for_classes(at, lines, listened)
    near: list[list[_ForClass]] = [[] for _ in surfaces]
    for each in read:
        if (meant := _meant(each.mention, surfaces)) is not None:
            near[meant].append(each)
    surfaces = _without_doubted(surfaces, near)
    known = {key for surface in surfaces for key in surface.divisions or {}}
    best = reduce(lambda out, each: out | {each.key: max(each.share, out.get(each.key, 0.0))}, read, dict[str, float]())
    out = []
    for surface, mine in zip(surfaces, near, strict=True):
        told = [each for each in mine if each.key not in known and each.share >= max(FOR_CLASS, BESIDE * best[each.key])]
        if surface.divisions:
            surface = _with_listed(surface, mine, lines)
        elif told and surface.role == "route":
            surface = _divided(surface, told, lines)
        out.append(surface)
    return tuple(out)


def _without_doubted(surfaces: Sequence[SheetSurface], near: Sequence[Sequence[_ForClass]]) -> list[SheetSurface]:
    """The surfaces without classes that the model sees beside a thing, and does not take to be ruled for."""
    shares: dict[str, dict[int, float]] = {}
    for k, mine in enumerate(near):
        for each in mine:
            by_thing = shares.setdefault(each.key, {})
            by_thing[k] = max(each.share, by_thing.get(k, 0.0))

    def doubted(k: int, key: str) -> bool:
        elsewhere = max((share for other, share in shares.get(key, {}).items() if other != k), default=0.0)
        return shares.get(key, {}).get(k, 1.0) < (ANOTHERS if elsewhere >= FOR_CLASS else DOUBTED)

    out = []
    for k, surface in enumerate(surfaces):
        kept = {key: ruling for key, ruling in (surface.divisions or {}).items() if not doubted(k, key)}
        changed = surface.role == "route" and len(kept) < len(surface.divisions or {})
        out.append(surface.model_copy(update={"divisions": kept or None}) if changed else surface)
    return out


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
        if word >= 0 and kind and runs and runs[-1][-1] == word - 1:
            runs[-1].append(word)
        elif word >= 0 and kind:
            runs.append([word])
    for run in runs:
        sure = sum(float(shares[word][1:].sum()) for word in run) / len(run)
        while run and tokens[run[0]].pos in ("DET", "PRON", "ADP", "PUNCT"):
            run = run[1:]
        if run:  # "old-timers" whole
            whole = [k for k, token in enumerate(tokens) if token.word in (tokens[run[0]].word, tokens[run[-1]].word) and _spoken(token)]
            run = list(range(min(run[:1] + whole), max(run[-1:] + whole) + 1))
        if run and sure >= CLASS_NAMED and all(last < run[0] or run[-1] < first for first, last, _ in named):
            named.append((run[0], run[-1], _written(line, run)))
    return named


def _spoken(token: Token) -> bool:
    return token.low[0].isalnum()


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


def _with_listed(surface: SheetSurface, read: Sequence[_ForClass], lines: Sequence[Line]) -> SheetSurface:
    """A surface with the classes that are listed beside one for which patterns rule it, and ruled alike."""
    told = surface.divisions or {}
    known = [each for each in read if each.key in told]
    more = {
        each.key: each.ruling
        for each in read
        if each.key not in told
        and each.share >= FOR_CLASS
        and any(told[one.key] == each.ruling and _listed(one, each, lines) for one in known)
    }
    return surface.model_copy(update={"divisions": {**told, **more}}) if more else surface


def _divided(surface: SheetSurface, told: Sequence[_ForClass], lines: Sequence[Line]) -> SheetSurface:
    """A surface with the likeliest class put to it, and those that are listed beside that one."""
    told = [replace(each, ruling="out") if _kept_out(each, lines[each.line]) else each for each in told]
    first = max(told, key=lambda each: each.share)
    kept = {each.key: each.ruling for each in told if each.key == first.key or _listed(first, each, lines)}
    kept = {key: ruling for key, ruling in kept.items() if ruling == first.ruling}
    ruling: Ruling = "out" if first.ruling == "in" else "in"
    said = tuple(dict.fromkeys((*surface.said, lines[first.line].said)))[:4]
    contact = surface.contact if ruling == "in" else None
    return surface.model_copy(update={"ruling": ruling, "divisions": kept, "contact": contact, "said": said})


_NOT_THEY = re.compile(r"(?:\bnot|n't) (?:for |if )?(?:the |our |any |an? |you (?:'re|are) )*$")
_OUT_FOR_THEM = re.compile(
    r"^(?:[^.?!]* )?(?:do|does|go|goes|manage|manages)(?: \w+){0,2} without\b|"
    r"\bfor (?:them|you|those)(?: \w+){0,3} (?:is|are|'s|'re) (?:out|shut|closed|off|barred|forbidden)\b|"
    r"\b(?:is|are|'s|'re) (?:out|shut|closed|off|barred|forbidden) (?:for|to) (?:them|you)\b"
)


def _kept_out(each: _ForClass, line: Line) -> bool:
    """Whether a line says outright that it is the class that may not: the model hears that it is told apart, and mostly that it may."""
    lows = [token.low.replace("\u2019", "'") for token in line.skeleton.sentence.tokens]
    before, after = " ".join(lows[: each.first]) + " ", " ".join(lows[each.last + 1 :])
    return _NOT_THEY.search(before) is not None or (not names_the_rest(line) and _OUT_FOR_THEM.search(after) is not None)


_LISTS = frozenset({"and", "or", ",", "the", "our", "all", "any", "you"})
_ELSE = _LISTS | {"if", "'re", "are", "one", "of", "a", "an"}
_TOO = re.compile(r"^(?:[^.?!]* )?(?:too|as well|likewise)\b")


def _listed(one: _ForClass, other: _ForClass, lines: Sequence[Line]) -> bool:
    """Whether two classes are told in one list: "the juniors and the over-sixties", "over sixty, or one of the cadets", "and cubs too"."""
    if one.line != other.line:
        return False
    before, after = sorted((one, other), key=lambda each: each.first)
    lows = [token.low for token in lines[one.line].skeleton.sentence.tokens]
    between = lows[before.last + 1 : after.first]
    if "or" in between and _ELSE.issuperset(between):
        return True
    if "and" in between and _LISTS.issuperset(between):
        return True
    return "and" in between[-3:] and _TOO.match(" ".join(lows[after.last + 1 : after.last + TOO])) is not None


TOO = 10
"""Words behind a class in which "too" says that it is one more."""
