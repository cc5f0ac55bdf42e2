"""Phrases whose noun is left out: "the yellow", "the green one", "blue, fine", after "two trapezes".

In: a sentence's tokens and phrases, then the skeletons of a walk in order. Out: the same, where such a phrase has the noun that it leaves
out: that of several things spoken of shortly before, else that of a thing of another colour. Also colours told after their noun ("the
ring, orange,"). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.lexicon import APPARATUS, COLOURS, words
from annotator.rules.phrases import Mention
from annotator.rules.text import Token

NEAR = 8
"""Sentences back in which the noun was said."""
_COLOURS = COLOURS - words("wood cream lime navy")
"""Words that tell a colour wherever they stand; the others are mostly stuffs and fruit."""
_NO_NOUN = frozenset({"PUNCT", "AUX", "VERB", "ADP", "CCONJ", "SCONJ", "ADV", "PART", "PRON", "DET", "INTJ"})
"""What may follow a colour that has no noun."""
_BEFORE = words("the any all only just both every that")
_OPENS = words(", . and but so then no not")
_SAID_OF = words("is 's ’s are , no yes")
_ONE = ("one", "ones")
_OF_PEOPLE = words("little big tall short small")
"""Words before "ones" by which people are told apart as well."""


def with_colours_alone(tokens: Sequence[Token], found: Sequence[Mention]) -> tuple[Mention, ...]:
    """The phrases with those that are a colour alone, as phrases of "one", and with colours told after their noun."""
    out: list[Mention] = []
    after = 0
    for mention in [*found, None]:
        until = mention.first if mention else len(tokens)
        out += _alone(tokens, after, until)
        if mention is not None:
            told = _told_after(tokens, mention)
            if mention.head in _COLOURS and len(mention.words) == 1 and not mention.part and tokens[mention.last].low in _COLOURS:
                told = _one(tokens, mention.first, mention.last, mention.determiner)
            out.append(told)
            after = told.last + 1
    return tuple(out)


def _alone(tokens: Sequence[Token], begin: int, end: int) -> list[Mention]:
    """The colours alone among the tokens from `begin` up to `end`, which are of no phrase."""
    out = []
    for k in range(begin, end):
        if tokens[k].low not in _COLOURS:
            continue
        after = tokens[k + 1] if k + 1 < len(tokens) else None
        before = tokens[k - 1].low if k else "."
        if after is not None and (after.pos not in _NO_NOUN or after.low in _COLOURS or after.text == "-" or before == "-"):
            continue
        if [token.low for token in tokens[k + 1 : k + 3]] == [",", tokens[k].low]:
            continue  # "the orange, orange hoop"
        if k > begin and before in _BEFORE:
            out.append(_one(tokens, k - 1, k, before))
        elif before in _OPENS and after is not None and after.low in _SAID_OF and (after.low != "," or before in (".", "not", "no")):
            out.append(_one(tokens, k, k, None))
    return out


def _one(tokens: Sequence[Token], first: int, last: int, determiner: str | None) -> Mention:
    colour = tokens[last].low
    many = last + 1 < len(tokens) and tokens[last + 1].low == "are"
    return Mention("one", (colour,), frozenset({colour}), many, determiner, first, last)


def _told_after(tokens: Sequence[Token], mention: Mention) -> Mention:
    """ "The ring, orange, is yours": the colour is of the thing before it, unless a list of colours begins there."""
    at = mention.last + 1
    if mention.colours or mention.part or mention.is_part or at + 1 >= len(tokens) or tokens[at].text != ",":
        return mention
    colour, after = tokens[at + 1], tokens[at + 2] if at + 2 < len(tokens) else None
    further = [token.low for token in tokens[at + 2 : at + 4]]
    listed = any(word in COLOURS for word in further)
    if colour.low not in COLOURS or listed or (after is not None and after.text[0] not in ",.?!"):
        return mention
    return replace(mention, words=(colour.low, *mention.words), mods=mention.mods | {colour.low}, last=at + 1)


def of_no_noun(mention: Mention) -> bool:
    """Whether a phrase is a colour alone, and nothing before told of what."""
    return mention.head == "one" and mention.words[-1] not in _ONE


def name_what_is_left_out(mentions: Sequence[Sequence[Mention]]) -> list[tuple[Mention, ...]]:
    """The phrases of sentences in order, those without a noun by what was spoken of before. Linear in their number."""
    out: list[tuple[Mention, ...]] = []
    recent: list[tuple[int, Mention]] = []
    for at, of_line in enumerate(mentions):
        recent = [each for each in recent if at - each[0] <= NEAR]
        named: list[Mention] = []
        for mention in of_line:
            open_noun = mention.head == "one" and not mention.mods & _OF_PEOPLE
            told = _named(mention, [each for _, each in recent]) if open_noun else mention
            named.append(told)
            if told.head != "one" and not told.is_part and told.head not in _COLOURS:
                recent.append((at, replace(told, part=None)))
        out.append(tuple(named))
    return out


def _named(mention: Mention, given: Sequence[Mention]) -> Mention:
    meant = [told for told in given if _several(told) or (mention.colours and told.colours and not told.colours & mention.colours)]
    usual = [told for told in meant if told.head in APPARATUS or told.count is not None]
    return with_noun_of(mention, (usual or meant)[-1]) if meant else mention


def _several(told: Mention) -> bool:
    """Whether a phrase gives several things of a kind, some of which may be told apart by a colour."""
    given = told.head in APPARATUS or told.count is not None or told.determiner in ("the", "these", "those", "some")
    return told.plural and not told.colours and given


def with_noun_of(mention: Mention, meant: Mention) -> Mention:
    """A phrase without a noun, with that of another one."""
    said_one = mention.words[-1] in _ONE
    mods = mention.words[:-1] if said_one else mention.words
    many = mention.plural if said_one or mention.plural else meant.plural and meant.count is None
    noun = meant.words[-1]
    if meant.plural and not many and noun.endswith("s") and not noun.endswith("ss"):
        noun = meant.head if meant.head[:2] == noun[:2] else noun[:-1]
    return replace(mention, head=meant.head, words=(*mods, noun), plural=many)
