"""How well captions read: every published limit with its share of cues that keep it, the reading speed, and the cues to look at first.

In: cues. Out: figures and sentences. A limit that a cue breaks is a fault; the reading speed is a wish, since directors talk faster.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from annotator.captions.cue import GAP_MS, LEAST_MS, LINE, LINE_PORTRAIT, LINES, MOST_MS, Cue
from annotator.captions.setting import AS_SPOKEN, Setting
from annotator.course import Word
from annotator.units import clock

START_S = 0.2
"""The guidelines ask for the onset itself and let a speaker in shot be 1.5 s away; this much is not seen. Common practice, no published
source."""
SPEEDS_WPM = (180, 160, 130)
"""BBC Subtitle Guidelines 1.2.5, section 4 (160 to 180); DCMP Captioning Key, lower level (130)."""


@dataclass(frozen=True)
class BrokenLimit:
    """A limit that a cue does not keep: which, by how much in a sentence, and the cue's place from 0."""

    cue: int
    limit: str
    about: str


@dataclass(frozen=True)
class Kept:
    """One limit or wish: how many of the cues keep it. `source`: who says so."""

    limit: str
    kept: int
    of: int
    source: str
    wish: bool = False

    @property
    def share(self) -> float:
        return self.kept / self.of if self.of else 1.0


@dataclass(frozen=True)
class Worst:
    """A cue to look at: its place from 0, when it begins on the walk (seconds), its text, its words a minute, and what is the matter."""

    cue: int
    start_s: float
    text: str
    wpm: float
    about: str


@dataclass(frozen=True)
class Reading:
    """The report: each limit, then each speed, and the worst cues first."""

    limits: tuple[Kept, ...]
    worst: tuple[Worst, ...]


def broken_limits(cues: Sequence[Cue], *, portrait: bool = False) -> tuple[BrokenLimit, ...]:
    """Every limit that a cue does not keep. The reading speed is no limit; see `speed`."""
    width = LINE_PORTRAIT if portrait else LINE
    found: list[BrokenLimit] = []
    for at, cue in enumerate(cues):
        lasts = cue.end_ms - cue.start_ms
        if not LEAST_MS - 1 <= lasts <= MOST_MS:
            found.append(BrokenLimit(at, "time", f"shown for {lasts / 1000:.3f} s, not 1.333 to 6 s"))
        if len(cue.lines) > LINES:
            found.append(BrokenLimit(at, "lines", f"{len(cue.lines)} lines, not {LINES}"))
        longest = max((len(line) for line in cue.lines), default=0)
        if longest > width:
            found.append(BrokenLimit(at, "length", f"a line of {longest} characters, not {width}"))
        if at + 1 < len(cues):
            gap = cues[at + 1].start_ms - cue.end_ms
            if gap < 0:
                found.append(BrokenLimit(at, "gap", f"still there {-gap / 1000:.3f} s after the next one begins"))
            elif 0 < gap < GAP_MS:
                found.append(BrokenLimit(at, "gap", f"a gap of {gap / 1000:.3f} s, not none or 1 s"))
    return tuple(found)


def late_starts(cues: Sequence[Cue], words: Sequence[Word]) -> tuple[BrokenLimit, ...]:
    """Every cue that does not begin within `START_S` of its own first word; a description, which nobody speaks, begins where it likes.

    A cue's first word is looked for among those that are said about then: by its letters, or by its time alone where it is a numeral.
    """
    starts = sorted((word.start, _letters(word.text)) for word in words)
    found = []
    for at, cue in enumerate(cues):
        if cue.text.startswith("["):
            continue
        first = _letters(cue.text.split()[0]) if cue.text.split() else ""
        near = starts[bisect_left(starts, (cue.start_s - START_S, "")) : bisect_right(starts, (cue.start_s + START_S, "\uffff"))]
        if not any(said == first or not first or _counts(first) or _counts(said) for _, said in near):
            found.append(BrokenLimit(at, "start", f"does not begin within {START_S:.1f} s of its speech"))
    return tuple(found)


