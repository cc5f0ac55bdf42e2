"""Is this English at all? Counted on small words, which no speaker does without."""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course import Word
from annotator.rules.lexicon import words

_SMALL = words(
    """
    the a an and of to in is it you that on for with are this be at not your from or as so if can there here up down then off out
    now one all we i they have has do
    """
)
ENOUGH_WORDS = 25  # fewer than this tell nothing about the language
LEAST_SHARE = 0.16  # of small English words; the walks that we have seen lie above 0.4, running German and French below 0.1
SAMPLE = 4000


def is_english(words: Sequence[Word]) -> bool:
    """Whether the words read like English; True where there are too few to tell.

    >>> is_english([Word(start=i, end=i, text=t) for i, t in enumerate(("der Balken ist im Spiel und die Matte nicht " * 5).split())])
    False
    """
    step = max(1, len(words) // SAMPLE)
    plain = [w.text.lower().strip(".,!?;:'\"") for w in words[::step]]
    plain = [w for w in plain if w.replace("'", "").isalpha()]
    if len(plain) < ENOUGH_WORDS:
        return True
    return sum(w in _SMALL or "'" in w for w in plain) / len(plain) >= LEAST_SHARE
