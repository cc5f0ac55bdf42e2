"""What a listener drops: fillers, stumbles, what the speaker took back, and sentences that can hold no rule. For captions that are not word
for word.

In: words. Out: places of words, or a yes or no. What the rest means is the drafter's business.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course import Word
from annotator.rules.groups import age_key
from annotator.rules.lexicon import APPARATUS, BODY, COLOURS, CONTACT_VERBS, NUMBER, ORDINAL, PARTS, PLATFORMS, SIGNALS
from annotator.rules.lexicon import words as word_set
from annotator.rules.repairs import mend
from annotator.rules.text import Heard


def taken_back(words: Sequence[Word]) -> frozenset[int]:
    """Places (from 0) of the words that `mend` takes out: fillers, stumbles, and the replaced side of a correction.

    Examples
    --------
    >>> said = "Start on the red, sorry, the orange box, um, over there.".split()
    >>> [said[at] for at in sorted(taken_back([Word(start=i, end=i + 0.5, text=t) for i, t in enumerate(said)]))]
    ['the', 'red,', 'sorry,', 'um,']
    """
    pieces = [
        (at, Heard(piece.replace("’", "'"), word.start, word.end))
        for at, word in sorted(enumerate(words), key=lambda each: each[1].start)
        for piece in word.text.split()
        if any(sign.isalnum() for sign in piece)
    ]
    kept = {pieces[heard.order][0] for heard in mend([heard for _, heard in pieces])}
    return frozenset({at for at, _ in pieces} - kept)


_RULING = word_set(
    """
    out only no not never nothing don't doesn't didn't can't cannot won't mustn't needn't shouldn't isn't aren't nobody may must can
    allowed allow forbidden illegal legal fine okay fail fails foul fault penalty clear start starts finish finishes begin begins end ends
    stop retry retries try tries attempt chance win wins winner fastest furthest tie rule rules play bounds skip miss past over beyond
    count counts station obstacle next demonstration show
    children juniors seniors masters adults grown-ups everyone everybody anyone anybody
    """
)
_OFTEN_ELSE = word_set("go get make see work move put visit place back second first like try")
_TELLING = (
    APPARATUS | BODY | COLOURS | PARTS | PLATFORMS | SIGNALS | frozenset(CONTACT_VERBS) | frozenset(NUMBER) | frozenset(ORDINAL)
) - _OFTEN_ELSE


def may_say_a_rule(texts: Sequence[str], names: frozenset[str] = frozenset()) -> bool:
    """Whether words, put together, could be a part of a rule: they speak of a thing, limb, number, ruling, class, start or end.

    Errs towards yes. `names` are further words to look for, in lower case: those of stations and surfaces.

    >>> may_say_a_rule("I know some of you got here late.".split()), may_say_a_rule("The small children.".split())
    (False, True)
    """
    low = [text.lower().replace("’", "'").strip(".,;:?!\"'()-…—– ") for text in texts]
    if low and low[-1] == "in":
        return True
    for word in low:
        if {word, word.removesuffix("s"), word.removesuffix("es")} & (_RULING | _TELLING | names) and word not in _OFTEN_ELSE:
            return True
    return age_key(" ".join(low)) is not None
