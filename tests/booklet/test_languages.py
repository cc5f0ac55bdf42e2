"""A booklet in another language: its own sentences, names as said with their language, and what staff translated in front."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from annotator.booklet import LANGUAGES, Booklet, Stamp, Wording, pages, write_cards, write_print
from annotator.booklet.phrases import Span, filled, named, plain
from annotator.course import Course, RunFormat, Station, TranslatedName
from tests.booklet.makers import AT, DrawnPictures
from tests.booklet.on_paper import words_by_language


def in_spanish(course: Course, stations: tuple[Station, ...], **names: str) -> Booklet:
    said = {said.replace("_", " "): translation for said, translation in names.items()}
    translated = tuple(TranslatedName(said=one, language="es", translation=other) for one, other in said.items())
    return pages(course.model_copy(update={"translated": translated}), stations, Stamp(3, "7KQ2MX", AT), wording=Wording("es"))


def test_rules_are_told_in_spanish_with_the_names_as_said(course: Course, stations: tuple[Station, ...]) -> None:
    told = in_spanish(course, stations)
    assert told.stamp_line == "Edición 3 · código 7KQ2MX · 9 de mayo de 2026"
    assert [rule.text for rule in told.rules()] == [
        "3 estaciones, en orden.",
        "Tienes 1 intento más en tu turno.",
        "Clasificación: quien llega más lejos, después quien es más rápido.",
        "Paso obligatorio: platforms.",
        "Vale: post pads (manos y pies)",
        "No vale: post pads, top",
        "Under-tens: ver Estación 2.",
        "Adults: sin diferencias.",
    ]
    assert [rule.text for rule in told.stations[0].rules()] == [
        "Solo pies", "Red mat", "Blue boxes, tops", "Blue boxes, sides", "Blue barrel", "Green platform", "No caigas más allá.",
        "El turno que se ve está bien.", "Paso obligatorio: platforms.", "Vale: post pads (manos y pies)", "No vale: post pads, top",
    ]  # fmt: skip
    assert told.stations[1].title == "Estación 2: Balance beam"


def test_a_name_that_staff_translated_leads_and_what_was_said_follows(course: Course, stations: tuple[Station, ...]) -> None:
    told = in_spanish(course, stations, red_mat="colchoneta roja", stepping_boxes="cajas", tops="tapas")
    first = told.stations[0]
    assert first.title == "Estación 1: Cajas (stepping boxes)"
    start, boxes = first.sections[0].rules[0], first.sections[1].rules[0]
    assert start.text == "Colchoneta roja (red mat)"
    assert start.spans == (Span("Colchoneta roja ("), Span("red mat", "en", True), Span(")"))
    assert boxes.text == "Blue boxes, tapas (tops)"
    assert [(span.text, span.language) for span in boxes.spans] == [("Blue boxes", "en"), (", tapas (", None), ("tops", "en"), (")", None)]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_name_of_another_language_says_which_it_is(course: Course, stations: tuple[Station, ...], language: str) -> None:
    """Each word of a line is either of the catalogue, which is the booklet's language, or in a span with its own."""
    told = pages(course, stations, wording=Wording(language))
    names = {"red mat", "blue boxes", "white rail", "platforms", "post pads", "under-tens"}
    for rule in (*told.rules(), *(rule for page in told.stations for rule in page.rules())):
        held = [name for name in names if name in rule.text.lower()]
        spans = [span for span in rule.spans if span.language == "en"]
        assert len(spans) >= len(held) if language != "en" else not rule.spans
        assert not rule.spans or "".join(span.text for span in rule.spans) == rule.text


def test_a_name_that_runs_the_other_way_stands_apart(course: Course, stations: tuple[Station, ...]) -> None:
    first, *others = stations
    mat = first.surfaces[0].model_copy(update={"name": "السجادة"})
    told = pages(course, [first.model_copy(update={"surfaces": (mat, *first.surfaces[1:])}), *others])
    assert told.stations[0].sections[0].rules[0].spans == (Span("السجادة", None, True),)


