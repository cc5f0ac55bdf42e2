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


def brief(text: str) -> str:
    """The surfaces that the text puts down: "start mat; in top of wall; finish box past it fails; out step but in for juniors"."""
    told = []
    for s in station_of(text).surfaces:
        words = f"{s.ruling if s.role == 'route' else s.role} {s.part + ' of ' if s.part else ''}{s.name}"
        if s.overshoot:
            words += " past it fine" if s.overshoot == "allowed" else " past it fails"
        if s.divisions:
            words += " but " + ", ".join(f"{ruling} for {key}" for key, ruling in s.divisions.items())
        told.append(words)
    return "; ".join(told)


def limbs(text: str) -> str:
    """The limbs that the text allows at its station."""
    return "+".join(station_of(text).contact or ())


def shown(text: str) -> str:
    """What the demonstration in the text came to."""
    return station_of(text).demonstration or ""


def tied_limbs(text: str) -> str:
    """The limbs that the text ties to single things: "beam feet; rail hands"."""
    return "; ".join(f"{s.name} {'+'.join(s.contact)}" for s in station_of(text).surfaces if s.contact)


def rows(text: str) -> list[tuple[str, str | None, str, str]]:
    """Name, part, role and ruling of each surface that the text puts down."""
    return [(s.name, s.part, s.role, s.ruling) for s in station_of(text).surfaces]
