"""What a sentence does: gives a start, puts in play, puts out of play, names a finish, and so on.

In: a skeleton. Out: acts, each with the phrase it is about. An act is decided from verb, modality, negation and object together, by the
table in patterns.py; here stands what a table cannot say: questions, hearsay, narration, lists, and which of two readings stays. `it` and
its kin stand for the thing last spoken of; which that is, gather.py tells.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from annotator.rules.lexicon import APPARATUS, PARTS, SIGNALS, words
from annotator.rules.likeness import same_head
from annotator.rules.patterns import PATTERNS
from annotator.rules.pieces import GOOD, HOLD, NO_ALONE, PP, PREP, REF, SOME, VERB, YES_ALONE, ActKind
from annotator.rules.skeleton import Skeleton


@dataclass(frozen=True, slots=True)
class Act:
    """`mention` is an index into the skeleton's mentions, or None where a pronoun (`word`) or nothing ("") stands."""

    kind: ActKind
    mention: int | None
    word: str
    item: int
    """Item of the skeleton at which the phrase stands."""
    weight: float
    rule: str
    """The pattern that found it, for explaining and for measuring what each is worth."""


NARROWLY = ", narrowly"
"""Ends the rule of an act that bars one limb or one way: "don't put your hands on the beam", "don't step in a crate"."""
_QUESTION = re.compile(
    r"^(?:so |and |now |okay |well |, )*(?:can|may|could|do|does|be|will|would|who|what about|how about|why|where|whose|"
    r"which|shall)\b(?! you see)"
)
_HEARSAY = re.compile(
    r"\b(?:sheet|paper|leaflet|website|list|email|last (?:year|week|month|time|season)|earlier (?:this|in the)"
    r"|until yesterday|in (?:practice|training|rehearsal)|somebody tell|they say|it say|use to be|you would think)\b"
)
_OVERRULED = re.compile(r"\b(?:forget|ignore|scrap|disregard|never mind)\b")
_MANNER = re.compile(r"^(?:do|will) not (?:crawl|run|walk|jump|hop|slide|ride|hurry|leap|roll|shuffle)\b")
_REFUSED = re.compile(r"(?:not|never|no|nobody|need not|without)(?: \S+){0,4}$")
_NEED_NOT = re.compile(r"(?:need not|do not (?:have|need) to|do not need|not everyone)(?: [^,|.]+)?$")
_NARRATED = re.compile(
    r"(?:^|[,|] )(?:and |so |but |because |no |oh |, )*(?:(?:he|she|@\d+ (?:have|'s)|my (?:kid|son|daughter)|"
    r"somebody|nobody)\b|i be [a-z]$)"
)
_NARRATES = words("arrive finish next-start past there")
_EXAMPLE = re.compile(r"\bif (?:you|anybody|anyone|somebody)\b[^.]*\b(?:fail|fall|out of the run|disqualif\w+)\b")
_LEAVING = re.compile(r"^(?:get|come|step|jump|hop|climb|fall|slide|drop|walk|run|go)\b.* (?:off|from) @|\brun out of @")
_RULED = frozenset({"in", "out"})


