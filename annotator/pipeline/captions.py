"""The walk's captions: each wording, each clip's own, translations that somebody laid in, and a report of how all of them read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from annotator.captions import (
    WORDINGS,
    Cue,
    Setting,
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
from annotator.errors import InputError
from annotator.library import Library
from annotator.pipeline.draft import course_words
from annotator.pipeline.saving import Documents, change
from annotator.speech import read_timed_text

Timed = TypeVar("Timed", Word, Station)


def keep_translation(library: Library, name: str, language: str, file: Path, *, who: str) -> tuple[str, ...]:
    """Keep a translated caption file with a course; it takes the place of an earlier one of the same language.

    Returns
    -------
    tuple of str
        A sentence for each line of the file that could not be read as it stands; the file is kept as it is.

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
    try:
        kept = TranslatedCaptions(language=language, file=library.files.put(file, file.suffix.lower()))
    except ValidationError as exc:
        raise InputError(f"{language!r} is no language tag. Write it as es, fr, pt-BR.") from exc

    def with_it(course: Course, stations: tuple[Station, ...]) -> Documents:
        others = [each for each in course.translations if each.language.casefold() != language.casefold()]
        ordered = sorted([*others, kept], key=lambda each: each.language)
        return course.model_copy(update={"translations": tuple(ordered)}), stations

    change(library, name, who, with_it)
    return read.problems


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
    portrait = all(clip.height > clip.width for clip in clips)
    spans = rule_spans(stations, course.blanket, course.format)
    reports = _write_wordings(out, "captions", words, stations, spans, portrait)
    for each in course.translations:
        cues = placed(lay_in(read_timed_text(library.files.path(each.file)).cues, portrait=portrait), stations)
        reports.append(_write(out, f"captions.{each.language}", cues, Setting(portrait=portrait)))
    for clip in clips if len(clips) > 1 else ():
        here = [word for word in words if clip.start_s <= word.start < clip.start_s + clip.duration_s]
        own = [station for station in stations if clip.start_s <= station.start < clip.start_s + clip.duration_s]
        moved = [_earlier(word, clip.start_s) for word in here]
        moved_spans = [(start - clip.start_s, end - clip.start_s) for start, end in spans]
        _write_wordings(
            out, f"clip-{clip.number}", moved, [_earlier(each, clip.start_s) for each in own], moved_spans, clip.height > clip.width
        )
    duration_s = max((clip.start_s + clip.duration_s for clip in clips), default=0.0)
    (out / "reading.txt").write_text("\n".join(reports), "utf-8", newline="\n")
    (out / "chapters.vtt").write_text(write_chapters(stations, duration_s), "utf-8", newline="\n")
    (out / "stations.txt").write_text(station_list(stations), "utf-8", newline="\n")
    return out


def _write_wordings(
    out: Path, stem: str, words: Sequence[Word], stations: Sequence[Station], spans: Sequence[tuple[float, float]], portrait: bool
) -> list[str]:
    """Captions of each wording: every word under the plain name, the others under theirs. Their reports, in the same order."""
    reports = []
    for wording in WORDINGS:
        setting = Setting(wording, portrait=portrait)
        name = stem if wording == "as spoken" else f"{stem}.{wording}"
        reports.append(_write(out, name, placed(plan_cues(words, stations, setting, spans=spans), stations), setting, words))
    return reports


def _write(out: Path, name: str, cues: Sequence[Cue], setting: Setting, words: Sequence[Word] | None = None) -> str:
    (out / f"{name}.vtt").write_text(write_vtt(cues), "utf-8", newline="\n")
    (out / f"{name}.srt").write_text(write_srt(cues), "utf-8", newline="\n")
    return f"{name}.vtt\n{reading_as_text(reading(cues, setting, words=words))}"


def _earlier(item: Timed, by_s: float) -> Timed:
    return item.model_copy(update={"start": max(0.0, item.start - by_s), "end": max(0.0, item.end - by_s)})
