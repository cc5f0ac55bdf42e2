"""A line of words that knows which of them are of another language: names stay as said, and a voice that reads aloud changes for them.

Pure values. Wording fills phrases into messages; outputs lay the spans out, each with its language.
"""

from __future__ import annotations

import string
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Span:
    """Words of one language. None: the language of the booklet.

    `apart`: a name whose letters run the other way, or of another language; what stands around it keeps its own direction.
    """

    text: str
    language: str | None = None
    apart: bool = False


@dataclass(frozen=True)
class Phrase:
    """Spans in a row.

    >>> str(filled("Vale: {thing}", thing=named("green platform", "en")))
    'Vale: green platform'
    """

    spans: tuple[Span, ...]

    def __str__(self) -> str:
        return "".join(span.text for span in self.spans)

    @property
    def marked(self) -> tuple[Span, ...]:
        """The spans where any of them stands out, else none: a line of one language needs no more than its text."""
        return self.spans if any(span.apart for span in self.spans) else ()

    def capital(self) -> Phrase:
        """The first letter large, the others as they are."""
        if not self.spans:
            return self
        first, *others = self.spans
        return Phrase((Span(first.text[:1].upper() + first.text[1:], first.language, first.apart), *others))


def plain(text: str) -> Phrase:
    """Words of the booklet's own language."""
    return Phrase((Span(text),) if text else ())


def named(text: str, language: str | None = None) -> Phrase:
    """A name as said: of another language, or with None of the booklet's own."""
    return Phrase((Span(text, language, language is not None or runs_left(text)),) if text else ())


def filled(message: str, **values: object) -> Phrase:
    """A message with its values filled in; those that are phrases keep their languages. Raises KeyError for a value that is not given."""
    return Phrase(tuple(_joined(_spans(message, values))))


def _spans(message: str, values: dict[str, object]) -> Iterator[Span]:
    for text, field, _, _ in string.Formatter().parse(message):
        yield Span(text)
        if field is not None:
            value = values[field]
            yield from value.spans if isinstance(value, Phrase) else (Span(str(value)),)


def _joined(spans: Iterator[Span]) -> Iterator[Span]:
    """Neighbours that stand for nothing apart as one, and no empty ones."""
    text = ""
    for span in spans:
        if not span.apart:
            text += span.text
            continue
        if text:
            yield Span(text)
        yield span
        text = ""
    if text:
        yield Span(text)


def runs_left(text: str) -> bool:
    """Whether a text holds letters that run from right to left."""
    return any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in text)
