"""The catalogues say everything, in the form that gettext's own checker and Unicode's plural rules ask for."""

from __future__ import annotations

import datetime as dt
import gettext
import string
from collections.abc import Iterator

import pytest
from babel import Locale
from babel.messages.catalog import Message

from annotator.booklet import LANGUAGES, Wording
from annotator.booklet.catalogues import catalogue, categories
from annotator.booklet.english import ENGLISH, Forms
from annotator.errors import NotFound
from annotator.marks import PlateWords

OTHERS = LANGUAGES[1:]
NOT_RULES = ("caution", "epub-summary", "keys-where", "no-words", "key-does:b", "answer:close", "answer:unmarked", "picture-keys", "kept")
"""Two sentences and more each, or nothing that an athlete has to obey."""


def messages(language: str) -> dict[str, Message]:
    return {str(message.context): message for message in catalogue(language) if message.id}


def forms(message: Forms) -> Iterator[str]:
    yield from (message,) if isinstance(message, str) else message.values()


def places(text: str) -> set[str]:
    return {field for _, field, _, _ in string.Formatter().parse(text) if field is not None}


def test_plates_in_english_are_those_that_the_marks_have_without_a_language() -> None:
    assert Wording().plates == PlateWords()


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_has_every_key_of_the_english_list_and_no_other(language: str) -> None:
    assert list(messages(language)) == list(ENGLISH)


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_left_to_translate_and_nothing_is_of_an_older_english(language: str) -> None:
    for key, message in messages(language).items():
        english = ENGLISH[key]
        assert message.id == (english if isinstance(english, str) else (english["one"], english["other"])), f"{key}: the English changed"
        assert not message.fuzzy, f"{key} is fuzzy"
        assert all([message.string] if isinstance(message.string, str) else message.string or [None]), f"{key} is empty"


@pytest.mark.parametrize("language", OTHERS)
def test_a_translation_has_the_places_of_its_english(language: str) -> None:
    for key, message in Wording(language).messages.items():
        wanted = set[str]().union(*(places(text) for text in forms(ENGLISH[key])))
        assert all(places(text) == wanted for text in forms(message)), key


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_whole_number_has_its_plural_form(language: str) -> None:
    """Against Unicode CLDR's rule, asked number by number."""
    rule = Locale.parse(language).plural_form
    for key, message in Wording(language).messages.items():
        if not isinstance(message, str):
            for number in range(1, 1000):
                wanted = message[rule(number)].format(count=number)
                assert Wording(language).count(key, number) == wanted


@pytest.mark.parametrize("language", OTHERS)
def test_the_head_of_a_catalogue_picks_the_same_form_as_unicode(language: str) -> None:
    """Python's own gettext reads the head as any program would that opens the file."""
    index = gettext.c2py(catalogue(language).plural_expr)
    for number in range(1000):
        assert categories(language)[index(number)] == Locale.parse(language).plural_form(number)


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_line_of_a_rule_is_longer_than_twelve_words(language: str) -> None:
    for key, message in Wording(language).messages.items():
        for text in forms(message):
            words = [word for word in text.split() if any(letter.isalnum() for letter in word)]
            assert len(words) <= 12 or key in NOT_RULES, f"{key}: {text}"


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_the_same_in_english_is_so_on_purpose(language: str) -> None:
    """A message that was only copied would stay English unseen."""
    same = {key for key, text in Wording(language).messages.items() if text == ENGLISH[key]}
    assert same <= {
        "no", "name-translated", "thing", "thing-part", "thing-touch", "alt-where", "overshoot-of", "speed-of",
        "key:n", "key:b", "key:c", "key:speed",
        "station", "station-named", "start", "start-plate", "walk-of", "slip-under", "slip-was",
    }  # fmt: skip


def test_lists_and_dates_are_written_as_each_language_writes_them() -> None:
    """Values of Unicode CLDR 45's charts: list pattern "standard", date format "long"."""
    assert [Wording(language).list(["1", "2", "3"]) for language in LANGUAGES] == [
        "1, 2, and 3",
        "1, 2 y 3",
        "1, 2 et 3",
        "1, 2 und 3",
        "1, 2 e 3",
    ]
    assert [Wording(language).date(dt.date(2026, 5, 9)) for language in LANGUAGES] == [
        "May 9, 2026", "9 de mayo de 2026", "9 mai 2026", "9. Mai 2026", "9 de maio de 2026",
    ]  # fmt: skip


def test_none_at_all_has_its_own_sentence() -> None:
    assert Wording().count("retries", 0) == "No second try: the first fail ends your run."
    assert Wording("fr").count("retries", 0) == "Pas de deuxième essai : la première faute arrête ton passage."


def test_a_message_that_is_handed_in_stands_in_place_of_the_catalogue_s() -> None:
    own = Wording("de", {"start": "Los"})
    assert (own.say("start"), own.say("finish"), own.messages["start"]) == ("Los", "Ziel", "Los")


def test_a_language_without_a_catalogue_is_refused_with_those_there_are() -> None:
    with pytest.raises(NotFound, match=r"no language 'it'. There is: en, es, fr, de, pt"):
        Wording("it")
