"""Words to captions: where each begins and ends and what stands on its lines.

In: timed words, and the stations for their names and silent demonstrations. Out: cues. The cut is the cheapest of all possible ones
(dynamic programming over the words), priced by where it breaks the text (breaks.py) and by how its time and length read. Which words are
shown is wording.py, how well the cues read report.py, writing files write.py.

The limits stand in cue.py. Each cue begins with its speech (BBC Subtitle Guidelines 1.2.5, 5.1), or as near to it as easing.py needs.
Reading speed is a wish: directors talk faster than anybody reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from annotator.captions.breaks import break_costs
from annotator.captions.cue import GAP_MS, LEAST_MS, LINE, LINE_PORTRAIT, LINES, MOST_MS, Cue
from annotator.captions.easing import eased
from annotator.captions.numerals import with_numerals
from annotator.captions.setting import AS_SPOKEN, Setting
from annotator.captions.wording import rule_spans, shown_words
from annotator.course import Station, Word

LINGER_MS = 300  # a cue stays this long after its last word where there is room
DESCRIBED_MS = 3400  # silence that has room for a description between two gaps

# Prices, in the unit of breaks.py (a break at a clause costs 1).
EACH_CUE = 1.5
SENTENCE_INSIDE = 1.5  # one sentence a cue where possible
STATION_INSIDE = 8.0
PAUSE_INSIDE = 4.0  # a second of silence within a cue
HURRY = 3.0  # a second that is missing for a speed that is no hurry
IN_A_HURRY = 4.0  # a cue faster than that at all: timing outranks good breaks (BBC 3.10)
SHORT = 2.0  # a second less than two
LAW = 500.0  # a second against a limit
OVERLONG = 2000.0  # a line that does not fit
SECOND_LINE = 0.3
UNEVEN = 0.03  # a character of difference between two lines
LINE_BREAK = 0.5  # a break between lines, measured against one between cues


def plan_cues(
    words: Sequence[Word],
    stations: Sequence[Station] = (),
    setting: Setting = AS_SPOKEN,
    *,
    spans: Sequence[tuple[float, float]] | None = None,
) -> tuple[Cue, ...]:
    """The captions of a walk, in order of time.

    Parameters
    ----------
    words
        On one time line; taken in order of their starts.
    stations
        Their names and surfaces stay on one line where possible, and a demonstration nobody speaks over is described.
    setting
        The wording (every word, or less) and the layout.
    spans
        The spans of the walk that say a rule, in seconds (`rule_spans`); those of the stations where left out.

    Returns
    -------
    tuple of Cue
        No two overlap. Every word that the setting shows stands in exactly one cue, in order. A limit is passed only where the words leave
        no choice: a word that is longer than a line, or more than two lines of words within 1.333 s. `broken_limits` lists those.

    Examples
    --------
    >>> said = [Word(start=i * 0.4, end=i * 0.4 + 0.3, text=t) for i, t in enumerate("Feet only. No hands on the blue box.".split())]
    >>> [(cue.start_ms, cue.lines) for cue in plan_cues(said)]
    [(0, ('Feet only. No hands on the blue box.',))]
    """
    shown = shown_words(words, setting, rule_spans(stations) if spans is None else spans)
    timed = _timed(with_numerals(shown) if setting.numerals else shown)
    if not timed:
        return ()
    plan = _Plan(timed, stations, setting)
    cues = eased(plan.cues(), plan.hurried_ms)
    return _with_demonstrations(cues, stations)


@dataclass(frozen=True)
class _Timed:
    start_ms: int
    end_ms: int
    text: str


def _timed(kept: Sequence[Word]) -> list[_Timed]:
    """Words in milliseconds, each ending before the next begins; blanks inside a word's text made one."""
    starts = [round(word.start * 1000) for word in kept]
    limits = [*starts, 10**12][1:]
    return [
        _Timed(start, max(start, min(round(word.end * 1000), limit)), " ".join(word.text.split()))
        for word, start, limit in zip(kept, starts, limits, strict=True)
    ]


