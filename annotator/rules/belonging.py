"""Of which thing a phrase names a part, by what the language model makes of both: "the ladder, feet on the rungs".

In: the skeletons of a walk in order, and the walk as the model read it (sentences.py). Out: the skeletons, in which phrases that name a
part of a thing told near them are parts of it. wholes.py knows the ways in which that is said outright; where nothing says so, a mat beside
a frame and a rung of a ladder differ only by what they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from annotator.rules.encoder import Floats
from annotator.rules.phrases import Mention
from annotator.rules.sentences import Listened
from annotator.rules.skeleton import Skeleton
from annotator.rules.wholes import as_part

BACK = 8
"""Sentences back in which the whole was told, at most; one on at most."""
PLACES = 6
"""Kinds of places of a whole, as `place_of` gives them."""
PART = 0.75
"""Share from which a phrase names a part of something. Of such parts in 80 walks that had taught the model nothing this finds a third, and
takes two things of a hundred for parts that answers call by their own word: careful listeners differ. Rules F1 went .743 -> .747."""


def place_of(back: int, *, before: bool) -> int | None:
    """Where a whole stands: `back` sentences before a phrase; in the same one `before` it or behind. None where too far.

    >>> place_of(0, before=False), place_of(0, before=True), place_of(3, before=True), place_of(9, before=True)
    (0, 1, 4, None)
    """
    if back == -1 or (back == 0 and not before):
        return 0
    return None if back < 0 or back > BACK else 1 if back == 0 else back + 1 if back <= 2 else 4 if back <= 4 else 5


def wholes_near(mentions: Sequence[Sequence[Mention]], at: int, index: int) -> Iterator[tuple[int, Mention, int]]:
    """The things that phrase `index` of sentence `at` may name a part of: sentence, phrase, place."""
    mention = mentions[at][index]
    if mention.of is not None:
        yield at, mention.of, 0
    for there in range(max(0, at - BACK), min(len(mentions), at + 2)):
        for other in mentions[there]:
            place = place_of(at - there, before=other.first < mention.first)
            itself = there == at and other.first <= mention.last and mention.first <= other.last
            if place is not None and not itself and not other.is_part and other.head not in (mention.head, "one"):
                yield there, other, place


def pair(part: Floats, whole: Floats, place: int) -> Floats:
    """What the model is asked by: both vectors, their product, and where the whole stands."""
    return np.concatenate([part, whole, part * whole, np.eye(PLACES, dtype=np.float32)[place]])


def with_wholes(skeletons: Sequence[Skeleton], listened: Listened) -> tuple[Skeleton, ...]:
    """The skeletons with parts told by their wholes. Linear in the number of phrases."""
    mentions = [bones.mentions for bones in skeletons]
    asked: list[tuple[int, int, Mention]] = []
    vectors: list[Floats] = []
    for at, mine in enumerate(mentions):
        for index, mention in enumerate(mine):
            own = None if mention.part or mention.is_part or mention.head == "one" else listened.mean(at, mention.first, mention.last)
            for there, whole, place in wholes_near(mentions, at, index) if own is not None else ():
                other = listened.mean(there, whole.first, whole.last)
                if own is not None and other is not None:
                    asked.append((at, index, whole))
                    vectors.append(pair(own, other, place))
    if not asked:
        return tuple(skeletons)
    odds = listened.odds("of", np.stack(vectors))[:, 0]
    told: dict[tuple[int, int], list[int]] = {}
    for k, (at, index, _) in enumerate(asked):
        told.setdefault((at, index), []).append(k)
    out = [list(each) for each in mentions]
    for (at, index), near in told.items():
        grown = np.exp(odds[near])
        if grown.sum() / (1 + grown.sum()) >= PART:
            _, _, whole = asked[near[int(grown.argmax())]]
            out[at][index] = as_part(mentions[at][index], whole)
    return tuple(replace(bones, mentions=tuple(each)) for bones, each in zip(skeletons, out, strict=True))
