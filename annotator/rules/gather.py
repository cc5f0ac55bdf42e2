"""Put the acts of one station's lines into its register: parts tied to their wholes, later words winning; pronouns.py says who "it" is.

In: the lines of one station (or of the blanket rules) in order. Out: a register of entries with their evidence. What an entry comes to is
decided in sheet.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from annotator.course import Limb
from annotator.rules.acts import NARROWLY, Act
from annotator.rules.classes import carried_key, names_the_rest, people
from annotator.rules.divided import settle, take_divisions
from annotator.rules.groups import class_key
from annotator.rules.lexicon import APPARATUS, NUMBER, ORDINAL, PARTS, SIGNALS
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.limbs import LimbSaid
from annotator.rules.overshoot import take_overshoot
from annotator.rules.parts import above, again_said, excepted, of_which, place_only, said_as_part
from annotator.rules.phrases import Mention
from annotator.rules.pronouns import all_of, one_of, take_pronoun
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Gathered, Register

CORRECTS = re.compile(
    r"\b(?:forget|ignore|scratch that|changed?|decided|sorry|hang on|i was wrong|no longer|instead of|correct(?:ion)?|"
    r"actually|not any ?more|my mistake|disregard|take that back|until yesterday|telling you a lie|tell a lie|no, no|after all|as of"
    r" (?:today|now)|has been (?:mended|fixed|changed)|mended|made up my mind|"
    r"on second thoughts|changed my mind)\b"
)
_EITHER = re.compile(r"\b(?:either|whichever|you pick|your choice|both a finish|any of them|one or the other|up to you)\b")
_OPTIONAL = re.compile(r"\b(?:it's optional|optional|you don't have to|if you (?:want|like|need))\b")
_ONLY_PART = re.compile(r"^(?:just|only|the|on|be|it)*$")


def gather(
    lines: Sequence[Line], previous_finish: Sequence[Mention] = (), *, names: Iterable[str] = (), passing: Sequence[Mention] = ()
) -> Gathered:
    """Read the lines in order into a register.

    `previous_finish`: what the station before ended on; `names`: its own name, no thing; `passing`: things of which nothing is ruled.
    """
    out = Gathered(lines=tuple(lines))
    own = {n.lower() for n in names}
    for k, line in enumerate(lines):
        _take_line(out, line, lines[k - 1] if k else None, own, lines[k + 1 : k + 3], passing)
        if k < 6:
            _old_finish_is_start(out, line, k, previous_finish)
    for entry in out.register.entries:
        if entry.for_whom:
            settle(entry)
    out.register.number()
    return out


def _is_name(mention: Mention, own: set[str]) -> bool:
    """The phrase only gives the station's name."""
    return mention.name in own


def _told_of(acts: Sequence[Act], limbed: bool) -> bool:
    """Whether something is ruled of a phrase, so that it is a thing even where the station is called so ("feet on the horses")."""
    return limbed or any(a.kind in ("in", "out", "start", "finish") and a.weight >= 0.8 for a in acts)


