"""Draft a course: hear the walk, read the rules in it, pick its stills. Every stage is kept by its inputs, settings and version, so that
a run that was stopped or killed goes on where it was, and running it again does nothing twice.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from annotator.course import Clip, Course, Sheet, Station, Still, Word, merge_draft, tells_of, with_clip
from annotator.library import Library, stage_key
from annotator.marks import find_faces
from annotator.media import Window, pick_each, read_audio, write_picture
from annotator.pipeline.originals import original
from annotator.pipeline.quoting import quoted_as_they_read
from annotator.pipeline.saving import change
from annotator.pipeline.steps import Steps, Watcher
from annotator.pipeline.windows import StillWindow, free_still_id, still_windows
from annotator.rules import DRAFTER_VERSION, draft, read_by
from annotator.speech import (
    RECOGNISER_VERSION,
    Correction,
    corrected,
    corrections_from_json,
    propose_names,
    read_timed_text,
    recognise,
    weights_id,
    words_from_json,
    words_to_json,
)
from annotator.units import Progress

STILLS_VERSION = "6"
_WAITING = "waiting for another program that drafts this course"
_HEAR_SHARE, _READ_S, _STILLS_SHARE = 0.12, 4.0, 0.06  # of the walk's length; only for the forecast of the time left


def draft_course(
    library: Library, name: str, *, who: str = "the drafter", weights: str | None = None, progress: Watcher | None = None
) -> None:
    """Bring a course from taken in to drafted; what a person accepted or edited before stays as it is.

    The words and the sheet are saved as soon as they are read, the stills after that. While another program drafts the course this one
    waits, and then finds done what that one did.
    """
    length_s = sum(clip.duration_s for clip in library.course(name).doc.clips)
    steps = Steps(
        [
            (_WAITING, 0.0),
            ("hearing the words", length_s * _HEAR_SHARE),
            ("reading the rules", _READ_S),
            ("picking stills", length_s * _STILLS_SHARE),
        ],
        progress,
    )
    with library.turn(name, "draft", lambda: steps.begin(_WAITING)):
        _draft(library, name, who, weights, steps)


def _draft(library: Library, name: str, who: str, weights: str | None, steps: Steps) -> None:
    course = library.course(name).doc
    steps.begin("hearing the words")
    words = _hear(library, course, weights, steps.within("hearing the words"))
    heard = propose_names(words, course.names)
    settled = {(item.heard, item.name): item.state for item in course.heard}
    heard = tuple(item.model_copy(update={"state": settled.get((item.heard, item.name), "proposed")}) for item in heard)
    steps.done("hearing the words")
    steps.begin("reading the rules")
    words_file = library.files.put(words_to_json(words).encode(), ".json")
    read = course.model_copy(update={"words": words_file, "heard": heard})
    sheet = _sheet(library, read)
    change(library, name, who, lambda now, stations: _quoted(library, *_with_sheet(now, stations, sheet, read)))
    steps.done("reading the rules")
    steps.begin("picking stills")
    _pick(library, name, who, steps.within("picking stills"))
    steps.done("picking stills")


def read_again(library: Library, name: str, *, who: str = "the drafter") -> None:
    """Read the rules anew from the words as they stand, with the accepted names; a course whose words were not heard yet stays as it is."""
    course = library.course(name).doc
    if course.words is None:
        return
    sheet = _sheet(library, course)

    def merged(now: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        after, drafted = merge_draft(now, stations, sheet)
        return _quoted(library, after.model_copy(update={"read_with": course.corrections}), drafted)

    change(library, name, who, merged)


def course_words(library: Library, course: Course) -> tuple[Word, ...]:
    """The walk's words as they now read, with the accepted names and what people corrected; empty before they were heard."""
    return corrected(heard_words(library, course), course.heard, course_corrections(library, course))


def heard_words(library: Library, course: Course) -> tuple[Word, ...]:
    """The walk's words as they were heard, or read from its captions; empty before that."""
    if course.words is None:
        return ()
    return words_from_json(library.files.path(course.words).read_text("utf-8"))


def course_corrections(library: Library, course: Course) -> tuple[Correction, ...]:
    """What people wrote in place of words that were heard, in the order of the walk."""
    if course.corrections is None:
        return ()
    return corrections_from_json(library.files.path(course.corrections).read_text("utf-8"))


def _hear(library: Library, course: Course, weights: str | None, progress: Progress) -> tuple[Word, ...]:
    """All clips' words on the walk's time line."""
    words: list[Word] = []
    heard = [clip.number for clip in course.clips if clip.captions is None and clip.has_audio]
    listener = weights_id(weights) if heard else None
    total_s = sum(clip.duration_s for clip in course.clips) or 1.0
    for clip in course.clips:
        key = words_key(clip.original, clip.captions, listener if clip.number in heard else None)
        kept = library.done("hear", key)
        before = heard_words(library, course) if kept is None and clip.number in heard and not library.files.has(clip.original) else ()
        if before:  # it came in a pack without the clip as filmed, but with what was heard on it
            end_s = clip.start_s + clip.duration_s
            words += (word for word in before if clip.start_s <= word.start and (word.start < end_s or clip is course.clips[-1]))
            continue
        if kept is None:
            kept = words_to_json(_hear_clip(library, clip, weights, _part(progress, clip, total_s))).encode()
            library.mark_done("hear", key, kept)
        words += (_moved(word, clip.start_s) for word in words_from_json(kept.decode()))
        progress((clip.start_s + clip.duration_s) / total_s)
    return tuple(words)


