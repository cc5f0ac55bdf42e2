"""How far a rule reaches by what the language model makes of it: for the whole course, or for a class of athletes only.

In: the lines of a walk, what the model read (sentences.py), and what patterns made of them. Out: the rules for all, and the surfaces with
their classes, as both together come to. Patterns know the usual ways of saying so; the model sees that "you won't lay a hand on a rudder"
puts rudders out and "sausages at one" nothing. Where it is not installed the patterns decide alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from annotator.course import BlanketRule, Ruling, SheetSurface
from annotator.rules.blanket import RIGHT, head_of
from annotator.rules.called import called_twice, named_at
from annotator.rules.freely import limbs_told
from annotator.rules.kept_off import barred_to, kept_off, others_may
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
SURELY = 0.95
"""The same from which a class may, and alone, though a pattern keeps it out; with the next one no rule of the 80 walks changes."""
NOT_BARRED = 0.01
"""Of that at most for what it may not."""
ONLY_FOR_CLASS = 0.9
"""The same as FOR_CLASS for a thing of which nothing else is said."""
RIGHT_ALONE = 0.4
"""Share of these that are right: two of five in the 80 walks, too few to be sure of it."""
BESIDE = 0.7
"""What of the likeliest thing's share for a class another thing needs to be ruled for it too."""
DOUBTED = 0.005
"""Share below which a thing that patterns rule for a class is not ruled for it. With this and the next one 14 of 42 false ones of 80 walks
that had taught the model nothing go."""
ANOTHERS = 0.03
"""The same where the model rules another thing for the class."""
CLASS_WORD = 0.8
"""Share of naming none up to which a word is one of a class's name. With this and the next one 116 of 182 classes of the 80 walks came out
right and 22 false ones; with .5 for both 113 and 21."""
CLASS_NAMED = 0.4
"""Share from which words that no pattern knows name a class, in the mean over its words."""
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
    barred: float
    """Of that the share that it may not."""
    line: int
    first: int
    last: int

    @property
    def ruling(self) -> Ruling:
        """What the class may, as it is likelier."""
        return "in" if self.barred < 0.5 else "out"


def for_classes(surfaces: Sequence[SheetSurface], at: Sequence[int], lines: Sequence[Line], listened: Listened) -> tuple[SheetSurface, ...]:
    """A station's surfaces, with classes as patterns and model together put them. `at`: the station's lines."""
    surfaces = _with_whole_names(surfaces, at, lines, listened)
    read = _read_for_classes(at, lines, listened)
    near: list[list[_ForClass]] = [[] for _ in surfaces]
    for each in read:
        if (meant := _meant(each.mention, surfaces)) is not None:
            near[meant].append(each)
    surfaces = [_as_heard(surface, mine, lines) for surface, mine in zip(_without_doubted(surfaces, near), near, strict=True)]
    known = {key for surface in surfaces for key in surface.divisions or {}}
    best: dict[str, float] = {}
    for each in read:
        best[each.key] = max(each.share, best.get(each.key, 0.0))
    out = []
    for surface, mine in zip(surfaces, near, strict=True):
        told = [each for each in mine if each.key not in known and each.share >= max(FOR_CLASS, BESIDE * best[each.key])]
        if surface.divisions:
            surface = _with_listed(surface, mine, lines)
        elif told and surface.role == "route":
            surface = _divided(surface, told, lines)
        out.append(surface)
    out = [*out, *_only_for_classes(out, read, lines)]
    twice = tuple(dict.fromkeys(pair for k in at for pair in called_twice(lines[k])))
    return tuple(_called_once(surface, twice) for surface in out)


def _called_once(surface: SheetSurface, pairs: Sequence[tuple[str, str]]) -> SheetSurface:
    """A surface with each class once, where a line calls it by two names."""
    told = surface.divisions or {}
    if len(told) < 2:
        return surface
    twice = {second for first, second in pairs if first in told and told.get(second) == told[first]}
    return surface.model_copy(update={"divisions": {key: ruling for key, ruling in told.items() if key not in twice}}) if twice else surface


