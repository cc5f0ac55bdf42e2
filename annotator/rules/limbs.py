"""Which limbs a sentence allows, and what it ties them to.

In: a skeleton and its acts. Out: limb statements, each tied to a phrase, or loose: then it holds for the station.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from annotator.course import Limb
from annotator.rules.acts import Act, answer_at, asks
from annotator.rules.lexicon import words
from annotator.rules.pieces import COSTS, VERB
from annotator.rules.skeleton import Skeleton


@dataclass(frozen=True, slots=True)
class LimbSaid:
    """`limbs` are allowed; `how` tells whether the speaker said only these, named them, or named the ones that may not; "weighed":
    limbed.py took it from what stands around; "guessed": it was not sure."""

    limbs: tuple[Limb, ...]
    how: Literal["only", "named", "barred", "weighed", "guessed"]
    mention: int | None
    item: int
    focus: bool = False
    """Tied to the thing last spoken of (a pronoun stands for it)."""


_DET = r"(?:your |our |the |both |two |one |a |with |with your |with the |also |also the )*"
_H, _F = r"(?:hand|arm|palm|mitt|finger|fingertip|thumb|fist)", r"(?:foot|leg|shoe|boot|toe|heel|sole|trainer|ankle|sneaker)"
_ANY = r"(?:hand|arm|palm|mitt|finger|fingertip|fist|foot|leg|shoe|boot|toe|heel|sole|trainer|ankle|sneaker)"
_ELSEWHERE = r"(?:(?:up )?in the air|behind your back|in your pocket|dangle|hang(?: free| loose| down)?)"
"""Where limbs are that touch nothing."""
_ALL = re.compile(
    r"\b(?:(?:every|any|all|all four|whichever|whatever) (?:of your )?limb|all four(?! of|s? @| \w+ @)|any (?:part|bit) of (?:you"
    r"|your body)|your whole body|"
    r"anything go|whatever you (?:have|have have|like) (?:to|for) (?:hold|climb|get)|(?:hand|foot) (?:\| )?or whatever)\b"
)
"""Sayings that leave out no limb."""
_BOTH = re.compile(
    rf"\b(?:{_H}(?: (?:and|or|,|in|&|both|as well as|along with|together with|plus|knee|elbow|belly|,? up to you))* (?:and |also |then )?"
    rf"{_DET}{_F}|{_F}(?: (?:and|or|,|&|as well as|along with|together with|plus|knee|elbow|belly))* {_DET}{_H})\b(?! only| off| out| not"
    rf"|(?: be| may| can| must| do| should| will| stay| keep)(?: not| off| out)|(?: you| i| we)?(?: keep| want| hold| have| let)?"
    rf"(?: to see)? {_ELSEWHERE})"
)
# tiny recognisers write "feed only" for "feet only"; nobody is fed at a station
_ONLY = re.compile(
    rf"\b(?:(?P<a>{_ANY}|feed|feat)(?: ,)? only|only (?:with |use |on |for |by )?{_DET}(?P<b>{_ANY})|just (?:use |with |by |on"
    rf" )?{_DET}(?P<c>{_ANY})|"
    rf"(?:be|it be|this be|one be|,|^) ?all (?P<d>{_ANY})(?= |$)|nothing (?:\| )?but {_DET}(?P<e>{_ANY})|(?P<f>{_ANY})(?: (?:and"
    rf"|,))* nothing else|"
    rf"(?P<g>{_ANY}) (?:alone|exclusively)|only (?:want|like|need|allow|accept|count|see|ever)(?: to| you| your| see| use| put| have)*"
    rf" (?P<h>{_ANY})|"
    rf"(?:use|be|by|with) {_DET}(?P<i>{_ANY}) exclusively|exclusively (?:with |by |on )?{_DET}(?P<j>{_ANY})|be (?P<k>hand|foot) ,"
    rf" (?:hand|foot)(?= |$))\b"
)
_BARRED = re.compile(
    rf"\b(?:(?:no|without|not)(?: (?:wrap|use|touch|put|hook)\w*(?: with)?)? {_DET}(?P<a>hand|foot|leg|arm|knee|palm|finger|"
    rf"shoe|boot|finger|toe|heel)|(?:keep|"
    rf"stay) (?:your |the )?(?P<b>hand|foot) (?:to yourself|off|away|out|up|behind)|not let me see (?P<c>hand|foot)|not use "
    rf"{_DET}(?P<d>hand|foot)|(?P<e>{_ANY}) (?:stay|keep|remain) (?:up|off|away|out|behind)|"
    rf"(?P<f>{_ANY})(?: on @\d+)? (?:be|do|may|can|should|must|will|shall|have)(?: on @\d+)?(?: (?!only|just)\w+)? (?:not|never)(?!"
    rf" only| just|"
    rf" the only)|neither (?P<g>{_ANY})|"
    rf"(?P<h>{_ANY}) be (?:out(?! of)|off|ban|banned|forbid|forbidden|no good|no use|off limits?)(?= |$)|(?:anything|everything)"
    rf" (?:\| )?but {_DET}(?P<i>{_ANY})|"
    rf"keep {_DET}(?P<j>{_ANY}) (?:off|out of|away)|"
    rf"(?P<l>{_ANY})(?: you| i| we)?(?: keep| want| hold| have| let)?(?: to see)? {_ELSEWHERE}|"
    rf"not (?:even )?(?:lay|put|get|use|touch)\w*(?: it| them| @\d+)?(?: with)?"
    rf" {_DET}(?P<k>{_ANY}))\b"
)
_NAMED = re.compile(
    rf"\b(?:(?P<a>{_ANY})(?: (?:cross|wrap|hook|lock|tuck))? (?:on|up|down|against|over|onto|around|round)\b|"
    rf"(?P<n>{_ANY}) (?:in|into|inside|through) (?:it|them|@\d+)|(?:that|this|it) be (?:for )?(?:your|the) (?P<o>hand|foot)\b|"
    rf"(?:that|this|it) be (?P<s>hand|foot)(?= [,.|])|"
    rf"\b(?:on|upon) (?:your|our|both|two) (?P<t>hand|foot)\b|"
    rf"(?P<p>hand|foot) (?:get|have|take) (?=@)|there (?:go|stand) (?:your |the )?(?P<q>{_ANY})\b|"
    rf"^(?P<r>hand|foot) (?=,)|(?:with|by|using|use|put|place|wrap|hook"
    rf"|lock|rest|roll|slide|plant|stick|jam|dig|press|wedge|"
    rf"for|keep|have|get) "
    rf"{_DET}(?P<b>hand|foot|shoe|palm|fist|finger|toe|arm|leg)\b|@\d+ (?:take|want|be for|get) (?:your |the |both )*(?P<i>hand|foot)\b|"
    r"(?P<j>hand|foot|finger|toe) for @|@\d+(?: (?:on )?(?:each|either|both) (?:side|end)s?| above| below| up there)? (?:under|beneath"
    r"|below|for|in) "
    r"(?:your |the |both )+(?P<m>hand|foot)\b|(?P<e>hand|foot|palm|shoe|boot|finger|toe)(?: (?:be|,))* (?:okay|allowed?|fine|good)"
    rf"|(?P<f>{_ANY}) "
    r"(?:may|can|go|stay|rest|belong)\b"
    r"(?! (?:up|off|away|out|behind|in (?:the )?air|dry|clean|quiet|still|free|loose|straight|together|apart))"
    r"|(?<=, )(?:one |two |both )?(?P<g>hand|foot)(?= [,.|]|$)|"
    r"(?P<h>hand|foot) (?:too|as well|also)\b|(?<=and )(?P<k>hand|foot)(?:,| \|)* (?=(?:if|when|where) you (?:need|want|like|have))|"
    r"(?<=but |and )(?:(?:the|your) )?(?P<l>hand|foot) be (?:okay|fine|in)\b)"
)
_OWN_CLAUSE = re.compile(
    r" (?:stay|keep|remain|hang|dangle|rest|go|be|together|open|apart|straight|quiet|dry|still|free|loose|up|off|tuck|you|we|i|they)\b"
)
"""What follows a limb behind a comma that is told of for itself: "with the hands, legs together", "by hand, and with the feet you ..."."""
_ASIDE = re.compile(
    r"\b(?:dry|wash|hard on|give (?:her|him|them|us) a|wave|raise|lose|watch|warm|chalk|careful|his|her|their|my|hug|wet|"
    r"fingertip)\b(?: \S+){0,5}$"
)
_SUPPOSED = re.compile(r"\bif\b(?: \S+){0,7}$")
_THEN_FINE = re.compile(
    r"^[^.@|]{0,20}(?:@\d+ )?[^.@]{0,25}\b(?:legal|fine|okay|ok|allow|allowed|in play|no problem|good|grand|let you"
    r"|let it go|all right)\b"
)
"""What follows where a limb is only supposed: "if you want to lock your feet on it too, that's legal"."""
_COSTLY = re.compile(
    rf"(?:(?:^|[,|.] )(?:and |so |but |a |one |any |your |even a )*(?P<b>{_ANY}) (?:on|in|to|touch) @\d+(?: ,| and| \||$)+ (?:that be"
    rf"|it be|be)"
    rf" an? (?:fail|fall|foul|fault|penalty)|"
    rf"\b(?:if|put(?! your)|see|who|anybody|anyone) (?:you |anybody |i )?(?:put |see |use |get |hook )?"
    rf"(?:your |a |any |the |one )?(?P<a>{_ANY})\b(?!"
    rf" only)[^.@]{{0,40}}?"
    rf"(?: on @\d+| round @\d+| over @\d+)?[^.@]{{0,25}}? (?:{COSTS}|not allow|not allowed))"
)
"""A limb whose touch would cost something: "you put a hand down, you're out"."""
_IT_FAILED = re.compile(r"\bthat be a (?:fail|fall|foul)\b|\bbe a fail\b")
_WHOLE = re.compile(
    r"\b(?:on this one|whole way|all the way|throughout|this station|this obstacle|for this|from here|from there|on here|here)\b"
)


def _limb(word: str) -> Limb:
    return "hands" if word in ("hand", "arm", "palm", "mitt", "finger", "fingertip", "thumb", "fist") else "feet"


def _other(limb: Limb) -> Limb:
    return "feet" if limb == "hands" else "hands"


def find_limbs(skeleton: Skeleton, acts: Sequence[Act]) -> tuple[LimbSaid, ...]:
    """The sentence's limb statements in order."""
    if asks(skeleton):
        return ()
    text = skeleton.text
    answer = answer_at(skeleton)
    spans: list[tuple[int, int, tuple[Limb, ...], Literal["only", "named", "barred"]]] = []

    def free(match: re.Match[str]) -> bool:
        if match.start() < answer:
            return False  # "can you put your feet on the rail, no, you cannot"
        clause = re.split(r"[|.]", text[: match.start()])[-1]
        if re.search(
            r"\b(?:he|she)\b(?! be (?:upside|old|new|heavy|light|solid|sound|strong|steady|stable|slippery|long|wide|big))", clause
        ) or (match.re is _NAMED and _IT_FAILED.search(text[match.end() :])):
            return False  # "she put the hand down on the drum, and that's a fail"
        near = re.split(r",", clause)[-1].rstrip()
        told = re.split(r"[,.]", text[: match.start()])[-1].replace(" |", "").rstrip()
        supposed = bool(_SUPPOSED.search(told)) and not _THEN_FINE.search(text[match.end() :])
        return not any(a < match.end() and match.start() < b for a, b, _, _ in spans) and not _ASIDE.search(near) and not supposed

    for match in _COSTLY.finditer(text):
        if match.start() >= answer and not re.search(r"\b(?:he|she)\b", text[: match.end()]):
            spans.append((match.start(), match.end(), (_other(_limb(match["a"] or match["b"])),), "barred"))
    for match in _ALL.finditer(text):
        if free(match) and not re.search(r"\b(?:no|not|never|nobody)\b", re.split(r"[,|.]", text[: match.start()])[-1]):
            spans.append((match.start(), match.end(), ("hands", "feet"), "named"))
    for match in _BOTH.finditer(text):
        lead = re.split(r"[,|.]", text[: match.start()])[-1]
        apart = "," in match[0] and _OWN_CLAUSE.match(text[match.end() :])
        if free(match) and not apart and not re.search(r"\b(?:no|not|never|without)\b", lead):
            spans.append((match.start(), match.end(), ("hands", "feet"), "named"))
    for match in _ONLY.finditer(text):
        if free(match):
            word = next(v for v in match.groupdict().values() if v)
            spans.append((match.start(), match.end(), (_limb(word),), "only"))
    for match in _BARRED.finditer(text):
        if free(match):
            word = next(v for v in match.groupdict().values() if v)
            if word != "knee":
                spans.append((match.start(), match.end(), (_other(_limb(word)),), "barred"))
    for match in _NAMED.finditer(text):
        lead = re.split(r"[,|.]", text[: match.start()])[-1]
        if free(match) and not re.search(r"\b(?:no|not|never|nobody)\b", lead):
            word = next(v for v in match.groupdict().values() if v)
            spans.append((match.start(), match.end(), (_limb(word),), "named"))
    out: list[LimbSaid] = []
    for begin, end, limbs, how in sorted(spans):
        item = skeleton.item_at(begin)
        last = skeleton.item_at(end - 1)
        if _after_out(skeleton, acts, item):
            continue
        mention, focus = _tied(skeleton, acts, item, last, how)
        blow = next((int(x[1:]) for x in reversed(skeleton.items[:item]) if x.startswith("@")), None)
        if blow is not None and mention in (blow, None) and _is_blow(skeleton, blow):
            mention, focus = _given(skeleton, blow)
        out.append(LimbSaid(limbs, how, mention, item, focus))
    return tuple(out)


