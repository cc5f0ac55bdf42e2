"""Whether a demonstration was shown, and what it came to: clear, fail, or None.

Usual words tell what one came to after it was asked for or watched in silence. After a silence, so does any judgement of it or report of
what somebody did: a good word, a bad word, or a mishap in the past tense, each turned round by a negation ("no fault", "that would not
count", "never touched the rail").
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from annotator.course import Demonstration
from annotator.rules.lexicon import APPARATUS
from annotator.rules.skeleton import Skeleton

_ASKED = re.compile(
    r"\b(?:show (?:us|it|them|you|everybody|everyone|me|how)|give (?:us|it) (?:this|a go|a try|that)|off you go|on you go|go "
    r"for it|have a go|have a try|your turn|"
    r"demonstrate|demo|watch (?:how|her|him|them|this|\S+ (?:do|go|try))|be you ready|when you be ready|ready \?|let us see|let "
    r"'s see|want to (?:go|try)|wanna (?:go|try)|"
    r"(?:will|go to|'ll|to|can|could you|do you|would you|want to|please) (?:show|demonstrate)|show it|over to you|when you be ready"
    r"|let 's have|let us have|"
    r"let be have|up you get|show everyone|in you go|come on then|be up next|give it a go|have a bash|have a shot|take us through"
    r"|walk us through|do the honours|"
    r"mind (?:give|show|try|go)|whenever you be ready|in your own time|up you go(?! ,? ?(?:hand|foot|leg|with|on|the|@|over|along))|"
    r"away you go|take it away(?! from)|a go of it|(?<!to )go ahead|"
    r"go on(?! (?:@|the|to|with|for|until|till|in|up|down|over|from|hand|foot)))\b"
)
_CLEAR = re.compile(
    r"\b(?:a clear|be clear|be all clear|clear run|as clear|good , clear|all clean|be clean|clean as|nicely "
    r"do|well do|very good|very nice|perfect|beautiful|"
    r"brilliant|excellent|lovely|flawless|nail|correct|make it|superb|spot on|not a bother|just like that|textbook|be valid|a ripper"
    r"|do it "
    r"right|count as clear|valid|"
    r"accord to the rule|how it be do|how you do it|that be the way|that be how|job do|good as gold|go clean|get round"
    r" clean|clean run|clean round|clear round|"
    r"all the way|make that look|that count|no mistake|safe and sound|spotless|bang on|ace|cleared it|have clear|be through"
    r"|done and dusted|no fault|that be it exactly)\b"
)
_CLEAR_ALONE = re.compile(r"(?:^|, )clear(?= [,.]|$)")
_FAIL = re.compile(
    r"\b(?:a fail|a fall|fail|bad luck|hard luck|tough luck|unlucky|oh no|bummer|fall off|do not make it|not clear|no good , "
    r"that|touch the (?:floor|ground)|be down|"
    r"not valid|invalid|(?:do|will) not count|be in the water|be on the (?:grass|floor|ground)|be off|unfortunately|oh dear|"
    r"so close|disqualify|come off|slip|lose (?:his|her|your|the|it)|splash|be a pity|what a (?:pity|shame)|such a shame|not quite"
    r"|do not count|"
    r"can not count|foot (?:touch|go|be) (?:down|the|on the)|go (?:down|in) |drop off|have fail|be wet"
    r"|that be a (?:no|buzz|fault|foul|miss)|not clean|"
    r"be out of it|start again|have to (?:call|give) (?:that|it) a)\b"
)
_TOLD = re.compile(
    r"\b(?P<clear>(?!(?:to|me|us|i|we|you|it|all|this|these|those|everything|everybody|everyone) )"
    r"(?:he|she|they|@\d+|that|\w+) (?:have )?(?:just )?(?:go|get round|do it|make it|be|walk it) (?:clean|clear|clean"
    r" as|through clean)|be (?:clean|clear) as)\b|"
    r"\b(?P<fail>(?:he|she|they) (?:have )?(?:just )?(?:come off|fall off|fall|slip off|drop off|go in) (?:at|on|by|after|before) )"
)
"""A try told and not announced: "Sam went clean", "she came off at the third"; "to be clear" and "is that clear?" tell of none."""
_CONDITION = re.compile(
    r"^(?:and |so |but |, )*(?:a|any|one) (?:hand|foot|knee|finger|toe)\b[^,]* (?:be|count)\b|"
    r"\b(?:if|who|whoever|anyone|anybody|unless|would be a fail because|remember|in case|otherwise)\b"
)
_DID_NOT = re.compile(r"\bdid (?:not|n't) (?:\w+ )?(?:reach|hold|get|quite|manage)\b")
_NOT = re.compile(r"\b(?:not|n't|never|no|nothing|without|nobody|none|neither|hardly)\b")
_GOOD = re.compile(
    r"(?<!\w)(?:clear|clean|valid|perfect|immaculate|faultless|spotless|flawless|counts?|counted|stands?(?! (?:on|in|at|up|there|down))|"
    r"stood(?! on)|(?:be|been|is|was|'s) (?:given|good|fine|right|allowed|legal|home|through|correct)|(?:a|that's|is) pass|passed|"
    r"full marks|ten out of ten|legal (?:run|round|try|go)|approved|"
    r"within the rules|by the book|as it should be|how it should be|what (?:we|i|they) (?:want|like)|"
    r"green light|white flag|made it|neat|tidy|properly|outstanding|splendid|wonderful|marvellous|fantastic|gorgeous|magnificent|great|"
    r"impeccable|yep|(?:just )?like (?:that|so)|as good as|good as|well good|a clap|clap for|(?:how|the way) (?:it|you|we|i)"
    r"(?: \w+){0,2} (?:look|looks|done|want|like)|so it should|to the letter|without a (?:fault|touch|mistake|wobble))(?!\w)"
)
_BAD = re.compile(
    r"(?<!\w)(?:fail(?:s|ed|ure)?|faults?|foul(?:s|ed)?|nil|nought|zero|wrong|complaints?|mistakes?|errors?|against the rules|no good|"
    r"bust|null|void|no score|(?:that|one|it) ?'s a no|not good|not right|(?:not|n't) (?:copy|pass|have that|give that|"
    r"do (?:it|that) like)|"
    r"nope|short|too (?:early|late|far|soon)|never mind|poor (?:lamb|thing|lad|girl|boy|old|soul|man|woman)|unlucky|bad luck|"
    r"red (?:flag|light|card)|not like that|(?:a|that's|that is) miss|(?:that's|that is|is|was) nothing(?! wrong)|"
    r"go again|start again|walk(?:ing)? home|dud|"
    r"(?:him|her|(?:you|he|she|that)(?: 's| is| are| 're| was)) (?:\w+ )?out(?= |$)(?! (?:of|on|there|here))|"
    r"in the (?:drink|water|ditch|mud|wet|hedge)|(?:hand|foot|knee|heel|boot|toe|shoe)s? (?:down|on (?:the|it)))\b"
)
_SOMEBODY = (
    r"(?:he|she|they|you|somebody|"
    r"(?:his|her|their|your|the|a|one|that) (?:\w+ )?(?:hand|foot|heel|toe|knee|elbow|leg|arm|finger|shoe|boot)s?|"
    r"(?!(?:i|we|it|there|who|which|what|not|never|and)\b)[a-z]+)"
)
_MISHAP = re.compile(
    rf"(?:^|\b){_SOMEBODY}(?: (?:'s|has|have|had|just|only|even|did|n't|not|never|once|ever|also|then))* "
    r"(?:touch(?:ed)?|clip(?:ped)?|brush(?:ed)?|grab(?:bed)?|lean(?:t|ed)|caught|tip(?:ped)?|slip(?:ped)?|drop(?:ped)?|fell|fallen|let go|"
    r"ran|run|overshot|used|held|hung|trod|kicked|knocked|took|taken|went (?:down|in|over)|"
    r"sat|landed|skip(?:ped)?|miss(?:ed)?|lost|left|cheated)\b"
)
"""What goes wrong, told of somebody in the past; "he never touched it" tells that it did not."""
_RULES = re.compile(
    r"(?:^|, )(?:(?:and|so|but|now|then) )*(?:do n't|don't|do not|use|keep|start|finish|you (?:start|finish|begin|end|can|may|must))\b"
    r"|\b(?:last (?:year|week|time|night|season)|yesterday|used to|(?:here|there) once)\b"
)
_THING_IS = re.compile(r"(?:^|[,|] )(?:(?:and|so|but|now|then|,) )*@\d+ be\b")
"""What rules something or tells of another day, and judges nothing."""
_PAST = frozenset({"VBD", "VBN"})
SHORT = 7  # words of a sentence that may be nothing but a verdict
LONG_PAUSE_S = 3.5  # somebody is doing something meanwhile
WITHIN = 5  # sentences after the request in which the result is told


def shown_between(sentences: Sequence[Skeleton]) -> frozenset[int]:
    """Places of the sentences in which a demonstration is watched: after it is asked for, up to and with its result."""
    for i, sentence in enumerate(sentences):
        if sentence.sentence.pause_s >= LONG_PAUSE_S or _ASKED.search(sentence.text):
            result, told = find_demonstration(sentences[i : i + 1 + WITHIN])
            if result is not None:
                at = next(k for k, each in enumerate(sentences) if each is told)
                asked = [k for k in range(i, at) if asks_for_one(sentences[k]) or calls_somebody(sentences[k])]
                return frozenset(range(max(asked, default=i) + 1, at + 1))
    return frozenset()


def find_demonstration(sentences: Sequence[Skeleton]) -> tuple[Demonstration | None, Skeleton | None]:
    """The result of the first demonstration among a station's sentences, and the sentence that tells it."""
    for i, sentence in enumerate(sentences):
        paused = sentence.sentence.pause_s >= LONG_PAUSE_S
        called = calls_somebody(sentence)
        if not (paused or called or _ASKED.search(sentence.text)):
            continue
        for later in sentences[i + 1 : i + 1 + WITHIN]:
            text = later.text
            if _CONDITION.search(text) and not re.search(r"\bso that be a (?:fail|fall)\b", text):
                continue
            if (_FAIL.search(text) or _DID_NOT.search(later.sentence.text)) and not re.search(r"\bnot a (?:fail|fall)\b", text):
                return "fail", later
            if _CLEAR.search(text) or _CLEAR_ALONE.search(text):
                return "clear", later
            if (paused or (called and not _YOU_END.search(later.sentence.text))) and (judged := _judged(later)) is not None:
                return judged, later
            called = called or calls_somebody(later)
    for sentence in sentences:
        told = (
            None
            if _CONDITION.search(sentence.text) or re.search(r"\b(?:last|yesterday|earlier)\b|\?", sentence.text)
            else _TOLD.search(sentence.text)
        )
        if told:
            return ("clear" if told["clear"] else "fail"), sentence
    return None, None


