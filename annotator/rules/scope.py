"""Which sentences speak for the whole course, wherever in the walk they are said: by their quantifiers, not by their subject.

In: read lines. Out: the indices of those that hold at every station. What such a sentence rules is blanket.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from annotator.rules.lexicon import APPARATUS, BODY, words
from annotator.rules.reading import Line
from annotator.rules.unnamed import says_unnamed_out

_STOP = r"(?:station|obstacle|event|element|challenge)"
_PLACE = (
    r"(?:course|round|day|place|hall|farm|field|lake|park|garden|building|gym|site|track|venue|barn|ground|grounds|walk|morning|evening|"
    r"circuit|loop|route|job|tour|trail|woods?|shop|yard|forest|show)"
)
_NUMBER = r"(?:two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|\d{1,2})"
_MET = r"(?:come (?:across|to|upon|by)|meet|find|see|pass|run into)"

_ROWS = (
    # every station, all ten, the whole course
    rf"everywhere|throughout (?:the|this|our) {_PLACE}|nowhere (?:do|can|may|must|should|are|is)",
    rf"(?:every|each|any)(?: single| and every)? (?:{_STOP}|place(?: you (?:go|are))?|job|part of (?:the|this|our) {_PLACE})",
    rf"(?:all|all of|every one of|each of|any of|none of) (?:the |our |these |those )?(?:later |other )?(?:{_STOP}s|places)",
    rf"(?:at|on|for|over|in) (?:all|any|each|every one|none)(?: of)?(?: the| these| those)? {_NUMBER}(?= |[,.]|$)"
    r"(?! (?:of|steps|bars|sides|feet|metres))",
    r"at (?:every|each|any)(?: single)? one of (?:these|those|them)|for the lot of (?:them|these)",
    rf"(?:the|this|our|your)? ?(?:whole|entire|complete) {_PLACE}|(?:on|in) (?:no|any|every|each) part of (?:the|this|our) {_PLACE}",
    rf"(?:right|all) (?:round|around|over|through|along) (?:the|this|our) {_PLACE}|across the {_PLACE}",
    rf"(?:all|any)where (?:in|on) (?:the|this|our) {_PLACE}|(?:all the|the whole|whole) way (?:round|through|around)",
    r"all (?:over|day|morning|afternoon|evening)(?= (?:the|this|long|and)|[,.]|$)",
    # from the first to the last
    rf"from (?:the )?(?:(?:very )?start|(?:very )?first(?: whistle| {_STOP})?|one) (?:to|until|till) (?:the )?(?:very )?"
    rf"(?:finish|last|end|{_NUMBER})",
    rf"(?:beginning|start) to (?:the )?end of the {_PLACE}|(?:out|off|forbidden|not|never|nobody)\b[^.]*\bfrom one end to the other",
    rf"for (?:the )?(?:all|whole|entire|complete) (?:the )?{_PLACE}",
    # said once, because it holds everywhere
    r"(?:say|repeat|tell)(?:ing)? (?:it|this|that|you)(?: \w+){0,3} (?:every|each|\w+) times?|"
    r"only say(?:ing)? (?:it|this|that) (?:the )?once|"
    r"(?:so|and) (?:that )?i (?:don't|won't|needn't|do not|will not)(?: have to| need to)? (?:say|repeat) (?:it|this|that|myself)",
    r"(?:goes|counts|holds|applies|true|stands) for (?:everything|every one|everyone of them|all of it|all of them|the lot)",
    r"(?:here|there|this one),? and (?:any|every)(?:where| ?place)(?: else)?",
    r"(?:no|not|nobody|never|out|off)\b[^.]{0,40}, anywhere(?=[,.]|$)",
    r"(?<!hands )(?<!feet )(?<!foot )(?<!hand )(?<!or )\w+s anywhere(?=[,.]|$)",
    # wherever, whenever, any that you meet
    r"wherever (?:you(?:'re| are| go| see| find| meet| come| happen)|it|they)\b|whenever you (?:come|see|meet|find|pass)",
    rf"(?:no matter|(?:doesn't|does not|don't|not) (?:matter|care))(?: to me)? (?:where (?:you|we)(?:'re| are)|which (?:one|{_STOP}))",
    r"where you (?:find|see|meet) (?:it|them|one)",
    rf"(?:any|every|each|all)(?: (?!of\b|the\b)[\w'-]+){{0,3}}? (?:that |which )?you(?:'ll| will| do| may)? {_MET}",
    rf"any(?:thing|one) you {_MET}",
    r"anywhere (?:at all|along the course|you (?:see|find|meet))|any \w+,? anywhere|(?:or|not|nor) anywhere(?! (?:near|on|you))",
    # always
    r"at all times|at any time|in no moment|at no (?:time|point|moment)|(?:bounds|play|out) throughout",
    # here and there
    r"the same for all|(?:and|this is|goes|counts|holds|applies|i say it) for all(?! (?:of you|you|(?:the )?others?|the rest)\b)|"
    r"not here,? (?:and )?(?:not|nor)",
    r"here,? (?:or|and|nor)(?: not)? (?:anywhere|behind|by|everywhere|at|outside)|in here, in|here, (?:there|outside|everywhere)",
    r"(?:these|this one) and (?:the|all) (?:later|other|next) ones|all the (?:later|other) ones",
    r"(?:all|every|each|any|no|not|never|nobody) (?:[\w']+ ){0,8}(?:in|on) (?:this|our) "
    r"(?:hall|farm|field|park|site|venue|gym|barn|place|ground|course)",
    r"on every(?! (?:foot|hand))",
)
EVERYWHERE = re.compile(r"\b(?:" + "|".join(_ROWS) + r")\b")
_WHOLE = re.compile(r"\b(?:whole|entire|complete|all (?:the|this|our)) (?P<what>[a-z]+)(?: (?P<more>[a-z]+))?")
_TOWN = words(
    """
    harbour market yard school campus estate castle village compound wood forest deck beach pool street square church camp pasture ranch
    quay arena club centre stadium track grounds property premises house garden meadow mall shop factory mill mine ship boat
    """
)
"""What a course may be laid out in; nouns that are no piece of it."""

_TOOK_ALL_DAY = re.compile(
    r"\b(?:took|takes?|taken|spent|spend|cost|been|was|were|worked|sat|stood|stand|had)(?: \w+){0,4} "
    r"all (?:day|morning|afternoon|evening)\b"
)
"""How long something lasted."""
_REFERS = re.compile(
    r"\bi mean (?:that|it|this)\b|\b(?:that|this|it|same) (?:goes|holds|counts|applies|is true|is so|is meant)\b|"
    r"\b(?:that's|it's|and|is) (?:true|so|the same|for)\b|^(?:and )?(?:the )?same\b"
)
_ADDS = re.compile(r"^(?:and |, )*(?:but|not|only|except|just|though|save|apart from|same|nor|or)\b")
_COUNTED = re.compile(rf"(?:and |so |, )*(?:number )?(?:{_NUMBER}|one|first|second|third|fourth|fifth|last)(?:ly)?,")
SHORT = 9  # words of a sentence that only takes something out of the one before
HOMEWORK = 6  # sentences that an announced list of rules lasts


def whole_course(text: str) -> bool:
    """Whether the words of a sentence make it hold at every station.

    >>> whole_course("the net is out, here and at all ten"), whole_course("hands anywhere on the net"), whole_course("the whole net can")
    (True, False, False)
    """
    if EVERYWHERE.search(_TOOK_ALL_DAY.sub(" ", text)):
        return True
    return any(match["what"] in _TOWN or match["more"] in _TOWN for match in _WHOLE.finditer(text))


def everywhere(lines: Sequence[Line]) -> frozenset[int]:
    """The lines that speak of the whole course: by their own words, by the line after that takes them up, or going on from one."""
    said = {line.index for line in lines if whole_course(line.plain)}
    more: set[int] = set()
    for line, after in pairwise(lines):
        if after.index in said and line.index not in said and _rules(line):
            own = any(a.kind in ("in", "out") for a in after.acts) or any(m.head in APPARATUS for m in after.mentions)
            if not own and not says_unnamed_out(after.plain, "") and _REFERS.search(after.plain):
                more.add(line.index)
        if line.index in said and after.index not in said and _goes_on(line, after):
            more.add(after.index)
    announced = -1  # the last line of a list of rules that a line announces for the whole course
    for line in lines:
        if line.index in said and not _rules(line):
            announced = line.index
        elif announced >= 0 and line.index - announced <= HOMEWORK and _COUNTED.match(line.plain):
            more.add(line.index)
    return frozenset(said | more)


def _rules(line: Line) -> bool:
    """Whether a line puts something in or out, or says what may not be left out."""
    skips = re.search(r"\b(?:skip|miss|leave out|left out|bypass|jump over)\w*\b", line.plain)
    return skips is not None or any(a.kind in ("in", "out") and a.weight >= 0.8 for a in line.acts)


def _goes_on(line: Line, after: Line) -> bool:
    """ "The barrels are in everywhere. Not the lids, though.": a short sentence that takes something out of the one before."""
    if not line.mentions or len(after.plain.split()) > SHORT or not _ADDS.match(after.plain):
        return False
    return all(m.is_part or m.head not in APPARATUS or m.head in BODY for m in after.mentions) or any(
        m.head == other.head for m in after.mentions for other in line.mentions
    )
