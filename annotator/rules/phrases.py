"""Find what a sentence speaks about: noun phrases that an athlete could touch, with colour, size, material and part.

In: a sentence of tokens. Out: its phrases, each with the words that a listener would write down. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from annotator.rules.concrete import is_a_can, kind_of_thing, met
from annotator.rules.lexicon import (
    APPARATUS,
    BODY,
    COLOURS,
    CONTACT_VERBS,
    HEAPS,
    NOT_A_SURFACE,
    NUMBER,
    ORDINAL,
    PARTS,
    PLACE_PARTS,
    THINGS,
    words,
)
from annotator.rules.names import heard_as
from annotator.rules.text import Sentence, Token

_DROPPED = words(
    """
    same next other own whole entire very real actual only such more most many several last another certain final nice lovely
    extra few different any every each all both either neither some particular following new old equally awful horrid famous super
    mere own
    """
)
_NOUN_TAGS = words("NN NNS NNP NNPS")
_MOD_POS = words("ADJ NOUN PROPN NUM")
_PARTICIPLES = words(
    """
    hanging swinging stepping landing rolling moving spinning sliding climbing balancing rocking floating tilting crash
    """
)
_PART_FORMS = frozenset(["tops", "caps", "rims", "sides", "edges", "corners", "tips", "lips", "ends", "faces"])
_ING_THINGS = words(
    "railing netting padding landing ceiling opening tubing decking matting webbing string spring ring swing fencing "
    "scaffolding rigging building housing coaming lining planking piping lagging guttering coping grating carpeting bunting awning wiring"
)
_BEFORE_A_PART = words("the , . and then not only just")
LIMB_LIKE = words("legs feet arms leg foot arm back part face shoulder mouth belly neck toe heel nose tongue tail")
_WHERE = words("upper lower top bottom front back far near outer inner outside inside left right side middle hand very sharp other")
_TELLS_APART = COLOURS | words("heavy light short long low high top bottom left right near far upper lower thick thin front back")
_VERBS_TOO = words("counts works goes stays stops costs stands hangs lies sits starts begins")
_THINGS_TOO = words("water round landing light cable drop swing jump piece puddle picture line spot leg end drawing cover car seal")
"""Nouns that mostly are nothing to touch, and are a thing where something is ruled of them or they tell what a thing is cut into."""
_MARKED_OUT = words("spot mark dot point patch area zone space")
"""Nouns that mostly are nothing to touch, and are a place that is marked out where a colour tells which one."""
_COLOURED = words("painted marked coloured colored taped wrapped sprayed in done dyed labelled")
_WHEN = words("today tomorrow tonight game")
_ROLE_WORDS = words("start starting finish finishing end launch launching takeoff take-off landing exit entry touchdown")
_ROLE_PLACES = words("line spot point position place block mark area pad mat zone")
_CLASSES = words("primary secondary junior senior adult open elite novice youth kids age main younger older infant middle-school")
_WHO = words("nobody everybody anybody somebody everyone anyone someone who whoever i you he she it we they")
_MOVE = words("spin turn roll move rock wobble swing tilt slide bounce tip sway flip shake wiggle twist sink float drop")
_VAGUE = words("thing thingy thingie things thingies")
_NEVER_FIRST = words("DET PRON ADP AUX PUNCT CCONJ SCONJ PART")
_NOT_MODS = words("sure ready okay ok able careful sorry right")


@dataclass(frozen=True, slots=True)
class Mention:
    """One noun phrase: `mods` are the words kept before the head; `part` is set where the phrase names a part of the thing."""

    head: str
    """Lemma of the head noun."""
    words: tuple[str, ...]
    """The phrase as a listener would write it."""
    mods: frozenset[str]
    plural: bool
    determiner: str | None
    first: int
    last: int
    """Token span in the sentence, both included."""
    part: str | None = None
    count: int | None = None
    ordinal: str | None = None
    """ "first", "last": kept apart from the name, since "the first rung" is mostly one of the rungs."""
    is_part: bool = False
    """The phrase names only a part ("the tops"); what it is a part of, something before it tells."""
    of: Mention | None = None
    """What a phrase after "of" says it belongs to, where the thing may be its own ("the boards of the bridge")."""

    @property
    def name(self) -> str:
        return " ".join(self.words)

    @property
    def colours(self) -> frozenset[str]:
        return frozenset("grey" if m == "gray" else m for m in self.mods if m in COLOURS)


def _nominal(tokens: Sequence[Token], i: int, *, inside: bool) -> bool:
    token = tokens[i]
    if token.low in _WHO or (i > 0 and tokens[i - 1].low in _WHO and (token.lemma in CONTACT_VERBS or token.low in CONTACT_VERBS)):
        return False  # "nobody holds", read as two nouns
    if token.low in _PART_FORMS and i > 0 and tokens[i - 1].low in ("the", "only", "just", "not", "except", ",") and token.pos != "AUX":
        return True
    if token.low in _PART_FORMS and i + 1 < len(tokens) and tokens[i + 1].low == "only":
        return True
    if token.low in PLACE_PARTS and i < len(tokens) - 1 and tokens[i + 1].low == "of" and (i == 0 or tokens[i - 1].low in _BEFORE_A_PART):
        return True  # "the top of the wall"; "Top of the wall, hands"
    if inside and token.tag in ("JJR", "JJS") and token.low.endswith("rest") and len(token.low) > 6:
        return True  # "the headrest", taken for a superlative
    if inside and token.tag == "VBG" and token.low in _ING_THINGS and tokens[i - 1].tag in _NOUN_TAGS:
        return True  # "the hatch coaming"
    if token.tag in _NOUN_TAGS:
        return token.low.replace("-", "").isalpha() or "-" in token.low
    if token.lemma in APPARATUS and inside and token.pos in ("VERB", "ADJ", "ADV", "X", "INTJ"):
        nxt = tokens[i + 1] if i + 1 < len(tokens) else None
        return nxt is None or nxt.pos not in ("DET",)
    return False


def _modifier(tokens: Sequence[Token], i: int, *, inside: bool) -> bool:
    token = tokens[i]
    if token.low in _WHO:
        return False
    if token.low in _NOT_MODS and not inside:
        return False
    if token.pos in _MOD_POS and token.low not in ("it", "there"):
        return True
    if token.low in COLOURS:
        return True
    if token.tag in ("VBG", "VBN") and i + 1 < len(tokens) and tokens[i + 1].pos in ("NOUN", "PROPN"):
        return inside or token.low in _PARTICIPLES
    return inside and token.low in (
        "left",
        "right",
        "bottom",
        "top",
        "back",
        "upper",
        "lower",
        "middle",
        "front",
        "inside",
        "outside",
        "low",
    )


@dataclass(frozen=True, slots=True)
class Spotted:
    """Tokens of a sentence that are known to be words of a thing, and those that are known to be none."""

    things: frozenset[int] = frozenset()
    others: frozenset[int] = frozenset()


NONE_SPOTTED = Spotted()


def find_mentions(sentence: Sentence, *, bare: bool = False, spotted: Spotted = NONE_SPOTTED) -> tuple[Mention, ...]:
    """All noun phrases of the sentence that could be a surface or a part of one, in order.

    `bare`: nouns stand without articles. `spotted`: what belongs to a phrase whatever its word class, and what does not.
    """
    tokens = sentence.tokens
    found: list[Mention] = []
    i = 0
    while i < len(tokens):
        begin = i
        determiner: str | None = None
        while (
            i < len(tokens)
            and (tokens[i].pos == "DET" or tokens[i].tag == "PRP$" or tokens[i].low in ("both", "all", "any"))
            and i - begin < 3
        ):
            determiner = tokens[i].low
            i += 1
        body = i
        while i < len(tokens) and i - body < 7:
            inside = determiner is not None or i > body
            hyphen = (
                tokens[i].text in ("-", "–")
                and i > body
                and i + 1 < len(tokens)
                and tokens[i].word == tokens[i - 1].word == tokens[i + 1].word
            )
            labelled = i > body and _is_label(tokens, i) and tokens[i - 1].lemma in APPARATUS
            if i in spotted.things and (inside or tokens[i].pos not in _NEVER_FIRST):
                i += 1
                continue
            if i > body and i in spotted.others and i - 1 in spotted.things and tokens[i].tag != "NN":
                break  # "on the white cushion stands one"
            if i > body and tokens[i].tag in ("VBN", "VBD") and tokens[i - 1].tag == "NNS":
                break  # "gates laid end to end"
            holder = i > body and determiner is not None and tokens[i].low == "can" and is_a_can(tokens, i)
            if hyphen or labelled or holder or _nominal(tokens, i, inside=inside) or _modifier(tokens, i, inside=inside):
                i += 1
            else:
                break
        end = i
        sure = end > body and end - 1 in spotted.things
        if sure:
            mention = _mention(tokens, begin, body, end, determiner, bare, sure=True)
            found += [mention] if mention is not None else []
            continue
        if end - body >= 2 and tokens[end - 1].low in _VERBS_TOO and tokens[end - 2].tag in _NOUN_TAGS and determiner is not None:
            end -= 1  # "the fence counts", read as two nouns
        if end - body >= 2 and len(tokens[end - 1].low) > 5 and tokens[end - 1].low.endswith("ed") and tokens[end - 2].lemma in APPARATUS:
            end -= 1  # "the blue holds screwed on the left"
        if (
            end - body >= 2
            and (tokens[end - 1].tag == "VBG" or tokens[end - 1].low.endswith("ing"))
            and tokens[end - 1].low not in _ING_THINGS
            and tokens[end - 2].tag in _NOUN_TAGS
            and end < len(tokens)
            and (tokens[end].pos in ("DET", "ADP") or tokens[end].tag == "PRP")
        ):
            end -= 1  # "the brackets holding them", "chains holding the bars"
        if (
            end - body >= 2
            and tokens[end - 1].low in ("step", "jump", "hop", "swing", "climb", "reach", "drop", "walk", "run", "slide", "cross")
            and tokens[end - 2].tag in _NOUN_TAGS
            and end < len(tokens)
            and tokens[end].low in ("out", "on", "onto", "off", "over", "up", "down", "across", "to", "along", "in", "into")
        ):
            end -= 1  # "from the tree root step out on the line"
        if (
            end - body >= 2
            and tokens[end - 1].low in _MOVE
            and tokens[end - 2].tag == "NNS"
            and (end == len(tokens) or tokens[end].pos in ("PUNCT", "CCONJ", "SCONJ"))
        ):
            end -= 1  # "the discs spin, which nobody told me"
        told = end - body >= 2 and tokens[end - 1].low == "one" and tokens[end - 2].tag in _NOUN_TAGS
        if told and tokens[end - 2].low not in _TELLS_APART and not _is_label(tokens, end - 1):
            end -= 1  # "the bench one sees"
        while end - body >= 2 and tokens[end - 1].low in _WHEN:
            end -= 1  # "the second rope today"
        if (
            end - body >= 2
            and tokens[end - 1].low in ("end", "inn")
            and tokens[end - 2].low.endswith("s")
            and (end == len(tokens) or tokens[end].pos == "PUNCT")
        ):
            end -= 1  # "the curtain's in", heard as "the curtains end"
        while (
            end > body
            and tokens[end - 1].low != "can"
            and not _nominal(tokens, end - 1, inside=determiner is not None or end - 1 > body)
            and not (end - 1 > body and _is_label(tokens, end - 1) and tokens[end - 2].lemma in APPARATUS)
            and not (end - 1 > body and determiner is not None and tokens[end - 1].low in ("one", "ones") and _tells_apart(tokens[end - 2]))
        ):
            end -= 1
        if end > body:
            mention = _mention(tokens, begin, body, end, determiner, bare)
            if mention is not None:
                found.append(mention)
            i = max(end, i)
        else:
            i = max(begin + 1, body if body > begin else begin + 1)
    return tuple(found)


def _mention(
    tokens: Sequence[Token], begin: int, body: int, end: int, determiner: str | None, bare_nouns: bool, *, sure: bool = False
) -> Mention | None:
    """The phrase of these tokens, None where it names nothing that could be ruled. `sure`: its head is known to be a thing."""
    if end - body >= 2 and tokens[end - 1].low in _VAGUE and tokens[end - 2].tag in _NOUN_TAGS:
        end -= 1  # "that trolley thing"
    head = tokens[end - 1]
    lemma = head.lemma
    # "ball number five": the thing comes before the number
    span = list(tokens[body:end])
    label = span.pop().low.rstrip(".") if len(span) > 1 and _is_label(tokens, end - 1) and span[-2].lemma in APPARATUS else None
    if label is not None:
        head, lemma = span[-1], span[-1].lemma
    for k, token in enumerate(span):
        if token.low == "number" and k > 0:
            span = span[:k]
            lemma, head = span[-1].lemma, span[-1]
            break
    nxt = tokens[end] if end < len(tokens) else None
    of_thing = (
        nxt is not None
        and nxt.low == "of"
        and head.low in LIMB_LIKE
        and (determiner is not None or len(span) > 1)
        and determiner not in ("no", "any")
    )  # "the legs of the table" are a part of it
    a_thing_too = lemma in _THINGS_TOO and (
        (determiner is not None and determiner not in ("no", "a", "any", "your") and _ruled_at_once(tokens, end))
        or (len(span) > 1 and span[-2].lemma in APPARATUS and head.tag == "NNS")
    )  # "the water's out", "the log rounds"
    marked = lemma in _MARKED_OUT and determiner not in ("no", "any") and any(token.low in COLOURS for token in span[:-1])
    a_thing_too = a_thing_too or marked or kind_of_thing(span, determiner) or met(tokens, begin, span, determiner)
    no_thing = not a_thing_too and (
        (lemma in BODY and not (lemma == "grip" and (head.tag == "NNS" or (determiner in ("the", "that") and len(span) > 1))))
        or (head.low.rstrip("s") in BODY and lemma != "grip")
        or lemma in NOT_A_SURFACE
        or head.low in NOT_A_SURFACE
    )
    if head.low == "hold" and (determiner in (None, "a", "no") or span[0].tag == "VBG") and nxt is not None and nxt.low == "of":
        return None  # "catch a hold of it"
    if sure:
        no_thing = False
    if (lemma == "part" and not of_thing) or (lemma == "end" and determiner in ("the", "your", "our") and not _end_of_a_thing(tokens, end)):
        return None
    if head.low in ("one", "ones") and any(_tells_apart(token) for token in span[:-1]) and determiner is not None:
        told = tuple(token.low for token in span[:-1] if _tells_apart(token))
        return Mention("one", (*told, head.low), frozenset(told), head.low == "ones", determiner, begin, end - 1)
    if (no_thing and lemma not in PARTS and not of_thing) or len(head.low) < 2:
        return None
    if head.low in _ROLE_PLACES and any(token.low in _ROLE_WORDS for token in span[:-1]) and _told_at_once(tokens, end):
        return None  # "the finish line is the kerb": the kerb is what one touches
    if lemma in ("section", "group", "class", "category", "division") and any(token.low in _CLASSES for token in span[:-1]):
        return None
    if len(span) > 2 and head.low in COLOURS and span[-2].low in _COLOURED and span[-3].tag in _NOUN_TAGS:
        span = [*span[:-3], span[-1], span[-3]]  # "the holds painted orange" are the orange holds
        head, lemma = span[-1], span[-1].lemma
    lemma = _of_many(head, lemma)
    named = all(t.tag in ("NNP", "NNPS") and t.text[:1].isupper() for t in span)
    if len(span) > 1 and lemma not in APPARATUS and label is None and named and not sure:
        return None  # the name of an event or a person
    lemma = lemma if of_thing else heard_as(head.low, lemma)
    many = head.tag in ("NNS", "NNPS") or (head.tag == "NNP" and _many_at_the_front(tokens, end - 1))
    bare = not sure and determiner is None and not many and label is None and not _ruled_at_once(tokens, end)
    if (
        bare
        and len(span) == 1
        and (lemma in CONTACT_VERBS or lemma in ("end", "finish"))
        and nxt is not None
        and nxt.pos in ("ADP", "DET", "PRON")
    ):
        return None  # "Land on the mat": an order, not a thing
    if bare and len(span) == 1 and lemma not in APPARATUS | THINGS and lemma not in PARTS and not (bare_nouns and head.tag in _NOUN_TAGS):
        return None  # a name, a cry: things that we do not know come with a determiner
    kept: list[str] = []
    mods: set[str] = set()
    count = None
    ordinal = next((token.low for token in span[:-1] if token.low in ORDINAL), None)
    for token in span[:-1]:
        if token.low in NUMBER or token.tag == "CD":
            count = NUMBER.get(token.low)
            continue
        if token.low in ORDINAL or token.low in _DROPPED or token.text == "-":
            if token.text == "-" and kept:
                kept[-1] += "-"
            continue
        if kept and kept[-1].endswith("-"):
            kept[-1] += token.low
        else:
            kept.append(token.low)
        mods.add(token.lemma if token.low not in COLOURS else token.low)
    a_thing = determiner in ("the", "that", "this") and head.tag == "NN" and (nxt is None or nxt.low != "of")  # "the bunting"
    if (
        not sure
        and head.low.endswith("ing")
        and lemma not in APPARATUS | _ING_THINGS
        and len(span) == 1
        and head.low not in HEAPS
        and not a_thing
    ):
        return None  # "no touching of the walls"
    if not sure and lemma == "step" and determiner in ("a", "an", "another", "one") and not mods & COLOURS:
        return None  # a step that one takes
    joined = bool(kept) and kept[-1].endswith("-")
    said = (*kept[:-1], kept[-1] + head.low) if joined else (*kept, head.low)
    if lemma != head.lemma and lemma in APPARATUS:
        said = (*said[:-1], lemma + ("s" if head.low.endswith("s") and not lemma.endswith("s") else ""))
    if label is not None:
        said = (*said, label.upper() if len(label) == 1 else label)
        mods.add(label)
    plural = head.tag in ("NNS", "NNPS") or (head.low.endswith("s") and not head.low.endswith("ss") and lemma != head.low)
    is_part = (lemma in PARTS and mods <= _WHERE and (lemma in PLACE_PARTS or lemma == "hardware")) or (
        lemma == "section" and bool(mods & COLOURS)
    )
    return Mention(lemma, said, frozenset(mods), plural, determiner, begin, end - 1, count=count, is_part=is_part, ordinal=ordinal)


def _many_at_the_front(tokens: Sequence[Token], at: int) -> bool:
    """A plural that opens a sentence or stands between commas and was taken for a name: "Axles, springs, all out"."""
    token = tokens[at]
    opens = at == 0 or tokens[at - 1].pos == "PUNCT"
    return opens and token.low.endswith("s") and not token.low.endswith(("ss", "us", "is")) and len(token.low) > 4


def _tells_apart(token: Token) -> bool:
    """Whether a word before "one" says which one: "the cracked one", and not "a hard one"."""
    return token.low in _TELLS_APART or (token.low.endswith("ed") and token.tag in ("VBN", "JJ", "VBD"))


def _of_many(head: Token, lemma: str) -> str:
    """The lemma of a plural that was taken for a name: "clamps" is of "clamp"."""
    singular = head.low[:-1] if head.tag in ("NNP", "NNPS") and head.low.endswith("s") else ""
    return singular if singular in APPARATUS else lemma


def _end_of_a_thing(tokens: Sequence[Token], end: int) -> bool:
    """ "the end of the pipe", and not "that's the end" or "the end of it"."""
    return end + 1 < len(tokens) and tokens[end].low == "of" and tokens[end + 1].low not in ("it", "this", "that", "them", "you")


def _told_at_once(tokens: Sequence[Token], end: int) -> bool:
    """Whether a phrase is followed by what it is: "is the kerb", ", the kerb"."""
    after = tokens[end : end + 3]
    return (
        len(after) > 1 and after[0].low in ("is", "'s", "’s", ",", ":", "will") and any(t.pos in ("DET", "NOUN", "ADP") for t in after[1:])
    )


def _is_label(tokens: Sequence[Token], at: int) -> bool:
    """A letter or number that a thing is known by: "platform B", "bench two, walk"; not "the bench one sees"."""
    token = tokens[at]
    letter = token.low.rstrip(".")
    if letter in NUMBER or letter.isdigit():
        after = tokens[at + 1] if at + 1 < len(tokens) else None
        return tokens[at - 1].tag in ("NN", "NNP") and (after is None or after.pos in ("PUNCT", "AUX") or after.low in ("and", "to"))
    return len(letter) == 1 and letter.isalpha() and (letter != "a" or token.text[0] == "A") and letter != "i"


def _ruled_at_once(tokens: Sequence[Token], end: int) -> bool:
    """ "hook's out", "the water is also no": a noun of which something is ruled at once."""
    if end + 2 < len(tokens) and tokens[end].low in ("is", "are") and tokens[end + 1].low in ("also", "all", "too"):
        return tokens[end + 2].low in ("in", "out", "off", "no", "fine", "forbidden", "banned", "allowed")
    return (
        end + 1 < len(tokens)
        and tokens[end - 1].low not in COLOURS
        and tokens[end].low in ("'s", "’s", "is", "are")
        and tokens[end + 1].low in ("in", "out", "off", "fine", "okay", "good", "forbidden", "banned", "allowed", "fair")
        and tokens[end + 1 : end + 3][-1].low not in ("there", "front", "the", "a")
    )