CALL = 12  # words of a sentence that calls somebody


def calls_somebody(sentence: Skeleton) -> bool:
    """Whether a short sentence calls somebody by name to do the station, or tells who will: "Ann, go through it.", "Off you go, Ann."."""
    tokens = sentence.sentence.tokens
    if sum(token.low[0].isalnum() for token in tokens) > CALL or any(token.tag in _PAST for token in tokens):
        return False
    lows = [token.low for token in tokens]
    if _GREETS & set(lows):
        return False
    for k, token in enumerate(tokens):
        if token.tag not in ("NNP", "NNPS") or token.low in APPARATUS:
            continue
        opens = k == 0 or lows[k - 1] in (",", "then", "and", "again") or tokens[k - 1].tag == "UH"
        last = k
        while last + 1 < len(tokens) and tokens[last + 1].tag in ("NNP", "NNPS"):
            last += 1
        after = lows[last + 1] if last + 1 < len(tokens) else "."
        if opens and (
            after in (",", ".", "!", "?", "again") or (after in ("will", "'ll", "is", "'s") and _WILL_DO.search(" ".join(lows[k:])))
        ):
            return True
    return False


_GREETS = frozenset({"hello", "hi", "hiya", "morning", "afternoon", "evening", "thanks", "thank", "cheers", "sorry", "bye"})
_YOU_END = re.compile(r"\byou(?:'re| 're| are) (?:\w+ )?(?:through|home|done|finished|there|it|over|clear)\b")
"""Where a station ends, in words that judge a try as well."""
_WILL_DO = re.compile(r"(?:will|'ll|going to|gonna|about to) (?:\w+ )?(?:show|do|go|try|demonstrate|run|have|give|climb)\b")


