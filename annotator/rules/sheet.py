"""Decide what a station's gathered evidence comes to: surfaces with role, ruling, part, limbs and overshoot, and what contradicts.

In: a gathered register. Out: a `SheetStation`, and the contradictions met on the way.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from annotator.course import Demonstration, Overshoot, Role, Ruling, Said, SheetStation, SheetSurface
from annotator.rules.confidence import confidence
from annotator.rules.context import context
from annotator.rules.ends import SURE, Clash, choose_finishes, choose_start, strike_to_stop
from annotator.rules.gather import union
from annotator.rules.landing import weighed_overshoot
from annotator.rules.lexicon import APPARATUS, SIGNALS
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.limbed import Thing, weighed_limbs
from annotator.rules.limbs import LimbSaid
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Gathered, in_order

UNSURE = ", unsure"
"""How the name of a rule ends by which the models told a start or finish and were not sure of it."""
DOUBTED = 0.7
"""Share below which a start that patterns tell is still asked for: of such starts half were right, of such finishes nearly all."""
ENOUGH = 0.5  # weight of evidence for a usual piece of equipment to be listed
ENOUGH_UNKNOWN = 0.8  # for a noun that we do not know as one


@dataclass(frozen=True, slots=True)
class Built:
    """A station's sheet, what clashes in it, and the phrases it ends on (for the station after it)."""

    station: SheetStation
    clashes: tuple[Clash, ...]
    finishes: tuple[Mention, ...]
    starts: tuple[Mention, ...]
    next_start_said: bool
    suspected: frozenset[Role] = frozenset()
    """Roles that no pattern tells and the model is not sure of: drafted, and still asked for."""
    placed: tuple[tuple[Mention, str | None, str], ...] = ()
    """What each thing, or part of one, came to: start, finish, in or out."""


def build(
    number: int,
    name: str | None,
    span: tuple[float, float],
    gathered: Gathered,
    demonstration: Demonstration | None,
    said: tuple[Said, ...],
    likely: Sequence[tuple[Mention, Mapping[str, float]]] = (),
) -> Built:
    """The sheet of one station. `likely`: how likely each thing is start, finish, in and out (revised.py), for the confidence."""
    entries = [e for e in in_order(gathered.register.entries) if not e.dropped]
    _drop_groups(entries)
    _only_parts(entries)
    _drop_redundant(entries)
    strike_to_stop(entries)
    start = choose_start(entries)
    finishes, clashes = choose_finishes(entries, start, gathered)
    _tie_to_the_only_one(entries, start, finishes, gathered)
    _tie_weighed(entries, start, finishes, gathered)
    _say_what_is_past(finishes, gathered.lines)
    surfaces: list[SheetSurface] = []
    placed: list[tuple[Mention, str | None, str]] = []
    contact_said = [x for x, _ in gathered.loose_limbs]
    stated = bool(contact_said)
    at_ends: list[LimbSaid] = []
    for entry in entries:
        if entry.dropped:
            continue
        if entry is not start and entry not in finishes and _only_passing(entry, finishes):
            continue
        role: Role = "start" if entry is start else "finish" if entry in finishes else "route"
        ruling, clash, why = _rule(entry)
        if clash:
            clashes.append(clash)
        if role == "route":
            if ruling is None:
                continue
            enough = ENOUGH if entry.mention.head in APPARATUS or entry.part else ENOUGH_UNKNOWN
            arrived = entry.weight("arrive") >= ENOUGH and entry.mention.head in APPARATUS
            if entry.weight("in", "out", "use", "there") < enough and not (entry.divisions or entry.limbs or arrived):
                continue
        else:
            ruling = "in"
        overshoot = None
        if role == "finish":
            overshoot, clash = _overshoot(entry)
            if clash:
                clashes.append(clash)
        limbs = union(entry.limbs) if ruling == "in" or role != "route" else None
        if role == "route" and ruling == "in":
            contact_said.extend(
                limb for limb in entry.limbs if limb.how not in ("weighed", "guessed") or (limb.how == "weighed" and not stated)
            )
        if role != "route":
            at_ends.extend(limb for limb in entry.limbs if limb.how in ("named", "only"))
        if ruling == "out" and role == "route" and _used_all_the_same(entry):
            contact_said.extend(limb for limb in entry.limbs if limb.how in ("named", "only"))
        placed.append((entry.mention, entry.part, ruling if role == "route" else role))
        evidence = [e.said for e in why] or [e.said for e in entry.evidence]
        evidence += [o[2] for o in entry.overshoot] if role == "finish" else []
        surfaces.append(
            SheetSurface(
                name=entry.name,
                part=entry.part,
                role=role,
                ruling=entry.main_ruling or ruling,
                contact=limbs,
                overshoot=overshoot,
                divisions=dict(entry.divisions) or None,
                optional=entry.optional or (entry.either and role != "finish"),
                said=tuple(dict.fromkeys(evidence))[:4],
                confidence=confidence(
                    entry, role, entry.main_ruling or ruling, _share_of(entry, ruling if role == "route" else role, likely)
                ),
            )
        )
    contact = union([*contact_said, *at_ends]) if contact_said else None  # "two feet on the mat", alone, tells nothing of the station
    limb_words = tuple(evidence for _, evidence in gathered.loose_limbs)
    station = SheetStation(
        number=number, name=name, start=span[0], end=max(span), contact=contact, surfaces=tuple(surfaces), demonstration=demonstration,
        said=tuple(dict.fromkeys((*said, *limb_words)))[:6],
    )  # fmt: skip
    next_start = any(e.weight("next-start") for e in entries)
    ends: tuple[tuple[Role, list[Entry]], ...] = (("start", [start] if start else []), ("finish", finishes))
    suspected = frozenset(role for role, told in ends if told and all(_only_suspected(entry, role) for entry in told))
    if start and (_share_of(start, "start", likely) or 1.0) < DOUBTED:
        suspected |= {"start"}
    starts = (start.mention,) if start else ()
    return Built(station, tuple(clashes), tuple(e.mention for e in finishes), starts, next_start, suspected, tuple(placed))


