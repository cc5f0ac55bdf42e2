"""Words that mostly are nothing to touch, where they are a thing: "the bus stop", "you land on the stage", "the milk can".

In: the tokens around a word. Out: whether it is a thing there. A noun with an abstract sense means the concrete one where a noun before it
tells of what kind it is, or where somebody is on it or strikes it. phrases.py asks. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.rules.lexicon import BODY, COLOURS, NOT_A_SURFACE, words
from annotator.rules.text import Token

_THINGS_OF_A_KIND = words(
    """
    sheet paper towel case weight stop clock light point spot mark piece member limb landing tie picture tray car cover machine step tape
    chest drop whistle sign runner chair lamp stage mirror camera roll band arm elbow cup
    """
)
"""Nouns that mostly are nothing to touch, and are a thing of the kind that a noun before them tells: "the dust sheet"."""
_STOOD_ON = words("stage landing clock towel sheet paper weight whistle limb step machine skin tie sign mirror cover chair mark")
"""Nouns that mostly are nothing to touch, and are a thing where somebody is said to be on it, to come off it or to strike it."""
_IN_CANS = words("milk watering trash garbage rubbish petrol gas oil diesel fuel paint beer soda spray biscuit film water coffee jerry")
_TO_A_THING = words("on onto off from hit slap tap touch press strike grab hold ring kick punch bang smack thump whack blow sound over")


def kind_of_thing(span: Sequence[Token], determiner: str | None) -> bool:
    """ "The bus stop", "the cable ties": a noun that a plain noun before it makes a thing of a kind."""
    if len(span) < 2 or span[-1].lemma not in _THINGS_OF_A_KIND or span[-2].tag not in ("NN", "NNP") or determiner in ("no", "any", "your"):
        return False
    kind = span[-2]
    return kind.lemma not in BODY | NOT_A_SURFACE and kind.low not in COLOURS and (determiner is not None or span[-1].tag in ("NN", "NNS"))


def met(tokens: Sequence[Token], begin: int, span: Sequence[Token], determiner: str | None) -> bool:
    """ "You land on the stage", "hit the clock": the verb or preposition before it is one of things."""
    if determiner not in ("the", "that", "this", "those", "these", "a") or span[-1].lemma not in _STOOD_ON or begin == 0:
        return False
    return (
        span[-1].tag in ("NN", "NNS")
        and tokens[begin - 1].lemma in _TO_A_THING
        and all(t.lemma not in NOT_A_SURFACE | BODY for t in span[:-1])
    )


def is_a_can(tokens: Sequence[Token], i: int) -> bool:
    """ "The milk can is the start": "can" behind what such a thing holds; of anything else it says that it is allowed ("side rope can")."""
    return tokens[i - 1].low in _IN_CANS