_YES = re.compile(
    r"^(?:oh |well |and |, |so )*(?:yes|yeah|yep|yup|sure|of course|absolutely|go for it|certainly|indeed|you can|they can|"
    r"it be|be my guest)\b(?! not)"
)
_NO_ANSWER = re.compile(
    r"^(?:oh |well |and |, |so |afraid |sorry )*(?:no|nope|nah|never|not|you can not|they can not|it be not|afraid not)\b"
)
_WHO = r"(?:you|we|i|they|it|somebody|anybody|anyone|someone|one|@\d+)"
_ASKED_ABOUT = re.compile(
    r"(?:\b(?:somebody|someone|people|anyone|anybody|folk|everybody|they|he|she|@\d+)(?: (?:have|will|always|may|do|'s))* "
    r"(?:ask|wonder|want to know)\b|\bquestion be\b|\b(?:ask|ask me|wonder) (?:if|whether|about)\b)"
)
"""A question told: "somebody asked whether you can hold the poles"."""
_TOPIC_ASKED = re.compile(
    r"^(?:and |so |now |then |okay |, )*(?:what about|how about|what of|see|you see|and|you know|remember|about|look at|that leave|"
    r"[^@]*\bask(?: me)? about)?(?: |^)(?P<r>@\d+)(?: (?:and|or|,) @\d+)*(?: (?:there|here|up|down|over|at|by|on|behind|next|then|the|"
    r"left|right|top|end|side|back|front|though|@\d+))* \.$"
)
"""A thing named to be asked about: "what about the post?", "see that pole?"."""
_ASKED_FOR = re.compile(
    rf"\b(?:can|may|could|be|do|shall)(?: {_WHO})?(?: be)?(?: allow to| allowed to| get to| also| still| even|"
    rf" just)* {VERB}{HOLD}{PREP}{SOME} {REF}"
)
_ASKED_WHETHER = re.compile(rf"\b(?:be|can) {REF}{PP}(?: be)?(?: touch\w*| use\w*| {GOOD})")
_ANSWERED_HERE = re.compile(
    r" (?:,|\|) (?:and |but |well )*(?:the answer be |it be )?(?:(?P<no>no|nope|nah|you can not|they can not|you may not|it can not"
    r"|absolutely not)|"
    r"(?P<yes>yes|yeah|yep|sure|of course|you can|you may|they can|it can))(?= [,.]|$)"
)


_OF_ACTIONS = frozenset(
    {
        "you may not touch x",
        "no touching x",
        "nobody touches x",
        "touch x and it costs",
        "it costs to touch x",
        "feet on x and it costs",
        "x never okay",
    }
)
"""Patterns that bar an act; where a limb does it, the thing itself may well be in play."""
_LIMB_BEFORE = re.compile(r"\b(?:hand|foot|knee|arm|leg|finger|toe) (?:\w+ ){0,2}$")
_OF_KNOWN_THINGS = frozenset({"no x", "you may not do anything with x", "you may do something with x"})


def _asked_here(skeleton: Skeleton) -> tuple[int, re.Match[str] | None] | None:
    """Where in the text something is asked, and the answer in the same breath; None where nothing is asked."""
    told = None if _QUESTION.match(skeleton.text) else _ASKED_ABOUT.search(skeleton.text)
    if told is None and not _QUESTION.match(skeleton.text):
        return None
    begin = told.start() if told else 0
    return begin, _ANSWERED_HERE.search(skeleton.text, begin)


def answer_at(skeleton: Skeleton) -> int:
    """Where in the text a question answers itself ("can you use it, no, you cannot"); 0 where it does not."""
    asked = _asked_here(skeleton)
    return asked[1].start() if asked and asked[1] else 0


def answered(question: Skeleton, answer: Skeleton) -> tuple[Act, ...]:
    """ "Can you grab the rope? Yeah, go for it.": what the question asks about is ruled by the answer."""
    yes, no = bool(_YES.search(answer.text)), bool(_NO_ANSWER.search(answer.text))
    if alone := ruled_alone(answer):
        yes, no = alone == "in", alone == "out"
    if yes == no:
        return ()
    return _ruled_by_answer(question, yes)


_POLITE = (
    r"(?: ,)?(?: please| thank you| mate| folk| everybody| everyone| actually| i be afraid| afraid so| today| here| this time| this"
    r" year)*"
)
_YES_LINE = re.compile(rf"^(?:oh |well |and |so |that be |, )*{YES_ALONE}(?:(?: ,)? {YES_ALONE})*{_POLITE} \.$")
_NO_LINE = re.compile(rf"^(?:oh |well |and |so |that be |but |, )*{NO_ALONE}(?:(?: ,)? {NO_ALONE})*{_POLITE} \.$")


def ruled_alone(skeleton: Skeleton) -> Literal["in", "out"] | None:
    """The ruling of a sentence that is nothing but a ruling: "Out.", "No chance.", "Absolutely." """
    if _NO_LINE.match(skeleton.text):
        return "out"
    return "in" if _YES_LINE.match(skeleton.text) else None


def names_a_topic(skeleton: Skeleton) -> bool:
    """Whether a sentence only names a thing, as if to ask about it: "What about the post?", "Those wires up there?" """
    return bool(_TOPIC_ASKED.match(skeleton.text))


