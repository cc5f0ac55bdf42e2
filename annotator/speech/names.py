"""Names heard wrong: what recognition wrote where the names list, or the walk itself, has something that looks and sounds alike.

In: words and the names list. Out: proposals with their reason; nothing is replaced until a person accepts one. Three ways of finding:
a run of one to four words against a whole name; near a place where that name is said, a single word against one word of the name (a speaker
says "swing rungs" once and "the rungs" six times after); and a word that the recogniser was unsure of against those that the walk says
again and again.

The threshold values were set on three walks recognised by tiny.en and checked on others; likeness is half spelling, half sound.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from annotator.course import HeardName, Word
from annotator.errors import UnreadableText
from annotator.speech.everyday import DETERMINERS, FUNCTION_WORDS, TRADE_WORDS
from annotator.speech.likeness import how_alike, likeness, plainly, sound, sounds_alike, stem, word_likeness
from annotator.speech.times import spread

LONGEST = 4  # words of a window
ALIKE = 0.70  # a whole name, some word of it right
ALIKE_ALONE = 0.80  # a whole name, no word of it right, or a name of one word
ALIKE_TORN = 0.88  # a name in more or fewer words than it has
PART_ALIKE = 0.5  # each word of a name, where there are as many
WORD_ALIKE = 0.74  # one word of a name, near the name
NEAR_S = 120.0  # how long a station is talked about after its name is said
BEFORE_S = 10.0
UNSURE = 0.6  # recogniser's probability under which a word may be another one that the walk often says
OFTEN = 3  # times that such a word is said, and times that it is said for each of the other

_ENDS = (".", "?", "!", ";", ":")


@dataclass(frozen=True)
class _Hit:
    """Words first..last (exclusive) of the walk, read as `name`."""

    first: int
    last: int
    name: str
    score: float
    reason: str


def read_names(path: Path) -> tuple[str, ...]:
    """The names list: a name a line, `#` begins a comment, doubles and empty lines left out.

    Raises
    ------
    UnreadableText
        The file is missing or no text.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as exc:
        raise UnreadableText(path, f"{exc.strerror or exc}. Check the file's place and name.") from exc
    except UnicodeDecodeError as exc:
        raise UnreadableText(path, "it is not UTF-8 text. Save the names list as plain text (UTF-8).") from exc
    names = (" ".join(line.split("#", 1)[0].split()) for line in text.splitlines())
    return tuple(dict.fromkeys(name for name in names if name))


def propose_names(words: Sequence[Word], names: Sequence[str]) -> tuple[HeardName, ...]:
    """What was probably meant to be a name of the list, best first; the same input gives the same proposals.

    A text that already is a name, in singular or plural, with hyphen or without, is never proposed. One proposal stands for every place
    where the same words were heard so; `at` holds the start of the first word of each.

    Examples
    --------
    >>> said = [Word(start=i, end=i + 0.5, text=t) for i, t in enumerate("Next up, the swing runs.".split())]
    >>> [(found.heard, found.name) for found in propose_names(said, ["swing rungs"])]
    [('swing runs', 'swing rungs')]
    """
    plain = [plainly(word.text) for word in words]
    listed = {name: tuple(plainly(name).split()) for name in names}
    listed = {name: parts for name, parts in listed.items() if parts}
    said, taken = _said(plain, listed)
    whole = _whole_names(words, plain, listed, taken)
    for hit in whole:
        said.setdefault(hit.name, []).append(hit.first)
        taken.update(range(hit.first, hit.last))
    single = _single_words(words, plain, listed, said, taken)
    taken.update(hit.first for hit in single)
    return _grouped(words, [*whole, *single, *_often_said(words, plain, taken)])


def apply_names(words: Sequence[Word], heard: Sequence[HeardName]) -> tuple[Word, ...]:
    """The words with every accepted proposal put in; proposed and declined ones change nothing.

    Times stay: a name of as many words takes their times one by one, another shares the span by length. Punctuation after the last
    word and a capital at the front stay too.
    """
    changed = name_places(words, heard)
    result: list[Word] = []
    at = 0
    while at < len(words):
        if at in changed:
            at, new = changed[at]
            result.extend(new)
        else:
            result.append(words[at])
            at += 1
    return tuple(result)


def name_places(words: Sequence[Word], heard: Sequence[HeardName]) -> dict[int, tuple[int, list[Word]]]:
    """Where accepted names stand: by the first word that each takes the place of, the one after the last, and the name's words."""
    starts = [word.start for word in words]
    changed: dict[int, tuple[int, list[Word]]] = {}
    taken = set[int]()
    for found in heard:
        if found.state != "accepted":
            continue
        length = len(found.heard.split())
        for moment in found.at:
            first = _place(words, starts, moment, found.heard.split())
            if first is not None and taken.isdisjoint(range(first, first + length)):
                changed[first] = (first + length, _replaced(words[first : first + length], found.name))
                taken.update(range(first, first + length))
    return changed


# --- finding ---