def _only_for_classes(surfaces: Sequence[SheetSurface], read: Sequence[_ForClass], lines: Sequence[Line]) -> list[SheetSurface]:
    """Things of which nothing is said but that a class may, or may not: "wheelchair users, the loading bank's yours"."""

    def told_nowhere(mention: Mention) -> bool:
        known = any(_may_be(mention, name) for one in surfaces for name in (one.name, one.part) if name)
        return not known and not mention.is_part and mention.part is None and not mention.name.endswith(("self", "selves"))

    heads = dict.fromkeys(each.mention.head for each in read if each.share >= ONLY_FOR_CLASS and told_nowhere(each.mention))
    out = []
    for head in heads:
        mine = [each for each in read if each.mention.head == head and each.share >= FOR_CLASS and told_nowhere(each.mention)]
        longest = max((each.mention for each in mine), key=lambda mention: len(mention.words))
        out.append(_divided(SheetSurface(name=longest.name, ruling="out", confidence=RIGHT_ALONE), mine, lines))
    return out


def _with_whole_names(
    surfaces: Sequence[SheetSurface], at: Sequence[int], lines: Sequence[Line], listened: Listened
) -> Sequence[SheetSurface]:
    """The surfaces with the names of their classes as the model sees them: "mature students" where patterns know students only."""
    told: dict[str, set[str]] = {}
    for short, key in (each for k in at for each in _whole_names(lines[k], k, listened)):
        told.setdefault(short, set()).add(key)
    whole = {short: next(iter(keys)) for short, keys in told.items() if len(keys) == 1}
    return [
        surface.model_copy(update={"divisions": {whole.get(key, key): ruling for key, ruling in surface.divisions.items()}})
        if any(whole.get(key, key) != key for key in surface.divisions or {}) and surface.divisions
        else surface
        for surface in surfaces
    ]


def _whole_names(line: Line, at: int, listened: Listened) -> list[tuple[str, str]]:
    """Each class that patterns know on a line, and what it is called there."""
    whole = {last: key for _, last, key in _classes(line, at, listened)}
    return [(key, whole.get(last, key)) for _, last, key in named_at(line)]


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


def _as_heard(surface: SheetSurface, read: Sequence[_ForClass], lines: Sequence[Line]) -> SheetSurface:
    """A surface that patterns keep from a class, as the model hears it: where it is sure of the other, that the class alone may."""
    told = surface.divisions or {}
    sure = [each for each in read if told.get(each.key) == "out" and each.share >= SURELY]
    outright = any(
        kept_off(lines[each.line], each.first, each.last) or barred_to(lines[each.line], each.first) for each in read if each.key in told
    )
    if surface.role != "route" or len(told) != 1 or not sure or outright or max(each.barred for each in sure) > NOT_BARRED:
        return surface
    return surface.model_copy(update={"ruling": "out", "contact": None, "divisions": dict.fromkeys(told, "in")})


def _read_for_classes(at: Sequence[int], lines: Sequence[Line], listened: Listened) -> list[_ForClass]:
    """Each thing of these lines beside each class that is named near it."""
    classes = {k: [(*each, listened.mean(k, each[0], each[1])) for each in _classes(lines[k], k, listened)] for k in at}
    pairs, vectors = [], []
    for k in at:
        near = [(line, *each) for line in range(k - NEAR, k + NEAR + 1) for each in classes.get(line, ())]
        for mention in lines[k].mentions if near else ():
            own = listened.mean(k, mention.first, mention.last)
            for line, first, last, key, named in near:
                if own is not None and named is not None:
                    pairs.append((mention, key, line, first, last))
                    vectors.append(np.concatenate([own, named, own * named]))
    if not pairs:
        return []
    shares = listened.shares("for", np.stack(vectors)).tolist()
    return [
        _ForClass(mention, key, let + barred, barred / (let + barred or 1.0), line, first, last)
        for (mention, key, line, first, last), (_, let, barred) in zip(pairs, shares, strict=True)
    ]


def _classes(line: Line, at: int, listened: Listened) -> list[tuple[int, int, str]]:
    """The classes that a line names, by first and last token: those of the patterns, and beside them what the model takes for one."""
    named = named_at(line)
    out = []
    for run, sure in _runs_of_classes(line, at, listened):
        inside = [each for each in named if each[0] <= run[-1] and run[0] <= each[1]]
        if not inside and sure >= CLASS_NAMED:
            out.append((run[0], run[-1], _written(line, run)))
        elif len(inside) == 1:
            longer = _with_its_kind(line, run, inside[0])
            named = [longer if each == inside[0] else each for each in named]
    return [*named, *out]


