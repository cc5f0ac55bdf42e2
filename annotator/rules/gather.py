"""Put the acts of one station's lines into its register: pronouns resolved, parts tied to their wholes, later words winning.

In: the lines of one station (or of the blanket rules) in order. Out: a register of entries with their evidence. What an entry comes to is
decided in sheet.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from annotator.course import Limb, Overshoot, Said
from annotator.rules.acts import Act
from annotator.rules.classes import carried_key, take_division
from annotator.rules.lexicon import PARTS, PLATFORMS, SIGNALS, age_key
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.limbs import LimbSaid
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Register

_CORRECTS = re.compile(
    r"\b(?:forget|ignore|scratch that|changed?|decided|sorry|hang on|i was wrong|no longer|instead of|correct(?:ion)?|"
    r"actually|not any ?more|my mistake|disregard|take that back)\b"
)
_OVER = re.compile(
    r"\b(?:overshoot\w*|overrun\w*|(?:run|runs|running|ran|go|goes|going|blow|blows|fly|flies|charg\w+|carry|carries|step|"
    r"steps|take you|takes you|bring you|sail|slide|roll|shoot\w*)(?: \w+){0,4}? (?:past|over it|over the|beyond|through it|"
    r"straight over|right past|off the (?:far )?end|over the far|straight off|right off|off it\b|off the end)|"
    r"who go(?:es)? over|keep(?:s)? going|legs carry you|run it out|past it|straight over it|right past it|go over the)\b"
)
_STOP = re.compile(
    r"\b(?:must stop|do stop|do have to stop|have to stop|got(?:ta| to) stop|need to stop|stop dead|got(?:ta| to) hold|have "
    r"to hold|must hold|(?:have to|must|need to|gotta|got to) stay on|hold it there|and hold it|stick it|stick the landing|"
    r"stop on it)\b"
)
_FINE = re.compile(
    r"\b(?:fine|okay|ok|all right|alright|no problem|no harm|grand|not bothered|without penalty|don't (?:care|mind)|is "
    r"allowed|that's allowed|can run|may run|can go|may go|no bother|doesn't matter|as far as you want|no matter|not a "
    r"problem|no worries|you can (?:just )?(?:run|carry|keep))\b"
)
_BADLY = re.compile(
    r"\b(?:fail\w*|fall|can't|cannot|can not|mustn't|must not|don't|not allowed|do not|no overshooting|not (?:past|over)|"
    r"you're out|doesn't count|no credit|may not)\b"
)
_EITHER = re.compile(r"\b(?:either|whichever|you pick|your choice|both a finish|any of them|one or the other|up to you)\b")
_OPTIONAL = re.compile(r"\b(?:it's optional|optional|you don't have to|if you (?:want|like|need))\b")
_ONLY_PART = re.compile(r"^(?:just|only|the|on|be|it)*$")


@dataclass(slots=True)
class Gathered:
    """What the lines of a station say, put together but not yet decided."""

    register: Register = field(default_factory=Register)
    loose_limbs: list[tuple[LimbSaid, Said]] = field(default_factory=list)
    loose_overshoot: list[tuple[Overshoot, int, Said, bool]] = field(default_factory=list)


def gather(lines: Sequence[Line], previous_finish: Sequence[Mention] = (), *, names: Iterable[str] = ()) -> Gathered:
    """Read the lines in order into a register. `previous_finish`: what the station before ended on; `names`: its own name, no thing."""
    out = Gathered()
    own = {n.lower() for n in names}
    for k, line in enumerate(lines):
        _take_line(out, line, lines[k - 1] if k else None, own, lines[k + 1 : k + 3])
        if k < 6:
            _old_finish_is_start(out, line, k, previous_finish)
    return out


def _is_name(mention: Mention, own: set[str]) -> bool:
    """The phrase only gives the station's name."""
    return mention.name in own