def _said(plain: Sequence[str], listed: dict[str, tuple[str, ...]]) -> tuple[dict[str, list[int]], set[int]]:
    """Where each name is said as it is written (first words), and all words that such a place takes."""
    said: dict[str, list[int]] = {}
    taken: set[int] = set()
    stems = [tuple(stem(part) for part in text.split()) for text in plain]
    for name, parts in listed.items():
        wanted = tuple(stem(part) for part in parts)
        for first in range(len(plain)):
            got: tuple[str, ...] = ()
            last = first
            while last < len(plain) and len(got) < len(wanted):
                got += stems[last]
                last += 1
            if got == wanted:
                said.setdefault(name, []).append(first)
                taken.update(range(first, last))
    return said, taken


def _whole_names(words: Sequence[Word], plain: Sequence[str], listed: dict[str, tuple[str, ...]], taken: set[int]) -> list[_Hit]:
    """Windows of words that are like a whole name, the best ones first, none on another."""
    hits: list[_Hit] = []
    names = list(listed)
    for size in range(1, LONGEST + 1):
        fitting = [name for name in names if abs(len(listed[name]) - size) <= 1]
        windows = [first for first in range(len(plain) - size + 1) if _may_be_a_name(words, plain, first, size, taken)]
        if not fitting or not windows:
            continue
        texts = ["".join(" ".join(plain[first : first + size]).split()) for first in windows]
        wanted = ["".join(listed[name]) for name in fitting]
        scores = likeness(texts, wanted)
        for row, column in zip(*np.nonzero(scores >= ALIKE), strict=True):
            name, first, score = fitting[column], windows[row], float(scores[row, column])
            heard = " ".join(plain[first : first + size]).split()
            right = _words_right(heard, listed[name])
            needed = ALIKE_TORN if len(heard) != len(listed[name]) else ALIKE if right else ALIKE_ALONE
            if right is not None and score >= needed:
                reason = _reason(" ".join(heard), name, texts[row], wanted[column])
                hits.append(_Hit(first, first + size, name, round(score, 3), reason))
    return _apart(hits)


def _may_be_a_name(words: Sequence[Word], plain: Sequence[str], first: int, size: int, taken: set[int]) -> bool:
    last = first + size - 1
    if any(place in taken or not plain[place] for place in range(first, last + 1)):
        return False
    if any(words[place].text.rstrip("\"')").endswith((*_ENDS, ",")) for place in range(first, last)):
        return False
    return not any(part in FUNCTION_WORDS for place in (first, last) for part in plain[place].split())


def _words_right(heard: Sequence[str], parts: Sequence[str]) -> int | None:
    """How many words of a name were heard right; None where the window cannot be it."""
    if len(heard) == 1 and len(parts) == 1:
        usable = len(parts[0]) >= 5 and heard[0][0] == parts[0][0]
        return 0 if usable else None
    stems = [stem(word) for word in heard]
    right = sum(stem(part) in stems for part in parts)
    if len(heard) == len(parts):
        # Each word must be like its own: "net drop" is like "hoop drop" only in the word that they share.
        alike = [word_likeness(one, other) for one, other in zip(heard, parts, strict=True)]
        return right if min(alike) >= PART_ALIKE else None
    # Words run together or torn apart; a part of a name by itself ("the drum" of "drum roll") is no mistake.
    return None if right else 0


def _single_words(
    words: Sequence[Word],
    plain: Sequence[str],
    listed: dict[str, tuple[str, ...]],
    said: dict[str, list[int]],
    taken: set[int],
) -> list[_Hit]:
    """Words after "the", "each", a colour, ..., near a name and like one word of it."""
    owners: dict[str, list[str]] = {}
    for name, parts in listed.items():
        for part in parts:
            owners.setdefault(stem(part), []).append(name)
    said_s = {name: sorted(words[first].start for first in firsts) for name, firsts in said.items()}
    places: dict[str, list[int]] = {}
    for at, text in enumerate(plain):
        usable = at not in taken and len(text) >= 3 and text.isalpha() and text not in FUNCTION_WORDS | TRADE_WORDS
        if usable and at and _names_a_thing(words, plain, at):
            places.setdefault(text, []).append(at)
    best: dict[int, _Hit] = {}
    for name, moments in said_s.items():
        for part in listed[name]:
            if len(part) < 4:
                continue
            for text, spots in places.items():
                meant = _numbered(part, text)
                score = word_likeness(text, meant)
                if stem(text) == stem(part) or score < WORD_ALIKE or not sounds_alike(stem(text), stem(part)):
                    continue
                # A word of another name is right where that name is spoken of: "run" near "rope run-up".
                own = [said_s.get(other, []) for other in owners.get(stem(text), [])]
                near = [
                    place
                    for place in spots
                    if _near(words[place].start, moments) and not any(_near(words[place].start, moments_of) for moments_of in own)
                ]
                reason = f"“{text}” and “{meant}” {how_alike(text, meant)}; “{name}” is said close by"
                for place in near:
                    if place not in best or score > best[place].score:
                        best[place] = _Hit(place, place + 1, meant, round(score, 3), reason)
    return [best[place] for place in sorted(best)]


