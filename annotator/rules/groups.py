"""Who a rule is for: the age and skill classes that a text names, whatever the walk calls them.

In: plain text. Out: where each class stands and its key: an age as "under-tens" or "ten-and-under", any other class as it was said. What is
ruled for a class is classes.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from annotator.rules.described import described_in
from annotator.rules.lexicon import APPARATUS, BODY, CONTACT_VERBS, NUMBER, NUMBER_WORD, words
from annotator.rules.persons import ROLES, STOP, persons_in

_NUMBERS = [NUMBER_WORD[k] for k in range(21)]
_AGE = r"(?:" + "|".join(sorted(_NUMBERS[3:], key=len, reverse=True)) + r"|\d{1,2})"
_TENS = (
    r"(?:thirties|forties|fifties|sixties|seventies|eighties|(?:twenty|thirty|forty|fifty|sixty|seventy|eighty)(?: (?:one|two|three|"
    r"four|five|six|seven|eight|nine))?)"
)
_YEARS = rf"(?:{_AGE}|{_TENS})"
_CLASS = (
    r"(?:juniors|seniors|adults|beginners|teens|teenagers|novices|masters|cadets|minis|youths|grown ?ups|veterans|vets|elites|"
    r"rookies|peewees|tots|intermediates|mites|kiddies|primaries|infants|toddlers|apprentices|trainees|learners|newcomers|first timers|"
    r"experts|amateurs|professionals|scouts|cubs|brownies|pensioners|grandparents|students|pupils|sixth formers|preschoolers)"
)
_PEOPLE = r"(?:ones|people|folks?|kids|children|guys|boys|girls|lads|lasses|athletes|competitors|players|runners|members|crew|users|uns)"
_OF_SIZE = (
    r"(?:grown|grown up|little|wee|small|smaller|young|younger|youngest|tiny|big|bigger|tall|taller|short|shorter|old|older|oldest|new|"
    r"wheelchair)"
)
_OF_ONE_SEX = r"(?:ladies|gentlemen|gents|women|men|girls|boys|lads|lasses)"
_VAGUE = rf"(?:grown (?:men|women)|tinies|youngsters|littlies|bairns|nippers|bigs|kids|children|boys|girls|{_OF_SIZE} {_PEOPLE})"
_SCHOOL = (
    r"(?:(?:lower|upper|high|primary|middle|secondary|junior|senior|prep|nursery|infant|choir|elementary|grammar) school"
    r"(?: (?:children|kids|pupils|students))?)"
)
_GROUP = r"(?:class|category|group|section|division|squad)"
_GROUPED = (
    r"(?:junior|senior|open|elite|novice|youth|adult|beginner|masters|advanced|primary|secondary|infant|veteran|main|fun|family|mixed|"
    r"women's|men's|ladies'?|girls'?|boys'?|children's|kids'?)"
)
_SAYS = (
    r"(?= (?:may|can|can't|cannot|do|don't|are|aren't|have|get|only|alone|must|mustn't|should|use|who|on|will|won't|and|or|as well|too|but|"
    r"leave|also|keep|stay|need|aged|take|hold|start|finish|go|the|to|over|under|from|is|it|with|at|here|there|never|not)\b|[,.;:!?']|$)"
)
_NTH = "first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth"
_MEASURED = (
    r"(?:shorter than|taller than|(?:(?<=^)|(?<=anyone )|(?<=anybody )|(?<=everyone )|(?<=everybody )|(?<=people )|(?<=you're )|"
    r"(?<=you are )|(?<=those )|(?<=who is )|(?<=who's )|(?<=who are ))(?:small|bigg)er than)"
)
_NO_AGE = r"(?! (?:feet|foot|metres?|meters?|seconds|minutes|steps|bars|stations|inches|times|goes|tries|of (?:the|them|these|those))\b)"
_CHILD = r"(?:children|kids|those|anyone|anybody|everyone|athletes|competitors|all|people|aged|participants|for)"
_PATTERNS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), kind)
    for pattern, kind in (
        (rf"\b(?:years|grades|forms|classes|standards) (?:one|two|{_AGE}) and (?:two|{_AGE})\b(?! years?\b| olds\b)", "said"),
        (rf"\b(?:until|till|up to) ((?:year|grade|form|primary|standard|class) (?:one|two|{_AGE}))\b", "up to"),
        (
            rf"\b(?:year|grade|form|primary|standard|infants|jss) (?:one|two|{_AGE})(?:e?s)?\b"
            r"(?: (?:and|or) (?:below|under|lower|down|up|above|upwards|higher)\b)?(?! old| olds)(?: students\b)?",
            "grade",
        ),
        (
            rf"\b(?:years|grades|forms|class(?:es)?|standards) (?:one|two|{_AGE}) (?:and|or) (?:below|under|lower|down|up|above|higher)\b",
            "said",
        ),
        (rf"\b(?:{_NTH}) (?:grade|form|standard|class|year) (?:and|or) (?:below|under|lower|down|up|above|higher)\b", "said"),
        (rf"\b(?:{_NTH}) (?:graders|formers|years)\b", "said"),
        (
            rf"\b(?:(?:children|kids|people|folks|men|women|ladies) )?(?:under|over|below|above|less than|more than|\w+er than)(?: about)? "
            rf"(?:(?:a|one|two|three) hundred(?: and)?(?: (?:{_TENS}|{_AGE}))*|\d{{3}}|{_TENS}|{_AGE}) "
            r"(?:kilos?|kilograms|kg|pounds|stone)\b",
            "measure",
        ),
        (
            rf"\b(?:under|over|below|above|{_MEASURED})(?: about)? (?:four|five|six) (?:foot|feet)\b"
            r"(?! (?:of|deep|long|high|wide))",
            "measure",
        ),
        (rf"\b({_YEARS}) plus\b", "from"),
        (rf"\b(?:past|passed|gone) ({_TENS})\b{_NO_AGE}", "past"),
        (rf"\b(?:turned|reached) ({_TENS})\b(?! yet\b){_NO_AGE}", "from"),
        (
            rf"\b(?:under|over|below|above|{_MEASURED}) (?:a|one|two|\d) ?met(?:re|er)s?(?: (?:{_TENS}|{_AGE}|"
            rf"ninety))?\b(?! (?:of|deep|long|high|wide|away|off|from)\b)",
            "said",
        ),
        (
            rf"(?<!over )(?<!under )(?<!above )(?<!below )\b({_YEARS}) (?:years? ?(?:olds? ?|of age ?)?)?(?:and|or) "
            r"(unders?|younger|below|less|down|over|older|above|up|upwards|more|"
            rf"better)\b(?! (?:the age of )?{_YEARS}(?:s|es)?\b)",
            "and",
        ),
        (
            r"\b(under|over|below|above|younger than|older than|less than|more than) (?:the |age |ages |the age of )?"
            rf"({_YEARS})(?:s|es|'s)?\b(?: years?(?: old| of age)?\b)?{_NO_AGE}",
            "side",
        ),
        (rf"\b(under|over)[ ]?({'|'.join(n + ('es' if n.endswith('x') else 's') for n in _NUMBERS[3:])}|undertones)\b", "side"),
        (r"\bunder ?t(?:ones|ens|ends)\b", "under-tens"),
        (r"\bu ?(\d{1,2})s?\b", "u"),
        (rf"\b{_CHILD} (until|till|up to|to) ({_AGE})(?: years?(?: old| of age)?)?\b(?! (?:{_AGE}|year|of))", "until"),
        (rf"\b(until|till|up to) ({_AGE}) years?\b", "until"),
        (
            rf"\b(not)(?: yet)?(?: be| turned?| reach(?:ed)?| gone)? ({_AGE}) yet\b|\b(?:not yet|not reached|not turned|isn't yet|"
            rf"ha(?:ve|s)n't (?:yet )?(?:turned|reached)) ({_AGE})\b",
            "not yet",
        ),
        (rf"\bfrom ({_YEARS}) years\b", "from"),
        (rf"\b{_AGE} to {_AGE}(?: year olds|es|s)\b", "range"),
        (rf"\b{_AGE} year olds\b", "range"),
        (rf"\b{_SCHOOL}\b", "said"),
        (rf"\b{_GROUPED} {_GROUP}\b", "group"),
        (rf"\b(?:the|our|all|any|for|only|these|to|but|except|no|you) ({_CLASS})\b(?=(?: \w+)?(?: {_CLASS})?)", "name"),
        (rf"\b(?:for|of|to) (?:the )?({_CLASS})\b", "name"),
        (rf"(?:^|[,.;:] |\b(?:and|so|but|or|only|well|then|now|adult|yes) )({_CLASS})\b{_SAYS}", "name"),
        (rf"\b({_CLASS})\b{_SAYS}", "name"),
        (rf"(?<! and )\b({_OF_ONE_SEX}) (?:may|can|can't|cannot|mustn't|must not|are allowed)\b", "name"),
        (rf"(?:\b(?:the|for|our|only|you|and|or|any|to) |^|[,.;:] |\b(?:so|but) (?=grown))({_VAGUE})\b{_SAYS}", "vague"),
    )
)
_FOR_ONLY = re.compile(
    r"\b(?:for|to) (?:the |our )?([a-z]+s|primary|secondary|junior|senior|infant|novice|elite|open)"
    rf"(?: (?:{_GROUP}|children|kids|ones|school|age))? (?:only|alone)\b|"
    r"\bonly (?:there )?for (?:the |our )?([a-z]+s|primary|secondary|junior|senior)\b|"
    r"\bin the case of (?:the |our )?([a-z]+s)\b"
)
_DOES = "|".join(sorted(CONTACT_VERBS | words("have rest steady share finish start begin") - words("move work swing ring go get")))
_MANY = r"(?:\w+ (?:folks?|people|team|crew|squad|group|band|club|category|class|ones|kids|boys|girls|athletes|players|riders)|[a-z]+s)"
_OPENS = r"(?:^|[,.;:] |\b(?:and|so|but|yes|no|the|our|my|only|now|because) )"
_PERMITTED = r"(?:may|can|can't|cannot|may not|must not|mustn't|shall|get to|are allowed to|aren't allowed to|don't get to)"
_ALLOWED = re.compile(
    rf"{_OPENS}({_MANY}),? (?:they |all |also )?{_PERMITTED} (?:not )?(?:also |only |all )?(?:{_DOES})\b(?! (?:be|out|off|loose|down)\b)"
)
"""A plural of which somebody says that it may use something: people, where it is no thing and not everybody."""
_BANDED = re.compile(
    rf"{_OPENS}(\w+ (?:folks?|people|team|crew|squad|group|band|club)),? (?:they |you )?(?:all |both |also )?(?:{_PERMITTED}|is|are|"
    rf"leave|keep|"
    r"stay|go|goes|take|takes|use|uses|start|starts|finish|finishes|begin|begins|get|gets|have|has|don't|doesn't|stop)\b"
)
_BUT_BANDED = re.compile(
    r"\b(?:except|but|bar|unless|apart from|save|for|only)(?: for)? (?:the |our |my )(\w+ (?:folks?|people|team|crew|squad|group|"
    r"band|club))\b"
)
"""A word for people together, and what they do: "chair folks leave the rungs out"."""
_CALLED = re.compile(
    rf"^(?:and |so |now |yes,? |but )*(?:the |our |my )?({_MANY}), (?:(?:the|that|this) [^,.]*\b(?:for you|yours)\b|"
    r"you (?:may|can|get|can't|cannot|don't) (?:\w+ ){0,4}(?:the|that|this|a) )"
)
"""A plural that is spoken to: "Apprentices, the ladder cage is in for you"."""
_FOR_THEM = re.compile(
    r"\bfor (?:the |our )?([a-z]+s),? (?:the |those |these |that )?[\w'-]+(?: [\w'-]+)? (?:is|are|isn't|aren't) (?:not )?"
    r"(?:in|out|ok|okay|fine|allowed|free|all right|alright|legal|off)\b(?! of (?:the|a)\b)"
)
"""A plural for which something is in or out: "for apprentices the cage is okay"."""
_NUMBERED = re.compile(rf"\b(?:under|over|below|above|{_AGE})\b")
_NOT_A_CLASS = words(
    "all some any good dear my your our "
    "hands feet legs arms fingers toes landings judges helpers spectators emergencies looks shows purposes reasons ones others kids "
    "athletes "
    "competitors participants runners people folks parents volunteers marshals coaches officials staff teachers guests friends "
    "families guys "
    "ladies gentlemen boots shoes trainers elbows knees rules theirs yours this us is was has its besides always sometimes boss class "
    "stations obstacles points things bits sides tops edges parts ends questions worries thanks lots times minutes seconds as afterwards "
    "yes no yeah other these those many few more most young which what each every listeners dears loves darlings mates champs "
    "heroes lovers dogs starters lads perhaps towards upwards skills muscles palms hips"
)
_ON_WHEELS = frozenset(
    {
        "wheelchair folk",
        "wheelchair folks",
        "wheelchair people",
        "wheelchair athletes",
    }
)
EVERYDAY = frozenset(
    {
        "adults",
        "grown-ups",
        "grown ups",
        "grown folks",
        "grown people",
        "grown up people",
        "grown-up people",
        "bigs",
        "big ones",
        "grown ones",
        "big people",
        "tall ones",
        "tall people",
        "older ones",
        "big kids",
        "grown men",
        "grown women",
    }
)
"""Who is mostly everybody else, where another class is told apart."""
INFORMAL = words("youngsters nippers elders oldies oldsters greybeards sprouts tots kiddies toddlers littlies tinies")
"""Names for athletes of an age, which say less than the age where that is told too."""
_TELLS_CLASSES = re.compile(
    r"\b(?:only|else|others?|just for|for (?:the |our )|grown|adults|get to|not for|get|too big|can't|can|may|rest|nobody|no|"
    r"everybody|everyone|bar|in|out)\b"
)


@dataclass(frozen=True, slots=True)
class Named:
    """A class where a text names it.

    `kind`: "age", "name", "described" ("if you are on wheels"), or "vague" for words that are a class only beside rules for people.
    """

    begin: int
    end: int
    key: str
    kind: str


def named_in(text: str) -> tuple[Named, ...]:
    """Every age or skill class that a text names, in order. Hyphens are read as blanks."""
    low = text.lower().replace("-", " ")
    found: list[Named] = []

    def add(begin: int, end: int, key: str, kind: str) -> None:
        if all(end <= one.begin or one.end <= begin for one in found) and not _owns(low[end:]) and not _NOT_HERE.search(low[:begin]):
            found.append(Named(begin, end, key, kind))

    called = [(a, b) for a, b in persons_in(low) if not _NUMBERED.search(low[a:b])]
    for pattern, kind in _PATTERNS:
        if kind == "name":
            for begin, end in called:  # "cub scouts" before "scouts", and after every age
                add(begin, end, text.lower()[begin:end].replace("’", "'"), "name")
            called = []
        for match in pattern.finditer(low):
            whole = kind not in ("name", "vague")
            begin, end = match.span() if whole else match.span(1)
            begin = match.start(1) if kind == "until" else begin
            begin = _with_its_kind(low, begin) if kind == "name" else begin
            add(begin, end, _key_of(match, kind, text.lower()[begin:end]), kind if kind in ("name", "vague") else "age")
    for pattern in (_FOR_ONLY, _FOR_THEM, _ALLOWED, _BANDED, _BUT_BANDED, _CALLED):
        for match in pattern.finditer(low):
            at = next(k for k, group in enumerate(match.groups(), 1) if group)
            if _may_be_people(match[at]):
                add(*match.span(at), match[at], "name")
    found = [replace(one, key="wheelchair users") if one.key in _ON_WHEELS else one for one in found]
    for told in described_in(text.lower()):
        found = [one for one in found if one.kind != "vague" or one.end <= told.begin or told.end <= one.begin]  # "kids who can swim"
        add(told.begin, told.end, told.key, "described")
    sure = [one for one in found if one.kind != "vague"]
    kept = found if sure or _TELLS_CLASSES.search(low) else []
    kept = _with_listed(low, _with_who_they_are(low, text, sorted(kept, key=lambda one: one.begin)))
    return tuple(sorted(_with_their_people(low, kept), key=lambda one: one.begin))


_ITS_KIND = re.compile(rf"(?:^|[,.;:] |\b(?:the|our|for|all|and|only) )((?!(?:{'|'.join(sorted(STOP))})\b)[a-z]{{3,}} )$")
"""A word that tells some of a class: "mature students", "for venture scouts"."""


def _with_its_kind(low: str, begin: int) -> int:
    """Where a class begins with the word before it that tells which of them."""
    match = _ITS_KIND.search(low, max(0, begin - _BACK), begin)
    plain = match is not None and _may_be_people(match[1].strip()) and not match[1].endswith(("ing ", "ed ", "ly ", "s "))
    return match.start(1) if match and plain and match[1].strip() not in _WHEN else begin


_WHEN = words("maybe perhaps today tonight tomorrow yesterday now then here there also still even again once sometimes never always just")
_ITS_PEOPLE = re.compile(
    r"(?:(?:the |our |any |all )?\b(?:ladies|men|women|gentlemen) and )?(?:the |our |any |all )?\b(?:ladies|men|women|gentlemen|members|"
    r"saints|athletes|people|folks|kids|children|small ones|little ones|fellows|guys) "
    r"(?:in the |in our |of |who are |who are all |that are |aged |all )?$"
)


_ROLE = "|".join(sorted(ROLES, key=len, reverse=True))
_WHO_OF_AN_AGE = re.compile(
    rf"(?P<both>\band (?:the |our )?)?(?<![a-z'])(?P<who>ladies|gentlemen|women|men|blokes|{_ROLE}|{_CLASS[3:-1]}) (?:(?:who|that) are )?$"
)
"""Of whom an age is told: of the trainees under eighteen, and not of everybody."""
_OF_ANY_AGE = words(
    "pupils students seniors juniors veterans masters youngsters youths adults teens tweens toddlers schoolchildren nippers tots weans "
    "sprouts kiddies infants"
)
"""Names that only tell an age, or everybody at a school: "seniors over sixty" are all of that age."""
_BACK = 60
"""Letters before an age in which is told whose it is."""


def _with_who_they_are(low: str, text: str, named: Sequence[Named]) -> list[Named]:
    """Ages of some persons as they are said: "ladies above fifty" are fewer than the over-fifties."""
    out: list[Named] = []
    for one in named:
        sided = one.kind == "age" and _SIDED.match(low[one.begin : one.end])
        match = _WHO_OF_AN_AGE.search(low, max(0, one.begin - _BACK), one.begin) if sided else None
        if match and match["who"] not in _OF_ANY_AGE and not match["both"]:
            begin = match.start("who")
            out = [other for other in out if other.end <= begin]
            one = replace(one, begin=begin, key=text.lower()[begin : one.end].replace("\u2019", "'"))
        out.append(one)
    return out


_NOT_HERE = re.compile(r"\b(?:there (?:are|is|were)|there's|we have|we've|we've got|i have|i see) no (?:\w+ )?$|\bthere aren't any $")
"""What stands before a class of which nobody is there."""
_LISTED = rf"(?P<who>ladies|women|men|gentlemen|girls|boys|{_ROLE})"
_LISTED_BEFORE = re.compile(rf"(?<![a-z']){_LISTED},? (?:and|or)(?: also)? (?:the |our |any |all |anybody |anyone |everybody |those )*$")
_LISTED_BEHIND = re.compile(
    rf",? (?:and|or) (?:also )?(?:the |our |any |all )*{_LISTED}\b(?! (?:under|over|above|below|aged|in|of|with|who)\b)"
)
"""Persons that are told in one list with a class: "the ladies and the over-forties"."""


def _with_listed(low: str, named: Sequence[Named]) -> list[Named]:
    """The classes, and beside them persons that are told in one list with one."""
    out = [*named]
    for one in named:
        if one.kind not in ("age", "name"):
            continue
        before = _LISTED_BEFORE.search(low, max(0, one.begin - _BACK), one.begin)
        for match in (before, _LISTED_BEHIND.match(low, one.end)):
            if match:
                begin, end = match.span("who")
                if all(end <= other.begin or other.end <= begin for other in out):
                    out.append(Named(begin, end, match["who"], "name"))
    return out


_SIDED = re.compile(r"(?:under|over|below|above|past|younger|older|less|more|shorter|taller|u ?\d)\b")
"""How an age begins that is told of somebody; "seniors fifty and up" says the seniors' age."""