def _judged(sentence: Skeleton) -> Demonstration | None:
    """What a sentence behind a silence says of what was watched, by good and bad words and mishaps; None where it judges nothing."""
    tokens = sentence.sentence.tokens
    if (
        any(token.tag == "MD" and token.low not in ("would", "'d", "could", *_should(sentence)) for token in tokens)
        or tokens[-1].low == "?"
    ):
        return None
    if _RULES.search(sentence.sentence.text) or _THING_IS.search(sentence.text):
        return None
    past = any(token.tag in _PAST for token in tokens)
    if not past and sum(token.low[0].isalnum() for token in tokens) > SHORT and not _OF_IT.search(sentence.sentence.text):
        return None
    results: list[Demonstration] = []
    for clause in re.split(r" ?[,.;:] ?| but ", sentence.sentence.text):
        for pattern, good in ((_BAD, False), (_GOOD, True), (_MISHAP if past else None, False)):
            match = pattern.search(clause) if pattern is not None else None
            if match is not None:
                turned = _NOT.search(clause[: match.end() if pattern is _MISHAP else match.start()]) is not None
                results.append("clear" if good != turned else "fail")
                break
    return None if not results else "fail" if "fail" in results else "clear"


def _should(sentence: Skeleton) -> tuple[str, ...]:
    """ "Just how it should look" judges; "you should look down" does not."""
    return ("should",) if re.search(r"\bhow (?:it|that|this|you|one|they) should\b", sentence.sentence.text) else ()