def test_a_walk_in_another_language_has_its_names_marked_in_the_english_booklet(course: Course, stations: tuple[Station, ...]) -> None:
    german = course.model_copy(update={"language": "de", "format": RunFormat(ranking="wer weiter kommt")})
    told = pages(german, stations)
    assert told.spoken == "de"
    assert Span("wer weiter kommt", "de", True) in next(rule for rule in told.rules() if "Ranking" in rule.text).spans
    assert not any(rule.spans for rule in pages(german, stations, wording=Wording("de")).rules())


def test_words_that_a_person_wrote_for_a_still_stand_in_its_language_only(course: Course, stations: tuple[Station, ...]) -> None:
    first, *others = stations
    written = first.stills[0].model_copy(update={"alt": {"es": "Dos cajas azules y una colchoneta."}})
    changed = [first.model_copy(update={"stills": (written,)}), *others]
    assert pages(course, changed, wording=Wording("es")).stations[0].stills[0].alt == "Dos cajas azules y una colchoneta."
    made = pages(course, changed, wording=Wording("de")).stations[0].stills[0].alt
    assert made.startswith("Station 1: Stepping boxes, gefilmt bei 1:08. Erlaubt: red mat, unten links; blue boxes, tops (nur Füße)")


def test_plates_and_titles_of_the_marks_speak_the_booklet_s_language(course: Course, stations: tuple[Station, ...]) -> None:
    still = in_spanish(course, stations).stations[0].stills[0]
    for svg in (still.overlays[""], still.paper_overlays[""]):
        assert ">SALIDA<" in svg and ">NO VALE: sides<" in svg and ">NO CAIGAS MÁS ALLÁ<" in svg and ">VALE · pies<" in svg
        assert "<title>Vale: blue boxes, tops (solo pies)</title>" in svg


def test_messages_are_filled_with_phrases_that_keep_their_language() -> None:
    phrase = filled("{a} and {b}, {a}", a=named("red mat", "en"), b=plain("blau"))
    assert str(phrase) == "red mat and blau, red mat"
    assert phrase.spans == (Span("red mat", "en", True), Span(" and blau, "), Span("red mat", "en", True))
    assert str(phrase.capital()) == "Red mat and blau, red mat"
    assert filled("nothing of it").marked == ()
    with pytest.raises(KeyError):
        filled("{a}")


@pytest.mark.parametrize("write", [pytest.param(write_cards, id="cards"), pytest.param(write_print, id="print")])
def test_a_printed_name_of_another_language_says_which_it_is(
    course: Course, stations: tuple[Station, ...], pictures: DrawnPictures, tmp_path: Path, write: Callable[..., Path]
) -> None:
    """As pikepdf reads the file: names, title and quoted words are English, all that is ours is Spanish, and no word is of neither."""
    told = in_spanish(course, stations, red_mat="colchoneta roja")
    path = write(told, pictures, tmp_path / "es.pdf", address="https://lane.example/open")
    found = {language: " ".join(" ".join(runs).split()) for language, runs in words_by_language(path).items()}
    english, spanish = found["en"], found["es"]
    for name in ("Stepping boxes", "Balance beam", "red mat", "Blue boxes", "sides", "Blue barrel", "platforms", "post pads", "white rail"):
        assert name in english, name
        assert name.casefold() not in spanish.casefold(), name
    assert "Saltmarsh Lane Open" in english
    for own in ("Solo pies", "Colchoneta roja (", "Lo que no se nombra no vale."):
        assert own in spanish, own
        assert own not in english
    if write is write_print:
        assert "walk the wooden beam" in english
    artifacts = found.get("", "")  # what is drawn twice or on every page: marks on stills, the foot of a page
    assert "barrel" not in artifacts
    assert set(found) <= {"", "en", "es"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_gap_below_a_heading_does_not_say_the_heading_again(language: str) -> None:
    bare = pages(Course(name="c", title="C"), [Station(id="s1", number=1, start=0, end=1)], wording=Wording(language))
    gaps = [(section.title, rule.text) for section in bare.stations[0].sections for rule in section.rules if rule.gap]
    assert len(gaps) == 3
    assert not [(title, text) for title, text in gaps if title.casefold() in text.casefold()]
