"""Where a station takes over from the one before: one leaves, or stands on, what was told last.

Speakers who announce nothing still begin a station where the one before ended: "off that feed sack", "you are on the bench, so turn round".
The thing is known by when it was told, not by what was said of it: for the first time just before, and last of all. In: a line and what was
spoken of before it. Out: whether it takes over, and how surely.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from annotator.rules.lexicon import BODY
from annotator.rules.likeness import same_head, set_apart
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line

FRONT = 9  # tokens into a line in which it takes up what was told last
LATE = 1  # lines between which a thing was told first and last, for it to be what a station ended on
LONG = 18  # lines after which a thing that is told again is told anew
LEAVES, STANDS = 1.3, 0.6
"""What one who leaves a thing counts for a new station, and one who is on it."""

_SO = r"(?:(?:so|and|now|then|right|okay|well|still|,) ?)*"
_LEFT = re.compile(r"\b(?:from|off|out of|out|after|you(?: 're| are)? (?:leave|leaving))(?: [\w'-]+ (?:of|from))?$")
_SPARED = re.compile(r"^(?:[\w'-]+ )?(?:be|alone|out)\b")
"""What is left alone is not left behind."""
_AGAIN = re.compile(
    r"^(?:'s |, |is )?(?:again|where you(?: \w+)? (?:go|start|begin|leave|set off)|"
    r"you (?:push|swing|jump|step|climb|drop)[\w ]* (?:off|from))\b"
)
_GOES_ON = re.compile(r"^(?:, )?(?:then|up|down|across|along|over|to the)\b")
_NO_WAY = re.compile(r"\b(?:not|n't|never|no|nobody|if|can|cannot|could|may|might|must|should|keep|stay off|whoever)\b")
_IS = r"(?: (?:'re|'ve|'s|are|have|has|is|now|still|already|just|will|be|'ll|up|there|back|down|come|came|get|got))*"
_ON = (
    r"(?:stands?|standing|sits?|sitting|seated|lying|laying|kneeling|hanging|perched|stay|waiting|landed|arrived?|reached?|"
    r"on|in|inside|at)\b"
)
_STANDS = re.compile(rf"\b(?:you|we|one|he|she|who)\b{_IS} {_ON}|^{_SO}(?:stand|sit|kneel|seat|ly|lay|perch|wait|land)\w*\b|^{_SO}still\b")
_AT = re.compile(rf"^{_SO}(?:on|in|inside|at)\b")
_BUSY = re.compile(r"\b(?:not|n't|never|no|can|may|must|should|allowed|out|everything|anywhere)\b|\btill|until\b")
"""What is said of a thing that one is still busy with."""
_DESCRIBED = re.compile(r"\b(?:hang|hangs|there|goes|is|are|go)\b")


@dataclass(slots=True)
class Told:
    """The things spoken of so far, with the lines in which each was told first and last; only lines that speak of things count."""

    things: list[tuple[Mention, int, int]] = field(default_factory=list)
    count: int = 0

    def take(self, line: Line) -> None:
        """Remember what a line speaks of."""
        said = [m for m in line.mentions if m.head not in BODY]
        if not said:
            return
        self.count += 1
        for mention in said:
            known = self.find(mention)
            if known is not None:
                self.things.remove(known)
            first = known[1] if known is not None and self.count - known[2] <= LONG else self.count
            self.things.append((known[0] if known is not None and not mention.mods else mention, first, self.count))
        while self.count - self.things[0][2] > LONG:  # they stand in the order in which they were told last
            self.things.pop(0)

    def find(self, mention: Mention) -> tuple[Mention, int, int] | None:
        """A thing told before that a phrase may name."""
        return next((one for one in reversed(self.things) if same_head(one[0].head, mention.head) and not set_apart(one[0], mention)), None)


def takes_over(line: Line, told: Told) -> tuple[float, Mention | None]:
    """How surely a line begins where a station before it ended, and on what; `told` is what was spoken of before it."""
    tokens = line.skeleton.sentence.tokens
    for mention in line.mentions:
        if mention.first > FRONT:
            break
        known = told.find(mention)
        if known is None or mention.is_part or mention.head in BODY or known[2] != told.count or known[2] - known[1] > LATE:
            continue
        before = " ".join(token.low for token in tokens[: mention.first])
        after = " ".join(token.low for token in tokens[mention.last + 1 :])
        same = "same" in (token.low for token in tokens[mention.first : mention.last])
        return LEAVES if same and not before.strip("andso, ") else _how(before, after), known[0]
    return 0.0, None


def _how(before: str, after: str) -> float:
    """How surely what stands before and after the thing says that one leaves it, or is on it."""
    clause = re.split(r" ?,| and ", after)[0]
    if _NO_WAY.search(before):
        return 0.0
    if _LEFT.search(before) and not _SPARED.search(after):
        return LEAVES
    if before.count(" ") <= 2 and _AGAIN.search(after):
        return LEAVES
    if _BUSY.search(clause):
        return 0.0
    if _STANDS.search(before) or (_AT.search(before) and not _DESCRIBED.search(clause)):
        return STANDS
    return STANDS if not before and _GOES_ON.search(after) else 0.0
