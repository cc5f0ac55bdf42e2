"""Which of the spoken words a caption shows: all of them, or without what a reader does not miss; and numbers as numerals.

In: timed words, and the spans that say the rules. Out: timed words. Words are left out, never swapped and never reordered (BBC Subtitle
Guidelines 1.2.5, section 20), and none that says a rule: where one may be said only fillers, what was taken back, and turns of phrase go.
Where cues begin and end is cues.py.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from annotator.captions.breaks import plain
from annotator.captions.setting import Setting
from annotator.course import BlanketRule, RunFormat, Said, SheetStation, Station, Word
from annotator.rules import may_say_a_rule, taken_back

_ENDS = (".", "?", "!", "…")
PAUSE_S = 1.2  # a silence that ends a sentence whatever the punctuation says


def _phrases(text: str) -> dict[str, list[tuple[str, ...]]]:
    """Phrases by their first word, the longest first."""
    index: dict[str, list[tuple[str, ...]]] = {}
    for phrase in sorted((tuple(line.split()) for line in text.split("\n") if line.strip()), key=len, reverse=True):
        index.setdefault(phrase[0], []).append(phrase)
    return index


MAY_TELL = frozenset(["both", "either", "neither"])
"""What may be a rule though it names nothing: "Both are good." """
OPENERS = frozenset(["okay", "ok", "so", "and", "alright", "yeah", "anyway", "um", "uh", "er"])
OPENERS_WITH_COMMA = frozenset(["right", "well", "now", "yes", "look", "see", "listen", "like", "then", "obviously", "basically"])
TURNS = _phrases("""
i think
i guess
i suppose
really
actually
definitely
absolutely
certainly
you know
i mean
as i said
like i said
of course
by the way
as you can see
to be honest
at the end of the day
believe me
mind you
i promise
i'm afraid
please
basically
obviously
literally
honestly
everyone
everybody
you guys
folks
""")
"""Turns of phrase: they may go anywhere."""
OUTSIDE = _phrases("""
if you like
right here
just here
over here
over there
up here
down here
down there
up there
right there
a little bit
a bit
in fact
for sure
or whatever
and so on
let's say
simply
probably
quite
very
though
anyway
again
just
here
there
then
""")
"""These may be a part of what a rule says ("just the tops", "the pads again"), so they go only where no rule is said."""


_BEING = frozenset(["is", "are", "was", "were", "be", "will"])
"""Before one of these "there" and "here" open the sentence ("There are four of them") and stay."""


def rule_spans(
    stations: Sequence[Station | SheetStation], blanket: Sequence[BlanketRule] = (), run_format: RunFormat | None = None
) -> tuple[tuple[float, float], ...]:
    """The spans of the walk, in seconds, that say a rule: evidence of surfaces, stations, blanket rules and the run format."""
    said: list[Said] = [*(run_format.said if run_format else ())]
    for rule in blanket:
        said += rule.said
    for station in stations:
        said += station.said
        for surface in station.surfaces:
            said += surface.said
    return tuple(sorted({(each.start, each.end) for each in said}))


def shown_words(words: Sequence[Word], setting: Setting, spans: Sequence[tuple[float, float]] = ()) -> tuple[Word, ...]:
    """The words that captions of this setting show, in order of time.

    Parameters
    ----------
    words
        On one time line.
    setting
        `as spoken` changes nothing.
    spans
        `rule_spans`. Without any, no sentence is known to be an aside and none is left out.

    Examples
    --------
    >>> said = "Okay, so start on the red, sorry, the orange box, um, please. Feet only.".split()
    >>> words = [Word(start=i / 5, end=i / 5 + 0.2, text=text) for i, text in enumerate(said)]
    >>> " ".join(word.text for word in shown_words(words, Setting("clean")))
    'Start on the orange box. Feet only.'
    """
    ordered = [word for word in sorted(words, key=lambda word: word.start) if word.text.split()]
    if setting.wording == "as spoken" or not ordered:
        return tuple(ordered)
    out = set(taken_back(ordered))
    sentences = list(_sentences(ordered, spans))
    debt_s = 0.0
    before: tuple[str, ...] = ()
    word_s = 60 / setting.hurried_wpm
    for at, sentence in enumerate(sentences):
        after = sentences[at + 1].start_s if at + 1 < len(sentences) else sentence.end_s + 3.0
        room_s = min(after - sentence.start_s, len(sentence.places) * 1.5)
        kept = [place for place in sentence.places if place not in out]
        if not kept:
            continue
        needed_s = len(kept) * word_s
        said = tuple(plain(ordered[place].text) for place in kept)
        if debt_s + needed_s > room_s and said == before and not sentence.rules:
            out.update(sentence.places)  # "Very good. Very good."
            needed_s = 0.0
        elif debt_s + needed_s > room_s:
            turns = _turns(ordered, kept, sentence.rules)
            if len(turns) == len(kept) and sentence.rules:
                turns = set()
            out |= turns
            needed_s = (len(kept) - len(turns)) * word_s
        if debt_s + needed_s > room_s and not sentence.rules and spans:
            out.update(sentence.places)  # an aside gives its time to what comes before it
            needed_s = 0.0
        before = said
        debt_s = max(0.0, debt_s + needed_s - room_s)
    return _joined(ordered, out)


@dataclass(frozen=True)
class _Sentence:
    """Places of its words; `rules`: whether it says a rule."""

    places: range
    start_s: float
    end_s: float
    rules: bool


def _sentences(words: Sequence[Word], spans: Sequence[tuple[float, float]]) -> Iterator[_Sentence]:
    ends = list(accumulate((end for _, end in spans), max))  # by start, the latest end so far
    starts = [start for start, _ in spans]
    begin = 0
    for at, word in enumerate(words):
        if at + 1 < len(words) and not word.text.endswith(_ENDS) and words[at + 1].start - word.end < PAUSE_S:
            continue
        start_s, end_s = words[begin].start, word.end
        begun = bisect_left(starts, end_s)  # spans that begin before the sentence ends
        texts = [each.text for each in words[begin : at + 1]]
        rules = (begun > 0 and ends[begun - 1] > start_s) or may_say_a_rule(texts) or not MAY_TELL.isdisjoint(map(plain, texts))
        yield _Sentence(range(begin, at + 1), start_s, end_s, rules)
        begin = at + 1


def _turns(words: Sequence[Word], kept: Sequence[int], rules: bool) -> set[int]:
    """Places of openers and turns of phrase among the kept words of a sentence."""
    texts = [plain(words[place].text) for place in kept]
    found: set[int] = set()
    for at, place in enumerate(kept):
        text = texts[at]
        if text in OPENERS or (text in OPENERS_WITH_COMMA and words[place].text.endswith(",")):
            found.add(place)
        else:
            break
    for at, text in enumerate(texts):
        for phrase in [*TURNS.get(text, ()), *(() if rules else OUTSIDE.get(text, ()))]:
            if tuple(texts[at : at + len(phrase)]) == phrase and not (
                text in ("there", "here") and _BEING.intersection(texts[at + 1 : at + 2])
            ):
                found.update(kept[at : at + len(phrase)])
                break
    return found


def _joined(words: Sequence[Word], out: set[int]) -> tuple[Word, ...]:
    """The words that stay, with the full stop of a sentence's last word and the capital of its first one where those went."""
    shown: list[Word] = []
    opens = True
    was_out = False
    for at, word in enumerate(words):
        ends = word.text.rstrip("\"')").endswith(_ENDS)
        if at in out:
            if ends and shown and not opens and not shown[-1].text.endswith(_ENDS):
                last = shown[-1]
                shown[-1] = last.model_copy(update={"text": last.text.rstrip(",;:-–— ") + word.text.rstrip("\"')")[-1]})
            opens = opens or ends
            was_out = True
            continue
        text = word.text
        if opens and was_out and text[:1].islower():
            text = text[:1].upper() + text[1:]
        shown.append(word if text == word.text else word.model_copy(update={"text": text}))
        opens, was_out = ends, False
    return tuple(shown)
