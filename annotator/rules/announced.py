"""What a speaker announces and does not show: how many stations there are, what all of them are, and which come at another time.

In: read lines. Out: counts, and which lines only announce. A recording often holds a part of a course: three minutes for the whole of it,
some stations, and a word about those that are elsewhere. Where stations begin is stations.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from annotator.rules.lexicon import NUMBER, NUMBER_WORD, ORDINAL
from annotator.rules.reading import Line

N = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|\d{1,2})"
STOPS = r"(?:stations|obstacles|elements|events|challenges)"
MOST = 40  # stations of a course; a greater number counts something else

_TOTAL = re.compile(rf"\b(?P<n>{N}) (?:\w+ )?{STOPS}\b")
_TOTAL_FREELY = re.compile(
    rf"\b(?:at|for|of) (?:all|any|each) (?:the |these |those )?(?P<n>{N})(?=[,.]|$)"
    rf"|\b(?P<m>{N}) (?:of (?:these|those|them)(?: \w+)?|altogether|in (?:all|total)|all told)\b"
)
_RECOUNTED = re.compile(rf"\b(?:no|sorry|or is it|wait|actually|make that)\b[^.]*?\b(?P<n>{N})\b")
_ANY = re.compile(rf"\b(?P<n>{N})\b")
_A_SHARE = re.compile(
    rf"\b(?P<n>{N}) (?:of (?:them|these|those|the)|now|today|here|in|out|up|down|over|at|before|after|on|more|left|remaining|later)\b"
    rf"|\b(?:first|last|other|remaining|next|you|through|was|the) (?P<m>{N})\b"
)

_STOP_NOUNS = frozenset({"station", "obstacle", "number", "event", "element", "challenge", "stop"})
_ORD = "(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth)"
_POINTS = r"(?:rule|law|point|reason|condition|item|announcement|matter|warning|commandment|reminder|remark|thing)"
_POINT_ORDERED = re.compile(rf"^(?:and |so |now |then |the |my |,|\s)*(?P<o>{_ORD}) (?:\w+ )?{_POINTS}\b")
_POINT = re.compile(
    rf"\b(?P<what>[a-z]+) (?:number )(?P<n>{N})\b"
    rf"|\b(?P<what2>{_POINTS}) (?P<n2>{N})\b"
)
_NUMBERS = re.compile(rf"\b(?:station|obstacle|number|event) (?P<n>{N})\b")

_RECORDS = r"(?:film|show|shoot|record|video|cover|explain|walk|take|do|go through|tell|see)"
_LATER = (
    r"(?:later|tomorrow|afterwards?|another (?:day|time|one)|after (?:lunch|tea|dinner|the break|that|this|we|you)|this (?:afternoon|"
    r"evening)|in the (?:afternoon|evening)|when (?:it|we|the|he|she|they)|at \w+ o'clock|next (?:time|week)|separately)"
)
_ELSEWHERE = re.compile(
    rf"\b(?:film|video|clip|recording|part) (?:two|three|2|3)\b|\b(?:second|other|another|next) (?:film|video|clip|recording|part)\b"
    rf"|\b\w+(?:'ll| will| shall| am going to|'m going to|'re going to)"
    rf" (?:\w+ ){{0,3}}{_RECORDS}\b[^,.]*\b{_LATER}\b"
    rf"|\b(?:can(?:not| not|'t)|couldn't|not going to|unable to) (?:\w+ ){{0,2}}(?:film|show|shoot|record|video)\b"
    rf"|\b(?:ain't|isn't|aren't|not) (?:\w+ )?(?:on|in) this (?:film|video|clip|recording)\b"
    rf"|\b{N} (?:more )?(?:are|is) (?:remaining|left|still to come)\b|\b(?:the )?(?:remaining|other) {N}\b"
)


@dataclass(frozen=True, slots=True)
class Counted:
    """How many stations were announced, and the parts of that number that were told beside it ("eight, four of them in here")."""

    total: int | None
    shares: frozenset[int] = frozenset()
    line: Line | None = None
    """Where the number is told."""
    freely: bool = False
    """Without the word for what is counted ("there are eight of them"), so that it may count something else."""


def count_announced(opening: Sequence[Line], further: Sequence[Line] = (), closing: Sequence[Line] = ()) -> Counted:
    """How many stations the speaker says there are.

    Parameters
    ----------
    opening
        The lines before the first station: there "eight altogether" counts stations.
    further
        Lines after them in which only "eight stations" does.
    closing
        The lines after the last station, where what was shown is often counted again ("that was four of the eight").
    """
    for lines, pattern in (([*opening, *further], _TOTAL), (opening, _TOTAL_FREELY), (closing, _TOTAL)):
        for k, line in enumerate(lines):
            number = _number_in(line.plain, pattern)
            if number is not None:
                near = [lines[k].plain, *(after.plain for after in lines[k + 1 : k + 2])]
                told = [m[1] for text in near for m in _ANY.finditer(text)]
                told += [m["n"] or m["m"] for one in closing for m in _A_SHARE.finditer(one.plain)]
                shares = {value for word in told if (value := NUMBER.get(word, 0)) and 2 <= value < number}
                return Counted(number, frozenset(shares), line, pattern is _TOTAL_FREELY)
    return Counted(None)


def _number_in(text: str, pattern: re.Pattern[str]) -> int | None:
    match = pattern.search(text)
    number = NUMBER.get(next((group for group in match.groups() if group), "")) if match else None
    if match is None or number is None:
        return None
    again = _RECOUNTED.search(text, match.end())
    number = NUMBER.get(again["n"], number) if again else number
    return number if 2 <= number <= MOST else None


def announced_in(quote: str) -> int | None:
    """How many stations a sentence announces; None where it announces no number.

    >>> announced_in("There are eight altogether, four in here."), announced_in("Eight stations, no, sorry, nine."), announced_in("Hello.")
    (8, 9, None)
    """
    plain = quote.lower()
    freely = _number_in(plain, _TOTAL_FREELY)
    return freely if (told := _number_in(plain, _TOTAL)) is None else told


def about_count(announced: int, found: int) -> str | None:
    """The sentence for a count that is not what was announced; None where it is.

    >>> about_count(8, 4)
    'Eight stations are announced and four are here. If the others are in another recording, add them; if not, check where each begins.'
    """
    if announced == found:
        return None
    says = f"{_word(announced).capitalize()} stations are announced and {_word(found)} {'is' if found == 1 else 'are'} here."
    if found < announced:
        return f"{says} If the others are in another recording, add them; if not, check where each begins."
    return f"{says} One may have been cut in two: check where each begins."


def _word(number: int) -> str:
    return NUMBER_WORD.get(number, str(number))


def counts_a_point(line: Line, before: int) -> int | None:
    """The number of a rule where rules are counted ("law number two", then "number three"); None where it counts none.

    `before`: the number of the point counted last, 0 for none.
    """
    told = _POINT_ORDERED.search(line.plain)
    if told:
        return ORDINAL[told["o"]]
    for match in _POINT.finditer(line.plain):
        what, number = (match["what"], match["n"]) if match["what"] else (match["what2"], match["n2"])
        if match["what"] and (what in _STOP_NOUNS or not _is_noun(line, what)):
            continue
        return NUMBER.get(number)
    follows = re.match(rf"(?:and |so |now |then |,|\s)*(?:(?:number )?(?P<n>{N})|(?P<o>{_ORD}))\b", line.plain)
    number = (NUMBER.get(follows["n"]) if follows["n"] else ORDINAL[follows["o"]]) if follows else None
    return number if before and number == before + 1 else None


def _is_noun(line: Line, word: str) -> bool:
    return any(token.low == word and token.pos in ("NOUN", "PROPN") for token in line.skeleton.sentence.tokens)


def lists_what_comes(line: Line) -> bool:
    """Whether a sentence counts or names what there is on the course, and comes to none of it."""
    if _TOTAL.search(line.plain):
        return True
    named = {naming.name for naming in line.names if naming.listed and naming.score >= 0.86}
    return len(named) >= 3 or len({m["n"] for m in _NUMBERS.finditer(line.plain)}) >= 2


def not_here(line: Line) -> bool:
    """Whether a sentence is about what comes at another time or in another recording."""
    return _ELSEWHERE.search(line.plain) is not None
