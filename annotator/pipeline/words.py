"""Correct the walk's words by hand: an edit of words is a new revision of the course, with who and when; what was heard stays as it is."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from annotator.course import Course, Said, Station, Word
from annotator.library import Library
from annotator.pipeline.draft import course_corrections, course_words, heard_words
from annotator.pipeline.saving import change
from annotator.speech import Piece, WordsEdit, corrections_to_json, pieces, rewritten

_CLOSE_S = 1e-6


def word_pieces(library: Library, course: Course) -> tuple[Piece, ...]:
    """The walk's words as they now read, in pieces that know which heard words they stand for; empty before the walk was heard."""
    return pieces(heard_words(library, course), course.heard, course_corrections(library, course))


def edit_words(library: Library, name: str, edits: Sequence[WordsEdit], *, who: str) -> tuple[WordsEdit, ...]:
    """Change words by hand, all or none, and give the edits that take it back, in the order in which to do them.

    Nothing is drafted anew by it: `Course.read_with` tells that words changed since. Evidence that quotes the words quotes the new ones.

    Raises
    ------
    StaleEdit
        Somebody else changed the same words since they were read; nothing is saved.
    InvalidEdit
        An edit reaches beyond the words, or its text is too long.
    """
    back: list[WordsEdit] = []

    def with_edits(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        words, now = heard_words(library, course), course_corrections(library, course)
        revision, when = library.course(name).revision, datetime.now(UTC)
        back.clear()
        for edit in edits:
            now, undo = rewritten(words, course.heard, now, edit, who=who, when=when, revision=revision)
            back.insert(0, undo)
        file = library.files.put(corrections_to_json(now).encode(), ".json") if now else None
        after = course.model_copy(update={"corrections": file})
        return requoted(after, stations, course_words(library, course), course_words(library, after))

    change(library, name, who, with_edits)
    return tuple(back)


def requoted(
    course: Course, stations: tuple[Station, ...], before: Sequence[Word], after: Sequence[Word]
) -> tuple[Course, tuple[Station, ...]]:
    """The documents with evidence that quoted the words before a change quoting those after it. Pure.

    Only the text changes, and only where it was the very words of its span; what a rule says, who accepted it and who signed stay.
    Evidence whose words were all left out keeps them: a rule without words would look as if nobody had said it.
    """
    old, new = _Words(before), _Words(after)

    def quoted(said: tuple[Said, ...]) -> tuple[Said, ...]:
        return tuple(
            one.model_copy(update={"text": new.between(one)})
            if one.text == old.between(one) and new.between(one) not in ("", one.text)
            else one
            for one in said
        )

    def requote(item: Any) -> Any:
        said = quoted(item.said)
        return item if said == item.said else item.model_copy(update={"said": said})

    changed = []
    for station in stations:
        surfaces = tuple(requote(surface) for surface in station.surfaces)
        now = requote(station)
        changed.append(now if surfaces == station.surfaces else now.model_copy(update={"surfaces": surfaces}))
    update: dict[str, object] = {"blanket": tuple(requote(rule) for rule in course.blanket)}
    update |= {
        "format": None if course.format is None else requote(course.format),
        "drafted": tuple(requote(one) for one in course.drafted),
    }
    return course.model_copy(update=update), tuple(changed)


class _Words:
    """Words that can be asked for a span."""

    def __init__(self, words: Sequence[Word]) -> None:
        self._words, self._starts = words, [word.start for word in words]

    def between(self, span: Said) -> str:
        first = bisect_left(self._starts, span.start - _CLOSE_S)
        last = bisect_right(self._starts, span.end + _CLOSE_S)
        return " ".join(word.text for word in self._words[first:last] if word.end <= span.end + _CLOSE_S)
