"""Read WebVTT as the standard's parser does, and keep what it throws away.

In: the text of a file. Out: its cues, and each block that the standard drops, so that nothing is lost unseen. Settings, regions and styles
say where a caption stands on a picture; nothing here needs them. What becomes of cues is timedtext.py.

Source: W3C, "WebVTT: The Web Video Text Tracks Format", section 6.1 (file parsing) and 6.3 (timings).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

BLANKS = " \t\n\f\r"  # the standard's "ASCII whitespace"; a vertical tab is none
_TIME = r"(?:([0-9]{1,9}):)?([0-9]{2}):([0-9]{2})\.([0-9]{3})(?![0-9])"
_TIMING = re.compile(rf"[{BLANKS}]*{_TIME}[{BLANKS}]*-->[{BLANKS}]*{_TIME}")
_ASIDE = re.compile(r"(NOTE|STYLE|REGION)(?=[ \t\n]|$)")


@dataclass(frozen=True)
class TextCue:
    """One caption as a file has it: seconds, the raw text with its markup, and the line of its timing (from 1)."""

    start_s: float
    end_s: float
    text: str
    line: int = 0
    identifier: str = ""


@dataclass(frozen=True)
class Broken:
    """Text of a file that no cue holds: its line, the text, why, how many cues came before it, and its beginning where that can be read."""

    line: int
    text: str
    reason: str
    after: int
    start_s: float | None = None


class NotWebVTTError(ValueError):
    """The text does not begin with the signature, so that the standard rejects it as a whole."""


def parse_webvtt(text: str) -> tuple[tuple[TextCue, ...], tuple[Broken, ...]]:
    """The cues that the standard's parser finds, and the blocks that it drops.

    Cues that end before they begin are kept, as the standard does.

    Raises
    ------
    NotWebVTTError
        No WEBVTT signature in the first line.

    Examples
    --------
    >>> parse_webvtt("WEBVTT\\n\\n00:01.000 --> 00:02.500\\nFeet only.\\n")[0][0].end_s
    2.5
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd").split("\n")
    first = lines[0].removeprefix("\ufeff")
    if not (first == "WEBVTT" or first.startswith(("WEBVTT ", "WEBVTT\t"))):
        raise NotWebVTTError(first[:40])
    cues: list[TextCue] = []
    broken: list[Broken] = []
    at = 1
    if at < len(lines) and lines[at]:
        at = _block(lines, at, cues, broken, in_header=True)
    while at < len(lines):
        at = at + 1 if not lines[at] else _block(lines, at, cues, broken)
    return tuple(cues), tuple(broken)


def _block(lines: list[str], first: int, cues: list[TextCue], broken: list[Broken], in_header: bool = False) -> int:
    """Collect one block that begins at line `first`; the line after it. A line with an arrow out of place begins the next block."""
    held: list[str] = []
    timing: int | None = None
    identifier = ""
    at = first
    while at < len(lines) and lines[at]:
        if "-->" in lines[at]:
            place = at - first
            if in_header or not (place == 0 or (place == 1 and timing is None)):
                break
            timing, identifier, held = at, "\n".join(held), []
        else:
            held.append(lines[at])
        at += 1
    if not in_header:
        _keep(lines, first, timing, identifier, "\n".join(held), cues, broken)
    return at


def _keep(lines: list[str], first: int, timing: int | None, identifier: str, text: str, cues: list[TextCue], broken: list[Broken]) -> None:
    if timing is None:
        if not _ASIDE.match(text):
            broken.append(Broken(first + 1, text, "it has no time", len(cues)))
        return
    times = read_timing(lines[timing])
    if times is None:
        begins = lines[timing].split("-->")[0].replace(",", ".")  # SubRip has a comma there
        start = read_timing(f"{begins} --> {begins}")
        reason = f"its time {lines[timing].strip()[:60]!r} cannot be read"
        broken.append(Broken(timing + 1, text, reason, len(cues), start[0] if start else None))
        return
    cues.append(TextCue(*times, text, timing + 1, identifier))


def read_timing(line: str) -> tuple[float, float] | None:
    """Start and end in seconds of a timing line, None where the standard finds no time in it.

    >>> read_timing("00:01.000-->1:00:02.250 align:left"), read_timing("00:60.000 --> 01:00.000")
    ((1.0, 3602.25), None)
    """
    found = _TIMING.match(line)
    if found is None:
        return None
    start, end = seconds(*found.groups()[:4]), seconds(*found.groups()[4:])
    return None if start is None or end is None else (start, end)


def seconds(hours: str | None, minutes: str, whole: str, thousandths: str) -> float | None:
    """The parts of a time stamp in seconds; None where minutes or seconds pass 59."""
    if int(minutes) > 59 or int(whole) > 59:
        return None
    return (int(hours or 0) * 3600 + int(minutes) * 60 + int(whole)) + int(thousandths) / 1000


INNER_TIME = re.compile(rf"<{_TIME}>")