def _ruled_by_answer(question: Skeleton, yes: bool, before: int | None = None) -> tuple[Act, ...]:
    text = question.text if before is None else question.text[:before]
    match = _ASKED_FOR.search(text) or _ASKED_WHETHER.search(text) or _TOPIC_ASKED.match(text)
    if match is None or re.search(r"\b(?:hand|foot)\b", match.group(0)) or re.search(r"\b(?:past|over|beyond)\b", match.group(0)):
        return ()
    word = match["r"]
    item = question.item_at(match.start("r"))
    return (Act("in" if yes else "out", int(word[1:]) if word.startswith("@") else None, word, item, 1.0, "asked and answered"),)


def asks(skeleton: Skeleton) -> bool:
    """Whether the sentence asks instead of telling."""
    asked = _asked_here(skeleton)
    if asked is None:
        return False
    return (
        skeleton.sentence.tokens[-1].text == "?"
        if _QUESTION.match(skeleton.text)
        else asked[1] is None and _nothing_told(skeleton, asked[0])
    )


def _nothing_told(skeleton: Skeleton, asked: int) -> bool:
    """Whether a told question is not followed by a statement of its own: "somebody asked about the poles" """
    return not re.search(
        r"[,|] (?:and |but |so |well |, )*(?:@\d+|it|they|that|those|you|we|i) (?:be|can|may|say|do|will)\b", skeleton.text[asked:]
    )


def find_acts(skeleton: Skeleton) -> tuple[Act, ...]:
    """All acts of one sentence, in the order of the phrases they are about. A question performs none."""
    if asks(skeleton):
        return ()
    text = skeleton.text
    found: dict[tuple[ActKind, int], Act] = {}
    warned = bool(_EXAMPLE.search(text))
    asked_at, own_answer = _asked_here(skeleton) or (0, None)
    for kind, weight, rule, pattern in PATTERNS:
        for match in pattern.finditer(text):
            group = "r" if match.groupdict().get("r") else "r2" if match.groupdict().get("r2") else None
            word = match[group] if group else ""
            item = skeleton.item_at(match.start(group)) if group else skeleton.item_at(match.start())
            clause = re.split(r"[,|.]", text[: match.start()])[-1]
            if kind in ("use", "in", "start", "finish", "arrive") and _blocked(kind, clause, match.group(0)):
                continue
            if rule in _SAME_THINGS and not _one_kind(skeleton, match.group(0)):
                continue  # "these two, the long pipes": another word for one thing and no list
            if kind == "start" and word.startswith("@") and _on_and_on(skeleton, int(word[1:]), text[match.end(group or 0) :]):
                continue  # "from block to block"
            if kind == "start" and word.startswith("@") and skeleton.mentions[int(word[1:])].is_part:
                continue  # "if you go off the back"
            if rule in ("onto x and you are done", "get onto x, that is you done") and re.search(
                r"\b(?:it|that|this|there|they) be(?:"
                r" \S+)* $",
                text[: match.start()],
            ):
                continue  # "it's a plank on a log, that's it"
            if kind == "finish" and rule in _BY_BEING_DONE and re.search(r"\bbe$", text[: match.start(group or 0)].rstrip()):
                continue  # "you're a star, you're done"
            if kind in ("start", "finish") and _ANNOUNCED.search(text[: match.end()]):
                continue  # "and we finish with the half pipe"
            if kind in _RULED and re.search(r"\bi be$", clause.strip()):
                continue  # "I am your teacher only"
            if own_answer is not None and asked_at <= match.start() < own_answer.start():
                continue  # "can you put your feet on the rail, no, you cannot": the question itself rules nothing
            if kind in ("use", "arrive", "start") and re.search(
                r"(?:^|[,|] )(?:and |so |but |because )*i [a-z]+(?: \S+){0,2} ?$", text[: match.start() + 1]
            ):
                continue  # "I took the knob off it"
            if (
                kind == "use"
                and re.match(r"(?:put|place|lay|get)\b", match.group(0))
                and re.search(r"\b(?:we|they) (?:have )?$", text[: match.start()])
            ):
                continue  # "that's okay, we put hay there"
            if rule == "you may not touch x" and _MANNER.search(match.group(0)):
                continue  # "you walk it, you don't crawl it"
            if kind not in _NARRATES and _NARRATED.search(_clause_around(text, match.start())):
                continue
            if rule == "ring x" and re.search(r"\b(?:until|till|when @\d+|before)\b", clause):
                continue  # "stay until the judge raises the flag"
            if rule == "ring x" and skeleton.mentions[int(word[1:])].head not in SIGNALS:
                continue
            if kind == "use" and _LEAVING.search(match.group(0)):
                continue
            if warned and kind in ("use", "arrive"):
                continue  # "if you so much as touch the plank, that's a fail" puts nothing in play
            if kind == "out" and re.search(r"(?:^|[,| ])i $", text[: match.start()]):
                continue  # "I'm not pulling splinters"
            if rule in _OF_KNOWN_THINGS and skeleton.mentions[int(word[1:])].head not in APPARATUS | PARTS:
                continue  # "no dramas"
            if rule in _OF_ACTIONS and (
                re.search(r"\b(?:hand|foot|knee)\b| (?:in|into|inside|between) @", match.group(0)) or _LIMB_BEFORE.search(clause)
            ):
                rule += NARROWLY
            heard = weight * (0.4 if kind in _RULED and _only_heard(text[: match.start()]) else 1.0)
            act = Act(kind, int(word[1:]) if word.startswith("@") else None, word, item, heard, rule)
            if (kind, item) not in found or found[kind, item].weight < act.weight:
                found[kind, item] = act
    if own_answer is not None:
        for act in _ruled_by_answer(skeleton, bool(own_answer["yes"]), own_answer.start()):
            found.setdefault((act.kind, act.item), act)
    aside = _modifying(skeleton, list(found.values()))
    acts = [a for a in _settle(found) if not (a.kind in ("use", "there") and a.item in aside)]
    acts = _renamed(skeleton, acts)
    return tuple(sorted((*acts, *_alike(skeleton, acts)), key=lambda a: (a.item, a.kind)))


