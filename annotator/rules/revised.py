"""What patterns, word classes and the language model together make of each thing of a station.

In: a station's lines with the acts that patterns found. Out: the lines with acts taken away and added where the three, weighed together,
come to something else than the patterns alone. Each added act is named `weighed`. What patterns make of a thing is read off the sheet they
would give by themselves and counts as it proved right on speakers that taught none of the three (model "told" in weights.json, fitted by
scripts/fit_weighed.py); so does how surely it was told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from annotator.rules.acts import Act
from annotator.rules.components import is_component
from annotator.rules.context import Context, context
from annotator.rules.gather import gather
from annotator.rules.groups import class_key
from annotator.rules.likeness import same_thing
from annotator.rules.linear import Weights, fitted, softmax, together
from annotator.rules.phrases import Mention
from annotator.rules.pieces import ActKind
from annotator.rules.reading import Line
from annotator.rules.sheet import UNSURE, build
from annotator.rules.weighed import CLASSES, features_of, things_of

CERTAIN = 0.9
"""Share below which a start or finish that no pattern tells is drafted and still asked for."""
KEPT = 0.4
"""Share from which a thing is taken for something although "none" is likelier: a line too many is struck out faster than one is typed."""
LEAST = 0.45
"""Share from which a thing becomes something else than patterns make of it."""
NOTHING = 0.7
"""Share of "none" from which what patterns found of a thing is let go."""
LEAST_PART = 0.7
"""Share from which a part that patterns leave alone is ruled: "the top of the wall" is mostly a place."""
SURE = 0.8  # weight of a pattern that is sure
_AS: Mapping[str, tuple[ActKind, float]] = {"start": ("start", 0.95), "finish": ("finish", 0.95), "in": ("in", 0.9), "out": ("out", 0.9)}
_NONE: frozenset[ActKind] = frozenset({"in", "out", "use", "there", "past", "start", "finish", "arrive"})
_AGAINST: Mapping[str, frozenset[ActKind]] = {
    "start": frozenset({"out", "finish", "arrive"}),
    "finish": frozenset({"out", "start"}),
    "in": frozenset({"out", "start", "finish", "arrive"}),
    "out": frozenset({"in", "use", "there", "start", "finish", "arrive"}),
    "none": _NONE,
}
"""The acts that cannot stand beside what a thing came to."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """A thing of a station with all its phrases (line, index), what patterns make of it, and how likely each class is."""

    places: tuple[tuple[int, int], ...]
    mention: Mention
    told: str
    shares: Mapping[str, float]
    best: tuple[int, int]
    """The phrase that speaks most clearly for what it came to."""


def told_features(told: str, acts: Sequence[Act], *, part: bool = False) -> list[str]:
    """What patterns make of a thing (or a part of one), as features: the class they come to, and how surely."""
    how = "sure" if any(act.weight >= SURE for act in acts) else "weak" if acts else "silent"
    return ["a part", f"part told {told}", f"part told {told}, {how}"] if part else ["always", f"told {told}", f"told {told}, {how}"]


def weigh(
    lines: Sequence[Line], before: Sequence[Mention], names: Sequence[str], read: Context, told_by: Weights | None = None
) -> list[Weighed]:
    """Each thing, or part told by its whole ("the rim of the tyre"), that may be a surface, with its shares.

    `told_by`: other weights of what patterns make of it.
    """
    words, told_weights = fitted("things"), told_by or fitted("told")
    placed = build(1, None, (0.0, 0.0), gather(lines, before, names=names), None, ()).placed
    own = {name.lower() for name in names}
    out: list[Weighed] = []
    for thing in things_of(lines):
        at, index, _ = thing[0]
        mention = lines[at].mentions[index]
        if mention.is_part or mention.name in own or mention.head == "one":
            continue
        told = next((what for other, part, what in placed if part == mention.part and same_thing(mention, other)), "none")
        if told == "none" and not mention.part and any(part and same_thing(mention, other) for other, part, _ in placed):
            continue  # what is ruled of its parts stands for it
        acts = [act for at, index, _ in thing for act in lines[at].acts if act.mention == index]
        said = [words.sums(features_of(lines, at, index, seen, before)) for at, index, seen in thing]
        leanings = {(at, index): leaning for at, index, _ in thing if (leaning := read.of(at, index, "kind"))}
        sums = together(_mean(said), _mean(list(leanings.values())) if leanings else None)
        sums = [a + b for a, b in zip(sums, told_weights.sums(told_features(told, acts, part=bool(mention.part))), strict=True)]
        shares = dict(zip(CLASSES, softmax(sums), strict=True))
        likeliest = CLASSES.index(max(CLASSES[1:], key=lambda c: shares[c]))
        best = max(leanings, key=lambda place: softmax(leanings[place])[likeliest]) if leanings else (at, index)
        out.append(Weighed(tuple((at, index) for at, index, _ in thing), mention, told, shares, best))
    return out


def _mean(rows: Sequence[Sequence[float]]) -> list[float]:
    return [sum(column) / len(rows) for column in zip(*rows, strict=True)]


@dataclass(frozen=True, slots=True)
class Revised:
    """A station's lines with the acts that all together come to, and how likely each thing is what."""

    lines: tuple[Line, ...]
    likely: tuple[tuple[Mention, Mapping[str, float]], ...]
    passing: tuple[Mention, ...] = ()
    """Things that came to nothing: "it" does not mean them, and limbs told beside them are told of something else."""


