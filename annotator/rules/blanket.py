"""Rules said once that hold at every station, wherever in the walk they are said.

In: the lines outside stations, and those inside that speak of everywhere. Out: blanket rules.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from annotator.course import BlanketRule, Said
from annotator.rules.announced import lists_what_comes, not_here
from annotator.rules.contradicted import told_of_front
from annotator.rules.divided import RULE
from annotator.rules.freely import Freely, freely, limbs_told, marked
from annotator.rules.gather import gather, union
from annotator.rules.lexicon import APPARATUS, PLATFORMS
from annotator.rules.likeness import same_head
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.referents import Gathered, in_order
from annotator.rules.runformat import tells_of_falls
from annotator.rules.scope import whole_course
from annotator.rules.sheet import _rule
from annotator.rules.unnamed import says_unnamed_out

SKIP = re.compile(
    r"\b(?:skip\w*|miss(?:ed|ing|es)?(?: out)?|leav(?:e|es|ing) (?:\w+ ){0,3}out|leave|(?:jump|hop|fly|step)(?:ing|ped|s)? (?:over|past)|"
    r"pass(?:ed|ing)? by|bypass\w*|left out|go(?:ing|es)? past|cut out|avoid)\b"
)
"""Something is left out or passed by."""
_SKIPPED_FAILS = re.compile(
    r"\b(?:skipp?(?:ed|ing|s)?|miss(?:ed|ing)|leaving (?:\w+ ){1,3}out)\b[^.]*\b(?:is|are|means|counts as) (?:an? |your )?"
    r"(?:fail\w*|fouls?|faults?|out|over|forbidden|banned|penalt\w+|penalised|disqualif\w+)\b|"
    r"^(?:if you )?(?:skip|miss) (?:a|an|any|one|the) [^.]*(?:,| and) (?:you(?:'re| are| fail)|it's|that's)\b"
)
"""What it costs to leave something out: "skipping a bar is a fail"."""
_SKIPPING = re.compile(r"^(?:skipping|missing|leaving|bypassing|avoiding) (?=\w)")
"""What is not to be done, read as a word of the thing: "skipping platforms is not allowed"."""
_TOUCHED = (
    r"(?:touch(?:ed)?|visit(?:ed)?|hit|step(?:ped)? on|land(?:ed)? on|use[d]?|st[ao](?:nd|od) on|tag(?:ged)?|tr(?:ead|odden|od) on|"
    r"sit(?: down)? on|"
    r"(?:a |one |your )?(?:boot|foot|shoe|hand|toe)s? (?:on|in|upon))"
)
_MUST = re.compile(
    rf"\b(?:must|have to|got to|gotta|needs? to|has to|do have to|is to|are to)\b.*\b{_TOUCHED}\b|\b{_TOUCHED}\b.*\b(?:every|each|all)\b"
)
_LEFT_BE = re.compile(r"\bleav\w+ (?:[\w']+ ){1,3}?(?:be|alone)\b")
_EACH_DONE = re.compile(
    rf"\b(?:each|every)(?: one| \w+)?\b[^.]*?\byou (?:put|{_TOUCHED})|\b(?:put|set) (?:\w+ ){{1,3}}on (?:each|every)\b|"
    rf"\bare (?:all )?to be {_TOUCHED}\b"
)
_WILL = re.compile(rf"\b(?:gets?|wants?|will|you'll|shall)\b.*\b{_TOUCHED}\b")
"""What is to be done, where the sentence says that it is so at every place."""
OF_ALL = frozenset({"all", "any", "every", "each", "no"})
SURE = 0.9  # weight of a ruling that takes another one back
GUESSED = 0.8  # weight up to which a pattern of ruling may be of something else ("nobody puts a finger on it")
RIGHT = {"unnamed-out": 7 / 8, "no-skip": 3 / 5, "surface": 11 / 20}
"""Share of such rules that a listener wrote down too: nine walks met for the first time, one right and one wrong added to each count."""


def find_blanket(lines: Sequence[Line], everything: Sequence[Line], surely: frozenset[int] | None = None) -> tuple[BlanketRule, ...]:
    """The blanket rules that `lines` state, in the order said, each once; "unnamed is out" counts wherever in `everything` it stands.

    `surely`: the lines that are of no station, so that the things they rule are ruled for all; None where all are.
    """
    rules: list[BlanketRule] = []
    used: set[int] = set()
    echoes: set[int] = set()
    for k, line in enumerate(everything):
        after = everything[k + 1].plain if k + 1 < len(everything) else ""
        if says_unnamed_out(line.plain, after):
            used.add(line.index)
            echoes |= {line.index + k for k in range(1, 4)}  # "... I don't say it. It is out."
            _add(rules, BlanketRule(rule="unnamed-out", said=(line.said,), confidence=RIGHT["unnamed-out"]))
    for line in lines:
        skipped = _skipped(line)
        if skipped:
            used.add(line.index)
            _add(rules, BlanketRule(rule="no-skip", surface=skipped, said=(line.said,), confidence=RIGHT["no-skip"]))
    told = [line for line in lines if surely is None or line.index in surely or any(m.determiner in OF_ALL for m in line.mentions)]
    told = [line for line in told if not tells_of_falls(line.plain)]
    told = [line for line in told if (line.index not in used or _also_rules(line)) and not (line.index in echoes and not line.mentions)]
    skipped_names = [r.surface for r in rules if r.rule == "no-skip" and r.surface]
    plain = _surface_rules(gather([_without_guesses(line) for line in told]), skipped_names, {line.index: line for line in told})
    surfaces = _with_free(plain, told, everything, skipped_names)
    for rule in surfaces:
        _add(rules, rule)
    of_them = {line.index for line in told}
    taken_back = [line for line in everything if line.index not in of_them and _SCRATCHED.search(line.plain)]
    rules = [_as_corrected(rule, taken_back) for rule in rules]
    return tuple(sorted(rules, key=lambda r: r.said[0].start if r.said else 0.0))


def _without_guesses(line: Line) -> Line:
    """A line that speaks for the whole course without what patterns only guess in it, where its own words rule something."""
    if not whole_course(line.plain) or not any(one.part is None for one in freely(line)):
        return line
    return replace(line, acts=tuple(a for a in line.acts if not (a.kind in ("in", "out") and (a.weight <= GUESSED or a.mention is None))))


def _with_free(
    surfaces: Sequence[BlanketRule], told: Sequence[Line], everything: Sequence[Line], skipped: Sequence[str]
) -> list[BlanketRule]:
    """The surface rules with those that lines tell in free words, where no pattern read a rule in the same line."""
    out = list(surfaces)
    before = {after.index: line for line, after in pairwise(everything)}
    last: tuple[int, Freely] | None = None  # the rule told last, and in which line
    for line in told:
        if lists_what_comes(line) or not_here(line):
            continue
        front = _set_first(line)
        if front is not None:
            out = [rule for rule in out if line.said not in rule.said or not (_beside(rule, front, line) or _misread(rule, front))]
        known = [rule for rule in out if line.said in rule.said and rule.surface]
        earlier = last[1] if last is not None and line.index - last[0] == 1 else None
        for one in freely(line, before.get(line.index), earlier, scoped=whole_course(line.plain)):
            if any(same_head(one.mention.head, head_of(name)) for name in skipped) or (known and one.part is None):
                continue
            if front is not None and one.part is None and not same_head(one.mention.head, front.mention.head):
                continue
            if not any(_same(rule, one) for rule in out):
                out.append(_ruled_freely(one, line))
        told_already = front is None or any(line.said in rule.said or _same(rule, front) for rule in out)
        if front is not None and not told_already and not any(same_head(front.mention.head, head_of(name)) for name in skipped):
            out.append(_ruled_freely(front, line))
        last = _told_last(line, out) or last
    return out


_FRONTED = re.compile(
    r"(?:and|but|so|now|also|then|first|second|third|thing|next|oh|well|again|remember|mind|listen|okay|please|,| )*"
    r"(?:any|no )?@0(?: ,| be| 's| you| which| that| who|$)"
)


def _set_first(line: Line) -> Freely | None:
    """ "Scaffolding, in the whole yard, you don't touch it": what a sentence sets at its front and then rules, clause by clause."""
    if not line.mentions or not _FRONTED.match(line.skeleton.text) or line.mentions[0].is_part or line.mentions[0].part:
        return None
    ruling = told_of_front(line)
    return Freely(line.mentions[0], ruling, limbs=limbs_told(line) if ruling == "in" else None) if ruling else None


def _misread(rule: BlanketRule, front: Freely) -> bool:
    """Whether patterns read the thing at a sentence's front as in, of which it says by its clauses that it is out."""
    return front.ruling == "out" and rule.ruling == "in" and rule.part is None and len(rule.said) == 1 and _same(rule, front)


