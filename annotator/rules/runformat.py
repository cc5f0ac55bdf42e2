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
    (re.compile(r"\b(?:may|can) (?:retry|try again|repeat)(?: \w+){0,4} once\b|\btry (?:it )?(?:again|once more)\b"), 1),
)
_VALUE = {"no": 0, "a": 1, "an": 1, "a single": 1, "single": 1, "another": 1, "to": 2, "do": 2}
_FAR = re.compile(r"\b(?:furthest|farthest|how far|further|farther|distance)\b")
_MOST = re.compile(
    r"\b(?:most (?:stations|obstacles|points|elements)|how many (?:stations|obstacles)|number of (?:stations|obstacles)|most "
    r"obstacles cleared)\b"
)
_FAST = re.compile(r"\b(?:fast(?:er|est)?|quick(?:er|est)?|time|clock|watch|stopwatch)\b")
_FAST_FIRST = re.compile(r"\b(?:fastest (?:time )?wins|best time wins|quickest wins)\b")


_NTH_FALL = re.compile(r"\b(second|third|fourth) (?:fall|failure|fail)\b.*\b(?:done|out|over|finished|ends)\b")


def _retries(text: str) -> int | None:
    """The retries that one sentence tells; None where it tells none."""
    nth = _NTH_FALL.search(text)
    if nth:
        return ("second", "third", "fourth").index(nth[1]) + 1
    for pattern, value in _RETRIES:
        matches = [m for m in pattern.finditer(text) if not re.search(r"^(?:to|do) (?:\w+ )?repeats?$", m.group(0))]
        if matches:
            groups = matches[-1].groupdict()
            if groups.get("t"):
                return max(0, NUMBER[groups["t"]] - 1)
            word = groups.get("n") or groups.get("m") or ""
            return value if value is not None else _VALUE.get(word, NUMBER.get(word, 1))
    return None


def find_format(sentences: Sequence[tuple[str, Said]]) -> RunFormat | None:
    """Retries and ranking from sentences of plain lower-case text with their evidence; None where neither was said."""
    retries: int | None = None
    ranking: str | None = None
    said: list[Said] = []
    for i, (text, evidence) in enumerate(sentences):
        told = _retries(text)
        # "you get a do-over, and you get two of them": a number said is more than "a"
        if told is not None and (retries is None or (retries == 1 and told > 1)):
            retries = told
            said.append(evidence)
        if ranking is None and re.search(
            r"\b(?:win|wins|count|counts|rank|ranking|first|ahead|takes it|winner|better|decide[sd]?|place|level|tie|results?|"
            r"scor\w+|sorted|go on)\b",
            text,
        ):
            after = text + " " + (sentences[i + 1][0] if i + 1 < len(sentences) else "")
            far, most = _FAR.search(text), _MOST.search(text)
            if (far or most) and _FAST.search(after):
                ranking = f"{'most stations' if most and not far else 'furthest'} then fastest"
            elif _FAST_FIRST.search(text):
                ranking = "fastest"
            if ranking:
                said.append(evidence)
    if retries is None and ranking is None:
        return None
    return RunFormat(retries=retries, ranking=ranking, said=tuple(said))