def _is_blow(skeleton: Skeleton, mention: int) -> bool:
    place = skeleton.items.index(f"@{mention}")
    return skeleton.mentions[mention].head in _BLOW and "give" in skeleton.items[max(0, place - 3) : place]


def _given(skeleton: Skeleton, blow: int) -> tuple[int | None, bool]:
    """What is given a blow: "the gong, and you give that a thump with your fist"."""
    items = skeleton.items
    place = items.index(f"@{blow}")
    earlier = [int(x[1:]) for x in items[:place] if x.startswith("@")]
    return (earlier[-1], False) if earlier else (None, True)


def _after_out(skeleton: Skeleton, acts: Sequence[Act], item: int) -> bool:
    """ "the chains are out, hands, feet, elbows, the lot" allows nothing."""
    outs = [a.item for a in acts if a.kind == "out" and a.item < item]
    if not outs:
        return False
    between = skeleton.items[max(outs) : item]
    return (
        len(between) <= 5
        and not any(x.startswith("@") for x in between[1:])
        and "but" not in between
        and "only" not in skeleton.items[item : item + 2]
    )


_BLOW = words("slap smack hit whack thump tap knock bang push pull kick touch tug bash pat clout smash punch squeeze ring wallop shove")
"""What one gives a thing: "a good thump"."""