def _take_line(out: Gathered, line: Line, before: Line | None, own: set[str], after: Sequence[Line]) -> None:
    register = out.register
    corrected = bool(_CORRECTS.search(line.plain)) or bool(before and _CORRECTS.search(before.plain))
    key = age_key(line.plain) or carried_key(line, before)
    by_item: dict[int, list[Act]] = {}
    for act in line.acts:
        by_item.setdefault(act.item, []).append(act)
    items = line.skeleton.items
    entries: dict[int, Entry] = {}  # mention index -> entry
    fronted: Entry | None = None
    last_main: Entry | None = register.focus
    topic = _topic(items)
    _return_to_topic(register, items)
    focus_before = register.focus
    later = {a.mention for a in line.acts if a.kind == "later"}
    limb_by_mention: dict[int, list[LimbSaid]] = {}
    for limb in line.limbs:
        if limb.mention is not None:
            limb_by_mention.setdefault(limb.mention, []).append(limb)
    divided = take_division(register, line, key) if key and (line.acts or line.mentions) else None
    for k, item in enumerate(items):
        acts = by_item.get(k, [])
        if item.startswith("@"):
            index = int(item[1:])
            mention = line.mentions[index]
            if index in later or _is_name(mention, own):
                continue
            if k >= 2 and items[k - 2] in ("that", "which") and items[k - 1] not in (",", "be"):
                continue  # "the ones that hold the roof" says nothing of the roof
            if divided is not None and any(a.kind in ("in", "out", "use") for a in acts) and same_thing(mention, divided.mention):
                entries[index] = divided
                register.focus = divided
                continue
            if _again_said(items, k, line):
                continue
            entry = _entry_for(
                register,
                line,
                k,
                mention,
                acts,
                bool(limb_by_mention.get(index)),
                fronted,
                entries.get(topic, last_main) if topic is not None else last_main,
            )
            if entry is None:
                continue
            entries[index] = entry
            _called_so(entry, mention, line)
            if (
                k > 0
                and items[k - 1] in ("on", "at", "from", "off")
                and (k == 1 or items[k - 2] in (",", "|", "and", "then", "but", "so", "now"))
                and not acts
            ):
                fronted = entry
            for act in acts:
                weight = 1.05 if act.rule == "stand on x" and _just_shown(register, entry, line) else act.weight
                entry.evidence.append(Evidence(act.kind, weight, line.index, line.said, act.rule, corrected))
                if act.kind == "either":
                    entry.either = True
            entry.limbs.extend(limb_by_mention.get(index, []))
            last_main = entry
        else:
            for act in acts:
                if topic is not None and topic in entries and act.item > topic + 1:
                    register.focus = entries[topic]
                _take_pronoun(register, line, act, corrected, divided, key, entries)
    front = _front(items)
    if front is not None and front in entries:
        register.topic = entries[front]
    _above(register, line, after[0] if after else None)
    if _EITHER.search(line.plain):
        for entry in entries.values():
            entry.either = True
    if (
        _OPTIONAL.search(line.plain)
        and register.focus is not None
        and any(e.kind in ("in", "use", "there") for e in register.focus.evidence)
        and "in any order" not in line.plain
    ):
        register.focus.optional = register.focus.optional or "optional" in line.plain
    for limb in line.limbs:
        if limb.mention is not None and limb.mention in entries:
            continue
        named_before = any(x.startswith("@") for x in items[: limb.item])
        tied = register.focus if named_before else focus_before
        goes_on = (
            limb.item == 0
            and limb.how == "named"
            and tied is not None
            and any(e.kind in ("in", "use") and line.index - e.line == 1 for e in tied.evidence)
        )
        if limb.focus and limb.how == "only" and tied is not None and _only_an_end(tied):
            tied = None  # "from the green platform to the rungs. Hands only on these": said of the station, not of where it starts
        if (limb.focus or goes_on) and tied is not None:
            tied.limbs.append(limb)
        if goes_on or not limb.focus or tied is None:
            out.loose_limbs.append((limb, line.said))
    _take_overshoot(out, line, entries, corrected, after)


def _only_an_end(entry: Entry) -> bool:
    """Whether a thing was told as start or finish and as nothing between."""
    kinds = {each.kind for each in entry.evidence}
    return bool(kinds & {"start", "finish"}) and not kinds & {"in", "use", "there"}


