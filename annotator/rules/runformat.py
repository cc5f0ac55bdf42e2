"""How a run is counted: the number of retries and the ranking, as said anywhere in the walk."""

from __future__ import annotations

import re
from collections.abc import Sequence

from annotator.course import RunFormat, Said
from annotator.rules.lexicon import NUMBER

_NUM = r"(?P<n>no|zero|one|two|three|four|five|six|a|an|a single|single|another|1|2|3|4|5|to|do)"
_AGAIN = (
    r"(?:retry|retries|re-try|re-tries|do-?overs?|second (?:go|chance|try|attempt)s?|extra (?:go|goes|try|tries|lives|life|"
    r"attempts?)|(?:more|extra) (?:attempt|go|try|chance|shot|crack|stab|bash|turn|shout)s?|repeats?|mulligans?|lives)"
)
_RETRIES = (
    (re.compile(rf"(?<!not )\b{_NUM}(?: \w+)? {_AGAIN}\b"), None),
    (
        re.compile(
            r"\b(?:only|just)(?: \w+)? one (?:try|attempt|go|chance|shot|run)\b|\bone (?:try|attempt|go|chance|shot) (?:only|for "
            r"(?:every|each)|at (?:each|every)|per)\b"
        ),
        0,
    ),
    (
        re.compile(
            r"\b(?:in total|total of|altogether|get|have|has|with|there are|there's) (?P<t>one|two|three|four|five|1|2|3|4)"
            r" (?:goes|go|tries|try|attempts?|"
            r"chances?|shots?|cracks?|bites?)\b(?! (?:more|again|extra|left|off))"
        ),
        None,
    ),
    (
        re.compile(
            rf"\b{_NUM} times? (?:to )?(?:try|have a go|go|do it) again\b|\b(?:try|go|do it) again (?P<m>one|two|three|once"
            rf"|twice) times?\b"
        ),
        None,
    ),
    (re.compile(r"\b(?:no|without) (?:second|retr|repeat)\w*|\bfall(?: off)?,? (?:and )?you're (?:done|finished|out)\b"), 0),
    (
        re.compile(
            r"\b(?:one|once|single)(?: \w+)? (?:and|then) (?:that's|you're|it's) (?:it|all|done|out|over)\b|\b(?:do|does|may|can|"
            r"shall|will|must) "
            r"(?:not|never) (?:go|try|do it|run|start|have a go|repeat)(?: it)? (?:again|twice|a second time)\b|\b(?:don't|doesn't|"
            r"can't|cannot|won't)"
            r" (?:get to )?(?:go|try|do it|run|start|have a go|come back)(?: it)? (?:again|twice|a second time)\b"
        ),
        0,
    ),
    (
        re.compile(
            r"\b(?:may|can) (?:retry|try again|repeat)(?: \w+){0,4} once\b|\btry (?:it )?(?:again|once more)\b|\b(?:repeat|again|"
            r"retry)(?: it)?,? "
            r"(?:just |only )?(?:once|one time)\b|(?<!say )\bonce more\b"
        ),
        1,
    ),
)
_VALUE = {"no": 0, "a": 1, "an": 1, "a single": 1, "single": 1, "another": 1, "to": 2, "do": 2}
_FAR = re.compile(r"\b(?:furthest|farthest|how far|further|farther|distance)\b")
_MOST = re.compile(
    r"\b(?:most (?:stations|obstacles|points|elements|clears)|how many (?:stations|obstacles|of (?:these|them|the (?:stations|obstacles)))|"
    r"number of (?:stations|obstacles))\b"
)
_FAST = re.compile(r"\b(?:fast(?:er|est)?|quick(?:er|est)?|time|clock|watch|stopwatch|minutes|seconds)\b")
_FAST_FIRST = re.compile(
    r"\b(?:(?:fastest|quickest)(?: time| run)? (?:wins|is first|comes first|takes it)|(?:best|shortest|lowest) time (?:wins|"
    r"is first|counts)|"
    r"only the (?:clock|time) (?:that )?counts|(?:clock|time) is all that counts)\b"
)


