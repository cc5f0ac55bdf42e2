"""Where stations begin: one decision over the whole walk.

Each sentence offers cues (an ordinal, a name, a start, a turn of speech, a silence, a finish just told). A station collects the cues of its
first sentences; a cue of a further station in its middle counts against it; stations end in a finish and last neither two seconds nor ten
minutes. The best division of the walk into opening, stations and closing is found by dynamic programming, linear in the walk's length.
How many stations there are is often said in the opening; then that many are preferred.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from annotator.rules.lexicon import NUMBER, ORDINAL
from annotator.rules.reading import Line

HEAD_S = 14.0  # seconds in which a station announces itself
HEAD_LINES = 5
USUAL_S = (14.0, 75.0)  # within these nothing speaks against a station for its length
LONGEST_LINES = 70
LONGEST_S = 260.0
LEAST_TOLD = 0.45
BASE = -1.25  # what a station costs: cues have to outweigh it

_N = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|\d{1,2})"
_ORD = r"(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth|last|final)"
_LEAD = (
    r"^(?:so|now|and|then|okay|ok|right|alright|well|oh|but|this is|we begin|we start with|next is|here is|here's|,|\s|that "
    r"brings us to|on to|moving on to|up next|it comes|we go to|we have|go to|to|let's go to|finally|next along|next up|lastly|the)*"
)
_NUMBERED = re.compile(
    rf"{_LEAD}(?:station|obstacle|number|event|element|challenge)(?: number)? (?P<n>{_N})\b(?! (?:start|begin|take|go)s?)"
)
_NUMBERED_IN = re.compile(rf"\b(?:station|obstacle|number) (?P<n>{_N})(?=,| is| then| here|$| begins| starts)")
_BARE = re.compile(rf"{_LEAD}(?P<n>{_N})(?:,|'s (?:the|this|a|our)| is (?:the|this|called|a)|\.|$)")
_ORDINAL = re.compile(rf"{_LEAD}(?:our |your |this )?(?P<o>{_ORD}) (?:and \w+ )?(?:one|station|obstacle|event|element|challenge|stop)\b")
_LAST = re.compile(rf"{_LEAD}(?:our |your |this )?(?:last|final)(?: obstacle| station| one)?(?:,| is| but)")
_NEXT = re.compile(
    rf"{_LEAD}(?:our |your |the )?next(?: one| up| along| station| obstacle| is|,| comes| we)\b|\bthe one after (?:that|"
    rf"this)\b|{_LEAD}moving on\b|\bbrings us to\b|\bover (?:here|this way)\b.*\bnumber\b"
)
_TURN = re.compile(
    r"^(?:right|okay|ok|alright|all right|moving on|next|so now|now then|now,|come (?:round|with|over|on|along)|let's|follow "
    r"me|over here|keep up|here we|this (?:one|is)|finally|"
    r"would you (?:ever )?come|on to|onwards|if you'd follow|so if i can|now (?:the|we)|and now|off we go|last)\b"
)
_WITH = re.compile(
    rf"{_LEAD}(?:up next\b|(?:we |you |let's |we'll |you'll )?(?:kick|start|begin|finish|end|wrap)(?: things| "
    rf"it)?(?: off| up)? with the\b)"
)
_STANDS = re.compile(
    r"^(?:so |now |okay |right |,)*you(?:'ve| have|'re| are)(?: now| just)? (?:landed|on|standing|reached|made "
    r"it|got to|back)\b"
)
UNNAMED = re.compile(
    r"\b(?:(?:never|not|n't|hasn't|haven't|didn't|without)(?: (?!your|his|her|my|their|catch|hear)\w+){0,4} (?:a |any |its |the"
    r" )?names?\b(?! is)|"
    r"has(?:n't| not| no) (?:got )?(?:a )?name|got no name|don't know (?:the|its) name|no name|this one's|this one has)\b"
)
_OUT_OF_PLACE = re.compile(
    r"\b(?:before i forget|coming up|back there|going back|earlier|later on|one more thing about|that one back|we'll come to|"
    r"before we (?:move|go) on|won't remember|while i (?:think|remember|mind)|i (?:have )?forgot(?:ten)?|should(?:'ve|"
    r" have) (?:said|told)|"
    r"back (?:on|at|with|to) the|not even at yet|"
    r"we'll get to|remember|remark|just thought|while i (?:mind|have it)|already (?:say|tell|give)|for the (?:last|final|next)"
    r" (?:obstacle|station|one))\b"
)
_CLOSING = re.compile(
    r"\b(?:that's (?:your|the) lot|(?:that's|that is)(?: basically| about| pretty much| more or less| just about)? (?:it|all|"
    r"the course|a wrap|"
    r"everything)\b.*|i summarise|to sum up|in summary|this was all|that was all|that concludes|"
    r"that's a wrap|there you have it|that's the (?:whole )?course|end of the course|"
    r"thank you for listening|good luck|have fun|have a blast|any questions|enjoy yourselves|questions to me)\b"
)
_RECOUNTED = re.compile(rf"\b(?:no|sorry|or is it|wait|actually|make that)\b[^.]*?\b(?P<n>{_N})\b")
_COUNT = re.compile(rf"\b(?P<n>{_N}) (?:\w+ )?(?:stations|obstacles|elements|events|challenges)\b")


@dataclass(frozen=True, slots=True)
class Cues:
    """What one sentence offers for a boundary before it; each 0 or a weight."""

    ordinal: float
    name: float
    start: float
    turn: float
    pause: float
    finish: float
    closing: float
    number: int | None
    start_key: str | None


@dataclass(frozen=True, slots=True)
class Division:
    """The walk's lines divided: spans of indices for the stations, everything before is opening, after is closing."""

    stations: tuple[tuple[int, int], ...]
    numbers: tuple[int | None, ...]
    """The number that the speaker said at the beginning of each station."""
    said_count: int | None