def _entry_for(
    register: Register,
    line: Line,
    k: int,
    mention: Mention,
    acts: Sequence[Act],
    limbed: bool,
    fronted: Entry | None,
    last: Entry | None,
) -> Entry | None:
    """The entry that a mention is evidence for; None where it only passes by."""
    items = line.skeleton.items
    whole = fronted or last
    if mention.head == "hardware" and re.search(r"(?:it|that|those|these|they) be(?: \w+){0,2} $", " ".join(items[:k]) + " "):
        return None  # "that's all just hardware" tells why, not of what
    if mention.head == "end" or (mention.is_part and k and items[k - 1] in ("at", "to", "by", "near", "in", "off", "from", "over")):
        return None
    if mention.is_part or (
        mention.head in PARTS and mention.part is None and not mention.mods and fronted is not None and _said_as_part(items, k, acts)
    ):
        if whole is None or not (_said_as_part(items, k, acts) or any(a.kind in ("out", "in") and a.weight >= 0.8 for a in acts)):
            return None
        register.focus = whole
        entry = register.part_of_focus(mention, line.index)
        if entry is not None and not any(a.kind in ("in", "out") for a in acts):
            kind = "out" if _excepted(items, k) else "in"
            entry.evidence.append(Evidence(kind, 0.8, line.index, line.said, "part said alone"))
        return entry
    if mention.part and _place_only(items, k, mention, acts):
        mention = replace(mention, part=None)
    if mention.part and k + 1 < len(items) and items[k + 1] == "of":
        pass
    if not acts and not limbed:
        known = register.whole(mention)
        if known is not None:
            register.focus = known
            return known
        # said with nothing about it: remembered for "it", without evidence
        if (k + 2 < len(items) and items[k + 1] in (",", "on", "along", "around", "round", "behind", "that")) or (k == 0):
            return register.entry(mention, line.index)
        if k > 0 and items[k - 1] == "," and items[k + 1 : k + 2] in ((".",), (",",)):
            return register.entry(mention, line.index)
        return None
    return register.entry(mention, line.index)


def _called_so(entry: Entry, mention: Mention, line: Line) -> None:
    """ "the start platform", "the finishing mat": the role is in the name."""
    for role, names in (("start", {"start", "starting"}), ("finish", {"finish", "finishing"})):
        if mention.mods & names and not entry.weight("out"):
            entry.evidence.append(Evidence(role, 0.9, line.index, line.said, f"called the {role}"))


def _just_shown(register: Register, entry: Entry, line: Line) -> bool:
    """ "you start at the gate, there is a board, stand on the board": the board is the start."""
    shown = any(e.kind == "there" and line.index - e.line <= 1 for e in entry.evidence)
    return shown and any(
        e.kind == "start" and line.index - e.line <= 2 for other in register.entries if other is not entry for e in other.evidence
    )


_PLURAL = frozenset({"they", "those", "these", "them"})


def _return_to_topic(register: Register, items: Sequence[str]) -> None:
    """A sentence that opens with "they" or "that" goes on about what the sentence before was about, not about what it ended on."""
    k = 0
    while k < len(items) and items[k] in ("and", "so", "but", "because", ",", "then"):
        k += 1
    topic, focus = register.topic, register.focus
    if k < len(items) and topic is not None and focus is not None and items[k] in _PLURAL | {"it", "that"}:
        agrees = (items[k] in _PLURAL) == topic.mention.plural == focus.mention.plural
        register.focus = topic if agrees else focus


def _front(items: Sequence[str]) -> int | None:
    """The phrase at the very front of a sentence."""
    k = 0
    while k < len(items) and items[k] in ("and", "so", "now", "but", "then", ",", "also", "well", "okay", "all", "of", "oh", "because"):
        k += 1
    return int(items[k][1:]) if k < len(items) and items[k].startswith("@") else None


