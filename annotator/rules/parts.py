"""Parts of things: "only the tops", "the rim of it", "what is above the tape", and places that are no parts ("at the top of the wall").

In: the items of a sentence and a phrase's place in them. Out: what the phrase is to the thing spoken of.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.acts import Act
from annotator.rules.likeness import same_thing
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Evidence, Register


def again_said(items: Sequence[str], k: int, line: Line) -> bool:
    """ "the caps, the tops of them": the same part in other words."""
    if k < 2 or items[k - 1] != "," or not items[k - 2].startswith("@"):
        return False
    old, new = line.mentions[int(items[k - 2][1:])], line.mentions[int(items[k][1:])]
    return old.is_part and new.is_part and items[k + 1 : k + 3] in (("of", "them"), ("of", "it"))


def said_as_part(items: Sequence[str], k: int, acts: Sequence[Act]) -> bool:
    """Whether a word like "top" stands for a part of what is spoken of."""
    if any(a.rule in ("except x", "part only of x") for a in acts):
        return True
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
    if k > 1 and where in ("on", "to") and items[k - 2] in ("stay", "keep", "stick", "remain"):
        return True
    return k + 2 < len(items) and items[k + 1] == "of" and items[k + 2] in ("them", "it", "those") and where not in ("at", "to", "by", "in")


def of_which(items: Sequence[str], k: int, line: Line) -> Mention | None:
    """ "tops only on the logs": the thing that a part told alone is of."""
    after = [w for w in items[k + 1 : k + 5] if w not in ("only", "just", ",", "please")]
    if len(after) > 1 and len(after) < 4 and after[0] in ("on", "of", "for") and after[1].startswith("@"):
        named = line.mentions[int(after[1][1:])]
        return None if named.is_part else named
    return None


def excepted(items: Sequence[str], k: int) -> bool:
    return any(w in ("except", "not", "no", "bar", "minus", "apart", "but", "exclude") for w in items[max(0, k - 3) : k])


def place_only(items: Sequence[str], k: int, mention: Mention, acts: Sequence[Act]) -> bool:
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


_ABOVE = re.compile(
    r"(?:what(?:ever)?|anything|everything|the (?:part|bit))(?: that)?(?: be)? (above|below|past|beyond|over|higher than|"
    r"under|behind) @(\d+)[^.]{0,24}\bout\b|(?:^|[,|] )(?:and |so |but )*(above|below|past|beyond|"
    r"higher than) @(\d+)(?: ,)?(?: it| that| everything| @(\d+))?"
    r"(?: be)? out\b"
)


_ABOVE_ON = re.compile(
    r"(?:anything|everything|what(?:ever)?|the (?:part|bit))(?: that)?(?: be)? (?:(?:on|of) @(?P<w>\d+) (?P<s>above|below|past"
    r"|beyond|over|higher than|under|"
    r"behind) @(?P<b>\d+)|(?P<s2>above|below|past|beyond|over|higher than|under|behind) @(?P<b2>\d+) (?:on|of)"
    r" @(?P<w2>\d+))[^.]{0,30}\bout\b"
)


def above(register: Register, line: Line, following: Line | None) -> None:
    """ "what is above the white ring, this is out": a part of the thing spoken of, named by its border."""
    if on := _ABOVE_ON.search(line.skeleton.text):
        _out_past(
            register,
            line,
            on["s"] or on["s2"],
            line.mentions[int(on["b"] or on["b2"])],
            register.entry(line.mentions[int(on["w"] or on["w2"])], line.index),
        )
        return
    match = _ABOVE.search(line.skeleton.text)
    if not match and following is not None and re.match(r"(?:and |so )*(?:this|that|it) be out\b", following.skeleton.text):
        match = _ABOVE.search(line.skeleton.text.rstrip(" .") + " out")
    if not match:
        return
    side = match[1] or match[3]
    border = line.mentions[int(match[2] or match[4])]
    told = register.whole(line.mentions[int(match[5])]) if match[5] else None
    before = line.mentions[: int(match[2] or match[4])]
    here = next(
        (
            e
            for e in reversed(register.entries)
            if not same_thing(e.mention, border)
            and e.weight("in", "use", "there")
            and not e.weight("start")
            and (e.mention in before[-1:] or (e.part and e.line == line.index))
        ),
        None,
    )
    whole = here or next(
        (e for e in reversed(register.entries) if not e.part and not same_thing(e.mention, border) and e.weight("in", "use", "there") > 0),
        None,
    )
    _out_past(register, line, side, border, told or whole)


def _out_past(register: Register, line: Line, side: str, border: Mention, whole: Entry | None) -> None:
    for entry in register.entries:
        if same_thing(entry.mention, border):
            entry.dropped = True
    if whole is None:
        return
    part = register.entry(replace(whole.mention, part=None), line.index, part=f"{side} the {border.name}")
    part.evidence.append(Evidence("out", 1.0, line.index, line.said, "what is above x is out"))
    whole.evidence[:] = [e for e in whole.evidence if not (e.kind == "out" and e.line == line.index)]