def _number_said(line: Line, last: int) -> tuple[float, int | None]:
    text = line.plain
    if _OUT_OF_PLACE.search(text) and not _NUMBERED.search(text):
        return 0.0, None
    for pattern, weight in ((_NUMBERED, 2.2), (_ORDINAL, 1.7), (_BARE, 1.6), (_LAST, 1.5), (_NUMBERED_IN, 1.4)):
        match = pattern.search(text)
        if match:
            if any(a.kind == "next-start" for a in line.acts) and pattern in (_NUMBERED_IN, _ORDINAL):
                continue
            if re.search(r"\bafter " + re.escape(match.group(0).strip()), text) or re.search(
                r"\b(?:every|each|per)\b", text[: match.end()]
            ):
                continue
            groups = match.groupdict()
            number = NUMBER.get(groups.get("n") or "", ORDINAL.get(groups.get("o") or ""))
            if pattern is _BARE and not (number and last < number <= last + 3):
                continue  # "one, because it is out, and two, ..." counts reasons, not stations
            return weight, number if number and number > 0 else None
    tells_end = any(a.kind == "next-start" for a in line.acts)  # "next one starts there, so stop on it"
    if (_NEXT.search(text) and not tells_end) or _WITH.search(text):
        return 1.4, None
    return 0.0, None


def find_cues(lines: Sequence[Line]) -> tuple[Cues, ...]:
    """The boundary cues of every line."""
    cues: list[Cues] = []
    seen: set[str] = set()
    recent: list[tuple[int, str]] = []  # heads with colours of things that a station may have ended on
    last_finish = -99
    last_number = 0
    for i, line in enumerate(lines):
        ordinal, number = _number_said(line, last_number)
        last_number = max(last_number, number or 0)
        name = 0.0
        displaced = bool(_OUT_OF_PLACE.search(line.plain))
        for naming in line.names:
            if naming.name in seen or displaced or naming.score <= 0.5:
                continue
            weight = naming.score * (0.5 + naming.slot)
            if weight > name:
                name = weight
            if naming.listed and naming.score >= 0.86 and naming.slot >= 0.3:
                seen.add(naming.name)
        if UNNAMED.search(line.plain):
            name = max(name, 0.9)
        start, key = 0.0, None
        for act in line.acts:
            if act.kind == "start" and act.mention is not None:
                mention = line.mentions[act.mention]
                this = f"{' '.join(sorted(mention.colours))} {mention.head}"
                known = any(this == k or (mention.head == k.split()[-1] and not mention.colours) for _, k in recent)
                strong = act.rule in (
                    "start on x",
                    "start is x",
                    "x is your start",
                    "start position, x",
                    "by x, because that is where it begins",
                    "x is where you start",
                    "off you go from x",
                )
                weight = (1.3 if strong else 0.25) + (0.9 if known else 0.0)
                if weight > start:
                    start, key = weight, this
        if not start and i >= 1 and line.mentions:
            mention = line.mentions[0]
            this = f"{' '.join(sorted(mention.colours))} {mention.head}"
            if _STANDS.search(line.plain) and any(this == k for j, k in recent if i - j >= 1):
                start, key = 1.3, this
            elif (
                mention.colours
                and not re.match(r"(?:and |so |but )*(?:if|when|who|whoever|anybody|anyone)\b", line.plain)
                and mention.first <= 3
                and any(this == k for j, k in recent if i - j >= 1)
                and not any(a.kind in ("finish", "arrive", "next-start", "overshoot-no") for a in line.acts)
            ):
                start, key = 0.9, this
        turn = 0.5 if _TURN.search(line.plain) else 0.2 if re.match(r"(?:and then|so|then|now)\b", line.plain) else 0.0
        gap = line.start_s - lines[i - 1].end_s if i else 0.0
        pause = 0.3 if 0.6 < gap < 4.0 else 0.0
        finish = 0.8 if 0 < i - last_finish <= 4 else 0.0
        cues.append(Cues(ordinal, name, start, turn, pause, finish, 1.0 if _CLOSING.search(line.plain) else 0.0, number, key))
        for act in line.acts:
            if act.kind in ("finish", "arrive", "next-start") and act.mention is not None:
                mention = line.mentions[act.mention]
                recent.append((i, f"{' '.join(sorted(mention.colours))} {mention.head}"))
                if act.kind == "finish" or act.weight >= 0.6:
                    last_finish = i
        recent = [r for r in recent if i - r[0] <= 14]
    return _closing_once(cues)


