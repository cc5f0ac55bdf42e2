"""Whether a demonstration was shown, and what it came to: clear, fail, or None."""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.course import Demonstration
from annotator.rules.phrases import Skeleton

_ASKED = re.compile(
    r"\b(?:show (?:us|it|them|you|everybody|everyone|me|how)|give (?:us|it) (?:this|a go|a try|that)|off you go|on you go|go "
    r"for it|have a go|have a try|your turn|"
    r"demonstrate|demo|watch (?:how|her|him|them|this|\S+ (?:do|go|try))|be you ready|you be ready|ready \?|let us see|let "
    r"'s see|want to (?:go|try)|wanna (?:go|try)|"
    r"mind (?:give|show|try|go)|whenever you be ready|in your own time|up you go|away you go|take it away|a go of it|go ahead|go on)\b"
)
_CLEAR = re.compile(
    r"\b(?:a clear|be clear|be all clear|clear run|as clear|good , clear|all clean|be clean|clean as|nicely "
    r"do|well do|very good|very nice|perfect|beautiful|"
    r"brilliant|excellent|lovely|flawless|nail|correct|make it|superb|spot on|not a bother|just like that|textbook|be valid|a ripper"
    r"|do it "
    r"right|count as clear|no fault|that be it exactly)\b"
)
_CLEAR_ALONE = re.compile(r"(?:^|, )clear(?= [,.]|$)")
_FAIL = re.compile(
    r"\b(?:a fail|a fall|fail|bad luck|hard luck|tough luck|unlucky|oh no|bummer|fall off|do not make it|not clear|no good , "
    r"that|touch the (?:floor|ground)|be down|"
    r"not valid|invalid|(?:do|will) not count|be in the water|be on the (?:grass|floor|ground)|be off|unfortunately|oh dear|"
    r"so close|disqualify)\b"
)
_SOFT = re.compile(r"\b(?:well do|very good|lovely|good|brilliant|perfect)\b")
_CONDITION = re.compile(r"\b(?:if|who|whoever|anyone|anybody|unless|would be a fail because|remember|in case|otherwise)\b")
LONG_PAUSE_S = 3.5  # somebody is doing something meanwhile
WITHIN = 5  # sentences after the request in which the result is told


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
    return None, None


def asks_for_one(sentence: Skeleton) -> bool:
    """Whether the sentence asks somebody to show the station."""
    return bool(_ASKED.search(sentence.text)) or sentence.sentence.pause_s >= LONG_PAUSE_S