_MISHAP = r"(?:fall|falls|fell|fallen|falling|failure|failures|fail|fails|mishap|mishaps|mistake|mistakes|strike|strikes)"
_SLIP = r"(?:drop|drops|slip|slips|miss|misses)"  # things of a course have these names too
_OVER = (
    r"(?:done|finished|ends?|stops?|home|walk|walks|sends?|blow|off you|to the showers|out(?! (?:of|on|to|at|over|there)\b)"
    r"|over(?=[,.]|$| (?:for|and)\b))"
)
_GOES_WRONG = re.compile(
    rf"\b(?:{_MISHAP}|(?:you|he|she|they|who|whoever|anybody|anyone|may) {_SLIP}(?! (?:on|onto|to|down|in|into)\b)"
    r"|(?:come|comes|came|go|goes|get|gets)(?: \w+)? (?:off|wrong|(?:down|out)(?=[,.]|$| (?:and|once|twice|again)\b))"
    r"|chances?|tries|attempts?)\b"
)
_NO_END = r"(?!(?:(?!\b(?:no|not|never|nobody|any)\b|n't).)*\b(?:again|more|another|restart)\b)"  # but "no more" is an end
_NTH_FALL = re.compile(
    rf"\b(second|third|fourth) (?:{_MISHAP}(?:,| and\b| then\b){_NO_END}"
    rf"|(?:{_MISHAP}|(?P<time>time))\b.*\b{_OVER}\b"
    rf"|{_SLIP},? (?:and )?(?:then )?(?:you're|you are|it's|that's)(?: \w+)? {_OVER}\b)"
)
_ONCE_TWICE = re.compile(r"\b(?:once|one time)\b.*\b(?:twice|two times)\b(?! (?:as|the)\b)")
_MANY_FALLS = re.compile(
    rf"\b(two|three|four) (?:{_MISHAP}(?:,| and|, and) (?:you|it|that|he|she|they|off|out)\b"
    rf"|{_SLIP}(?:,| and|, and) (?:then )?(?:you're|you are|it's|that's)(?: \w+)? {_OVER}\b)"
)
_GO = r"(?:go|try|attempt|chance|shot|bash|crack|stab|turn|shout|run)"
_GO_AFTER_GO = re.compile(rf"\banother {_GO}\b.*\b(?:another|again)\b.*\banother\b|\banother {_GO}\b[^.]*\bif you\b[^.]*\banother\b")
_ONE_GO = re.compile(rf"\b(?:one|single) {_GO},? (?:and )?(?:that's|then you're|you're) (?:it|all|that|done|your lot|out|over)\b")
_DO_OVER = re.compile(
    r"\b(?:(?:get|gets|allowed) (?:to )?(?:try|do|start|have)\b[^,.]{0,24}|(?:can|may) (?:start|(?:try|do|have) (?:it|that|the same \w+)))"
    r" over(?: again)?(?=[,.]|$)"
)


def _counted(text: str, before: str) -> int | None:
    """The retries that follow from the mishap that ends a run: one fewer than it ("the third fall and you walk home")."""
    both = f"{before} {text}"
    nth = None if re.search(r"\b(?:no|without(?: a)?|never a|not a) second\b", text) else _NTH_FALL.search(text)
    if nth and (nth["time"] is None or _GOES_WRONG.search(both)):
        return ("second", "third", "fourth").index(nth[1]) + 1
    if (many := _MANY_FALLS.search(text)) is not None:
        return NUMBER[many[1]] - 1
    if _ONE_GO.search(text):
        return 0
    if re.search(r"\b(?:twice|two times)\b", text) and _ONCE_TWICE.search(both) and _GOES_WRONG.search(both):
        return 1
    if _GO_AFTER_GO.search(text):
        return 2
    return 1 if _DO_OVER.search(text) else None


