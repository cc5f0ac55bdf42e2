"""Rules that differ by age or skill class: who may do what, clause by clause.

In: a line that names a class, or everybody else. Out: what it rules, of which of its things, for whom. What names a class is groups.py;
what all that comes to for a thing is divided.py.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from annotator.course import Ruling
from annotator.rules.called import without_doubles, written
from annotator.rules.class_rows import (
    AGREES,
    ALL_BUT,
    ALSO,
    BARE,
    EVERYBODY,
    EXCLUSIVE,
    GIVES,
    HAPPENED_OUT,
    HELD,
    MINDS,
    NO,
    NO_MATTER,
    NOT_OBLIGED,
    OF_ITSELF,
    OF_LIMBS,
    OF_ONE_THING,
    PERSONS,
    PLACES,
    SETS_OUT,
    SHOWN,
    SPLIT,
    STANDS_THERE,
    THE_REST,
    THINGS_ONLY,
    TOPIC,
    UNLESS,
    WHY,
    YES,
)
from annotator.rules.groups import Named, age_key, named_in
from annotator.rules.lexicon import APPARATUS
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.text import Token

_THE = frozenset({"the", "this", "that", "these", "those"})
_LEFT_FOR_THEM = re.compile(r"(?:and |but |so |because )*that's (?:only |just )?for ")
"""A clause that leaves what was spoken of to somebody: "no way, that's for the lifeguards"."""
REST = "everybody else"
EVERYONE = "everybody"


@dataclass(frozen=True, slots=True)
class _Clause:
    """A clause of a line with classes as `%0` and things as `@0`."""

    text: str
    classes: tuple[Named, ...]
    rest: bool
    mentions: tuple[int, ...]
    acted: Ruling | None
    """What a pattern of acts.py says in it of a thing."""
    used: bool
    """Whether a pattern says that a thing of it is used."""
    before: str
    """All of the line that comes before it."""

    @property
    def _own(self) -> str:
        """The clause without what it makes a condition of."""
        return HAPPENED_OUT.sub(
            "", NO_MATTER.sub("", re.sub(r"\btoo \w+ for\b|\bif (?:you|they)\b[^%]*%\d*|\bif (?:you|they)\b(?!.*%).*$", "", self.text))
        )

    @property
    def outright(self) -> bool:
        """Whether a word of it says in or out, and not merely what it tells of."""
        return (NO if self.ruling == "out" else YES).search(re.sub(r"^(?:and |but |so )*for\b", "", self._own)) is not None

    @property
    def ruling(self) -> Ruling | None:
        """In or out, as the clause says it; None where it says neither."""
        own = self._own
        if self.rest and re.search(r"\b(?:nobody|no one) (?:else|older|bigger)", self.text):
            return "out"
        if not self.mentions and STANDS_THERE.search(own):
            return None  # "grown-ups, please don't stand right there" is said to who looks on
        if NOT_OBLIGED.search(own) and not NO.search(NOT_OBLIGED.sub("", own)):
            return None
        if NO.search(own):
            return "out"
        if self.acted == "out" and re.search(r"\byou (?:may|can|could)\b", own):
            return "in"  # "if you're over sixty you may use it": nothing is over
        if self.acted is not None and not (self.acted == "in" and OF_LIMBS.search(own) and not YES.search(own)):
            return self.acted
        if YES.search(re.sub(r"^(?:and |but |so )*for\b", "", own)) or (
            (GIVES.search(self.text) or self.used) and not OF_LIMBS.search(self.text)
        ):
            return "in"
        return None

    @property
    def bare(self) -> bool:
        """Whether it only names classes."""
        return BARE.fullmatch(self.text) is not None and not _LEFT_FOR_THEM.match(self.text)


@dataclass(frozen=True, slots=True)
class Ruled:
    """One rule for one class, or for the rest. `mention`: index of the thing that the clause names, None for what was spoken of."""

    mention: int | None
    who: str
    ruling: Ruling
    vague: bool = False
    alone: bool = False
    """It is for nobody else."""
    also: bool = False
    outright: bool = False
    """A word of the clause says in or out."""
    pointed: bool = False
    """The clause says "it" or "that": what was spoken of before, and not what the line names after."""


def people(line: Line) -> frozenset[int]:
    """The phrases of a line that stand for a class and are no things."""
    text, places = written(line)
    named = named_in(text)
    return frozenset(
        k for k, m in enumerate(line.mentions) for one in named if one.begin < places[m.last][1] and places[m.first][0] < one.end
    )


def names_the_rest(line: Line) -> bool:
    """Whether a line says something of everybody else; "otherwise" alone may be said of anything."""
    return any(match[0] != "otherwise" for match in THE_REST.finditer(line.plain))


def _clauses(line: Line) -> Iterator[_Clause]:
    text, places = written(line)
    named = without_doubles(named_in(text), text)
    spans = [(one.begin, one.end, f"%{k}") for k, one in enumerate(named)]
    acted: dict[int, Ruling] = {}
    for k, mention in enumerate(line.mentions):
        begin, end = places[mention.first][0], places[mention.last][1]
        if all(end <= a or b <= begin for a, b, _ in spans):
            denied = _DENIED.match(text[begin:end]) or (mention.determiner == "no" and not text[:begin].endswith("no "))
            spans.append((begin, end, f"no @{k}" if denied else f"@{k}"))
    for match in THE_REST.finditer(text):
        if all(match.end() <= a or b <= match.start() for a, b, _ in spans):
            spans.append((*match.span(), "%*" if not re.match("nobody|no one", match[0]) else match[0]))
    for act in line.acts:
        if act.kind in ("in", "out") and not act.rule.startswith("weighed") and act.item < len(line.skeleton.at):
            acted.setdefault(line.skeleton.at[act.item], "in" if act.kind == "in" else "out")
    out, at, offsets = "", 0, []
    for begin, end, sign in sorted(spans):
        out += text[at:begin]
        offsets.append((len(out), begin))
        out += sign
        at = end
    out = _OTHERS_OF_THEM.sub("%*", out + text[at:])
    place = 0
    for piece in SPLIT.split(out):
        begin = out.index(piece, place)
        place = begin + len(piece)
        inside = [m.span() for m in re.finditer(r"@\d+", piece)]
        said = [
            ruling
            for token, ruling in sorted(acted.items())
            if any(f"@{k}" in piece for k, m in enumerate(line.mentions) if m.first <= token <= m.last)
        ]
        yield _Clause(
            piece.strip(),
            tuple(named[int(m)] for m in re.findall(r"%(\d+)", _LEFT_TO.sub(r"\1", piece))),
            THE_REST.search(piece) is not None or "%*" in piece,
            tuple(int(piece[a + 1 : b]) for a, b in inside),
            said[-1] if said else None,
            any(act.kind == "use" and f"@{act.mention}" in piece for act in line.acts),
            out[:begin],
        )


_DENIED = re.compile(r"n(?:o|ae) ")
_OTHERS_OF_THEM = re.compile(r"\b(?:all )?(?:the )?other %\d+")
"""Everybody else by the name of a wider class: "not the venture scouts, the other scouts can"."""


def _things_of(clause: _Clause, line: Line, known: Callable[[Mention], bool], *, waited_for: bool) -> list[int]:
    """The things of a clause that a rule can be about: those of which something is ruled, else usual equipment and what was spoken of.

    `waited_for`: a clause before it named a class and ruled nothing yet.
    """
    ruled = {
        act.mention
        for act in line.acts
        if act.kind in ("in", "out", "use", "there", "start", "finish") and not act.rule.startswith("weighed")
    }
    tokens = line.skeleton.sentence.tokens

    def fits(mention: Mention) -> bool:
        before = tokens[mention.first - 1].low if mention.first else ""
        place = before in ("at", "to", "by", "near", "in", "off", "from", "over")
        place = place or (mention.head in ("side", "way", "middle", "end") and not mention.plural and before in ("on", "the", "other"))
        if mention.head in PERSONS or (
            mention.first > 1 and (tokens[mention.first - 2].low, tokens[mention.first - 1].low) in (("instead", "of"), ("rather", "than"))
        ):
            return False
        return not place if mention.is_part else mention.head in APPARATUS or known(mention)

    placed = [
        k for k in clause.mentions if k - 1 in clause.mentions and _places(tokens[line.mentions[k - 1].last + 1 : line.mentions[k].first])
    ]
    usual = [k for k in clause.mentions if fits(line.mentions[k])]
    if placed and set(usual) <= set(placed):
        first = [k for k in clause.mentions if k not in placed and k + 1 in placed and line.mentions[k].head not in PERSONS]
        usual = first if first and clause.ruling is not None and (clause.classes or waited_for) else usual
    usual = [k for k in usual if k not in placed or k - 1 not in usual] or usual
    free = [k for k in clause.mentions if not line.mentions[k].first or tokens[line.mentions[k].first - 1].low not in PLACES]
    alone = len(free) == 1 and clause.ruling is not None
    alone = alone and (bool(clause.classes) or (waited_for and line.mentions[free[0]].determiner in _THE))
    alone = alone and line.mentions[free[0]].head not in PERSONS
    fronted = [line.mentions[k] for k in clause.mentions if TOPIC.fullmatch(clause.text)]
    topic = [k for k in clause.mentions if fronted and fronted[0].determiner in _THE and fronted[0].head not in PERSONS]
    return (
        usual
        or topic
        or [k for k in clause.mentions if k in ruled]
        or (free if alone else list(clause.mentions) if GIVES.search(clause.text) else [])
    )


def rules_of(line: Line, known: Callable[[Mention], bool]) -> list[Ruled]:
    """Every rule for a class, or for the rest, in the order said."""
    out: list[Ruled] = []
    waiting: list[Named] = []
    rest_waits = False
    thing: int | None = None
    only_they = False
    last: tuple[Named, ...] = ()
    ruled_before: Ruling | None = None
    clauses = list(_clauses(line))
    for at, clause in enumerate(clauses):
        things = _things_of(clause, line, known, waited_for=bool(waiting))
        ruling = None if clause.bare and clause.classes else clause.ruling
        if clause.classes and waiting and at + 1 < len(clauses) and _AGAIN_ONLY.fullmatch(clause.text):
            only_they = True  # "the recruits, and only the recruits, are permitted the handle"
            continue
        if WHY.match(clause.text) or AGREES.fullmatch(clause.text):
            continue
        if clause.classes and ruling is None and ruled_before and _excepted(clause.text[: clause.text.find("%")]):
            ruling = ruled_before
        if THINGS_ONLY.fullmatch(clause.text) and things:
            if (waiting or rest_waits) and ruling is None and not OF_LIMBS.search(clause.text):
                ruling = "in"
            elif EVERYBODY.search(clause.text):
                out += [Ruled(each, EVERYONE, "in") for each in things]
        if (
            clause.classes
            and clause.bare
            and at
            and clause.text.startswith("for ")
            and (given := _SHOWN_BEFORE.fullmatch(clauses[at - 1].text))
        ):
            thing = int(given[1])
            out += [Ruled(thing, one.key, "in", one.kind == "vague") for one in clause.classes]
            ruled_before, waiting = "in", [*clause.classes]
            continue
        if things and HELD.search(clause.text):
            things = []
        if not clause.classes and not clause.rest and not waiting and last and things and _THEY_MAY.match(clause.text):
            waiting = [*last]
        if not clause.classes and _BUT_IF.match(clause.text):
            waiting, rest_waits = [], False  # of whom that speaks nobody knows
        last = clause.classes or (() if clause.rest else last)
        if not things and OF_LIMBS.search(clause.text):
            waiting = [one for one in waiting if one.kind == "described" and ruling is None]
            rest_waits = False
            continue
        classes = clause.classes or tuple(waiting)
        if clause.classes and at and clauses[at - 1].bare and _GOES_ON.match(clause.text):
            classes = (*(one for one in waiting if one.key not in [each.key for each in clause.classes]), *clause.classes)
        if not things and MINDS.search(clause.text) and any(one.kind == "described" for one in classes):
            ruling = None
        if ruling is None and things and classes and not clause.rest and SHOWN.search(clause.text) and not OF_LIMBS.search(clause.text):
            ruling, things = "in", [_meant(things, line)]
        rest = clause.rest or (rest_waits and not clause.classes)
        if things:
            thing = _meant(things, line)
        told_things: Sequence[int | None] = things if len(things) > 1 and len(clause.classes) < 2 else [thing]
        ends_list = _AND.fullmatch(clause.text) is not None and at + 1 < len(clauses) and clauses[at + 1].rest
        ends_list = ends_list and _LIKE.match(clauses[at + 1].text) is None
        if clause.classes and ruled_before == "in" and out and _NOT_THEY.fullmatch(clause.text):
            out += [replace(out[-1], who=one.key, vague=one.kind == "vague", ruling="out", alone=False) for one in clause.classes]
            continue
        if clause.classes and clause.bare and ruled_before and out and (ends_list or _AND_ALSO.match(clause.text)):
            out += [replace(out[-1], who=one.key, vague=one.kind == "vague") for one in clause.classes]
            continue
        if clause.classes and (clause.bare or ruling is None):
            if ruling is None and not clause.bare and (things or not SETS_OUT.match(clause.text)):
                continue
            if ruling is None and not clause.bare:
                waiting = [*clause.classes]
                continue
            waiting = [*waiting, *clause.classes] if all(one.bare or not one.text for one in clauses[:at]) else [*clause.classes]
            if not (clause.bare and ruled_before and at == len(clauses) - 1):
                rest_waits = False
                continue
        if ruling is None and clause.rest:
            rest_waits, waiting = True, []
            continue
        if ruling is not None and things and not classes and not rest and EVERYBODY.search(clause.text):
            out += [Ruled(each, EVERYONE, ruling) for each in things]
        if ruling is None or not (classes or rest):
            ruled_before = ruling or ruled_before
            continue
        if thing is None and not _points(clause) and not OF_ITSELF.search(clause.text):
            continue
        ruled_before = ruling
        waiting = [] if clause.classes or clause.rest else waiting
        text = clause.text
        for each in told_things:
            if rest and not clause.classes:
                if _as_the_class(each, ruling, out, line) and not _EITHER.search(clause.text):
                    out, ruling = _told_apart(out, each, clause, line)
                out.append(Ruled(each, REST, ruling, pointed=_points(clause)))
                continue
            for one in classes:
                before = clause.before + text[: text.find("%")] if clause.classes else clause.before
                both = any(told.who == one.key and told.mention == each and told.ruling != ruling for told in out)
                if both and ruling == "in" and not clause.classes and not clause.mentions and not _points(clause):
                    continue  # "you don't get the ledge, you just dangle"
                if both and ruling == "out" and one not in clause.classes and not EVERYBODY.search(clause.text):
                    continue  # nobody is told both in one breath: "they can use the twine, I don't suppose it matters"
                rule = replace(_one_rule(each, one, ruling, before, clause, out), pointed=_points(clause), outright=clause.outright)
                out.append(replace(rule, alone=rule.alone or only_they))
            if rest:
                out.append(Ruled(each, REST, "out" if ruling == "in" else "in", pointed=_points(clause)))
        rest_waits = False
    said = next((each.mention for each in out if each.mention is not None), None)
    out = [replace(each, mention=said) if each.mention is None and not each.pointed else each for each in out]
    if waiting and ruled_before is not None and clauses and clauses[-1].bare and clauses[-1].classes:
        last_for_class = out and out[-1].who not in (REST, EVERYONE) and _AND.fullmatch(clauses[-1].text)
        ruling = out[-1].ruling if last_for_class else ruled_before  # "out except for juniors and seniors"
        named = [one for clause in takewhile(lambda clause: clause.bare and clause.classes, reversed(clauses)) for one in clause.classes]
        out += [Ruled(thing, one.key, ruling, one.kind == "vague", also=True) for one in reversed(named)]
    excepted = {one.key for clause in _excepted_first(clauses) for one in clause.classes}
    return [replace(each, ruling="out" if each.ruling == "in" else "in") if each.who in excepted else each for each in out]


_SHOWN_BEFORE = re.compile(r"(?:and |so |then |but |now )*(?:there's|there is|there are|you've got|you have|we have|we've got) @(\d+),")
"""A thing that is shown and then given: "there is a net below, for the under-twelves"."""
_BUT_IF = re.compile(r"but if (?:you|ye|they)\b(?!.*\b(?:can't|cannot|need|want|wish|like)\b)")
_EITHER = re.compile(rf"{ALSO.pattern}|\b(?:n?either|both|nor)\b")


def _as_the_class(thing: int | None, ruling: Ruling, so_far: Sequence[Ruled], line: Line) -> bool:
    """Whether a thing was just ruled the same for a class as now for everybody else, which nobody would tell apart."""
    last = so_far[-1] if so_far else None
    return last is not None and last.who not in (REST, EVERYONE) and last.ruling == ruling and _alike(thing, last.mention, line)


def _alike(one: int | None, other: int | None, line: Line) -> bool:
    return one == other or (one is not None and other is not None and line.mentions[one].head == line.mentions[other].head)


def _told_apart(so_far: Sequence[Ruled], thing: int | None, rest: _Clause, line: Line) -> tuple[list[Ruled], Ruling]:
    """The rules so far and what everybody else may: one of both was misread where it is not told outright.

    "Juniors may use it, for the rest it's scenery"; "masters can put a hand on him, nobody else gets to".
    """
    if rest.ruling == "in":
        return [*so_far], "in" if rest.outright else "out"
    mine = [
        each.ruling == "out" and not each.outright and each.who not in (REST, EVERYONE) and _alike(thing, each.mention, line)
        for each in so_far
    ]
    return [replace(each, ruling="in") if flips else each for each, flips in zip(so_far, mine, strict=True)], "out"


_LIKE = re.compile(r"(?:just |exactly )?(?:like|same as|as)\b")
_AND = re.compile(r"and (?:the |our |any |anybody |anyone |those )*%\d+[,.]?")
_NOT_THEY = re.compile(r"(?:and |but |the |our |my )*%\d+,? not[,.!]?")
_AND_ALSO = re.compile(
    r"and (?:also|too|likewise)(?: for)? (?:the |our )?%|(?:and |or |so |the |our |any |all )*%\d+ (?:too|as well|likewise|also)[,.]?$"
)
_LEFT_TO = re.compile(r"(\bleaves? (?:the |that |those |my )?(?:\w+ )?@\d+) (?:to|for) (?:the |our )?%\d+")
"""Who else has what somebody has to leave alone."""
_THEY_MAY = re.compile(
    r"(?:and |so |but |then )*they(?: all| also)? (?:may|can|could|get|got|have|take|use|leave|(?:must|have to|need to) (?:leave|stay off|"
    r"keep off|do without)|(?:mustn't|must not|can't|cannot|may not|don't) (?:get|use|touch|take|have|hold|stand on))\b"
)
_AGAIN_ONLY = re.compile(r"(?:and |but )*(?:only|just) (?:the |our |for |my )*%\d+[,.]?")
_GOES_ON = re.compile(r"(?:and|or) (?:the |our |for |also |any |all |anybody |anyone |those )*%")
"""A clause that goes on with a list of classes: "cubs and beavers may"."""


def _meant(things: Sequence[int], line: Line) -> int:
    """Of several things of a clause the one that it is about: in "I hung a strap off the high rope" the strap."""
    tokens = line.skeleton.sentence.tokens
    placed = [k for k in things if line.mentions[k].first and tokens[line.mentions[k].first - 1].low in PLACES]
    placed += [k for k in things if k - 1 in things and _stands_on(tokens[line.mentions[k - 1].last + 1 : line.mentions[k].first])]
    return next((k for k in reversed(things) if k not in placed), things[-1])


def _places(between: Sequence[Token]) -> bool:
    """ "the strap round the post": whether the words between two things tell where the first one is."""
    told = [token.low for token in between if token.low not in ("the", "a", "that", "this", "my", "our")]
    return (len(told) == 1 and told[0] in ("round", "around", "beside", "alongside", "against")) or told == ["next", "to"]


def _stands_on(between: Sequence[Token]) -> bool:
    """ "the mats on the bunks": whether the words between two things tell where the first one is."""
    return [token.low for token in between] in (["on"], ["in"], ["at"], ["on", "top", "of"])


def _excepted(before: str) -> bool:
    """Whether what follows is taken out of what was just ruled."""
    return ALL_BUT.search(before) is not None or UNLESS.search(before) is not None


def _excepted_first(clauses: Sequence[_Clause]) -> list[_Clause]:
    """ "Except for juniors and seniors, the net is out.": the clauses that take classes out of what is ruled behind them."""
    if not clauses or not clauses[0].classes or clauses[0].mentions or not _excepted(clauses[0].text[: clauses[0].text.find("%")]):
        return []
    return [clauses[0], *takewhile(lambda clause: _AND.fullmatch(clause.text), clauses[1:])]


def _points(clause: _Clause) -> bool:
    return re.search(r"\b(?:it|them|those)\b", clause.text) is not None


def _one_rule(thing: int | None, one: Named, ruling: Ruling, before: str, clause: _Clause, so_far: Sequence[Ruled]) -> Ruled:
    """What a clause says of one class, with "unless", "all but" and "only" around it."""
    vague = one.kind == "vague"
    if all_but := ALL_BUT.search(before):
        return Ruled(thing, one.key, "in" if all_but["none"] or ruling == "out" else "out", vague)
    after = clause.text[clause.text.rfind("%") + 2 :] if clause.classes else ""
    if UNLESS.search(before) and not (re.match(r",? who\b", after) or YES.search(after)):
        governing = so_far[-1].ruling if so_far else "out" if NO.search(before) or ruling == "out" else "in"
        return Ruled(thing, one.key, "in" if governing == "out" else "out", vague)
    alone = ruling == "in" and EXCLUSIVE.search(clause.text) is not None
    alone = alone and not (one.kind == "described" and OF_ONE_THING.search(clause.text))
    return Ruled(thing, one.key, ruling, vague, alone, ALSO.search(clause.text) is not None)


def carried_key(line: Line, before: Line | None) -> str | None:
    """ "the small children, under ten. They may use it.": the class told in a breath of its own."""
    if before is None or not re.match(r"(?:so |and )*(?:they|these|those)\b", line.plain):
        return None
    return None if any(a.kind in ("in", "out", "use") for a in before.acts) else age_key(before.plain)


def only_classes(line: Line) -> tuple[Named, ...]:
    """ "Seniors too.": the classes of a line that does no more than name them."""
    clauses = [clause for clause in _clauses(line) if clause.text.strip(" .,")]
    return tuple(one for clause in clauses for one in clause.classes) if all(c.bare and c.classes for c in clauses) else ()


def plainly(line: Line) -> Ruling | None:
    """What a line says of a class that the one before named."""
    if any(a.kind == "out" for a in line.acts) or NO.search(NO_MATTER.sub("", line.plain)):
        return "out"
    return "in" if YES.search(line.plain) else None