class _Plan:
    """The search for the cheapest cut of one text. `width` is the longest line in characters; the others are milliseconds for a word."""

    def __init__(self, words: list[_Timed], stations: Sequence[Station], setting: Setting) -> None:
        self.words, self.width = words, LINE_PORTRAIT if setting.portrait else LINE
        self.word_ms, self.hurried_ms = 60_000 // setting.wished_wpm, 60_000 // setting.hurried_wpm
        self.starts = [word.start_ms for word in words]
        self.ends = [word.end_ms for word in words]
        self.offsets = [0]
        for word in words:
            self.offsets.append(self.offsets[-1] + len(word.text) + 1)
        pauses = [following - end for end, following in zip(self.ends, [*self.starts[1:], self.ends[-1]], strict=True)]
        names = {name for each in stations for name in (each.name, *(surface.name for surface in each.surfaces)) if name}
        self.after = [*break_costs([word.text for word in words], pauses, sorted(names)), 0.0]
        self.inside = self._prices_inside(pauses, stations)

    def _prices_inside(self, pauses: Sequence[int], stations: Sequence[Station]) -> list[float]:
        """What it costs to pass each word without a cut, summed from the front."""
        firsts = {round(station.start * 1000) for station in stations}
        summed, station_starts = [0.0], sorted(firsts)
        at = 0
        for place in range(len(self.words)):
            price = 0.0
            if self.after[place] == 0.0:
                price += SENTENCE_INSIDE
            if pauses[place] > 700:
                price += PAUSE_INSIDE * pauses[place] / 1000
            following = self.starts[place + 1] if place + 1 < len(self.words) else None
            while at < len(station_starts) and station_starts[at] <= self.starts[place]:
                at += 1
            if following is not None and at < len(station_starts) and station_starts[at] <= following:
                price += STATION_INSIDE
            summed.append(summed[-1] + price)
        return summed

    def cues(self) -> list[Cue]:
        """Cheapest way to reach each word, then back from the end."""
        count = len(self.words)
        best = [0.0, *([float("inf")] * count)]
        came = [0] * (count + 1)
        room = LINES * (self.width + 1)
        for first in range(count):
            here = best[first]
            for last in range(first + 1, count + 1):
                if self.offsets[last] - self.offsets[first] > room and last > first + 1:
                    break
                if self.starts[last - 1] - self.starts[first] > MOST_MS and last > first + 1:
                    break
                cost = here + EACH_CUE + self.after[last - 1] + self.inside[last - 1] - self.inside[first]
                if cost < best[last]:
                    cost += self._time_price(first, last)
                    if cost < best[last]:
                        cost += self._line_break(first, last)[0]
                        if cost < best[last]:
                            best[last], came[last] = cost, first
        cues: list[Cue] = []
        last = count
        while last:
            cues.append(self._cue(came[last], last))
            last = came[last]
        return cues[::-1]

    def _time_price(self, first: int, last: int) -> float:
        start, end = self.starts[first], self._end(first, last)
        lasts = end - start
        price = 0.0
        if lasts < LEAST_MS:
            price += LAW * (0.2 + (LEAST_MS - lasts) / 1000)
        elif lasts < 2000:
            price += SHORT * (2000 - lasts) / 1000
        if self.ends[last - 1] > end:
            price += LAW * (0.2 + (self.ends[last - 1] - end) / 1000)
        hurry = self.hurried_ms * (last - first) - lasts
        return price + HURRY * hurry / 1000 + IN_A_HURRY if hurry > 0 else price

    def _end(self, first: int, last: int) -> int:
        """When a cue goes: after its words and, where there is room, long enough to read; no gap to the next one or a whole second."""
        start = self.starts[first]
        wished = max(self.ends[last - 1] + LINGER_MS, start + LEAST_MS, start + self.word_ms * (last - first))
        end = min(wished, start + MOST_MS)
        if last == len(self.words):
            return end
        following = self.starts[last]
        if following - end >= GAP_MS:
            return end
        return following if following - start <= MOST_MS else following - GAP_MS

    def _line_break(self, first: int, last: int) -> tuple[float, int | None]:
        """Price of the lines of a cue, and the word that begins the second line."""
        offsets, width = self.offsets, self.width
        begin, end = offsets[first], offsets[last]
        if end - begin - 1 <= width:
            return 0.0, None
        best, at = OVERLONG + (end - begin), None
        for place in range(last - 1, first, -1):
            second = end - offsets[place] - 1
            if second > width:
                break
            upper = offsets[place] - begin - 1
            if upper > width:
                continue
            price = SECOND_LINE + LINE_BREAK * self.after[place - 1] + UNEVEN * abs(upper - second)
            if price < best:
                best, at = price, place
        return best, at

    def _cue(self, first: int, last: int) -> Cue:
        _, at = self._line_break(first, last)
        texts = [word.text for word in self.words[first:last]]
        lines = (" ".join(texts),) if at is None else (" ".join(texts[: at - first]), " ".join(texts[at - first :]))
        return Cue(self.starts[first], self._end(first, last), lines)


def _with_demonstrations(cues: Sequence[Cue], stations: Sequence[Station]) -> tuple[Cue, ...]:
    """A demonstration that nobody speaks over gets a caption in the longest silence of its station, a second away from both neighbours."""
    added: list[Cue] = []
    for station in stations:
        if station.demonstration is None:
            continue
        first, last = round(station.start * 1000), round(station.end * 1000)
        silences = [
            (later.start_ms - earlier.end_ms, earlier.end_ms, later.start_ms)
            for earlier, later in pairwise(cues)
            if first <= earlier.end_ms and later.start_ms <= last
        ]
        longest = max(silences, default=(0, 0, 0), key=lambda silence: silence[0])
        if longest[0] >= DESCRIBED_MS:
            start = longest[1] + GAP_MS
            added.append(Cue(start, min(start + MOST_MS, longest[2] - GAP_MS), (f"[demonstration: {station.demonstration}]",)))
    return tuple(sorted([*cues, *added], key=lambda cue: cue.start_ms))
