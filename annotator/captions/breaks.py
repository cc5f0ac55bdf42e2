"""How well a text may be broken between two words. Pure: words in, one cost for each place out.

The order of good places (sentence, clause, phrase) and the pairs that stay together (article and noun, preposition and phrase,
conjunction and clause, pronoun and verb, parts of a verb) are the BBC's Subtitle Guidelines 1.2.5, sections 3.2 to 3.10.
The costs themselves are ours; they set how much unevenness one good break is worth.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

SENTENCE, CLAUSE, PHRASE, PREPOSITION, LOOSE, PAIR, NEVER = 0.0, 1.0, 2.0, 3.0, 6.0, 40.0, 1000.0
PAUSE_MS = 500  # a speaker's pause is a clause's end, whatever the recogniser made of it


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


ARTICLES = _set(
    """a an the this that these those each every any some no my your his her its our their both all which what whose first second third
    fourth fifth sixth last next another other same only very"""
)
_NO_END = _set("a an the your my our their every")
# What stands between an article and its noun: with one of these, the noun has not come yet.
ADJECTIVES = _set(
    """red blue green yellow white black orange purple brown grey gray pink silver gold golden dark light big small little large long short
    tall high low lower upper top bottom left right middle front back near far wide narrow thick thin flat round steel wooden metal rubber
    plastic foam padded soft hard old new one two three four five six seven eight nine ten final main whole lovely great good"""
)
PREPOSITIONS = _set(
    """of in on at to for from with without by into onto over under across along around between behind beside before after through past
    against above below off up down inside outside until near as than like per"""
)
CONJUNCTIONS = _set("and but or so because if when while where which who that until unless although though then nor as")
SUBJECTS = _set("i you he she it we they who there")
VERBS = _set(
    """is are am was were be been being do does did don't doesn't didn't has have had can can't cannot could may might must will won't would
    should shall shouldn't needn't mustn't i'm you're he's she's it's we're they're that's there's you'll we'll i'll it'll you've we've i've
    not going gonna let's"""
)
_PLAIN = re.compile(r"[^a-z0-9']+")


@lru_cache(maxsize=8192)
def plain(word: str) -> str:
    """A word without case and punctuation."""
    return _PLAIN.sub("", word.lower().replace("’", "'")).strip("'")


def break_costs(words: Sequence[str], pauses_ms: Sequence[int], names: Iterable[str] = ()) -> list[float]:
    """The cost of breaking after each word but the last; 0 is best, `NEVER` is never.

    Parameters
    ----------
    words
        As they are shown, with punctuation.
    pauses_ms
        Silence after each word; as many as there are words.
    names
        Names of more than one word (stations, surfaces), which are not torn apart.

    Examples
    --------
    >>> break_costs("Off the bar. The blue platform".split(), [0] * 6)
    [1000.0, 1000.0, 0.0, 1000.0, 1000.0]
    """
    texts = [plain(word) for word in words]
    costs = [_cost(words[at], texts[at], texts[at + 1], pauses_ms[at]) for at in range(len(words) - 1)]
    _keep_noun(words, texts, costs)
    _keep_names(texts, costs, names)
    return costs


def _cost(word: str, text: str, following: str, pause_ms: int) -> float:
    end = word.rstrip("\"'”’)]")[-1:]
    if end in (".", "?", "!", "…"):
        return SENTENCE
    if end in (",", ";", ":", "–", "—") or word in ("-", "–", "—"):
        return PAIR if text in _NO_END else CLAUSE  # "on the, er, the green one": a speaker looks for a word, no clause ends
    if text in ARTICLES or text in PREPOSITIONS:
        return NEVER if text not in ("up", "down", "off", "over", "that") or following in ARTICLES else PAIR
    if pause_ms >= PAUSE_MS:
        return CLAUSE
    if text in CONJUNCTIONS or text in VERBS or (text in SUBJECTS and following not in CONJUNCTIONS):
        return PAIR
    if following in CONJUNCTIONS:
        return PHRASE
    return PREPOSITION if following in PREPOSITIONS else LOOSE


def _keep_noun(words: Sequence[str], texts: Sequence[str], costs: list[float]) -> None:
    """Between an article and its noun stand adjectives: no break after those either."""
    open_phrase = False
    for at, cost in enumerate(costs):
        if cost in (SENTENCE, CLAUSE) and words[at][-1:] in ".,;:?!":
            open_phrase = False
        elif texts[at] in ARTICLES:
            open_phrase = True
        elif texts[at] in ADJECTIVES:
            if texts[at + 1] not in CONJUNCTIONS | PREPOSITIONS | VERBS | SUBJECTS:
                costs[at] = NEVER if open_phrase else PAIR
        else:
            open_phrase = False


def _keep_names(texts: Sequence[str], costs: list[float], names: Iterable[str]) -> None:
    wanted: dict[str, list[tuple[str, ...]]] = {}
    for name in names:
        parts = tuple(part for part in map(plain, name.split()) if part)
        if len(parts) > 1:
            wanted.setdefault(parts[0], []).append(parts)
    if not wanted:
        return
    for at, text in enumerate(texts):
        for parts in wanted.get(text, ()):
            if tuple(texts[at : at + len(parts)]) == parts:
                for inside in range(at, at + len(parts) - 1):
                    costs[inside] = max(costs[inside], PAIR)
