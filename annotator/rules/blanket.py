"""Rules said once that hold at every station, wherever in the walk they are said.

In: the lines outside stations, and those inside that speak of everywhere. Out: blanket rules.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.course import BlanketRule, Said
from annotator.rules.gather import gather, union
from annotator.rules.lexicon import APPARATUS
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
    r"each (?:station|obstacle)|throughout the course|at all times|the same for all|across the course|on every)\b"
)
_SAID = (
    r"(?:named?|mention(?:ed)?|say|said|call(?:ed)?|tell|told|list(?:ed)?|point(?:ed)? (?:it )?out|cover(?:ed)?|talk(?:ed)? "
    r"about|heard?|describe[d]?|show(?:n|ed)?|brief(?:ed)?|specified|hear)"
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
    r"don't touch|forbidden|doesn't exist|does not exist|leave it alone|no good|lava|pretend|isn't there|is not there|poison|hot)"
)
_SKIP = re.compile(
    r"\b(?:skip\w*|miss(?:ing)? out|miss|leav(?:e|ing) out|leave|jump(?:ing)? over|step(?:ping)? over|pass(?:ing)? by|"
    r"bypass\w*|left out|be missed|hop(?:ping)? past|go(?:ing)? past|cut out|avoid)\b"
)
_MUST = re.compile(
    r"\b(?:must|have to|got to|gotta|need to|has to|do have to)\b.*\b(?:touch|visit|hit|step on|land on|use|stand on|tag|"
    r"touch down)\b|\b(?:touch|visit|hit|tag)\b.*\b(?:every|each|all)\b"
)


RIGHT = {"unnamed-out": 7 / 8, "no-skip": 3 / 5, "surface": 11 / 20}
"""Share of such rules that a listener wrote down too: nine walks met for the first time, one right and one wrong added to each count."""


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
    for rule in _surface_rules(gather(told), next((r.surface for r in rules if r.rule == "no-skip"), None)):
        _add(rules, rule)
    return tuple(sorted(rules, key=lambda r: r.said[0].start if r.said else 0.0))


def _says_unnamed_out(text: str, after: str) -> bool:
    match = _UNNAMED.search(text)
    if not match:
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
        _MUST.search(text)
        and re.search(r"\b(?:every|each|all)\b", text)
        and not re.search(r"(?:n't|not|never)(?: ever| even)? touch", text)
    )
    if must and not barred:
        told = any(m.determiner in ("every", "each", "all") for m in line.mentions)
        must = told or bool(re.search(r"\b(?:every|each) (?:single )?one\b|\ball of (?:them|those)\b", text))
    if not (barred or must):
        return None
    things = [m for m in line.mentions if m.head in APPARATUS or m.determiner in ("every", "each") or m.head.endswith(("and", "form"))]
    if not things:
        return None
    thing = next((m for m in things if m.determiner in ("every", "each", "a", "any")), things[0])
    return thing.name


def _also_rules(line: Line) -> bool:
    return (
        any(a.kind in ("in", "out") and a.weight >= 0.9 for a in line.acts)
        and not _SKIP.search(line.plain)
        and not _UNNAMED.search(line.plain)
    )


def _surface_rules(gathered: Gathered, no_skip: str | None) -> list[BlanketRule]:
    rules = []
    for entry in in_order(gathered.register.entries):
        firm = [
            e
            for e in entry.evidence
            if e.kind in ("in", "out") and e.weight >= 0.7 and not (no_skip and same_head(entry.mention.head, no_skip.split()[-1]))
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
    for k, old in enumerate(rules):
        if (old.rule, old.surface, old.part) == (rule.rule, rule.surface, rule.part):
            rules[k] = old.model_copy(update={"said": (*old.said, *rule.said)[:4]})
            return
        if old.rule == rule.rule == "no-skip":
            return
    rules.append(rule)
