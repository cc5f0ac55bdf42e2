"""Take in a walk: look at each clip, keep it in the library, and write the course's first page."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.course import Clip, Course
from annotator.errors import InputError
from annotator.library import Library
from annotator.media import probe
from annotator.speech import read_timed_text
from annotator.units import Progress, clock

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
    wanted = _plain(title or "") or _plain(clips[0].stem) or "Course"
    if len(wanted) > LONGEST_TITLE:
        raise InputError(f"The title has {len(wanted)} characters; use at most {LONGEST_TITLE}. It stands at the top of each card.")
    facts = [probe(path) for path in clips]
    _refuse_twice(library, clips)
    for path in captions:
        read_timed_text(path)
    kept, start_s = [], 0.0
    for at, (path, fact) in enumerate(zip(clips, facts, strict=True)):
        kept.append(
            Clip(
                number=at + 1,
                title=_plain(path.name),
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


def _plain(text: str) -> str:
    """One line that prints and saves anywhere: no control characters, no bytes of a file name that are no text."""
    printable = (sign if sign.isprintable() or sign in JOINERS else " " for sign in text.encode("utf-8", "replace").decode())
    return " ".join("".join(printable).split())


JOINERS = "\u200c\u200d"  # not printable by themselves, but inside a family of signs they make one picture


def _refuse_twice(library: Library, clips: Sequence[Path]) -> None:
    seen: dict[str, int] = {}
    for number, path in enumerate(clips, start=1):
        first = seen.setdefault(library.files.digest(path), number)
        if first != number:
            raise InputError(f"Clip {number} ({_plain(path.name)}) is the same recording as clip {first}. Name each clip once.")


def cut_off(clips: Sequence[Path]) -> tuple[str, ...]:
    """A sentence for each clip whose file ends before its own index says: what is there is used, the rest is gone."""
    sentences = []
    for path in clips:
        fact = probe(path)
        if fact.cut_off:
            end = clock(fact.duration_s)
            sentences.append(
                f"{_plain(path.name)} was cut off: only its first {end} can be used. If the walk went on after that, copy the file again."
            )
    return tuple(sentences)


def duplicate_of(library: Library, clips: Sequence[Path]) -> str | None:
    """The name of a course that was made from just these files, if there is one; `UnreadableVideo` where one of them is no film."""
    for path in clips:
        probe(path)
    digests = tuple(library.files.digest(path) for path in clips)
    return next((at.doc.name for at in library.courses() if tuple(clip.original for clip in at.doc.clips) == digests), None)