def _with_their_people(low: str, named: Sequence[Named]) -> list[Named]:
    """The classes, each with the word for persons before it, which is none of its own: "the ladies and the men over sixty"."""
    out = [*named]
    for one in named:
        match = _ITS_PEOPLE.search(low[: one.begin]) if one.kind in ("age", "name") else None
        inside = [other for other in out if other is not one and match and match.start() < other.end and other.begin < one.begin]
        if match and all(other.kind == "vague" for other in inside):
            out = [replace(one, begin=match.start()) if each == one else each for each in out if each not in inside]
    return out


def _owns(after: str) -> bool:
    """ "the adults' final", "the under-elevens' warm up": what they own is told, and not who may do what."""
    return re.match(rf"(?:'s?|’s?) ?(?!{_GROUP}|s\b|re\b|d\b|ve\b|ll\b)\w+", after) is not None and not re.match(
        r"'(?:re|ve|ll|d)\b", after
    )


def _may_be_people(word: str) -> bool:
    """Whether a word can stand for some of the athletes: no thing, no part of the body, not everybody."""
    first, _, last = word.rpartition(" ")
    if first:
        return first not in _NOT_A_CLASS | STOP
    return not {last, last.removesuffix("s"), last.removesuffix("es")} & (APPARATUS | BODY | _NOT_A_CLASS)


