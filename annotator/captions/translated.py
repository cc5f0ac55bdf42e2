"""Captions that somebody translated, laid back in: their times stay, their lines are set anew only where they are too long.

In: cues of a file as the reader of timed text gives them. Out: cues. The text is not changed; report.py tells which limits it breaks.
"""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Sequence

from annotator.captions.cue import LINE, LINE_PORTRAIT, LINES, Cue
from annotator.speech import TextCue
from annotator.units import seconds_to_ms

_TAG = re.compile(r"</?[A-Za-z][^>\n]*>|<[\d:.]*>|</>")
_AFTER_SIGN = 10  # characters of unevenness that a break after a comma or a full stop is worth


def lay_in(cues: Iterable[TextCue], *, portrait: bool = False) -> tuple[Cue, ...]:
    """Cues of a caption file as our own, in order of their starts.

    Markup is taken off and character references are read. Lines stay as the translator broke them, unless one is longer than a line may be
    (37 characters, 25 in portrait) or there are more than two: then the words of the cue are laid on two lines anew.

    Examples
    --------
    >>> [(cue.start_ms, cue.end_ms, cue.lines) for cue in lay_in([TextCue(1.0, 3.0, "<i>Solo</i> los pies &amp; nada más.")])]
    [(1000, 3000, ('Solo los pies & nada más.',))]
    """
    width = LINE_PORTRAIT if portrait else LINE
    laid: list[Cue] = []
    for cue in sorted(cues, key=lambda each: each.start_s):
        lines = [" ".join(html.unescape(_TAG.sub("", line)).split()) for line in cue.text.split("\n")]
        kept = [line for line in lines if line]
        if kept:
            start = seconds_to_ms(cue.start_s)
            laid.append(Cue(start, max(start, seconds_to_ms(cue.end_s)), _set(kept, width)))
    return tuple(laid)


def _set(lines: Sequence[str], width: int) -> tuple[str, ...]:
    if len(lines) <= LINES and all(_length(line) <= width for line in lines):
        return tuple(lines)
    words = " ".join(lines).split()
    whole = " ".join(words)
    if _length(whole) <= width or len(words) == 1:
        return (whole,)
    halves = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words))]
    return min(halves, key=lambda pair: _price(pair, width))


def _price(pair: tuple[str, str], width: int) -> float:
    upper, lower = _length(pair[0]), _length(pair[1])
    beyond = max(0, upper - width) + max(0, lower - width)
    return 1000 * beyond + abs(upper - lower) - (_AFTER_SIGN if pair[0][-1] in ".,;:?!…" else 0)


def _length(text: str) -> int:
    """Characters as a reader counts them: marks that sit on another letter take no room."""
    return sum(not unicodedata.combining(sign) for sign in text)