def _often_said(words: Sequence[Word], plain: Sequence[str], taken: set[int]) -> list[_Hit]:
    """Words that the recogniser was unsure of, said once or so, and like one that this walk says again and again in such a place."""
    things: dict[str, list[int]] = {}
    for at, text in enumerate(plain):
        if at and len(text) >= 3 and text.isalpha() and text not in FUNCTION_WORDS and _names_a_thing(words, plain, at):
            things.setdefault(stem(text), []).append(at)
    counts = Counter(stem(text) for text in plain)
    frequent = [one for one, places in things.items() if len(places) >= OFTEN]
    hits: list[_Hit] = []
    for rare, places in things.items():
        unsure = [at for at in places if at not in taken and plain[at] not in TRADE_WORDS and _unsure(words[at])]
        likely = [one for one in frequent if one != rare and counts[rare] * OFTEN <= len(things[one]) and sounds_alike(rare, one)]
        if not unsure or not likely:
            continue
        score, meant = max((word_likeness(rare, one), one) for one in likely)
        if score >= WORD_ALIKE:
            written = Counter(plain[at] for at in things[meant]).most_common(1)[0][0]
            for at in unsure:
                name = _numbered(written, plain[at])
                reason = f"“{plain[at]}” and “{name}” {how_alike(plain[at], name)}; this walk says “{name}” {len(things[meant])} times"
                hits.append(_Hit(at, at + 1, name, round(score, 3), reason))
    return hits


def _names_a_thing(words: Sequence[Word], plain: Sequence[str], at: int) -> bool:
    return plain[at - 1] in DETERMINERS and not words[at - 1].text.endswith(_ENDS)


def _unsure(word: Word) -> bool:
    return word.probability is not None and word.probability < UNSURE


def _near(moment: float, said_at: Sequence[float]) -> bool:
    return bisect_left(said_at, moment - NEAR_S) < bisect_right(said_at, moment + BEFORE_S)


def _apart(hits: Iterable[_Hit]) -> list[_Hit]:
    """The best hits that do not stand on each other."""
    kept: list[_Hit] = []
    taken: set[int] = set()
    for hit in sorted(hits, key=lambda hit: (-hit.score, hit.first, hit.last, hit.name)):
        span = range(hit.first, hit.last)
        if not any(place in taken for place in span):
            kept.append(hit)
            taken.update(span)
    return sorted(kept, key=lambda hit: hit.first)


def _grouped(words: Sequence[Word], hits: Sequence[_Hit]) -> tuple[HeardName, ...]:
    """One proposal for each pair of heard words and name."""
    groups: dict[tuple[str, str], list[_Hit]] = {}
    for hit in sorted(hits, key=lambda hit: hit.first):
        heard = " ".join(_bare(word.text) for word in words[hit.first : hit.last])
        groups.setdefault((heard.lower(), hit.name), []).append(hit)
    found = [
        HeardName(
            heard=heard,
            name=name,
            reason=together[0].reason + (f" ({len(together)} times)" if len(together) > 1 else "") + ".",
            score=max(hit.score for hit in together),
            at=tuple(words[hit.first].start for hit in together),
        )
        for (heard, name), together in groups.items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.score, one.at, one.name)))


def _reason(heard: str, name: str, text: str, wanted: str) -> str:
    if text == wanted:
        return f"“{heard}” is “{name}” written otherwise"
    how = "sounds the same as" if sound(text) == sound(wanted) else "sounds and looks like"
    return f"“{heard}” {how} “{name}” of the names list"


# --- words ---


def _bare(text: str) -> str:
    return re.sub(r"^\W+|\W+$", "", text)


def _numbered(part: str, heard: str) -> str:
    """A word of a name in the number in which it was heard: "run" stands for "rung", "runs" for "rungs"."""
    single = stem(part)
    if not heard.endswith("s") or heard.endswith("ss"):
        return single
    return part if part != single else part + "s"


def _place(words: Sequence[Word], starts: Sequence[float], moment: float, heard: Sequence[str]) -> int | None:
    """Which word begins at a moment with these words after it."""
    at = bisect_left(starts, moment - 0.0005)
    while at < len(words) and starts[at] <= moment + 0.0005:
        if [_bare(word.text).lower() for word in words[at : at + len(heard)]] == [one.lower() for one in heard]:
            return at
        at += 1
    return None


def _replaced(old: Sequence[Word], name: str) -> list[Word]:
    parts = name.split()
    before = re.match(r"^\W*", old[0].text)
    after = re.search(r"\W*$", old[-1].text)
    if _bare(old[0].text)[:1].isupper():
        parts[0] = parts[0][:1].upper() + parts[0][1:]
    parts[0] = (before.group() if before else "") + parts[0]
    parts[-1] = parts[-1] + (after.group() if after else "")
    known = [word.probability for word in old if word.probability is not None]
    sure = min(known) if known else None
    spans: Iterator[tuple[float, float]]
    spans = iter((word.start, word.end) for word in old) if len(parts) == len(old) else iter(spread(parts, old[0].start, old[-1].end))
    return [Word(start=start, end=end, text=part, probability=sure) for part, (start, end) in zip(parts, spans, strict=True)]
