"""What a sentence that speaks for the whole course rules of its thing, in whatever words: whether one is kept off it or let to it.

Patterns (acts.py) know the usual ways of ruling. Rules for the whole course are told away from the thing, in the speaker's own way ("nobody
puts a finger on a mirror", "grass is fire", "the bales, use them, foot, hand"), so here negation, modality and contact decide, clause by
clause. In: a read line. Out: its thing with its ruling, and a part of it that is ruled otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from annotator.course import Limb, Ruling
from annotator.rules.lexicon import APPARATUS, CONTACT_VERBS, FEET, HANDS, PARTS
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line

_EACH = frozenset({"all", "any", "every", "each", "no"})
_NEGATED = re.compile(r"\b(?:not|never|no|nobody|none|neither|nor|nowhere|without|no_one|hardly)\b|\bno one\b")
_TOUCHED = re.compile(
    r"\b(?:"
    + "|".join(sorted(CONTACT_VERBS | HANDS | FEET | {"contact", "lay", "stay", "for", "tread", "rest", "sleep", "bear", "kick", "play"}))
    + r")\b"
)
_BARRED = re.compile(
    r"\b(?:out(?! (?:there|here|of|on|in|past)\b)|forbid|forbidden|off limits?|off|prohibit|prohibited|ban|banned|"
    r"illegal|fault|foul|keep clear|stay clear|avoid|ignore|leave (?:it|them|that|those|be|alone)|hand off|no go|taboo|tabu|disqualified)\b"
    r"|\b(?:treat|consider|think of|take) @\d+ (?:as|for)\b"
    r"|(?:be|as|like|mean) (?:a |the )?(?:lava|fire|poison|acid|swamp|water|sea|hot|dead|death|electrified|electric|live|glass|"
    r"burning|sacred)\b"
)
_LET = re.compile(
    r"\b(?:can|may|could|welcome|allow|allowed|fine|okay|ok|good|permit|permitted|free|legal|yours|help yourself|let|fair|usable|in play)\b"
)
_DO = re.compile(
    r"^(?:and |so |then |but |please |just |also |always |, )*"
    r"(?:use|hold|grab|touch|take|grip|hang on|hold on|lean|step|stand|push|pull|climb)\b"
)
_ASIDE = re.compile(
    r"^(?:and |but |so |, )*(?:if|when|because|since|while|who|whoever|where|which|that|until|unless|i|we|my|he|she|somebody)\b"
)
_ELSEWHERE = re.compile(r"^(?:and |but |so |, )*(?:if|when|because|since|while|where|until|unless)\b")
_ONLY_SOME = re.compile(r"^(?:and |but |so |, )*(?:only(?! thing| one)|except|unless)\b")
_BARE_NO = re.compile(r"(?:and |but |so |then )*no @\d+(?: (?:at all|please|ever))*")
_POINTS = re.compile(r"\b(?:it|them|they|those|these|that|one|ones|this|there)\b")
_HAND = re.compile(r"\b(?:" + "|".join(sorted(HANDS)) + r")\b")
_FOOT = re.compile(r"\b(?:" + "|".join(sorted(FEET)) + r")\b")
TOPIC = 12  # words of a sentence that only names what the next one rules
FEW = 4  # items of a clause that only takes something out
EARLY = 8  # items in which a sentence sets its thing at its front


@dataclass(frozen=True, slots=True)
class Freely:
    """One thing of a sentence, or a part of it, with its ruling."""

    mention: Mention
    ruling: Ruling
    part: str | None = None
    limbs: tuple[Limb, ...] | None = None


def freely(line: Line, before: Line | None = None, earlier: Freely | None = None, *, scoped: bool = True) -> tuple[Freely, ...]:
    """What a line rules for the whole course.

    Parameters
    ----------
    line
        A line that holds at every station.
    before
        The line before it, which may name its thing ("Second, the scaffolding.").
    earlier
        What the line before ruled, of which a short "but not the cap" takes something out.
    scoped
        Whether the line itself says that it holds everywhere; if not, only what is said of a kind of thing counts ("moss is out").

    Returns
    -------
    tuple of Freely
        One thing at most, and its parts where they are ruled otherwise; empty where no clause rules.
    """
    if _ONLY_SOME.match(line.skeleton.text) or line.plain.endswith("?"):
        return ()
    if earlier is not None and _TAKES_OUT.match(line.skeleton.text):
        return _taken_out(line, earlier)
    topic = marked(line) or _named_before(line, before)
    told: Freely | None = None
    parts: list[Freely] = []
    for clause in _clauses(line):
        things = [line.mentions[int(k)] for k in re.findall(r"@(\d+)", clause)]
        ruling = "out" if scoped and _BARE_NO.fullmatch(clause) else _ruling(clause)
        fitting = [] if _ELSEWHERE.match(clause) else [m for m in things if _fits(m, line) and (scoped or _of_a_kind(m))]
        if told is not None and (part := _part_of(things, told, ruling)) is not None:
            parts.append(part)
            continue
        if fitting and told is None and (topic is None or ruling is not None):
            topic = _chosen(clause, fitting, line)
        own = next(
            (m for m in things if ruling is not None and told is None and topic not in things and _sets_its_own(clause, m, line)), None
        )
        topic = own or topic
        if topic is None or ruling is None or told is not None:
            continue
        if topic not in things and things and not _POINTS.search(clause):
            continue
        told = Freely(topic, ruling)
    if told is None:
        return ()
    return (replace(told, limbs=limbs_told(line) if told.ruling == "in" else None), *parts)


_TAKES_OUT = re.compile(r"(?:and |, )*(?:but|not|only|except|just|though|save)\b")


def _taken_out(line: Line, earlier: Freely) -> tuple[Freely, ...]:
    """ "But roots no.": what a sentence takes out of the thing of the one before."""
    for clause in _clauses(line):
        mention = next((line.mentions[int(k)] for k in re.findall(r"@(\d+)", clause)), None)
        ruling = _ruling(clause) or ("out" if clause.startswith("not ") and earlier.ruling == "in" else None)
        if (
            mention is not None
            and ruling not in (None, earlier.ruling)
            and (mention.is_part or mention.head not in APPARATUS or mention.determiner in ("its", "their") or len(clause.split()) <= FEW)
        ):
            return (Freely(earlier.mention, ruling, mention.part or mention.name),)
    return ()


def _sets_its_own(clause: str, mention: Mention, line: Line) -> bool:
    """Whether a clause speaks of all things of a kind that it begins with: "there are leaves on the ground, leaves are poison"."""
    begins = clause.startswith(f"@{line.mentions.index(mention)} be ")
    return begins and mention.plural and mention.determiner is None and not mention.is_part


def _of_a_kind(mention: Mention) -> bool:
    """Whether a phrase speaks of all things of a kind: "any post", "pillars", "grass", and not "the bench"."""
    return mention.determiner in _EACH or mention.plural or (mention.determiner is None and mention.head in APPARATUS)


def _chosen(clause: str, fitting: Sequence[Mention], line: Line) -> Mention:
    """Of several things of a clause the one that it rules: one of all, else what stands behind the "not"."""
    if (each := next((m for m in fitting if m.determiner in _EACH), None)) is not None:
        return each
    negated = _NEGATED.search(clause)
    behind = [m for m in fitting if negated and clause.find(f"@{line.mentions.index(m)}") > negated.start()]
    return (behind or fitting)[0]


_MARKED = re.compile(r"\b(?:anything|everything|any thing)(?: else)?(?: that)?(?: be)?(?: have)?(?: \w+){0,2}? @(\d+)")


def marked(line: Line) -> Mention | None:
    """ "Anything with a blue ribbon": whatever bears a mark, by the name that a listener gives it."""
    match = _MARKED.search(line.skeleton.text)
    if match is None or not re.search(r"\b(?:with|have|wear|carry|in|mark|show)\b", match[0]):
        return None
    mention = line.mentions[int(match[1])]
    return replace(mention, words=("anything", "with", *mention.words), determiner="any")


def _clauses(line: Line) -> list[str]:
    pieces = re.split(r" ?[,|.] ?| (?=but )| (?=so )", line.skeleton.text)
    return [piece.strip() for piece in pieces if piece.strip()]


def _fits(mention: Mention, line: Line) -> bool:
    """Whether a rule for the whole course can be about a phrase: usual equipment, one of many, or what the sentence sets at its front."""
    if mention.is_part or mention.part:
        return False
    items, tokens = line.skeleton.items, line.skeleton.sentence.tokens
    if mention.first and tokens[mention.first - 1].low in ("at", "by", "near", "behind", "beside"):
        return False  # "at the maypole there hangs a bell"
    place = items.index(f"@{line.mentions.index(mention)}")
    front = line.skeleton.mentions.index(mention) == 0 and place < EARLY
    front = front or (place > 0 and items[place - 1] == "," and items[place + 1 : place + 3] in (("be", "not"), ("be", "never")))
    one_of_all = mention.determiner in _EACH and (mention.determiner != "all" or mention.plural)
    return mention.head in APPARATUS or one_of_all or front


def _ruling(clause: str) -> Ruling | None:
    """In or out, as a clause says it of what it speaks of; None where it says neither."""
    if _ASIDE.match(clause) and not re.match(r"(?:and |but |so )*(?:i|we) (?:do )?(?:not|want no|want not)", clause):
        return None
    if _BARRED.search(clause):
        return None if re.search(r"\bnot (?:out|forbid|forbidden|off|ban|banned)\b", clause) else "out"
    if re.fullmatch(r"(?:and |but |so |then )*(?:no|not|never|nobody|none|can not|no sir|no one)(?: of you| at all| sir| please)*", clause):
        return "out"
    if _NEGATED.search(clause):
        return "out" if _TOUCHED.search(clause) or re.search(r"(?:@\d+|they|it|those) (?:be |can |may )?(?:not|no)$", clause) else None
    if _LET.search(clause) and (
        _TOUCHED.search(clause) or re.search(r"\bbe(?: \w+)? (?:fine|okay|ok|good|legal|yours|free|allow|in play)", clause)
    ):
        return "in"
    return "in" if _DO.match(clause) or re.search(r"\bwelcome to (?:it|that|them|those|@\d+)", clause) else None


def _part_of(things: Sequence[Mention], told: Freely, ruling: Ruling | None) -> Freely | None:
    """ "But not the cap.", "its branches not": a part ruled otherwise than its thing."""
    part = next((m for m in things if m.is_part or m.part or m.head in PARTS or m.determiner in ("its", "their")), None)
    if part is None or ruling is None or ruling == told.ruling:
        return None
    return Freely(told.mention, ruling, part.part or part.name)


def _named_before(line: Line, before: Line | None) -> Mention | None:
    """The thing that the sentence before only names, where this one takes it up."""
    if before is None or any(_fits(m, line) for m in line.mentions) or len(before.plain.split()) > TOPIC or not before.mentions:
        return None
    if any(a.kind in ("in", "out") for a in before.acts):
        return None
    return before.mentions[0] if _SET_FIRST.match(before.skeleton.text) else before.mentions[-1]


_SET_FIRST = re.compile(r"(?:and |then |so |now |also |, )*@0 ,")


def limbs_told(line: Line) -> tuple[Limb, ...] | None:
    """The limbs that a line allows, those after a "not" left out."""
    allowed = " , ".join(clause for clause in _clauses(line) if not _NEGATED.search(clause))
    limbs: list[Limb] = [*(["hands"] if _HAND.search(allowed) else []), *(["feet"] if _FOOT.search(allowed) else [])]  # type: ignore[list-item]
    return tuple(limbs) or None