def _key_of(match: re.Match[str], kind: str, said: str) -> str:
    if kind == "and":
        side = "under" if match[2] in ("under", "unders", "younger", "below", "less", "down") else "up" if match[2] == "up" else "over"
        age = match[1].removesuffix("ies") + "y" if match[1].endswith("ies") else match[1]
        return f"{_age_word(age)}-and-{side}"
    if kind == "side":
        side = "over" if match[1] in ("over", "above", "older than", "more than") else "under"
        age = "tens" if match[2] == "undertones" else match[2]
        age = age[:-1] + "ies" if age.endswith("ty") else age
        return f"{side}-{age if age.endswith('s') else _plural(_age_word(age))}"
    if kind in ("u", "not yet"):
        return f"under-{_plural(_age_word(next(group for group in match.groups() if group and group != 'not')))}"
    if kind == "until":
        return f"under-{_plural(_age_word(match[2]))}" if match[1] in ("until", "till") else f"{_age_word(match[2])}-and-under"
    if kind == "past":
        return f"over-{match[1][:-1].replace(' ', '-')}ies" if match[1].endswith("ty") else f"over-{_plural(match[1].replace(' ', '-'))}"
    if kind == "grade":
        return said.replace(" ", "-", 1) if re.fullmatch(r"year \w+s", said) and not said.endswith("students") else said
    if kind == "up to":
        return f"{match[1]} and under"
    if kind == "measure":
        return said.replace(" about", "")
    if kind == "from":
        return f"{_age_word(match[1])}-and-over"
    if kind == "range":
        return said.replace(" ", "-")
    if kind == "group":
        first = said.rsplit(" ", 1)[0]
        plain = first.removesuffix("'s").removesuffix("'")
        return plain if said.endswith(("section", "category", "division", "group")) or first.endswith("s") or plain != first else said
    return kind if kind == "under-tens" else said


