"""Where stations begin: one decision over the whole walk.

Each sentence offers cues (an ordinal, a name, a start, a turn of speech, a silence, a finish just told). A station collects the cues of its
first sentences; a cue of a further station in its middle counts against it; stations end in a finish and last neither two seconds nor ten
minutes. The best division of the walk into opening, stations and closing is found by dynamic programming, linear in the walk's length.
How many stations there are is often said in the opening; then that many are preferred, or as many of them as are said to be shown here.
Where it is not said, the names that staff typed in tell it, if they are names of stations: a division is preferred that keeps them apart.
What only announces stations (announced.py) begins none, and a station is somewhere that one starts, does something, or ends.

Where the language model has read the walk (sentences.py), its log odds of a station beginning with a sentence, and of each sentence being
part of one, are added to the cues. In 69 walks by speakers that taught it nothing the cues alone find stations with F1 .92, both .98.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from annotator.rules.announced import Counted, count_announced, lists_what_comes, not_here
from annotator.rules.cues import Cues, find_cues
from annotator.rules.reading import Line
from annotator.rules.sentences import Leanings

HEAD_S = 14.0  # seconds in which a station announces itself
HEAD_LINES = 5
USUAL_S = (16.0, 60.0)  # within these, as nearly all are, nothing speaks against a station for its length
LONGEST_LINES = 70
LONGEST_S = 260.0
LEAST_TOLD = 0.45  # cues of its own that a station needs before the end of the one before speaks for it
BASE = -1.25  # what a station costs: cues have to outweigh it
TAKEN_OVER = 0.5  # what taking over counts where it is told behind the station's first line
AGAINST_OVER = 0.6  # what it counts against a station in whose midst it is told
AGAINST_OVER_EARLY = 0.3  # the same for one of its first lines: the station more likely begins there
AGAINST_NAME = 0.55  # what a name counts against a station in whose midst it is told
STEPS = (0.2, 0.4, 0.6)  # how much cheaper a station is made where names share one
NAMELESS = 0.6  # a station without a name beside one with a name too many
LATE = 0.6  # what a name counts that is told where its station ends
LIFELESS = 1.2  # what speaks against a station in which nobody starts, does or ends anything
BEGINS = 0.5  # what the odds of a station beginning with a sentence count: .5 to 1 are alike on speakers left out
INSIDE = 0.1  # what the odds of a sentence being part of a station count, beside those of one beginning
READ_BASE = 0.0  # what a station costs where the language model has read: its odds know how seldom one begins
SUREST = 6.0  # log odds beyond which more count no more: one reader alone overrules nothing without end
BRIEF = 0.8  # what speaks against a station for each line that it lacks to BRIEF_LINES, in a walk whose stations mostly have more
BRIEF_LINES = 3
UNLIKELY = -2.0  # log odds from which a station may begin although no cue says so; those of what only announces stations at most
FEWEST = 2 / 3  # where fewer of the announced stations than that are found, the others are not in this recording


@dataclass(frozen=True, slots=True)
class Division:
    """The walk's lines divided: spans of indices for the stations, everything before is opening, after is closing."""

    stations: tuple[tuple[int, int], ...]
    numbers: tuple[int | None, ...]
    """The number that the speaker said at the beginning of each station."""
    announced: Counted