def _used_all_the_same(entry: Entry) -> bool:
    """Whether a thing that came to be out was put in play as well and nobody took it back: only one of them is out ("the first board")."""
    told = [e for e in entry.evidence if e.kind in ("in", "out") and e.weight >= SURE]
    return any(e.kind == "in" for e in told) and not any(e.corrected for e in told)


def _share_of(entry: Entry, kind: str, likely: Sequence[tuple[Mention, Mapping[str, float]]]) -> float | None:
    """How likely a thing, or a part of one, is of a kind; None where that was not weighed."""
    return next((shares[kind] for mention, shares in likely if mention.part == entry.part and same_thing(mention, entry.mention)), None)


def _only_suspected(entry: Entry, role: Role) -> bool:
    """Whether a start or finish rests on what the model took it for and was not sure of."""
    telling = [e for e in entry.evidence if e.kind == role]
    return bool(telling) and all(e.rule.endswith(UNSURE) for e in telling)


def _tie_to_the_only_one(entries: Sequence[Entry], start: Entry | None, finishes: Sequence[Entry], gathered: Gathered) -> None:
    """Where one thing is all there is to be used between start and finish, limbs told of the station are told of it."""
    between = [
        e
        for e in entries
        if e is not start
        and e not in finishes
        and not e.dropped
        and not _only_passing(e, finishes)
        and e.weight("in", "use", "there") >= ENOUGH
        and _rule(e)[0] == "in"
    ]
    if len(between) == 1 and not between[0].limbs and not between[0].divisions:
        between[0].limbs.extend(limb for limb, _ in gathered.loose_limbs)


LEAST_LIMB, LEAST_FIRST_LIMB, LEAST_COUNTED = 0.4, 0.8, 0.8
"""Shares: from which a limb that no pattern ties to a thing is tied to it; the same where no pattern found any limbs at the station, so
that what nobody said stays a gap; and from which it counts for the station too."""


def _tie_weighed(entries: Sequence[Entry], start: Entry | None, finishes: Sequence[Entry], gathered: Gathered) -> None:
    """Limbs that no pattern ties to anything, where what stands around a thing speaks of them."""
    loose = union(x for x, _ in gathered.loose_limbs)
    between = [e for e in entries if not e.dropped and e is not start and e not in finishes and _rule(e)[0] == "in"]
    least = LEAST_LIMB if loose or any(e.limbs for e in entries) else LEAST_FIRST_LIMB
    for entry in entries:
        if entry.dropped or entry.limbs or (_rule(entry)[0] != "in" and entry is not start and entry not in finishes):
            continue
        role = "start" if entry is start else "finish" if entry in finishes else "route"
        shares = weighed_limbs(gathered.lines, Thing(entry.mention, entry.part, None, loose, role, between == [entry]))
        told = tuple(limb for limb, share in shares.items() if share >= least)
        if told:
            counted = min(shares[limb] for limb in told) >= LEAST_COUNTED
            entry.limbs.append(LimbSaid(told, "weighed" if counted else "guessed", None, 0))


def _say_what_is_past(finishes: Sequence[Entry], lines: Sequence[Line]) -> None:
    """Whether one may go past a finish of which no pattern says so."""
    for entry in finishes:
        if entry.overshoot or entry.mention.head in SIGNALS:
            continue
        first = min((e.line for e in entry.evidence if e.kind in ("finish", "arrive")), default=entry.line)
        at = next((k for k, line in enumerate(lines) if line.index == first), None)
        if at is None:
            continue
        index = next((i for i, mention in enumerate(lines[at].mentions) if same_thing(mention, entry.mention)), None)
        items = lines[at].skeleton.items
        leaning = context(lines).of(at, index, "past") if index is not None else None
        told = weighed_overshoot(lines[at:], items.index(f"@{index}") if f"@{index}" in items else 0, leaning)
        if told is not None:
            entry.overshoot.append((told, first, lines[at].said, False))


