"""The walk's captions: each wording, each clip's own, translations that somebody laid in, and a report of how all of them read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from annotator.captions import (
    WORDINGS,
    Cue,
    Reading,
    Setting,
    Wording,
    lay_in,
    placed,
    plan_cues,
    reading,
    reading_as_text,
    rule_spans,
    station_list,
    write_chapters,
    write_srt,
    write_vtt,
)
from annotator.course import Course, Station, TranslatedCaptions, Word
from annotator.errors import InputError, NotFound
from annotator.library import Library
from annotator.pipeline.draft import course_words
from annotator.pipeline.saving import Documents, change
from annotator.speech import read_timed_text
from annotator.units import clock

Timed = TypeVar("Timed", Word, Station)


@dataclass(frozen=True)
class WalkCaptions:
    """Captions of the whole walk as they are written: in one wording, or as somebody translated them.

    stem
        Of their files' names: `captions`, `captions.clean`, `captions.es`.
    wording
        None for a translation.
    language
        BCP 47 tag.
    words
        What is said, to which each cue's beginning is held; None for a translation.
    problems
        Whole sentences for whoever gave the file in.
    """

    stem: str
    wording: Wording | None
    language: str
    cues: tuple[Cue, ...]
    setting: Setting
    words: Sequence[Word] | None = None
    problems: tuple[str, ...] = ()

    @property
    def reading(self) -> Reading:
        """How they read."""
        return reading(self.cues, self.setting, words=self.words)


def walk_captions(library: Library, course: Course, stations: Sequence[Station]) -> Iterator[WalkCaptions]:
    """Each wording of the walk's captions, every word first, then each translation; none where no words were heard."""
    words = course_words(library, course)
    if not words:
        return
    portrait = all(clip.height > clip.width for clip in course.clips)
    spans = rule_spans(stations, course.blanket, course.format)
    yield from _wordings("captions", course.language, words, stations, spans, portrait)
    for each in course.translations:
        read = read_timed_text(library.files.path(each.file))
        cues = placed(lay_in(read.cues, portrait=portrait), stations)
        problems = (*read.problems, *_beyond(cues, course))
        yield WalkCaptions(f"captions.{each.language}", None, each.language, cues, Setting(portrait=portrait), problems=problems)


def _wordings(
    stem: str, language: str, words: Sequence[Word], stations: Sequence[Station], spans: Sequence[tuple[float, float]], portrait: bool
) -> Iterator[WalkCaptions]:
    for wording in WORDINGS:
        setting = Setting(wording, portrait=portrait)
        name = stem if wording == "as spoken" else f"{stem}.{wording}"
        cues = placed(plan_cues(words, stations, setting, spans=spans), stations)
        yield WalkCaptions(name, wording, language, cues, setting, words)


def _beyond(cues: Sequence[Cue], course: Course) -> tuple[str, ...]:
    """A sentence where captions begin after the walk's end: then the file is another walk's, or its times are of something longer."""
    length_s = max((clip.start_s + clip.duration_s for clip in course.clips), default=0.0)
    late = sum(cue.start_s >= length_s for cue in cues)
    if not late:
        return ()
    begin = "1 caption begins" if late == 1 else f"{late} captions begin"
    return (f"{begin} after the walk ends ({clock(length_s)}). Is it the file of this walk?",)


def keep_translation(library: Library, name: str, language: str, file: Path, *, who: str) -> tuple[str, ...]:
    """Keep a translated caption file with a course; it takes the place of an earlier one of the same language.

    Returns
    -------
    tuple of str
        A sentence for each line of the file that could not be read as it stands, and where captions begin after the walk's end; the file
        is kept as it is.

    Raises
    ------
    InputError
        The language is no BCP 47 tag.
    UnreadableText
        The file holds no captions.
    """
    read = read_timed_text(file)
    if not read.cues:
        raise InputError(f"{str(file)!r} holds words but no captions. Give the translated .vtt or .srt file.")
    course = library.course(name).doc
    try:
        kept = TranslatedCaptions(language=language, file=library.files.put(file, file.suffix.lower()))
    except ValidationError as exc:
        raise InputError(f"{language!r} is no language tag. Write it as es, fr, pt-BR.") from exc
    change(library, name, who, lambda course, stations: _with_translation(course, stations, language, kept))
    return (*read.problems, *_beyond(lay_in(read.cues), course))


def drop_translation(library: Library, name: str, language: str, *, who: str) -> None:
    """Take a translated caption file out of a course; editions that have it keep it. `NotFound` where there is none."""
    there = [each.language for each in library.course(name).doc.translations]
    if language.casefold() not in map(str.casefold, there):
        raise NotFound("translated captions", language, there)
    change(library, name, who, lambda course, stations: _with_translation(course, stations, language, None))


def _with_translation(course: Course, stations: tuple[Station, ...], language: str, kept: TranslatedCaptions | None) -> Documents:
    others = [each for each in course.translations if each.language.casefold() != language.casefold()]
    ordered = sorted([*others, kept] if kept else others, key=lambda each: each.language)
    return course.model_copy(update={"translations": tuple(ordered)}), stations


def write_captions(library: Library, course: Course, stations: Sequence[Station], out: Path) -> Path:
    """Captions of each wording and language with a report of how they read, chapters and station list, in a folder.

    A walk of several clips has each clip's own captions as well, in its own time.

    Raises
    ------
    InputError
        No words were heard in the walk.
    """
    words = course_words(library, course)
    if not words:
        raise InputError("No words were heard in this walk, so there are no captions to write.")
    out.mkdir(parents=True, exist_ok=True)
    clips = course.clips
    spans = rule_spans(stations, course.blanket, course.format)
    reports = [_write(out, each) for each in walk_captions(library, course, stations)]
    for clip in clips if len(clips) > 1 else ():
        here = [word for word in words if clip.start_s <= word.start < clip.start_s + clip.duration_s]
        own = [station for station in stations if clip.start_s <= station.start < clip.start_s + clip.duration_s]
        moved = [_earlier(word, clip.start_s) for word in here]
        moved_spans = [(start - clip.start_s, end - clip.start_s) for start, end in spans]
        upright = clip.height > clip.width
        for each in _wordings(
            f"clip-{clip.number}", course.language, moved, [_earlier(one, clip.start_s) for one in own], moved_spans, upright
        ):
            _write(out, each)
    duration_s = max((clip.start_s + clip.duration_s for clip in clips), default=0.0)
    (out / "reading.txt").write_text("\n".join(reports), "utf-8", newline="\n")
    (out / "chapters.vtt").write_text(write_chapters(stations, duration_s), "utf-8", newline="\n")
    (out / "stations.txt").write_text(station_list(stations), "utf-8", newline="\n")
    return out


def _write(out: Path, written: WalkCaptions) -> str:
    """Both files of a set of captions; how it reads, as text."""
    (out / f"{written.stem}.vtt").write_text(write_vtt(written.cues), "utf-8", newline="\n")
    (out / f"{written.stem}.srt").write_text(write_srt(written.cues), "utf-8", newline="\n")
    return f"{written.stem}.vtt\n{reading_as_text(written.reading)}"


def _earlier(item: Timed, by_s: float) -> Timed:
    return item.model_copy(update={"start": max(0.0, item.start - by_s), "end": max(0.0, item.end - by_s)})