_SUBJECT = frozenset({"x is out", "x is in", "x is not allowed", "x may not be touched", "x may be used"})


def _modifying(skeleton: Skeleton, acts: list[Act]) -> set[int]:
    """Phrases between a ruled phrase and its verb: in "the frame around the net is out" nothing is said of the net."""
    items = skeleton.items
    inside: set[int] = set()
    for act in acts:
        if act.rule in _SUBJECT and act.mention is not None:
            for k in range(act.item + 1, len(items)):
                if items[k] in ("be", "can", "may", ",", "|", "count", "stay", "remain"):
                    break
                if items[k].startswith("@"):
                    inside.add(k)
    return inside


def _only_heard(before: str) -> bool:
    """Whether what follows is what somebody else says, or what one would think, and not yet the speaker's own word."""
    heard = [match.start() for match in _HEARSAY.finditer(before)]
    return bool(heard) and not re.search(r"\b(?:but|forget|ignore|scrap|well)\b", before[heard[-1] :]) and not _OVERRULED.search(before)


_ANNOUNCED = re.compile(
    r"\b(?:we|let us|i|let me) (?:will |be |go to )*(?:start|begin|kick off|open|finish|end|close|wrap up)(?: off|"
    r" up| today)* with @\d+$"
)
_BY_BEING_DONE = frozenset({"when your feet are on x you are done", "get onto x, that is you done", "it is over when you are on x"})
_SAME_THINGS = frozenset({"two beams, a beam", "a beam, a beam"})


def _on_and_on(skeleton: Skeleton, start: int, after: str) -> bool:
    to = re.match(r" to @(\d+)", after)
    return to is not None and same_head(skeleton.mentions[start].head, skeleton.mentions[int(to[1])].head)


def _one_kind(skeleton: Skeleton, matched: str) -> bool:
    heads = [skeleton.mentions[int(k)].head for k in re.findall(r"@(\d+)", matched)]
    return all(same_head(heads[0], head) for head in heads[1:])


def _clause_around(text: str, at: int) -> str:
    begin = max(text.rfind(",", 0, at), text.rfind("|", 0, at), 0)
    return text[begin : at + 1] if begin else text[: at + 1]


