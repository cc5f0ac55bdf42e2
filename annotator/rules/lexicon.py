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
FEET = words("foot feet leg shoe toe heel")
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
    part
    top side edge front underside rim cap face tip base hardware lip corner surface underneath inside outside end bottom back middle
    bolt tread crossbar rung handle section half lid crown
    """
)
"""Heads that, said of another thing ("the top of the wall"), are a part of it."""
PLACE_PARTS = words(
    """
    top side edge front underside rim cap face tip base lip corner surface underneath inside outside end bottom back middle section
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
    english language sheet paper list phone video camera bathroom toilet car park barn hay puddle heron leg seal toddler
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

_AGE = r"(?:" + "|".join(sorted(_NUMBERS[3:], key=len, reverse=True)) + r"|\d{1,2})"


_FOR_ONLY = re.compile(
    r"\b(?:for|to) (?:the |our )?([a-z]+s|primary|secondary|junior|senior|infant|novice|elite|open)"
    r"(?: (?:section|children|kids|ones|group|class|category|division|school|age))? only\b|"
    r"\bonly (?:there )?for (?:the |our )?([a-z]+s|primary|secondary|junior|senior)\b"
)
_NO_CLASS = words(
    "hands feet legs arms fingers toes landings judges helpers spectators emergencies looks shows purposes reasons ones others kids"
)


def age_key(text: str) -> str | None:
    """The key of the age or skill class that a phrase names, None where it names none.

    >>> age_key("so the under-tens may"), age_key("eight and under can"), age_key("children under 10 years")
    ('under-tens', 'eight-and-under', 'under-tens')
    """
    low = text.lower().replace("-", " ")
    if found := re.search(rf"\b({_AGE}) (?:year ?s?(?: old ?s?)? )?(?:and|or) (under|younger|below|over|older|above|up)\b", low):
        side = "under" if found[2] in ("under", "younger", "below") else "over"
        return f"{_age_word(found[1])}-and-{side}"
    if found := re.search(
        rf"\b(under|over|below|above|younger than|older than) (?:the |age |ages |the age of )?({_AGE})(?:s|es|'s)?\b", low
    ):
        side = "over" if found[1] in ("over", "above", "older than") else "under"
        return f"{side}-{_plural(_age_word(found[2]))}"
    if found := re.search(rf"\b(under|over)[ ]?({'|'.join(_plural(n) for n in _NUMBERS[3:])}|undertones)\b", low):
        return f"{found[1]}-{found[2]}"
    if re.search(r"\bunder ?t(?:ones|ens|ends)\b", low):
        return "under-tens"
    if found := re.search(rf"\byear ({_AGE})\b(?! old| olds)", low):
        return f"year-{_age_word(found[1])}"
    if found := re.search(
        r"\b(?:the|our|all|any|for|only|these)? ?(juniors|seniors|adults|beginners|teens|novices|masters|cadets|minis|open class|"
        r"youths|grown ?ups|veterans|vets|elites|rookies|peewees|tots|intermediates|mites|kiddies)\b"
        r"(?= (?:may|can|do|are|have|get|only|must|should|use|who|on|will)|[,.;]|$)",
        low,
    ):
        return found[1].replace(" ", "-")
    if (found := _FOR_ONLY.search(low)) and (name := found[1] or found[2]) not in _NO_CLASS and name.rstrip("s") not in APPARATUS:
        return name
    return None


def _age_word(age: str) -> str:
    return NUMBER_WORD.get(int(age), age) if age.isdigit() else age


def _plural(word: str) -> str:
    return f"{word}s" if not word.endswith(("x", "s")) else f"{word}es"
