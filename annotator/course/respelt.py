"""Which lines that are there newly drafted ones are, although a name in them reads otherwise now: words were mended. Pure.

In: what is drafted, and lines of the same station (or of the course) with their evidence. Out: which is which. A line is the same one only
where its words are the same moment of the walk, nothing but the name differs, and the two names are two spellings of one; what differs
in ruling, limbs, role, part or divisions is never the same, nor is what has another colour, side, number or size in its name.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from itertools import product
from typing import Any, TypeVar

import jellyfish
from rapidfuzz.distance import Indel, Levenshtein

from annotator.course.base import Said
from annotator.course.find import key, spelt

Line = TypeVar("Line")

SAME_WORDS = 0.5  # of the shorter one of two stretches of evidence
ALIKE = 0.74  # one word for one word, half spelling and half sound; as for words of a name heard wrong
ALIKE_TORN = 0.88  # a name in more or fewer words than the other
# What tells one thing from another like it: two different ones of these are two things, however alike they sound ("white", "wide").
_TELLING = """
red blue green yellow white black orange purple brown grey gray pink silver gold cream violet
left right top bottom upper lower inner outer inside outside front back rear near far middle centre center side
first second third fourth fifth sixth last next one two three four five six seven eight nine ten
big small large little long short tall high low wide narrow thick thin steep flat round square old new
"""
TELLING = frozenset(_TELLING.split())


def respelt(drafts: Iterable[Any], lines: Sequence[Line], told: Collection[str]) -> dict[str, Line]:
    """The line that each draft is, by what the draft says (`find.spelt`); drafts that are no line that is there are left out.

    Parameters
    ----------
    drafts, lines
        Surfaces or blanket rules. A draft whose name a line has already is about that line, not another spelling.
    told
        The names (`find.key`) of all that is drafted at this place: a line that is still told of under its own name is no other one's.

    Returns
    -------
    dict
        One to one; where several fit, those whose evidence and names are most alike first, then in the order given.
    """
    there = {key(_name(line)) for line in lines}
    free = [draft for draft in drafts if key(_name(draft)) not in there]
    left = [line for line in lines if key(_name(line)) not in told]
    fits = [
        (-_same_words(draft.said, line.said) * spelling(_name(draft), _name(line)), at, place)  # type: ignore[attr-defined]  # both have evidence
        for (at, draft), (place, line) in product(enumerate(free), enumerate(left))
        if _but_for_its_name(draft) == _but_for_its_name(line)
    ]
    found: dict[str, Line] = {}
    taken = set[int]()
    for fit, at, place in sorted(fits):
        says = spelt(free[at])
        if fit < 0 and says not in found and place not in taken:
            found[says] = left[place]
            taken.add(place)
    return found


def spelling(one: str, other: str) -> float:
    """How alike two names are as two spellings of one, 0 to 1; 0 where they are two names.

    >>> spelling("black strats", "black straps") > 0.8
    True
    >>> spelling("cross bar", "crossbar")
    1.0
    >>> spelling("red frame", "yellow frame"), spelling("white bar", "wide bar"), spelling("post", "posts"), spelling("bar 2", "bar 3")
    (0.0, 0.0, 0.0, 0.0)
    """
    first, second = _words(one), _words(other)
    if not first or not second:
        return 0.0
    if len(first) == len(second):
        pairs = [_word(*pair) for pair in zip(first, second, strict=True)]
        return min(pairs) and sum(pairs) / len(pairs)
    alike = _likeness("".join(first), "".join(second))
    same = sorted(filter(_tells, first)) == sorted(filter(_tells, second)) and _several(first[-1]) == _several(second[-1])
    return alike if same and alike >= ALIKE_TORN else 0.0


def _word(one: str, other: str) -> float:
    if one == other:
        return 1.0
    if (_tells(one) and _tells(other)) or _several(one) != _several(other):
        return 0.0
    alike = _likeness(one, other)
    a_letter = min(len(one), len(other)) >= 4 and one[0] == other[0] and Levenshtein.distance(one, other) <= 1
    return alike if alike >= ALIKE or a_letter else 0.0


def _likeness(one: str, other: str) -> float:
    """Half spelling, half sound; spelling alone where the letters have no English sound."""
    written, sounds = Indel.normalized_similarity(one, other), (jellyfish.metaphone(one), jellyfish.metaphone(other))
    return (written + Indel.normalized_similarity(*sounds)) / 2 if all(sounds) else written


def _tells(word: str) -> bool:
    return word in TELLING or any(sign.isdigit() for sign in word)


def _several(word: str) -> bool:
    """Whether a word looks like a plural: "the post" and "the posts" are not one rule."""
    return len(word) > 3 and word.endswith("s") and not word.endswith("ss")


def _words(name: str) -> list[str]:
    return re.findall(r"\w+", key(name))


def _same_words(one: Sequence[Said], other: Sequence[Said]) -> float:
    """How much the evidence of both shares, as a share of the shorter stretch, where it shares most; 0 where that is too little."""
    most = max((shared(mine.start, mine.end, yours.start, yours.end) for mine, yours in product(one, other)), default=0.0)
    return most if most >= SAME_WORDS else 0.0


def shared(start: float, end: float, other_start: float, other_end: float) -> float:
    """How much two spans share, as a share of the shorter one; 1 where that is a moment inside the other."""
    shorter = min(end - start, other_end - other_start)
    both = min(end, other_end) - max(start, other_start)
    if shorter <= 0:
        return 1.0 if both >= 0 else 0.0
    return max(0.0, both / shorter)


def _name(item: Any) -> str:
    """A surface's name; a blanket rule's surface, "" where it has none."""
    return getattr(item, "name", None) or getattr(item, "surface", None) or ""


def _but_for_its_name(item: Any) -> str:
    return spelt(item.model_copy(update={"name" if hasattr(item, "name") else "surface": None}))