def _segment_gain(lines: Sequence[Line], cues: Sequence[Cues], a: int) -> list[float]:
    """The gain of a station from line `a` to each possible end: entry k is for the end `a + 1 + k`."""
    head: dict[str, float] = {"turn": cues[a].turn, "pause": cues[a].pause, "finish": cues[a].finish}
    against = (
        0.9
        if any(x.kind in ("finish", "next-start", "past") and x.rule != "ring x" for x in lines[a].acts)
        and not (cues[a].ordinal or cues[a].name)
        else 0.0
    )
    if any(x.kind in ("in", "out") for x in lines[a].acts) and not (
        cues[a].ordinal or cues[a].name or cues[a].start or cues[a].over or cues[a].turn >= 0.5
    ):
        against += 0.7  # a ruling closes what was spoken of; a station begins with where, what or which
    finished = False
    first_key = None
    life = late = 0.0
    midway = False
    gains = []
    for b in range(a, min(len(lines), a + LONGEST_LINES)):
        cue = cues[b]
        inside = b - a < HEAD_LINES and lines[b].start_s - lines[a].start_s <= HEAD_S
        lively = bool(cue.start_key) and first_key is not None and cue.start_key != first_key
        if inside and not (lively and finished):
            head["ordinal"] = max(head.get("ordinal", 0.0), cue.ordinal * (1.0 if b == a else 0.85 if b - a < 3 else 0.7))
            head["name"] = max(head.get("name", 0.0), cue.name * (1.0 if b - a < 2 else 0.85 if b - a < 4 else 0.7))
            head["start"] = max(head.get("start", 0.0), cue.start * (1.0, 0.95, 0.85, 0.75, 0.7)[min(4, b - a)])
            head["start"] = max(head["start"], cue.over * (1.0 if b == a else TAKEN_OVER))
            against += AGAINST_OVER_EARLY * cue.over if b > a else 0.0
        else:
            against += 0.9 * cue.ordinal
            against += max(0.6 * cue.start if cue.start > 1.0 or finished else 0.0, AGAINST_OVER * cue.over)
            if cues[a].over and cue.name > 0.5 and not (head.get("name") or midway):
                midway = True  # who takes over from the station before says the name when it comes
            else:
                against += AGAINST_NAME * cue.name
        if cue.start_key and first_key is None:
            first_key = cue.start_key
        if any(x.kind in ("finish", "arrive") for x in lines[b].acts):
            finished = True
        against += 0.8 * cue.closing
        life += cue.life
        late = max(late, cue.late)
        length = max(0.5, lines[b].end_s - lines[a].start_s)
        if length > LONGEST_S and b > a:
            break
        prior = -0.45 * math.log(min(1.0, length / USUAL_S[0]) * max(1.0, length / USUAL_S[1])) ** 2
        told = sum(v for k, v in head.items() if k != "finish") + max(0.0, LATE * late - head.get("name", 0.0))
        after_finish = head["finish"] if told > LEAST_TOLD else 0.0  # the end of one station alone begins no other
        gains.append(told + after_finish - against + (0.6 if finished else 0.0) + prior - LIFELESS * max(0.0, 1.0 - life))
    return gains


