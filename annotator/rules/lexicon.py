"""The words that the reading leans on: limbs, colours, parts, things that are never a surface, age classes, numbers.

Everyday English of the trade, no name of any course. Common practice, no published source. All entries are lower-case lemmas.
"""

from __future__ import annotations

import re


def words(text: str) -> frozenset[str]:
    """The words of a text as a set, so that lists of words stay readable.

    >>> sorted(words("bar beam"))
    ['bar', 'beam']
    """
    return frozenset(text.split())


def _row(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_NUMBERS = _row(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty"
)
_ORDINALS = _row("first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth")
NUMBER = {word: value for value, word in enumerate(_NUMBERS)} | {str(value): value for value in range(100)}
ORDINAL = {word: value for value, word in enumerate(_ORDINALS, 1)} | {"final": -1, "last": -1}
NUMBER_WORD = dict(enumerate(_NUMBERS))

COLOURS = words(
    """
    red orange yellow green blue purple violet pink brown black white grey gray teal turquoise silver gold golden beige cream navy
    lime wood wooden
    """
)
HANDS = words("hand finger fingertip palm arm")
FEET = words("foot feet leg shoe toe heel boot trainer")
BODY = (
    HANDS
    | FEET
    | words(
        """
    knee elbow body belly head bum back shoulder chest limb weight skin breath grip side-on hip
    """
    )
)

PARTS = words(
    """
    part head
    top side edge front underside rim cap face tip base hardware lip corner surface underneath inside outside end bottom back middle
    bolt tread crossbar rung handle section half lid crown
    """
)
"""Heads that, said of another thing ("the top of the wall"), are a part of it."""
PLACE_PARTS = words(
    """
    head top side edge front underside rim cap face tip base lip corner surface underneath inside outside end bottom back middle section
    half centre center lid crown
    """
)
"""Parts that are never a thing of their own."""
QUANTITIES = words(
    """
    stack pile set pair row bit piece lot couple number kind sort bunch line stretch all each any both one two three some none most
    rest load bundle series few
    """
)
"""Heads before "of" that are no part: in "a row of bars" the thing is the bars, in "a stack of tyres" the whole phrase."""
HEAPS = words("stack pile row set line bundle")

NOT_A_SURFACE = words(
    """
    play bounds bound law win wins furthest tie welcome cup league games limit limits yours mine contact land stuff
    fives sixes sevens eights nines tens elevens twelves twelve ten eight seven thirteens fourteens fifteens sixteens
    way time thing side end order minute second hour day week year morning afternoon evening night today tomorrow yesterday moment
    bit lot course station obstacle walk event competition round run try go attempt chance retry do-over doover turn rule question
    answer word name number people person everybody everyone anybody somebody nobody guy kid child mum mom dad parent family athlete
    runner competitor judge helper volunteer lady gentleman man woman boy girl friend brother sister granny husband wife daughter
    son brother-in-law pupil fail fall clear start finish begin signal beep whistle clock speed time point problem trouble shame fun
    luck life sense idea matter reason case fact help view noise clunk sound light water coffee towel chalk sun rain weather country
    english language sheet paper list phone video camera bathroom toilet car park barn puddle heron leg seal toddler
    hug use distance far left right middle hand foot one ones other others same everything anything something nothing none
    whole half much many part game sport title head last first next rest total demo demonstration show example picture place spot
    position area direction row line-up inch metre meter foot-long centimetre size shape colour color kind sort type bunch penalty
    overshoot skip jump swing step-off move movement push pull drop landing rhythm balance choice favourite favorite drum-roll hello
    hi okay ok sir madam thanks thank love buddy honey dude mate guys folk group team crowd lunch break injury safety hardware-store
    grown-ups grown-up ups rangoli decoration cub scout beaver brownie explorer tummy elbow heel gate-keeper principal carpenter piece
    stop thumb colleague exception exceptions supplement detail drawing paint colour-code reverse manner habit secret warning reminder
    promise gift story
    aeroplane koala porch tangent fella marshal forties loop-the-loop reach lie halves blade handwriting momentum sum envelope retries
    blow blows teacher
    company power training practice warm-up gear sweat dog plan change opening room space air sky building job work brain member
    section stage level age class division category junior senior adult grown-up teen ten under-ten over power strength speed care
    hall gym gymnasium venue arena
    beginning ending meaning timing scoring briefing touching climbing running jumping swinging skipping overshooting
    touch trap decoy crew staff disposal card count
    foul fault no no-no lava scenery decoration business menu guest goal target circumstance account good worry need disqualification
    four fours all-fours master bairn tot tiny toddler little littlun ditto likewise former latter nobody sixty seventy fifty fourteen
    option permission objection exemption rest breather ok mercy credit mark
    attention courage technique style sleep bell-ringing ear eye mouth nose face voice mind heart mistake pardon
    """
)
"""Nouns that an athlete does not touch, or that stand for something else."""

APPARATUS = words(
    """
    platform deck box block mat pad beam bar ring rung rope net wall peg step stair ladder board plank bench table crate pallet
    ledge pole post pillar column bridge tyre tire wheel barrel drum spool log stump stone rock brick cube hoop swing strap
    line cable chain frame rail handrail handle knob hold grip knot ball buoy bag sack panel door window bucket tube pipe tunnel
    slide ramp slope bell button buzzer gong horn flag gate cradle mattress carpet cushion foam wedge pedestal podium perch island
    pontoon raft tile plate disc disk mushroom trampoline hurdle vault horse curtain sheet-net web cargo-net truss scaffold upright
    strut bracket bolt hinge screw floor ground pit pool tank wire slackline zipline trolley tab noodle spring tower roof cloth
    hatch lattice grid mesh crossbar trapeze bale hay-bale stool chair bollard cone kerb curb sandbag batten cleat dowel slat
    spindle rod shelf lintel sill tread crash-mat
    grass mud sand gravel turf tarmac concrete dirt sawdust water hook cowbell slab tray cord carabiner pendulum lever paddle dome
    plinth gutter trough basket tarp hose springboard kicker bowl dish roller upright deckchair catwalk walkway gangway sleeper boulder
    raft tin-roof bunker surfboard rug mound stump cord rack hoist
    square circle oval turf hay lawn doormat trunk branch hedge wagon crossbeam footbridge lattice culvert shed
    pulley anchor strut girder railing balustrade fence stand clamp bracket balcony tabletop hammock pouch chute funnel tarpaulin
    """
)
"""Nouns that are usually equipment: they need less evidence than a noun we have never seen."""
PLATFORMS = words(
    """
    platform deck box block mat bench table crate pallet ledge mattress carpet pedestal podium island pontoon tile plate pad
    step stone board bale stool floor perch raft pit tire tyre box carpet landing slab tray plinth deck stage rock
    """
)
"""Things one stands on at a start or a finish."""
SIGNALS = words(
    """
    bell button buzzer gong horn siren drum pad-button flag switch plate-button cowbell handbell triangle
    """
)
"""Things that are struck to stop the clock."""

FILLERS = words("um uh er erm eh ah hmm mm uhm")

CONTACT_VERBS = words(
    """
    bounce dive vault duck wriggle scramble spring squeeze straddle
    use touch grab hold grip grasp catch take climb step stand hang pull push hook walk run crawl cross traverse swing jump hop leap
    reach pinch press hit strike smack slap ring kick tap mount straddle wrap clamp hug lean sit lie kneel land balance ride slide
    shuffle scale clamber haul squeeze work move visit put rest place brace go get make
    """
)

SIZES = words(
    "big small little tall short long low high wide narrow thin thick fat round square large wee tiny left right upper lower "
    "top bottom middle first second"
)

_FOR_ONLY = re.compile(
    r"\b(?:for|to) (?:the |our )?([a-z]+s|primary|secondary|junior|senior|infant|novice|elite|open)"
    r"(?: (?:section|children|kids|ones|group|class|category|division|school|age))? only\b|"
    r"\bonly (?:there )?for (?:the |our )?([a-z]+s|primary|secondary|junior|senior)\b"
)
_NO_CLASS = words(
    "hands feet legs arms fingers toes landings judges helpers spectators emergencies looks shows purposes reasons ones others kids"
)


_AGE = r"(?:" + "|".join(sorted(_NUMBERS[3:], key=len, reverse=True)) + r"|\d{1,2})"
_TENS = r"(?:thirties|forties|fifties|sixties|seventies|eighties|thirty|forty|fifty|sixty|seventy|eighty)"
_CLASS = (
    r"(?:juniors|seniors|adults|beginners|teens|teenagers|novices|masters|cadets|minis|open class|youths|grown ?ups|veterans|vets|elites|"
    r"rookies|peewees|tots|intermediates|mites|kiddies|primaries|infants|toddlers)"
)
_VAGUE = r"(?:little ones|wee ones|tinies|youngsters|littlies|bairns|smaller ones|younger ones|big kids|older ones|kids|children)"
_SAYS = (
    r"(?= (?:may|can|can't|cannot|do|don't|are|aren't|have|get|only|must|mustn't|should|use|who|on|will|won't|and|or|as well|too|but"
    r"|leave|"
    r"keep|stay|need|aged)\b|[,.;:!?]|$)"
)
_AGES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), kind)
    for pattern, kind in (
        (rf"\b({_AGE}|{_TENS}) (?:year ?s?(?: old ?s?)? )?(?:and|or) (under|younger|below|over|older|above|up)\b", "and"),
        (
            rf"\b(under|over|below|above|younger than|older than) (?:the |age |ages |the age of )?({_AGE}|{_TENS})(?:s|es|'s)?\b"
            r"(?! (?:feet|foot|metres|meters|seconds|minutes|steps|bars|stations|inches|times))",
            "side",
        ),
        (
            rf"\b(under|over)[ ]?({'|'.join(_NUMBERS[k] + ('es' if _NUMBERS[k].endswith('x') else 's') for k in range(3, 21))}"
            rf"|undertones)\b",
            "side",
        ),
        (r"\bunder ?t(?:ones|ens|ends)\b", "under-tens"),
        (rf"\byear ({_AGE})\b(?! old| olds)", "year"),
        (rf"\b(?:the|our|all|any|for|only|these|to|but|except|no|you) ({_CLASS})\b(?=(?: \w+)?(?: {_CLASS})?)", "name"),
        (rf"(?:^|[,.;:] |\b(?:and|so|but|or|only|well|then|now|adult) )({_CLASS})\b{_SAYS}", "name"),
        (rf"\b({_CLASS})\b{_SAYS}", "name"),
        (rf"\b(?:the|for|our|only|you) ({_VAGUE})\b{_SAYS}", "vague"),
    )
)


