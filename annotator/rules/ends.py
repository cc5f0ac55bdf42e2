"""Where a station begins and ends: which of its things are start and finish, by all that was said of them.

In: a station's entries. Out: the start, the finishes, and what clashes. sheet.py puts the rest of the station together.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from annotator.course import Said
from annotator.rules.lexicon import APPARATUS, PLATFORMS, SIGNALS
from annotator.rules.likeness import same_head, set_apart
from annotator.rules.referents import Entry, Evidence, Gathered, in_order

SURE = 0.75


@dataclass(frozen=True, slots=True)
class Clash:
    """Two statements that cannot both hold, in a sentence for people."""

    about: str
    said: tuple[Said, ...]
    surfaces: tuple[str, ...]


_STOPS = re.compile(r"\b(?:clock|your time|time|timer|done|finish\w*|stops?|wallop|and that's you|that's it)\b")


def strike_to_stop(entries: list[Entry]) -> None:
    """A bell that is there at the end, with a word of stopping or being done in the same breath, is struck to finish."""
    for entry in entries:
        if entry.mention.head in SIGNALS and entry.weight("there", "use", "in") and not entry.weight("finish", "out"):
            for e in list(entry.evidence):
                if e.kind in ("there", "use", "in") and _STOPS.search(e.said.text.lower()):
                    entry.evidence.append(Evidence("finish", 0.8, e.line, e.said, "a signal, and you are done"))
                    break


def choose_start(entries: Sequence[Entry]) -> Entry | None:
    sure = [e for e in entries if e.weight("start") >= 0.85 and not e.part and not e.dropped]
    if sure:
        return max(sure, key=lambda e: (e.weight("start"), -e.line, -e.order))
    for entry in entries:
        if entry.part or entry.dropped or entry.weight("start") < 0.4:
            continue
        first = min(e.line for e in entry.evidence if e.kind == "start")
        earlier = [e for e in entries if e is not entry and e.weight("use", "in") >= 0.5 and e.line < first]
        routed = any(e.kind in ("use", "in", "out", "there", "arrive") and e.line < first for e in entry.evidence)
        if not earlier and not routed and (entry.mention.head in PLATFORMS or entry.weight("start") >= 0.7):
            return entry
    return None


def choose_finishes(entries: Sequence[Entry], start: Entry | None, gathered: Gathered) -> tuple[list[Entry], list[Clash]]:
    """The entries on which the station ends, and a clash where two different ones are told without a correction."""
    possible = [e for e in entries if e is not start and not e.part and not e.dropped]
    for entry in possible:
        if entry.mention.head not in SIGNALS:
            entry.evidence[:] = [e for e in entry.evidence if e.rule != "ring x"]
    strong = [e for e in possible if e.weight("finish") >= SURE]
    weak = [e for e in possible if e not in strong and (e.weight("arrive") > 0 or e.overshoot) and not e.weight("out")]
    if not strong or all(e.mention.head in SIGNALS for e in strong):
        last = _last_arrival(weak, possible)
        if last is not None:
            strong = (
                sorted([*strong, last], key=lambda e: (e.line, e.order)) if strong and last.mention.head in PLATFORMS else strong or [last]
            )
    strong = _last_told(strong)
    for entry in strong:
        if not entry.overshoot and gathered.loose_overshoot and entry.mention.head not in SIGNALS:
            entry.overshoot.extend(gathered.loose_overshoot)
            break
    clashes: list[Clash] = []
    platforms = [e for e in strong if e.mention.head not in SIGNALS]
    rivals = [
        w
        for w in weak
        if any(
            same_head(w.mention.head, s.mention.head) and w.mention.colours and s.mention.colours and set_apart(w.mention, s.mention)
            for s in platforms
        )
        and not _used_elsewhere(w)
    ]
    told = in_order([*platforms, *(r for r in rivals if r not in platforms)])
    apart = len(told) > 1 and not all(e.either for e in told)
    if apart and (
        rivals or any(set_apart(a.mention, b.mention) and same_head(a.mention.head, b.mention.head) for a in platforms for b in platforms)
    ):
        kept = max(
            told, key=lambda e: max(x.line for x in e.evidence if x.kind in ("finish", "arrive")) if e.weight("finish", "arrive") else -1
        )
        others = [e for e in told if e is not kept]
        if not any(x.corrected for x in kept.evidence if x.kind in ("finish", "arrive")):
            both = (*(x.said for e in others for x in e.evidence[-1:]), *(x.said for x in kept.evidence[-1:]))
            clashes.append(Clash(f"the finish is called the {others[0].name} and the {kept.name}", both, (others[0].name, kept.name)))
        for other in others:
            other.dropped = True
        strong = [e for e in strong if not e.dropped]
        if kept not in strong:
            strong.append(kept)
    return strong, clashes


def _last_told(strong: list[Entry]) -> list[Entry]:
    """ "you finish on the crate, no, that's gone, you finish on the mat": of two finishes in a sentence that corrects itself the last."""
    kept = list(strong)
    for earlier in strong:
        lines = {e.line for e in earlier.evidence}
        for later in strong:
            told = [e for e in later.evidence if e.kind == "finish" and e.line in lines and e.corrected]
            if later is not earlier and len(lines) == 1 and told and later.order > earlier.order and not (earlier.either or later.either):
                earlier.dropped = True
                kept = [e for e in kept if e is not earlier]
                break
    return kept


def _used_elsewhere(entry: Entry) -> bool:
    """Whether something is done on it beyond the lines in which one comes to it."""
    arrivals = {e.line for e in entry.evidence if e.kind == "arrive"}
    return any(e.kind in ("in", "use", "there") and e.line not in arrivals for e in entry.evidence)


def _last_arrival(weak: Sequence[Entry], possible: Sequence[Entry]) -> Entry | None:
    """The last thing one comes to, if nothing is done on it and nothing new comes after it."""
    usual = [e for e in weak if e.mention.head in PLATFORMS or e.mention.head not in APPARATUS or e.overshoot]
    if not usual:
        return None

    def arrived(entry: Entry) -> int:
        return max((e.line for e in entry.evidence if e.kind == "arrive"), default=entry.line)

    last = max(usual, key=lambda e: (arrived(e), e.order))
    if last.mention.head not in PLATFORMS and last.mention.head not in APPARATUS and last.weight("arrive") < 0.6:
        return None
    after = [
        e for e in possible if e is not last and e.line > arrived(last) and e.weight("use", "in", "there") >= 0.5 and not e.weight("finish")
    ]
    used = any(e.kind == "use" and e.line > arrived(last) for e in last.evidence)
    return None if used or len(after) > 1 else last
