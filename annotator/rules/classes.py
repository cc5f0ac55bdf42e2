"""Rules for one age or skill class: the thing gets that class's ruling, and everybody else the opposite.

In: a line that names a class. Out: the register's entry that it is about, with its divisions. What names a class is lexicon.age_key.
"""

from __future__ import annotations

import re
from itertools import pairwise

from annotator.course import Ruling
from annotator.rules.lexicon import age_key, age_spans
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Register


def carried_key(line: Line, before: Line | None) -> str | None:
    """ "the small children, under ten. They may use it.": the class told in a breath of its own."""
    if before is None or not re.match(r"(?:so |and )*(?:they|these|those)\b", line.plain):
        return None
    return None if any(a.kind in ("in", "out", "use") for a in before.acts) else age_key(before.plain)


_NO = re.compile(
    r"\b(?:not|no|never|nope|don't|can't|cannot|may not|mustn't|must not|isn't|aren't|out|off|nobody|banned|forbidden|leave|without"
    r"|stay off|keep off)\b|"
    r"n't\b"
)
_NO_MATTER = re.compile(r"\bno (?:problem|worries|bother|matter|trouble|objection|issue)\b|\bdon't mind\b|\bnobody (?:minds|else)\b")
_YES = re.compile(
    r"\b(?:may|can|could|allowed|in|fine|get|gets|got|have|has|use|only|for|okay|ok|yes|welcome|too|well|yours|good|stand|hold|permitted|"
    r"help|just|legal|free)\b|'s for\b|\b(?:do|are|is)[.,]?\s*$"
)
_OTHERS = re.compile(
    r"\b(?:everybody (?:else|older)|everyone (?:else|older)|(?:all )?the others?|others|anybody (?:else|older)|anyone "
    r"(?:else|older)|nobody else|no one else|the rest(?: of (?:you|us|them))?|otherwise|older than that|big ones)\b"
)
_ALL_BUT = re.compile(
    r"\b(?:(?P<none>nobody|no one|none of you)|everybody|everyone|anybody|anyone|all|you all|the whole lot)(?: of you)?,? "
    r"(?:but|except|bar|apart from|other than|excluding|save|minus)(?: for)?(?: the| our| those| you)*\s*$"
)
_UNLESS = re.compile(
    r"\b(?:unless|except if|except for|except|if not)(?: you're| you are| they're| it's| for| you)*(?: in| one of| an?)?(?: the|"
    r" our)?\s*$"
)
_APPOSED = re.compile(r",? ?(?:so|that's|that is|which is|meaning|i mean|this means)?(?: you| lot| the| from| all| those| is)*,? ?")
_BREAKS = re.compile(r"[,.;:?!]\s|\b(?:and|but|while|whereas|so)\b ")


def _the_others(key: str, target: Entry) -> bool:
    """Whether a class is everybody that an earlier rule leaves over: "you're over twelve, you leave them" after "for the under-twelves"."""
    side, _, age = key.partition("-")
    return side == "over" and f"under-{age}" in target.divisions


def _rulings(text: str, told: Ruling) -> dict[str, Ruling]:
    """Each class that the text names, with its ruling; `told` is what the sentence says of the thing itself."""
    breaks = [0, *(m.end() for m in _BREAKS.finditer(text)), len(text)]
    pieces = [(a, b) for a, b in pairwise(breaks) if b > a]
    out: dict[str, Ruling] = {}
    last = None
    for begin, end, key in age_spans(text):
        before = text[:begin]
        if last is not None and _APPOSED.fullmatch(text[last:begin]):
            continue  # "masters, that's forty and up": one class in two words
        last = end
        if all_but := _ALL_BUT.search(before):
            out[key] = "in" if all_but["none"] or told == "out" else "out"
        elif _UNLESS.search(before):
            out[key] = "in" if told == "out" or _NO.search(before) else "out"
        else:
            k = next(k for k, (a, b) in enumerate(pieces) if a <= begin < b)
            opens = k + 1 < len(pieces) and (k == 0 or re.match(r"(?:if|for|when|the|our)\b", text[pieces[k][0] :]) is not None)
            tried = [k, *((k + 1, k + 2, k + 3, k - 1) if opens else (k - 1, k + 1))]
            said = [_ruling_of(text[slice(*pieces[at])]) for at in tried if 0 <= at < len(pieces)]
            out[key] = next((ruling for ruling in said if ruling is not None), "in")
    return out


def _ruling_of(piece: str) -> Ruling | None:
    own = _NO_MATTER.sub("", _OTHERS.split(piece)[0])
    if _NO.search(own):
        return "out"
    return "in" if _YES.search(re.sub(r"\bif you\b.*", "", own) if own.startswith("if") else re.sub(r"^for\b", "", own)) else None


def take_division(register: Register, line: Line, key: str) -> Entry | None:
    """A rule for one class: the thing it is about gets that class's ruling, and everybody else the opposite."""
    target: Entry | None = None
    told = [a for a in line.acts if not a.rule.startswith("weighed")]
    ruled = [a for a in told if a.kind in ("in", "out", "use") and a.mention is not None and not line.mentions[a.mention].is_part]
    ruled.sort(key=lambda a: (a.kind == "use", a.weight < 0.8))
    for act in ruled:
        target = register.entry(line.mentions[act.mention or 0], line.index)
        break
    if target is None:
        named = [m for m in line.mentions if not m.is_part]
        target = register.entry(named[0], line.index) if named else register.focus
    if target is None:
        return None
    rulings = _rulings(line.plain.replace("-", " "), "out" if any(a.kind == "out" for a in ruled) else "in") or {
        key: _ruling_of(line.plain) or "in"
    }
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