def as_written(key: str, texts: Iterable[str]) -> str:
    """The key of a class, or its name where one of the texts it is of writes it as one; all of them where one text speaks of them all.

    >>> as_written("year-sevens", ["The Year Sevens may."]), as_written("year-sevens", ["The year sevens may."])
    ('Year Sevens', 'year-sevens')
    >>> as_written("deacon", ["The rail is for the deacons, so if you a deacon you can."]), as_written("in a wheelchair", [])
    ('deacons', 'wheelchair users')
    """
    for pattern, name in _BETTER_CALLED:
        key = pattern.sub(name, key)
    name = key.replace("-", " ").title() if _YEARS_AT_SCHOOL.fullmatch(key) else f"{key}s"
    return name if any(re.search(rf"\b{re.escape(name)}\b", text.replace("-", " ")) for text in texts) else key


_BETTER_CALLED = tuple(
    (re.compile(rf"^(?:{pattern})$"), name)
    for pattern, name in (
        (r"(?:\w+ )?(?:in|with|using|use) an? wheel ?chair", "wheelchair users"),
        (r"(?:(?:draw|drawing|on|got|get|getting|have|having|with) (?:an?|the|your|their) )?(?:old[ -]age )?pension", "pensioners"),
        (r"in (?:the |our )?(\w+ (?:squad|group|team|troop|choir|band))", r"\1"),
        (r"(.*)(?:schoolchilds)", r"\1schoolchildren"),
        (r"(\w+)[ -](?:or|and)[ -](under|over|up|down|below)", r"\1-and-\2"),
    )
)
"""What a class is rather called than by the words that describe it."""
_YEARS_AT_SCHOOL = re.compile(r"year-\w+s")


