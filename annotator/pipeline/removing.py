"""Remove a course of the bin for good: its films, words, stills and editions, and all that was made from them.

What is made from other courses stays where it can be told to be theirs; the rest (kept pages, drawn films, readings) is made again when
it is asked for. Numbers about pictures (boxes of faces, outlines, how marks are carried) name nobody and stay.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from annotator.course import Course, Station, Word
from annotator.library import Keeps, Library
from annotator.pipeline.pictures import drop_kept, picture_key
from annotator.speech import words_from_json

_HASH = re.compile(rb"[0-9a-f]{64}")
_MADE_AGAIN = ("read", "film")
"""Quotes and faces: nothing tells for which course they were made."""


def remove_for_good(library: Library, name: str) -> None:
    """Delete a course of the bin from this machine; see `Library.remove_for_good`."""

    def judge(docs: Sequence[Course | Station], named: frozenset[str]) -> Keeps:
        pictures = {picture_key(still) for doc in docs if isinstance(doc, Station) for still in doc.stills}
        heard = set(_heard(library, docs))

        def keeps(stage: str, key: str, value: bytes) -> bool:
            if key == name or key.startswith(f"{name} ") or stage in _MADE_AGAIN:
                return False
            if stage == "picture":
                return key in pictures
            if stage == "hear":
                return _said(words_from_json(value.decode())) in heard
            return all(found.decode() in named for found in _HASH.findall(value))

        return keeps

    library.remove_for_good(name, judge)
    shutil.rmtree(library.root / "films" / name, ignore_errors=True)
    drop_kept(library)


def due_for_removal(library: Library) -> tuple[str, ...]:
    """The names of the courses whose time in the bin is over."""
    return tuple(each.course.name for each in library.in_bin() if each.until <= datetime.now(UTC))


def _heard(library: Library, docs: Sequence[Course | Station]) -> Iterator[tuple[str, ...]]:
    """What was heard on each clip of the courses that stay, in every revision."""
    courses = {(doc.words, doc.clips): doc for doc in docs if isinstance(doc, Course) and doc.words is not None}
    for doc in courses.values():
        if doc.words is None or not library.files.has(doc.words):
            continue
        words = words_from_json(library.files.path(doc.words).read_text("utf-8"))
        for clip in doc.clips:
            yield _said([word for word in words if clip.start_s <= word.start < clip.start_s + clip.duration_s])


def _said(words: Sequence[Word]) -> tuple[str, ...]:
    return tuple(word.text for word in words)
