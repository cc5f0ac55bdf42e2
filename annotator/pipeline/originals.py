"""The clips as filmed. A course that came in a pack without them has its rules, stills and proxies, and none of these."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.course import Clip, Course
from annotator.errors import InputError
from annotator.library import Library


def original(library: Library, clip: Clip) -> Path:
    """Where a clip as filmed lies; `InputError` that says what to do where it was left out of the pack."""
    if not library.files.has(clip.original):
        raise InputError(
            f"This needs the clip {clip.title!r} as filmed, and the course came in a pack without it. Take in the same clip again, "
            "or unpack a pack that has it. What is drafted can be changed and published without it."
        )
    return library.files.path(clip.original)


def bring_back(library: Library, course: Course, clips: Sequence[Path]) -> bool:
    """Put back what is missing of a course's clips as filmed, from the same files; whether anything was."""
    missing = [path for path, clip in zip(clips, course.clips, strict=True) if not library.files.has(clip.original)]
    for path in missing:
        library.files.put(path, path.suffix.lower())
    return bool(missing)
