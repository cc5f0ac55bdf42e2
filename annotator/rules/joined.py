"""Noun phrases that belong together: "the rims of the buckets" is a part of a thing, "a sack of oats" one thing.

In: a sentence's tokens and its phrases (phrases.py). Out: the phrases as a listener would write them down. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.lexicon import APPARATUS, BODY, COLOURS, HEAPS, NUMBER, PARTS, QUANTITIES, words
from annotator.rules.phrases import LIMB_LIKE, Mention
from annotator.rules.text import Token

_MADE_OF = {
    "rail": words("ladder stair stairs bed track"),
    "step": words("tower ladder stair stairs"),
    "stile": words("ladder"),
    "upright": words("ladder"),
}
"""Equipment that is a part where it is told of another thing: "the rails of the ladder"."""
_FIXED_ON = words("rim cap lip lid tip bolt screw hardware edge rivet hinge")


def joined(tokens: Sequence[Token], found: Sequence[Mention]) -> tuple[Mention, ...]:
    """ "the rims of the buckets" is one mention: the buckets, part rims. "A stack of tyres" stays whole."""
    out: list[Mention] = []
    for mention in found:
        if out and mention.first <= out[-1].last:
            continue  # taken up as what the thing before is made of
        mention = _told_by_colour(tokens, _filled_with(tokens, mention))
        before = out[-1] if out else None
        if before is not None and _told_again(tokens, before, mention):
            out[-1] = replace(before, words=mention.words, mods=mention.mods)
        gap = [t.low for t in tokens[before.last + 1 : mention.first]] if before else []
        fixed = before is not None and before.head in _FIXED_ON and gap in (["on"], ["in"], ["on", "top", "of"]) and not mention.is_part
        owned = before is not None and gap in (["'s"], ["’s"], ["'"]) and not before.part and mention.determiner is None
        if before and owned and (mention.head in PARTS or mention.head in LIMB_LIKE or mention.head == "leg"):
            out[-1] = replace(before, last=mention.last, part=mention.name, is_part=False)  # "the tower's legs"
            continue
        if gap == [] and before and mention.head == "side" and mention.determiner in ("either", "each", "both"):
            continue  # "the poles either side are out"
        if before and (fixed or gap in (["of"], ["of", "any"], ["of", "all"])) and before.part is None:
            if before.head in HEAPS:
                words = (*before.words, "of", *mention.words)
                out[-1] = replace(before, words=words, last=mention.last, mods=before.mods | mention.mods | {mention.head}, is_part=False)
                continue
            if (
                before.head in APPARATUS
                and before.head not in PARTS
                and not before.is_part
                and (mention.head not in _MADE_OF.get(before.head, ()) or before.mods)
            ):
                out[-1] = replace(before, last=mention.last, of=mention)  # "the boards of the bridge": the boards are things of their own
                continue
            if before.head in QUANTITIES or (before.head == "end" and not before.plural and before.determiner != "either"):
                out[-1] = replace(mention, first=before.first)
                continue
            which = f"{before.determiner} " if before.determiner in ("either", "both") else ""
            out[-1] = replace(mention, first=before.first, part=which + before.name, is_part=False)
            continue
        out.append(mention)
    return tuple(out)


_POINTS = frozenset({"the", "that", "this", "a"})
_WHICH = frozenset({"that", "which"})
_IS = frozenset({"is", "are", "'s", "’s"})
_DONE = frozenset({"painted", "taped", "wrapped", "sprayed", "in", "all"})


def _told_by_colour(tokens: Sequence[Token], mention: Mention) -> Mention:
    """ "The salt box, the green one", "the pallet that is green": a colour told behind a thing belongs to its name."""
    if mention.colours or mention.part or mention.is_part:
        return mention
    lows = [token.low for token in tokens]
    at = mention.last + 1
    at += lows[at : at + 1] == [","]
    which = lows[at : at + 1] and lows[at] in _WHICH and lows[at + 1 : at + 2] and lows[at + 1] in _IS
    one = at < len(lows) and lows[at] in _POINTS and not which
    if one and lows[at + 1 : at + 2] == ["ones" if mention.plural else "one"] and lows[at + 2 : at + 3] and lows[at + 2] in _WHICH:
        one, at = False, at + 2
    if not one and not (at + 1 < len(lows) and lows[at] in _WHICH and lows[at + 1] in _IS):
        return mention
    at += 1 if one else 2
    begin = at = at + (not one and at < len(lows) and lows[at] in _DONE)
    while at < len(lows) and (lows[at] in COLOURS or (one and tokens[at].pos == "ADJ")):
        at += 1
    told = [low for low in lows[begin:at] if low in COLOURS]
    at += one
    ends = at >= len(lows) or tokens[at].pos == "PUNCT" or lows[at] in ("and", "but")
    if not told or not ends or (one and (at > len(lows) or lows[at - 1] != ("ones" if mention.plural else "one"))):
        return mention
    return replace(mention, words=(*told, *mention.words), mods=mention.mods | set(told), last=at - 1)


def _told_again(tokens: Sequence[Token], before: Mention, mention: Mention) -> bool:
    """ "The frame, hands and feet, the wooden frame.": a thing told once more with its colour, between commas."""
    same = before.head == mention.head and before.plural == mention.plural and before.mods <= mention.mods
    apart = mention.first > 0 and tokens[mention.first - 1].low == ","
    ends = mention.last + 1 >= len(tokens) or tokens[mention.last + 1].pos == "PUNCT"
    return same and apart and ends and bool(mention.colours) and not before.colours and not before.part and not mention.part


_PLAIN = frozenset({"NN", "NNS"})
_BEFORE_IT = frozenset({"ADJ", "NOUN", "PROPN"})


def _filled_with(tokens: Sequence[Token], mention: Mention) -> Mention:
    """ "The sack of oats", "a ladder of rope": what a thing holds or is made of belongs to its name where no article stands before it."""
    after = mention.last + 1
    own = mention.head in PARTS or mention.is_part or mention.part or mention.head in QUANTITIES or mention.head in HEAPS
    if own or after + 1 >= len(tokens) or tokens[after].low != "of":
        return mention
    end = after + 1
    while end < len(tokens) and end - after < 4 and tokens[end].pos in _BEFORE_IT:
        end += 1
    told = tokens[after + 1 : end]
    if not told or told[-1].tag not in _PLAIN or any(t.lemma in BODY or t.low in NUMBER for t in told):
        return mention
    said = (*mention.words, "of", *(t.low for t in told))
    return replace(mention, words=said, last=end - 1, mods=mention.mods | {t.lemma for t in told})
