"""What staff add in other languages: what a name is called there, and the words of a still for those who cannot see it. Pure.

A translation belongs to the words that were said, not to one surface: "green platform" is translated once, wherever it is named, and a new
draft of the walk finds it again. It changes no rule, so it takes no signature away; the words of a still do, since they tell rulings.
"""

from __future__ import annotations

from annotator.course import edit_kinds as kinds
from annotator.course.document import Course, Station, TranslatedName
from annotator.course.find import key


def translate(course: Course, edit: kinds.Translate) -> Course:
    """The course with that translation in place of the one it had, if any; the same course where nothing changes."""
    had = next((one for one in course.translated if key(one.said) == key(edit.said) and one.language == edit.language), None)
    wanted = edit.translation and " ".join(edit.translation.split())
    if wanted == (had and had.translation):
        return course
    if not wanted:
        return course.model_copy(update={"translated": tuple(one for one in course.translated if one is not had)})
    new = TranslatedName(said=" ".join(edit.said.split()), language=edit.language, translation=wanted)
    if had is None:
        return course.model_copy(update={"translated": (*course.translated, new)})
    return course.model_copy(update={"translated": tuple(new if one is had else one for one in course.translated)})


def with_alt(station: Station, edit: kinds.SetAlt) -> Station:
    """The station with those words for its still in that language, or without any of its own where they are None."""
    stills = []
    for still in station.stills:
        if still.id == edit.still:
            others = {language: text for language, text in still.alt.items() if language != edit.language}
            own = {} if edit.text is None else {edit.language: " ".join(edit.text.split())}
            still = still.model_copy(update={"alt": dict(sorted({**others, **own}.items()))})
        stills.append(still)
    return station.model_copy(update={"stills": tuple(stills)})


def named_in(course: Course, language: str) -> dict[str, str]:
    """The names that have a translation into that language, as `find.key` spells them, with it."""
    return {key(one.said): one.translation for one in course.translated if one.language == language}
