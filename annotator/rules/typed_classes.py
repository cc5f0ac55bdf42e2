"""What a sentence that somebody typed for every station says for classes of athletes: read so, or not at all.

In: the sentence as read, and the rules that were found in it as if it held for everybody. Out: the rules with their classes. What is told
for one class is never put down for all.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace

from annotator.course import BlanketRule
from annotator.rules.blanket import SKIP, head_of
from annotator.rules.called import named_at
from annotator.rules.classes import EVERYONE, REST, Ruled, names_the_rest, people, rules_of
from annotator.rules.freely import limbs_told
from annotator.rules.groups import EVERYDAY, named_in
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.reading import Line

_GOES_ON = re.compile(r"(?:at every station,? )?(?:and |but |so )*(?:they|them|these|those|if not|otherwise)\b")
"""How a sentence begins that speaks of the class before it, or of who is not of it."""
_BETWEEN = frozenset({",", "and", "or", "nor", "the", "a", "an", "any", "all", "both"})
"""Words between two things of one list."""


def names_classes(line: Line, divisions: Collection[str]) -> bool:
    """Whether a sentence names a class of athletes; "adults" only where the course has that division (casefolded): else everybody."""
    return bool(_classes(line, divisions))


def as_for_classes(
    line: Line, rules: Sequence[BlanketRule], before: Sequence[BlanketRule] | None, divisions: Collection[str]
) -> list[BlanketRule] | None:
    """The rules of a sentence with what it says for classes, None where what it says for one is not understood.

    What is only told for a class is the other way round for everybody else, as at a station. Limbs are the same for all classes.

    Parameters
    ----------
    line
        The sentence.
    rules
        What was found in it as if it held for everybody.
    before
        What the sentence before it came to if that named a class; what this says of the same class, or of the rest, then belongs to it.
    divisions
        The classes of the course, casefolded.
    """
    classes = _classes(line, divisions)
    if {key for *_, key in named_at(line)} - classes or _names_unread(line, classes, divisions):
        return None  # adults, and nobody knows whether that is everybody; or a division of the course that is read as everybody
    if not classes and before is not None and (_GOES_ON.match(line.plain) or names_the_rest(line)):
        told = {rule.ruling for rule in rules} | {each.ruling for each in rules_of(line, lambda _: True)}
        return [] if before and names_the_rest(line) and told <= {rule.ruling for rule in before} else None
    if not classes:
        return [*rules]
    told_here = _with_listed([each for each in rules_of(line, lambda _: True) if each.mention is not None], line)
    other = any(rule.rule != "surface" for rule in rules) or SKIP.search(line.plain)
    limbs = limbs_told(line) and any(each.ruling == "in" and each.who in classes for each in told_here)
    if other or limbs or classes - {each.who for each in told_here}:
        return None
    things: list[int] = []
    for each in told_here:
        if each.mention is not None and not any(_same(each.mention, k, line) for k in things):
            things.append(each.mention)
    persons = {line.mentions[k].name for k in people(line)}
    for_all = [
        rule for rule in rules if rule.surface not in persons and not any(_about(rule, k, things, line) for k in range(len(line.mentions)))
    ]
    return [*for_all, *(_divided(line, k, told_here, rules) for k in sorted(things))]


def _classes(line: Line, divisions: Collection[str]) -> set[str]:
    known = keys_of(divisions)
    return {key for *_, key in named_at(line) if key not in EVERYDAY or key in known}


def keys_of(divisions: Collection[str]) -> dict[str, str]:
    """The course's divisions by the keys under which speech names them, and by their own small letters: "under-twelves" of "Under 12s"."""
    return {key: division for division in divisions for key in (*(one.key for one in named_in(division)), division.casefold())}


def _names_unread(line: Line, classes: Collection[str], divisions: Collection[str]) -> bool:
    """Whether a division of the course stands in the sentence by its own name, and is read neither as a class nor as of a thing's name."""
    known = keys_of(divisions)
    read = {known.get(key, key) for key in classes}
    things = " | ".join(
        mention.name.casefold() for k, mention in enumerate(line.mentions) if k not in people(line) and len(mention.words) > 1
    )
    text = line.said.text.casefold()
    named = {division: re.sub(r"^\W+|\W+$", "", division.casefold()) for division in divisions if division not in read}
    return any(
        len(name) > 1 and name not in things and re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text) is not None for name in named.values()
    )


def _same(one: int, other: int, line: Line) -> bool:
    return one == other or same_thing(line.mentions[one], line.mentions[other])


def _about(rule: BlanketRule, k: int, things: Sequence[int], line: Line) -> bool:
    """Whether a rule is about the `k`-th phrase, and that is one of these things."""
    return rule.surface == line.mentions[k].name and any(_same(k, thing, line) for thing in things)


def _with_listed(told: Sequence[Ruled], line: Line) -> list[Ruled]:
    """The rules of a sentence, those for a thing also for what is listed beside it: "the handrail and the step are out for seniors"."""
    out, tokens, last = [*told], line.skeleton.sentence.tokens, len(line.mentions) - 1
    for k, beside in [*((k, k + 1) for k in reversed(range(last))), *((k + 1, k) for k in range(last))]:
        first, second = sorted((k, beside))
        between = {token.low for token in tokens[line.mentions[first].last + 1 : line.mentions[second].first]}
        listed = between & {"and", "or", "nor", ","} and between <= _BETWEEN and k not in people(line)
        if listed and all(each.mention != k for each in out):
            out += [replace(each, mention=k) for each in out if each.mention == beside]
    return out


def _divided(line: Line, k: int, told: Sequence[Ruled], rules: Sequence[BlanketRule]) -> BlanketRule:
    """The rule for a thing, by its index among the phrases of the sentence."""
    thing = line.mentions[k]
    alike = [rule for rule in rules if rule.surface == thing.name]
    alike += [rule for rule in rules if rule.surface and len(rules) == 1 and same_head(head_of(rule.surface), thing.head)]
    plain = BlanketRule(rule="surface", surface=thing.name, part=thing.part, ruling="in", said=(line.said,))
    for_all = next(iter(alike), plain)
    mine = {each.who: each.ruling for each in told if each.mention is not None and _same(each.mention, k, line)}
    classes = {who: ruling for who, ruling in mine.items() if who not in (REST, EVERYONE)}
    rest = mine.get(REST) or mine.get(EVERYONE)
    if rest is None and alike and (for_all.divisions or for_all.ruling not in classes.values()):
        rest = for_all.ruling
    if rest is None:
        rest = "out" if "in" in classes.values() else "in"
    apart = {who: ruling for who, ruling in classes.items() if ruling != rest}
    contact = (limbs_told(line) or for_all.contact) if rest == "in" else None
    return for_all.model_copy(update={"ruling": rest, "contact": contact, "divisions": apart or None})