def age_spans(text: str) -> tuple[tuple[int, int, str], ...]:
    """Every age or skill class that a text names: where it stands, and its key. Hyphens are read as blanks.

    >>> age_spans("the ladder is for the under-tens and the over-sixties")
    ((22, 32, 'under-tens'), (41, 53, 'over-sixties'))
    """
    low = text.lower().replace("-", " ")
    found: list[tuple[int, int, str]] = []
    for pattern, kind in _AGES:
        for match in pattern.finditer(low):
            span = match.span() if kind in ("and", "side", "under-tens", "year") else match.span(1)
            if all(span[1] <= a or b <= span[0] for a, b, _ in found):
                found.append((*span, _key_of(match, kind)))
    if (only := _FOR_ONLY.search(low)) and (name := only[1] or only[2]) not in _NO_CLASS and name.rstrip("s") not in APPARATUS:
        at = only.start(1) if only[1] else only.start(2)
        if all(at + len(name) <= a or b <= at for a, b, _ in found):
            found.append((at, at + len(name), name))
    sure = [each for each in found if not re.fullmatch(_VAGUE, each[2].replace("-", " "))]
    vague = [] if sure or not _TELLS_CLASSES.search(low) else found
    return tuple(sorted(sure or vague))


_TELLS_CLASSES = re.compile(r"\b(?:only|else|others|just for|grown|adults|get to|not for|get|too big|can't)\b")


def _key_of(match: re.Match[str], kind: str) -> str:
    if kind == "and":
        side = "under" if match[2] in ("under", "younger", "below") else "over"
        return f"{_age_word(match[1])}-and-{side}"
    if kind == "side":
        side = "over" if match[1] in ("over", "above", "older than") else "under"
        age = "tens" if match[2] == "undertones" else match[2]
        age = age[:-1] + "ies" if age.endswith("ty") else age
        return f"{side}-{age if age.endswith('s') else _plural(_age_word(age))}"
    if kind == "year":
        return f"year-{_age_word(match[1])}"
    return kind if kind == "under-tens" else match[1].replace(" ", "-")


def age_key(text: str) -> str | None:
    """The key of the first age or skill class that a phrase names, None where it names none.

    >>> age_key("so the under-tens may"), age_key("eight and under can"), age_key("children under 10 years")
    ('under-tens', 'eight-and-under', 'under-tens')
    """
    spans = age_spans(text)
    return spans[0][2] if spans else None


def _age_word(age: str) -> str:
    return NUMBER_WORD.get(int(age), age) if age.isdigit() else age


def _plural(word: str) -> str:
    return f"{word}s" if not word.endswith(("x", "s")) else f"{word}es"