def age_spans(text: str) -> tuple[tuple[int, int, str], ...]:
    """Every age or skill class that a text names by a word: where it stands, and its key. Hyphens are read as blanks.

    >>> age_spans("the ladder is for the under-tens and the over-sixties")
    ((22, 32, 'under-tens'), (41, 53, 'over-sixties'))
    """
    return tuple((one.begin, one.end, one.key) for one in named_in(text) if one.kind != "described")


def class_key(text: str) -> str | None:
    """The key of the first class that a text names or describes, None where it does neither.

    >>> class_key("so the under-tens may"), class_key("if you're on crutches, you may")
    ('under-tens', 'on crutches')
    """
    return next((one.key for one in named_in(text)), None)


def age_key(text: str) -> str | None:
    """The key of the first age or skill class that a phrase names, None where it names none.

    >>> age_key("so the under-tens may"), age_key("eight and under can"), age_key("anybody under 10 years")
    ('under-tens', 'eight-and-under', 'under-tens')
    """
    spans = age_spans(text)
    return spans[0][2] if spans else None


def _age_word(age: str) -> str:
    return NUMBER_WORD.get(int(age), age) if age.isdigit() else age.replace(" ", "-")


def _plural(word: str) -> str:
    return f"{word}s" if not word.endswith(("x", "s")) else f"{word}es"


_AGED = re.compile(r"(?:(under|over)-(.+)|(.+)-and-(under|over|up))")


def opposite(one: str, other: str) -> bool:
    """Whether a class of ages is everybody that the other leaves over: "over-twelves" beside "under-twelves"."""
    a, b = _AGED.fullmatch(one), _AGED.fullmatch(other)
    sides = [(match[1] or match[4]).replace("up", "over") for match in (a, b) if match]
    if not a or not b or sides[0] == sides[1]:
        return False
    years = [(match[2] or match[3]).removesuffix("es" if (match[2] or "").endswith("xes") else "s") for match in (a, b)]
    values = [NUMBER.get(year) for year in years]
    return years[0] == years[1] or (None not in values and abs((values[0] or 0) - (values[1] or 0)) == 1)