def _topic(items: Sequence[str]) -> int | None:
    """The phrase that a sentence sets at its front to say something of it: "the pads, the padding on the posts, you may use those"."""
    k = 0
    while k < len(items) and items[k] in (
        "and",
        "so",
        "now",
        "but",
        "then",
        "the",
        ",",
        "also",
        "well",
        "okay",
        "while",
        "about",
        "all",
        "of",
        "oh",
    ):
        k += 1
    if (
        k + 1 < len(items)
        and items[k].startswith("@")
        and items[k + 1] in (",", "along", "behind", "on", "that", "like", "at", "above", "round", "around", "in", "under", "below")
    ):
        return int(items[k][1:])
    return None


def _again_said(items: Sequence[str], k: int, line: Line) -> bool:
    """ "the caps, the tops of them": the same part in other words."""
    if k < 2 or items[k - 1] != "," or not items[k - 2].startswith("@"):
        return False
    old, new = line.mentions[int(items[k - 2][1:])], line.mentions[int(items[k][1:])]
    return old.is_part and new.is_part and items[k + 1 : k + 3] in (("of", "them"), ("of", "it"))


def _said_as_part(items: Sequence[str], k: int, acts: Sequence[Act]) -> bool:
    near = items[max(0, k - 3) : k]
    if k + 1 < len(items) and items[k + 1] == "only":
        return True
    if any(w in ("only", "just", "except", "for", "not") for w in near) and "@" not in "".join(near):
        return "except" in near or "only" in near or "just" in near
    if k and items[k - 1] in ("at", "to", "by", "near", "in"):
        return False
    if any(
        a.kind in ("out", "in")
        and a.rule.split(",")[0] in ("x is out", "x is in", "you may use x", "you may not touch x", "x is not allowed", "x")
        for a in acts
    ):
        return True
    where = items[k - 1] if k else ""
    return k + 2 < len(items) and items[k + 1] == "of" and items[k + 2] in ("them", "it", "those") and where not in ("at", "to", "by", "in")


def _excepted(items: Sequence[str], k: int) -> bool:
    return any(w in ("except", "not", "no") for w in items[max(0, k - 3) : k])


def _place_only(items: Sequence[str], k: int, mention: Mention, acts: Sequence[Act]) -> bool:
    """ "at the top of the wall" is a place, "the top of the wall is out" a part."""
    where = items[k - 1] if k else ""
    place = (mention.part or "").split()[-1] in (
        "top",
        "end",
        "bottom",
        "side",
        "sides",
        "back",
        "front",
        "middle",
        "inside",
        "outside",
        "base",
        "foot",
        "centre",
        "center",
    )
    return (
        place
        and where in ("at", "to", "off", "from", "towards", "near", "by", "in")
        and not any(a.kind in ("in", "out") and a.weight >= 1 for a in acts)
    )


def _take_pronoun(
    register: Register, line: Line, act: Act, corrected: bool, divided: Entry | None, key: str | None, entries: dict[int, Entry]
) -> None:
    focus = register.focus
    if (
        act.word in ("they", "those", "these", "them")
        and act.kind in ("in", "out", "finish")
        and len(entries) > 1
        and re.search(r"\bboth\b", line.plain)
    ):
        for entry in entries.values():
            if not entry.part:
                entry.evidence.append(Evidence(act.kind, act.weight * 0.9, line.index, line.said, act.rule + ", by both", corrected))
        return
    if focus is None or (act.word == "" and act.kind != "finish"):
        return
    if act.kind in ("in", "out") and (divided is not None or key):
        return
    if act.kind in ("in", "out") and act.word == "it" and re.search(r"\bwhat (?:i|we)\b|\banything\b|\bif i\b", line.plain):
        return
    if act.kind in ("in", "out", "finish", "next-start") or (act.kind == "use" and act.weight >= 0.5):
        weight = act.weight * (0.9 if act.kind != "use" else 0.6)
        focus.evidence.append(Evidence(act.kind, weight, line.index, line.said, f"{act.rule}, by {act.word or 'place'}", corrected))


_ABOVE = re.compile(
    r"(?:what(?:ever)?|anything|everything|the (?:part|bit))(?: that)?(?: be)? (above|below|past|beyond|over|higher than|"
    r"under|behind) @(\d+)[^.]{0,24}\bout\b"
)


