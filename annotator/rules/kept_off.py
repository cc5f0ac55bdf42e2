"""Whom a sentence keeps off a thing that others may touch, in free words: "hold it when you want; for the exam class I take that back".

In: lines as read, and where in one a class is named. Out: whether that class is the one that may not. The model (reach.py) hears that a
class is told apart, and mostly that it may. Plain English, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.rules.called import named_at
from annotator.rules.class_rows import alternatives, one_of, word_of
from annotator.rules.classes import names_the_rest
from annotator.rules.likeness import same_head
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line

BACK = 2
"""Lines before that of the class in which all may be let to the thing."""
_NOT_THEY = re.compile(r"(?:\bnot|n't) (?:for |if )?(?:the |our |any |an? |you (?:'re|are) )*$")
_BARRED_TO = re.compile(
    r"\b(?:out|shut|closed|off|limits|barred|banned|forbidden|prohibited|taboo|bounds|nothing) (?:for|to) (?:(?:the|our|any|all|you) )*$"
)
_OUT_FOR_THEM = re.compile(
    r"^(?:[^.?!]* )?(?:do|does|go|goes|manage|manages)(?: \w+){0,2} without\b|"
    r"\bfor (?:them|you|those)(?: \w+){0,3} (?:is|are|'s|'re) (?:out|shut|closed|off|barred|forbidden)\b|"
    r"\b(?:is|are|'s|'re) (?:out|shut|closed|off|barred|forbidden) (?:for|to) (?:them|you)\b"
)
_INVITES = re.compile(
    one_of(
        r"\bhelp (?:yoursel\w*|yersel\w*)|\bfeel free|\bby all means|\bwhy not|\bgo nuts|\bfair game|\bas much as (?:you|ye)\b",
        r"\b(?:you|ye|one|we) (?:all )?(?:can|may|could|might)\b|\bhave the right\b|\bin order\b|\bi allow\b",
        r"\b(?:it|they|that|those|is|are|'s|'re) (?:all )?(?:in|fine|okay|ok|free|yours|there for|there to|good|grand|canny|allowed|"
        r"permitted|strong|welcome|open)\b",
        r"\bat (?:your|everyone 's|everybody 's|the) disposal|\b(?:for|of|to) (?:all|everyone|everybody|anyone|anybody|you all|yous)\b",
        r"\b(?:every(?:one|body)|any(?:one|body)|any person|all of (?:you|us|yous|ye|them))\b|\bif (?:you|ye) (?:need|want|like|fancy)\b",
        r"\b(?:hold|use|grab|take|catch|lean on|push off|hang on to|stand on|step on|tread on|sit on|swing (?:off|on)) "
        r"(?:it|them|that|those)\b",
        r"^(?:so |and |then )*(?:hold|use|grab|take|catch|lean|push|swing|step|stand|tread|sit)\b",
    )
)
"""What lets all to a thing, in free words."""
_FORBIDS = re.compile(
    r"n't\b|"
    + word_of(
        *alternatives(
            "not no never nae doh dinnae cannae out off away without banned forbidden closed shut forgo leave past alone unless but"
        ),
        *alternatives(
            "except excepted excepting bar barring exception skip skips around round clear spare neither nothing mayn't dispense"
        ),
        "apart from",
        "miss(?:es)? out",
        "other than",
        "pass by",
    )
)
"""What keeps somebody off it."""
_DENIED = re.compile(r"n't\b|\b(?:not|never|nae|doh|dinnae|cannae|out|without|leave|let|skip)\b")
"""What turns a following "take" round."""
_SAVE = re.compile(
    r"\b(?:except\w*|bar|barring|apart from|but not|only not|unless|save|other than|with the exception of|not)"
    r"(?: (?:for|of|to|the|our|my|those|you|ye|are|'re|if|an?))*$"
)
"""What stands before those who are taken out of all."""
_LETS = re.compile(
    r"\b(?:may|can|could|allowed|welcome|yours|uses?|too|also|well|gets?|have|has|take|hold)\b(?! (?:to|no|nae|not|nothing|n't|whistle)\b)"
)


def barred_to(line: Line, first: int) -> bool:
    """Whether a line bars something to the class that its token `first` begins: "closed for the juniors"."""
    return _BARRED_TO.search(_before(line, first)) is not None


def kept_off(line: Line, first: int, last: int) -> bool:
    """Whether a line says outright that the class at these tokens may not: "not the juniors", "the juniors go without"."""
    if _NOT_THEY.search(_before(line, first)):
        return True
    return not names_the_rest(line) and _OUT_FOR_THEM.search(_after(line, last)) is not None


def others_may(lines: Sequence[Line], at: int, first: int, last: int, thing: Mention) -> bool:
    """Whether all are let to a thing before a sentence, or a clause, that keeps a class off it.

    Parameters
    ----------
    lines
        The walk's lines.
    at, first, last
        Where the class is named: line, first and last token.
    thing
        What is ruled for it.
    """
    mine = lines[at]
    before, after = _before(mine, first), _after(mine, last)
    saved = _SAVE.search(before.strip()) is not None
    if saved and thing in mine.mentions and thing.last < first and _INVITES.search(before):
        return True
    keeps, lets = _FORBIDS.search(after), _LETS.search(after)
    if _told_to(after, thing.head):
        return False
    if names_the_rest(mine) or not (saved or (keeps is not None and (lets is None or keeps.start() < lets.start()))):
        return False
    earlier = [line for line in lines[max(0, at - BACK) : at] if not named_at(line)]
    about = [k for k, line in enumerate(earlier) if any(same_head(one.head, thing.head) for one in line.mentions)]
    texts = [" ".join(_lows(line)) for line in earlier[about[0] :]] if about else []
    return any(_INVITES.search(text) and not _FORBIDS.search(text) for text in texts)


def _told_to(text: str, thing: str) -> bool:
    """Whether a clause tells a class to use a thing, whatever else it keeps off: "the juniors walk round the post and take the rail"."""
    told = re.search(rf"\b(?:may|can|uses?|takes?|holds?|grab)\b (?:\w+ ){{0,2}}{re.escape(thing)}", text)
    return told is not None and not _DENIED.search(text[: told.start()])


def _lows(line: Line) -> list[str]:
    return [token.low.replace("\u2019", "'") for token in line.skeleton.sentence.tokens]


def _before(line: Line, first: int) -> str:
    return " ".join(_lows(line)[:first]) + " "


def _after(line: Line, last: int) -> str:
    return " ".join(_lows(line)[last + 1 :])
