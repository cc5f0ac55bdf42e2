"""Timed text that staff already have: WebVTT, SubRip and our own words files become words.

In: a file. Out: its words on the file's time line, its cues, and a sentence for everything that could not be read as it stands. Text whose
time cannot be read is kept, between its neighbours: a rule with a rough time is worth more than a lost one.
"""

from __future__ import annotations

import html
import json
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from annotator.course import Word
from annotator.errors import UnreadableText
from annotator.speech.subrip import parse_subrip
from annotator.speech.times import settle, spread
from annotator.speech.webvtt import INNER_TIME, Broken, NotWebVTTError, TextCue, parse_webvtt, seconds

WORD_S = 0.35  # time given to a word whose own time is unknown: 170 words a minute, as people speak
SEAM_S = 0.05
SEEN_S = 0.5  # a caption that is shown for less is not seen
LONGEST_S = 1e7  # 115 days: anything later is a broken number, not a walk

_TAG = re.compile(r"</?[a-z][^>\n]*>|<>|</>", re.IGNORECASE)
_SUBRIP_TAG = re.compile(r"</?(?:b|i|u|s|font)(?:\s[^>\n]*)?>|\{\\[^}\n]*\}", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060\ufeff]")
_WORDS = TypeAdapter(tuple[Word, ...])

Piece = tuple[float, float, str]
"""Start, end and the words between them."""


@dataclass(frozen=True)
class TimedText:
    """What a file of timed text holds. `problems` are whole sentences for the person, each with its line.

    `cues` are in order of time and have the times that they were given where their own could not be read; where there is no time between
    their neighbours, their text stands in the one before.
    """

    words: tuple[Word, ...]
    problems: tuple[str, ...]
    cues: tuple[TextCue, ...]


def read_timed_text(path: Path) -> TimedText:
    """Read captions (.vtt, .srt) or words (.words.json); the content decides where it disagrees with the suffix.

    UTF-8 and UTF-16 are recognised, anything else is read as Windows-1252 with a problem that says so. Words of a cue share its time by
    their length, or take the times inside the cue where it has some.

    Raises
    ------
    UnreadableText
        The file is missing, empty, no text at all, or holds no words.
    """
    raw = _bytes(path)
    text, note = _decoded(path, raw)
    problems = [note] if note else []
    if text.lstrip().startswith(("[", "{")) and "-->" not in text[:2000]:
        words, found = _words_file(path, text)
        read = TimedText(words, (*problems, *found), ())
    else:
        read = _captions(text, problems)
    if not read.words:
        more = f" {read.problems[0]}" if read.problems else ""
        raise UnreadableText(path, f"it holds no words with times.{more} Choose a .vtt, .srt or .words.json file with spoken text.")
    return read


def words_to_json(words: Iterable[Word]) -> str:
    """A words file: a JSON list of start, end, text and probability, seconds to the millisecond; one word a line.

    >>> words_to_json([Word(start=0.5, end=0.75, text="tops", probability=0.9)])
    '[\\n{"start": 0.5, "end": 0.75, "text": "tops", "probability": 0.9}\\n]\\n'
    """
    rows = (
        json.dumps(
            {"start": round(word.start, 3), "end": round(word.end, 3), "text": word.text, "probability": word.probability},
            ensure_ascii=False,
        )
        for word in words
    )
    return "[\n" + ",\n".join(rows) + "\n]\n"


def words_from_json(text: str | bytes) -> tuple[Word, ...]:
    """The words of a words file as we write it; ValueError where one is not as it must be."""
    return _WORDS.validate_json(text)


# --- files ---


def _bytes(path: Path) -> bytes:
    try:
        raw = path.read_bytes()
    except OSError as exc:
        raise UnreadableText(path, f"{exc.strerror or exc}. Check the file's place and name.") from exc
    if not raw.strip(b" \t\r\n\0\xef\xbb\xbf\xff\xfe"):
        raise UnreadableText(path, "the file is empty. Export the captions again or choose another file.")
    return raw


