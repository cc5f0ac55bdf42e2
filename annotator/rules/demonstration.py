"""Whether a demonstration was shown, and what it came to: clear, fail, or None."""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.course import Demonstration
from annotator.rules.skeleton import Skeleton

_ASKED = re.compile(
    r"\b(?:show (?:us|it|them|you|everybody|everyone|me|how)|give (?:us|it) (?:this|a go|a try|that)|off you go|on you go|go "
    r"for it|have a go|have a try|your turn|"
    r"demonstrate|demo|watch (?:how|her|him|them|this|\S+ (?:do|go|try))|be you ready|you be ready|ready \?|let us see|let "
    r"'s see|want to (?:go|try)|wanna (?:go|try)|"
    r"(?:will|go to|'ll|to|can|could you|do you|would you|want to|please) (?:show|demonstrate)|show it|over to you|when you be ready"
    r"|let 's have|let us have|"
    r"let be have|up you get|show everyone|in you go|come on then|be up next|give it a go|have a bash|have a shot|take us through"
    r"|walk us through|do the honours|"
    r"mind (?:give|show|try|go)|whenever you be ready|in your own time|up you go|away you go|take it away|a go of it|go ahead|go on)\b"
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
    r"|do not (?:reach|hold|get|"
    r"quite|count)|can not count|foot (?:touch|go|be) (?:down|the|on the)|go (?:down|in) |drop off|have fail|be wet"
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
_SOFT = re.compile(r"\b(?:well do|very good|lovely|good|brilliant|perfect)\b")
_CONDITION = re.compile(r"\b(?:if|who|whoever|anyone|anybody|unless|would be a fail because|remember|in case|otherwise)\b")
LONG_PAUSE_S = 3.5  # somebody is doing something meanwhile
WITHIN = 5  # sentences after the request in which the result is told


def shown_between(sentences: Sequence[Skeleton]) -> frozenset[int]:
    """Places of the sentences in which a demonstration is watched: after it is asked for, up to and with its result."""
    for i, sentence in enumerate(sentences):
        if sentence.sentence.pause_s >= LONG_PAUSE_S or _ASKED.search(sentence.text):
            result, told = find_demonstration(sentences[i : i + 1 + WITHIN])
            if result is not None:
                return frozenset(range(i + 1, next(k for k, each in enumerate(sentences) if each is told) + 1))
    return frozenset()


def find_demonstration(sentences: Sequence[Skeleton]) -> tuple[Demonstration | None, Skeleton | None]:
    """The result of the first demonstration among a station's sentences, and the sentence that tells it."""
    for i, sentence in enumerate(sentences):
        paused = sentence.sentence.pause_s >= LONG_PAUSE_S
        if not (paused or _ASKED.search(sentence.text)):
            continue
        for later in sentences[i + 1 : i + 1 + WITHIN]:
            text = later.text
            if _CONDITION.search(text) and not re.search(r"\bso that be a (?:fail|fall)\b", text):
                continue
            if _FAIL.search(text) and not re.search(r"\bnot a (?:fail|fall)\b", text):
                return "fail", later
            if _CLEAR.search(text) or _CLEAR_ALONE.search(text):
                return "clear", later
    for sentence in sentences:
        told = (
            None
            if _CONDITION.search(sentence.text) or re.search(r"\b(?:last|yesterday|earlier)\b|\?", sentence.text)
            else _TOLD.search(sentence.text)
        )
        if told:
            return ("clear" if told["clear"] else "fail"), sentence
    return None, None


def asks_for_one(sentence: Skeleton) -> bool:
    """Whether the sentence asks somebody to show the station."""
    return bool(_ASKED.search(sentence.text)) or sentence.sentence.pause_s >= LONG_PAUSE_S