def words_key(original: str, captions: str | None, listener: str | None) -> str:
    """The key under which a clip's words are kept: by the clip, its captions, and the weights that listened (None: nobody did)."""
    return stage_key("hear", RECOGNISER_VERSION, original, captions, listener)


def _hear_clip(library: Library, clip: Clip, weights: str | None, progress: Progress) -> tuple[Word, ...]:
    if clip.captions is not None:
        return read_timed_text(library.files.path(clip.captions)).words
    if not clip.has_audio:
        return ()
    pieces = read_audio(original(library, clip))
    return recognise(pieces, weights=weights, total_s=clip.duration_s, progress=progress)


def _part(progress: Progress, clip: Clip, total_s: float) -> Progress:
    return lambda share: progress((clip.start_s + clip.duration_s * share) / total_s)


def _moved(word: Word, by_s: float) -> Word:
    return word.model_copy(update={"start": word.start + by_s, "end": word.end + by_s})


def _sheet(library: Library, course: Course) -> Sheet:
    """What is said on all clips as one text; a clip of which no station came that way, behind the closing words, is read by itself."""
    words = course_words(library, course)
    sheet = _read(library, words, course.names)
    for clip in course.clips[1:]:
        if not tells_of(sheet, clip):
            own = [word for word in words if clip.start_s <= word.start < clip.start_s + clip.duration_s]
            sheet = with_clip(sheet, clip, _read(library, own, course.names))
    return sheet


def _read(library: Library, words: Sequence[Word], names: Sequence[str]) -> Sheet:
    key = stage_key("read", DRAFTER_VERSION, read_by(), words_to_json(words), list(names))
    kept = library.done("read", key)
    if kept is not None:
        return Sheet.model_validate_json(kept)
    sheet = draft(words, names)
    library.mark_done("read", key, sheet.model_dump_json().encode())
    return sheet


def _with_sheet(course: Course, stations: tuple[Station, ...], sheet: Sheet, read: Course) -> tuple[Course, tuple[Station, ...]]:
    merged, drafted = merge_draft(course, stations, sheet)
    state = "drafted" if course.state == "taken in" else course.state
    told = {"words": read.words, "heard": read.heard, "read_with": read.corrections}
    return merged.model_copy(update={**told, "state": state}), drafted


def _quoted(library: Library, course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
    return quoted_as_they_read(course, stations, heard_words(library, course), course_corrections(library, course))


def _pick(library: Library, name: str, who: str, progress: Progress) -> None:
    """Stills for every station that has none yet."""
    course, stations = library.course(name).doc, [at.doc for at in library.stations(name)]
    wanted = [(station, window) for station in stations if not station.stills for window in still_windows(station, course.clips)]
    found: dict[str, list[tuple[StillWindow, dict[str, object]]]] = {}
    for clip in course.clips:
        here = [(station, window) for station, window in wanted if window.clip == clip.number]
        for (station, window), pick in zip(
            here, _picks(library, clip, [window for _, window in here], _part_of(progress, clip, course)), strict=True
        ):
            if pick is not None:
                found.setdefault(station.id, []).append((window, pick))
    taken = {still.id for station in stations for still in station.stills}
    for station in stations:
        stills = []
        for window, pick in found.get(station.id, ()):
            stills.append(_still(free_still_id(station, taken), window, pick, course))
            taken.add(stills[-1].id)
        if stills:
            _give_stills(library, name, station.id, tuple(stills), who)


def _part_of(progress: Progress, clip: Clip, course: Course) -> Progress:
    return _part(progress, clip, sum(each.duration_s for each in course.clips) or 1.0)


def _picks(library: Library, clip: Clip, windows: Sequence[StillWindow], progress: Progress) -> list[dict[str, object] | None]:
    """One picked frame a window, kept in the library; None where the window held no frame."""
    if not windows:
        return []  # nothing is looked for, so the clip as filmed need not be here
    key = stage_key("pick", STILLS_VERSION, clip.original, [[window.start_s, window.end_s] for window in windows])
    kept = library.done("pick", key)
    if kept is not None:
        return list(json.loads(kept))
    spans = [Window(window.start_s, window.end_s, 1) for window in windows]
    picks: list[dict[str, object] | None] = [None] * len(windows)
    for pick in pick_each(original(library, clip), spans, progress=progress):
        height, width = pick.image.shape[:2]
        picks[pick.window] = {
            "time_s": pick.time_s,
            "pts": pick.pts,
            "why": pick.why,
            "width": width,
            "height": height,
            "file": library.files.put(write_picture(pick.image, ".png"), ".png"),
            "faces": [list(box) for box in find_faces(pick.image)],
        }
    library.mark_done("pick", key, json.dumps(picks).encode())
    return picks


def _still(still_id: str, window: StillWindow, pick: dict[str, object], course: Course) -> Still:
    clip = next(clip for clip in course.clips if clip.number == window.clip)
    time_s = clip.start_s + float(pick["time_s"])  # type: ignore[arg-type]  # written by _picks as a float
    why = f"{pick['why']}; near the words about {', '.join(window.about)}" if window.about else str(pick["why"])
    return Still.model_validate({**pick, "id": still_id, "clip": window.clip, "time_s": time_s, "why": why})


def _give_stills(library: Library, name: str, station_id: str, stills: tuple[Still, ...], who: str) -> None:
    def add(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        return course, tuple(
            station.model_copy(update={"stills": stills}) if station.id == station_id and not station.stills else station
            for station in stations
        )

    change(library, name, who, add)