def _take_line(out: Gathered, line: Line, before: Line | None, own: set[str], after: Sequence[Line], passing: Sequence[Mention]) -> None:
    register = out.register
    corrected = bool(CORRECTS.search(line.plain)) or bool(before and CORRECTS.search(before.plain))
    key = class_key(line.plain) or carried_key(line, before)
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
    divided = take_divisions(register, line, key) if key or (names_the_rest(line) and _adds_a_class(register)) else []
    persons = people(line) if key else frozenset()
    for k, item in enumerate(items):
        acts = by_item.get(k, [])
        if item.startswith("@"):
            index = int(item[1:])
            mention = one_of(register, line.mentions[index])
            counted = line.mentions[index].head == "one" and line.skeleton.sentence.tokens[mention.last].tag == "CD"
            if counted and not any(a.kind in ("out", "start", "finish") for a in acts):
                continue  # "step on the mats, the pink one and the blue one": they are of what is in play already
            if index in later or index in persons or (_is_name(mention, own) and not _told_of(acts, bool(limb_by_mention.get(index)))):
                continue
            if not acts and any(mention.part == each.part and same_thing(mention, each) for each in passing):
                continue
            relative = items[k - 3 : k - 2] if items[k - 2 : k - 1] == ("be",) else items[k - 2 : k - 1]
            if k >= 2 and tuple(relative) in (("that",), ("which",)) and items[k - 1] not in (",", "be"):
                continue  # "the ones that hold the roof" says nothing of the roof
            ruled = next((e for e in divided if same_thing(mention, e.mention) and (mention.part or None) == (e.part or None)), None)
            if ruled is not None and any(a.kind in ("in", "out", "use") for a in acts):
                entries[index] = register.focus = ruled
                continue
            if again_said(items, k, line):
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
                and (not acts or any(a.rule == "on x may you" for a in acts))
            ):
                fronted = entry
            for act in acts:
                if act.rule.endswith(NARROWLY) and entry.weight("in", "use", "there") and not entry.weight("out"):
                    continue  # "you don't put your hands on the beam", of a beam that one walks: said of the hands
                weight = 1.05 if act.rule == "stand on x" and _just_shown(register, entry, line) else act.weight
                kind = "arrive" if act.rule == "you are on x" and _started(register, entry) else act.kind
                if act.rule == "touch x and it is over" and entry.weight("arrive", "finish"):
                    kind, weight = "finish", 0.9  # "drop down on the mat. Touch the mat and you're done."
                entry.evidence.append(Evidence(kind, weight, line.index, line.said, act.rule, corrected))
                if act.kind == "either":
                    entry.either = True
            for each in all_of(register, entry, line) if mention.determiner == "both" else [entry]:
                each.limbs.extend(limb_by_mention.get(index, []))
            last_main = entry
        else:
            for act in acts:
                if topic is not None and topic in entries and act.item > topic + 1:
                    register.focus = entries[topic]
                take_pronoun(register, line, act, corrected, bool(divided or key), entries)
    front = _front(items)
    shown = _SHOWS.match(line.skeleton.text)
    if shown and int(shown[1]) in entries and register.focus is not None and register.focus is not entries[int(shown[1])]:
        register.topic = register.focus = entries[int(shown[1])]  # "there's a stump with a ring round it. That one's rotten."
    if front is not None and front in entries:
        register.topic = entries[front]
    above(register, line, after[0] if after else None)
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
        if limb.focus and limb.how == "only" and tied is not None and (_only_an_end(tied) or tied.weight("out") >= 0.9):
            tied = None  # "from the green platform to the rungs. Hands only on these": said of the station, not of where it starts
        if (limb.focus or goes_on) and tied is not None:
            for entry in all_of(register, tied, line):
                entry.limbs.append(limb)
        if goes_on or not limb.focus or tied is None:
            out.loose_limbs.append((limb, line.said))
    take_overshoot(out, line, entries, corrected, after)