def _closing_once(cues: Sequence[Cues]) -> tuple[Cues, ...]:
    """Words of closing close nothing where another station is announced after them ("that's all there is to it", of one station)."""
    last = max((i for i, cue in enumerate(cues) if cue.ordinal >= 1.4 or cue.name >= 0.8), default=-1)
    return tuple(replace(cue, closing=0.0) if cue.closing and i < last else cue for i, cue in enumerate(cues))


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
        cues[a].ordinal or cues[a].name or cues[a].start or cues[a].turn >= 0.5
    ):
        against += 0.7  # a ruling closes what was spoken of; a station begins with where, what or which
    finished = False
    first_key = None
    gains = []
    for b in range(a, min(len(lines), a + LONGEST_LINES)):
        cue = cues[b]
        inside = b - a < HEAD_LINES and lines[b].start_s - lines[a].start_s <= HEAD_S
        lively = bool(cue.start_key) and first_key is not None and cue.start_key != first_key
        if inside and not (lively and finished):
            head["ordinal"] = max(head.get("ordinal", 0.0), cue.ordinal * (1.0 if b == a else 0.85 if b - a < 3 else 0.7))
            head["name"] = max(head.get("name", 0.0), cue.name * (1.0 if b - a < 2 else 0.85 if b - a < 4 else 0.7))
            head["start"] = max(head.get("start", 0.0), cue.start * (1.0, 0.95, 0.85, 0.75, 0.7)[min(4, b - a)])
        else:
            against += 0.9 * cue.ordinal + 0.55 * cue.name + (0.6 * cue.start if cue.start > 1.0 or finished else 0.0)
        if cue.start_key and first_key is None:
            first_key = cue.start_key
        if any(x.kind in ("finish", "arrive") for x in lines[b].acts):
            finished = True
        against += 0.8 * cue.closing if b > a else 0.0
        length = max(0.5, lines[b].end_s - lines[a].start_s)
        if length > LONGEST_S and b > a:
            break
        prior = -0.45 * math.log(min(1.0, length / USUAL_S[0]) * max(1.0, length / USUAL_S[1])) ** 2
        told = sum(v for k, v in head.items() if k != "finish")
        after_finish = head["finish"] if told > LEAST_TOLD else 0.0  # the end of one station alone begins no other
        gains.append(told + after_finish - against + (0.6 if finished else 0.0) + prior)
    return gains


def divide(lines: Sequence[Line]) -> Division:
    """The best division of the walk into opening, stations and closing."""
    cues = find_cues(lines)
    n = len(lines)
    if not n:
        return Division((), (), None)
    count = _count_said(lines[: max(12, n // 5)])
    gains = [_segment_gain(lines, cues, a) if _may_begin(cues[a]) else [] for a in range(n)]
    spans = _best(lines, cues, gains, BASE)
    if count is not None and len(spans) != count:
        for step in (0.4, 0.8, 1.2, 1.6, 2.2):
            tried = _best(lines, cues, gains, BASE + (step if len(spans) < count else -step))
            if abs(len(tried) - count) < abs(len(spans) - count):
                spans = tried
            if len(spans) == count:
                break
    numbers = []
    for a, b in spans:
        heads = range(a, min(b, a + 3))
        numbers.append(next((cues[k].number for k in heads if cues[k].number), None))
    return Division(tuple(spans), tuple(numbers), count)


def _may_begin(cue: Cues) -> bool:
    return cue.ordinal + cue.name + cue.start + cue.turn + cue.pause + cue.finish > 0.25


def _count_said(lines: Sequence[Line]) -> int | None:
    for line in lines:
        match = _COUNT.search(line.plain)
        if match:
            number = NUMBER.get(match["n"])
            corrected = _RECOUNTED.search(line.plain, match.end())
            if corrected:
                number = NUMBER.get(corrected["n"], number)
            if number and 2 <= number <= 40:
                return number
    return None


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
