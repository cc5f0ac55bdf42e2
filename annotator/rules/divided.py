"""Things that are ruled otherwise for an age or skill class: what a line puts to them, and what it all comes to.

In: a station's register and what classes.py reads in a line. Out: entries with their ruling for everybody and the classes that differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.course import Ruling
from annotator.rules.classes import EVERYONE, REST, Ruled, only_classes, plainly, rules_of
from annotator.rules.described import leaves_over
from annotator.rules.groups import EVERYDAY, named_in, opposite
from annotator.rules.lexicon import APPARATUS
from annotator.rules.likeness import same_head
from annotator.rules.phrases import Mention
from annotator.rules.pronouns import one_of
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, ForWhom, Register

RULE = "ruling for a class"
"""The rule by which an entry's evidence says that classes differ."""


def take_divisions(register: Register, line: Line, key: str | None) -> list[Entry]:
    """The things of a line that are ruled for a class or for the rest, each with that put to it.

    `key`: the class that the line or the one before names; None where it speaks of the rest alone.
    """
    rules = rules_of(line, lambda m: any(same_head(e.mention.head, m.head) and e.evidence for e in register.entries))
    if not rules and key is not None and key not in [one.key for one in named_in(line.plain)] and (ruling := plainly(line)) is not None:
        rules = [Ruled(next(iter(range(len(line.mentions))), None), key, ruling)]
    if not rules and register.focus is not None and register.focus.for_whom and (more := only_classes(line)):
        rules = [Ruled(None, one.key, register.focus.for_whom[-1].ruling, one.kind == "vague", also=True) for one in more]
    touched: list[Entry] = []
    focus = register.focus
    if all(rule.who == EVERYONE for rule in rules) and not any(entry.for_whom for entry in register.entries):
        return []
    rules = _without_opposites(rules, [told.who for entry in register.entries for told in entry.for_whom])
    others = {rule.who for rule in rules} | {told.who for entry in register.entries for told in entry.for_whom}
    if others - EVERYDAY - {REST, EVERYONE}:
        rules = [replace(rule, who=REST, alone=False) if rule.who in EVERYDAY else rule for rule in rules]
    for rule in rules:
        entry = _entry_of(register, line, rule, focus)
        if entry is None or (rule.mention is None and not rule.pointed and _is_end(entry)):
            continue  # a start or finish is not what is meant by nothing: "children, don't you dare"
        if (rule.who == REST and not _divided_near(register, entry)) or (rule.who == EVERYONE and not entry.for_whom):
            continue
        if rule.who == EVERYONE:
            rule = replace(rule, who=REST)
        rival = rule.who == REST and rule.ruling == "in" and not entry.for_whom
        entry.for_whom.append(ForWhom(rule.who, rule.ruling, rule.vague, rule.alone, rule.also, line.index))
        if rival:
            for other in register.entries:
                entry.for_whom += [
                    ForWhom(told.who, "out", told.vague, False, False, line.index)
                    for told in other.for_whom
                    if other is not entry and told.who != REST and told.ruling == "in" and line.index - told.line <= 2
                ]
        if entry not in touched:
            touched.append(entry)
        entry.evidence.append(Evidence("out", 0.9, line.index, line.said, RULE, True))
        settle(entry)
    if touched:
        register.focus = touched[-1]
    return touched


def _without_opposites(rules: Sequence[Ruled], told: Sequence[str]) -> list[Ruled]:
    """The rules, those for everybody whom an earlier description leaves over ("if you haven't a stick") told of the rest."""
    known, out = [who for who in told if who not in (REST, EVERYONE)], []
    for rule in rules:
        if any(leaves_over(rule.who, other) for other in known):
            out.append(replace(rule, who=REST, alone=False))
            continue
        if rule.who.startswith("not ") and not rule.who.startswith("not yet"):
            continue  # what somebody is not describes nobody by itself
        out.append(rule)
        known += [rule.who] if rule.who not in (REST, EVERYONE) else []
    return out


def _is_end(entry: Entry) -> bool:
    """Whether a thing is told as a start or a finish."""
    return any(each.kind in ("start", "finish") for each in entry.evidence)


def _divided_near(register: Register, entry: Entry) -> bool:
    """Whether "everybody else" has a class to be beside: at this thing, or at another just before."""
    return bool(entry.for_whom) or any(e.for_whom for e in register.entries)