def _runs_of_classes(line: Line, at: int, listened: Listened) -> list[tuple[list[int], float]]:
    """Words side by side that the model takes for a class's name, and how surely."""
    tokens = line.skeleton.sentence.tokens
    runs: list[list[int]] = []
    shares = listened.words(at, "class")
    for word, share in shares.items():
        if word < 0 or share[0] > CLASS_WORD:
            continue
        if runs and runs[-1][-1] == word - 1:
            runs[-1].append(word)
        else:
            runs.append([word])
    out = []
    for run in [piece for words in runs for piece in _each_class(words, tokens)]:
        sure = sum(float(shares[word][1:].sum()) for word in run) / len(run)
        while run and tokens[run[0]].pos in ("DET", "PRON", "ADP", "PUNCT"):
            run = run[1:]
        if run:  # "old-timers" whole
            whole = [k for k, token in enumerate(tokens) if token.word in (tokens[run[0]].word, tokens[run[-1]].word) and _spoken(token)]
            out.append((list(range(min(run[:1] + whole), max(run[-1:] + whole) + 1)), sure))
    return out


def _each_class(run: Sequence[int], tokens: Sequence[Token]) -> list[list[int]]:
    """The names in words that the model takes for one: "staff and volunteers who work here" are two, and who they are is no name."""
    who = next((k for k, word in enumerate(run) if k and tokens[word].tag in ("WP", "WDT")), len(run))
    pieces: list[list[int]] = [[]]
    for word in run[:who]:
        if tokens[word].pos == "CCONJ" or tokens[word].low == ",":
            pieces.append([])
        else:
            pieces[-1].append(word)
    names = all(any(tokens[word].pos in ("NOUN", "PROPN") for word in piece) for piece in pieces)
    bound = any(tokens[word].pos in ("ADP", "VERB", "AUX") for word in run[:who])
    return pieces if names and not bound else [[*run]]


def _with_its_kind(line: Line, run: Sequence[int], named: tuple[int, int, str]) -> tuple[int, int, str]:
    """ "mature students": a class with the words before it that tell which of them, where the model takes all for the name."""
    first, last, _ = named
    tokens = line.skeleton.sentence.tokens[run[0] : first]
    if run[-1] != last or not 0 < len(tokens) <= 2 or any(token.pos not in ("ADJ", "NOUN", "PROPN") for token in tokens):
        return named
    if {tokens[-1].low, line.skeleton.sentence.tokens[first].low} & _ANYBODY or tokens[0].low in _SMALL:
        return named
    return run[0], last, _written(line, run)


_SMALL = frozenset({"little", "small", "wee", "young", "tiny", "big", "older", "younger"})
_ANYBODY = frozenset({"members", "kids", "children", "people", "folks", "athletes", "ones", "lads", "boys", "girls", "others"})
"""Words for persons that tell no class apart from another: "kids under ten" are all who are."""


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


def _may_be(mention: Mention, name: str) -> bool:
    """Whether a phrase may speak of a thing of this name: "the bars" of the high bars, "the standing barrels" not of the barrels."""
    return same_head(head_of(name), mention.head) and set(mention.words[:-1]) <= set(name.split())


def _divided(surface: SheetSurface, told: Sequence[_ForClass], lines: Sequence[Line]) -> SheetSurface:
    """A surface with the likeliest class put to it, and those that are listed beside that one."""
    told = [replace(each, barred=1.0) if _may_not(each, lines) else each for each in told]
    first = max(told, key=lambda each: each.share)
    kept = {each.key: each.ruling for each in told if each.key == first.key or _listed(first, each, lines)}
    kept = {key: ruling for key, ruling in kept.items() if ruling == first.ruling}
    ruling: Ruling = "out" if first.ruling == "in" else "in"
    said = tuple(dict.fromkeys((*surface.said, lines[first.line].said)))[:4]
    contact = surface.contact if ruling == "in" else None
    return surface.model_copy(update={"ruling": ruling, "divisions": kept, "contact": contact, "said": said})


def _may_not(each: _ForClass, lines: Sequence[Line]) -> bool:
    """Whether words say that it is the class that may not."""
    line = lines[each.line]
    return kept_off(line, each.first, each.last) or others_may(lines, each.line, each.first, each.last, each.mention)


_LISTS = frozenset({"and", "or", ",", "the", "our", "all", "any", "you"})
_ELSE = _LISTS | {"if", "'re", "are", "one", "of", "a", "an"}
_AS_MAY = re.compile(r"\bas (?:may|can|do|does|will)(?: (?:the|our|any|all|also))*$")
_TOO = re.compile(r"^(?:[^.?!]* )?(?:too(?= [,.;!]|$)|as well\b|likewise\b)")


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
    if _AS_MAY.search(" ".join(between)):
        return True
    return bool({"and", ","} & set(between[-3:])) and _TOO.match(" ".join(lows[after.last + 1 : after.last + TOO])) is not None


TOO = 10
"""Words behind a class in which "too" says that it is one more."""
