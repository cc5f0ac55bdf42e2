"""What is said of a thing, weighed: what the words around a phrase speak for.

In: a station's lines with their acts. Out: for each phrase the features of a logistic regression (linear.py, weights.json) over word
classes by their place (before or after the phrase in its clause, elsewhere in the sentence, in the sentences beside it) and over what the
phrase itself is. scripts/fit_weighed.py fitted the weights on walks that have been read, so each figure can be looked up. What comes of
it is revised.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from annotator.rules.groups import age_key
from annotator.rules.lexicon import APPARATUS, BODY, CONTACT_VERBS, NUMBER, PLATFORMS, SIGNALS, words
from annotator.rules.likeness import same_head, same_thing
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.text import Token

CLASSES = ("none", "in", "out", "start", "finish")
"""What a phrase may be at its station by one sentence; "none": nothing is said of it there, or it is no surface."""

_CLASS: Mapping[str, frozenset[str]] = {
    "begin": words(
        "begin start commence depart launch embark open first wait ready position mark initial starting kickoff kick set beginning mount "
        "leave origin takeoff opening initially"
    ),
    "end": words(
        "finish end complete done conclude final last over through home clock stop arrive land landing terminate finished ending "
        "finally target goal destination exit dismount timer time arrival reach"
    ),
    "allow": words(
        "can may could allow allowed fine okay ok good legal free welcome permit permitted fair yes usable grand happy valid live"
        " available "
        "option help optional whatever whichever anything"
    ),
    "forbid": words(
        "out off forbid forbidden ban banned illegal lava prohibit prohibited avoid leave ignore away limits limit forget clear dead "
        "scenery decoration trap except bar but exclude pretend"
    ),
    "negate": words("not no never nobody none without neither nor cannot nothing nowhere hardly"),
    "cost": words("fail foul fault penalty disqualify disqualified cost lose down miss buzz failure whistle flag void fall again"),
    "want": words("want like need must should shall have will would let see"),
    "touch": frozenset(CONTACT_VERBS) | words("contact travel follow negotiate tackle pass steady brace wedge dip"),
    "move": words("go come get step jump drop fall swing slide run walk climb land head fly roll hop leap cross tumble lunge leap make"),
    "from": words("from"),
    "off": words("off"),
    "onto": words("onto to into until till"),
    "on": words("on in at upon"),
    "behind": words("behind under by beside beneath"),
    "along": words("along across over up through round around between down via past beyond"),
    "limb": frozenset(BODY),
    "only": words("only just solely exclusively alone nothing but all"),
    "you": words("you athlete competitor runner everyone everybody one we they he she"),
    "be": words("be"),
    "there": words("there here have get"),
    "that": words("that this it those they them these"),
    "if": words("if when once whoever anyone anybody unless until"),
    "and": words("and then next so"),
}
_OF_WORD: Mapping[str, tuple[str, ...]] = {
    word: tuple(name for name, members in _CLASS.items() if word in members) for members in _CLASS.values() for word in sorted(members)
}
NEAR = 4  # items on each side whose very words count


def _clause(items: Sequence[str], k: int) -> tuple[int, int]:
    """The items around item k up to the next border on each side."""
    a = k
    while a > 0 and items[a - 1] not in (",", "|", "."):
        a -= 1
    b = k + 1
    while b < len(items) and items[b] not in (",", "|", "."):
        b += 1
    return a, b


def _named(prefix: str, items: Sequence[str]) -> Iterator[str]:
    seen = {name for item in items for name in _OF_WORD.get(item, ())}
    for name in sorted(seen):
        yield f"{prefix}:{name}"
    if any(item.startswith("@") for item in items):
        yield f"{prefix}:thing"


def features_of(lines: Sequence[Line], at: int, index: int, seen: Sequence[Mention], before: Sequence[Mention]) -> list[str]:
    """What speaks for and against each class, for mention `index` of line `at`.

    `seen`: phrases said at the station before it; `before`: what the station before ended on.
    """
    line = lines[at]
    items = line.skeleton.items
    mention = line.mentions[index]
    k = items.index(f"@{index}")
    a, b = _clause(items, k)
    out = ["always"]
    out += _named("before", items[a:k])
    out += _named("after", items[k + 1 : b])
    out += _named("earlier", items[:a])
    out += _named("later", items[b:])
    if at > 0:
        out += _named("sentence before", [i for i in lines[at - 1].skeleton.items if not i.startswith("@")])
    if at + 1 < len(lines) and len(lines[at + 1].mentions) == 0:
        out += _named("sentence after", lines[at + 1].skeleton.items)
    for step in range(1, NEAR + 1):
        for side, where in (("left", k - step), ("right", k + step)):
            if 0 <= where < len(items):
                word = items[where] if not items[where].startswith("@") else "@"
                out.append(f"{side}:{word}")
                if step == 1:
                    out.append(f"{side} next:{word}")
                out += [f"{side} {min(step, 3)}:{name}" for name in _OF_WORD.get(word, ())]
    denied = any(i in _CLASS["negate"] for i in items[a:k])
    allowed = any(i in _CLASS["allow"] for i in items[a:k])
    touched = any(i in _CLASS["touch"] for i in items[a:k])
    out.append(f"denied {denied}, allowed {allowed}, touched {touched}")
    denied_after = any(i in _CLASS["negate"] for i in items[k + 1 : b])
    bad_after = any(i in _CLASS["forbid"] | _CLASS["cost"] for i in items[k + 1 : b])
    good_after = any(i in _CLASS["allow"] for i in items[k + 1 : b])
    out.append(f"after: denied {denied_after}, bad {bad_after}, good {good_after}")
    head = mention.head
    kind = "signal" if head in SIGNALS else "platform" if head in PLATFORMS else "apparatus" if head in APPARATUS else "unknown"
    out.append(f"is {kind}")
    out.append(f"is {kind}, {'many' if mention.plural else 'one'}")
    out.append(
        f"said with {mention.determiner if mention.determiner in ('the', 'a', 'an', 'no', 'any', 'every', 'each', 'that') else 'other'}"
    )
    if mention.colours:
        out.append("has a colour")
    if mention.part:
        out.append("is a part")
    known = any(same_thing(mention, each) for each in seen)
    out.append("known" if known else "new")
    out.append(f"{'known' if known else 'new'} {kind}")
    if any(same_head(mention.head, each.head) and (mention.colours & each.colours or not mention.colours) for each in before):
        out.append("ended on before")
    place = at / max(1, len(lines) - 1)
    third = "begin" if at <= 1 else "close" if place > 0.75 else "middle"
    out.append(f"in the {third}")
    out.append(f"in the {third}, {kind}")
    out += hung_on(line.skeleton.sentence.tokens, mention)
    if not any(line.mentions for line in lines[at + 1 :]) and index == len(line.mentions) - 1:
        out.append("last thing said")
    if not seen and index == 0:
        out.append("first thing said")
    if age_key(line.plain):
        out.append("names a class")
    if any(i in NUMBER for i in items[max(0, k - 2) : k]):
        out.append("counted")
    out += [f"acts {act.kind}" for act in line.acts if act.mention != index]
    return list(dict.fromkeys(out))


_BY = frozenset({"prep", "agent", "pcomp", "conj", "appos", "pobj"})


def _dependants(tokens: Sequence[Token], at: int) -> Iterator[Token]:
    return (token for k, token in enumerate(tokens) if token.head == at and k != at)


def _denied(tokens: Sequence[Token], at: int) -> bool:
    return any(t.dep == "neg" or t.lemma in _CLASS["negate"] for t in _dependants(tokens, at)) or tokens[at].lemma in _CLASS["forbid"]


def hung_on(tokens: Sequence[Token], mention: Mention) -> list[str]:
    """What the phrase hangs on in the parse: its relation, the verb that governs it, and what is denied or allowed on the way up."""
    inside = range(mention.first, mention.last + 1)
    at = next((k for k in reversed(inside) if tokens[k].head not in inside), mention.last)
    relation, by, steps = tokens[at].dep, "", 0
    listed = False
    while tokens[at].dep in ("conj", "appos") and tokens[at].head != at and steps < 8:
        at, steps, listed = tokens[at].head, steps + 1, True
        relation = tokens[at].dep
    out = [f"hangs as {relation}"]
    if listed:
        out.append("is listed")
    while tokens[at].pos not in ("VERB", "AUX") and tokens[at].head != at and steps < 12:
        up = tokens[at].head
        if tokens[up].dep in ("prep", "agent") and not by:
            by = tokens[up].lemma
        at, steps = up, steps + 1
    verb = tokens[at]
    kinds = _OF_WORD.get(verb.lemma, ())
    denied = _denied(tokens, at)
    modal = next((t.lemma for t in _dependants(tokens, at) if t.dep == "aux" and t.tag == "MD"), "")
    subject = next((t for t in _dependants(tokens, at) if t.dep in ("nsubj", "nsubjpass", "expl")), None)
    bare = subject is None
    if by:
        out.append(f"by {by}")
    for kind in kinds or ((f"{verb.pos}",) if verb.pos not in ("VERB", "AUX") else ("any verb",)):
        out += [f"under {kind}", f"under {kind} as {relation} {by}", f"under {kind} as {relation}, denied {denied}"]
    out += [f"governed {relation}, denied {denied}, {'ordered' if bare else 'told'}, {modal}", f"governed by {verb.lemma}"]
    if subject is not None:
        out += [f"subject {name}" for name in _OF_WORD.get(subject.lemma, ("other",))]
    if relation in ("nsubj", "nsubjpass"):
        for child in _dependants(tokens, at):
            if child.dep in ("acomp", "attr", "prep", "advmod", "xcomp", "oprd", "ccomp"):
                for name in _OF_WORD.get(child.lemma, ()):
                    out += [f"is said {name}, denied {denied}"]
                if child.dep == "attr":
                    out.append("is said to be a thing")
    climbed, above_ = at, []
    while tokens[climbed].head != climbed and steps < 16:
        climbed, steps = tokens[climbed].head, steps + 1
        above_.append(climbed)
    if any(_denied(tokens, k) for k in above_):
        out.append("denied above")
    for k in above_:
        out += [f"above {name}" for name in _OF_WORD.get(tokens[k].lemma, ())]
    return list(dict.fromkeys(out))


def phrases_of(lines: Sequence[Line]) -> Iterator[tuple[int, int, list[Mention]]]:
    """Each phrase of the lines by line and index, with those said before it."""
    seen: list[Mention] = []
    for at, line in enumerate(lines):
        for index, mention in enumerate(line.mentions):
            if f"@{index}" in line.skeleton.items:
                yield at, index, list(seen)
                seen.append(mention)


def _same(a: Mention, b: Mention) -> bool:
    """Whether two phrases can name one thing or one part of it."""
    return same_thing(a, b) and a.part == b.part and a.is_part == b.is_part


def things_of(lines: Sequence[Line]) -> list[list[tuple[int, int, list[Mention]]]]:
    """The phrases of the lines, those that name one thing together, with what was said before each."""
    things: list[list[tuple[int, int, list[Mention]]]] = []
    for at, index, seen in phrases_of(lines):
        mention = lines[at].mentions[index]
        mine = next((t for t in things if _same(mention, lines[t[0][0]].mentions[t[0][1]])), None)
        if mine is None:
            things.append([(at, index, seen)])
        else:
            mine.append((at, index, seen))
    return things