def _blocked(kind: ActKind, clause: str, match: str) -> bool:
    """A pattern of doing something that stands under a negation, or under "you need not"."""
    if kind in ("use", "in") and _NEED_NOT.search(clause):
        return True  # "you need not stand on it" says nothing about what is in play
    if re.search(r"\b(?:not|never|nobody|without)\b(?! need| have to| only| just)", match) and kind != "in":
        return True
    return bool(_REFUSED.search(clause.strip()))


def _settle(found: dict[tuple[ActKind, int], Act]) -> list[Act]:
    """Where two acts about one phrase exclude each other, the stronger reading stays."""
    acts = []
    for (kind, item), act in found.items():
        if kind == "in" and ("out", item) in found and act.weight <= found["out", item].weight:
            continue
        if (
            kind == "out"
            and act.rule.startswith("x, no")
            and any((role, item) in found and found[role, item].weight >= 0.9 for role in ("start", "finish"))
        ):
            continue  # "you finish on the doormat, no, sorry, that's gone"
        if kind in ("use", "there") and (("out", item) in found or ("past", item) in found):
            continue
        if kind in ("arrive", "out", "in") and ("past", item) in found:
            continue
        if kind == "use" and ("start", item) in found and found["start", item].weight >= 0.9:
            continue
        if kind == "finish" and ("out", item) in found and found["out", item].weight >= act.weight:
            continue
        if kind == "start" and ("finish", item) in found and found["finish", item].weight >= act.weight:
            continue
        if kind == "finish" and ("start", item) in found and act.weight < found["start", item].weight:
            continue
        acts.append(act)
    return acts


_RENAMING = re.compile(
    r"@(\d+) , (?:and )?(?:(?:which|that|so that|this) be )?@(\d+)(?= [,.]|$)|@(\d+)[^.|]*? call (?:that|it|this|them)(?: one)? @(\d+)"
)
_PRESENTS = re.compile(r"(?:there|here) be $")


def _renamed(skeleton: Skeleton, acts: list[Act]) -> list[Act]:
    """ "on to the next landing block, which is the black landing block": one thing, and its fuller name counts."""
    for match in _RENAMING.finditer(skeleton.text):
        old, new = int(match[1] or match[3]), int(match[2] or match[4])
        if not same_head(skeleton.mentions[old].head, skeleton.mentions[new].head):
            continue
        if (
            " be " not in match.group(0)
            and not match[3]
            and (not _PRESENTS.search(skeleton.text[: match.start()]) or skeleton.mentions[old].plural)
        ):
            continue  # "there is one small box, the pink box, ..."; but "the big ring, the small ring" are two
        at = skeleton.items.index(f"@{new}")
        acts = [replace(a, mention=new, word=f"@{new}", item=at) if a.mention == old else a for a in acts]
    return acts


_LIST = words("| , and or then &")


def _alike(skeleton: Skeleton, acts: list[Act]) -> list[Act]:
    """Phrases listed with one that an act is about share it: "doors and handles are in", "you grab the bar, the rings"."""
    more: list[Act] = []
    items = skeleton.items
    taken = {a.item for a in acts if a.kind in ("in", "out", "start", "finish")}
    for act in acts:
        if act.mention is None or act.kind not in ("in", "out", "use", "there", "finish"):
            continue
        if act.kind == "finish" and items[act.item + 1 : act.item + 2] != ("or",):
            continue
        step = -1 if act.rule in ("x is out", "x is in", "x is not allowed") else 1
        k = act.item + step
        while 0 <= k < len(items):
            joined = 0
            while 0 <= k < len(items) and items[k] in _LIST and joined < 3:
                joined += 1
                k += step
            if not joined or not 0 <= k < len(items) or not items[k].startswith("@"):
                break
            if step == 1 and k + 1 < len(items) and items[k + 1] not in _LIST | {".", "|", "too", "again", "on", "for"}:
                break
            if step == -1 and k > 0 and items[k - 1] not in _LIST | {"both", "all", "so", "but"}:
                break
            if k in taken:
                break
            if step == -1 and items[k + 1] == "," and k > 0:
                break  # "the handrail, the chains are out" may be two statements: only "and" joins to the left
            more.append(Act(act.kind, int(items[k][1:]), items[k], k, act.weight, act.rule + ", listed"))
            k += step
    return more
