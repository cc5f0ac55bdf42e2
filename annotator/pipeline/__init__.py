"""The main job: a walk in, a published edition out. `walk_to_booklet` is the whole product in one function; each verb is one module.

take_in   look at the clips and keep them          draft     hear the walk, read its rules, pick its stills
changes   what people decide, accept, mark, ask    publish   freeze an edition
carrying  marks of one still on the others         replay    zones over a judge's own clip
outputs   one output of a state or an edition      pictures  what may leave the library, faces blurred
captions  each wording and language, and a report   films     one a station, and the whole walk with its page
words     what people correct by hand in what was heard  shown   what a player shows of a clip
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.captions import Wording
from annotator.library import Edition, Library, read_decisions
from annotator.pipeline.ahead import make_ahead
from annotator.pipeline.captions import WalkCaptions, drop_translation, keep_translation, walk_captions
from annotator.pipeline.carrying import CarriedOver, carried_to, carry_over
from annotator.pipeline.changes import (
    accept,
    after_edits,
    apply_all,
    ask,
    decide,
    documents,
    findings,
    grab_still,
    marks_from,
    ruling_as_json,
    sign,
    with_sound_stills,
)
from annotator.pipeline.draft import course_corrections, course_words, draft_course, heard_words, read_again, words_key
from annotator.pipeline.film_folder import StationFilm, films_folder, make_films, show_faces, station_films, write_films
from annotator.pipeline.films import LINES, FilmWishes, refuse_films
from annotator.pipeline.marking import like_it, offers, proposals, propose_marks, snug
from annotator.pipeline.originals import bring_back
from annotator.pipeline.outputs import OUTPUT_KINDS, write_output
from annotator.pipeline.pictures import LibraryPictures, make_sizes, picture_key, pictures_of
from annotator.pipeline.places import file_place
from annotator.pipeline.proxies import make_proxies
from annotator.pipeline.publish import blocking, has_outputs, publish
from annotator.pipeline.readers import languages_of, made_alt, reading_levels
from annotator.pipeline.removing import due_for_removal, remove_for_good
from annotator.pipeline.replay import replay
from annotator.pipeline.saving import Note, change, save_differing
from annotator.pipeline.shown import grab_shown, proxy_frames
from annotator.pipeline.steps import StageProgress, Watcher
from annotator.pipeline.take_in import add_clips, cut_off, duplicate_of, fit_title, refuse_misfits, refuse_there, same_walk, take_in
from annotator.pipeline.words import edit_words, word_pieces

__all__ = [
    "LINES",
    "OUTPUT_KINDS",
    "CarriedOver",
    "FilmWishes",
    "LibraryPictures",
    "Note",
    "StageProgress",
    "StationFilm",
    "WalkCaptions",
    "Watcher",
    "Wording",
    "accept",
    "add_clips",
    "after_edits",
    "apply_all",
    "ask",
    "blocking",
    "bring_back",
    "carried_to",
    "carry_over",
    "change",
    "course_corrections",
    "course_words",
    "cut_off",
    "decide",
    "documents",
    "draft_course",
    "drop_translation",
    "due_for_removal",
    "duplicate_of",
    "edit_words",
    "file_place",
    "films_folder",
    "findings",
    "fit_title",
    "grab_shown",
    "grab_still",
    "has_outputs",
    "heard_words",
    "keep_translation",
    "languages_of",
    "like_it",
    "made_alt",
    "make_ahead",
    "make_films",
    "make_proxies",
    "make_sizes",
    "marks_from",
    "offers",
    "picture_key",
    "pictures_of",
    "proposals",
    "propose_marks",
    "proxy_frames",
    "publish",
    "read_again",
    "reading_levels",
    "refuse_films",
    "refuse_misfits",
    "refuse_there",
    "remove_for_good",
    "replay",
    "ruling_as_json",
    "same_walk",
    "save_differing",
    "show_faces",
    "sign",
    "snug",
    "station_films",
    "take_in",
    "walk_captions",
    "walk_to_booklet",
    "with_sound_stills",
    "word_pieces",
    "words_key",
    "write_films",
    "write_output",
]


def walk_to_booklet(
    library: Library,
    clips: Sequence[Path],
    names: Sequence[str],
    decisions: Path,
    marks: Path,
    *,
    title: str,
    director: str,
    head_judge: str,
) -> Edition:
    """Turn a filmed walk, with what people decided and marked on it, into a published edition."""
    name = take_in(library, clips, title=title, names=names, who=director)
    draft_course(library, name)
    for step in read_decisions(decisions).steps:
        decide(library, name, step.decisions, who=step.who)
    marks_from(library, name, marks, who=director)
    accept(library, name, who=director)
    sign(library, name, who=head_judge)
    edition = publish(library, name, who=head_judge)
    make_proxies(library, name)
    return edition
