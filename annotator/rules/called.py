"""What a line calls the classes of athletes that it names: by name, by age, by a description.

In: a line as read. Out: its classes, where they stand, and which of two names of one class it is rather called by. What names a class at
all is groups.py, what is ruled for it classes.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.class_rows import APPOSED, REPAIRED
from annotator.rules.groups import EVERYDAY, INFORMAL, Named, named_in
from annotator.rules.reading import Line


def named_at(line: Line) -> list[tuple[int, int, str]]:
    """Every place where a line names a class: first and last token, and key. A class told twice in a breath has one key at both places."""
    text, places = written(line)
    out = []
    named = named_in(text)
    told = without_doubles(named, text)
    for one in named:
        tokens = [k for k, (begin, end) in enumerate(places) if begin < one.end and one.begin < end]
        key = next((each.key for each in told if each.begin <= one.begin and one.end <= each.end), one.key)
        if tokens and (key == one.key or one.kind != "vague"):
            out.append((tokens[0], tokens[-1], key))
    return out


def called_twice(line: Line) -> list[tuple[str, str]]:
    """Pairs of keys by which a line names one class, what it is rather called first: "if you're in sixth grade, sixth graders only".

    An age, a name and a description in one breath are of the same athletes, where nothing says that one comes to the other.
    """
    text, _ = written(line)
    named = [one for one in named_in(text) if one.kind in _RATHER and one.key not in EVERYDAY]
    out = []
    for k, one in enumerate(named):
        for other in named[k + 1 : k + NEAR]:
            between, after = text[one.end : other.begin], text[other.end :]
            apart = _LISTS.search(between) or _MORE.search(between) or _MORE.search(after) or _MAY.search(between)
            if one.kind == other.kind or one.key == other.key or ((apart or _in_a_list(named, k, text)) and not _ALONE.match(after)):
                continue
            first, second = sorted((one, other), key=lambda each: _RATHER.index(each.kind) + 2 * (each.key in INFORMAL))
            out.append((first.key, second.key))
    return out


NEAR = 4
"""How many names on another one is looked for."""
_RATHER = ("name", "age", "described")
_LISTS = re.compile(r"(?:^|,) ?(?:and|or|nor|plus)\b[^,.]{0,24}$|\bas (?:may|can|do|does|will)\b")
_MORE = re.compile(r"\b(?:too|also|as well|likewise|same|both|plus|but not|except|unless|whereas|while|others?|else)\b")
_MAY = re.compile(r"\b(?:may|might|must|mustn't|can|can't|cannot|could|uses?|touch(?:es)?|gets?|takes?|stays?|leaves?)\b")
"""What one is told between two names: the second is told something else."""
_ALONE = re.compile(r",? (?:only|alone)\b")


def written(line: Line) -> tuple[str, list[tuple[int, int]]]:
    """The line as plain text, and where each of its tokens stands in it."""
    text, places, last = "", [], -1
    for token in line.skeleton.sentence.tokens:
        if text and token.word != last:
            text += " "
        places.append((len(text), len(text) + len(token.low)))
        text, last = text + token.low, token.word
    return text.replace("’", "'"), places


def without_doubles(named: Sequence[Named], text: str) -> list[Named]:
    """Classes told once each: of "the wee ones, under nine" the age, of "masters, forty and up" the name, of "ten, no, twelve" the last."""
    kept: list[Named] = []
    explained = -1
    for k, one in enumerate(named):
        if not kept:
            kept.append(one)
            continue
        last = kept[-1]
        between = text[last.end : one.begin]
        listed = between.strip(" ,") == "" and "," in between and (last.kind == "age") == (one.kind == "age")
        listed = listed or _in_a_list(named, k - 1, text) or _contrary(last.key, one.key) or _contrary(one.key, last.key)
        if REPAIRED.fullmatch(between) and last.kind == one.kind:
            kept[-1] = one
        elif APPOSED.fullmatch(between) and not listed and not (last.key in EVERYDAY and one.key.startswith("under-")):
            official = one.kind == "age" and _rather_by_age(last, one, between, text)
            kept[-1] = replace(one if official else last, begin=last.begin, end=one.end)
            explained = one.end
        elif explained == last.end and one.kind == "age" and not _SIDE.search(one.key) and _AND_THE.fullmatch(between):
            kept[-1] = replace(last, end=one.end)  # "the story group, the fours and the fives"
            explained = one.end
        else:
            kept.append(one)
    return kept


def _contrary(one: str, other: str) -> bool:
    """Whether a word for the young stands beside an age of the old, or the other way: "for over-forties, the young ones may not"."""
    young = _YOUNG.match(one) and (other.startswith("over-") or other.endswith(("-and-over", "-and-up")))
    return bool(young or (_OLD.match(one) and (other.startswith("under-") or other.endswith("-and-under"))))


_YOUNG = re.compile(r"(?:young|little|small|wee|tiny|kids|children|youngsters|bairns|littlies|tinies|nippers|tots)")
_OLD = re.compile(r"(?:old|big|tall|grown|adults)")


def _in_a_list(named: Sequence[Named], k: int, text: str) -> bool:
    """Whether the `k`-th class and the next stand in a list of three or more: "cubs, under-eights and beginners"."""
    if k + 2 >= len(named) or named[k].key in INFORMAL or named[k].kind == "vague":
        return False
    between, then = text[named[k].end : named[k + 1].begin], text[named[k + 1].end : named[k + 2].begin]
    return between == ", " and _AND_THEN.fullmatch(then) is not None


_AND_THEN = re.compile(r" (?:and|or)(?: the| our)? ")
_SIDE = re.compile(r"^(?:over|under)-|-and-(?:over|under|up)$")


def _rather_by_age(name: Named, age: Named, between: str, text: str) -> bool:
    """Whether a class that has a name and an age is called by the age: "the wee ones, under nine", "juniors, the under-twelves"."""
    if name.kind == "vague" or name.key in INFORMAL or between == " ":
        return True
    told = text[age.begin : age.end]
    return age.key.count("-") == 1 and age.key.endswith("s") and not _GRADE.match(age.key) and re.search(r"(?<!\byear)s$", told) is not None


_GRADE = re.compile(r"(?:year|grade|form|primary|standard|class)-")
_AND_THE = re.compile(r",? and (?:the )?")
