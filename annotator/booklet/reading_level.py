"""How hard a booklet reads, for its staff: words a line, LIX, and the lines that are too long.

In: a `Booklet`. Out: figures. LIX counts words and long words, not syllables, so one measure serves all our languages.

References
----------
Björnsson, "Läsbarhet", Liber 1968: LIX = words / sentences + 100 * words of more than six letters / words; from 20, very easy, to 60, very
difficult. Anderson, "Analysing the Readability of English and Non-English Texts in the Classroom with Lix", 1981 (ERIC ED 207022): tried on
French, German and Greek against English.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from annotator.booklet.values import Booklet, Rule, Section

MOST_WORDS = 12
"""In a line: what LOOK asks of a rule that a ten-year-old reads."""
_LONG_WORD = 7


@dataclass(frozen=True)
class Line:
    """A line of the booklet, at a station (by its number) or, with None, on the course page."""

    station: int | None
    text: str
    words: int


@dataclass(frozen=True)
class ReadingLevel:
    """Figures of one language's booklet. `lix` is None where it has no words; `too_long` has more than `MOST_WORDS` words a line."""

    language: str
    lines: int
    words_a_line: float
    lix: float | None
    too_long: tuple[Line, ...]


def reading_level(booklet: Booklet) -> ReadingLevel:
    """How hard the rules of a booklet read. Each line counts as a sentence; a heading's note is a line too."""
    lines = tuple(_lines(booklet))
    words = sum(line.words for line in lines)
    return ReadingLevel(
        language=booklet.wording.language,
        lines=len(lines),
        words_a_line=round(words / len(lines), 2) if lines else 0.0,
        lix=lix([line.text for line in lines]),
        too_long=tuple(line for line in lines if line.words > MOST_WORDS),
    )


def lix(sentences: Iterable[str]) -> float | None:
    """The readability index of sentences, to one decimal; None where they hold no word.

    >>> lix(["The cat sat on the mat.", "Platforms everywhere are out of play."])
    22.7
    """
    told = [words_of(sentence) for sentence in sentences]
    words = [word for sentence in told for word in sentence]
    if not words:
        return None
    long = sum(sum(letter.isalpha() for letter in word) >= _LONG_WORD for word in words)
    return round(len(words) / sum(1 for sentence in told if sentence) + 100 * long / len(words), 1)


def words_of(text: str) -> list[str]:
    """The words of a line: what stands between spaces and has a letter or a digit.

    >>> words_of("Blue boxes, tops – feet only")
    ['Blue', 'boxes,', 'tops', 'feet', 'only']
    """
    return [word for word in text.split() if any(sign.isalnum() for sign in word)]


def _lines(booklet: Booklet) -> Iterable[Line]:
    told: list[tuple[int | None, tuple[Section, ...], tuple[Rule, ...]]] = [(None, booklet.sections, ())]
    told += [(page.number, page.sections, (page.limbs,)) for page in booklet.stations]
    for station, sections, head in told:
        for text in (*(rule.text for rule in head), *(text for one in sections for text in _texts(one))):
            yield Line(station, text, len(words_of(text)))


def _texts(section: Section) -> Iterable[str]:
    yield from (rule.text for rule in section.rules)
    if section.note:
        yield section.note
