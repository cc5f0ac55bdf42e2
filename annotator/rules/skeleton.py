"""Write a sentence so that what is said of its things can be told from verb, negation and place alone.

In: a sentence of tokens. Out: its skeleton: a string of lemmas in which each phrase that phrases.py finds stands as `@0`, `@1`, ..., commas
and clause borders as `,` and `|`. acts.py reads it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from annotator.rules.joined import joined
from annotator.rules.lexicon import words
from annotator.rules.phrases import NONE_SPOTTED, Mention, Spotted, find_mentions
from annotator.rules.text import Sentence, Token

_PRONOUNS = words("it that this those these they them one ones")
_SUBJECTS = words(
    """
    you it that this they we he she i there those these who what nobody everybody anybody
    """
)
_AFTER_IS = words(
    """
    in out okay ok fine the your a an not also always fair good grand off forbidden allowed banned for yours legal where here there both all
    still totally definitely on banned dead lava none
    """
)
_SPLITS = words("and but so because or then if when while")
_KEEP_FORM = _PRONOUNS | frozenset(["left", "right"])


@dataclass(frozen=True, slots=True)
class Skeleton:
    """A sentence as acts.py reads it. `items[k]` stands for the tokens from `at[k]` on; `text` is the items joined by blanks."""

    items: tuple[str, ...]
    at: tuple[int, ...]
    text: str
    mentions: tuple[Mention, ...]
    sentence: Sentence

    def item_at(self, offset: int) -> int:
        """The index of the item in which character `offset` of `text` lies."""
        return self.text.count(" ", 0, offset)

    def start_s(self) -> float:
        return self.sentence.tokens[0].start_s

    def end_s(self) -> float:
        return self.sentence.tokens[-1].end_s


def skeleton(sentence: Sentence, *, bare: bool = False, spotted: Spotted = NONE_SPOTTED) -> Skeleton:
    """The sentence with its noun phrases as `@k`, verbs as lemmas, clause borders as `|`. `bare`: the speaker leaves articles out."""
    tokens = sentence.tokens
    mentions = joined(tokens, find_mentions(sentence, bare=bare, spotted=spotted))
    starts = {m.first: k for k, m in enumerate(mentions)}
    items: list[str] = []
    at: list[int] = []
    i = 0
    while i < len(tokens):
        if i in starts:
            mention = mentions[starts[i]]
            if mention.determiner == "no":
                items.append("no")
                at.append(i)
            items.append(f"@{starts[i]}")
            at.append(i)
            i = mention.last + 1
            continue
        token = tokens[i]
        if token.text[0] in ",;:()" or token.text in ("-", "–", "—", "...", "…") or token.text[0] in ".?!":
            items.append("," if token.text[0] not in ".?!" else ".")
        else:
            if (
                token.low in _SPLITS
                and items
                and items[-1] not in (",", "|", "and", "but", "so", "or")
                and _opens(tokens, i + 1, starts, mentions)
            ):
                items.append("|")
                at.append(i)
            low = token.low if token.low in _KEEP_FORM else token.lemma
            if token.low in ("'s", "’s") and token.tag == "POS":
                after = tokens[i + 1] if i + 1 < len(tokens) else None
                low = "be" if after is not None and (after.low in _AFTER_IS or after.pos == "ADV") else "'s"
            items.append(low.replace(" ", "_") if " " in low and low != "can not" else low)
            if low == "can not":
                items[-1] = "can"
                at.append(i)
                items.append("not")
        at.append(i)
        i += 1
    return Skeleton(tuple(items), tuple(at), " ".join(items), mentions, sentence)


def _opens(tokens: Sequence[Token], i: int, starts: dict[int, int], mentions: Sequence[Mention]) -> bool:
    """Whether a clause of its own begins at token `i`, after "and" or the like."""
    if i < len(tokens) and tokens[i].low in ("then", "so", "if", "when", "also", "please"):
        i += 1
    if i >= len(tokens):
        return False
    if i in starts:
        after = mentions[starts[i]].last + 1
        return after < len(tokens) and (tokens[after].pos in ("AUX", "VERB") or tokens[after].low in ("'s", "is", "are"))
    token = tokens[i]
    if token.low in _SUBJECTS or tokens[i - 1].low in ("because", "but", "so", "if", "when"):
        return True
    return token.tag in ("VB", "VBP", "VBD", "VBZ", "MD")
