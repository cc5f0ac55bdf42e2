"""Rules for one age or skill class: the thing gets that class's ruling, and everybody else the opposite.

In: a line that names a class. Out: the register's entry that it is about, with its divisions. What names a class is lexicon.age_key.
"""

from __future__ import annotations

import re

from annotator.course import Ruling
from annotator.rules.lexicon import age_key
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Register


def carried_key(line: Line, before: Line | None) -> str | None:
    """ "the small children, under ten. They may use it.": the class told in a breath of its own."""
    if before is None or not re.match(r"(?:so |and )*(?:they|these|those)\b", line.plain):
        return None
    return None if any(a.kind in ("in", "out", "use") for a in before.acts) else age_key(before.plain)


_NO = re.compile(r"\b(?:not|no|never|nope|n't|don't|can't|may not|out|nobody)\b|n't\b")
_OTHERS = re.compile(
    r"\b(?:everybody (?:else|older)|everyone (?:else|older)|(?:all )?the others?|others|anybody (?:else|older)|anyone "
    r"(?:else|older)|nobody else|no one else|the rest(?: of you)?|only for|only there for|older than that|big kids|big ones)\b"
)


def _the_others(key: str, target: Entry) -> bool:
    """Whether a class is everybody that an earlier rule leaves over: "you're over twelve, you leave them" after "for the under-twelves"."""
    side, _, age = key.partition("-")
    return side == "over" and f"under-{age}" in target.divisions


def take_division(register: Register, line: Line, key: str) -> Entry | None:
    """A rule for one class: the thing it is about gets that class's ruling, and everybody else the opposite."""
    target: Entry | None = None
    ruled = [a for a in line.acts if a.kind in ("in", "out", "use") and a.mention is not None]
    for act in ruled:
        target = register.entry(line.mentions[act.mention or 0], line.index)
        break
    if target is None:
        named = [m for m in line.mentions if not m.is_part]
        target = register.entry(named[0], line.index) if named else register.focus
    if target is None:
        return None
    pieces = re.split(r"(?<=[,.;])\s|\b(?=and (?:everybody|everyone|all|the)|but |year )", line.plain)
    rulings: dict[str, Ruling] = {}
    for piece in pieces:
        named_key = age_key(piece)
        own = _OTHERS.split(piece)[0]
        if named_key and not (_OTHERS.search(piece) and not age_key(own)):
            following = own[own.lower().find(named_key.split("-")[0]) :] if named_key.split("-")[0] in own else own
            rulings[named_key] = "out" if _NO.search(following) else "in"
    if not rulings:
        rulings = {key: "in"}
    rulings = {k: r for k, r in rulings.items() if not _the_others(k, target)}
    allowed = {k: r for k, r in rulings.items() if r == "in"}
    if not rulings:
        register.focus = target
        return target
    if allowed:
        target.divisions = {**(target.divisions if target.main_ruling == "out" else {}), **allowed}
        target.main_ruling = "out"
    else:
        first = next(iter(rulings))
        target.divisions = {first: "out"}
        target.main_ruling = "in"
    target.evidence.append(Evidence(target.main_ruling, 0.9, line.index, line.said, "ruling for a class", True))
    register.focus = target
    return target
