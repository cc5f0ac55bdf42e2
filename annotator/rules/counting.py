"""What a speaker calls the stations when counting them: "activity one", "sign number two", "control three".

In: the sentences of a walk in small letters. Out: that word, so that the rest of the reading takes it for "station". It is looked for as
listeners find it: a word that is counted up from one through the whole walk, a good way apart.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.rules.lexicon import APPARATUS, NUMBER, ORDINAL, words

_KNOWN = frozenset({"station", "obstacle", "number", "event", "element", "challenge"})
_NO_STATION = words(
    """
    rule law point reason condition item remark thing matter warning reminder commandment page wave group team year grade class part step
    is are the to of only with for and at on in
    """
)
"""What else is counted."""
EARLY = 6  # words into a sentence in which a station is counted
APART = 3  # sentences from one station's number to the next, on average
LEFT_OUT = 2  # numbers in a row that may be told without the word
FEWEST = 4  # numbers told before a word is believed

_N = "|".join(sorted((word for word in NUMBER if NUMBER[word] > 0), key=len, reverse=True))
_ORD = "|".join(sorted((word for word in ORDINAL if ORDINAL[word] > 0), key=len, reverse=True))
_COUNTED = re.compile(rf"\b(?P<what>[a-z]+)(?: number)? (?P<n>{_N}|\d{{1,2}})\b|\b(?P<o>{_ORD}) (?P<what2>[a-z]+)\b")


def counting_word(sentences: Sequence[str]) -> str | None:
    """The word that is counted up through the walk; None where there is none but the usual.

    >>> counting_word([s for n in ("one", "two", "three", "four") for s in (f"game {n}, the net.", "start here.", "use it.", "end there.")])
    'game'
    """
    told: dict[str, list[tuple[int, int]]] = {}
    plainly: dict[str, set[str]] = {}  # the numbers told of a word that are no ordinals: "the second timber pad" counts no timbers
    for at, text in enumerate(sentences):
        for match in _COUNTED.finditer(text):
            word = match["what"] or match["what2"]
            if len(text[: match.start()].split()) < EARLY and word not in _KNOWN | _NO_STATION and word not in APPARATUS | ORDINAL.keys():
                told.setdefault(word, []).append((at, NUMBER[match["n"]] if match["n"] else ORDINAL[match["o"]]))
                plainly.setdefault(word, set()).update([match["n"]] if match["n"] else [])
    fits = {word: len(run) for word, counts in told.items() if len(plainly[word]) > 1 and (run := _run_up(counts)) and _told_apart(run)}
    return max(sorted(fits), key=lambda word: fits[word], default=None)


def _run_up(counts: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """The counts that go up, with a few left out at most."""
    run: list[tuple[int, int]] = []
    for at, number in counts:
        if (not run and number <= 2) or (run and 0 < number - run[-1][1] <= LEFT_OUT + 1):
            run.append((at, number))
    return run


def _told_apart(run: Sequence[tuple[int, int]]) -> bool:
    return len(run) >= FEWEST and run[-1][0] - run[0][0] >= APART * (len(run) - 1)


def as_station(text: str, word: str) -> str:
    """A sentence with "station" for that word where a number or an ordinal stands by it.

    >>> as_station("game two, and the last game", "game"), as_station("a board game", "game")
    ('station two, and the last station', 'a board game')
    """
    text = re.sub(rf"\b{word}(?=(?: number)? (?:{_N}|\d{{1,2}})\b)", "station", text)
    return re.sub(rf"\b({_ORD}|last|final|next|every|each|any) {word}\b", r"\1 station", text)