def _above(register: Register, line: Line, following: Line | None) -> None:
    """ "what is above the white ring, this is out": a part of the thing spoken of, named by its border."""
    match = _ABOVE.search(line.skeleton.text)
    if not match and following is not None and re.match(r"(?:and |so )*(?:this|that|it) be out\b", following.skeleton.text):
        match = _ABOVE.search(line.skeleton.text.rstrip(" .") + " out")
    if not match:
        return
    border = line.mentions[int(match[2])]
    whole = next(
        (e for e in reversed(register.entries) if not e.part and not same_thing(e.mention, border) and e.weight("in", "use", "there") > 0),
        None,
    )
    for entry in register.entries:
        if same_thing(entry.mention, border):
            entry.dropped = True
    if whole is None:
        return
    part = register.entry(replace(whole.mention, part=None), line.index, part=f"{match[1]} the {border.name}")
    part.evidence.append(Evidence("out", 1.0, line.index, line.said, "what is above x is out"))
    whole.evidence[:] = [e for e in whole.evidence if not (e.kind == "out" and e.line == line.index)]


def _take_overshoot(out: Gathered, line: Line, entries: dict[int, Entry], corrected: bool, after: Sequence[Line]) -> None:
    text = line.plain
    if _OVER.search(text) and not (_FINE.search(text) or _BADLY.search(text)):
        text = " ".join([text, *(x.plain for x in after if not x.mentions)])  # "and if you fly over it. No problem."
    over, stop = _OVER.search(text), _STOP.search(text)
    said: Overshoot | None = None
    if stop:
        said = "not allowed"
    elif over and not re.search(r"\bplatform to platform\b", text):
        rest = text[over.start() :]
        if _FINE.search(text) and not re.search(r"\b(?:can't|cannot|not okay|isn't (?:fine|okay)|not fine)\b", text):
            said = "allowed"
        elif _BADLY.search(rest) or _BADLY.search(text):
            said = "not allowed"
        elif re.search(r"\b(?:you can|you may|can run|may run)\b", text) or "run it out" in text:
            said = "allowed"
    if said is None:
        return
    register = out.register
    target = next((e for i, e in entries.items() if e.mention.head in PLATFORMS or e.weight("finish", "arrive")), None)
    if target is None:
        target = next((e for e in reversed(register.entries) if e.weight("finish", "arrive")), None)
    record = (said, line.index, line.said, corrected)
    if target is not None:
        target.overshoot.append(record)
    else:
        out.loose_overshoot.append(record)


def _old_finish_is_start(out: Gathered, line: Line, k: int, previous: Sequence[Mention]) -> None:
    """What the station before ended on, said again in the first sentences, is where this one starts."""
    register = out.register
    if any(e.weight("start") >= 1.0 for e in register.entries):
        return
    for index, mention in enumerate(line.mentions):
        for old in previous:
            exact = mention.colours == old.colours and same_head(mention.head, old.head) and (mention.mods & old.mods or not mention.mods)
            if not exact or mention.part:
                continue
            if any(a.mention == index and a.kind in ("finish", "next-start", "out") for a in line.acts) or mention.head in SIGNALS:
                continue
            if k > 0 and mention.first > 6 and not any(a.mention == index and a.kind == "start" for a in line.acts):
                continue
            focus = register.focus
            entry = register.entry(mention if mention.mods else replace(old, first=mention.first, last=mention.last), line.index)
            entry.evidence.append(Evidence("start", 0.9, line.index, line.said, "the finish before"))
            register.focus = focus or entry
            return


def union(limbs: Iterable[LimbSaid]) -> tuple[Limb, ...] | None:
    """The limbs allowed by statements together: what is said outweighs what is barred; None where nothing was said."""
    said = list(limbs)
    positive = [x for x in said if x.how != "barred"]
    pool = positive or said
    both: set[Limb] = {limb for x in pool for limb in x.limbs}
    return tuple(limb for limb in ("hands", "feet") if limb in both) or None