def _retries(text: str, before: str) -> int | None:
    """The retries that one sentence tells, with the one before it; None where it tells none."""
    told = _counted(text, before)
    if told is not None:
        return told
    if (times := _TIMES_AGAIN.search(text)) is not None:
        return NUMBER[times["n"] or times["m"]]
    for pattern, value in _RETRIES:
        matches = [m for m in pattern.finditer(text) if not re.search(r"^(?:to|do) (?:\w+ )?repeats?$", m.group(0))]
        if matches:
            groups = matches[-1].groupdict()
            if groups.get("t"):
                return max(0, NUMBER[groups["t"]] - 1)
            word = groups.get("n") or groups.get("m") or ""
            return value if value is not None else _VALUE.get(word, NUMBER.get(word, 1))
    return _attempts(text)


_TRY = (
    r"(?:go|goes|try|tries|attempts?|chances?|shots?|trials?|cracks?|bash(?:es)?|stabs?|turns?|opportunit(?:y|ies)|efforts?|pops?|"
    r"lives|runs?)"
)
_MANY = r"(?:one|two|three|four|five|six|1|2|3|4|5|6)"
_FURTHER = r"(?:more|further|extra|new|additional|fresh|spare|other|bonus|free)"
_TRIES_MORE = re.compile(
    rf"\b(?P<n>{_MANY}|a) (?:{_FURTHER})(?: \w+)? {_TRY}\b|\b(?P<m>{_MANY}) {_TRY} (?:more|extra|again|on top|besides|afterwards)\b"
    rf"|\b(?P<another>another|a second|one second|second) (?:{_TRY})(?! (?:at|in|on) (?:life|my|his|her)\b)"
    rf"|\b(?:repeat|redo|retry|try again|do again)(?: (?!{_MANY}\b)\w+){{0,3}} (?P<times>{_MANY}) times?\b"
    rf"|\b(?:repeat|redo|retry)(?: \w+){{0,3}} (?P<often>once|twice)\b"
)
"""Tries beside the first one."""
_TRIES_ALL = re.compile(
    rf"\b(?P<n>{_MANY}|a single)(?: (?!more\b)\w+)? {_TRY}\b"
    rf"|\b(?:try|tries|attempt)(?: (?:it|each|every|this|that|them|station|one))* (?P<times>once|twice|thrice|{_MANY} times?)\b"
)
"""All tries together."""
_GIVEN = re.compile(
    r"\b(?:gets?|got|gotta|have|has|having|gives?|given|giving|allow(?:ed)?|there (?:is|are)|there's|it's|it is|you're on|only|just|"
    r"each|every|everybody|everyone|per|total|altogether|you try|try one|at it)\b"
)
_TIMES_AGAIN = re.compile(
    r"\bagain\b(?:,? (?!and\b|or\b)[\w']+){0,2},? (?P<n>two|three|four|five)(?: more)? times\b"
    r"|\b(?P<m>two|three|four|five)(?: more)? times again\b"
)
_NOBODY_AGAIN = re.compile(
    r"\b(?:no|not|never|nobody|nae|cannot|can't|don't|without|nor)\b(?: [\w']+){0,4} (?:getting back on|get back on|going back|go back|"
    r"come back|comes back|back up|a second|start over|starting over|start again|another|try again|go again)\b"
    r"|\b(?:fall|falls|come|comes|drop|drops|slip|slips)(?: it)? off,? (?:and |then |and then )?(?:you're|you are|that's|it's|he's|she's) "
    r"(?:\w+ )?(?:off|out|done|finished|home|over|it)\b"
)
"""Who falls is done."""


