"""The pieces that patterns are put together of: what stands for a thing, ways of allowing and forbidding, verbs of doing, costs.

All over lemmas, as skeletons have them. Everyday English; no pattern knows what a course calls its things.
"""

from __future__ import annotations

from typing import Literal

from annotator.rules.lexicon import CONTACT_VERBS, ORDINAL

ActKind = Literal[
    "in", "out", "use", "there", "start", "finish", "arrive", "next-start", "either", "later", "past", "include"
]  # fmt: skip


def _any(*words: str) -> str:
    return "(?:" + "|".join(words) + ")"


REF = rf"(?:the (?:{'|'.join(ORDINAL)}) (?=ones?\b))?(?P<r>@\d+|it|that|this|those|these|they|them|ones?|others?|former|latter)(?= |$)"
"""A thing, or a word that stands for one: "it", "the third one"."""
AT = r"(?P<r>@\d+)(?= |$)"
PRE = r"(?:(?<= )|^)"
END = r"(?= [,|.]|$)"
IS = r"(?: be| count as| stay| remain)"
ADV = (
    r"(?: (?:also|always|too|all|both|still|definitely|just|only|again|everywhere|very|absolutely|strictly|perfectly|totally|of course|"
    r"then|now|completely|usually|itself|themselves|here|there|well|really|not (?:just|only)))*"
)
PREP = (
    r"(?: (?:on|onto|of|to|at|with|in|into|off|against|from|around|up|down|along|over|across|under|through|by|beneath|behind|between|"
    r"for|near|anywhere|close))*"
)
PP = (
    r"(?: (?:above|below|behind|on|under|along|around|round|next to|at|in|between|beside|near|over|of|from|inside|outside|beneath|"
    r"across|through|up at)(?: the)? (?:@\d+|here|there|end|side|top|bottom|back|front)| halfway \w+| up there| over there| (?:on"
    r" )?(?:each|either|both|one|the other) (?:side|end)s?|"
    r" down there| there| here| itself| @\d+ hang on|"
    r" that [a-z]+(?: [a-z]+)? (?:@\d+|on|from|up|down|off)| (?:mark|paint|cover|wrap|label|tape)\w* (?:in|with) \w+)*"
)
VERB = _any(
    *sorted(CONTACT_VERBS - {"go", "make", "get", "work", "sit", "move", "put", "place"}, key=len, reverse=True),
    "put", "get", "go", "lay", "place", "make use", "take advantage", "work",
)  # fmt: skip
FAR = r"(?: (?!not\b|never\b|no\b|without\b)[^,|. ]+){0,4}?"
GAP = r"(?: [^,|. ]+){0,4}?"
_PLACE = (
    r"(?! (?:@|a\b|an\b|the\b|your|my|our|this|that|these|his|her|its|their|front|line|case|fact|order|half|memory|pair|place|position|"
    r"between|one\b|two\b|three\b|it\b|them\b|which|what|good|bad|for (?:a|some)|the\b))"
)
"""After "in": no phrase that would make it tell a place ("is in the middle")."""
GOOD = (
    rf"(?:in(?=[ ,|.]|$){_PLACE}|okay|ok|fine|allow|allowed|permit|permitted|legal|fair game|fair play|"
    r"good(?! for)|all right|alright|grand|usable|normal|valid|kosher|a go(?= |$)|legit|live|available|your(?= [,|.]|$)|"
    r"at your disposal|yours|for you|part of (?:the|this|it)|game|include|welcome|on the table|cool|a yes|"
    r"(?:there )?(?:to be use|to (?:walk|stand|step|climb|hang|sit) on|for use|to use|for your use)|safe to use|free to use)(?= |$)"
)
BAD = (
    r"(?:out(?= |$)(?! (?:to|from|front|over|along|past|sideways|wide|loud|in front|of (?:reach|sight|the way))\b)|off - limits?|"
    r"off limits?|off , limits?|off(?= [,|.]|$| the (?:menu|table|list|card|agenda|book|map)| bound| course)|forbid|forbidden|prohibit"
    r"|prohibited|ban|banned|"
    r"illegal|no good|a no(?= |$)|no go|no , go|not ok|dead|no touch|lava|a trap|a decoy|scenery|decoration|decorative|for show|just"
    r" for look|"
    r"none of your business|take out(?: of)?|out of)(?= |$)"
)
A_FAULT = r"(?:an? )?(?:\w+ )?(?:fault|foul|fail|fall|failure|penalty|disqualification)(?= [,.|]|$)"
CAN = _any("can", "may", "could", "be able to", "be allow to", "be allowed to", "be free to", "be welcome to", "be permit to",
           "be permitted to", "get to")  # fmt: skip
