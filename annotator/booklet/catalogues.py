"""The catalogues of the booklet's languages: one .po file each, in the form that every translator's tool opens.

In: a language. Out: its messages by key. The files are read as they are, without a compiled copy beside them: one file less to forget, and
a reading takes a few milliseconds once. A message that a catalogue lacks is told in English, never left out; a test fails on it.

References
----------
GNU gettext manual, "The Format of PO Files": `msgctxt` holds our key, `msgid` the English; Unicode CLDR for the plural categories.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po
from babel.plural import PluralRule

from annotator.booklet.english import ENGLISH, Forms

LANGUAGES = ("en", "es", "fr", "de", "pt")
"""The first is the one that the others are translated from."""
FOLDER = Path(__file__).parent / "locale"
_CATEGORIES = ("zero", "one", "two", "few", "many", "other")
"""In the order in which a catalogue lists its forms."""
_COUNTED = 200
"""Rules go by the last two figures of a number, or by more than six of them."""


def path_of(language: str) -> Path:
    """Where a language's catalogue lies."""
    return FOLDER / language / "LC_MESSAGES" / "booklet.po"


def catalogue(language: str) -> Catalog:
    """A language's catalogue as it is in its file."""
    with path_of(language).open("rb") as file:
        return read_po(file, locale=language, abort_invalid=True)


@lru_cache(maxsize=len(LANGUAGES))
def plural_rule(language: str) -> PluralRule:
    """Unicode's rule for whole numbers below a million, where "many" of French, Spanish and Portuguese begins: nothing counts so far."""
    whole = Locale.parse(language).plural_form
    taken = {whole(number) for number in range(_COUNTED)}
    return PluralRule({name: rule for name, rule in whole.rules.items() if name in taken})


def categories(language: str) -> tuple[str, ...]:
    """The plural categories that a language tells apart, in the order of its catalogue's forms.

    >>> categories("de"), categories("fr")
    (('one', 'other'), ('one', 'other'))
    """
    told = {*plural_rule(language).tags, "other"}
    return tuple(name for name in _CATEGORIES if name in told)


@lru_cache(maxsize=len(LANGUAGES))
def messages_of(language: str) -> Mapping[str, Forms]:
    """Every message of a language by its key."""
    if language == LANGUAGES[0]:
        return ENGLISH
    found = {message.context: message for message in catalogue(language) if message.context}
    return {key: _told(found[key], language) or english if key in found else english for key, english in ENGLISH.items()}


def _told(message: Message, language: str) -> Forms | None:
    """What a catalogue says; None where it is not translated yet or the English changed since."""
    if message.fuzzy:
        return None
    if isinstance(message.string, str):
        return message.string or None
    forms = dict(zip(categories(language), message.string or (), strict=False))
    return forms if all(forms.values()) and "other" in forms else None