def _attempts(text: str) -> int | None:
    """The retries that follow from how many tries one has: told beside the first one, or all together."""
    if (more := _TRIES_MORE.search(text)) is not None and not re.search(
        r"\b(?:no|not|never|nobody|without|nor)\b|n't\b", text[: more.start()]
    ):
        if more["another"]:
            return 1
        told = more["n"] or more["m"] or more["times"] or more["often"]
        return {"a": 1, "once": 1, "twice": 2}.get(told, NUMBER.get(told, 1))
    if (whole := _TRIES_ALL.search(text)) is not None and _GIVEN.search(text):
        told = (whole["n"] or whole["times"]).removesuffix("s").removesuffix(" time")
        return max(0, {"a single": 1, "once": 1, "twice": 2, "thrice": 3}.get(told, NUMBER.get(told, 1)) - 1)
    return 0 if _NOBODY_AGAIN.search(text) else None


def tells_of_falls(text: str) -> bool:
    """Whether a sentence tells how often one may try.

    >>> tells_of_falls("if you fall you get one retry"), tells_of_falls("you fall into the net")
    (True, False)
    """
    return _retries(text, "") is not None


_TAKES_BACK = re.compile(
    r"\b(?:sorry|no,|not (?:one|two|three|four|five)|wrong|hang on|hold on|wait|correction|actually|i mean|mistake|error|"
    r"apologi[sz]e|changed|instead|"
    r"forget (?:that|it|what)|scratch that|on second thoughts|rather)\b|, no\b|^no\b"
)


def _told_retries(sentences: Sequence[tuple[str, Said]]) -> tuple[int | None, list[Said]]:
    """The number of retries, and the sentences that tell it: the first one said, unless a later one is more exact or takes it back."""
    retries: int | None = None
    said: list[Said] = []
    before = ""
    for text, evidence in sentences:
        told = _retries(text, before)
        corrects = _TAKES_BACK.search(text) is not None or _TAKES_BACK.search(before) is not None
        if told is None and retries is not None and not _ONLY_NO.match(text) and (again := _CORRECTED.search(text)) and corrects:
            told = _VALUE.get(again[1], NUMBER.get(again[1], 0))
        # "you get a do-over, and you get two of them": a number said is more than "a"
        if told is not None and (retries is None or (retries == 1 and told > 1) or (told != retries and corrects)):
            retries = told
            said.append(evidence)
        before = text
    return retries, said


_CORRECTED = re.compile(
    r"^(?:no|sorry|wait|hang on|actually|i mean|well|make (?:that|it)|it's|that's|[, ])*\b(no|none|zero|one|two|three|four|five)\b[^a-z]*$"
)
"""A sentence that does no more than say the number again: "No, none.", "Sorry, two."."""
_ONLY_NO = re.compile(r"^(?:no|[,.! ])*$")
_RANKS = re.compile(
    r"\b(?:win|wins|count|counts|rank|ranks|ranking|first|ahead|takes it|winner|better|best|decide[sd]?|place|level|tie|results?|"
    r"scor\w+|sorted|go on|"
    r"on top|merit|medals?|prizes?|beats?|comes? out|furthest (?:down|along|round|up)|podium|trophy)\b"
)


def _ranking(text: str, after: str) -> str | None:
    """How runs are ranked, as a sentence and the one after it say; None where they do not."""
    if not _RANKS.search(text):
        return None
    far, most = _FAR.search(text), _MOST.search(text)
    if (far or most) and _FAST.search(f"{text} {after}"):
        return f"{'most stations' if most and not far else 'furthest'} then fastest"
    return "fastest" if _FAST_FIRST.search(text) else None


def find_format(sentences: Sequence[tuple[str, Said]]) -> RunFormat | None:
    """Retries and ranking from sentences of plain lower-case text with their evidence; None where neither was said."""
    retries, said = _told_retries(sentences)
    ranking: str | None = None
    for i, (text, evidence) in enumerate(sentences):
        ranking = _ranking(text, sentences[i + 1][0] if i + 1 < len(sentences) else "")
        if ranking:
            said.append(evidence)
            break
    if retries is None and ranking is None:
        return None
    return RunFormat(retries=retries, ranking=ranking, said=tuple(said))
