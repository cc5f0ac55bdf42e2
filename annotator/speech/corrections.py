"""What people write in place of words that were heard. What was heard stays apart and is never changed.

In: the heard words, the names that were settled, and corrections, each over a run of heard words. Out: the words as they now read, with
times, in pieces that know which heard words they stand for. A correction wins over an accepted name that reaches into its words.
"""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from annotator.course import HeardName, Model, Word
from annotator.errors import InvalidEdit, StaleEdit
from annotator.speech.names import name_places
from annotator.speech.times import spread

LONGEST_TEXT = 500
"""Characters that may stand in place of a run of heard words."""
NEAR_S = 2.0  # how far heard words may move when a walk is heard again and still be the same ones

Place = Annotated[int, Field(ge=0)]


class Correction(Model):
    """What somebody wrote in place of the heard words `first` until before `last`; an empty text leaves them out."""

    first: Place
    last: Place
    at: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    """When the first of them starts, on the walk's time line."""
    heard: str
    text: str
    who: str
    when: datetime


class Written(Model):
    """What shall stand in place of the heard words `first` until before `last`."""

    first: Place
    last: Place
    text: Annotated[str, Field(max_length=10_000)]


class WordsEdit(Model):
    """A change of the words over heard words `first` until before `last`, made by somebody who read `was` there.

    `parts` in order and apart from each other; heard words under no part read as they were heard.
    """

    first: Place
    last: Place
    was: Annotated[str, Field(max_length=100_000)]
    parts: Annotated[tuple[Written, ...], Field(max_length=1000)] = ()


@dataclass(frozen=True)
class Piece:
    """Words as they now read in place of the heard words `first` until before `last`, and whose they are."""

    first: int
    last: int
    words: tuple[Word, ...]
    by: Literal["heard", "name", "hand"]

    @property
    def text(self) -> str:
        """The piece as it reads; empty where somebody left the words out."""
        return " ".join(word.text for word in self.words)


_ALL: TypeAdapter[tuple[Correction, ...]] = TypeAdapter(tuple[Correction, ...])


def corrections_from_json(text: str) -> tuple[Correction, ...]:
    """Corrections as `corrections_to_json` wrote them."""
    return _ALL.validate_json(text)


def corrections_to_json(corrections: Sequence[Correction]) -> str:
    """Corrections as JSON, one a line, so that two versions can be compared by eye."""
    rows = (json.dumps(each.model_dump(mode="json"), ensure_ascii=False) for each in corrections)
    return "[" + ",\n".join(rows) + "]\n"


def pieces(words: Sequence[Word], heard: Sequence[HeardName], corrections: Sequence[Correction]) -> tuple[Piece, ...]:
    """The words as they now read, in order. Every heard word belongs to exactly one piece.

    A correction whose heard words are not there any more (the walk was heard again, otherwise) changes nothing; one whose words moved a
    little moves with them.

    >>> said = [Word(start=i, end=i + 0.5, text=t) for i, t in enumerate("hold the swing runs".split())]
    >>> by_hand = Correction(first=2, last=4, at=2.0, heard="swing runs", text="rungs", who="Ana", when=datetime(2026, 5, 2))
    >>> [(piece.first, piece.last, piece.text) for piece in pieces(said, (), [by_hand])]
    [(0, 1, 'hold'), (1, 2, 'the'), (2, 4, 'rungs')]
    """
    changed: dict[int, Piece] = {}
    taken = set[int]()
    for first, last, correction in _placed(words, corrections):
        changed[first] = Piece(first, last, tuple(retimed(words[first:last], correction.text.split())), "hand")
        taken.update(range(first, last))
    for first, (last, named) in name_places(words, heard).items():
        if taken.isdisjoint(range(first, last)):
            changed[first] = Piece(first, last, tuple(named), "name")
    result, at = [], 0
    while at < len(words):
        result.append(changed.get(at) or Piece(at, at + 1, (words[at],), "heard"))
        at = result[-1].last
    return tuple(result)


def corrected(words: Sequence[Word], heard: Sequence[HeardName], corrections: Sequence[Correction]) -> tuple[Word, ...]:
    """The words as they now read: with corrections, and with accepted names where nobody corrected by hand."""
    return tuple(word for piece in pieces(words, heard, corrections) for word in piece.words)


def rewritten(
    words: Sequence[Word],
    heard: Sequence[HeardName],
    corrections: Sequence[Correction],
    edit: WordsEdit,
    *,
    who: str,
    when: datetime,
    revision: int,
) -> tuple[tuple[Correction, ...], WordsEdit]:
    """The corrections after an edit, and the edit that takes it back.

    Corrections of heard words that are not there any more are kept. An edit that says what already stands there changes nothing.

    Raises
    ------
    InvalidEdit
        It reaches beyond the words, its parts overlap, or a text is too long.
    StaleEdit
        Something else than `was` stands there by now; `mine` and `theirs` hold both as {"text": ...}.
    """
    _check(words, edit)
    current = pieces(words, heard, corrections)
    here = [piece for piece in current if piece.first < edit.last and piece.last > edit.first]
    within = all(edit.first <= piece.first and piece.last <= edit.last for piece in here)
    new = _merged(words, heard, corrections, edit, who, when)
    after = [piece for piece in pieces(words, heard, new) if piece.first < edit.last and piece.last > edit.first]
    back = WordsEdit(
        first=edit.first,
        last=edit.last,
        was=_text(after),
        parts=tuple(Written(first=piece.first, last=piece.last, text=piece.text) for piece in here if piece.by == "hand"),
    )
    if within and [piece.words for piece in after] == [piece.words for piece in here]:
        return tuple(corrections), back
    if not within or _text(here) != " ".join(edit.was.split()):
        raise StaleEdit("words", _text(here), revision, revision, {"text": _text(after)}, {"text": _text(here)})
    return new, back


