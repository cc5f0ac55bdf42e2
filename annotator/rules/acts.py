"""What a sentence does: gives a start, puts in play, puts out of play, names a finish, says what an overshoot means, and so on.

In: a skeleton. Out: acts, each with the phrase it is about. An act is decided from verb, modality, negation and object together; the
patterns below speak about lemmas and about `@k`, never about what a course calls its things. `it` and its kin stand for the thing last
spoken of; which that is, referents.py tells.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from annotator.rules.lexicon import CONTACT_VERBS
from annotator.rules.phrases import Skeleton

ActKind = Literal[
    "in", "out", "use", "there", "start", "finish", "arrive", "overshoot-yes", "overshoot-no", "next-start", "either", "later"
]


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


_ADV = r"(?: (?:also|always|too|all|both|still|definitely|just|only|again|everywhere|very|absolutely|strictly|perfectly|totally|of course|then|now|completely|usually|itself|themselves|here|there|again|well))*"
_PRE = r"(?:(?<= )|^)"
_REF = r"(?P<r>@\d+|it|that|this|those|these|they|them|ones?)(?= |$)"
_AT = r"(?P<r>@\d+)(?= |$)"
_END = r"(?= [,|.]|$)"
_PREP = (
    r"(?: (?:on|onto|of|to|at|with|in|into|off|against|from|around|up|down|along|over|across|under|through|by|beneath|behind|between|for))*"
)
_V = (
    r"(?:"
    + "|".join(sorted(CONTACT_VERBS - {"go", "make", "get", "work", "sit", "move", "put", "place"}, key=len, reverse=True))
    + r"|put|get|go|lay|place|make use|take advantage|work)"
)
_FAR = r"(?: (?!not\b|never\b|no\b|without\b)[^,|. ]+){0,4}?"
_ANY = r"(?: [^,|. ]+){0,4}?"
_GOOD = (
    r"(?:in(?= [,|.]|$| play| bound| as well| too| for| there| because| all)|okay|ok|fine|allow|allowed|permit|permitted|legal|fair game|good|all right|alright|grand|"
    r"usable|live|available|yours|game|safe to use|free to use)(?= |$)"
)
_BAD = (
    r"(?:out(?= [,|.]|$| of play| of bound| for| because| everywhere| completely| too| as well| all| there| even| on| at)|off limit|off limits|off - limit|off , limit|off , limits|forbid|forbidden|prohibit|prohibited|ban|banned|illegal|"
    r"no good|a no(?= |$)|no go|no , go|not ok|a fail|dead|no touch)"
)
_CAN = r"(?:can|may|could|be able to|be allow to|be allowed to|be free to|be welcome to|be permit to|be permitted to|get to)"
_NOT = r"(?:not|never)"

_TABLE: tuple[tuple[ActKind, str, float, str], ...] = (
    # out of play
    ("out", rf"{_REF}{_ANY} be{_ADV} {_BAD}", 1.0, "x is out"),
    ("out", rf"{_REF} be{_ADV} {_NOT}{_ADV} {_GOOD}", 1.0, "x is not allowed"),
    ("out", rf"{_REF} (?:, like [^,|.]+ , )?(?:never|not){_ADV} (?:okay|ok|allowed?|fine|in play|permitted)", 1.0, "x never okay"),
    ("out", rf"{_REF}{_ADV} (?:can|may|must|should|shall|be) {_NOT}(?: to)? be{_ADV} (?:touch|use|grab|hold|step)\w*", 1.0, "x may not be touched"),
    ("out", rf"(?:can|may|must|should|shall|do|will|be|need to|want you to|better) {_NOT}(?: even| ever| also| to| allow to| allowed to| permit to| permitted to| go to)*(?: let me see you)? (?!need|have|want){_V}(?: hold| your [a-z]+| a [a-z]+)?{_PREP}(?: any of| all of| the lot of)? {_REF}", 1.0, "you may not touch x"),
    ("out", rf"(?:never|nobody|no one|none of you)(?: can| may| ever| should| must| be to| get to)* {_V}(?: hold)?{_PREP} {_REF}", 1.0, "nobody touches x"),
    ("out", rf"(?:no|without) (?:touch|use|grab|hold|step|hang|stand|grip|climb|swing|lean|push)\w*{_PREP} {_REF}", 1.0, "no touching x"),
    ("out", rf"(?:not|never)(?: to)? (?:lay|put|place) a \w+ on{_ANY} {_REF}", 1.0, "not a finger on x"),
    ("out", rf"(?:keep|stay)(?: your \w+| well| right| clear)* (?:off|away from|clear of|out of)(?: of)? {_REF}", 1.0, "keep off x"),
    ("out", rf"leave {_REF} (?:alone|be)", 1.0, "leave x alone"),
    ("out", rf"avoid {_REF}", 1.0, "avoid x"),
    ("out", rf"hand off(?: of)? {_REF}", 1.0, "hands off x"),
    ("out", rf"{_PRE}{_AT}(?: ,)? (?:no|nope|know){_END}", 1.0, "x, no"),
    ("out", rf"{_AT} be {_NOT}{_END}", 1.0, "x is not"),
    ("out", rf"[,|] (?:and |but )?not(?: on| to use| to touch)? {_AT}{_END}", 0.9, "not x"),
    ("out", rf"what you (?:can|may|must) not (?:touch|use|grab|hold|do)(?: on)? be (?:\w+ hold of |{_V}{_PREP} )?{_AT}", 1.0, "what you cannot touch is x"),
    ("out", rf"(?:do|does|will) not (?:want|like) to see (?:you|anybody|anyone)(?: \w+)? (?:on|touch|use|with){_ANY} {_REF}", 1.0, "don't want to see you on x"),
    ("out", rf"(?:except|except for|but not|apart from|other than|excluding|minus|bar) {_AT}", 0.9, "except x"),
    ("out", rf"{_AT} (?:do|will) not count", 1.0, "x does not count"),
    # in play
    ("in", rf"{_REF}{_ADV} be{_ADV} {_GOOD}", 1.0, "x is in"),
    ("in", rf"{_REF} (?:end|inn|and)(?= [,.]|$)", 0.7, "x's in, heard as end"),
    ("in", rf"{_CAN}(?: also| just| still| always| all| even| only| both| happily| safely)* {_V}(?: hold| your [a-z]+| a [a-z]+)?{_PREP}(?: any(?: part)? of| all of| either of| also| both)?{_FAR} {_REF}", 1.0, "you may use x"),
    ("in", rf"{_PRE}{_AT}(?: ,)? (?:yes|yeah|yep|okay|fine){_END}", 1.0, "x, yes"),
    ("in", rf"{_PRE}{_AT} (?:too|as well){_END}", 0.9, "x too"),
    ("in", rf"(?:any part|any bit) of you can touch {_REF}", 1.0, "any part of you can touch x"),
    ("in", rf"{_PRE}{_AT} only{_END}", 0.9, "x only"),
    ("in", rf"(?:hand|foot|just|only)(?: and| or| ,)?(?: \w+)? (?:on|against|for) {_AT}", 0.8, "hands on x"),
    ("in", rf"{_AT} (?:be )?for (?:the|your) (?:hand|foot)", 1.0, "x is for the hands"),
    # start
    ("start", rf"(?:start|begin|set off|kick off|launch|depart|setting off|starting)(?: \w+){{0,4}}? (?:on|from|at|by|in|off|with) {_AT}", 1.0, "start on x"),
    ("start", rf"(?:start|begin) (?:be |on |position |point |platform |, )*{_AT}", 1.0, "start is x"),
    ("start", rf"start (?:position|point|place|spot)(?: ,| be)* (?:on )?{_AT}", 1.0, "start position, x"),
    ("start", rf"{_AT} be{_ADV} (?:the|your|a|our) start(?! of| for)", 1.0, "x is your start"),
    ("start", rf"{_AT}(?: ,)? that be (?:the|your) start", 1.0, "x, that's your start"),
    ("start", rf"{_AT} be where (?:you|we|they|it|this one)(?: all)? (?:start|begin|take off|set off|go)", 1.0, "x is where you start"),
    ("start", rf"by {_AT} , because that be where number \w+ (?:begin|start)", 1.0, "by x, because that is where it begins"),
    ("start", rf"(?:foot|hand|stand|standing)(?: up)?(?: both)? on {_AT} , that be (?:the|your) start", 1.0, "feet on x, your start"),
    ("start", rf"(?:^|[,|] )(?:and |so |now |then |but |okay |because )*(?:, )?(?:again )?(?:from|off) {_AT}", 0.8, "from x"),
    ("start", rf"you (?:be|go|come|set|leave|jump|step|swing|push)(?: straight| right| back| again| now)*(?: off| from| away from) {_AT}", 0.8, "you go off x"),
    ("start", rf"(?:off|away) you go from {_AT}", 1.0, "off you go from x"),
    ("start", rf"you(?: be to)? leave(?: from)? {_AT}", 0.7, "you leave x"),
    ("start", rf"(?:so |now |okay )*(?:, )?(?:so |now )*you (?:be|be stand|stand|wait|get)(?: up| here| now| again| back| ready)* (?:on|at|in) {_AT}", 0.7, "you are on x"),
    ("start", rf"{_PRE}(?:foot|both foot|two foot) on {_AT}{_END}", 0.4, "feet on x"),
    # finish
    ("finish", rf"(?:finish|end up|end|you end|done|conclude)(?: up| off| down| by stand| here| there| right| it| stand| by standing| standing| when you be| when you have two foot)* (?:on|at|in|with|onto) {_AT}", 1.0, "finish on x"),
    ("finish", rf"finish(?: be| ,| platform| position| here| point| spot)* {_AT}", 1.0, "the finish is x"),
    ("finish", rf"(?:the |your )?(?:end|finish)(?: of it| of this one| of that| point)? be {_AT}", 0.9, "the end is x"),
    ("finish", rf"{_REF}(?: ,)?(?: and)?(?: that)? be{_ADV} (?:where (?:you|it|this|we)(?: all)? (?:finish|end)|(?:the|your|a|our) finish)", 1.0, "x is your finish"),
    ("finish", rf"{_AT} to finish", 1.0, "x to finish"),
    ("finish", rf"{_AT} at the (?:finish|end){_END}", 0.8, "x at the finish"),
    ("finish", rf"finish (?:when|once) you(?: \w+){{0,4}}? (?:on|at|reach|touch) {_AT}", 1.0, "finished when you are on x"),
    ("finish", rf"(?:when|once|soon as) you (?:reach|get to|be on|touch|be stand on|hit|make it to|arrive at|arrive on|have \w+ foot on)(?: the)? {_AT}(?:(?: ,)?(?: and)? (?:you be|you have|that be|it be)(?: all)? (?:do|make it|finish|home|there|through|safe|over|it)|)", 0.9, "when you reach x"),
    ("finish", rf"(?:to|onto|on|at|in|into) {_AT}(?: ,| \|)? (?:and )?(?:you be|that be you|be) (?:do|finish|home)", 1.0, "onto x and you are done"),
    ("finish", rf"{_PRE}there be the finish", 0.9, "there is the finish"),
    ("arrive", rf"(?:land|arrive|come out|come down|come off(?: \S+)?|drop|step down|step over|step across|jump down|swing down|swing across|swing|swing over|get|cross over|cross|hop down|hop|fall|slide|climb down|ride it|run|walk|go|let go|haul yourself|head|step off|dismount|flop|jump off(?: \S+)?|off(?: \S+)?|make it|take you|bring you|lead you|carry on|make your way)(?: off(?: \S+)?| up| down| across| over| straight| right| away| it| out| in| back| safely| all| the way| then| up)* (?:on to|on|onto|to|at|over|into|in) {_AT}", 0.6, "land on x"),
    ("arrive", rf"(?:^|[,|] )(?:and |then |so )*at the (?:end|far end|other end|bottom|top) (?:there )?be {_AT}", 0.6, "at the end is x"),
    ("arrive", rf"(?:come|land|step|jump|drop|slide)(?: \w+)? (?:off )?@\d+ (?:on to|onto|to|on) {_AT}", 0.6, "off a onto x"),
    ("arrive", rf"where (?:she|he|they|you)(?: \w+){{1,4}} be {_AT}", 0.7, "where she landed is x"),
    ("arrive", rf"(?:stop|halt|hold)(?: dead| there| still)? on {_AT}", 0.6, "stop on x"),
    # struck to stop the clock
    ("finish", rf"(?:ring|hit|smack|slap|press|strike|wallop|bang|punch|whack|push|tap|pull|kick|thump|touch|bash|slam|hammer)(?: on)? {_AT}", 0.8, "ring x"),
    ("finish", rf"(?:clock|time|timer|watch|run) (?:be )?(?:stop|stopped|end|ended)(?: on| by| when you hit| at| with| when we hear| when you \w+) {_AT}", 0.9, "the clock stops on x"),
    # things that are there
    ("there", rf"(?:there|here) (?:be|come){_ANY} {_AT}", 0.5, "there is x"),
    ("there", rf"you(?: have|'ve)(?: have)?{_ANY} {_AT}", 0.5, "you have x"),
    ("there", rf"(?:it|this|these|here|up there|up here|down there|over there)(?: also)? be(?: \w+){{0,1}} {_AT}", 0.4, "it is x"),
    ("there", rf"(?:then|that be|so|just) it be(?: \w+){{0,2}}? {_AT}", 0.5, "then it is x"),
    ("there", rf"(?:order|go)(?: 's| be| it go)?(?: \w+)? , {_AT}", 0.5, "the order is x"),
    ("there", rf"{_AT} itself", 0.3, "x itself"),
    # use
    ("use", rf"(?:{_V}|stay|hug|push|carry on|continue|keep|trust|start)(?: hold| yourself| your \w+| a \w+| up| sideways| off| out| back| right| left| straight| along| around| on| over| them| it)*{_PREP}(?: any of| all of| both| either)? {_AT}", 0.6, "use x"),
    ("use", rf"(?:along|across|over|up|through|around|round|between|under|down|beneath|via) {_AT}", 0.5, "along x"),
    # overshoot
    ("either", rf"(?:either|both) {_AT}", 0.5, "either x"),
    ("later", rf"{_REF}(?: 's| be)(?: for)? (?:later|for later|not here)", 1.0, "x is later"),
    ("next-start", rf"{_REF}{_ADV} be{_ADV} (?:also )?(?:the start (?:of|for) (?:number|the next|station|obstacle)|where (?:number|station|obstacle|the next)(?: \w+){{0,2}} (?:start|begin|take off|set off|go))", 1.0, "x is also the next start"),
    ("next-start", r"(?:number|station|obstacle|the next)(?: one| obstacle| station| \w+)? (?:start|begin|take off|set off)(?: from| on| there| right there| here) ?(?P<r>@\d+|it|that|this|there)?", 0.7, "the next one starts there"),
)  # fmt: skip
PATTERNS = tuple((kind, re.compile(pattern), weight, rule) for kind, pattern, weight, rule in _TABLE)

_QUESTION = re.compile(
    r"^(?:so |and |now |okay |well |, )*(?:can|may|could|do|does|be|will|would|who|what about|how about|why|where|whose|which|shall)\b(?! you see)"
)
_HEARSAY = re.compile(r"\b(?:sheet|paper|leaflet|website|list|email|last year|somebody tell|they say|it say|used? to be)\b")
_REFUSED = re.compile(r"(?:not|never|no|nobody|need not|without)(?: \S+){0,3}$")
_NEED_NOT = re.compile(r"(?:need not|do not (?:have|need) to|do not need|not everyone)(?: [^,|.]+)?$")
_RULED = frozenset({"in", "out"})


def asks(skeleton: Skeleton) -> bool:
    """Whether the sentence asks instead of telling."""
    question = skeleton.sentence.tokens[-1].text == "?"
    return question and bool(_QUESTION.match(skeleton.text))


def find_acts(skeleton: Skeleton) -> tuple[Act, ...]:
    """All acts of one sentence, in the order of the phrases they are about. A question performs none."""
    if asks(skeleton):
        return ()
    text = skeleton.text
    found: dict[tuple[ActKind, int], Act] = {}
    hearsay = bool(_HEARSAY.search(text))
    for kind, pattern, weight, rule in PATTERNS:
        for match in pattern.finditer(text):
            word = match.groupdict().get("r") or ""
            item = skeleton.item_at(match.start("r")) if word else skeleton.item_at(match.start())
            clause = re.split(r"[,|.]", text[: match.start()])[-1]
            if kind in ("use", "in", "start", "finish", "arrive") and _blocked(kind, clause, match.group(0)):
                continue
            act = Act(
                kind,
                int(word[1:]) if word.startswith("@") else None,
                word,
                item,
                weight * (0.4 if hearsay and kind in _RULED else 1.0),
                rule,
            )
            if (kind, item) not in found or found[kind, item].weight < act.weight:
                found[kind, item] = act
    acts = _settle(found)
    return tuple(sorted((*acts, *_alike(skeleton, acts)), key=lambda a: (a.item, a.kind)))


def _blocked(kind: ActKind, clause: str, match: str) -> bool:
    """A pattern of doing something that stands under a negation, or under "you need not"."""
    if kind in ("use", "in") and _NEED_NOT.search(clause):
        return False  # "you need not stand on it" puts nothing out
    if re.search(r"\b(?:not|never|nobody|without)\b(?! need| have to| only)", match) and kind != "in":
        return True
    return bool(_REFUSED.search(clause.strip()))


def _settle(found: dict[tuple[ActKind, int], Act]) -> list[Act]:
    """Where two acts about one phrase exclude each other, the stronger reading stays."""
    acts = []
    for (kind, item), act in found.items():
        if kind == "in" and ("out", item) in found and act.weight <= found["out", item].weight:
            continue
        if kind in ("use", "there") and ("out", item) in found:
            continue
        if kind == "start" and ("finish", item) in found and found["finish", item].weight >= act.weight:
            continue
        if kind == "finish" and ("start", item) in found and act.weight < found["start", item].weight:
            continue
        acts.append(act)
    return acts


_LIST = frozenset({",", "and", "or", "then", "&"})


def _alike(skeleton: Skeleton, acts: list[Act]) -> list[Act]:
    """Phrases listed with one that an act is about share it: "doors and handles are in", "you grab the bar, the rings"."""
    more: list[Act] = []
    items = skeleton.items
    taken = {a.item for a in acts if a.kind in ("in", "out", "start", "finish", "arrive")}
    for act in acts:
        if act.kind not in ("in", "out", "use", "there") or act.mention is None:
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
            if step == -1 and k > 0 and items[k - 1] not in _LIST | {"|", "both", "all", "so", "but"}:
                break
            if k in taken:
                break
            if step == -1 and items[k + 1] == "," and k > 0:
                break  # "the handrail, the chains are out" may be two statements: only "and" joins to the left
            more.append(Act(act.kind, int(items[k][1:]), items[k], k, act.weight * 0.9, act.rule + ", listed"))
            k += step
    return more
