"""Two things of one kind told apart by order alone: "from the crate to the other crate", "the first step ... the second step".

In: the skeletons of a walk in order. Out: the same, where the phrases of such a pair carry the word that tells them apart in their name. An
ordinal alone does not: "the second rung" is mostly one of the rungs. What such phrases name is likeness.py's to say. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.lexicon import ORDINAL
from annotator.rules.likeness import OTHER, same_head
from annotator.rules.phrases import Mention
from annotator.rules.skeleton import Skeleton

NEAR = 6
"""Sentences back in which the first of a pair was told."""
_TOLD = frozenset({"the", "a", "an", "that", "this", "my", "our"})


def tell_pairs_apart(skeletons: Sequence[Skeleton]) -> tuple[Skeleton, ...]:
    """The skeletons with "other", "first", "second" in the names of things that come as pairs. Linear in the number of phrases."""
    named: dict[tuple[int, int], str] = {}
    recent: list[tuple[int, int, Mention]] = []
    for at, bones in enumerate(skeletons):
        recent = [each for each in recent if at - each[0] <= NEAR]
        for index, mention in enumerate(bones.mentions):
            if mention.plural or mention.is_part or mention.part or mention.head == "one":
                continue
            alike = [each for each in recent if same_head(each[2].head, mention.head)]
            if _is_other(bones, mention) and alike:
                named[at, index] = OTHER
            elif mention.ordinal:
                for there, which, before in alike:
                    if before.ordinal and ORDINAL[before.ordinal] != ORDINAL[mention.ordinal] and (there, which) != (at, index):
                        named[there, which] = before.ordinal
                        named[at, index] = mention.ordinal
            recent.append((at, index, mention))
    out = list(skeletons)
    for (at, index), word in named.items():
        mentions = list(out[at].mentions)
        mentions[index] = replace(mentions[index], words=(word, *mentions[index].words), mods=mentions[index].mods | {word})
        out[at] = replace(out[at], mentions=tuple(mentions))
    return tuple(out)


def _is_other(bones: Skeleton, mention: Mention) -> bool:
    """ "The other crate", and "that tyre" after "from this tyre to"."""
    tokens = bones.sentence.tokens
    if mention.determiner in _TOLD and any(token.low == OTHER for token in tokens[mention.first : mention.last]):
        return True
    before = [token.low for token in tokens[: mention.first]]
    return mention.determiner == "that" and before[-1:] in (["to"], ["until"], ["till"]) and "this" in before and "from" in before