def _decoded(path: Path, raw: bytes) -> tuple[str, str | None]:
    """The file's text, and a problem where its encoding had to be guessed."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", "replace"), None
    sample = raw[:4000]
    if sample.count(0) > len(sample) // 4:
        for encoding, zeros in (("utf-16-le", sample[1::2]), ("utf-16-be", sample[::2])):
            if zeros.count(0) > len(zeros) // 2 and zeros.count(0) == sample.count(0):
                return raw.decode(encoding, "replace"), None
    if sum(byte < 9 or 13 < byte < 32 for byte in sample) > len(sample) // 20:
        raise UnreadableText(path, "it is not a text file. Choose a .vtt, .srt or .words.json file.")
    try:
        return raw.decode("utf-8-sig"), None
    except UnicodeDecodeError:
        text = raw.decode("utf-8", "replace")
    bad = text.count("\ufffd")
    good = sum(ord(sign) > 127 for sign in text) - bad
    if bad <= good:
        return text, f"{bad} signs are damaged (not UTF-8) and show as {chr(0xFFFD)!r}."
    guess = "The file is not UTF-8; it was read as Windows-1252. Check signs with accents."
    return raw.decode("cp1252", "replace"), guess


def _words_file(path: Path, text: str) -> tuple[tuple[Word, ...], list[str]]:
    try:
        rows = json.loads(text)
    except (ValueError, RecursionError) as exc:
        raise UnreadableText(path, f"it is not whole JSON ({exc}). Export the words again.") from exc
    if not isinstance(rows, list):
        raise UnreadableText(path, 'it is not a list of words. A words file is a list of {"start", "end", "text"}.')
    problems: list[str] = []
    words: list[Word] = []
    for number, row in enumerate(rows, 1):
        fields = {key: row[key] for key in ("start", "end", "text", "probability") if key in row} if isinstance(row, dict) else row
        try:
            words.append(Word.model_validate(fields))
        except ValidationError:
            said = str(row.get("text", "")).split() if isinstance(row, dict) else []
            at = words[-1].end if words else 0.0
            words.extend(Word(start=at, end=at, text=part) for part in said)
            kept = f"; its text {' '.join(said)!r} was kept at {at:.3f} s" if said else ""
            problems.append(f"Word {number} is not as it must be{kept}.")
    in_order = sorted(words, key=lambda word: word.start)
    if in_order != words:
        problems.append("The words were not in order of time; they were sorted.")
    spans = settle([(word.start, max(word.start, word.end)) for word in in_order])
    cleaned = ((start, end, _plain(word.text), word.probability) for word, (start, end) in zip(in_order, spans, strict=True))
    return tuple(Word(start=s, end=e, text=t, probability=p) for s, e, t, p in cleaned if t), problems


# --- captions ---


def _captions(text: str, problems: list[str]) -> TimedText:
    strip = _SUBRIP_TAG
    try:
        cues, broken = parse_webvtt(text)
        strip = _TAG
    except NotWebVTTError:
        cues, broken = parse_subrip(text.removeprefix("\ufeff"))
    cues, repeated = _without_rolled_lines(cues)
    line = _TimeLine(strip, [*problems, *repeated])
    placed = sorted(range(len(cues)), key=lambda number: cues[number].start_s)
    if placed != list(range(len(cues))):
        line.problems.append("Captions are not in order of time; they were sorted by their start.")
    waiting: dict[int, list[Broken]] = {}
    for part in broken:
        waiting.setdefault(part.after, []).append(part)
    last_s = line.place_broken(waiting.get(0, []), 0.0, cues[placed[0]].start_s if placed else None)
    for turn, number in enumerate(placed):
        following = cues[placed[turn + 1]].start_s if turn + 1 < len(placed) else None
        last_s = line.place(cues[number], following)
        last_s = line.place_broken(waiting.get(number + 1, []), last_s, following)
    return TimedText(_as_words(line.pieces), tuple(line.problems), tuple(line.cues))


@dataclass
class _TimeLine:
    """What was put on the time line so far: pieces for the words, the cues themselves, and a sentence for all that had to be mended."""

    strip: re.Pattern[str]
    problems: list[str]
    pieces: list[Piece] = field(default_factory=list)
    cues: list[TextCue] = field(default_factory=list)

    def place(self, cue: TextCue, following: float | None) -> float:
        """Put a cue's text on the time line; where it ends."""
        start, end = cue.start_s, cue.end_s
        if start > LONGEST_S:
            self.problems.append(f"Line {cue.line}: the time {start:.0f} s is no time of a walk; the text was kept at the end.")
            start = end = self.pieces[-1][1] if self.pieces else 0.0
        if end <= start:
            self.problems.append(f"Line {cue.line}: this caption ends before it begins; its end was put where its words would end.")
            end = start + WORD_S * max(1, len(cue.text.split()))
        self.cues.append(replace(cue, start_s=start, end_s=end))
        if following is not None and start < following < end:
            if following < end - SEAM_S:
                self.problems.append(f"Line {cue.line}: this caption overlaps the next one; its words were read before those of the next.")
            end = following
        spots = list(INNER_TIME.finditer(cue.text)) if self.strip is _TAG else []
        inner = [seconds(*spot.groups()) for spot in spots]
        cuts = [0, *(spot.start() for spot in spots), len(cue.text)]
        times = [start, *(min(max(start, moment if moment is not None else start), end) for moment in inner), end]
        for first, last, begins, ends in zip(cuts[:-1], cuts[1:], times[:-1], times[1:], strict=True):
            self.pieces.append((begins, max(begins, ends), _plain(cue.text[first:last], self.strip)))
        return end

    def place_broken(self, parts: Sequence[Broken], after_s: float, before_s: float | None) -> float:
        """Text without a time goes between its neighbours, in the time that its words need; where the last one ends."""
        for part in parts:
            said = _plain(part.text, self.strip)
            if not said:
                self.problems.append(f"Line {part.line}: {part.reason}; it holds no text.")
                continue
            told = part.start_s is not None and after_s <= part.start_s < (math.inf if before_s is None else before_s)
            if part.start_s is not None and told:
                after_s = part.start_s
            end = after_s + WORD_S * len(said.split())
            end = end if before_s is None else max(after_s, min(end, before_s))
            self.pieces.append((after_s, end, said))
            if self.cues and end - after_s < SEEN_S:
                self.cues[-1] = replace(self.cues[-1], text=f"{self.cues[-1].text}\n{part.text}")
            else:
                self.cues.append(TextCue(after_s, end, part.text, part.line))
            shown = said if len(said) <= 60 else said[:57] + "..."
            put = f"its words {shown!r} were put {'' if told else 'after the caption before, '}at {after_s:.3f} s."
            self.problems.append(f"Line {part.line}: {part.reason}; {put}")
            after_s = end
        return after_s