def _beside(rule: BlanketRule, front: Freely, line: Line) -> bool:
    """Whether a rule is of where or what its sentence says the thing at its front to be, and not of that: "the concrete is the sea"."""
    if rule.surface is None or same_head(head_of(rule.surface), front.mention.head):
        return False
    places = [k for k, mention in enumerate(line.mentions) if k and same_head(mention.head, head_of(rule.surface))]
    return any(re.search(rf"\b(?:in|on|at|over|round) @{k}\b|@0 be (?:\w+ )?@{k}\b", line.skeleton.text) for k in places)


def _same(rule: BlanketRule, one: Freely) -> bool:
    return same_head(head_of(rule.surface or ""), one.mention.head) and (rule.part or "") == (one.part or "")


def _ruled_freely(one: Freely, line: Line) -> BlanketRule:
    return BlanketRule(
        rule="surface",
        surface=one.mention.name,
        part=one.part,
        ruling=one.ruling,
        contact=one.limbs,
        said=(line.said,),
        confidence=RIGHT["surface"],
    )


def _told_last(line: Line, rules: Sequence[BlanketRule]) -> tuple[int, Freely] | None:
    """The whole thing that a line ruled, for a line after it that takes something out of it."""
    for rule in rules:
        if line.said in rule.said and rule.surface and rule.part is None and rule.ruling is not None:
            mention = next((m for m in line.mentions if same_head(m.head, head_of(rule.surface))), None)
            if mention is not None:
                return line.index, Freely(replace(mention, words=tuple(rule.surface.split())), rule.ruling)
    return None


