"""What a person typed where a rule for every station is added: the name of a thing, or a sentence, read as one that was spoken.

In: the text. Out: the rules that it states, how a run is counted where it says that, or that it is a mere name. Nothing is put in here;
a person looks at what was understood first.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from annotator.course import BlanketRule, RunFormat, Word
from annotator.rules.blanket import SKIP, find_blanket, head_of
from annotator.rules.called import named_at
from annotator.rules.classes import EVERYONE, REST, Ruled, rules_of
from annotator.rules.freely import limbs_told
from annotator.rules.groups import EVERYDAY
from annotator.rules.likeness import same_head
from annotator.rules.reading import Line, read_walk
from annotator.rules.runformat import find_format

EVERYWHERE = "At every station,"  # what the place where it is typed says of it
MOST_WORDS = 200
_SECONDS_A_WORD, _PAUSE_S = 0.3, 2.0
_A_NAME, _SURELY = 6, 2  # words of a name at most, and of one that need not be looked at
_RULING = re.compile(
    r"(?<!-)\b(?:no|not|never|nobody|none|nothing|only|but|except|save|all|any|every|everything|anything|everywhere|don't|in|out|off|limits?"
    r"|allowed|permitted|banned|barred|forbidden|prohibited|legal|illegal|okay|ok|fine|good|free|yes|touch|use|skip|avoid|keep|stay|leave|mind"
    r"|may|must|can|cannot|should|hands?|feet|foot|retry|retries|tries|goes|chances?|attempts?|lives|fastest|furthest|wins?|counts?)\b(?!-)"
    r"|n't\b|[.!?;]$",
    re.IGNORECASE,
)  # a thing that has one of them in its name is only looked at first


_LISTS = {",", "and", "or", "nor", "the", "a", "an", "any", "all", "both"}


@dataclass(frozen=True, slots=True)
class Typed:
    """`name` says that the text only names a thing; else it was read, and `left` are the sentences of which nothing was understood.

    A sentence of which a part was understood is not in `left`; what stands behind the last word that is read is.
    """

    rules: tuple[BlanketRule, ...] = ()
    format: RunFormat | None = None
    name: bool = False
    left: tuple[str, ...] = ()


def read_typed(text: str, names: Sequence[str] = ()) -> Typed:
    """Read what was typed as a rule for every station.

    Parameters
    ----------
    text
        One sentence or several, with or without a full stop; only the first 200 words are read, the rest is `left`.
    names
        The names list of the course.

    Returns
    -------
    Typed
        Rules without evidence, confidence or id: they were not said on the walk.

    Examples
    --------
    >>> [(rule.surface, rule.ruling) for rule in read_typed("Nobody may touch the scaffolding.").rules]
    [('scaffolding', 'out')]
    >>> read_typed("the post pads").name, read_typed("The floor is out. The sun shines today.").left
    (True, ('The sun shines today.',))
    """
    words = text.split()
    written, unread = " ".join(words[:MOST_WORDS]), " ".join(words[MOST_WORDS:])
    if not any(sign.isalpha() for sign in text):
        return Typed()
    sentences = [piece for piece in re.split(r"(?<=[.!?;])\s+", written) if piece]
    plain = _lines(written, names)
    placed = _lines(" ".join(f"{EVERYWHERE} {piece[:1].lower()}{piece[1:]}" for piece in sentences), names)
    run = find_format([(line.plain, line.said) for line in plain])
    lines, rules = max(((each, find_blanket(each, each)) for each in (plain, placed)), key=lambda read: len(read[1]))
    read = {line.said.start: _as_for_classes(line, [each for each in rules if _first(each) == line.said.start]) for line in lines}
    rules = tuple(rule for mine in read.values() for rule in mine)
    of_classes = {line.said.start for line in lines if _classes_of(line)}
    if run is not None and any(_classes_of(line) for line in plain if line.said.start in {said.start for said in run.said}):
        run = None  # how a run is counted is one for all
    if not rules and run is None and _is_name(written):
        return Typed(name=True)
    used = {said.start for rule in rules for said in rule.said} - {at for at, mine in read.items() if not mine and at in of_classes}
    used_by_run = {said.start for said in run.said} if run else set[float]()
    counts = {line.index for line in plain if line.said.start in used_by_run}
    not_used = [line.said.text for line in lines if line.said.start not in used and line.index not in counts]
    left = tuple(_as_typed(said.removeprefix(EVERYWHERE).strip(), sentences) for said in not_used)
    left += (unread,) if unread else ()
    bare = tuple(rule.model_copy(update={"said": (), "confidence": None}) for rule in rules)
    return Typed(bare, None if run is None else run.model_copy(update={"said": ()}), left=left)


def _as_typed(said: str, sentences: Sequence[str]) -> str:
    return next((each for each in sentences if each.lower() == said.lower()), said)


def _first(rule: BlanketRule) -> float:
    return min(said.start for said in rule.said)


def _classes_of(line: Line) -> set[str]:
    """The classes that a sentence names; "adults" and "kids" may be everybody."""
    return {key for *_, key in named_at(line)} - EVERYDAY


def _as_for_classes(line: Line, rules: Sequence[BlanketRule]) -> list[BlanketRule]:
    """The rules of a sentence with what it says for classes; none where it names one and what holds for that is not understood.

    What is only told for a class is the other way round for everybody else, as at a station. Limbs are the same for all classes.
    """
    classes = _classes_of(line)
    if not classes:
        return [*rules]
    told = _with_listed([each for each in rules_of(line, lambda _: True) if each.mention is not None], line)
    other = any(rule.rule != "surface" for rule in rules) or SKIP.search(line.plain)
    limbs = limbs_told(line) and any(each.ruling == "in" and each.who in classes for each in told)
    if other or limbs or classes - {each.who for each in told}:
        return []
    things = {line.mentions[each.mention].head: each.mention for each in reversed(told) if each.mention is not None}
    as_for_all = [rule for rule in rules if not any(same_head(head_of(rule.surface or ""), head) for head in things)]
    return [*as_for_all, *(_for_classes(line, k, told, rules) for k in sorted(things.values()))]


def _with_listed(told: Sequence[Ruled], line: Line) -> list[Ruled]:
    """The rules of a sentence, those for a thing also for what is listed beside it: "the handrail and the step are out for seniors"."""
    out, tokens = [*told], line.skeleton.sentence.tokens
    for k in reversed(range(len(line.mentions) - 1)):
        between = {token.low for token in tokens[line.mentions[k].last + 1 : line.mentions[k + 1].first]}
        if between & {"and", "or", "nor", ","} and between <= _LISTS and all(each.mention != k for each in out):
            out += [replace(each, mention=k) for each in out if each.mention == k + 1]
    return out


def _for_classes(line: Line, k: int, told: Sequence[Ruled], rules: Sequence[BlanketRule]) -> BlanketRule:
    """The rule for a thing, by its index among the phrases of the sentence."""
    thing = line.mentions[k]
    as_for_all = next(
        (rule for rule in rules if rule.surface and same_head(head_of(rule.surface), thing.head)),
        BlanketRule(rule="surface", surface=thing.name, part=thing.part, ruling="in", said=(line.said,)),
    )
    mine = {each.who: each.ruling for each in told if each.mention is not None and line.mentions[each.mention].head == thing.head}
    classes = {who: ruling for who, ruling in mine.items() if who not in (REST, EVERYONE)}
    rest = mine.get(REST) or mine.get(EVERYONE)
    if rest is None and (as_for_all.divisions or as_for_all.ruling not in classes.values()):
        rest = as_for_all.ruling
    if rest is None:
        rest = "out" if "in" in classes.values() else "in"
    apart = {who: ruling for who, ruling in classes.items() if ruling != rest}
    contact = (limbs_told(line) or as_for_all.contact) if rest == "in" else None
    return as_for_all.model_copy(update={"ruling": rest, "contact": contact, "divisions": apart or None})


def _lines(text: str, names: Sequence[str]) -> tuple[Line, ...]:
    """Read at a steady pace, with a pause after each full stop."""
    words: list[Word] = []
    at = 0.0
    for piece in text.split():
        words.append(Word(start=at, end=at + _SECONDS_A_WORD, text=piece))
        at += _SECONDS_A_WORD + (_PAUSE_S if piece.endswith((".", "!", "?", ";")) else 0.0)
    return read_walk(words, names).lines


def _is_name(text: str) -> bool:
    """Whether a text of which nothing was understood is no sentence: few words, none that rules or does anything.

    What a thing is for ("climbing wall") does nothing.
    """
    if len(text.split()) > _A_NAME or _RULING.search(text):
        return False
    if len(text.split()) <= _SURELY:
        return True
    tokens = [token for line in _lines(text, ()) for token in line.skeleton.sentence.tokens]
    return not any(token.pos in ("VERB", "AUX") and token.tag not in ("VBG", "VBN") for token in tokens)
