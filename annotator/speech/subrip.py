"""Read SubRip, which has no standard: everything between two timing lines belongs to the first, so that nothing is lost.

In: the text of a file. Out: cues and what no cue holds, as webvtt.py gives them. Also reads a WebVTT body that lacks its first line.
"""

from __future__ import annotations

import re
from itertools import pairwise

from annotator.speech.webvtt import Broken, TextCue

_TIME = r"(?:([0-9]{1,9}):)?([0-9]{1,3}):([0-9]{1,3})(?:[,.]([0-9]{1,3}))?"
_TIMING = re.compile(rf"\s*{_TIME}\s*-->\s*{_TIME}(?![0-9])")
_MEANT_AS_TIMING = re.compile(r"^[^A-Za-z]*[0-9][^A-Za-z]{0,3}[:;.,][^-]*--?>|--?>[^A-Za-z]*[0-9]+[:;.,]")
_NUMBER = re.compile(r"\s*[0-9]+\s*")


def parse_subrip(text: str) -> tuple[tuple[TextCue, ...], tuple[Broken, ...]]:
    """Cues in the order of the file, and text that stands before the first timing line or under one that cannot be read.

    A comma or a full stop may stand before the thousandths; short fields are read as peers do ("0:0:5,5" is 5.005 s).

    >>> parse_subrip("1\\n00:00:01,000 --> 00:00:02,500\\nFeet only.\\n\\nReally.\\n")[0][0].text
    'Feet only.\\nReally.'
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd").split("\n")
    heads = [at for at, line in enumerate(lines) if _is_head(lines, at, line)]
    cues: list[TextCue] = []
    broken: list[Broken] = []
    opening = _body(lines, 0, heads[0] if heads else len(lines), whole=not heads)
    if opening:
        broken.append(Broken(1, opening, "it has no time", 0))
    for at, following in pairwise([*heads, len(lines)]):
        body = _body(lines, at + 1, following, whole=following == len(lines))
        found = _TIMING.match(lines[at])
        if found:
            numbers = found.groups()
            cues.append(TextCue(_seconds(numbers[:4]), _seconds(numbers[4:]), body, at + 1))
        else:
            broken.append(Broken(at + 1, body, f"its time {lines[at].strip()[:60]!r} cannot be read", len(cues)))
    return tuple(cues), tuple(broken)


def _is_head(lines: list[str], at: int, line: str) -> bool:
    """Whether a line is, or was meant as, a timing line; an arrow inside a caption's text is neither."""
    if "->" not in line:
        return False
    if _TIMING.match(line):
        return True
    opens = at == 0 or not lines[at - 1].strip() or _NUMBER.fullmatch(lines[at - 1]) is not None
    return opens and _MEANT_AS_TIMING.search(line) is not None


def _body(lines: list[str], first: int, end: int, whole: bool) -> str:
    """The text of lines first..end without blank lines and without the counter that belongs to the next cue."""
    kept = lines[first:end]
    if not whole and kept and _NUMBER.fullmatch(kept[-1]):
        kept = kept[:-1]
    return "\n".join(line for line in kept if line.strip())


def _seconds(numbers: tuple[str | None, ...]) -> float:
    hours, minutes, whole, thousandths = (int(number or 0) for number in numbers)
    return hours * 3600 + minutes * 60 + whole + thousandths / 1000