def _skipped(line: Line) -> str | None:
    text = line.plain
    text = re.sub(r"\b(?:i'll|i will|we'll|let me|i|we) (?:just )?(?:leave|skip|miss|avoid) (?:that|it|this|those)\b", " ", text)
    barred = bool(SKIP.search(text)) and bool(
        re.search(r"\b(?:can't|cannot|can not|may not|don't|do not|never|no|not|nobody|must not|mustn't|none)\b|n't\b", text)
        or _SKIPPED_FAILS.search(text)
    )
    must = bool(
        (_MUST.search(text) or ((_WILL.search(text) or _EACH_DONE.search(text)) and whole_course(text)))
        and re.search(r"\b(?:every|each|all)\b", text)
        and not re.search(r"(?:n't|not|never)(?: ever| even)? touch", text)
    )
    if must and not barred:
        told = any(m.determiner in ("every", "each", "all") for m in line.mentions)
        must = told or bool(re.search(r"\b(?:every|each) (?:single )?one\b|\ball of (?:them|those)\b|\ball to be\b", text))
    if not (barred or must):
        return None
    things = [
        m
        for m in line.mentions
        if m.head in APPARATUS or m.determiner in ("every", "each", "no", "any") or m.head.endswith(("and", "form"))
    ] or [m for m in line.mentions[:1] if m.plural and whole_course(text) and (must or not _LEFT_BE.search(text))]
    if not things:
        return None
    return _SKIPPING.sub("", _nearest_left_out(line, things).name)


def _nearest_left_out(line: Line, things: Sequence[Mention]) -> Mention:
    """Of several things the one that may not be left out: "no stand is to be missed", before one of all, before the first."""
    items = line.skeleton.items
    none = [m for m in things if m.determiner == "no" and "be" in items[items.index(f"@{line.mentions.index(m)}") + 1 :][:1]]
    return next(iter(none), None) or next((m for m in things if m.determiner in ("every", "each", "no", "a", "any")), things[0])


