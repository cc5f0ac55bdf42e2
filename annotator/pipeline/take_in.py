"""Take in a walk: look at each clip, keep it in the library, and write the course's first page."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.course import Clip, Course
from annotator.errors import InputError
from annotator.library import Library
from annotator.media import probe
from annotator.speech import read_timed_text
from annotator.units import Progress

LONGEST_TITLE = 120


def take_in(
    library: Library,
    clips: Sequence[Path],
    *,
    title: str | None = None,
    names: Sequence[str] = (),
    captions: Sequence[Path] = (),
    who: str = "staff",
    progress: Progress | None = None,
) -> str:
    """Keep a walk's clips (in order) in the library as a new course and return the course's name.

    `captions`, where given, holds one caption file a clip, taken instead of recognition. Everything is looked at before anything is kept:
    a clip that cannot be read leaves the library as it was.

    Raises
    ------
    InputError
        No clip, or captions that are not one a clip.
    UnreadableVideo, UnreadableText
        A clip or a caption file cannot be read; the message says which and why.
    """
    if not clips:
        raise InputError("A walk needs at least one clip. Name the video files in the order in which they were filmed.")
    if captions and len(captions) != len(clips):
        raise InputError(f"{len(clips)} clips but {len(captions)} caption files: give one a clip, in the same order, or none.")
    wanted = " ".join((title or clips[0].stem).split())
    if len(wanted) > LONGEST_TITLE:
        raise InputError(f"The title has {len(wanted)} characters; use at most {LONGEST_TITLE}. It stands at the top of each card.")
    facts = [probe(path) for path in clips]
    for path in captions:
        read_timed_text(path)
    kept, start_s = [], 0.0
    for at, (path, fact) in enumerate(zip(clips, facts, strict=True)):
        kept.append(
            Clip(
                number=at + 1,
                title=path.name,
                original=library.files.put(path, path.suffix.lower()),
                start_s=start_s,
                duration_s=fact.duration_s,
                width=fact.width,
                height=fact.height,
                has_audio=fact.has_audio,
                captions=library.files.put(captions[at], captions[at].suffix.lower()) if captions else None,
            )
        )
        start_s += fact.duration_s
        if progress is not None:
            progress((at + 1) / len(clips))
    course = Course(name=library.free_name(wanted), title=wanted, clips=tuple(kept), names=tuple(names))
    return library.add_course(course, (), who).doc.name


def duplicate_of(library: Library, clips: Sequence[Path]) -> str | None:
    """The name of a course that was made from just these files, if there is one."""
    digests = tuple(library.files.digest(path) for path in clips)
    return next((at.doc.name for at in library.courses() if tuple(clip.original for clip in at.doc.clips) == digests), None)
