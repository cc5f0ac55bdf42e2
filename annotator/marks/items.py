"""What can be marked at a station: its own surfaces and the surfaces of the blanket rules, as one list.

Pure. The words that a ruling is given in (`the tops of the blue boxes are in play`) are made here, so that every caller says the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from annotator.course import Contact, Course, Limb, Overshoot, Role, Ruling, Said, State, Station
from annotator.errors import NotFound


@dataclass(frozen=True)
class RuleItem:
    """A surface, or a part of one, and what holds for it at one station.

    `contact` is what was said for this item itself; `limbs` is what holds: the item's own, else on the route the station's (a station done
    with hands only is still begun and ended on the feet), else None. `replaces` holds ids of blanket rules for the same thing that this
    station speaks of itself: marks tied to them belong to this item.
    """

    id: str
    name: str
    part: str | None
    role: Role
    ruling: Ruling
    contact: Contact | None
    limbs: Contact | None
    overshoot: Overshoot | None
    said: tuple[Said, ...]
    blanket: bool
    state: State
    divisions: Mapping[str, Ruling] = field(default_factory=lambda: MappingProxyType({}))
    replaces: tuple[str, ...] = ()
    limbs_said: tuple[Said, ...] = ()
    """What says `limbs`, where that is not `said` itself."""

    def ruling_for(self, division: str | None) -> Ruling:
        """The ruling for a division; None is the main one."""
        return self.ruling if division is None else self.divisions.get(division, self.ruling)

    def allows(self, limb: Limb | None) -> bool:
        """Whether a limb may touch it where it is in play; where no limbs were said, each may."""
        return limb is None or self.limbs is None or limb in self.limbs

    @property
    def thing(self) -> str:
        """The key of the named thing: marks of one thing and its parts share it, however it is capitalised or counted."""
        return _key(self.name)

    @property
    def full_name(self) -> str:
        """With the part: `top of the post pads`."""
        return f"{self.part} of the {self.name}" if self.part else self.name

    def sentence(self, ruling: Ruling) -> str:
        """What holds, in one sentence for a ten-year-old: `The swing rungs are in play, hands only.`"""
        if ruling == "out":
            return f"The {self.full_name} {self.verb} out of play."
        limbs = f", {limbs_only(self.limbs)}" if self.limbs else ""
        past = {"allowed": " You may land past it.", "not allowed": " Do not land past it.", None: ""}[self.overshoot]
        role = {"start": f" You start on {self.pronoun}.", "finish": f" You finish on {self.pronoun}.{past}", "route": ""}[self.role]
        return f"The {self.full_name} {self.verb} in play{limbs}.{role}"

    @property
    def pronoun(self) -> str:
        """`it` or `them`, as the name asks."""
        return "them" if is_plural(self.part or self.name) else "it"

    @property
    def verb(self) -> str:
        """`is` or `are`, as the name asks."""
        return "are" if is_plural(self.part or self.name) else "is"


def rule_items(course: Course, station: Station, *, drafts: bool = True) -> tuple[RuleItem, ...]:
    """The station's surfaces in order, then the blanket surfaces that hold there.

    Where the station names the same thing (and the same part) as a blanket rule, the station's own word wins there and the blanket item is
    left out. A blanket rule without a ruling says nothing and is left out too. Without `drafts`, only what was accepted.
    """
    blanket = [
        (rule.id or f"b{number}", rule)
        for number, rule in enumerate(course.blanket, start=1)
        if rule.rule == "surface" and rule.surface is not None and rule.ruling is not None and (drafts or rule.state == "accepted")
    ]
    same: dict[tuple[str, str], list[str]] = {}
    for rule_id, rule in blanket:
        same.setdefault((_key(rule.surface or ""), _key(rule.part or "")), []).append(rule_id)
    own = [
        RuleItem(
            id=surface.id,
            name=surface.name,
            part=surface.part,
            role=surface.role,
            ruling=surface.ruling,
            contact=surface.contact,
            limbs=surface.contact or (station.contact if surface.role == "route" else None),
            overshoot=surface.overshoot,
            said=surface.said,
            blanket=False,
            state=surface.state,
            divisions=MappingProxyType(dict(surface.divisions or {})),
            replaces=tuple(same.get((_key(surface.name), _key(surface.part or "")), ())),
            limbs_said=station.said if surface.contact is None and surface.role == "route" else (),
        )
        for surface in station.surfaces
        if drafts or surface.state == "accepted"
    ]
    replaced = {rule_id for item in own for rule_id in item.replaces}
    everywhere = [
        RuleItem(
            id=rule_id,
            name=rule.surface or "",
            part=rule.part,
            role="route",
            ruling=rule.ruling or "out",
            contact=rule.contact,
            limbs=rule.contact or station.contact,
            overshoot=None,
            said=rule.said,
            blanket=True,
            state=rule.state,
            divisions=MappingProxyType(dict(rule.divisions or {})),
            limbs_said=station.said if rule.contact is None else (),
        )
        for rule_id, rule in blanket
        if rule_id not in replaced
    ]
    return (*own, *everywhere)


def known_division(course: Course, station: Station, division: str | None) -> str | None:
    """The division as asked for; NotFound where neither the course nor any surface speaks of it."""
    known = {*course.divisions, *(name for item in rule_items(course, station) for name in item.divisions)}
    if division is not None and division not in known:
        raise NotFound("division", division, sorted(known))
    return division


def same_thing(one: str, other: str) -> bool:
    """Whether two names mean one thing, however capitalised or counted.

    >>> same_thing("Post pads", "post pad"), same_thing("red mat", "red mats on posts")
    (True, False)
    """
    return _key(one) == _key(other)


def limbs_only(limbs: Contact) -> str:
    """`hands only`, `feet only`, `hands and feet`."""
    return f"{limbs[0]} only" if len(limbs) == 1 else " and ".join(limbs)


def is_plural(name: str) -> bool:
    """Whether a name takes `are`: its head (the word before `of`, `with` and the like, else the last) ends in one s.

    >>> [is_plural(name) for name in ("swing rungs", "cargo net", "blocks with holes", "glass", "sides")]
    [True, False, True, False, True]
    """
    words = name.casefold().split()
    for place, word in enumerate(words):
        if place and word in {"of", "with", "on", "in", "at", "by", "near", "under", "over", "behind", "from"}:
            words = words[:place]
            break
    return bool(words) and words[-1].endswith("s") and not words[-1].endswith("ss")


def _key(name: str) -> str:
    words = name.casefold().split()
    if words and is_plural(words[-1]):
        words[-1] = words[-1].removesuffix("s")
    return " ".join(words)
