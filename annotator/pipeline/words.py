"""Correct the walk's words by hand: an edit of words is a new revision of the course, with who and when; what was heard stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from annotator.course import Course, Station
from annotator.library import Library
from annotator.pipeline.draft import course_corrections, course_words, heard_words
from annotator.pipeline.quoting import requoted
from annotator.pipeline.saving import change
from annotator.speech import Piece, WordsEdit, corrections_to_json, pieces, rewritten


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
        return requoted(after, stations, [course_words(library, course)], course_words(library, after))

    change(library, name, who, with_edits)
    return tuple(back)