def _only_passing(entry: Entry, finishes: Sequence[Entry]) -> bool:
    """Said to be there, after the finish was told, and nothing more: an aside."""
    if not finishes or entry.limbs or entry.weight("in", "out", "use", "arrive"):
        return False
    return (
        entry.line > max(e.line for f in finishes for e in f.evidence if e.kind in ("finish", "arrive", "next-start"))
        if any(e.kind in ("finish", "arrive", "next-start") for f in finishes for e in f.evidence)
        else False
    )


def _drop_groups(entries: list[Entry]) -> None:
    """ "two drums, a fat drum and a thin drum": the members stand, the group that introduced them goes."""
    for group in entries:
        told = group.weight("in", "out") >= 0.8 or group.limbs
        if (
            not group.mention.plural
            or group.part
            or group.mention.mods
            or (told and group.mention.count is None and group.mention.determiner not in ("both", "all"))
        ):
            continue
        members = [
            e
            for e in entries
            if e is not group
            and not e.part
            and e.mention.mods
            and not e.mention.plural
            and same_head(e.mention.head, group.mention.head)
            and e.line - group.line in (0, 1)
        ]
        if len(members) >= 2 and group.mention.count in (None, len(members)):
            for member in members:
                member.evidence.extend(group.evidence)
                member.limbs.extend(group.limbs)
            group.dropped = True


def _only_parts(entries: list[Entry]) -> None:
    """ "the stumps, tops only": where a part is in and the whole was only spoken of, the part stands for it."""
    for part in entries:
        if not part.part or not any(e.kind in ("in", "use") for e in part.evidence) or part.weight("out"):
            continue
        for whole in entries:
            if (
                whole.part is None
                and whole.mention.mods == part.mention.mods
                and same_thing(whole.mention, part.mention)
                and not whole.dropped
            ):
                told = [e for e in whole.evidence if e.kind in ("in", "out") and e.weight >= SURE]
                only = [e for e in part.evidence if e.rule.split(",")[0] in ("only x", "x only")]
                narrowed = bool(only) and all(e.kind == "in" and e.line <= only[-1].line for e in told)  # "it is in, but only the"
                " sides of it"
                if (told and not narrowed) or whole.weight("start", "finish") >= SURE or whole.divisions:
                    continue
                if any(e.rule.startswith("hands on") for e in whole.evidence if e.kind == "in"):
                    continue
                part.limbs.extend(whole.limbs)
                part.line, part.order = min(part.line, whole.line), min(part.order, whole.order)
                if len(whole.name) > len(part.name):
                    part.mention = whole.mention
                whole.dropped = True


def _drop_redundant(entries: list[Entry]) -> None:
    """ "the board is in, both sides of it": a part adds nothing where the whole is in, unless limbs differ."""
    for part in entries:
        if part.part and not part.weight("out") and not part.limbs and not part.divisions:
            for whole in entries:
                firm = [e for e in whole.evidence if e.kind == "in" and e.weight >= SURE and not e.rule.startswith("hands on")]
                if whole.part is None and firm and whole.mention.mods == part.mention.mods and same_thing(whole.mention, part.mention):
                    part.dropped = True


_EXCEPTED = re.compile(r"\b(?:exceptions?|except|excepting)\b")
"""Some of a thing that are ruled otherwise: "the exception is the first board"."""


def _rule(entry: Entry) -> tuple[Ruling | None, Clash | None, list[Evidence]]:
    """The ruling: what was said last and strongly; a clash where in and out were both said and nothing corrects the first."""
    if entry.main_ruling is not None:
        return entry.main_ruling, None, [e for e in entry.evidence if e.rule == "ruling for a class"]
    firm = [e for e in entry.evidence if e.kind in ("in", "out") and e.weight >= 0.6]
    if firm:
        last = firm[-1]
        outs = [e for e in firm if e.kind == "out"]
        ins = [e for e in firm if e.kind == "in"]
        clash = None
        if outs and ins and not any(e.corrected for e in firm[1:]):
            other = ins[-1] if last.kind == "out" else outs[-1]
            if other.line != last.line and min(other.weight, last.weight) >= 0.8 and not _EXCEPTED.search(last.said.text.lower()):
                what = f"{entry.part} of the {entry.name}" if entry.part else entry.name
                a, b = ("in play", "out of play") if last.kind == "out" else ("out of play", "in play")
                are = "are" if what == entry.name and entry.mention.plural else "is"
                clash = Clash(f"the {what} {are} said to be {a}, and later {b}", (other.said, last.said), (entry.name,))
        same = [e for e in firm if e.kind == last.kind]
        return ("in" if last.kind == "in" else "out"), clash, same
    soft = [e for e in entry.evidence if e.kind in ("in", "use", "there", "arrive", "start", "finish")]
    if soft or entry.limbs:
        return "in", None, soft
    if any(e.kind == "out" for e in entry.evidence):
        return "out", None, []
    return None, None, []


def _overshoot(entry: Entry) -> tuple[Overshoot | None, Clash | None]:
    if not entry.overshoot:
        return None, None
    last = entry.overshoot[-1]
    other = next((o for o in entry.overshoot if o[0] != last[0]), None)
    if other is None or last[3]:
        return last[0], None
    return last[0], Clash(f"going past the {entry.name} is said to be {other[0]}, and later {last[0]}", (other[2], last[2]), (entry.name,))