_OF_IT = re.compile(
    r"\b(?:call|give|make|score|mark)s? (?:that|it|him|her|them)\b|\b(?:with|for|in|to) (?:that|it|him|her)(?= [,.])|"
    r"\b(?:that|he|she|(?:this|that) one|it)(?: is| 's| was| would| 'd| does| did)(?!\w)"
)
"""Said of what was watched, or of whom."""


TOLD = 3.4
"""What patterns count, in log odds, beside the language model. Of 605 stations whose speakers taught it nothing patterns alone have 26
wrong, and all together 15; 20 with 3 for this and without VERDICT."""
VERDICT = 3.0
"""What the words of a verdict count for or against what the model makes of their sentence: it hears well that something was shown, and
patterns whether it was clear."""


def weighed_demonstration(
    told: Demonstration | None, sentence: Skeleton | None, sentences: Sequence[Skeleton], odds: NDArray[np.float64]
) -> tuple[Demonstration | None, Skeleton | None]:
    """The result of a station's demonstration by patterns and language model together, and the sentence that tells it.

    Parameters
    ----------
    told, sentence
        What `find_demonstration` found.
    sentences
        The station's sentences.
    odds
        (n, 2): the log odds that each of them tells that one was clear, or failed (sentences.py).
    """
    if not len(sentences):
        return told, sentence
    results: tuple[Demonstration | None, ...] = (None, "clear", "fail")
    signs = np.array([{"clear": 1.0, "fail": -1.0, None: 0.0}[_verdict(each)] for each in sentences])
    odds = odds + VERDICT * np.stack([signs, -signs], axis=1)
    sums = [0.0, *np.logaddexp.reduce(odds, axis=0)]
    sums[results.index(told)] += TOLD
    best = max(range(3), key=lambda k: sums[k])
    if results[best] == told:
        return told, sentence
    return results[best], sentences[int(odds[:, best - 1].argmax())] if best else None


def _verdict(sentence: Skeleton) -> Demonstration | None:
    """What the words of a sentence come to if somebody was watched."""
    if _CONDITION.search(sentence.text):
        return None
    judged = _judged(sentence)
    return judged or ("fail" if _FAIL.search(sentence.text) else "clear" if _CLEAR.search(sentence.text) else None)


def asks_for_one(sentence: Skeleton) -> bool:
    """Whether the sentence asks somebody to show the station."""
    return bool(_ASKED.search(sentence.text)) or sentence.sentence.pause_s >= LONG_PAUSE_S
