"""Whether a speaker leaves "the" and "a" out ("from tyre you go to net"), as many do whose first language has none.

For such a speaker a noun that stands alone can be a thing; for everybody else it is mostly a name, a cry or a manner of speaking.
"""

from __future__ import annotations

from collections.abc import Iterable

from annotator.rules.text import Sentence

FEWEST = 6
"""Nouns from which a speaker can be judged."""
LEFT_OUT = 0.4
"""Share of singular nouns without a word before them from which articles count as left out: speakers lie below .3 or above .45."""
_BEFORE = frozenset({"ADJ", "NOUN", "PROPN", "NUM"})
_TELLS_WHICH = frozenset({"DT", "PRP$", "POS", "CD", "PDT"})


def leaves_out_articles(sentences: Iterable[Sentence]) -> bool:
    """Whether most singular nouns of the talk stand without article, number or "my"."""
    bare = told = 0
    for sentence in sentences:
        tokens = sentence.tokens
        for k, token in enumerate(tokens):
            if token.tag != "NN" or token.pos != "NOUN" or (k + 1 < len(tokens) and tokens[k + 1].tag in ("NN", "NNS")):
                continue
            first = k
            while first > 0 and tokens[first - 1].pos in _BEFORE:
                first -= 1
            before = tokens[first - 1] if first else None
            if tokens[first].tag == "CD" or (before is not None and (before.tag in _TELLS_WHICH or before.pos == "DET")):
                told += 1
            else:
                bare += 1
    return bare + told >= FEWEST and bare >= LEFT_OUT * (bare + told)
