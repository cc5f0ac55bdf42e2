"""What the tests of rules/ share: words from text, and what one piece of speech comes to."""

from __future__ import annotations

from annotator.course import SheetStation, Word
from annotator.rules.demonstration import find_demonstration
from annotator.rules.gather import gather
from annotator.rules.reading import read_walk
from annotator.rules.sheet import build

SECONDS_A_WORD = 0.3


def words_of(text: str, start_s: float = 0.0) -> list[Word]:
    """The words of a text, one after the other at a steady pace; "[5]" is five seconds of silence."""
    words: list[Word] = []
    at = start_s
    for piece in text.split():
        if piece.startswith("[") and piece.endswith("]"):
            at += float(piece[1:-1])
            continue
        words.append(Word(start=at, end=at + SECONDS_A_WORD, text=piece))
        at += SECONDS_A_WORD
    return words


def station_of(text: str) -> SheetStation:
    """What the text says, read as one station."""
    reading = read_walk(words_of(text), ())
    demonstration, _ = find_demonstration([line.skeleton for line in reading.lines])
    gathered = gather(reading.lines)
    return build(1, None, (0.0, 99.0), gathered, demonstration, ()).station


def rows(text: str) -> list[tuple[str, str | None, str, str]]:
    """Name, part, role and ruling of each surface that the text puts down."""
    return [(s.name, s.part, s.role, s.ruling) for s in station_of(text).surfaces]
