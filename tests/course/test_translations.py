"""What staff say of names and stills in other languages: kept by what was said, through drafts, and never over a person's back."""

from __future__ import annotations

from typing import Any

import pytest

from annotator.course import Course, Sheet, Station, apply, merge_draft, named_in, read_edit
from annotator.course.places import differing, taken_back
from annotator.errors import InvalidEdit

Documents = tuple[Course, tuple[Station, ...]]


def do(documents: Documents, **edit: Any) -> Documents:
    return apply(*documents, read_edit(edit), "Ana")


def translated(documents: Documents, said: str, translation: str | None, language: str = "es") -> Documents:
    return do(documents, do="translate", said=said, language=language, translation=translation)


def test_a_name_is_translated_once_a_language_and_found_however_it_is_written(drafted: Documents) -> None:
    course, _ = translated(translated(drafted, "Blue  mat", "colchoneta azul"), "blue mat", "tapis bleu", "fr")
    assert named_in(course, "es") == {"blue mat": "colchoneta azul"}
    assert named_in(course, "fr") == {"blue mat": "tapis bleu"}
    again, _ = translated((course, ()), "BLUE MAT", " alfombra   azul ")
    assert named_in(again, "es") == {"blue mat": "alfombra azul"}
    assert len(again.translated) == 2
    gone, _ = translated((again, ()), "blue mat", None)
    assert named_in(gone, "es") == {}


def test_saying_it_again_or_taking_back_what_is_not_there_changes_nothing(drafted: Documents) -> None:
    once = translated(drafted, "net", "red")
    assert translated(once, "net", "red") == once
    assert translated(drafted, "net", None) == drafted


def test_a_translation_takes_no_signature_away(drafted: Documents) -> None:
    accepted = do(drafted, do="accept", station=1)
    signed = apply(*accepted, read_edit({"do": "sign", "station": 1}), "Ben")
    assert translated(signed, "stump", "tronco")[1][0].signed_by == "Ben"


def test_words_of_a_still_are_set_by_language_and_taken_back(drafted: Documents) -> None:
    written = do(drafted, do="set-alt", station=1, still="s01-1", language="es", text=" Una  colchoneta azul. ")
    written = do(written, do="set-alt", station=1, still="s01-1", language="de", text="Eine blaue Matte.")
    assert written[1][0].stills[0].alt == {"de": "Eine blaue Matte.", "es": "Una colchoneta azul."}
    without = do(written, do="set-alt", station=1, still="s01-1", language="es", text=None)
    assert without[1][0].stills[0].alt == {"de": "Eine blaue Matte."}


def test_words_of_a_still_tell_rulings_so_they_take_the_signature_away(drafted: Documents) -> None:
    accepted = do(drafted, do="accept", station=1)
    signed = apply(*accepted, read_edit({"do": "sign", "station": 1}), "Ben")
    assert do(signed, do="set-alt", station=1, still="s01-1", language="en", text="A mat.")[1][0].signed_by is None


def test_words_for_a_still_that_is_not_there_name_those_that_are(drafted: Documents) -> None:
    with pytest.raises(InvalidEdit, match=r"station 1 has no 'x9'. There is: s01-1"):
        do(drafted, do="set-alt", station=1, still="x9", language="en", text="A mat.")


@pytest.mark.parametrize("language", ["Spanish", "e", "es_ES", ""])
def test_a_language_is_named_as_bcp_47_does(language: str) -> None:
    with pytest.raises(InvalidEdit, match="language"):
        read_edit({"do": "translate", "said": "net", "language": language, "translation": "red"})


def test_a_new_draft_keeps_translations_and_the_words_of_a_still(drafted: Documents, sheet: Sheet) -> None:
    mine = do(translated(drafted, "rings", "anillas"), do="set-alt", station=1, still="s01-1", language="es", text="Una colchoneta.")
    mine = do(mine, do="accept", station=1)
    course, stations = merge_draft(*mine, sheet)
    assert named_in(course, "es") == {"rings": "anillas"}
    assert stations[0].stills[0].alt == {"es": "Una colchoneta."}


def test_documents_from_before_translations_load(drafted: Documents) -> None:
    course, (station, *_) = drafted
    old = course.model_dump(mode="json", exclude={"translated", "language"})
    assert (Course.model_validate(old).translated, Course.model_validate(old).language) == ((), "en")
    older = station.model_dump(mode="json", exclude={"stills": {"__all__": {"alt"}}})
    assert Station.model_validate(older) == station


def test_two_people_who_translate_two_names_are_in_nobody_s_way(drafted: Documents) -> None:
    course, _ = drafted
    mine, _ = translated(drafted, "net", "red")
    both, _ = translated((mine, ()), "bell", "campana")
    assert differing(course, mine) == {"name net in es"}
    assert named_in(taken_back(course, mine, both), "es") == {"bell": "campana"}
