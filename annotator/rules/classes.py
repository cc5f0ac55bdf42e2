"""Rules that differ by age or skill class: who may do what, clause by clause.

In: a line that names a class, or everybody else. Out: what it rules, of which of its things, for whom. What names a class is groups.py;
what all that comes to for a thing is divided.py.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from annotator.course import Ruling
from annotator.rules.groups import Named, age_key, named_in
from annotator.rules.lexicon import APPARATUS
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line

REST = "everybody else"
EVERYONE = "everybody"

_NO = re.compile(
    r"\b(?:not|no|never|nope|nah|nowt|don't|can't|cannot|nobody|none|nothing|off(?! (?:the |that |a )?@)|out|banned|forbidden|"
    r"prohibited|excluded|leave|without|"
    r"withdrawn|barred|closed|lava|poison|neither|nor|forfeits?|hands off|past it|penalised|fault|fouls?)\b|n't\b|\bcannae\b|\bdinnae\b"
)
_NO_MATTER = re.compile(
    r"\bno (?:problem|worries|bother|matter|trouble|objection|issue|harm)\b|\b(?:don't|do not|doesn't) (?:mind|care|bother)\b|"
    r"\b(?:can't|cannot|can not|don't) (?:reach|manage|fit|get up|make it)\b|\b(?:can|may) be (?!used|held|touched|taken)\w+\b|"
    r"\b(?:nobody|no one) (?:minds|else)\b|\bnot (?:only|just)\b|\bnot (?:\w+ ){0,2}(?:bothered|fussed)\b|\bout of (?:kindness|fairness)\b"
)
_YES = re.compile(
    r"\b(?:may|can|could|allowed|in|fine|get|gets|got|have|has|use|uses|only|just|for|okay|ok|yes|yep|aye|welcome|too|well|also|"
    r"yours|theirs|"
    r"their|good|stand|hold|take|permitted|admitted|tolerated|available|exempted|exempt|help|legal|free|liberty|let|open|works?)\b|"
    r"'s for\b|"
    r"\b(?:do|does|are|is)[.,]?\s*$"
)
_EXCLUSIVE = re.compile(
    r"\b(?:only|just|alone|solely|exclusively|nobody else|no one else|none else|reserved)\b(?! (?:your |the |their |my )?"
    r"(?:hands|feet|one|two|as|because|like|below|above|there|on|a))"
)
_ALSO = re.compile(r"\b(?:too|also|as well|and so (?:can|may|do)|likewise|same)\b")
_REST = re.compile(
    r"\b(?:(?:everybody|everyone|anybody|anyone|nobody|no one) (?:else|older|bigger|over that|above that)|(?:all |"
    r"for )?(?:the )?(?:other|remaining) "
    r"(?:people|kids|athletes|competitors|ones of you|classes|groups|categories|divisions)|(?:all )?(?:the )?others|"
    r"the rest(?: of (?:you|us|them|ye|yous|people|the \w+))?|rest of (?:you|us|them|ye|yous)|(?:(?<=[,.;] )|(?<=and )|"
    r"(?<=so ))otherwise|(?:older|bigger) than that|"
    r"the open comp\w*)\b"
)
_EVERYBODY = re.compile(r"\b(?:everybody|everyone|all of you|all of us|you all|anybody|anyone|nobody|no one|none of you|all)\b")
_ALL_BUT = re.compile(
    r"\b(?:(?P<none>nobody|no one|none of you)|everybody|everyone|anybody|anyone|all|you all|the whole lot)(?: of you)?,? "
    r"(?:but|except|bar|apart from|other than|excluding|save|minus)(?: for| by)?(?: the| our| those| you| competitors)*\s*$"
)
_UNLESS = re.compile(
    r"\b(?:unless|except|save|if not|except that|bar|apart from|with the exception of|other than)(?: that| if| for| by| you're| you are|"
    r" they're| it's| you| in| one of| an?| the| our| those| competitors| athletes| kids| children| anyone| anybody)*\s*$"
)
_APPOSED = re.compile(
    r"(?:,? (?:so|that's|that is|which is|meaning|i mean|this means|like|aged)(?: you| lot| all| those| from| the| to say| say| is|"
    r",)*|,|,? from|)"
    r",? ?(?:the |those |all )?"
)
_REPAIRED = re.compile(r"^[^%@]*,? (?:no|sorry|i mean|wait|hang on|rather),[^%@]*$")
_SPLIT = re.compile(
    r"(?<=[,.;:?!]) |(?= (?:and|so|while|whereas|because|cause|or) )|"
    r"(?<!body)(?<!one)(?<!all)(?<! lot)(?= but )"
)
_BARE = re.compile(
    r"^(?:\b(?:and|or|the|our|my|so|now|but|if|you're|(?:you|they|who) are|they're|you(?= lot)|for|any|all|those(?! are)|also|too|well|"
    r"okay|yes|ones?|"
    r"then|as|who(?! are)|not|kids|children|athletes|competitors|anybody|anyone|in(?= (?:the |an? )?%)|with|people|that's|lot|aged|"
    r"participants|class)\b|[,.;:?! ]|%\d+)*$"
)
"""A clause that does no more than name classes."""
_GIVES = re.compile(
    r"^(?:and |but |so |then |for |to |the |our |if |you're |that's )*%[\d*]+,? (?:(?:to|on|onto|with|from|take|takes|use|do|have|"
    r"get|gets|start|"
    r"starts?|finish|finishes|hold|walk|climb|go|goes|end|it's|it is|the|a|an|their|your|from) ){0,3}@\d+"
    r"(?: (?:please|instead|there|here|over there))?[,.;:?! ]*$|"
    r"@\d+,? (?:(?:is|are|was|it's|it is|they're|'s|be|there|here|that's|these are|those are) ){0,2}(?:for|to) (?:the |our )?(?:%|others)"
)
_OF_LIMBS = re.compile(
    r"\b(?:hands?|feet|foot|legs?|arms?|knees?|elbows?|fours?|shoes?|boots?|nothing else|tr(?:y|ies)|go(?:es)?|attempts?|chances?|"
    r"times?|half)\b"
    r"(?! (?:on|in) (?:it|that|those|them)\b)"
)
"""How something is done, or how often; not what may be used."""


_THINGS_ONLY = re.compile(
    r"(?:and |but |so |then |to |just |for |everybody |everyone |all of you |it's )*@\d+(?: (?:and|or) @\d+)?[,.;:! ]*"
)
_PLACES = frozenset(["off", "from", "beside", "near", "by", "under", "behind", "above", "between", "of", "over"])
_PERSONS = frozenset(
    ["participant", "competitor", "athlete", "climber", "runner", "player", "member", "fellow", "pupil", "student", "learner"]
)
_OF_ITSELF = re.compile(r"\b(?:may|can|could|do|does|not|no|nope|yes|too|also|only|allowed|nobody|out|in|for|gets?|cannot|never)\b|n't\b")
"""Words that rule also where no thing is named: "under twelves do"; not so "anybody under eleven, stand by me"."""
_AGREES = re.compile(r"(?:yes|yeah|okay|ok|fine|right|all right|good|well|now|in)[,.!]?")
_SETS_OUT = re.compile(
    r"(?:and |so |but |now )*(?:if|for|when|with|as for|in case|in the case|only|kids|children|those|anybody|anyone|any|you)\b"
)
"""How a clause begins that says of whom the next one speaks."""
_WHY = re.compile(r"(?:because|cause|since) ")
_HELD = re.compile(r"\b(?:on|hold|use|touch|take|grab|lean on|stand on) (?:it|them)\b[^@]* (?:to|for|before|when|while) [^@]*@")
"""Something is done with what was spoken of for the sake of something else: "you may stand on it to catch the bar"."""


@dataclass(frozen=True, slots=True)
class _Clause:
    """A clause of a line with classes as `%0` and things as `@0`."""

    text: str
    classes: tuple[Named, ...]
    rest: bool
    mentions: tuple[int, ...]
    acted: Ruling | None
    """What a pattern of acts.py says in it of a thing."""
    used: bool
    """Whether a pattern says that a thing of it is used."""
    before: str
    """All of the line that comes before it."""

    @property
    def ruling(self) -> Ruling | None:
        """In or out, as the clause says it; None where it says neither."""
        own = _NO_MATTER.sub("", re.sub(r"\bif (?:you|they)\b[^%]*%\d*|\bif (?:you|they)\b(?!.*%).*$", "", self.text))
        if self.rest and re.search(r"\b(?:nobody|no one) (?:else|older|bigger)", self.text):
            return "out"
        if _NO.search(own):
            return "out"
        if self.acted is not None and not (self.acted == "in" and _OF_LIMBS.search(own) and not _YES.search(own)):
            return self.acted
        if _YES.search(re.sub(r"^(?:and |but |so )*for\b", "", own)) or (
            (_GIVES.search(self.text) or self.used) and not _OF_LIMBS.search(self.text)
        ):
            return "in"
        return None

    @property
    def bare(self) -> bool:
        """Whether it only names classes."""
        return _BARE.fullmatch(self.text) is not None


@dataclass(frozen=True, slots=True)
class Ruled:
    """One rule for one class, or for the rest. `mention`: index of the thing that the clause names, None for what was spoken of."""

    mention: int | None
    who: str
    ruling: Ruling
    vague: bool = False
    alone: bool = False
    """It is for nobody else."""
    also: bool = False
    pointed: bool = False
    """The clause says "it" or "that": what was spoken of before, and not what the line names after."""


def people(line: Line) -> frozenset[int]:
    """The phrases of a line that stand for a class and are no things."""
    text, places = _written(line)
    named = named_in(text)
    return frozenset(
        k for k, m in enumerate(line.mentions) for one in named if one.begin < places[m.last][1] and places[m.first][0] < one.end
    )


def names_the_rest(line: Line) -> bool:
    """Whether a line says something of everybody else; "otherwise" alone may be said of anything."""
    return any(match[0] != "otherwise" for match in _REST.finditer(line.plain))


def _written(line: Line) -> tuple[str, list[tuple[int, int]]]:
    """The line as plain text, and where each of its tokens stands in it."""
    text, places, last = "", [], -1
    for token in line.skeleton.sentence.tokens:
        if text and token.word != last:
            text += " "
        places.append((len(text), len(text) + len(token.low)))
        text, last = text + token.low, token.word
    return text.replace("’", "'"), places


def _without_doubles(named: Sequence[Named], text: str) -> list[Named]:
    """Classes told once each: of "the wee ones, under nine" the age, of "masters, forty and up" the name, of "ten, no, twelve" the last."""
    kept: list[Named] = []
    for one in named:
        if not kept:
            kept.append(one)
            continue
        last = kept[-1]
        between = text[last.end : one.begin]
        listed = between.strip(" ,") == "" and "," in between and (last.kind == "age") == (one.kind == "age")
        if _REPAIRED.fullmatch(between) and last.kind == one.kind:
            kept[-1] = one
        elif _APPOSED.fullmatch(between) and not listed:
            official = one.kind == "age" and (
                last.kind == "vague"
                or between == " "
                or (one.key.count("-") == 1 and one.key.endswith("s") and text[one.begin : one.end].endswith("s"))
            )
            kept[-1] = replace(one if official else last, begin=last.begin, end=one.end)
        else:
            kept.append(one)
    return kept


def _clauses(line: Line) -> Iterator[_Clause]:
    text, places = _written(line)
    named = _without_doubles(named_in(text), text)
    spans = [(one.begin, one.end, f"%{k}") for k, one in enumerate(named)]
    acted: dict[int, Ruling] = {}
    for k, mention in enumerate(line.mentions):
        begin, end = places[mention.first][0], places[mention.last][1]
        if all(end <= a or b <= begin for a, b, _ in spans):
            spans.append((begin, end, f"@{k}"))
    for match in _REST.finditer(text):
        if all(match.end() <= a or b <= match.start() for a, b, _ in spans):
            spans.append((*match.span(), "%*" if not re.match("nobody|no one", match[0]) else match[0]))
    for act in line.acts:
        if act.kind in ("in", "out") and not act.rule.startswith("weighed") and act.item < len(line.skeleton.at):
            acted.setdefault(line.skeleton.at[act.item], "in" if act.kind == "in" else "out")
    out, at, offsets = "", 0, []
    for begin, end, sign in sorted(spans):
        out += text[at:begin]
        offsets.append((len(out), begin))
        out += sign
        at = end
    out += text[at:]
    place = 0
    for piece in _SPLIT.split(out):
        begin = out.index(piece, place)
        place = begin + len(piece)
        inside = [m.span() for m in re.finditer(r"@\d+", piece)]
        said = [
            ruling
            for token, ruling in sorted(acted.items())
            if any(f"@{k}" in piece for k, m in enumerate(line.mentions) if m.first <= token <= m.last)
        ]
        yield _Clause(
            piece.strip(),
            tuple(named[int(m)] for m in re.findall(r"%(\d+)", piece)),
            _REST.search(piece) is not None or "%*" in piece,
            tuple(int(piece[a + 1 : b]) for a, b in inside),
            said[-1] if said else None,
            any(act.kind == "use" and f"@{act.mention}" in piece for act in line.acts),
            out[:begin],
        )


def _things_of(clause: _Clause, line: Line, known: Callable[[Mention], bool]) -> list[int]:
    """The things of a clause that a rule can be about: those of which something is ruled, else usual equipment and what was spoken of."""
    ruled = {
        act.mention
        for act in line.acts
        if act.kind in ("in", "out", "use", "there", "start", "finish") and not act.rule.startswith("weighed")
    }
    tokens = line.skeleton.sentence.tokens

    def fits(mention: Mention) -> bool:
        place = mention.first > 0 and tokens[mention.first - 1].low in ("at", "to", "by", "near", "in", "off", "from", "over")
        if mention.head in _PERSONS or (
            mention.first > 1 and (tokens[mention.first - 2].low, tokens[mention.first - 1].low) in (("instead", "of"), ("rather", "than"))
        ):
            return False
        return not place if mention.is_part else mention.head in APPARATUS or known(mention)

    usual = [k for k in clause.mentions if fits(line.mentions[k])]
    alone = bool(clause.classes) and len(clause.mentions) == 1 and clause.ruling is not None
    alone = alone and line.mentions[clause.mentions[0]].head not in _PERSONS
    return usual or [k for k in clause.mentions if k in ruled] or (list(clause.mentions) if alone or _GIVES.search(clause.text) else [])


def rules_of(line: Line, known: Callable[[Mention], bool]) -> list[Ruled]:
    """Every rule for a class, or for the rest, in the order said."""
    out: list[Ruled] = []
    waiting: list[Named] = []
    rest_waits = False
    thing: int | None = None
    ruled_before: Ruling | None = None
    clauses = list(_clauses(line))
    for at, clause in enumerate(clauses):
        things = _things_of(clause, line, known)
        ruling = None if clause.bare and clause.classes else clause.ruling
        if _WHY.match(clause.text) or _AGREES.fullmatch(clause.text):
            continue
        if clause.classes and ruling is None and ruled_before and _excepted(clause.text[: clause.text.find("%")]):
            ruling = ruled_before
        if _THINGS_ONLY.fullmatch(clause.text) and things:
            if (waiting or rest_waits) and ruling is None and not _OF_LIMBS.search(clause.text):
                ruling = "in"
            elif _EVERYBODY.search(clause.text):
                out += [Ruled(each, EVERYONE, "in") for each in things]
        if things and _HELD.search(clause.text):
            things = []
        if not things and _OF_LIMBS.search(clause.text):
            waiting, rest_waits = [], False
            continue
        classes = clause.classes or tuple(waiting)
        rest = clause.rest or (rest_waits and not clause.classes)
        if things:
            thing = _meant(things, line)
        told_things: Sequence[int | None] = things if len(things) > 1 and len(clause.classes) < 2 else [thing]
        if clause.classes and (clause.bare or ruling is None):
            if ruling is None and not clause.bare and (things or not _SETS_OUT.match(clause.text)):
                continue
            if ruling is None and not clause.bare:
                waiting = [*clause.classes]
                continue
            waiting = [*waiting, *clause.classes] if all(one.bare or not one.text for one in clauses[:at]) else [*clause.classes]
            if not (clause.bare and ruled_before and at == len(clauses) - 1):
                rest_waits = False
                continue
        if ruling is None and clause.rest:
            rest_waits, waiting = True, []
            continue
        if ruling is not None and things and not classes and not rest and _EVERYBODY.search(clause.text):
            out += [Ruled(each, EVERYONE, ruling) for each in things]
        if ruling is None or not (classes or rest):
            ruled_before = ruling or ruled_before
            continue
        if thing is None and not _points(clause) and not _OF_ITSELF.search(clause.text):
            continue
        ruled_before = ruling
        waiting = [] if clause.classes else waiting
        text = clause.text
        for each in told_things:
            if rest and not clause.classes:
                out.append(Ruled(each, REST, ruling, pointed=_points(clause)))
                continue
            for one in classes:
                before = clause.before + text[: text.find("%")] if clause.classes else clause.before
                out.append(replace(_one_rule(each, one, ruling, before, clause, out), pointed=_points(clause)))
            if rest:
                out.append(Ruled(each, REST, "out" if ruling == "in" else "in", pointed=_points(clause)))
        rest_waits = False
    said = next((each.mention for each in out if each.mention is not None), None)
    out = [replace(each, mention=said) if each.mention is None and not each.pointed else each for each in out]
    if waiting and ruled_before is not None and clauses and clauses[-1].bare and clauses[-1].classes:
        out += [Ruled(thing, one.key, ruled_before, one.kind == "vague", also=True) for one in clauses[-1].classes]
    return out


def _meant(things: Sequence[int], line: Line) -> int:
    """Of several things of a clause the one that it is about: in "I hung a strap off the high rope" the strap."""
    tokens = line.skeleton.sentence.tokens
    placed = [k for k in things if line.mentions[k].first and tokens[line.mentions[k].first - 1].low in _PLACES]
    return next((k for k in reversed(things) if k not in placed), things[-1])


def _excepted(before: str) -> bool:
    """Whether what follows is taken out of what was just ruled."""
    return _ALL_BUT.search(before) is not None or _UNLESS.search(before) is not None


def _points(clause: _Clause) -> bool:
    return re.search(r"\b(?:it|them|those)\b", clause.text) is not None


def _one_rule(thing: int | None, one: Named, ruling: Ruling, before: str, clause: _Clause, so_far: Sequence[Ruled]) -> Ruled:
    """What a clause says of one class, with "unless", "all but" and "only" around it."""
    vague = one.kind == "vague"
    if all_but := _ALL_BUT.search(before):
        return Ruled(thing, one.key, "in" if all_but["none"] or ruling == "out" else "out", vague)
    after = clause.text[clause.text.rfind("%") + 2 :] if clause.classes else ""
    if _UNLESS.search(before) and not (re.match(r",? who\b", after) or _YES.search(after)):
        governing = so_far[-1].ruling if so_far else "out" if _NO.search(before) or ruling == "out" else "in"
        return Ruled(thing, one.key, "in" if governing == "out" else "out", vague)
    alone = ruling == "in" and _EXCLUSIVE.search(clause.text) is not None
    return Ruled(thing, one.key, ruling, vague, alone, _ALSO.search(clause.text) is not None)


def carried_key(line: Line, before: Line | None) -> str | None:
    """ "the small children, under ten. They may use it.": the class told in a breath of its own."""
    if before is None or not re.match(r"(?:so |and )*(?:they|these|those)\b", line.plain):
        return None
    return None if any(a.kind in ("in", "out", "use") for a in before.acts) else age_key(before.plain)


def only_classes(line: Line) -> tuple[Named, ...]:
    """ "Seniors too.": the classes of a line that does no more than name them."""
    clauses = [clause for clause in _clauses(line) if clause.text.strip(" .,")]
    return tuple(one for clause in clauses for one in clause.classes) if all(c.bare and c.classes for c in clauses) else ()


def plainly(line: Line) -> Ruling | None:
    """What a line says of a class that the one before named."""
    if any(a.kind == "out" for a in line.acts) or _NO.search(_NO_MATTER.sub("", line.plain)):
        return "out"
    return "in" if _YES.search(line.plain) else None