def revised(
    lines: Sequence[Line], before: Sequence[Mention], names: Sequence[str] = (), elsewhere: frozenset[int] = frozenset()
) -> Revised:
    """The lines with the acts that patterns and models together come to.

    Parameters
    ----------
    lines
        A station's lines in order.
    before
        What the station before ended on.
    names
        The station's own name as given and as heard; no thing.
    elsewhere
        Indices of lines that were told in another station's midst. The language model takes what stands beside them for what they speak
        of, so they never make nothing of what patterns tell.
    """
    things = weigh(lines, before, names, context(lines))
    passing: list[Mention] = []
    first = max(things, key=lambda thing: thing.shares["start"], default=None)
    added: list[tuple[int, Act]] = []
    gone: dict[tuple[int, int], frozenset[ActKind]] = {}
    for thing in things:
        kind = _comes_to(thing, may_start=thing is first)
        if kind == "none" and all(lines[at].index in elsewhere for at, _ in thing.places):
            kind = thing.told
        if thing.shares["none"] >= NOTHING and kind == "none" and not _for_a_class(lines, thing):
            passing.append(thing.mention)
        if kind == thing.told:
            continue
        gone |= dict.fromkeys(thing.places, _AGAINST[kind])
        if kind == "none":
            continue
        at, index = thing.best
        act, weight = _AS[kind]
        rule = f"weighed {kind}{'' if thing.shares[kind] >= CERTAIN else UNSURE}"
        added.append((at, Act(act, index, f"@{index}", lines[at].skeleton.items.index(f"@{index}"), weight, rule)))
        if kind == "start":
            for other in things:
                if other.told == "start":
                    gone |= {place: gone.get(place, frozenset()) | {"start"} for place in other.places}
    out = tuple(_with(line, at, gone, [act for there, act in added if there == at]) for at, line in enumerate(lines))
    return Revised(out, tuple((thing.mention, thing.shares) for thing in things), tuple(passing))


def _for_a_class(lines: Sequence[Line], thing: Weighed) -> bool:
    """Whether a class is named where a thing is spoken of, or in the next sentence: what it is for whom is not weighed."""
    return any(class_key(line.plain) for at, _ in thing.places for line in lines[at : at + 2])


def _comes_to(thing: Weighed, *, may_start: bool) -> str:
    """The class of a thing, in which it stays what patterns tell unless another one is clearly likelier."""
    shares = {kind: share for kind, share in thing.shares.items() if kind != "start" or may_start}
    kind = max(shares, key=lambda c: shares[c])
    if kind == "none":
        something = max((c for c in shares if c != "none"), key=lambda c: shares[c])
        if shares[something] >= KEPT:
            kind = something
    if kind == "none":
        return kind if shares[kind] >= NOTHING else thing.told
    if thing.told == "none" and shares[kind] < LEAST_PART and _may_be_a_place(thing.mention.part):
        return thing.told
    return kind if shares[kind] >= LEAST and shares[kind] > shares.get(thing.told, 0.0) else thing.told


def _may_be_a_place(part: str | None) -> bool:
    """Whether a part may only tell where something is: "the top of the wall", and not "the seats of the chairs"."""
    return part is not None and not is_component(part.split()[-1].rstrip("s"))


def _with(line: Line, at: int, gone: Mapping[tuple[int, int], frozenset[ActKind]], more: Sequence[Act]) -> Line:
    kept = [act for act in line.acts if act.mention is None or act.kind not in gone.get((at, act.mention), frozenset())]
    if not more and len(kept) == len(line.acts):
        return line
    return replace(line, acts=tuple(sorted((*kept, *more), key=lambda act: (act.item, act.kind))))
