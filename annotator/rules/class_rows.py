"""The words by which rules for a class of athletes are told, as tables that classes.py reads clauses by.

Each table is a row of short alternatives with what it is for before it; a row is a regular expression over plain small letters. In a clause
a class stands as `%0`, a thing as `@0`, everybody else as `%*`. What names a class is groups.py.
"""

from __future__ import annotations

import re


def one_of(*rows: str) -> str:
    """Any of the alternatives.

    >>> one_of("in", "fair game")
    '(?:in|fair game)'
    """
    return "(?:" + "|".join(rows) + ")"


def alternatives(text: str, after: str = "") -> tuple[str, ...]:
    """The words of a row, each an alternative; `after`: what follows each.

    >>> alternatives("in out")
    ('in', 'out')
    """
    return tuple(word + after for word in text.split())


def word_of(*rows: str) -> str:
    """Any of the alternatives, as words of their own.

    >>> word_of("in", "out")
    '\\\\b(?:in|out)\\\\b'
    """
    return rf"\b{one_of(*rows)}\b"


_THE = r"(?:the |our )?"

# ---- whether a clause allows or forbids
NO = re.compile(
    word_of(
        *alternatives("not no never nope nah nowt don't can't cannot nobody none nothing neither nor"),
        r"off(?! (?:the |that |a )?@)",  # "the rail is off", and not "off the rail"
        *alternatives("out banned forbidden prohibited excluded leave without withdrawn barred closed lava poison"),
        *alternatives("forfeits? penalised fault fouls?"),
        "hands off",
        r"(?:keeps?|stays?|gets?) (?:well |right |clear )?(?:off|away|out|clear)",
        *alternatives("shut denied removed"),
        "past it",
    )
    + r"|n't\b|\b(?:cannae|dinnae|nae)\b|\blet (?:(?:the|that|those) )?(?:@\d+|it) (?:hang|be|alone|lie)(?=[,.;:!?]|$)"
)
"""Something is forbidden."""
NO_MATTER = re.compile(
    one_of(
        r"\bno (?:problem|worries|bother|matter|trouble|objection|issue|harm)\b",
        r"\b(?:don't|do not|doesn't) (?:mind|care|bother)\b",
        r"\bnot (?:\w+ ){0,2}(?:bothered|fussed)\b",
        r"\b(?:nobody|no one) (?:minds|else)\b",
        r"\b(?:can't|cannot|can not|don't) (?:reach|manage|fit|get up|make it)\b",  # what somebody is not able to
        r"\b(?:can|may) be (?!used|held|touched|taken)\w+\b",
        r"\bnot (?:only|just)\b",
        r"(?:\b(?:not|never)|n't) let go\b",
        r"\b(?:don't|do not|no need to|never) (?:cry|worry|laugh|panic|complain|moan|fret|fuss|rush|hurry|be (?:shy|scared|afraid|sad))\b",
        r"\bout of (?:kindness|fairness)\b",
    )
)
"""A "no", "not" or "out" that forbids nothing."""
NOT_OBLIGED = re.compile(
    r"\b(?:don't|do not|doesn't|does not) (?:have|need) to (?:use|touch|hold|take|do)\b|\b(?:needn't|need not) (?:use|touch|hold|take)\b"
)
"""Somebody may do as they like with a thing."""
YES = re.compile(
    word_of(
        *alternatives("may can could allowed in fine okay ok yes yep aye welcome good legal free liberty let open"),
        *alternatives("get gets use uses stand hold take help works?"),
        *alternatives("got have has", r"(?! (?:to|been|\w+ed)\b)"),  # "the rest have to stay up top", "they have practised"
        r"too(?! (?:big|heavy|tall|small|short|old|young|wide|long|low|high|fast|slow|much|many|risky|hard|easy|soft|slippery|far)\b)",
        *alternatives("only just for well also yours theirs their"),
        *alternatives("permitted admitted tolerated available exempted exempt granted entitled reserved holds supports"),
    )
    + r"|'s for\b|\b(?:do|does|are|is)[.,]?\s*$"
)
"""Something is allowed, or left to somebody."""
OF_ITSELF = re.compile(
    word_of(*alternatives("may can could do does not no nope yes too also only allowed nobody out in for gets? cannot never")) + r"|n't\b"
)
"""Words that rule also where no thing is named: "under twelves do"; not so "anybody under eleven, stand by me"."""
AGREES = re.compile(one_of("yes", "yeah", "okay", "ok", "fine", "right", "all right", "good", "well", "now", "in") + "[,.!]?")
"""A clause that only agrees."""
_GIVING = one_of(
    *alternatives("to on onto with from take takes use do have get gets start starts? finish finishes hold walk climb go goes end"),
    *("it's", "it is", "the", "a", "an", "their", "your"),
)
GIVES = re.compile(
    one_of(
        # "and for the %0, the @1 instead": a class and a thing side by side
        r"^(?:and |but |so |then |for |to |the |our |if |you're |that's )*%[\d*]+,? "
        rf"(?:{_GIVING} ){{0,3}}@\d+(?: (?:please|instead|there|here|over there))?[,.;:?! ]*$",
        # "the @0 is for the %1"
        r"@\d+,? (?:(?:is|are|was|it's|it is|they're|'s|be|there|here|that's|these are|those are) ){0,2}(?:for|to) "
        rf"{_THE}(?:%|others)",
    )
)
"""A thing is given to a class without a word that allows it."""
SHOWN = re.compile(
    r"^(?:and |so |but |then |well )*(?:for |if (?:you're|you are|ye're|they're) (?:in )?)?(?:the |our |all )?(?:%\d+,? )?"
    + one_of(
        "there's",
        "there is",
        "there are",
        "(?:you|they)(?:'ve| have)(?: got)?",
        "(?:i|we)(?:'ve| have|)(?: got| also)? (?:put|left|hung|set|made|built|laid|kept)(?: out| up| down)?",
    )
    + r"(?: also| even)?(?: the| a| an| one| some| our| my| a bit of a)?(?: little| wee| small)? @\d+"
)
"""A thing is shown to a class of which the same sentence speaks: "under-tens, there's a ladder"."""

