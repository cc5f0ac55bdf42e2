"""Which listed name each station bears: one decision over the whole walk.

In: the lines of each station and the names list. Out: a naming a station, or None: rather none than a wrong one. Four kinds of evidence,
the surest first: a name as the list spells it, or nearly, where names are given; its words in another order or with others between
them ("the hop on the fish boxes" is the fish box hop); its place on a list that runs as the walk does; and words in a name's place that
are a little like a name that is left over.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from rapidfuzz import fuzz

from annotator.rules.cues import UNNAMED
from annotator.rules.names import NamesList, Naming
from annotator.rules.reading import Line

HEAD = 6  # lines of a station in which it is named
ASIDE = re.compile(
    r"\b(?:before i forget|coming up|back there|going back|one more thing about|back (?:at|on|to|with|in|over at) (?:the|"
    r"that|our|number|station)|"
    r"forgot(?:ten)?|just thought|while i have it|before we (?:move|go) on|won't remember|while i (?:think|remember|mind)|should've"
    r" (?:said|told)|"
    r"supplement|i should have (?:said|told)|i (?:didn't|did not|never) (?:say|said|tell|told|mention(?:ed)?)|earlier on|meant to say)\b"
)
"""Of another station than the one where it is said."""
SURE = 0.86  # likeness from which a name counts as said
GUESS = 0.24  # half the likeness below which words heard are no guess at a name
MOST_OF_IT = 0.6  # share of a name's words, the rarer the heavier, that has to be said
LATER = 0.06  # what that share loses with each line
SPREAD = 4  # words that may stand between those of a name
NEVER = 0.3  # weight of a word that is said at no station; of one that is said at one station alone, half
AHEAD = 0.12  # by how much one station has to say more of a name than another
IN_ORDER = 3  # names surely said that have to run as the list does, before its order is believed


def name_stations(lines: Sequence[Line], spans: Sequence[tuple[int, int]], listed: NamesList) -> list[Naming | None]:
    """The naming of each station; each listed name is given once."""
    heads = [lines[a : min(b, a + HEAD)] for a, b in spans]
    chosen: list[Naming | None] = [None] * len(spans)
    taken: set[str] = set()

    def give(k: int, naming: Naming) -> None:
        if chosen[k] is None and naming.name not in taken:
            chosen[k] = naming
            taken.add(naming.name)

    offers = [
        (round(naming.score * (0.5 + naming.slot) - 0.07 * late, 4), k, naming)
        for k, head in enumerate(heads)
        for late, line in enumerate(head)
        if not ASIDE.search(line.plain)
        for naming in line.names
    ]
    offers.sort(key=lambda o: (-o[0], o[1], o[2].name))
    for score, k, naming in offers:
        if score > 0.45 and naming.score >= SURE:
            give(k, naming)
    nameless = {k for k, head in enumerate(heads) if any(UNNAMED.search(line.plain) for line in head)}
    told = _told_in_words(heads, listed)
    for _, k, naming in told:
        if k not in nameless:
            give(k, naming)
    for score, k, naming in offers:
        if score > 0.45 and naming.score > 0.5:
            give(k, naming)
    for k, name in _by_their_place(chosen, nameless, listed.names):
        give(k, Naming(name, name, True, 0.6, 0.0))
    for _, k, naming in sorted(offers, key=lambda o: (-o[2].score, o[1], o[2].name)):
        if k not in nameless and naming.listed and naming.score >= GUESS and naming.slot >= 0.5:
            give(k, naming)
    return chosen


LONG = 6
"""Letters from which a word of a name may be said as two ("sandbag", "sand bag")."""


@dataclass(frozen=True, slots=True)
class _Said:
    """The words of one line, without endings."""

    bare: tuple[str, ...]
    stems: tuple[str, ...]
    joined: tuple[str, ...]
    """Each word and the one after it, written as one."""


def stem(word: str) -> str:
    """A word without its ending, so that "hopping" and "hops" are "hop".

    >>> stem("hopping"), stem("boxes"), stem("climber"), stem("net"), stem("trolley's")
    ('hop', 'box', 'climb', 'net', 'trolley')
    """
    word = re.sub(r"'s$|'$", "", word.lower())
    for ending, rest in (
        ("ies", "y"),
        ("sses", "ss"),
        ("xes", "x"),
        ("ches", "ch"),
        ("shes", "sh"),
        ("ing", ""),
        ("ers", ""),
        ("er", ""),
        ("s", ""),
    ):
        if word.endswith(ending) and len(word) - len(ending) + len(rest) >= 3 and not word.endswith("ss"):
            word = word[: len(word) - len(ending)] + rest
            break
    doubled = len(word) > 3 and word[-1] == word[-2] and word[-1] not in "sl"
    return word[:-1] if doubled else word.rstrip("e") if len(word) > 3 else word


def _said(line: Line) -> _Said:
    words = tuple(re.findall(r"[a-z0-9]+(?:'[a-z]+)?", line.plain.replace("-", " ")))
    stems = tuple(stem(word) for word in words)
    return _Said(words, stems, tuple(a + b for a, b in pairwise(stems)))


def _same(a: str, b: str) -> bool:
    return a == b or (min(len(a), len(b)) >= 5 and a[0] == b[0] and fuzz.ratio(a, b) >= 85)


def _index(said: _Said, alike: Callable[[str], tuple[str, ...]], long: frozenset[str]) -> dict[str, list[int]]:
    """Where a line says which words of the names: alone, else written as one of two. `long`: words that may be two."""
    out: dict[str, list[int]] = {}
    for i, each in enumerate(said.stems):
        for word in alike(each):
            out.setdefault(word, []).append(i)
    twos: dict[str, list[int]] = {}
    for i, each in enumerate(said.joined):
        if each in long and each not in out:
            twos.setdefault(each, []).append(i)
    return out | twos


def _told_in_words(heads: Sequence[Sequence[Line]], listed: NamesList) -> list[tuple[float, int, Naming]]:
    """Names of which a station's first lines say the words, whatever their order: (how much of it, station, naming), the surest first."""
    said = [[_said(line) for line in head] for head in heads]
    of_name = {name: tuple(dict.fromkeys(stem(word) for word in re.findall(r"[a-z0-9]+", name.lower()))) for name in listed.names}
    known = {word for words in of_name.values() for word in words}
    alike = lru_cache(maxsize=None)(lambda each: tuple(word for word in sorted(known) if _same(word, each)))
    long = frozenset(word for word in known if len(word) >= LONG)
    places = [[_index(line, alike, long) for line in lines] for lines in said]
    spread = Counter(word for lines in places for word in {word for line in lines for word in line})
    heard_in = {word: [k for k, lines in enumerate(places) if any(word in line for line in lines)] for word in spread}
    weight = {word: 1.0 / (1 + spread[word]) if spread[word] else NEVER for word in known}
    out: list[tuple[float, int, Naming]] = []
    for name, words in of_name.items():
        whole = sum(weight[word] for word in words)
        found: list[tuple[float, int, str]] = []
        for k in sorted({k for word in words for k in heard_in.get(word, ())}):
            lines = zip(said[k], places[k], strict=True)
            best = max((_share(words, weight, whole, line, at, late) for late, (line, at) in enumerate(lines)), default=(0.0, ""))
            if best[0] >= MOST_OF_IT:
                found.append((best[0], k, best[1]))
        found.sort(reverse=True)
        if found and (len(found) == 1 or found[0][0] - found[1][0] >= AHEAD):
            share, k, heard = found[0]
            out.append((round(share, 4), k, Naming(name, heard, True, min(0.85, share), 0.5)))
    return sorted(out, key=lambda o: (-o[0], o[1], o[2].name))


