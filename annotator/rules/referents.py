"""The register of things: what has been named at a station, so that "it", "that one" or "the same platform" finds its thing.

One thing, one entry. Two phrases name the same thing when their heads agree and no colour, size or other kept word sets them apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from annotator.course import Overshoot, Ruling, Said
from annotator.rules.lexicon import ORDINAL
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.limbs import LimbSaid
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing said about an entry."""

    kind: str
    weight: float
    line: int
    said: Said
    rule: str
    corrected: bool = False
    """The sentence itself corrects an earlier one."""


@dataclass(frozen=True, slots=True)
class ForWhom:
    """What a thing is for one class, or for everybody else (classes.REST)."""

    who: str
    ruling: Ruling
    vague: bool
    """Named by a word that may mean the same people as another class ("the little ones")."""
    alone: bool
    """It is for nobody else."""
    also: bool
    line: int


@dataclass(slots=True)
class Entry:
    """A thing (or a part of one) while a station is being put together. Only the sheet builder changes it."""

    mention: Mention
    part: str | None
    order: int
    line: int
    evidence: list[Evidence] = field(default_factory=list)
    limbs: list[LimbSaid] = field(default_factory=list)
    overshoot: list[tuple[Overshoot, int, Said, bool]] = field(default_factory=list)
    for_whom: list[ForWhom] = field(default_factory=list)
    divisions: dict[str, Ruling] = field(default_factory=dict)
    main_ruling: Ruling | None = None
    optional: bool = False
    dropped: bool = False
    either: bool = False

    @property
    def name(self) -> str:
        return self.mention.name

    def weight(self, *kinds: str) -> float:
        return max((e.weight for e in self.evidence if e.kind in kinds), default=0.0)


class Register:
    """The entries of one station in the order in which they were named."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.focus: Entry | None = None
        self.topic: Entry | None = None
        """What the last sentence that named anything at its front was about."""

    def entry(self, mention: Mention, line: int, part: str | None = None, *, apart: bool = False, which: bool = False) -> Entry:
        """The entry that a phrase names, a new one where none fits; it becomes the focus.

        `apart`: the phrase is ruled out of play, so that "the black handles" after "the handles" are some of them and not all. `which`:
        something is said of it and of no other one, so that "the third rung" is that rung and not the rungs.
        """
        part = mention.part if part is None else part
        if which and part is None:
            mention = by_number(mention)
        found = self._find(mention, part)
        if found is not None and part is None and found.part is None and self._some_of(mention, found, apart):
            mention = mention if mention.mods else by_number(mention)
            found = None
        if found is None:
            found = Entry(mention, part, len(self.entries), line)
            self.entries.append(found)
        elif self._says_more(mention, found.mention):
            found.mention = replace(mention, part=found.mention.part)
        self.focus = found
        return found

    def number(self) -> None:
        """Things of one kind by their numbers where one of them stands under its own: "hold the second rung, not the third rung"."""
        told = [e.mention for e in self.entries if not e.part and e.mention.mods & ORDINAL.keys()]
        for entry in self.entries:
            mention = entry.mention
            if not entry.part and mention.ordinal and any(same_head(mention.head, other.head) and not other.plural for other in told):
                entry.mention = by_number(mention)

    def part_of_focus(self, part: Mention, line: int) -> Entry | None:
        """A part ("the tops") of the thing in focus, as an entry of its own."""
        whole = self.focus
        if whole is None:
            return None
        return self.entry(replace(whole.mention, part=None), line, part=part.name)

    def whole(self, mention: Mention) -> Entry | None:
        """The entry of the whole thing that a phrase names, if there is one."""
        return self._find(mention, None)

    def _find(self, mention: Mention, part: str | None) -> Entry | None:
        fits = [e for e in self.entries if (e.part or None) == (part or None) and same_thing(mention, e.mention)]
        if not fits and part:
            fits = [
                e
                for e in self.entries
                if e.part
                and same_head(e.part.split()[-1], part.split()[-1])
                and same_thing(mention, e.mention)
                and not _other_part(part, e.part)
            ]
        if part and len(part.split()) > 1:
            # "the edge of the table ... only the front edge and the left edge": the first told apart is that edge, the next another
            for vague in [e for e in fits if e.part and len(e.part.split()) == 1 and e.part != part]:
                if vague.weight("in", "out", "use") < 0.9:
                    vague.part = part
                else:
                    fits.remove(vague)
        if not part:
            fits = [e for e in fits if self._may_be_it(mention, e)]
        exact = [e for e in fits if e.mention.mods == mention.mods]
        if exact:
            return exact[-1]
        if mention.mods:
            # "a small spool" beside "the spools" is another thing
            fits = [e for e in fits if not (mention.mods - e.mention.mods and e.mention.plural and not mention.plural)]
        if not fits and len(mention.words) > 1 and not part:
            fits = [e for e in self.entries if not e.part and e.mention.words[: len(mention.words)] == mention.words]
        if not fits:
            return None
        return max(fits, key=lambda e: (len(e.mention.mods & mention.mods), e.order))

    @staticmethod
    def _may_be_it(mention: Mention, entry: Entry) -> bool:
        """Whether a number, where one is told, lets a phrase name an entry: the rungs are not the third rung."""
        told = entry.mention.mods & ORDINAL.keys()
        if told:
            return mention.ordinal in told if mention.ordinal else not mention.plural
        numbered = mention.mods & ORDINAL.keys()
        return not numbered or entry.mention.ordinal == mention.ordinal or not any(e.kind in ("start", "finish") for e in entry.evidence)

    def _some_of(self, mention: Mention, found: Entry, apart: bool) -> bool:
        """Whether a phrase means some of the things of an entry and not all: "the black handles are out" after "take the handles"."""
        if apart and found.weight("in", "use") and not (mention.ordinal and found.mention.ordinal == mention.ordinal):
            told_apart = mention.mods - found.mention.mods and not found.mention.mods
            return bool(told_apart) or bool(mention.ordinal and found.mention.plural and not mention.plural)
        if not mention.colours or found.mention.colours:
            return False
        return any(
            same_head(e.mention.head, mention.head) and e.mention.colours and e.mention.colours != mention.colours for e in self.entries
        )

    @staticmethod
    def _says_more(new: Mention, old: Mention) -> bool:
        if new.colours and not old.colours:
            return True
        if len(new.mods) > len(old.mods) and not (old.colours and not new.colours):
            return True
        return new.mods == old.mods and new.plural and not old.plural


def by_number(mention: Mention) -> Mention:
    """A phrase by the number that it is told by: "third rung"; as it is where it has none, or is of several."""
    if mention.ordinal is None or mention.plural or mention.ordinal in mention.mods:
        return mention
    return replace(mention, words=(mention.ordinal, *mention.words), mods=mention.mods | {mention.ordinal})


def _other_part(a: str, b: str) -> bool:
    """ "bottom half" and "top half"."""
    one, other = set(a.split()[:-1]), set(b.split()[:-1])
    return bool(one and other and not one & other)


@dataclass(slots=True)
class Gathered:
    """What the lines of a station say, put together but not yet decided."""

    lines: tuple[Line, ...] = ()
    register: Register = field(default_factory=Register)
    loose_limbs: list[tuple[LimbSaid, Said]] = field(default_factory=list)
    loose_overshoot: list[tuple[Overshoot, int, Said, bool]] = field(default_factory=list)


def in_order(entries: Sequence[Entry]) -> list[Entry]:
    """Entries by when they were first named."""
    return sorted(entries, key=lambda e: (e.line, e.order))