# ---- for whom else
EXCLUSIVE = re.compile(
    r"\b(?:only|just|alone|solely|exclusively|nobody else|no one else|none else|reserved)\b"
    r"(?! (?:your |the |their |my )?(?:hands|feet|one|two|as|because|like|below|above|there|on|a))"  # how, where and why it is done
)
"""It is for nobody else."""
ALSO = re.compile(r"\b(?:too|also|as well|and so (?:can|may|do)|likewise|same)\b")
THE_REST = re.compile(
    word_of(
        r"(?:everybody|everyone|anybody|anyone|nobody|no one) "
        r"(?:else|(?:older|bigger|taller|heavier|lighter|younger|smaller)(?! than (?!that|this))|over that|above that)",
        r"(?:all |for )?(?:the )?(?:other|remaining) "
        r"(?:people|kids|athletes|competitors|ones of you|classes|groups|categories|divisions)",
        r"(?:all )?(?:the )?others",
        r"the rest(?: of (?:you|us|them|ye|yous|people|the \w+))?",
        r"rest of (?:you|us|them|ye|yous)",
        r"(?:(?<=[,.;] )|(?<=and )|(?<=so ))otherwise",
        r"(?:older|bigger) than that",
        r"if (?:you|they)(?:'re| are) (?:fine|fit|all right|able|grand|not)(?=,? (?:you|they|the|then)|,)",
        r"the open comp\w*",
    )
)
"""Everybody who is in none of the classes told."""
EVERYBODY = re.compile(
    r"\b(?:everybody|everyone|all of you|all of us|you all|anybody|anyone|nobody|no one|none of you|all)\b(?! (?:who|that|whose|who's)\b)"
)
_SAVE = "(?:but|except|bar|apart from|other than|excluding|save|minus)"
ALL_BUT = re.compile(
    r"\b(?:(?P<none>nobody|no one|none of you)|everybody|everyone|anybody|anyone|all|you all|the whole lot)(?: of you)?,? "
    rf"{_SAVE}(?: for| by)?(?: the| our| those| you| competitors)*\s*$"
)
"""What stands before a class that alone is left out of everybody, or of nobody."""
UNLESS = re.compile(
    r"\b"
    + one_of("unless", "except", "save", "if not", "except that", "bar", "apart from", "with the exception of", "other than")
    + one_of(
        *(" that", " if", " for", " by", " you're", " you are", " they're", " it's", " you", " in", " one of", " an?", " the", " our"),
        *(" those", " competitors", " athletes", " kids", " children", " anyone", " anybody"),
    )
    + r"*\s*$"
)
"""What stands before a class for which it is the other way."""