def _share(
    words: Sequence[str], weight: dict[str, float], whole: float, line: _Said, said_at: dict[str, list[int]], late: int
) -> tuple[float, str]:
    """How much of a name a line says close together, less for a later line, and the words heard."""
    places = sorted((i, word) for word in words for i in said_at.get(word, ()))
    best = (0.0, "")
    for at, (begin, _) in enumerate(places):
        near = [(i, word) for i, word in places[at:] if i - begin <= len(words) + SPREAD]
        share = sum(weight[word] for word in {word for _, word in near}) / whole - LATER * late
        if share > best[0]:
            best = (share, " ".join(line.bare[begin : near[-1][0] + 1]))
    return best


def _by_their_place(chosen: Sequence[Naming | None], nameless: set[int], names: Sequence[str]) -> list[tuple[int, str]]:
    """Names left over between two that were said, where the list runs as the walk does and as many stations lie between."""
    place = {name: i for i, name in enumerate(names)}
    known = [(k, place[n.name]) for k, n in enumerate(chosen) if n is not None and n.name in place]
    if len(known) < IN_ORDER or any(a[1] >= b[1] for a, b in pairwise(known)):
        return []
    out: list[tuple[int, str]] = []
    for (k, i), (m, j) in pairwise([(-1, -1), *known, (len(chosen), len(names))]):
        open_ones = [each for each in range(k + 1, m) if each not in nameless]
        if len(open_ones) == j - i - 1:
            out += list(zip(open_ones, names[i + 1 : j], strict=True))
    return out