def _entry_of(register: Register, line: Line, rule: Ruled, focus: Entry | None) -> Entry | None:
    if rule.mention is None:
        known = [e for e in register.entries if not e.dropped and (e.evidence or e.for_whom)]
        shown = [e for e in known if any(x.kind == "there" and line.index - x.line == 1 for x in e.evidence)]
        if len(shown) == 1 and not any(e.for_whom for e in known):
            return shown[0]
        if focus is not None and (focus.evidence or focus.for_whom or not known):
            part = [e for e in known if e.part and e.mention == focus.mention and e.line == line.index - 1]
            return part[-1] if part and rule.mention is None else focus
        return max(known, key=lambda e: max([x.line for x in e.evidence] or [e.line]), default=focus)
    mention: Mention = one_of(register, line.mentions[rule.mention], line.mentions[: rule.mention])
    if mention.is_part:
        named_so = next((e for e in reversed(register.entries) if e.part == mention.name), None)
        whole = next((m for m in line.mentions if not m.is_part and m.last < mention.first and m.head in APPARATUS), None)
        if named_so is None and whole is not None:
            return register.entry(replace(whole, part=None), line.index, part=mention.name)
        return named_so or register.part_of_focus(mention, line.index)
    if not mention.part:
        # "the side handles" after "the board's side handles"
        named_part = next((e for e in reversed(register.entries) if e.part and not e.dropped and _same_part(e.part, mention)), None)
        if named_part is not None and register.whole(mention) is None:
            return named_part
    elif _only_where(mention, line):
        mention = replace(mention, part=None)
    return register.entry(mention, line.index, which=rule.who != EVERYONE)


def _same_part(part: str, mention: Mention) -> bool:
    told, said = part.split(), mention.name.split()
    return same_head(told[-1], said[-1]) and (set(said[:-1]) <= set(told[:-1]) or set(told[:-1]) <= set(said[:-1]))


def _only_where(mention: Mention, line: Line) -> bool:
    """ "the rope on the side", "the catwalk up top": a part that only tells where the thing is."""
    tokens = [token.low for token in line.skeleton.sentence.tokens]
    said = tokens[mention.first : mention.last + 3]
    return mention.part in ("side", "corner", "top") and any(
        said[k - 2 : k] in (["on", "the"], ["at", "the"]) or said[k - 1 : k] == ["up"]
        for k in range(1, len(said))
        if said[k] == mention.part
    )


def settle(entry: Entry) -> None:
    """What all that was told of a thing for this and that class comes to: its ruling for everybody, and the classes that differ."""
    told: dict[str, Ruling] = {each.who: each.ruling for each in entry.for_whom if each.who != REST}
    told = {who: ruling for who, ruling in told.items() if not any(who.startswith(f"{other} ") for other in told)}  # "primary children"
    sure = {each.who: each.ruling for each in entry.for_whom if each.who != REST and not each.vague}
    if sure and any(ruling in sure.values() for ruling in told.values()):
        told = {who: ruling for who, ruling in told.items() if who in sure or ruling not in sure.values()}
    rest = next((each.ruling for each in reversed(entry.for_whom) if each.who == REST), None)
    if rest is None and len(told) > 1:
        rest = next((told[who] for who in told if _everyday(who, told)), None)
    told = {who: ruling for who, ruling in told.items() if not (len(told) > 1 and _everyday(who, told))} if rest is not None else told
    ins = [who for who, ruling in told.items() if ruling == "in"]
    if rest is None and (any(each.alone for each in entry.for_whom)):
        rest = "out"
    if rest is None:
        general = next((e.kind for e in reversed(entry.evidence) if e.kind in ("in", "out") and e.weight >= 0.8 and e.rule != RULE), None)
        stays = general == "in" and all(each.also for each in entry.for_whom)
        rest = "in" if stays or not ins else "out"
    entry.main_ruling = rest
    entry.divisions = {who: ruling for who, ruling in told.items() if ruling != rest}
    if not entry.divisions and not any(each.who == REST for each in entry.for_whom):
        entry.main_ruling = None
    entry.evidence[:] = [replace(e, kind=rest) if e.rule == RULE else e for e in entry.evidence]


def _everyday(who: str, told: dict[str, Ruling]) -> bool:
    """Whether a class is everybody that the others leave over."""
    return who in EVERYDAY or any(opposite(who, other) and other.startswith("under") | other.endswith("under") for other in told)