def _of_its_clause(items: Sequence[str], item: int, last: int) -> int | None:
    """The thing that a clause says a limb is for ("and the knot is for the feet"), or in which it is ("feet inside the bath")."""
    if items[last].startswith("@"):
        return int(items[last][1:])
    begin = max((j + 1 for j in range(item) if items[j] in (",", "|", ".")), default=0)
    here = [j for j in range(begin, item) if items[j].startswith("@")]
    if "for" in items[max(begin, item - 1) : last + 1] and here and "with" not in items[here[-1] : item]:
        return int(items[here[-1]][1:])
    return None


def _tied(skeleton: Skeleton, acts: Sequence[Act], item: int, last: int, how: str) -> tuple[int | None, bool]:
    items = skeleton.items
    if (own := _of_its_clause(items, item, last)) is not None:
        return own, False
    ends = {a.item for a in acts if a.kind in ("start", "finish", "arrive", "out") and a.rule != "you are on x"}
    route = {a.item for a in acts if a.kind in ("in", "use", "there")}
    k = last + 1
    if k + 1 < len(items) and items[k] == "," and items[k + 1] in ("on", "along", "against"):
        k += 1
    while k < len(items) and items[k] in (
        "both",
        "can",
        "may",
        "go",
        "flat",
        "be",
        "also",
        "allow",
        "allowed",
        "okay",
        "fine",
        "only",
        "please",
        "all",
        "anywhere",
        "wherever",
        "however",
    ):
        k += 1
    if (
        items[last] not in ("on", "against", "around")
        and k < len(items)
        and items[k] in ("on", "against", "onto", "around", "to", "in", "for", "hold", "along", "over", "round", "under")
    ):
        k += 1
    elif items[last] not in ("on", "against", "around"):
        k = len(items)
    while k < len(items) and items[k] in ("any", "all", "of", "both", "down"):
        k += 1
    if k < len(items):
        if items[k].startswith("@"):
            return int(items[k][1:]), False
        if items[k] in ("it", "that", "those", "them", "these") and not _WHOLE.search(" ".join(items[k - 1 : k + 3])):
            return None, True
    if _WHOLE.search(" ".join(items[last + 1 : last + 5])) and not any(x.startswith("@") for x in items[last + 1 : last + 9]):
        return None, False
    before = [j for j in range(item) if items[j].startswith("@")]
    since = " ".join(items[before[-1] + 1 if before else 0 : item + 1])
    if how != "barred" and re.search(
        rf"\b(?:{VERB[3:-1]})(?: on| along| onto| to| up| over)? (?:it|that|them|those)\b(?: with| ,)*(?:"
        rf" [a-z]+)?$",
        since,
    ):
        return None, True  # "and you can haul on that with your hands"
    for j in reversed(before):
        if j in ends and j not in route:
            if "|" not in items[j:item] and "," not in items[j:item]:
                return int(items[j][1:]), False
            continue
        if j in route or (items[j + 1 : j + 2] in (("be",), (",",), ("take",)) and (j <= 1 or items[j + 1] == "take")):
            return int(items[j][1:]), False
    if re.match(r"(?:and |so |then )*it be $", " ".join(items[max(0, item - 2) : item]) + " ") and how == "only" and not before:
        return None, True
    if how == "only" and not before:
        for j in range(last + 1, min(len(items), last + 16)):
            if items[j].startswith("@") and j not in ends and items[j - 1] in ("on", "along", "up"):
                return int(items[j][1:]), False
    if how != "barred":
        for j in range(last + 1, min(len(items), last + 9)):
            if items[j].startswith("@") and j in route and j not in ends:
                return int(items[j][1:]), False
    if items[item - 2 : item] and re.search(
        r"(?:hit|touch|tap|use|hold|press) (?:it|that|them) (?:with|by)", " ".join(items[max(0, item - 3) : last + 1])
    ):
        return None, True
    if how != "barred" or before == []:
        rest = " ".join(items[last + 1 :])
        if re.search(r"\b(?:crawl|climb|walk|cross|use|hold|around|on) (?:on |along |up )?(?:it|them|those)\b", rest):
            return None, True
    return None, False
