"""Numbers that count as numerals: stations, times, points, tries and distances, as sports captions have them.

BBC Subtitle Guidelines 1.2.5, section 18.1: numerals for points, scores and timings in sports, competitions and games; a sentence never
begins with one. Other numbers from eleven on are numerals as well; up to ten they stay words ("six rungs"), as in any text.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.captions.breaks import plain
from annotator.course import Word


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_UP_TO_NINETEEN = _words(
    """zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen
    nineteen"""
)
_TENS = _words("twenty thirty forty fifty sixty seventy eighty ninety")
VALUE = {word: value for value, word in enumerate(_UP_TO_NINETEEN)} | {word: 20 + 10 * at for at, word in enumerate(_TENS)}
_BEFORE = frozenset(["station", "number", "obstacle", "lane", "step", "round"])
_AFTER = frozenset(
    _words(
        """second seconds minute minutes hour hours metre metres meter meters centimetre centimetres kilo kilos point points try tries retry
    retries attempt attempts go goes percent per"""
    )
)
_ENDS = (".", "?", "!", "…")


def with_numerals(words: Sequence[Word]) -> tuple[Word, ...]:
    """The words with numbers that count written as numerals; "twenty five" becomes one word that takes the time of both.

    A number that opens a sentence stays a word, and a numeral that does is written out (up to ninety-nine).

    Examples
    --------
    >>> said = "Station four. You have thirty seconds. Six rungs, twenty five pegs.".split()
    >>> " ".join(word.text for word in with_numerals([Word(start=i, end=i + 0.5, text=t) for i, t in enumerate(said)]))
    'Station 4. You have 30 seconds. Six rungs, 25 pegs.'
    """
    shown: list[Word] = []
    at = 0
    while at < len(words):
        opens = not shown or shown[-1].text.rstrip("\"')").endswith(_ENDS)
        word = words[at]
        value, size = _number(words, at)
        if opens:
            shown.append(_written_out(word))
            at += 1
        elif value is not None and _counts(words, at, size, value, shown[-1]):
            last = words[at + size - 1]
            tail = last.text[len(last.text.rstrip(".,;:?!\"')")) :]
            shown.append(word.model_copy(update={"text": f"{value}{tail}", "end": last.end}))
            at += size
        else:
            shown.append(word)
            at += 1
    return tuple(shown)


def _number(words: Sequence[Word], at: int) -> tuple[int | None, int]:
    """The number that begins at a word, and of how many words it is."""
    text = plain(words[at].text)
    tens, _, ones = words[at].text.lower().strip(".,;:?!\"'()").partition("-")
    if tens in _TENS and ones in VALUE and 0 < VALUE[ones] < 10:
        return VALUE[tens] + VALUE[ones], 1
    if text not in VALUE:
        return None, 1
    whole = words[at].text[-1:].isalpha()
    following = plain(words[at + 1].text) if at + 1 < len(words) else ""
    if text in _TENS and whole and 0 < VALUE.get(following, 0) < 10:
        return VALUE[text] + VALUE[following], 2
    return VALUE[text], 1


def _counts(words: Sequence[Word], at: int, size: int, value: int, before: Word) -> bool:
    after = plain(words[at + size].text) if at + size < len(words) and words[at + size - 1].text[-1:].isalpha() else ""
    if plain(before.text) in _BEFORE and before.text[-1:].isalpha():
        return True
    if value == 1:
        return False  # "one" is a pronoun more often than a number ("one second", "one go")
    return value > 10 or after in _AFTER


def _written_out(word: Word) -> Word:
    digits = word.text.rstrip(".,;:?!")
    if not (digits.isascii() and digits.isdigit()) or int(digits) > 99 or word.text[len(digits) :][:1] in (".", ":"):
        return word  # "1." opens a list, and a long numeral is a year or a number on a shirt
    value = int(digits)
    text = _UP_TO_NINETEEN[value] if value < 20 else _TENS[value // 10 - 2] + (f"-{_UP_TO_NINETEEN[value % 10]}" if value % 10 else "")
    return word.model_copy(update={"text": text.capitalize() + word.text[len(digits) :]})
