"""What is said in one language: messages filled in, counts, lists and dates as that language writes them.

In: a key of the English list (english.py) and the values that go into it. Out: a sentence. The other languages stand in locale/, one
catalogue each (catalogues.py). Names of surfaces, stations and divisions stay as said and come in as values.
Which rule is told where is pages.py; nothing here knows a course.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.lists import format_list

from annotator.booklet.catalogues import LANGUAGES, messages_of, plural_rule
from annotator.booklet.english import ENGLISH, Forms
from annotator.booklet.keeping import stage_name
from annotator.booklet.phrases import Phrase, filled
from annotator.errors import NotFound
from annotator.marks import PlateWords


def own_name_of(language: str) -> str:
    """Any language as its own speakers call it, with a capital; the tag itself where CLDR does not know it.

    >>> own_name_of("es"), own_name_of("pt-BR"), own_name_of("xx")
    ('Español', 'Português (Brasil)', 'xx')
    """
    try:
        name = Locale.parse(language, sep="-").get_display_name()
    except (ValueError, UnknownLocaleError):
        return language
    return name[:1].upper() + name[1:] if name else language


@dataclass(frozen=True)
class Wording:
    """One language's messages.

    Parameters
    ----------
    language : str
        One of `LANGUAGES`, as BCP 47 names it.
    instead : mapping of key to message, optional
        Messages that stand in place of the catalogue's.

    Raises
    ------
    NotFound
        There is no catalogue of that language.

    Examples
    --------
    >>> Wording().say("station-named", number=3, name="Ring row")
    'Station 3: Ring row'
    >>> Wording().count("retries", 2), Wording("es").count("retries", 1)
    ('You have 2 retries in your run.', 'Tienes 1 intento más en tu turno.')
    """

    language: str = "en"
    instead: Mapping[str, Forms] = field(default_factory=dict, repr=False, hash=False)

    def __post_init__(self) -> None:
        if self.language not in LANGUAGES:
            raise NotFound("language", self.language, LANGUAGES)

    @property
    def messages(self) -> Mapping[str, Forms]:
        """Every message by its key."""
        return {**messages_of(self.language), **self.instead} if self.instead else messages_of(self.language)

    @property
    def direction(self) -> str:
        """Which way its lines run: "ltr" or "rtl"."""
        return self._locale.text_direction

    @property
    def own_name(self) -> str:
        """The language as its own speakers call it: "español"."""
        return self._locale.get_display_name() or self.language

    @property
    def plates(self) -> PlateWords:
        """The words that stand on the marks of a still."""
        say = self.say
        return PlateWords(
            in_play=say("in-plate"),
            out_of_play=say("out-plate"),
            start=say("start-plate"),
            finish=say("finish-plate"),
            overshoot_allowed=say("past-plate:allowed"),
            overshoot_not_allowed=say("past-plate:not allowed"),
            hands=say("plate:hands"),
            feet=say("plate:feet"),
            nothing=say("nothing-marked"),
        )

    @property
    def fingerprint(self) -> str:
        """Changes with any word of the language: part of the name of what is kept."""
        return _fingerprint(self.language) if not self.instead else stage_name(self.language, dict(self.messages))

    def say(self, key: str, **values: object) -> str:
        """The message of that key with its values filled in. A key that is not in the list raises KeyError: that is a bug of ours."""
        form = self._form(key)
        return (form if isinstance(form, str) else form["other"]).format(**values)

    def phrase(self, key: str, **values: object) -> Phrase:
        """As `say`, with the languages of the values that are phrases."""
        form = self._form(key)
        return filled(form if isinstance(form, str) else form["other"], **values)

    def count(self, key: str, count: int, **values: object) -> str:
        """The message in the form that the number asks for in this language; `key:0` for none, where the list has it."""
        if count == 0 and f"{key}:0" in ENGLISH:
            return self.say(f"{key}:0", count=count, **values)
        form = self._form(key)
        if not isinstance(form, str):
            form = form.get(plural_rule(self.language)(count), form["other"])
        return form.format(count=count, **values)

    def list(self, things: Sequence[str]) -> str:
        """Several things in a row: "1, 2 and 3".

        >>> Wording("es").list(["1", "2", "3"])
        '1, 2 y 3'
        """
        return format_list(things, locale=self._locale)

    def date(self, day: dt.date) -> str:
        """A day with its month in letters, which nobody reads the wrong way round.

        >>> Wording("de").date(dt.date(2026, 5, 9))
        '9. Mai 2026'
        """
        return format_date(day, "long", locale=self._locale)

    def _form(self, key: str) -> Forms:
        return self.instead[key] if key in self.instead else messages_of(self.language)[key]

    @property
    def _locale(self) -> Locale:
        return Locale.parse(self.language, sep="-")


@lru_cache(maxsize=len(LANGUAGES))
def _fingerprint(language: str) -> str:
    return stage_name(language, dict(messages_of(language)))


def capital(text: str) -> str:
    """The first letter large, the others as they are.

    >>> capital("blue platform")
    'Blue platform'
    """
    return text[:1].upper() + text[1:]