def retimed(old: Sequence[Word], texts: Sequence[str]) -> Iterator[Word]:
    """These texts in the time of the old words.

    Words that stay at the front and at the end keep their own times; as many as before take theirs one by one; else the span is shared out
    by length. Words put in where none goes share the time with the one before them (or after).

    >>> said = [Word(start=1, end=2, text="do"), Word(start=2, end=3, text="touch")]
    >>> [(word.start, word.text) for word in retimed(said, ["do", "not", "touch"])]
    [(1.0, 'do'), (1.4285714285714286, 'not'), (2.0, 'touch')]
    """
    front = _alike([word.text for word in old], texts)
    rest, left = old[front:], texts[front:]
    end = _alike([word.text for word in reversed(rest)], list(reversed(left)))
    middle, new = rest[: len(rest) - end], left[: len(left) - end]
    if new and not middle and front:
        front, middle, new = front - 1, old[front - 1 : front], [old[front - 1].text, *new]
    elif new and not middle and end:
        end, middle, new = end - 1, rest[:1], [*new, rest[0].text]
    yield from old[:front]
    spans = [(word.start, word.end) for word in middle]
    if len(middle) != len(new) and new:
        spans = spread(new, middle[0].start, middle[-1].end)
    for (start, stop), text in zip(spans, new, strict=False):
        same = next((word.probability for word in middle if word.text == text), None)
        yield Word(start=start, end=stop, text=text, probability=same)
    yield from rest[len(rest) - end :]


def _alike(one: Sequence[str], other: Sequence[str]) -> int:
    """How many texts at the front are the same."""
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def _text(here: Sequence[Piece]) -> str:
    return " ".join(piece.text for piece in here if piece.words)


def _placed(words: Sequence[Word], corrections: Sequence[Correction]) -> list[tuple[int, int, Correction]]:
    """Where each correction stands now; those that find their words no more, or that another one stands on, are left out."""
    starts: list[float] | None = None
    found = []
    taken = set[int]()
    for each in corrections:
        first: int | None = each.first
        if _heard(words, each.first, each.last) != each.heard:
            starts = starts or [word.start for word in words]
            length = each.last - each.first
            near = range(bisect_left(starts, each.at - NEAR_S), bisect_left(starts, each.at + NEAR_S))
            fitting = [at for at in near if _heard(words, at, at + length) == each.heard]
            first = min(fitting, key=lambda at: abs(words[at].start - each.at), default=None)
        if first is None:
            continue
        last = first + each.last - each.first
        if taken.isdisjoint(range(first, last)):
            taken.update(range(first, last))
            found.append((first, last, each))
    return found


def _heard(words: Sequence[Word], first: int, last: int) -> str:
    return " ".join(word.text for word in words[first:last]) if last <= len(words) else "\0"


def _check(words: Sequence[Word], edit: WordsEdit) -> None:
    if not edit.first < edit.last <= len(words):
        raise InvalidEdit("change the words", f"it is about the heard words {edit.first} to {edit.last}; there are {len(words)}.")
    at = edit.first
    for part in edit.parts:
        if not at <= part.first < part.last <= edit.last:
            raise InvalidEdit("change the words", f"its part {part.first} to {part.last} is not in order, or not inside what it changes.")
        at = part.last
        if len(_plain(part.text)) > LONGEST_TEXT:
            raise InvalidEdit("change the words", f"the text has {len(part.text)} characters; write at most {LONGEST_TEXT} at one place.")


def _plain(text: str) -> str:
    """One line of text without control characters; signs that join letters, or turn their direction, stay."""
    return " ".join("".join(sign if sign.isprintable() or sign in "\u200c\u200d\u200e\u200f" else " " for sign in text).split())


def _merged(
    words: Sequence[Word], heard: Sequence[HeardName], corrections: Sequence[Correction], edit: WordsEdit, who: str, when: datetime
) -> tuple[Correction, ...]:
    placed = _placed(words, corrections)
    inside = [each for first, last, each in placed if first < edit.last and last > edit.first]
    kept = [each for each in corrections if each not in inside]
    without = {(piece.first, piece.last): piece.text for piece in pieces(words, heard, kept)}
    for part in edit.parts:
        text = _plain(part.text)
        singles = [without.get((at, at + 1)) for at in range(part.first, part.last)]
        plain = without.get((part.first, part.last), None if None in singles else " ".join(single or "" for single in singles))
        if text == plain:
            continue  # it reads so anyway
        same = next((each for each in inside if (each.first, each.last, each.text) == (part.first, part.last, text)), None)
        kept.append(
            same
            or Correction(
                first=part.first,
                last=part.last,
                at=words[part.first].start,
                heard=_heard(words, part.first, part.last),
                text=text,
                who=who,
                when=when,
            )
        )
    return tuple(sorted(kept, key=lambda each: (each.first, each.at)))