def _counts(letters: str) -> bool:
    """Whether it is a numeral, which a caption may write out, or the other way round."""
    return any(sign.isdigit() for sign in letters)


def _letters(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())


def speed(cue: Cue) -> float:
    """Words a minute of a cue.

    >>> speed(Cue(0, 1000, ("Feet only.",)))
    120.0
    """
    return len(cue.text.split()) * 60_000 / max(1, cue.end_ms - cue.start_ms)


_LIMITS = (
    ("time", "shown 1.333 to 6 s", "DCMP Captioning Key, Text"),
    ("lines", f"at most {LINES} lines", "BBC Subtitle Guidelines 1.2.5, 3.3"),
    ("length", "lines of at most {width} characters", "BBC Subtitle Guidelines 1.2.5, 3.1"),
    ("gap", "no gap, or 1 s and more", "BBC Subtitle Guidelines 1.2.5, 4.5"),
    ("start", f"begins within {START_S:.1f} s of its speech", "BBC Subtitle Guidelines 1.2.5, 5.1"),
)


def reading(cues: Sequence[Cue], setting: Setting = AS_SPOKEN, *, words: Sequence[Word] | None = None, most: int = 12) -> Reading:
    """How well the cues read.

    Parameters
    ----------
    cues
        In order of time.
    setting
        Its layout says how long a line may be, its wording how fast a cue should read.
    words
        What is said, where it is known (not of a translation): then each cue's beginning is held to it.
    most
        How many of the worst cues to list.

    Examples
    --------
    >>> report = reading([Cue(0, 1500, ("Feet only.",)), Cue(1500, 3000, ("No hands on the blue box at all.",))])
    >>> [(each.limit, each.kept, each.of) for each in report.limits if each.wish]
    [('at most 180 words a minute', 1, 2), ('at most 160 words a minute', 1, 2), ('at most 130 words a minute', 1, 2)]
    >>> [(each.cue, each.about) for each in report.worst]
    [(1, 'reads at 320 words a minute')]
    """
    broken = (*broken_limits(cues, portrait=setting.portrait), *(late_starts(cues, words) if words is not None else ()))
    width = LINE_PORTRAIT if setting.portrait else LINE
    limits = [
        Kept(text.format(width=width), len(cues) - len({each.cue for each in broken if each.limit == limit}), len(cues), source)
        for limit, text, source in _LIMITS
        if limit != "start" or words is not None
    ]
    speeds = [speed(cue) for cue in cues]
    for wpm in SPEEDS_WPM:
        source = "DCMP Captioning Key, lower level" if wpm == 130 else "BBC Subtitle Guidelines 1.2.5, 4"
        limits.append(Kept(f"at most {wpm} words a minute", sum(each <= wpm for each in speeds), len(cues), source, wish=True))
    about: dict[int, list[str]] = {}
    for each in broken:
        about.setdefault(each.cue, []).append(each.about)
    fast = sorted((at for at, each in enumerate(speeds) if each > setting.hurried_wpm), key=lambda at: -speeds[at])
    for at in fast:
        about.setdefault(at, []).append(f"reads at {speeds[at]:.0f} words a minute")
    order = sorted(about, key=lambda at: (not any(each.cue == at for each in broken), -speeds[at]))
    worst = [Worst(at, cues[at].start_s, cues[at].text, speeds[at], "; ".join(about[at])) for at in order[:most]]
    return Reading(tuple(limits), tuple(worst))


def reading_as_text(report: Reading) -> str:
    """The report as plain text, a line each."""
    lines = ["How well these captions read", ""]
    for each in report.limits:
        word = "wish " if each.wish else "limit"
        lines.append(f"{word}  {each.kept:>4} of {each.of:<4} {100 * each.share:3.0f} %  {each.limit} ({each.source})")
    if report.worst:
        lines += ["", "Look at these first:"]
        lines += [f"{clock(each.start_s):>8}  cue {each.cue + 1}: {each.about}: {each.text}" for each in report.worst]
    return "\n".join(lines) + "\n"