def divide(lines: Sequence[Line], read: Leanings | None = None) -> Division:
    """The best division of the walk into opening, stations and closing.

    Parameters
    ----------
    lines
        The lines of the walk.
    read
        What the language model makes of each line; None where it is not installed: then the cues decide alone.
    """
    cues = find_cues(lines)
    n = len(lines)
    if not n:
        return Division((), (), Counted(None))
    gains = (
        [_segment_gain(lines, cues, a) if _may_begin(cues[a]) else [] for a in range(n)] if read is None else _read_gains(lines, cues, read)
    )
    usual = BASE if read is None else READ_BASE
    spans = _best(lines, cues, gains, usual)
    if read is not None and _told_at_length(spans):
        gains = [[gain - BRIEF * max(0, BRIEF_LINES - 1 - k) for k, gain in enumerate(own)] for own in gains]
        spans = _best(lines, cues, gains, usual)
    first, last = (spans[0][0], spans[-1][1]) if spans else (n, n)
    told = count_announced(lines[:first], lines[first : max(12, n // 5)], lines[last:])
    if told.freely and told.total is not None and told.total < FEWEST * len(spans):
        told = Counted(None)  # "three in total", of tries
    count = _aim(told, len(spans))
    if count is not None and len(spans) != count:
        for step in (0.4, 0.8, 1.2, 1.6, 2.2):
            tried = _best(lines, cues, gains, usual + (step if len(spans) < count else -step))
            if abs(len(tried) - count) < abs(len(spans) - count):
                spans = tried
            if len(spans) == count:
                break
    if count is None and _one_name_each(cues, spans):
        spans = min([spans, *(_best(lines, cues, gains, usual + step) for step in STEPS)], key=lambda tried: _names_apart(cues, tried))
    numbers = []
    for a, b in spans:
        heads = range(a, min(b, a + 3))
        numbers.append(next((cues[k].number for k in heads if cues[k].number), None))
    return Division(tuple(spans), tuple(numbers), told)


def _read_gains(lines: Sequence[Line], cues: Sequence[Cues], read: Leanings) -> list[list[float]]:
    """The gains by cues with what the language model adds: that a station begins here, and that what follows belongs to one."""
    begins = np.clip(read.begins, -SUREST, SUREST)
    for k, line in enumerate(lines):
        if lists_what_comes(line) or not_here(line):
            begins[k] = min(begins[k], UNLIKELY)
    inside = np.concatenate([[0.0], np.cumsum(INSIDE * np.clip(read.inside, -SUREST, SUREST))])
    gains: list[list[float]] = []
    for a in range(len(lines)):
        own = _segment_gain(lines, cues, a) if _may_begin(cues[a]) or begins[a] > UNLIKELY else []
        gains.append([gain + float(BEGINS * begins[a] + inside[a + 1 + k] - inside[a]) for k, gain in enumerate(own)])
    return gains


def _told_at_length(spans: Sequence[tuple[int, int]]) -> bool:
    """Whether most stations are told in more than BRIEF_LINES lines."""
    sizes = sorted(b - a for a, b in spans)
    return bool(sizes) and sizes[len(sizes) // 2] > BRIEF_LINES


def _names_in(cues: Sequence[Cues], spans: Sequence[tuple[int, int]]) -> list[int]:
    return [sum(cue.named for cue in cues[a:b]) for a, b in spans]


def _one_name_each(cues: Sequence[Cues], spans: Sequence[tuple[int, int]]) -> bool:
    """Whether the names list is one of stations: most of them hold no more than one."""
    counts = sorted(_names_in(cues, spans))
    return bool(counts) and counts[len(counts) // 2] <= 1 and sum(counts) >= len(counts) / 2


def _names_apart(cues: Sequence[Cues], spans: Sequence[tuple[int, int]]) -> float:
    """How far a division is from one name a station."""
    return sum(count - 1 if count else NAMELESS for count in _names_in(cues, spans))


def _aim(told: Counted, found: int) -> int | None:
    """How many stations this recording is likely to hold: the number announced, or the part of it that is nearest to what was found."""
    if told.total is None:
        return None
    aim = min((told.total, *sorted(told.shares)), key=lambda number: abs(number - found))
    return aim if found >= FEWEST * aim else None


def _may_begin(cue: Cues) -> bool:
    return cue.ordinal + cue.name + cue.start + cue.over + cue.turn + cue.pause + cue.finish > 0.25


def _best(lines: Sequence[Line], cues: Sequence[Cues], gains: Sequence[Sequence[float]], base: float) -> list[tuple[int, int]]:
    """Viterbi over line borders. State 0: still opening; 1: a station ends here. The closing costs nothing but the cues left in it."""
    n = len(lines)
    low = -1e18
    score = [low] * (n + 1)
    came = [-1] * (n + 1)
    opening = [0.0] * (n + 1)
    for i in range(n):
        opening[i + 1] = opening[i] - 0.35 * (cues[i].ordinal + 0.5 * cues[i].start)
    for a in range(n):
        best = max(score[a], opening[a])
        for k, gain in enumerate(gains[a]):
            value = best + base + gain
            if value > score[a + 1 + k]:
                score[a + 1 + k] = value
                came[a + 1 + k] = a
    rest = [0.0] * (n + 1)
    for i in range(n - 1, -1, -1):
        rest[i] = rest[i + 1] - 0.35 * (cues[i].ordinal + 0.5 * cues[i].start) - 0.02 * len(lines[i].acts) + 0.8 * cues[i].closing
    end = max(range(n + 1), key=lambda i: (score[i] + rest[i], -i))
    if score[end] + rest[end] <= opening[n]:
        return []
    spans = []
    while end > 0 and came[end] >= 0:
        begin = came[end]
        spans.append((begin, end))
        if score[begin] < opening[begin]:
            break
        end = begin
    return spans[::-1]
