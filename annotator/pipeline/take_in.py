"""Take in a walk, or further clips of it: look at each clip, keep it in the library, and write it into the course."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.course import Clip, Course, Station
from annotator.errors import InputError
from annotator.library import Library
from annotator.media import ClipInfo, probe
from annotator.pipeline.saving import Documents, change
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
    kept = in_a_row((), _keep(library, clips, facts, captions, progress))
    course = Course(name=library.free_name(wanted), title=wanted, clips=kept, names=tuple(names))
    return library.add_course(course, (), who).doc.name


def add_clips(
    library: Library,
    name: str,
    clips: Sequence[Path],
    *,
    names: Sequence[str] = (),
    captions: Sequence[Path] = (),
    who: str = "staff",
    progress: Progress | None = None,
) -> int:
    """Keep further clips (in order) behind those that a course has; drafting it afterwards (`draft_course`) reads them too.

    What is there keeps its place on the walk's time line, so nothing that was drafted, marked or signed moves. A clip that the course
    has already is passed over, so that a run that was killed can be done again; `refuse_there` tells a person before. `names` go behind
    those of the names list. Gives how many clips came to it.

    Raises
    ------
    InputError
        No clip, one given twice, or captions that are not one a clip.
    UnreadableVideo, UnreadableText
        A clip or a caption file cannot be read; the course is as it was.
    NotFound
        No such course.
    """
    if not clips:
        raise InputError("Name the video files to add, in the order in which they were filmed.")
    library.course(name)  # told before a long film is read
    facts = [probe(path) for path in clips]
    refuse_misfits([(path.name, library.files.digest(path)) for path in clips], len(captions))
    for path in captions:
        read_timed_text(path)
    kept = _keep(library, clips, facts, captions, progress)
    there = {clip.original for clip in library.course(name).doc.clips}

    def with_clips(course: Course, stations: tuple[Station, ...]) -> Documents:
        listed = {each.casefold() for each in course.names}
        more = tuple(each for each in names if each.casefold() not in listed)
        return course.model_copy(update={"clips": in_a_row(course.clips, kept), "names": (*course.names, *more)}), stations

    change(library, name, who, with_clips)
    return sum(clip.original not in there for clip in kept)


def in_a_row(there: Sequence[Clip], more: Sequence[Clip]) -> tuple[Clip, ...]:
    """Clips with further ones behind them, numbered on and from where the last one ends on the walk's time line. Pure.

    A recording that is there already is not put behind itself.
    """
    row, originals = list(there), {clip.original for clip in there}
    for clip in more:
        if clip.original not in originals:
            start_s = row[-1].start_s + row[-1].duration_s if row else 0.0
            row.append(clip.model_copy(update={"number": len(row) + 1, "start_s": start_s}))
    return tuple(row)


def refuse_there(course: Course, clips: Sequence[tuple[str, str]]) -> None:
    """`InputError` where one of the clips (file name and SHA-256) is in the course already."""
    there = {clip.original: clip for clip in course.clips}
    for name, sha in clips:
        if sha in there:
            raise InputError(f"{_plain(name)} is in this course already, as clip {there[sha].number}. Choose another file.")


def _keep(
    library: Library, clips: Sequence[Path], facts: Sequence[ClipInfo], captions: Sequence[Path], progress: Progress | None
) -> list[Clip]:
    """The clips with their files in the library; where each begins on the walk's time line is not known yet."""
    kept = []
    for at, (path, fact) in enumerate(zip(clips, facts, strict=True)):
        kept.append(
            Clip(
                number=at + 1,
                title=_plain(path.name),
                original=library.files.put(path, path.suffix.lower()),
                start_s=0.0,
                duration_s=fact.duration_s,
                width=fact.width,
                height=fact.height,
                has_audio=fact.has_audio,
                captions=library.files.put(captions[at], captions[at].suffix.lower()) if captions else None,
            )
        )
        if progress is not None:
            progress((at + 1) / len(clips))
    return kept


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
