"""Parts told by their whole: "the roof of the pipe", where the pipe was told before; "the step of it"; "touch its handle".

In: the skeletons of a walk in order. Out: the same, where such phrases are parts of their things. A whole that was given before makes a
noun that needs one a part of it; one that comes up only here tells which thing is meant ("the door of the library"). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.components import is_component, is_made_up_of
from annotator.rules.lexicon import APPARATUS, COLOURS, SIZES, words
from annotator.rules.likeness import same_thing
from annotator.rules.phrases import Mention
from annotator.rules.skeleton import Skeleton

NEAR = 8
"""Sentences back in which the whole was told."""
_RELATIONAL = words(
    "floor roof wall door frame wheel seat bed bowl step tread handle spoke hoop screw pedal lid shelf base window leg rim "
    "belly mouth neck spine leather rubber ball"
)
"""Nouns that are mostly of something; a board, a rope or a mat is a thing by itself, whatever it belongs to."""
_FIXED = words("rung rail stile hinge bolt screw nail slat spoke tread latch leather rubber wood")
"""Nouns that are a part where it is said of what ("the rails of it"), or where only they are meant or none ("not the hinges")."""
_LAID_ON = words("side end edge head")  # "crates laid on their sides"
_ONE, _MANY = frozenset({"it", "that", "this"}), frozenset({"them", "those", "these"})
_OWNED = frozenset({"its", "their"})
JUST_BEFORE = 1
"""Sentences back in which a thing was told that a noun tells a part of, though nothing says so."""
_NOT_OF_IT = words("a an no any some every each one this that my our another")
_WHICH = COLOURS | SIZES | words("outer inner outside inside back front side padded steel metal plastic iron rubber cement alloy aluminium")
"""Words that tell which part it is, or what it is made of; any other one makes a thing of a kind ("a broom handle")."""


def give_parts_their_wholes(skeletons: Sequence[Skeleton]) -> tuple[Skeleton, ...]:
    """The skeletons with parts told by a whole that was given before. Linear in the number of phrases."""
    out: list[Skeleton] = []
    recent: list[tuple[int, Mention]] = []
    for at, bones in enumerate(skeletons):
        recent = [each for each in recent if at - each[0] <= NEAR]
        mentions = []
        for mention in bones.mentions:
            given = [told for _, told in recent]
            whole = None if mention.part else _whole_of(bones, mention, given)
            if not whole and not mention.part and not mention.is_part:
                here = [told for there, told in recent if there == at]
                whole = _singled_out(bones, mention, here) or _made_of_it(mention, at, recent)
            mentions.append(_named_in_full(mention, given) if whole is None else _named_in_full(as_part(mention, whole), given))
            if whole is None and not mention.is_part and mention.head != "one":
                recent.append((at, replace(mention, part=None)))
        out.append(replace(bones, mentions=tuple(mentions)))
    return tuple(out)


def _whole_of(bones: Skeleton, mention: Mention, given: Sequence[Mention]) -> Mention | None:
    """The thing given before that the words around a phrase say it is a part of."""
    if mention.of is not None:
        owner = mention.of
        told = not owner.is_part and owner.head in APPARATUS and any(same_thing(owner, told) for told in given)
        return owner if told and (mention.head in _RELATIONAL or is_component(mention.head)) else None
    if mention.is_part:  # "of them" behind such a part is taken up in gather.py
        how_it_lies = mention.head in _LAID_ON and mention.first > 0 and bones.sentence.tokens[mention.first - 1].low == "on"
        alike = (told for told in reversed(given) if told.plural == (mention.determiner == "their"))
        return next(alike, None) if mention.determiner in _OWNED and not how_it_lies else None
    after = [token.low for token in bones.sentence.tokens[mention.last + 1 : mention.last + 3]]
    told_after = len(after) == 2 and after[0] == "of" and after[1] in _ONE | _MANY
    if not given or mention.head not in _RELATIONAL | _FIXED or not (told_after or mention.determiner in _OWNED):
        return None
    many = mention.determiner == "their" or (told_after and after[1] in _MANY)
    return next((told for told in reversed(given) if told.plural == many and told.head in APPARATUS), None)


def _singled_out(bones: Skeleton, mention: Mention, here: Sequence[Mention]) -> Mention | None:
    """ "Take the ladder, only the rungs"; "any bit of the crate, bar the hinges": of what the same sentence has told before."""
    before = tuple(token.low for token in bones.sentence.tokens[max(0, mention.first - 2) : mention.first])
    only = before[-1:] in (("only",), ("just",), ("except",), ("bar",)) or before in (("but", "not"), ("except", "for"))
    fits = mention.head in _FIXED | _RELATIONAL or is_component(mention.head)
    if not only or not fits or mention.determiner not in ("the", None) or mention.mods - _WHICH:
        return None
    return next((told for told in reversed(here) if told.head in APPARATUS and told.head != mention.head), None)


def _made_of_it(mention: Mention, at: int, recent: Sequence[tuple[int, Mention]]) -> Mention | None:
    """ "Step on the bins, feet on the lids": what was told just before and is made up of such things."""
    if not is_component(mention.head) or mention.determiner in _NOT_OF_IT or mention.mods - _WHICH:
        return None
    near = (told for there, told in reversed(recent) if at - there <= JUST_BEFORE)
    return next((told for told in near if is_made_up_of(told.head, mention.head, parts=mention.plural, wholes=told.plural)), None)


def _named_in_full(mention: Mention, given: Sequence[Mention]) -> Mention:
    """ "The wooden boxes. The sides of the boxes are out": a part's thing bears the colour that it was told with, where it had but one."""
    if not mention.part or mention.colours:
        return mention
    alike = [told for told in given if told.colours and told.plural == mention.plural and same_thing(told, mention)]
    if not alike or any(told.colours != alike[-1].colours for told in alike):
        return mention
    return replace(mention, words=alike[-1].words, mods=alike[-1].mods)


def as_part(mention: Mention, whole: Mention) -> Mention:
    """A phrase as one that names a part of a thing."""
    return replace(whole, first=mention.first, last=mention.last, part=mention.name, determiner=mention.determiner, of=None)
