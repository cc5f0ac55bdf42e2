"""Classes that a speaker describes instead of naming them: "if you're on wheels", "whoever was born here".

In: plain small letters. Out: where each description stands, and its words. English describes a class of persons by what they are
or have for longer than a run: a relative clause or a phrase on a word for persons ("anyone with a bad back"), or a condition whose verb
tells a state ("if you are", "have", "can", "live", "weigh"). A condition that tells what happens in the run ("if you fall", "if you're on
the mat") describes nobody. What is ruled for the class is classes.py.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from annotator.rules.class_rows import alternatives, one_of, word_of
from annotator.rules.lexicon import CONTACT_VERBS, NUMBER, words


@dataclass(frozen=True, slots=True)
class Described:
    """A description: where it stands with what opens it ("if you're on wheels"), and its own words ("on wheels")."""

    begin: int
    end: int
    key: str


# ---- what happens in a run, and so describes nobody
_ACTS = CONTACT_VERBS | words(
    "fall slip miss drop lose finish start begin arrive overshoot fail skip pass stop leave roll trip brush hear see"
)
_HAPPENED = one_of(
    rf"(?:{'|'.join(sorted(_ACTS - words('work swim ride carry have')))})(?:ed|s|es|ing)?",
    *alternatives("fell fallen got gotten gone went been done made lost left held stood sat stepped dropped slipped tripped run ran slid"),
    *alternatives("flung listened brought heard said caught stuck hung swung taken took put let grabbed finished started begun reached"),
)
_FOR_NOW = one_of(
    *alternatives("tired stuck done finished ready sure unsure scared frightened nervous afraid brave careful lucky unlucky wet dry cold"),
    *alternatives("out up down off through past there here clear late early quick fast slow strong daft stupid clever smart"),
    *alternatives("too honest good fine okay ok right wrong safe still all so very really just gonna at by near behind across along onto"),
    *alternatives("into halfway back home free happy keen able allowed welcome supposed meant asked told disqualified penalised upside"),
    *alternatives("stood sat one next the my your this that like what where how why kind sort only it them big bigger older not"),
    r"\w+est",
    r"over(?! (?:\w+(?:ty|een|teen)\b|one|two|a hundred))",
    r"on (?:the|that|this|it|your|top|one|both|a|an|all|hands|feet|time)",
    r"in (?:the|that|this|it|your|one|both|trouble|doubt|time|front|play|between)",
    r"(?!(?:expecting|visiting|wearing|carrying|drawing|waiting|working|living|training)\b)\w+ing",
    r"\w+in(?=')",
    *alternatives("tippy wobbly shaky dizzy unsteady wobbling teetering stretched stretching"),
)
"""What somebody is at one moment of a run."""
_HAS_NOW = one_of(
    r"a (?:hand|foot|finger|toe|heel|go|look|try|rest|breather|wobble|choice|mind)",
    *alternatives("to both one your my it them the this that trouble time two three any enough gotta more hands feet"),
    r"had (?!an? (?!(?:first |second |wee |little )?(?:go|turn|rest|try|fall|slip|touch|wobble|breather|drink|look|shot)\b))",
)
"""What somebody has at one moment of a run."""

# ---- what lasts longer
_AILS = one_of(*alternatives("asthma diabetes epilepsy vertigo allergies glasses braces crutches sticks"), r"\w+itis")
"""What somebody has, of words that take no article; others tell the moment ("if you've got grip")."""
_ABLE = r"(?:still )?" + one_of(*alternatives("swim read walk hear see reach pass bend speak ride whistle drive carry"))
_LIVES = one_of(
    one_of(*alternatives("live work study sing wear weigh measure belong attend suffer drive own pay train sleep serve retire"))
    + r"(?:s|ed|d)?",
    r"keeps?(?! (?:an?-)?\w+in[g'])",
    *alternatives("kept wore won declared trained"),
    r"(?:was|were) born",
    r"ha(?:s|ve) (?:ever |already |once )?(?:finished|run|done|completed) (?:an?|the|one|your|their) (?:[\w-]+ ){0,2}"
    r"(?:marathon|race|season|training|exam|test)",
    r"(?:walks?|go|goes|gets?) (?:about )?(?:with|on) (?:an?|sticks?|crutches|wheels)",
    r"came (?:here )?with",
    r"comes? from",
    r"goe?s? to (?:school|church|college)",
    r"gets? \w+sick",
    r"(?:play|swim|ride|row|run)s? for (?:a|the|our|my)",
)
_STATE = one_of(
    rf"(?P<be>(?:'re|'s|,? are| is| am| aren't| isn't)(?: not| already| also)?) (?!{_FOR_NOW}\b)(?=\w)",
    r"(?P<have>(?:'ve| have| has| had| haven't| hasn't| don't have| doesn't have)(?: got| ever| never| already| not)*| got) "
    rf"(?!{_HAS_NOW}\b|{_HAPPENED}\b)(?=(?:an?|no|had|been) \w|{_AILS}\b)",
    rf"(?P<can> (?:can't|cannot|can not|can)) (?={_ABLE}\b)",
    rf"(?P<do> (?:don't |do not |doesn't |still |ever |never )*)(?={_LIVES}\b)",
)
_KEY = r"(?P<key>[\w'-]+(?: [\w'-]+){0,11}?)"
_ENDS = one_of(
    r"[,.;:?!]",
    "$",
    r" (?:you|ye|they|he|she|we|then|it's|there's|that's)\b(?! are to\b)",
    " "
    + word_of(
        *alternatives("can may must should shall will won't don't doesn't cannot can't is are gets? takes? uses? leaves? stays?"),
        *alternatives("go(?:es)? skips? keeps? ha(?:s|ve) needs? starts? finish(?:es)? climbs? walks? also only but"),
    ),
    r" (?:and|so) (?:you|they|the|that|it|then|it's)\b",
    r" (?:or|and) if\b",
    r" (?:the|that|this) [\w-]+(?: [\w-]+)?'s (?:off|out|in|not|yours|fine|closed|shut)\b",
)
"""Where a description ends: at a stop, or where the clause that rules begins."""

# ---- who is described
_MANY = one_of(
    *alternatives("people persons folks? kids children athletes competitors guests visitors ladies gentlemen gents men women boys girls"),
    *alternatives("riders runners climbers"),
)
_SOMEBODY = one_of(*alternatives("anyone anybody everyone everybody somebody someone"))
_CONDITION = re.compile(rf"\b(?P<opens>if|unless|or) you{_STATE}{_KEY}(?={_ENDS})")
_RELATIVE = re.compile(
    r"(?:^|(?<=[,.;:?!] )|(?<= ))"
    + one_of(
        "whoever",
        r"(?<!one )(?<!\w\w\ws )who",
        rf"{_SOMEBODY},? (?:who|that|as)",
        r"(?:those|them),? who",
        "them (?:that|as)",
        "(?:those|any|all) of you,? (?:who|that)",
        rf"(?:the )?{_MANY},? (?:who|that)",
        "the ones?,? who",
    )
    + rf"{_STATE}{_KEY}(?={_ENDS})"
)
_MARKED = re.compile(
    rf"\b(?:{_SOMEBODY}(?= with| without| \w+ing| allergic| born)|{_MANY}|those of you|those(?= with| without)|whoever's) "
    + r"(?P<key>"
    + one_of(
        r"(?:with|without) (?!(?:so|the|it|them|this|that|your|my|both|hands|feet)\b)",
        r"(?:in|on|from) (?!(?:the|a|an|it|them|this|that|your|my|both|hands|feet|top|front|here|there|you|me|time|general|one)\b)",
        *alternatives("allergic born aged wearing carrying drawing expecting", " "),
    )
    + rf"[\w'-]+(?: [\w'-]+){{0,7}}?)(?={_ENDS})"
)
_PADDING = re.compile(
    r"(?: (?:like me|please|today|here|now|only|too|as well|instead|though|ever))+$|^(?:ever|today|already|actually|literally|really) "
)


def described_in(text: str) -> tuple[Described, ...]:
    """The descriptions of persons in a text of small letters, in order, none within another.

    >>> [(one.key, text[one.begin:one.end]) for text in ["if you're on crutches, take the ramp"] for one in described_in(text)]
    [('on crutches', "if you're on crutches")]
    """
    text = text.replace("’", "'")
    found: list[Described] = []
    for pattern in (_CONDITION, _RELATIVE, _MARKED):
        for match in pattern.finditer(text):
            said = match.groupdict()
            if text[match.end() :].startswith("?") or (said.get("opens") == "or" and not found):
                continue  # somebody is asked for; "or you are ..." goes on with a condition and opens none
            key = _key_of(said)
            begin = match.start("opens") + (0 if said["opens"] == "if" else len(said["opens"]) + 1) if said.get("opens") else match.start()
            if len(key) > 2 and key.split()[0] not in NUMBER and all(match.end() <= one.begin or one.end <= begin for one in found):
                found.append(Described(begin, match.end(), key))
    return tuple(sorted(found, key=lambda one: one.begin))


def _key_of(said: dict[str, str | None]) -> str:
    """The words of a description without who it is of and without what only carries the tense: "had a fall" of "if you've had a fall"."""
    told = (said.get("have") or said.get("can") or said.get("do") or "").strip()
    if said.get("be"):
        told = "not" if re.search(r"not|n't", said["be"] or "") else ""
    told = re.sub(r"^'ve ?", "", told)
    said = {**said, "key": _DONE.sub("", said["key"] or "")}
    key = f"{told} {said['key']}".strip()
    while (shorter := _PADDING.sub("", key)) != key:
        key = shorter
    one = _ONE_OF_THEM.fullmatch(key) if said.get("be") and told == "" else None
    return f"{one[1]}{'es' if one[1].endswith(('x', 's', 'ch', 'sh')) else 's'}" if one else key


_DONE = re.compile(r"^ha(?:s|ve) (?=(?:ever |already |once )?(?:finished|run|done|completed) )")
_ONE_OF_THEM = re.compile(r"an? ((?:(?!(?:with|of|in|from|to|who|or|and|bit|little|lot)\b)[a-z-]+ )?[a-z]{3,})")
"""What somebody is: the class is all of them, "if you're a beginner" speaks of the beginners."""


_NEGATES = re.compile(r"\b(?:not|never|no|without|cannot|can't|don't|doesn't|isn't|haven't|hasn't|aren't|didn't)\b")
_SMALL = words(
    "a an the this that these those my your our his her their to of in on at with without not no never have has had got can cannot "
    "can't don't doesn't do does is are be been was were than any ever still yet over under it for from and or you who haven't hasn't "
    "aren't isn't"
)
_OPPOSITES = (
    ("lighter", "heavier"), ("shorter", "taller"), ("younger", "older"), ("smaller", "bigger"), ("less", "more"), ("under", "over"),
    ("below", "above"), ("before", "after"),
)  # fmt: skip
_TURNS = frozenset(word for pair in _OPPOSITES for word in pair)


def leaves_over(one: str, other: str) -> bool:
    """Whether one description is of everybody whom the other leaves over: "with a stick" and "without a stick".

    >>> leaves_over("can't swim", "can swim"), leaves_over("heavier than me", "lighter than me"), leaves_over("in heels", "in boots")
    (True, True, False)
    """
    said, told = one.split(), other.split()
    a, b = ({word.rstrip("s") for word in each if word not in _SMALL | _TURNS} for each in (said, told))
    if any((x in said and y in told) or (y in said and x in told) for x, y in _OPPOSITES):
        return bool(a & b) or not a or not b
    return bool(a & b) and bool(_NEGATES.search(one)) != bool(_NEGATES.search(other))