def _adds_a_class(register: Register) -> bool:
    """ "The ladder is for the under-tens. Seniors too.": a class more for what was spoken of."""
    return any(entry.for_whom for entry in register.entries)


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
    barred_part = any(a.kind == "out" and a.rule == "except x" for a in acts)
    if (mention.head == "end" and not mention.part) or (
        mention.is_part
        and not barred_part
        and k
        and items[k - 1] in ("at", "to", "by", "near", "in", "off", "from", "over")
        and not (items[k - 1] == "over" and mention.plural and items[k + 1 : k + 3] in (("of", "them"), ("of", "those")))
    ):
        return None
    if mention.is_part and (named := of_which(items, k, line)) is not None:
        whole = register.entry(replace(named, part=None), line.index)
        acts = [*acts, *([] if acts else [Act("in", int(items[k][1:]), items[k], k, 0.8, "part only of x")])]
    if mention.is_part or (
        mention.head in PARTS and mention.part is None and not mention.mods and fronted is not None and said_as_part(items, k, acts)
    ):
        # "not the tops of the posts, there's nails in the tops, so the tops are out"
        named_so = next((e for e in reversed(register.entries) if e.part == mention.name and 0 <= line.index - e.line <= 2), None)
        if named_so is not None and whole is not None and not same_thing(whole.mention, named_so.mention):
            whole = register.whole(replace(named_so.mention, part=None)) or whole
        whole = _bearing(register, whole)
        if whole is None or not (said_as_part(items, k, acts) or any(a.kind in ("out", "in") and a.weight >= 0.8 for a in acts)):
            return None
        register.focus = whole
        entry = register.part_of_focus(mention, line.index)
        if entry is not None and not any(a.kind in ("in", "out") for a in acts):
            kind = "out" if excepted(items, k) else "in"
            entry.evidence.append(Evidence(kind, 0.8, line.index, line.said, "part said alone"))
        return entry
    if mention.part and place_only(items, k, mention, acts):
        mention = replace(mention, part=None)
    if mention.part and k + 1 < len(items) and items[k + 1] == "of":
        pass
    if not acts and not limbed and mention.part and items[k + 1 : k + 2] == (",",):
        return register.entry(mention, line.index)
    if not acts and not limbed:
        known = register.whole(mention)
        if known is not None:
            register.focus = known
            return known
        # said with nothing about it: remembered for "it", without evidence
        if (k + 2 < len(items) and items[k + 1] in _GOES_ON) or _front(items) == int(items[k][1:]):
            return register.entry(mention, line.index)
        if k > 0 and items[k - 1] == "," and items[k + 1 : k + 2] in ((".",), (",",)):
            return register.entry(mention, line.index)
        return None
    barred = any(a.kind == "out" and a.weight >= 0.9 for a in acts)
    which = barred or any(a.kind in ("start", "finish") and a.weight >= 0.9 for a in acts)
    return register.entry(mention, line.index, apart=barred, which=which)


def _bearing(register: Register, whole: Entry | None) -> Entry | None:
    """What a part told alone is of: the thing spoken of, unless that is no usual equipment and was only named in passing."""
    if whole is None or whole.mention.head in APPARATUS or whole.evidence or whole.limbs or whole.for_whom:
        return whole
    told = [e for e in register.entries if not e.part and not e.dropped and not e.weight("start", "finish", "arrive")]
    told = [e for e in told if e.weight("in", "use", "there") or e.limbs]
    return max(told, key=lambda e: max([x.line for x in e.evidence], default=e.line), default=whole)


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


def _started(register: Register, entry: Entry) -> bool:
    """Whether another thing was told as the start, so that "then you're on the little bridge" tells where one comes to."""
    return any(e.weight("start") >= 0.85 for e in register.entries if e is not entry) and not entry.weight("start")


_GOES_ON = frozenset(
    [",", "on", "along", "around", "round", "behind", "that", "you", "beside", "under", "next", "above", "at", "between", "near", "below"]
)
"""What may follow a thing of which something will be said: "the handrail beside it, you can't use that"."""
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


_SHOWS = re.compile(
    r"(?:and |so |now |but |then |also |, )*(?:there|here) be (?:\w+ )?@(\d+) (?:with|that have|which have|in|on|at"
    r"|near|by) @\d+(?: [^@.,]+)?\W*$"
)
"""A sentence that shows a thing with what is on it."""
_FRONT = frozenset(
    ["and", "so", "now", "but", "then", ",", "also", "well", "okay", "all", "of", "oh", "because", "exception", "rule", "number"]
)


def _front(items: Sequence[str]) -> int | None:
    """The phrase at the very front of a sentence."""
    k = 0
    while k < len(items) and (items[k] in _FRONT or items[k] in NUMBER or items[k] in ORDINAL):
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
        and items[k + 1]
        in (
            *(",", "along", "behind", "on", "that", "which", "who", "like", "at", "above", "round", "around", "in", "under", "below"),
            *("there", "here", "over", "up", "down", "beside", "between", "inside", "near"),
        )
    ):
        return int(items[k][1:])
    return None


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
