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
    wanted = fit_title(title or "") or _plain(clips[0].stem)[:LONGEST_TITLE].strip() or "Course"
    facts = [probe(path) for path in clips]
    refuse_misfits([(path.name, library.files.digest(path)) for path in clips], len(captions))
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


def fit_title(title: str) -> str:
    """A title as one plain line, "" where nothing is left of it; `InputError` where it is too long for the top of a card."""
    plain = _plain(title)
    if len(plain) > LONGEST_TITLE:
        raise InputError(f"The title has {len(plain)} characters; use at most {LONGEST_TITLE}. It stands at the top of each card.")
    return plain


def refuse_misfits(clips: Sequence[tuple[str, str]], captions: int) -> None:
    """`InputError` where clips (file name and SHA-256, in order) hold one recording twice, or do not fit the number of caption files."""
    if captions and captions != len(clips):
        raise InputError(f"{len(clips)} clips but {captions} caption files: give one a clip, in the same order, or none.")
    seen: dict[str, int] = {}
    for number, (name, sha) in enumerate(clips, start=1):
        first = seen.setdefault(sha, number)
        if first != number:
            raise InputError(f"Clip {number} ({_plain(name)}) is the same recording as clip {first}. Give each clip once.")


def cut_off(path: Path) -> str | None:
    """A sentence for a clip whose file ends before its own index says: what is there is used, the rest is gone. None: it is whole."""
    facts = probe(path)
    if not facts.cut_off:
        return None
    end = clock(facts.duration_s)
    return f"{_plain(path.name)} was cut off: only its first {end} can be used. If the walk went on after that, copy the file again."


def same_walk(library: Library, digests: Sequence[str]) -> Course | None:
    """The course that was made from just these recordings (their SHA-256, in order), if there is one."""
    return next((at.doc for at in library.courses() if [clip.original for clip in at.doc.clips] == list(digests)), None)


def duplicate_of(library: Library, clips: Sequence[Path]) -> str | None:
    """The name of a course that was made from just these files, if there is one; `UnreadableVideo` where one of them is no film."""
    for path in clips:
        probe(path)
    course = same_walk(library, [library.files.digest(path) for path in clips])
    return None if course is None else course.name
