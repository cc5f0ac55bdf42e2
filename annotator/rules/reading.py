"""The reading of a walk: every sentence with its skeleton, acts, limbs and names, before anything is put together.

This is the value that the later steps (stations, sheet, blanket) share. It holds nothing but what each sentence says by itself.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Protocol

from annotator.course import Said, Word
from annotator.rules.acts import Act, answered, asks, find_acts, names_a_topic, ruled_alone
from annotator.rules.articles import leaves_out_articles
from annotator.rules.counting import as_station, counting_word
from annotator.rules.limbs import LimbSaid, find_limbs
from annotator.rules.names import NamesList, Naming, namings
from annotator.rules.phrases import NONE_SPOTTED, Mention, Spotted
from annotator.rules.pieces import VERB, ActKind
from annotator.rules.repairs import mend
from annotator.rules.skeleton import Skeleton, skeleton
from annotator.rules.text import Heard, Sentence, as_written, clean, read
from annotator.rules.wholes import give_parts_their_wholes


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence of the walk, read."""

    index: int
    skeleton: Skeleton
    acts: tuple[Act, ...]
    limbs: tuple[LimbSaid, ...]
    names: tuple[Naming, ...]
    plain: str
    """As said, lower case, with punctuation and without what was taken back; a station is called so, whatever it is counted by."""
    said: Said
    opinions: Mapping[tuple[int, int], tuple[float, ...]] = field(default_factory=dict, compare=False)
    """What the language model took phrases for while it read the walk, by first and last token: log odds of weighed.CLASSES."""

    @property
    def start_s(self) -> float:
        return self.said.start

    @property
    def end_s(self) -> float:
        return self.said.end

    @property
    def mentions(self) -> tuple[Mention, ...]:
        return self.skeleton.mentions


@dataclass(frozen=True, slots=True)
class Reading:
    """The whole walk, sentence by sentence."""

    words: tuple[Heard, ...]
    lines: tuple[Line, ...]
    listed: NamesList


class Ear(Protocol):
    """Who hears more in a walk than patterns do."""

    def spot(self, sentences: Sequence[Sentence]) -> Sequence[Spotted]:
        """For each sentence of the walk the words of things in it."""

    def wholes(self, skeletons: Sequence[Skeleton]) -> Sequence[Skeleton]:
        """The sentences' skeletons with parts told by their wholes."""


def read_walk(words: Sequence[Word], names: Sequence[str], ear: Ear | None = None) -> Reading:
    """Read every sentence of the walk. Linear in the number of words."""
    cleaned = clean(words)
    mended = mend(cleaned)
    listed = NamesList(names)
    lines: list[Line] = []
    sentences = tuple(read(mended, listed.plain))
    bare = leaves_out_articles(sentences)
    spotted = ear.spot(sentences) if ear else [NONE_SPOTTED] * len(sentences)
    skeletons: Sequence[Skeleton] = give_parts_their_wholes(
        [skeleton(sentence, bare=bare, spotted=each) for sentence, each in zip(sentences, spotted, strict=True)]
    )
    skeletons = ear.wholes(skeletons) if ear else skeletons
    plains = [" ".join(as_written(w.text).lower() for w in mended[s.tokens[0].word : s.tokens[-1].word + 1]) for s in sentences]
    if (counted := counting_word(plains)) is not None:
        plains = [as_station(plain, counted) for plain in plains]
    for index, (sentence, bones, plain) in enumerate(zip(sentences, skeletons, plains, strict=True)):
        acts = _same_as_before(find_acts(bones), lines[-1].acts if lines else ())
        if lines and _TAKES_UP.match(bones.text) and _TOPIC.match(lines[-1].skeleton.text) and not lines[-1].acts:
            lines[-1] = replace(lines[-1], acts=(_taken_up(lines[-1].skeleton),))
        first, last = sentence.tokens[0].word, sentence.tokens[-1].word
        heard = mended[first : last + 1]
        begin, end = heard[0].order, heard[-1].order
        said = Said(
            start=heard[0].start_s, end=max(cleaned[end].end_s, heard[0].start_s), text=" ".join(w.text for w in cleaned[begin : end + 1])
        )
        lines.append(Line(index, bones, acts, find_limbs(bones, acts), namings(plain, [w.bare for w in heard], listed), plain, said))
    for at, (asked, answer) in enumerate(pairwise(lines)):
        topic = names_a_topic(asked.skeleton) and not any(a.kind in ("in", "out") for a in asked.acts)
        if (asks(asked.skeleton) and not asked.acts) or (topic and ruled_alone(answer.skeleton)):
            lines[at] = replace(asked, acts=answered(asked.skeleton, answer.skeleton))
    return Reading(cleaned, tuple(lines), listed)


def _same_as_before(acts: Sequence[Act], before: Sequence[Act]) -> tuple[Act, ...]:
    """ "So are the straps", "same for the net": the ruling is the last one told, in this sentence or in the one before."""
    out: list[Act] = []
    earlier = next((act.kind for act in reversed(before) if act.kind in ("in", "out")), None)
    for act in acts:
        if act.kind == "include" and act.rule in _AS_BEFORE:
            near = next((a.kind for a in reversed(acts) if a.item < act.item and a.kind in ("in", "out")), None)
            ruling: ActKind | None = near or earlier or ("in" if act.rule == "x likewise" else None)
            out = [other for other in out if other.item != act.item or other.kind in ("start", "finish")]
            out.append(replace(act, kind=ruling) if ruling else act)
        elif not any(a.item == act.item and a.kind in ("in", "out") and a.rule in _AS_BEFORE for a in out):
            out.append(act)
    return tuple(out)


_AS_BEFORE = frozenset({"so is x", "same for x", "x likewise"})


_TOPIC = re.compile(r"^(?:and |then |so |now |, )*@0(?: ,)?(?: all| both)?(?: [^@ ]+)? \.$")
_TAKES_UP = re.compile(rf"^(?:and |then |so |, )*you (?:can |may )?{VERB} (?:them|it|those|these)\b")


def _taken_up(topic: Skeleton) -> Act:
    """ "The pegs, all six. You take them in any order": the first sentence only names what the second one speaks of."""
    return Act("use", 0, "@0", topic.items.index("@0"), 0.6, "x. You take them")