def _without_rolled_lines(cues: tuple[TextCue, ...]) -> tuple[tuple[TextCue, ...], list[str]]:
    """Captions that roll up show each line twice; where most cues open with the line before, that line is taken once."""
    rolled = [
        later.start_s <= earlier.end_s + SEAM_S and "\n" in later.text and _lines(later)[0] == _lines(earlier)[-1]
        for earlier, later in pairwise(cues)
    ]
    if sum(rolled) * 2 <= len(rolled) or len(rolled) < 3:
        return cues, []
    kept = [cues[0]]
    for again, cue in zip(rolled, cues[1:], strict=True):
        text = cue.text.split("\n", 1)[1] if again else cue.text
        kept.append(TextCue(cue.start_s, cue.end_s, text, cue.line, cue.identifier))
    return tuple(kept), [f"The captions roll up: {sum(rolled)} lines that stand in two captions were read once."]


def _lines(cue: TextCue) -> list[str]:
    return [_plain(line, _TAG) for line in cue.text.split("\n")]


def _plain(text: str, strip: re.Pattern[str] | None = None) -> str:
    """Text without markup and control characters, blanks made single."""
    if strip is not None:
        text = strip.sub("", INNER_TIME.sub(" ", text) if strip is _TAG else text)
    if strip is _TAG:
        text = html.unescape(text)
    return " ".join(_CONTROL.sub("", text).split())


def _as_words(pieces: Sequence[Piece]) -> tuple[Word, ...]:
    texts: list[str] = []
    spans: list[tuple[float, float]] = []
    for start, end, said in pieces:
        words = said.split()
        if words:
            texts.extend(words)
            spans.extend(spread(words, start, end))
    return tuple(Word(start=start, end=end, text=word) for word, (start, end) in zip(texts, settle(spans), strict=True))