def _also_rules(line: Line) -> bool:
    return (
        any(a.kind in ("in", "out") and a.weight >= 0.9 for a in line.acts)
        and not SKIP.search(line.plain)
        and not says_unnamed_out(line.plain, "")
    )


_SCRATCHED = re.compile(
    r"\b(?:scratch|forget|ignore|strike|never mind) (?:that|what (?:i|we) (?:say|said)|all that)\b|\btake (?:that|it) back\b|"
    r"\b(?:i|we) (?:change|changed) (?:my|our) mind\b|\bi (?:say|said) (?:it|that)? ?wrong\b"
)


def _as_corrected(rule: BlanketRule, taken_back: Sequence[Line]) -> BlanketRule:
    """A rule for all as somebody takes it back later on, wherever that is said: "scratch what I said, cones are out"."""
    for line in taken_back:
        if rule.surface is None or rule.part or (rule.said and line.start_s < rule.said[0].start):
            continue
        for act in line.acts:
            mention = line.mentions[act.mention] if act.mention is not None else None
            if act.kind in ("in", "out") and act.weight >= SURE and mention is not None and same_head(mention.head, head_of(rule.surface)):
                return rule.model_copy(update={"ruling": act.kind, "contact": None, "said": (*rule.said, line.said)[:4]})
    return rule


_ONLY_PEOPLE = re.compile(
    r"^(?:and |but |so |, )*only (?!with|use|on|in|by|for|hand|foot|one|then|when|if|where)(?:the |my |our |those |these )?[a-z]+\b.*"
    r"\b(?:may|can|could|be allow|be allowed)\b"
)
"""Who alone may: for everybody else the thing is out."""


def _bearing(mark: Mention, line: Line | None) -> Mention | None:
    """ "Anything with a blue ribbon": what bears the mark that a rule seems to be about."""
    bearer = marked(line) if line is not None else None
    return bearer if bearer is not None and same_head(bearer.head, mark.head) else None


def _surface_rules(gathered: Gathered, no_skip: Sequence[str], lines: Mapping[int, Line]) -> list[BlanketRule]:
    rules = []
    for entry in in_order(gathered.register.entries):
        firm = [
            e
            for e in entry.evidence
            if e.kind in ("in", "out")
            and e.weight >= 0.7
            and (e.rule != RULE or whole_course(e.said.text.lower()))
            and not any(same_head(entry.mention.head, head_of(name)) for name in no_skip)
        ]
        if not firm or entry.dropped:
            continue
        ruling, _, why = _rule(entry)
        if ruling is None:
            continue
        said: tuple[Said, ...] = tuple(dict.fromkeys(e.said for e in why))[:3]
        if ruling == "in" and all(e.line in lines and _ONLY_PEOPLE.match(lines[e.line].skeleton.text) for e in why):
            ruling = "out"
        contact = union(entry.limbs) if ruling == "in" else None
        if ruling == "in" and contact is None and not entry.part:
            near = [x for x, evidence in gathered.loose_limbs if evidence in said]
            contact = union(near)
        rules.append(
            BlanketRule(
                rule="surface",
                surface=next((bearer.name for e in why if (bearer := _bearing(entry.mention, lines.get(e.line)))), entry.name),
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
        heads = [head_of(each) for each in (old.surface, rule.surface) if each]
        alike = old.surface == rule.surface or (len(heads) == 2 and (same_head(*heads) or PLATFORMS.issuperset(heads)))
        if old.rule == rule.rule == "no-skip" and alike:
            rules[k] = old.model_copy(update={"said": (*old.said, *rule.said)[:4]})
            return
        if (old.rule, old.surface, old.part) == (rule.rule, rule.surface, rule.part):
            told = old if old.ruling == rule.ruling else rule
            rules[k] = told.model_copy(update={"said": (*old.said, *rule.said)[:4]})
            return
    rules.append(rule)


def head_of(name: str) -> str:
    """The last word of a name, singular."""
    last = name.split()[-1]
    return last.removesuffix("s") if not last.endswith("ss") else last
