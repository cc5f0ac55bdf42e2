"""That what is not named is out, in whatever words it is said.

In: the text of a sentence and of the one after. Out: whether they say it: something not said, and that one keeps off it.
"""

from __future__ import annotations

import re

from annotator.rules.lexicon import CONTACT_VERBS

_SAID = (
    r"(?:named?|mention(?:ed)?|say|said|call(?:ed)?|tell|told|list(?:ed)?|point(?:ed)? (?:it )?out|cover(?:ed)?|talk(?:ed)? "
    r"about|heard?|describe[d]?|show(?:n|ed)?|brief(?:ed)?|specified|hear|given)"
)
_NOT = r"(?:not|n't|never|don't|didn't|haven't|hasn't|without|unless)"
_UNNAMED = re.compile(
    r"(?:\bnot|n't)(?: \w+){0,4} (?:hear|heard|get|come|came)(?: \w+){0,3} (?:from me|of my mouth|from us)\b|"
    rf"(?:\b(?:{_NOT})\b|n't)(?: \w+){{0,6}}? (?:been )?{_SAID}\b|\bunless (?:i|we|somebody)\b|\bunnamed\b|\bnot on (?:the|"
    rf"my) list\b|\beverything else\b|(?<!nor )(?<!or )\banything else\b|\bonly what (?:i|we)\b"
)
_FORBIDDEN = re.compile(
    r"\b(?:out\b|off limits|not (?:allowed|touch|in play)|can't touch|cannot touch|can not touch|a no\b|not yours|hands off|"
    r"(?:may|must|can|is|are)(?: not|n't) (?:to )?be (?:touched|used)|out of (?:play|bounds)|leave it|"
    r"don't touch|forbidden|doesn't exist|does not exist|leave it alone|no good|lava|pretend|isn't there|is not there|poison|hot|"
    r"locked|(?:haven't|have not) got(?: it)?|don't have it|not on the map|don't go there)\b"
)
_REPORTED = re.compile(
    r"\b(?:them|they|some|people|others|somebody|elsewhere|meets where \w+) (?:all )?(?:say|says|said|tell|think|believe)\b|"
    r"\bsome (?:halls|places|meets)\b"
)
"""What others say elsewhere, told to say that it does not hold here."""


_NOT_AGAIN = re.compile(
    r"\b(?:so|because) (?:that )?i (?:don't|won't|needn't|do not|will not)(?: have to| need to)? (?:say|repeat|tell)\b[^,.]*"
)
"""Why something is told now."""
_NOT_SAID = re.compile(
    r"\b(?:(?:not|never|no|nobody|without|haven't|hasn't|hadn't|didn't|don't|doesn't|wasn't|weren't|isn't|ain't)"
    r"(?: (?!skip|touch|use)[\w']+){0,5}? "
    r"(?:named?|mention\w*|say|says|said|call|calls|called|tell|told|list(?:ed)?|point(?:ed)? out|covered|talk(?:ed)? about|describ\w+|"
    r"show\w*|present(?:ed)?|introduc\w+|explain\w*|spoken?|speak|brief\w*|specified|given|announc\w+|read out|"
    r"hear (?:it|me|us|about|from)|heard (?:it|me|us|about|from|of)|"
    r"(?:given?|gave|handed|allowed|offered|promised) you|walk(?:ed)? you|put (?:it )?(?:in|into) your hands?|"
    r"(?:come?|came|leave|left|fall|fell|pass(?:ed)?)(?: \w+){0,3} (?:from|of|out of|over|through) (?:my|our|his|her|\w+'s) "
    r"(?:mouth|lips|tongue))"
    r"|(?:been|kept|keep|remain\w*|am|was|stay\w*) (?:\w+ )?(?:silent|quiet|mum)|my silence|without (?:a word|saying|naming|a mention)|"
    r"(?:say|says|said|tell|tells|told) (?:nowt|nothing) (?:about|of))\b"
)
_GENERIC = re.compile(
    r"\b(?:what|whatever|anything|everything|something|a thing|things|any thing|the rest|all that|if|unless|that which|"
    r"whichever|it)\b|^(?:and |again |so |, )*never\b"
)
_KEPT_OFF = re.compile(
    r"\b(?:not|never|no|nobody|none|cannot|can't|don't|doesn't|do not|isn't|ain't|nothing)\b(?: [\w']+){0,5}? (?:"
    + "|".join(sorted(CONTACT_VERBS - {"go", "get", "make", "take", "come", "move", "work", "run", "walk"}))
    + r"|touching|using|holding|permitted|allowed|yours|there|exist|part|course|map|in it|in play|have it|game)\b"
    r"|\b(?:mean|means) (?:no|cannot|can't|not|out)\b|\b(?:left|leave|leaving)(?: it| that| them| well)? (?:alone|be|it)\b"
    r"|\bhands? off\b|\bkeep (?:your )?\w* ?(?:off|away|clear)\b|\b(?:not|n't|never) (?:legal|take|use|order|happen|open)\b|\billegal\b"
    r"|\b(?:is|are|be|stays?|counts? as|as) (?:\w+ )?(?:shut|closed|locked|private|not for you)\b"
    r"|\byou (?:can't|cannot|can not|may not|mustn't|must not|don't|do not|aren't|shan't)(?=[,.;]|$)"
    r"|\bwalks? (?:straight |right )?past (?:it|them|that)\b|\b(?:do|does|have|has) (?:nowt|nothing)\b"
)


_OFF_WHAT = re.compile(
    r"\b(?:not|never|nobody|no one|none|cannot|can't|don't|doesn't|won't)(?: [\w']+){0,2} (?:touch|use|hold|take|grab|play with)\w*"
    r" (?:what|anything|whatever|a thing|things|something)\b[^,.]*$"
)
"""That one keeps off something general, told before what it is: "nobody uses what ..."."""


def says_unnamed_out(text: str, after: str) -> bool:
    """Whether a sentence, with the one after, says that what is not named is out.

    >>> says_unnamed_out("what i have not mentioned is not permitted", "")
    True
    >>> says_unnamed_out("if you did not hear the whistle, don't start", "")
    False
    """
    text = _NOT_AGAIN.sub(" ", text)
    if _says_it_freely(text):
        return True
    match = _UNNAMED.search(text)
    if not match or _REPORTED.search(text):
        return False
    if re.search(r"\b(?:i|me|we|us|anything|what(?:ever)?|everything|it|something|mention\w*|unless|unnamed)\b", text) is None:
        return False
    return bool(_FORBIDDEN.search(text)) or (len(text.split()) < 12 and bool(_FORBIDDEN.search(after)))


def _says_it_freely(text: str) -> bool:
    """Something general that was not told, and in what is left of the sentence that one keeps off it."""
    if _REPORTED.search(text):
        return False
    for match in _NOT_SAID.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        if _GENERIC.search(before[-60:] + " " + match[0]) and (_KEPT_OFF.search(after) or _FORBIDDEN.search(after)):
            return True
        if _OFF_WHAT.search(before):
            return True
    return False
