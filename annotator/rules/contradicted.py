"""What a station says of one thing in two ways, far apart and in unlike words: let to it here, kept off it there.

Patterns (acts.py) settle what a thing is in the end, and what is told last or most clearly wins. Whether something else was told before is
asked here of each sentence by itself: who may, what helps, what costs, what one is kept off, clause by clause. In: a station's lines as
they were read. Out: the things that are both, with the two sentences.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from annotator.course import Ruling, Said, SheetSurface
from annotator.rules.acts import NARROWLY
from annotator.rules.gather import CORRECTS
from annotator.rules.groups import class_key
from annotator.rules.lexicon import APPARATUS, CONTACT_VERBS, FEET, HANDS, ORDINAL, words
from annotator.rules.likeness import same_head, set_apart
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line


def _any(*rows: str) -> str:
    """One of the words of the rows, as a whole."""
    return r"\b(?:" + "|".join(rows) + r")\b"


_LIMBS = "|".join(sorted(HANDS | FEET | words("finger palm toe heel sole shoe boot knee elbow sneaker trainer weight")))
_DO = r"(?:" + "|".join(sorted(CONTACT_VERBS | words("contact tread rest haul pull put lay lean come go"))) + r")"
_COSTS = re.compile(
    _any(
        "cost|penalty|penalise|foul|fault|fail|failure|disqualify|disqualified|disqualification|forfeit|lose|lost|whistle|jail|zero|nil|void",
        "(?:do|will|shall|can) not count|nothing (?:will |do )?count|count (?:as )?(?:for )?(?:nothing|zero|against)",
        "(?:score|get|win|earn) (?:nothing|zero|no)|send (?:back|home|off)|be (?:out|a miss|a no|done for|disqualified)",
        "start (?:again|over)|(?:back )?to the (?:start|back)|go home|walk home|gone|strike",
    )
)
_ENDS = re.compile(_any("finish|finished|end|ended|over|done|out|back|sorry|trouble|home|answer|again|penalty|hear"))
"""What happens to whoever does something, where a sentence begins with him."""
_BARE_NO = re.compile(
    r"(?:and |but |so |then |please |well |@\d+ )*"
    r"(?:no|nope|nobody|nothing|never|leave|do not|(?:you |they )?(?:can|may|must|do|be) not|not this one|not those)"
    r"(?: (?:you|please|sir|way|chance|there|at all|ever|thank you|it|them|touch|go))*"
)
"""A clause that is nothing but a no, behind the thing that it is about."""
_WHO = re.compile(
    r"^(?:and |but |so |now |also |remember |mind |that |, )*"
    r"(?:who|whoever|who ever|anybody|anyone|any one|any body|somebody|someone|if|a person|one who|any (?:hand|foot)|"
    rf"(?:a|one|even a|the) (?:\w+ )?(?:{_LIMBS})|{_DO} @\d+)\b"
)
_HAZARD = r"(?:molten|magma|lava|fire|acid|swamp|sea|ocean|shark|crocodile|snake|rattlesnake|death|sin|quicksand|enemy|danger|burn|hell)"
"""What a thing is called that nobody is to touch."""
_KEPT_OFF = re.compile(
    _any(
        "forbid|forbidden|off limits?|prohibit|prohibited|ban|banned|illegal|taboo|poison|lava|hot|dead|no go|not (?:for you|yours|ours)",
        r"hands? off|(?:keep|stay|get|be|go) (?:\w+ )?(?:off|away|clear|out of)|avoid|ignore|bypass|do not trust|close for|closed|barred",
        "off the (?:list|map|menu|table)",
        r"not allow|not permit|out of (?:play|bounds)|no longer|not any ?more|no more|nobody 's|forget (?:that )?(?:it|them|@\d+)",
        r"leave @\d+ (?:alone|be|out|in peace|where)|leave (?:it|them|that|those) (?:alone|be|out|in peace|well)",
        r"leave (?:him|her|it|them|those|@\d+) (?:be|with|in)|(?:them|those|it|that|these) you leave (?:alone|be)",
        r"let (?:it|them|@\d+|in) (?:tranquil|in peace|peace|be|lie|hang|alone)|nothing (?:go|come|touch|land|rest|step|be to)",
        rf"be (?:\w+ ){{0,2}}{_HAZARD}|be a (?:\w+ )?no(?= |$)",
        r"be (?:\w+ )?no (?:concern|business|good|friend|use|help)|(?:go|can not|do not|never) (?:swim|drown)",
        "(?:be|get) (?:exclude|excluded|bar|refuse|refused|close|fragile|rotten|sacred|electrified|not included?)(?= |$)",
    )
    + r"|@\d+ (?:themselves? |all |both )?(?:be|stay|remain) (?:\w+ ){0,2}(?:out|off|a no|no|go)(?= |$)(?! (?:there|here|of|on|in|past|to))"
    rf"|(?<= )'s (?:a |the |all )?{_HAZARD}\b"
)
_DENIED = re.compile(_any("not|never|nobody|no one|no_one|none|nor|neither|nowhere|no"))
_MOVES = words("go get make come move work run walk cross jump hop")
_TOUCH = re.compile(_any("|".join(sorted(CONTACT_VERBS - _MOVES)), _LIMBS, "for you|yours|exist"))
_NO_MATTER = re.compile(
    _any(
        r"not (?:mind|matter|worry|care|a problem|hurt|bite|out|off|forbid\w*|forget|cost)|nothing wrong|never mind|can not fail",
        "no (?:harm|problem|matter|worry|bother|penalty|shame|fault|foul)|not a (?:foul|fault|fail)",
    )
)
_LET = re.compile(
    _any(
        "can|may|could|welcome|allow|allowed|fine|okay|ok|all right|alright|permit|permitted|free|legal|yours|help|friend|service|gift",
        "fair game|in play|belong|grab|for (?:pull|hold|grab|step|stand|climb|use|your|the (?:hand|foot))|good|use|useful|invite|handy",
        "blessing|comfortable|not mind|no harm|nothing wrong|no matter|there for|as (?:you|much|many) (?:like|want|as you)|go ahead",
        "roll in (?:it|them)|have at",
        "by all mean|in order|trust|make use|approve",
    )
)
_OTHERWISE = re.compile(
    _any(
        "skip|miss out|leave out|left out|bypass|jump over|past|beyond|overshoot|until|till|unless|before|let go of",
        "fall (?:off|from|in)|come off|drop from|without touch",
    )
)
"""What is told of leaving a thing out, coming off it or when it may be used, and not of using it."""
_FROM = re.compile(
    r"\b(?:off|from|past|over|beyond|outside|miss|skip|but|except|near|behind|beside|by|only|under|round|between|into|out) (?:of )?$"
)
_FOR_ALL = re.compile(
    _any(
        "nobody|no one|whoever|for all|all of you|any of you",
        "(?:everyone|everybody|anybody|anyone)(?! else| in | under| over| below| above| of)",
    )
)
_LAST_YEAR = re.compile(_any("last (?:year|week|month|time|season)|yesterday|used to|(?:he|she) (?:have|did|be)"))


@dataclass(frozen=True, slots=True)
class Told:
    """What one sentence says of a thing by itself."""

    mention: Mention
    ruling: Ruling
    line: Line
    sure: bool
    limbs: frozenset[str]


@dataclass(frozen=True, slots=True)
class TwoWays:
    """A thing that is ruled in two ways, by the earlier and the later sentence."""

    mention: Mention
    first: Ruling
    """By the earlier sentence; the later one says the other."""
    said: tuple[Said, Said]


def told_by(line: Line) -> Iterator[Told]:
    """What a sentence by itself says of each thing in it."""
    if line.plain.endswith("?"):
        return
    clauses = [piece.strip() for piece in re.split(r" ?[,|.] ?| (?=but )| (?=so )", line.skeleton.text) if piece.strip()]
    for before in range(len(clauses) - 2, -1, -1):
        if _ONLY_A_NO.fullmatch(clauses[before]):
            clauses[before : before + 2] = [f"{clauses[before]} {clauses[before + 1]}"]  # "nobody, but nobody, touches the rope"
    for index, mention in enumerate(line.mentions):
        at = next((k for k, clause in enumerate(clauses) if f"@{index}" in clause.split()), None)
        if at is None or _aside(clauses[at], index) or _BUT_SOME.search(clauses[at]) or _counted_off(line, mention):
            continue
        acts = [act for act in line.acts if act.mention == index]
        further = _going_on(clauses[at:], index)
        said = _said_of(index, clauses[at], further, line)
        barred = any(act.kind == "out" and act.weight >= SURE and not act.rule.endswith(NARROWLY) for act in acts)
        let = any(act.kind == "in" and act.weight >= SURE for act in acts)
        tied = any(act.kind == "use" and act.weight >= USED for act in acts) or any(
            limb.mention == index and limb.how in ("named", "only") for limb in line.limbs
        )
        ruling: Ruling | None = said
        if said is None and barred != let:
            ruling = "out" if barred else "in"
        elif said is None and tied and not barred:
            ruling = "in"
        if ruling is not None:
            yield Told(mention, ruling, line, barred or let, _limbs_in(f"{clauses[at]} {further}"))


def told_of_front(line: Line) -> Ruling | None:
    """What a sentence says of the thing at its front, in the first clause that rules and speaks of no other thing."""
    clauses = [piece.strip() for piece in re.split(r" ?[,|.] ?| (?=but )| (?=so )", line.skeleton.text) if piece.strip()]
    first, mine = clauses[0], line.mentions[0]
    if line.plain.endswith("?") or class_key(line.plain):
        return None
    for clause in clauses:
        others = [
            m
            for m in map(line.mentions.__getitem__, map(int, re.findall(r"@(\d+)", clause)))
            if not same_head(m.head, mine.head) and m.head in APPARATUS
        ]
        begins = re.match(r"(?:and |but |so |because )*@(\d+)", clause)
        if begins and not same_head(line.mentions[int(begins[1])].head, mine.head):
            continue
        if clause is not first and others and not _AGAIN.search(clause):
            continue
        text = re.sub(
            r"@(\d+)", lambda m: "@0" if same_head(line.mentions[int(m[1])].head, mine.head) else m[0], _in_words(clause, line, 0)
        )
        ruling = _says(text, 0, None if clause is first else first)
        if ruling is not None and not _OTHERWISE.search(text):
            return ruling
    return None


_ONLY_A_NO = re.compile(r"(?:(?:and|but|so|no|nobody|no one|never|not|please|ever|ever so) ?)+")


def _counted_off(line: Line, mention: Mention) -> bool:
    """ "The fourth step": one of them by its place in a row."""
    before = max(mention.first - 1, 0)
    return any(token.low in ORDINAL for token in line.skeleton.sentence.tokens[before : mention.last + 1])


SURE = 0.8  # weight of a pattern that is sure
USED = 0.5  # weight of a pattern by which a thing is used
FURTHER = 4  # clauses that go on about a thing


def _limbs_in(clause: str) -> frozenset[str]:
    words = set(clause.split())
    return frozenset(limb for limb, names in (("hands", _OF_HANDS), ("feet", _OF_FEET)) if words & names)


_OF_HANDS = HANDS | {"finger", "palm"}
_OF_FEET = FEET | {"toe", "heel", "sole", "shoe", "boot", "trainer", "sneaker", "tread", "step", "stand"}


def _aside(clause: str, index: int) -> bool:
    """Whether a clause speaks of another thing that is at, off or past this one, or of only some of it."""
    before, after = clause[: clause.index(f"@{index}")], clause[clause.index(f"@{index}") + len(f"@{index}") :]
    if re.search(r"@\d+ (?:(?!be |can |may |will |not |and |or |never )\w+ ){1,3}$|\bin $", before):
        return True  # "the tap on a drum is no step"
    if re.search(r"\b(?:all|that|which|what|whatever) [^@]*\b(?:on|to|in|from|off|under|by|round) $", before):
        return True  # "all that is stuck on the beams, leave it be"
    return bool(
        (_FROM.search(before) and not re.search(r"\b(?:away|keep|stay|hand|clear) (?:away )?(?:off|from) $", before)) or _SOME.match(after)
    )


_SOME = re.compile(r" (?:with|that have|which have|who have|mark|paint) ")


def _going_on(clauses: Sequence[str], index: int) -> str:
    """The clauses after the first that go on about its thing, as long as no other one is spoken of."""
    own = clauses[0]
    if (
        re.search(
            r"\b(?:at|in|on|after|behind|beside|by|near|under|over|along|from|to|off|of|between|with) $", own[: own.index(f"@{index}")]
        )
        and re.findall(r"@\d+", own) != [f"@{index}"]
        and not (clauses[1:] and _THERE.search(clauses[1]) and re.search(rf"\b(?:in|on|to) @{index}\b", own))
    ):
        return ""
    out: list[str] = []
    for clause in clauses[1 : 1 + FURTHER]:
        other, again = clause.find("@"), _AGAIN.search(clause)
        if other >= 0 and (again is None or again.start() > other) and not clause.startswith(f"@{index}"):
            break
        out.append(clause)
    return " , ".join(out)


_THERE = re.compile(r"^(?:and |so |but )*[^@]*\b(?:on |in )?there\b")
_AGAIN = re.compile(r"\b(?:it|them|they|those|these|that|one|this|there)\b")


def _said_of(index: int, clause: str, further: str, line: Line) -> Ruling | None:
    """What a clause, or where it says nothing the clauses that go on about its thing, let one to or keep one off."""
    clause, further = _in_words(clause, line, index), _in_words(further, line, index)
    if _OTHERWISE.search(clause) or _BUT_SOME.search(clause + " , " + further):
        return None
    own, more = _says(clause, index), _says(further, index, clause) if further else None
    if own == "in" and more == "out":
        return None
    return own or more


_BUT_SOME = re.compile(r"\b(?:except|apart from|save for|all but|not the)\b")


def _in_words(text: str, line: Line, index: int) -> str:
    """A clause in which phrases that are no usual equipment ("no harm", "at your service") stand as their words."""

    def word(match: re.Match[str]) -> str:
        mention = line.mentions[int(match[1])]
        return mention.head if mention.head in _RULING_NOUNS and int(match[1]) != index else match[0]

    return re.sub(r"@(\d+)", word, text)


_RULING_NOUNS = words(
    "sea ocean lava fire poison acid swamp shark crocodile snake rattlesnake death sin magma quicksand enemy danger concern business no "
    "harm problem matter service friend gift help penalty foul fault whistle miss jail shame blessing use bother trouble fail failure "
    "disqualification strike minus"
)


def _says(text: str, index: int, first: str | None = None) -> Ruling | None:
    """Whether words let one to a thing or keep one off it. `first`: the clause that named the thing, where they come after it."""
    bare = _NO_MATTER.sub(" ", text)
    let = _LET.search(text) is not None
    opens = first or text
    blamed = _WHO.search(opens) is not None
    denied = _DENIED.search(bare) is not None
    if _KEPT_OFF.search(bare) or (_COSTS.search(bare) and (blamed or not let)):
        return "out"
    if blamed and not _IF.match(opens) and _ENDS.search(bare[bare.find(f"@{index}") + 1 :]):
        return "out"
    if denied and (_TOUCH.search(bare) or re.search(_NOT_IT.format(index), bare)):
        return "out"
    if first is not None and any(_BARE_NO.fullmatch(clause) for clause in text.split(" , ")):
        return "out"
    if first is None and not denied and not blamed and re.search(_DONE.format(index), text):
        return "in"
    return "in" if let and not denied else None


_NOT_IT = (
    r"@{0} (?:no|never|not)\b|\bnot (?:even )?@{0}\b|"
    r"@{0}(?: \w+){{0,3}} (?:be|ay) (?:not|no|never)\b(?! (?:bad|far|hard|high|deep|easy|heavy|much))"
)
_DONE = (
    r"(?:\b(?:hand|foot|knee|finger|toe)\b|\b" + _DO + r"\b)(?: (?!be |have )[\w']+){{0,3}} @{0}(?= |$)|"
    r"@{0}(?: \w+){{0,2}}(?: be)? (?:yours|sound|safe|solid|for (?:you|us|everybody|that|this)|in|yes|help)\b(?! (?:the|a|front|case|@))"
)
"""What one does with a thing, or has it for."""
_IF = re.compile(r"(?:and |but |so |now )*(?:if|" + _DO + r")\b")


def two_ways(lines: Sequence[Line]) -> list[TwoWays]:
    """The things of a station that one sentence lets to and another keeps off, each once; corrected ones and those for a class are none."""
    told = told_in(lines)
    out: list[TwoWays] = []
    for k, later in enumerate(told):
        if not holds(later):
            continue
        for earlier in told[:k]:
            if (
                earlier.line.index < later.line.index
                and earlier.ruling != later.ruling
                and _one_thing(earlier.mention, later.mention)
                and not _for_a_class(earlier.line)
                and not (earlier.limbs and later.limbs and not earlier.limbs & later.limbs)
                and later.ruling == "out"
            ):
                _note(out, TwoWays(later.mention, earlier.ruling, (earlier.line.said, later.line.said)))
    return out


def told_in(lines: Sequence[Line]) -> list[Told]:
    """What each sentence says of each thing, those that correct something left out."""
    corrections = {line.index for line in corrected_in(lines)}
    return [each for line in lines for each in told_by(line) if line.index not in corrections]


def corrected_in(lines: Sequence[Line]) -> list[Line]:
    """The sentences that correct something, or follow one that does."""
    marked = [CORRECTS.search(line.plain) is not None for line in lines]
    return [line for at, line in enumerate(lines) if marked[at] or (at > 0 and marked[at - 1])]


def holds(told: Told) -> bool:
    """Whether a sentence is for everybody and of today."""
    return not (_LAST_YEAR.search(told.line.skeleton.text) or _for_a_class(told.line))


def _note(out: list[TwoWays], each: TwoWays) -> None:
    if not any(same_head(_noun(each.mention), _noun(other.mention)) for other in out):
        out.append(each)


def _called(mention: Mention, name: str, part: str | None) -> bool:
    """Whether a phrase means what a line of the sheet or a rule names: its part, or the whole of it."""
    called = (part or name).replace("-", " ").split()
    return (
        bool(called)
        and same_head(_noun(mention), called[-1])
        and not (mention.part and not part and not same_head(mention.part.split()[-1], name.split()[-1]))
        and (mention.mods <= set(name.replace("-", " ").split()) or (mention.part is not None and not part))
        and not mention.ordinal
        and not ORDINAL.keys() & set(name.lower().split())
    )


def _noun(mention: Mention) -> str:
    return mention.part.split()[-1] if mention.part else mention.head


def _one_thing(earlier: Mention, later: Mention) -> bool:
    if not same_head(_noun(earlier), _noun(later)) or set_apart(earlier, later):
        return False
    if later.ordinal and later.ordinal != earlier.ordinal:
        return False
    return not (later.mods - earlier.mods and earlier.plural) or later.plural


def _for_a_class(line: Line) -> bool:
    return class_key(line.plain) is not None and not _FOR_ALL.search(line.plain)


@dataclass(frozen=True, slots=True)
class Spoken:
    """A station for `told_elsewhere`: what is said in its span, its name, and what it came to."""

    lines: tuple[Line, ...]
    name: str | None
    surfaces: tuple[SheetSurface, ...]


def told_elsewhere(stations: Sequence[Spoken]) -> Iterator[tuple[int, TwoWays]]:
    """What a later station's sentence says of a thing of an earlier one against what was told there: which station, and what.

    Such a sentence names the station, or another thing besides that only that station has ("the straps of the canoe rack").
    """
    heads = [Counter(m.head for line in station.lines for m in line.mentions) for station in stations]
    for k, station in enumerate(stations):
        for line in station.lines:
            here = {m.head for m in line.mentions}
            new = {head for head in here if heads[k][head] <= sum(m.head == head for m in line.mentions)}
            if not new:
                continue
            for each in told_by(line):
                if each.mention.head not in new or not holds(each) or not (each.sure or each.ruling == "out"):
                    continue
                fitting = [j for j in range(k) if _meant(line, each, new, stations[j], heads[j])]
                if len(fitting) != 1:
                    continue
                there = [s for s in stations[fitting[0]].surfaces if s.ruling != each.ruling and _called(each.mention, s.name, s.part)]
                if there and there[0].said and there[0].said[0].start < line.start_s and not there[0].divisions:
                    yield fitting[0], TwoWays(each.mention, there[0].ruling, (there[0].said[0], each.line.said))


def _meant(line: Line, told: Told, new: set[str], station: Spoken, heads: Mapping[str, int]) -> bool:
    if told.mention.head not in heads:
        return False
    named = (station.name or "").lower().split()
    by_name = bool(named) and all(re.search(rf"\b{re.escape(word)}", line.plain) for word in named) and named[-1] != told.mention.head
    whole = told.mention.of.head if told.mention.of is not None else None
    return by_name or told.mention.part is not None or whole in heads or any(head in heads for head in new if head != told.mention.head)
