"""Which thing of a station "it", "the other one", "both of them" or "the rest" stands for, and what is said of it so.

In: a station's register as far as it was read, a line and one of its acts. Out: evidence put to the entries that are meant.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.acts import Act
from annotator.rules.lexicon import ORDINAL
from annotator.rules.likeness import same_head
from annotator.rules.overshoot import CROSSED, GOES_PAST
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Register


def one_of(register: Register, mention: Mention, before: Sequence[Mention] = ()) -> Mention:
    """ "the black handles are out, the blue ones are fine": the ones are what was spoken of.

    `before`: what the same line names before it, where that is not in the register yet.
    """
    if mention.head != "one":
        return mention
    plain = [m for m in reversed(before) if not m.is_part and m.head != "one" and m.colours & mention.colours]
    plain += [e.mention for e in reversed(register.entries) if not e.part]
    meant = next((m for m in plain if m.plural == mention.plural and mention.plural), None) or next((m for m in plain if m.plural), None)
    if meant is None:
        meant = register.focus.mention if register.focus is not None else next(iter(plain), None)
    if meant is None:
        return mention
    noun = _single(meant) if meant.plural and not mention.plural else meant.words[-1]
    return replace(mention, head=meant.head, words=(*mention.words[:-1], noun), plural=meant.plural and mention.plural)


def _single(many: Mention) -> str:
    """The word for one of several: "box" of the boxes."""
    noun = many.words[-1]
    if noun.startswith(many.head) and noun.removeprefix(many.head) in ("s", "es"):
        return many.head
    return noun[:-1] if noun.endswith("s") and not noun.endswith("ss") else noun


_OPPOSITES = (
    ("left", "right"), ("top", "bottom"), ("upper", "lower"), ("high", "low"), ("near", "far"), ("front", "back"), ("inner", "outer"),
    ("short", "long"), ("thick", "thin"), ("big", "small"), ("first", "second"), ("big", "little"), ("tall", "short"), ("wide", "narrow"),
)  # fmt: skip


def _the_other(register: Register, line: int) -> Entry | None:
    """ "the left rope is in, the other one is out": the one of two that was not just spoken of."""
    focus = register.focus
    if focus is None:
        return None
    alike = [
        e
        for e in register.entries
        if e is not focus and not e.part and not e.mention.plural and same_head(e.mention.head, focus.mention.head)
    ]
    if alike:
        return alike[-1]
    for pair in _OPPOSITES:
        for one, other in (pair, pair[::-1]):
            if one in focus.mention.mods:
                words = tuple(other if word == one else word for word in focus.mention.words)
                return register.entry(replace(focus.mention, words=words, mods=focus.mention.mods - {one} | {other}), line)
    return None


def _what_is_left(register: Register) -> Entry | None:
    """ "not the top bar. The rest of them are fine": the things of which one was just told apart."""
    focus = register.focus
    if focus is None:
        return None
    return next(
        (e for e in reversed(register.entries) if e is not focus and same_head(e.mention.head, focus.mention.head) and not e.part), None
    )


def _by_number(register: Register, ordinal: str, line: int) -> Entry | None:
    """ "the rungs are in, the third one is out": the one of several by its number."""
    meant = next((e.mention for e in reversed(register.entries) if not e.part and e.mention.plural), None)
    if meant is None:
        return None
    return register.entry(
        replace(meant, words=(*meant.words[:-1], _single(meant)), plural=False, ordinal=ordinal, count=None), line, which=True
    )


def all_of(register: Register, entry: Entry, line: Line) -> list[Entry]:
    """The things of a pair that "both of them" stands for; the thing alone where nothing says both."""
    if not re.search(r"\bboth\b(?! hands| feet| your)", line.plain) or entry.part:
        return [entry]
    pair = [
        e
        for e in register.entries
        if not e.part and same_head(e.mention.head, entry.mention.head) and e.mention.mods and not e.mention.plural
    ]
    return pair if len(pair) == 2 else [entry]


_ALL_OF_THAT = re.compile(
    r"(?:@\d+ )(?:[^@.]{0,3} |and |or )*@\d+[^@.]*\b(?:all|every bit|the lot|each|any|none) (?:of )?(?:that|it"
    r"|those|them|these|this)\b"
)
_IF_SO = re.compile(r"\b(?:if|whoever|when|once|anybody who|anyone who|everybody who)\b [^.]*$")


def take_pronoun(register: Register, line: Line, act: Act, corrected: bool, divided: bool, entries: dict[int, Entry]) -> None:
    """Put what an act says of a thing that it does not name to the thing that is meant.

    `divided`: the line rules for a class; `entries`: its own phrases' things by index.
    """
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
    if (
        act.kind in ("in", "out")
        and act.word in ("that", "it", "those", "them", "these", "this")
        and len(entries) > 1
        and _ALL_OF_THAT.search(" ".join(line.skeleton.items[: act.item + 1]))
    ):
        for entry in entries.values():
            entry.evidence.append(Evidence(act.kind, act.weight * 0.9, line.index, line.said, act.rule + ", by all of that", corrected))
        return
    if act.word in ("former", "latter") and act.kind in ("in", "out"):
        single = [e for e in register.entries if not e.part and not e.mention.plural]
        focus = single[{"former": -2, "latter": -1}[act.word]] if len(single) > 1 else focus
    items = line.skeleton.items
    if act.kind in ("in", "out") and re.search(r"\b(?:rest|remainder|others|all the other\w*) of $", " ".join(items[: act.item]) + " "):
        focus = _what_is_left(register)
    if act.word in ("other", "others") or (act.word in ("one", "ones") and act.item and items[act.item - 1] == "other"):
        focus = _the_other(register, line.index)
    if act.word in ("one", "ones") and act.item and items[act.item - 1] in ORDINAL:
        focus = _by_number(register, items[act.item - 1], line.index) if act.kind in ("in", "out", "start", "finish") else None
    if focus is None or (act.word == "" and act.kind != "finish"):
        return
    if act.kind in ("in", "out") and divided:
        return
    if act.kind in ("in", "out") and act.word in ("that", "this") and _IF_SO.search(" ".join(items[: act.item])):
        return
    if act.kind == "out" and CROSSED.search(" ".join(items[: act.item])) and any(e.weight("finish", "arrive") for e in entries.values()):
        return  # "step off the pad and it's no good"
    if act.kind in ("in", "out") and GOES_PAST.search(" ".join([*items[: act.item], ","])):
        return  # "roll off the back and it's no good": of what one does and not of the thing
    if act.kind in ("in", "out") and act.word == "it" and re.search(r"\bwhat (?:i|we)\b|\banything\b|\bif i\b", line.plain):
        return
    if act.kind in ("in", "out", "finish", "next-start") or (act.kind == "use" and act.weight >= 0.5):
        weight = act.weight * (0.9 if act.kind != "use" else 0.6)
        focus.evidence.append(Evidence(act.kind, weight, line.index, line.said, f"{act.rule}, by {act.word or 'place'}", corrected))
