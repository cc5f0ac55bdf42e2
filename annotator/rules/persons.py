"""Words for persons by which a speaker may call some of the athletes: what they do, belong to or are to each other.

Plain English, small letters, plural. Not here: who runs or helps at every course (judges, marshals, competitors), and words that name a
thing as often as a person (runners, rollers). Where such a word names a class is groups.py.
"""

from __future__ import annotations

import re

_ROLES = (
    "accountants actors adolescents apprentices aunties aunts bakers barbers beavers bellringers bikers boarders brides brownies "
    "buglers builders butchers cadets campers captains carers carpenters choristers citizens cleaners clerks commuters cooks "
    "counsellors counselors coxes cubs cyclists daddies dads dancers daughters dayboys deckhands defenders dentists dockers doctors "
    "drivers drummers elders electricians engineers explorers farmers fathers final-years firefighters firemen first-years fishermen "
    "freshers freshmen gardeners girl-guides goalies goalkeepers grade-schoolers graduates grandads grandchildren granddads "
    "grandfathers grandmas grandmothers grandpas grannies greybeards guides gunners gymnasts harvesters heavyweights high-schoolers "
    "homeschoolers instructors interns jockeys joggers joiners juniors kindergarteners kindergartners knitters landlubbers lawyers "
    "learners leavers librarians lifeguards lightweights locals masters mechanics medics middle-schoolers miners moms monitors "
    "mothers mummies mums musicians nans neighbors neighbours nephews newbies newlyweds nieces nippers novices nuns nurses oldies "
    "oldsters oldtimers operators paddlers painters paramedics parents parishioners pensioners pickers pilots players plumbers "
    "porters prefects preteens priests professors pupils rangers recruits reservists residents retirees rookies rowers sailors "
    "salesmen schoolboys schoolchildren schoolgirls schoolkids scouts sea-cadets second-years seniors shepherds shopkeepers singers "
    "skaters skippers soldiers sophomores sprouts students supervisors surfers swimmers tailors teachers teens tenants toddlers "
    "tourists tradesmen trainees tweens twins uncles venturers veterans vets waiters weans weavers welders widows wingers women "
    "workers youngsters youths"
)
ROLES = frozenset(word.replace("-", " ") for word in _ROLES.split())
"""Who somebody is by one word."""
OF_A_KIND = (
    r"(?:kids|children|people|folks?|men|women|ladies|gentlemen|boys|girls|lads|workers|players|members|athletes|guests|citizens|staff|riders|"
    r"users|owners|holders|mums|dads|parents|students|pupils|scouts|rangers|referees|guards|runners|swimmers|belts|graders|formers|schoolers|"
    r"brigade|cadets|trainees|apprentices|drivers)"
)
"""Who somebody is by a word that another one tells apart: "school kids", "white belts"."""
BODIES = r"(?:squad|team|crew|band|club|choir|troop|unit|company|orchestra|platoon|shift|league)"
"""People together."""
_STOP = (
    "a about above across after again against all along also am among amongst an and another any anybody anyone apart are around as "
    "at bar be because been before behind being below between big bigger both brave but by can can't cannot clever could crazy daft "
    "dear did do does don't down during each eight eleven even every everybody everyone except excluding fast few first five for four "
    "from get gets give gives go goes good got grown had half has have he heavy hello help her here hi him his honest how i if in "
    "including into is it its just keep keeps know last leave leaves left let lets like listen little lot lots lovely lucky mad make "
    "makes many may me might more morning most must mustn't my near need nervous new next nine no nobody nor normal not now number of "
    "off oh ok okay old older on one ones only onto or ordinary other others our out over past please poor proper put puts real "
    "really right round said same save say says see sees seven shall she short shorter should silly since six slow small smaller "
    "smart so some somebody someone sorry still strong such take takes tall taller tell tells ten than thanks that the their them "
    "then there these they this those three through till tiny tired to too towards twelve two under unless unlike until up us use "
    "uses very want was we wee well were what when where which while who whoever whose why will with without won't would ye yeah yer "
    "yes you young younger your"
)
STOP = frozenset(_STOP.split())
_OPENERS = (
    r"(?:^|(?<=[,.;:!?] )|(?<=\band )|(?<=\bbut )|(?<=\bso )|(?<=\bor )|(?<=\bthe )|(?<=\bour )|(?<=\bmy )|(?<=\bfor )|(?<=\bonly )|"
    r"(?<=\byou )|(?<=\bexcept )|(?<=\bbar )|(?<=\bfrom )|(?<=\bnow )|(?<=\bbecause )|(?<=\byes )|(?<=\bthose )|(?<=\bno ))"
)
"""What may stand before them: the front of a clause, an article, "for" and the like."""
_NOUN = "|".join(sorted(ROLES, key=len, reverse=True))
_FREE = rf"(?!(?:{'|'.join(sorted(STOP, key=len, reverse=True))})\b)[a-z][a-z']+"
_WHO = rf"(?P<who>(?:{_FREE} ){{1,2}}{OF_A_KIND}|(?:{_FREE} )?{_FREE} {BODIES}|(?:{_NOUN}))"
_DOES = (
    r"(?:may|can|can't|cannot|could|get|gets|have|has|take|takes|use|must|mustn't|don't|do|leave|need|shall|will|won't|should|might|"
    r"(?:are|is|aren't|isn't|you're|they're|we're)(?: \w+)? (?:allowed|permitted|welcome|excused|granted|free|exempt|fine|okay|ok|"
    r"all right|forbidden|banned|not)|it's|you've|they've|i'll let)"
)
_BETWEEN = (
    r"(?:,? (?:they|you|yous|ye|you guys|you lot|y'all|allyuh|them|also|all|too|however|though|and only (?:the )?\w+|for you|i'll)\b,?)*"
)
_WHERE = r"(?:you're|you are|anyone|anybody|those|ones|who's|who is|who are|everyone|everybody|kids|children)"
_CALLED = tuple(
    re.compile(pattern)
    for pattern in (
        # what they do: "musicians get the rope", "the coxes, they may take it"
        rf"{_OPENERS}{_WHO},?{_BETWEEN} {_DOES}\b",
        # whom it is for, or not for: "strictly for the teachers", "except the coxes"
        r"\b(?:for|only|except|bar|apart from|other than|not|save|excepting|besides|unlike|of the) (?:for )?(?:the |our |my |you |you're |"
        rf"those )?{_WHO}(?=[,.;:!?]|$| (?:it|it's|the|that|they|only|alone|is|are|may|can|and|this|who|or|too)\b)",
        rf"{_OPENERS}{_WHO} (?:only|alone|too|as well)(?=[,.;:!?]|$)",
        # who is spoken to: "goalies, the shelf is yours"
        rf"^(?:and |so |now |okay |right |oh |yes |but |then )*(?:the |our |my |you )?{_WHO}, "
        r"(?!(?:them|which) )(?=.*\b(?:you|yours|your|you're|you've)\b)",
        # who is in a body of people: "if you're in the youth group"
        rf"\b{_WHERE} (?:who's |who are )?(?:in|on) (?:the |our |my )(?P<who>(?:{_FREE} )?{_FREE} (?:{BODIES}|group|class))\b",
    )
)


def persons_in(low: str) -> tuple[tuple[int, int], ...]:
    """Where a text of small letters, blanks for hyphens, calls some of the athletes by what they are; in order of the patterns.

    >>> [text[a:b] for text in ["musicians get the rope, and school kids may not"] for a, b in persons_in(text)]
    ['musicians', 'school kids']
    """
    found: list[tuple[int, int]] = []

    def add(begin: int, end: int) -> None:
        if all(end <= a or b <= begin for a, b in found):
            found.append((begin, end))

    for pattern in _CALLED:
        for match in pattern.finditer(low):
            add(*match.span("who"))
    for begin, end in [*found]:  # the others of a list: "children and pensioners may"
        for near in _BEFORE.finditer(low[:begin]):
            add(*near.span("who"))
        if near_after := _AFTER.match(low, end):
            add(*near_after.span("who"))
    return tuple(found)


_BEFORE = re.compile(rf"{_OPENERS}{_WHO},? (?:and|or) (?:the |our |for )?$")
_AFTER = re.compile(rf",? (?:and|or) (?:the |our |for )?{_WHO}")
