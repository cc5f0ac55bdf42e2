"""Rules said once that hold at every station, wherever in the walk they are said.

In: the lines outside stations, and those inside that speak of everywhere. Out: blanket rules.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from annotator.course import BlanketRule, Said
from annotator.rules.divided import RULE
from annotator.rules.gather import gather, union
from annotator.rules.lexicon import APPARATUS, PLATFORMS
from annotator.rules.likeness import same_head
from annotator.rules.reading import Line
from annotator.rules.referents import Gathered, in_order
from annotator.rules.sheet import _rule

EVERYWHERE = re.compile(
    r"\b(?:everywhere|every (?:single )?(?:station|obstacle)|all (?:the )?(?:stations|obstacles)|whole course|entire course|"
    r"(?:all the|the whole|whole) way (?:round|through)|wherever (?:you are|you go|it is|they are)|in every place|"
    r"from (?:start|first|one) to (?:finish|last|nine|ten)|all over (?:the course|the place)|all day|any (?:station|obstacle)"
    r"|wherever you see|"
    r"(?:any|every)where on (?:the|this) course|anywhere (?:at all|along the course)|(?:for|on|over) the (?:whole|entire) course|"
    r"each (?:station|obstacle)|throughout the (?:course|day|hall|walk)|(?:bounds|play|out) throughout|at all times|the same for all|"
    r"across the course|on every|(?:or|not|nor) anywhere(?! (?:near|on|you))|any \w+,? anywhere|"
    r"(?:on|in) (?:no|any|every) part of (?:the|this|our) course|(?:from the )?beginning to (?:the )?end of the course|"
    r"(?:the|this|our) whole (?:round|day)|(?:right|all) (?:round|around) the (?:course|place|hall|field|lake|park|garden|building|"
    r"gym|site)|"
    r"all the (?:later|other) (?:ones|stations|obstacles)|(?:any|every \w+|each \w+) (?:that )?you (?:come (?:across|to)|meet|find|"
    r"see|pass)|"
    r"not here,? (?:and )?not|here or (?:anywhere|behind|by|everywhere)|(?:all|every one) of the (?:stations|obstacles)|"
    r"(?:all|every|each|any|no|not|never) (?:[\w']+ ){0,8}(?:in|on) (?:this|our) (?:hall|farm|field|park|site|venue|gym|barn|place))\b"
)
_SAID = (
    r"(?:named?|mention(?:ed)?|say|said|call(?:ed)?|tell|told|list(?:ed)?|point(?:ed)? (?:it )?out|cover(?:ed)?|talk(?:ed)? "
    r"about|heard?|describe[d]?|show(?:n|ed)?|brief(?:ed)?|specified|hear|given)"
)
_NOT = r"(?:not|n't|never|don't|didn't|haven't|hasn't|without|unless)"
_UNNAMED = re.compile(
    r"(?:\bnot|n't)(?: \w+){0,4} (?:hear|heard|get|come|came)(?: \w+){0,3} (?:from me|of my mouth|from us)\b|"
    rf"(?:\b(?:{_NOT})\b|n't)(?: \w+){{0,6}}? (?:been )?{_SAID}\b|\bunless (?:i|we|somebody)\b|\bunnamed\b|\bnot on (?:the|"
    rf"my) list\b|\b(?:everything|anything) else\b|\bonly what (?:i|we)\b"
)
_FORBIDDEN = re.compile(
    r"\b(?:out\b|off limits|not (?:allowed|touch|in play)|can't touch|cannot touch|can not touch|a no\b|not yours|hands off|"
    r"(?:may|must|can|is|are)(?: not|n't) (?:to )?be (?:touched|used)|out of (?:play|bounds)|leave it|"
    r"don't touch|forbidden|doesn't exist|does not exist|leave it alone|no good|lava|pretend|isn't there|is not there|poison|hot|"
    r"(?:haven't|have not) got(?: it)?|don't have it|not on the map|don't go there)\b"
)
_SKIP = re.compile(
    r"\b(?:skip\w*|miss(?:ed|ing|es)?(?: out)?|leav(?:e|es|ing) (?:\w+ ){0,3}out|leave|(?:jump|hop|fly|step)(?:ing|ped|s)? (?:over|past)|"
    r"pass(?:ed|ing)? by|bypass\w*|left out|go(?:ing|es)? past|cut out|avoid)\b"
)
_TOUCHED = (
    r"(?:touch(?:ed)?|visit(?:ed)?|hit|step(?:ped)? on|land(?:ed)? on|use[d]?|st[ao](?:nd|od) on|tag(?:ged)?|tr(?:ead|odden|od) on|"
    r"sit(?: down)? on|"
    r"(?:a |one |your )?(?:boot|foot|shoe|hand|toe)s? (?:on|in|upon))"
)
_MUST = re.compile(
    rf"\b(?:must|have to|got to|gotta|needs? to|has to|do have to|is to|are to)\b.*\b{_TOUCHED}\b|\b{_TOUCHED}\b.*\b(?:every|each|all)\b"
)
_WILL = re.compile(rf"\b(?:gets?|wants?|will|you'll|shall)\b.*\b{_TOUCHED}\b")
"""What is to be done, where the sentence says that it is so at every place."""
_REPORTED = re.compile(
    r"\b(?:them|they|some|people|others|somebody|elsewhere|meets where \w+) (?:all )?(?:say|says|said|tell|think|believe)\b|"
    r"\bsome (?:halls|places|meets)\b"
)
"""What others say elsewhere, told to say that it does not hold here."""


RIGHT = {"unnamed-out": 7 / 8, "no-skip": 3 / 5, "surface": 11 / 20}
"""Share of such rules that a listener wrote down too: nine walks met for the first time, one right and one wrong added to each count."""


_REFERS = re.compile(
    r"\bi mean (?:that|it|this)\b|\b(?:that|this|it|same|which) (?:goes|holds|counts|applies|is true|is so|is meant)\b|"
    r"\b(?:that's|it's|and|is) (?:true|so|the same|for)\b|^(?:and )?(?:the )?same\b"
)


def everywhere(lines: Sequence[Line]) -> frozenset[int]:
    """The lines that speak of the whole course: by their own words, or by the line after that takes them up ("I mean that for ...")."""
    said = {line.index for line in lines if EVERYWHERE.search(line.plain)}
    taken_up = {
        line.index
        for line, after in pairwise(lines)
        if after.index in said and not any(a.kind in ("in", "out") for a in after.acts) and _REFERS.search(after.plain) and _rules_any(line)
    }
    return frozenset(said | taken_up)


def _rules_any(line: Line) -> bool:
    return _skipped(line) is not None or any(a.kind in ("in", "out") and a.weight >= 0.8 for a in line.acts)


def find_blanket(lines: Sequence[Line], everything: Sequence[Line]) -> tuple[BlanketRule, ...]:
    """The blanket rules that `lines` state, in the order said, each once; "unnamed is out" counts wherever in `everything` it stands."""
    rules: list[BlanketRule] = []
    used: set[int] = set()
    echoes: set[int] = set()
    for k, line in enumerate(everything):
        after = everything[k + 1].plain if k + 1 < len(everything) else ""
        if _says_unnamed_out(line.plain, after):
            used.add(line.index)
            echoes |= {line.index + k for k in range(1, 4)}  # "... I don't say it. It is out."
            _add(rules, BlanketRule(rule="unnamed-out", said=(line.said,), confidence=RIGHT["unnamed-out"]))
    for line in lines:
        skipped = _skipped(line)
        if skipped:
            used.add(line.index)
            _add(rules, BlanketRule(rule="no-skip", surface=skipped, said=(line.said,), confidence=RIGHT["no-skip"]))
    told = [line for line in lines if (line.index not in used or _also_rules(line)) and not (line.index in echoes and not line.mentions)]
    for rule in _surface_rules(gather(told), [r.surface for r in rules if r.rule == "no-skip" and r.surface]):
        _add(rules, rule)
    return tuple(sorted(rules, key=lambda r: r.said[0].start if r.said else 0.0))


def _says_unnamed_out(text: str, after: str) -> bool:
    match = _UNNAMED.search(text)
    if not match or _REPORTED.search(text):
        return False
    if re.search(r"\b(?:i|me|we|us|anything|what(?:ever)?|everything|it|something|mention\w*|unless|unnamed)\b", text) is None:
        return False
    return bool(_FORBIDDEN.search(text)) or (len(text.split()) < 12 and bool(_FORBIDDEN.search(after)))


def _skipped(line: Line) -> str | None:
    text = line.plain
    text = re.sub(r"\b(?:i'll|i will|we'll|let me|i|we) (?:just )?(?:leave|skip|miss|avoid) (?:that|it|this|those)\b", " ", text)
    barred = bool(_SKIP.search(text)) and bool(
        re.search(r"\b(?:can't|cannot|can not|may not|don't|do not|never|no|not|nobody|must not|mustn't|none)\b|n't\b", text)
    )
    must = bool(
        (_MUST.search(text) or (_WILL.search(text) and EVERYWHERE.search(text)))
        and re.search(r"\b(?:every|each|all)\b", text)
        and not re.search(r"(?:n't|not|never)(?: ever| even)? touch", text)
    )
    if must and not barred:
        told = any(m.determiner in ("every", "each", "all") for m in line.mentions)
        must = told or bool(re.search(r"\b(?:every|each) (?:single )?one\b|\ball of (?:them|those)\b", text))
    if not (barred or must):
        return None
    things = [
        m for m in line.mentions if m.head in APPARATUS or m.determiner in ("every", "each", "no") or m.head.endswith(("and", "form"))
    ]
    if not things:
        return None
    thing = next((m for m in things if m.determiner in ("every", "each", "no", "a", "any")), things[0])
    return thing.name


def _also_rules(line: Line) -> bool:
    return (
        any(a.kind in ("in", "out") and a.weight >= 0.9 for a in line.acts)
        and not _SKIP.search(line.plain)
        and not _UNNAMED.search(line.plain)
    )


def _surface_rules(gathered: Gathered, no_skip: Sequence[str]) -> list[BlanketRule]:
    rules = []
    for entry in in_order(gathered.register.entries):
        firm = [
            e
            for e in entry.evidence
            if e.kind in ("in", "out")
            and e.weight >= 0.7
            and (e.rule != RULE or EVERYWHERE.search(e.said.text.lower()))
            and not any(same_head(entry.mention.head, _head(name)) for name in no_skip)
        ]
        if not firm or entry.dropped:
            continue
        ruling, _, why = _rule(entry)
        if ruling is None:
            continue
        said: tuple[Said, ...] = tuple(dict.fromkeys(e.said for e in why))[:3]
        contact = union(entry.limbs) if ruling == "in" else None
        if ruling == "in" and contact is None and not entry.part:
            near = [x for x, evidence in gathered.loose_limbs if evidence in said]
            contact = union(near)
        rules.append(
            BlanketRule(
                rule="surface",
                surface=entry.name,
                part=entry.part,
                ruling=ruling,
                contact=contact,
                divisions=dict(entry.divisions) or None,
                said=said,
                confidence=RIGHT["surface"],
            )
        )
    return rules


def _add(rules: list[BlanketRule], rule: BlanketRule) -> None:
    """Put a rule to those told before; said again it is one rule, and said otherwise the last one holds."""
    for k, old in enumerate(rules):
        heads = [_head(each) for each in (old.surface, rule.surface) if each]
        alike = old.surface == rule.surface or (len(heads) == 2 and (same_head(*heads) or PLATFORMS.issuperset(heads)))
        if old.rule == rule.rule == "no-skip" and alike:
            rules[k] = old.model_copy(update={"said": (*old.said, *rule.said)[:4]})
            return
        if (old.rule, old.surface, old.part) == (rule.rule, rule.surface, rule.part):
            told = old if old.ruling == rule.ruling else rule
            rules[k] = told.model_copy(update={"said": (*old.said, *rule.said)[:4]})
            return
    rules.append(rule)


def _head(name: str) -> str:
    last = name.split()[-1]
    return last.removesuffix("s") if not last.endswith("ss") else last
