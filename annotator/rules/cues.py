"""What a sentence offers for a station that begins with it: an ordinal, a name, a start, a turn of speech, a silence, a finish just told.

In: the lines of a walk. Out: the cues of each line. What they come to over the whole walk is decided in stations.py; what only announces
stations (announced.py) offers none.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from annotator.rules.announced import counts_a_point, lists_what_comes, not_here
from annotator.rules.handover import Told, takes_over
from annotator.rules.lexicon import NUMBER, ORDINAL
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.runformat import tells_of_falls
from annotator.rules.scope import everywhere

_N = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|\d{1,2})"
_ORD = r"(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth|last|final)"
_LEAD = (
    r"^(?:so|now|and|then|okay|ok|right|alright|well|oh|but|this is|we begin|we start with|next is|here is|here's|,|\s|that "
    r"brings us to|on to|moving on to|up next|(?:we|you)(?:'ve| have|'re| are)?(?: now)? (?:reached|come to|arrived at|got to|at)|"
    r"it comes|we go to|we have|go to|to|let's go to|finally|next along|next up|lastly|the)*"
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


@dataclass(frozen=True, slots=True)
class Cues:
    """What one sentence offers for a boundary before it; each 0 or a weight."""

    ordinal: float
    name: float
    late: float
    """A name that is told where a station ends: "and that is your hose roll"."""
    start: float
    turn: float
    pause: float
    finish: float
    closing: float
    number: int | None
    start_key: str | None
    named: int
    """How many listed names are heard for the first time."""
    over: float
    """How surely a station takes over here from the one before (handover.py)."""
    life: float
    """What an athlete does in it: 1 where one starts, ends or arrives, less where something is only used."""


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


_STRONG_STARTS = frozenset(
    {
        "start on x",
        "start is x",
        "x is your start",
        "start position, x",
        "by x, because that is where it begins",
        "x is where you start",
        "off you go from x",
    }
)
AFTER = 4  # lines after a finish in which the next station begins
AGO = 14  # lines in which a finish is still known by its colour
ENDS = ("finish", "arrive", "next-start")


@dataclass(slots=True)
class _Past:
    """What was said before a line, as far as it tells where the next station begins."""

    seen: set[str] = field(default_factory=set)
    """Listed names that were given."""
    ended: list[tuple[int, str]] = field(default_factory=list)
    """Things that a station may have ended on, with their colours, and the line."""
    finish: int = -99
    number: int = 0
    point: int = 0
    """The rule counted last ("law number two")."""
    told: Told = field(default_factory=Told)

    def take(self, i: int, line: Line) -> None:
        """Remember line `i`."""
        for act in line.acts:
            if act.kind in ENDS and act.mention is not None:
                self.ended.append((i, _coloured(line.mentions[act.mention])))
                if act.kind == "finish" or act.weight >= 0.6:
                    self.finish = i
        self.ended = [one for one in self.ended if i - one[0] <= AGO]


def find_cues(lines: Sequence[Line]) -> tuple[Cues, ...]:
    """The boundary cues of every line."""
    cues: list[Cues] = []
    past = _Past()
    of_all = everywhere(lines)
    for i, line in enumerate(lines):
        ordinal, number = _number_said(line, past.number)
        if (point := counts_a_point(line, past.point)) is not None:
            ordinal, number, past.point = 0.0, None, point
        known = len(past.seen)
        name, late = _names(line, past.seen)
        start, key = _starts(line, past)
        over, thing = takes_over(line, past.told)
        if listed := lists_what_comes(line):
            ordinal, number, start, key, over = 0.0, None, 0.0, None, 0.0
        past.number = max(past.number, number or 0)
        if elsewhere := not_here(line):
            ordinal, name, number = 0.3 * ordinal, 0.3 * name, None
        gap = line.start_s - lines[i - 1].end_s if i else 0.0
        cues.append(
            Cues(
                ordinal=ordinal,
                name=name,
                late=late,
                start=start,
                turn=0.5 if _TURN.search(line.plain) else 0.2 if re.match(r"(?:and then|so|then|now)\b", line.plain) else 0.0,
                pause=0.3 if 0.6 < gap < 4.0 else 0.0,
                finish=0.8 if 0 < i - past.finish <= AFTER else 0.0,
                closing=1.0 if _CLOSING.search(line.plain) else 0.0,
                number=number,
                start_key=key or (_coloured(thing) if over and thing is not None else None),
                named=len(past.seen) - known,
                over=over,
                life=0.0 if line.index in of_all or elsewhere or listed else _life(line),
            )
        )
        past.take(i, line)
        if not (line.index in of_all or elsewhere or _OUT_OF_PLACE.search(line.plain) or tells_of_falls(line.plain)):
            past.told.take(line)
    return _closing_once(cues)


def _names(line: Line, seen: set[str]) -> tuple[float, float]:
    """How surely a line names a station that begins, and one that ends with it. `seen` takes up the listed names given."""
    name = late = 0.0
    if not lists_what_comes(line) and not _OUT_OF_PLACE.search(line.plain):
        for naming in line.names:
            if naming.name in seen or naming.score <= 0.5:
                continue
            weight = naming.score * (0.5 + naming.slot)
            if _told_at_the_end(line, naming.heard):
                late = max(late, weight)
            else:
                name = max(name, weight)
            if naming.listed and naming.score >= 0.86 and naming.slot >= 0.3:
                seen.add(naming.name)
    return max(name, 0.9) if UNNAMED.search(line.plain) else name, late


def _starts(line: Line, past: _Past) -> tuple[float, str | None]:
    """How surely a line tells where a station starts, and on what."""
    known = {thing for _, thing in past.ended}
    best: tuple[float, str | None] = (0.0, None)
    for act in line.acts:
        if act.kind == "start" and act.mention is not None:
            mention = line.mentions[act.mention]
            again = _coloured(mention) in known or (not mention.colours and mention.head in {thing.split()[-1] for thing in known})
            weight = (1.3 if act.rule in _STRONG_STARTS else 0.25) + (0.9 if again else 0.0)
            best = max(best, (weight, _coloured(mention)), key=lambda told: told[0])
    if not best[0] and line.mentions and (this := _coloured(line.mentions[0])) in known:
        if _STANDS.search(line.plain):
            best = (1.3, this)
        elif (
            line.mentions[0].colours
            and line.mentions[0].first <= 3
            and not _WHO_DOES.match(line.plain)
            and not any(act.kind in (*ENDS, "past") for act in line.acts)
        ):
            best = (0.9, this)
    return best


_WHO_DOES = re.compile(r"(?:and |so |but )*(?:if|when|who|whoever|anybody|anyone)\b")


def _coloured(mention: Mention) -> str:
    return f"{' '.join(sorted(mention.colours))} {mention.head}"


_AT_THE_END = re.compile(
    r"\b(?:and|done|over|finished|there|it|,) (?:i call )?(?:that|this|that one|this one)(?:'s| is| was|) (?:it, )?"
    r"(?:the |your |our |called )?$"
)
_DONE_WITH = re.compile(r"^(?: is| are| was)? (?:behind you|finished|done|over|made|cleared)\b|^ is the name\b")
_HAVE_MADE = re.compile(r"\b(?:you(?:'ve| have)|that's you) (?:made|done|cleared|finished|through) (?:the )?$")


def _told_at_the_end(line: Line, heard: str) -> bool:
    """Whether a name is given where its station ends: "and that's your hose roll"."""
    at = line.plain.find(heard.lower())
    if at < 0:
        return False
    before, after = line.plain[:at], line.plain[at + len(heard) :]
    if _DONE_WITH.search(after) or _HAVE_MADE.search(before):
        return True
    return _AT_THE_END.search(before) is not None and any(act.kind in ("finish", "arrive") for act in line.acts)


def _life(line: Line) -> float:
    """How much of a station is in a line: somebody starts or ends, or uses something."""
    if any(act.kind in ("start", "finish", "arrive", "next-start") and act.weight >= 0.6 for act in line.acts):
        return 1.0
    return 0.5 if line.limbs or any(act.kind == "use" for act in line.acts) else 0.0


def _closing_once(cues: Sequence[Cues]) -> tuple[Cues, ...]:
    """Words of closing close nothing where another station is announced after them ("that's all there is to it", of one station)."""
    last = max((i for i, cue in enumerate(cues) if cue.ordinal >= 1.4 or cue.name >= 0.8), default=-1)
    return tuple(replace(cue, closing=0.0) if cue.closing and i < last else cue for i, cue in enumerate(cues))