# ---- how clauses and classes stand beside each other
APPOSED = re.compile(
    r"(?:,? (?:so|that's|that is|which is|meaning|i mean|and i mean|by that i mean|and by that i mean|i want to say|this means|"
    r"like|aged|say|if you're|if you are|if ye're)(?: you| lot| all| those| from| the| to say| say| "
    r"is| my| anybody| anyone| who| that| have| are|"
    r",)*|,? (?:anybody|anyone|anything|owt|them|kids|children)(?: that's| that is| who's| who is)?|,? of|,? from|,|)"
    r",? ?(?:the |those |all |you )?"
)
"""Between two names of one class: "the wee ones, so under nine"."""
REPAIRED = re.compile(r"^[^%@]*,? (?:no|sorry|i mean|wait|hang on|rather),[^%@]*$")
"""Between a class and the one that is said in its place."""
HAPPENED_OUT = re.compile(r"\b(?:took|knocked|wiped|thr(?:ew|own)|found|figured|worked|passed|wor[en]|freaked|spat) out\b")
"""What happened with an "out" that rules nothing: "he took out somebody's coffee"."""
STANDS_THERE = re.compile(
    r"^(?:.*\bplease\b.*|(?!.*(?:%|\bmay\b|\bcan)).*)\b(?:stand|sit|wait|park|crowd|hang about|hang around|film|talk)(?:ing)? "
    r"right (?:there|here)\b"
)
"""Where somebody is not to be, who is in the way: no thing of it is ruled."""
SPLIT = re.compile(
    r"(?<=[,.;:?!]) |(?= (?:and|so|while|whereas|because|cause|or) )|"
    r"(?<!body)(?<!one)(?<!all)(?<! lot)(?= but )"  # "everybody but the %0" stays whole
)
"""Where a line is cut into clauses."""
BARE = re.compile(
    r"^(?:"
    + word_of(
        *alternatives("and or so now but if as also too well then not for from with any all people that's okay yes ones? lot aged class"),
        *alternatives("the our my kids children athletes competitors participants anybody anyone you're they're"),
        r"(?:you|they|who) are",
        r"(?:who|whoever|anybody who|anyone who|those who) (?:has|have|is)(?= %)",
        "i mean",
        r"you(?= lot)",
        r"those(?! are)",
        r"who(?! are)",
        r"in(?= (?:the |an? )?%)",
    )
    + r"|[,.;:?! ]|%\d+)*$"
)
"""A clause that does no more than name classes."""
SETS_OUT = re.compile(
    r"(?:and |so |but |now )*(?:if|for|when|with|as for|in case|in the case|only|kids|children|those|anybody|anyone|any|you)\b"
)
"""How a clause begins that says of whom the next one speaks."""
WHY = re.compile(r"(?:because|cause|since) ")

# ---- what is said of a thing
OF_LIMBS = re.compile(
    word_of(
        *alternatives("hands? feet foot legs? arms? knees? elbows? fours? shoes? boots?"),
        "nothing else",
        *alternatives("tr(?:y|ies) go(?:es)? attempts? chances? times? half"),
    )
    + r"(?! (?:on|in) (?:it|that|those|them)\b)"
)
"""How something is done, or how often; not what may be used."""
THINGS_ONLY = re.compile(
    r"(?:and |but |so |then |to |just |for |everybody |everyone |all of you |it's )*@\d+(?: (?:and|or) @\d+)?[,.;:! ]*"
)
"""A clause that does no more than name things."""
TOPIC = re.compile(r"(?:and |but |so |then |now )*@\d+,")
"""A thing that is named before anything is said of it: "and the coupling, if you're under ten, use it"."""
HELD = re.compile(r"\b(?:on|hold|use|touch|take|grab|lean on|stand on) (?:it|them)\b[^@]* (?:to|for|before|when|while) [^@]*@")
"""Something is done with what was spoken of for the sake of something else: "you may stand on it to catch the bar"."""
MINDS = re.compile(r"\b(?:look|see|worry|tell|told|ask|think|say|know|show|watch|shout|listen|mind|forget|wait|rest|go slow|take care)\b")
"""Something is done with the head and not with a thing: "don't look down"."""
OF_ONE_THING = re.compile(r"\b(?:only|just) @\d+|@\d+ (?:only|alone)\b")
"""It is the thing that is the only one, and not who may use it."""
PLACES = frozenset(alternatives("off from beside near by under behind above between of over round around alongside against past"))
PERSONS = frozenset(alternatives("participant competitor athlete climber runner player member fellow pupil student learner"))
