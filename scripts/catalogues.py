"""Bring the booklet's catalogues along with the English list: new messages come in empty, changed ones are marked fuzzy, dropped ones go.

    python scripts/catalogues.py

Nothing is extracted from code: annotator/booklet/english.py is the list. What is left to translate is told at the end.
"""

from __future__ import annotations

import io

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import write_po
from babel.plural import to_gettext

from annotator.booklet.catalogues import LANGUAGES, catalogue, categories, path_of, plural_rule
from annotator.booklet.english import ENGLISH, Forms

HEADER = "# The booklet's words. msgctxt is our key, msgid the English; keep what stands in {braces}. One rule a line, at most 12 words."


def main() -> None:
    """Write every catalogue anew."""
    for language in LANGUAGES[1:]:
        path = path_of(language)
        old = {message.context: message for message in catalogue(language)} if path.exists() else {}
        new = brought_along(language, old)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(written(new, language))
        left = [message.context for message in new if message.id and (message.fuzzy or not all(_strings(message)))]
        print(f"{language}: {len(new)} messages, to translate: {', '.join(map(str, left)) or 'nothing'}")


def brought_along(language: str, old: dict[str | None, Message]) -> Catalog:
    """The catalogue with every key of the English list, in its order, and the translations that there are."""
    new = Catalog(fuzzy=False)  # without the locale, of which Babel counts more forms than the head of our files tells
    for key, english in ENGLISH.items():
        id_ = _id(english)
        before = old.get(key)
        empty: str | tuple[str, ...] = "" if isinstance(english, str) else ("",) * len(categories(language))
        same_shape = before is not None and isinstance(before.string, str) == isinstance(empty, str)
        string = before.string if before is not None and same_shape else empty
        changed = before is not None and (before.id != id_ or before.fuzzy) and bool(before.string)
        new.add(id_, string, context=key, flags=("fuzzy",) if changed else ())
    return new


def written(new: Catalog, language: str) -> bytes:
    """The file: a head that does not change from day to day, then the messages in the order of the list."""
    out = io.BytesIO()
    write_po(out, new, width=0, omit_header=True)
    head = [
        HEADER,
        'msgid ""',
        'msgstr ""',
        f'"Language: {language}\\n"',
        '"MIME-Version: 1.0\\n"',
        '"Content-Type: text/plain; charset=utf-8\\n"',
        '"Content-Transfer-Encoding: 8bit\\n"',
        f'"Plural-Forms: {to_gettext(plural_rule(language))}\\n"',
        "",
        "",
    ]
    return "\n".join(head).encode() + out.getvalue()


def _id(english: Forms) -> str | tuple[str, str]:
    return english if isinstance(english, str) else (english["one"], english["other"])


def _strings(message: Message) -> tuple[str, ...]:
    return (message.string,) if isinstance(message.string, str) else tuple(message.string or ("",))


if __name__ == "__main__":
    main()