NOT = r"(?:not|never)"
NOT_TO = (
    rf"(?:can|may|must|should|shall|do|will|be|need to|want you to|better|would) {NOT}"
    r"(?: even| ever| also| welcome to| suppose to| supposed to| mean to| meant to| free to| entitle to| entitled to| authorise to|"
    r" advise to| to| allow to| allowed to| permit to| permitted to| go to| go and| want to see you| let me see you|"
    r" think about| think of| try to)*"
)
HAVE = r"(?:have|get|play with)"
TOUCHING = (
    r"(?:touch|tap|brush|clip|use|grab|hold|catch|grip|graze|bump|hit|knock|lean on|step (?:on|in|into)|stand (?:on|in)|contact(?:"
    r" with)?|"
    r"(?:a|any|your|one|no)(?: \w+)? (?:hand|foot|toe|finger|knee|elbow|heel|shoe|boot) (?:on|in|to|down on|over|touch|hit)|see"
    r" (?:you|anyone|anybody|somebody|a \w+) "
    r"(?:on|near|touch|use|with)|land (?:on|in)|fall (?:on|in|into)|go near)"
)
"""What an athlete might do to a thing, with what it would cost him told beside it."""
COSTS = (
    r"(?:fail|fault|foul|fall|disqualif\w*|penalty|buzz|cost you|you lose|(?:start|go) again|(?:you|he|she|they|runner) (?:be|have"
    r" be) out|be over(?! there| here)|"
    r"end (?:your|the|that) (?:\w+ )?(?:go|run|turn|attempt|try|game|day)|do not count|no good|be off|go home|out of (?:it|the)|"
    r"have (?:your|the|his|her) (?:number|name))(?= |$)"
)
HOLD = r"(?: hold| yourself| yourselves| your [a-z]+| a [a-z]+| one [a-z]+)?"
SOME = r"(?: any(?: part)? of| all of| either of| also| both)?"
LAND = _any(
    r"land", "arrive", "come out", "come down", r"come off(?: the)?(?: \S+)?", "drop", "step down", "step over", "step across", "jump down",
    "swing down", "swing across", "swing over", "swing", "get", "cross over", "cross", "hop down", "hop", "fall", "slide", "climb down",
    "ride it", "run", "walk", "go", "let go", "haul yourself", "pull yourself", "lift yourself", "head", "step off", "dismount", "flop",
    r"jump off(?: \S+)?", r"off(?: \S+)?", "make it", "take you", "bring you", "lead you", "carry on", "make your way", "come", "swing out",
    "roll", "jump", "leap", "step up", "step",
)  # fmt: skip
THEN = (
    r"(?: off(?: \S+)?| up| down| across| over| straight| right| away| it| out| in| back| safely| all| the way| then| up| round| around)*"
    r" (?:on to|on|onto|to|at|over|into|in)"
)
STRIKE = (
    r"(?:ring|hit|smack|slap|press|strike|wallop|bang|punch|whack|push|tap|pull|kick|thump|touch|bash|slam|smash|hammer|"
    r"sound|honk|squeeze|blow|"
    r"throw|raise|grab)"
)
DONE = (
    r"(?:(?:you|that|it|this|they|all|job|the \w+|your \w+) (?:be |have |will be )*(?:all |officially |then |now |basically )*"
    r"(?:do|done|finish|finished|through|complete|completed|home|over|clear|cleared|make it|pass|safe|free|it|sort|that one)"
    r"|(?:do|done|finish|home|game over|job do|end of)|that be (?:you|it|that|all|the end|job do|job|your time|a wrap)|"
    r"(?:complete|conclude|end|finish) (?:it|this|that|the|your)|it count|the (?:clock|time|run|station|obstacle)(?: \w+)? (?:stop|over"
    r"|end))"
    r"(?= [,.|]|$| the| this| that| your| here| with| for)"
)
"""What is said of being done, after the thing on which one is."""
NO_USE = (
    r"(?:see|hear|watch|ask|tell|skip|miss|leave|avoid|ignore|forget|find|start|begin|finish|end|land|fall|pass|overshoot|overrun|choose|"
    r"think|say|count|imagine|come|have|be|do|get|make|let|want|need|mind|worry|know|care|wait|stop|drop|arrive|lose|show|go|not|never|"
    r"run|touch down|look|help|bring|keep|stay|fail|try|also|always|even|just|only|still|really|ever|all|both|then)"
)
USING = rf"(?!{NO_USE}\b)[a-z]{{3,}}"
"""Any verb of doing something to a thing but those that take leave of it, tell of it or come to it."""
BEGIN = (
    r"(?:take(?: up)?(?: your| a| his| her| their)? (?:place|position|spot|mark|stance|seat)|commence|embark|get go|get underway"
    r"|start|begin|set off|kick off|launch|depart|line up|get ready|be ready)"
)
YES_ALONE = (
    r"(?:yes|yeah|yep|sure|absolutely|certainly|definitely|of course|fine|absolutely fine|all fine|okay|ok|all good|no problem|no"
    r" worries|"
    r"go for it|go ahead|be my guest|help yourself|knock yourself out|by all mean|please do|why not|allow|allowed|permitted|in|in play|"
    r"fair game|legal|you (?:can|may)|they (?:be|can)|it (?:be|can)|that be (?:fine|okay|in|allow)|up to you|use (?:it|them)(?: all"
    r" you (?:like|want))?|"
    r"all yours|yours|good|good to go|perfect|feel free|enjoy|no objection)"
)
NO_ALONE = (
    r"(?:no|nope|nah|never|no way|no chance|not a chance|absolutely not|definitely not|certainly not|of course not|not at all|sorry|"
    r"do not(?: you dare| even think about it| even look(?: at it)?| touch(?: it| them)?| bother| use (?:it|them))?|forget (?:it"
    r"|them|about it|about them)|"
    r"not (?:in|in play|allow|allowed|yours|today|for you|permitted|legal|okay|a chance|this time|this year|part of it)|out|out of"
    r" (?:play|bound)|"
    r"off|off limits?|off - limits?|ban|banned|forbid|forbidden|illegal|no good|no go|leave (?:it|them)(?: alone| be)?|"
    r"(?:stay|keep|hand)(?: well| right)? (?:off|away|clear)(?: of)?(?: it| them| that| those)?|not happen|you (?:can|may|must) not|"
    r"they (?:be|can) not|it be not|that be not|lava|scenery|that be (?:a )?(?:out|no|fail|fault|forbid|ban))"
)
"""A ruling that stands by itself: "The struts? No chance.", "The ropes, go for it." """
LEAD = r"(?:^|[,|] )(?:and |so |now |then |but |okay |because |well |right |, )*(?:again )?"
