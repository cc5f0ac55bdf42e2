"""What a person typed where a rule for every station is added: the name of a thing, or a sentence, read as one that was spoken.

In: the text. Out: the rules that it states, how a run is counted where it says that, or that it is a mere name. Nothing is put in here;
a person looks at what was understood first.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from annotator.course import BlanketRule, RunFormat, Word
from annotator.rules.blanket import find_blanket
from annotator.rules.called import named_at
from annotator.rules.groups import named_in
from annotator.rules.reading import Line, read_walk
from annotator.rules.runformat import find_format
from annotator.rules.typed_classes import as_for_classes, keys_of, names_classes

EVERYWHERE = "At every station,"  # what the place where it is typed says of it
MOST_WORDS = 200
_SECONDS_A_WORD, _PAUSE_S = 0.3, 2.0
_A_NAME, _SURELY = 6, 2  # words of a name at most, and of one that need not be looked at
_RULING = re.compile(
    r"(?<!-)\b(?:no|not|never|nobody|none|nothing|only|but|except|save|all|any|every|everything|anything|everywhere|don't|in|out|off|limits?"
    r"|allowed|permitted|banned|barred|forbidden|prohibited|legal|illegal|okay|ok|fine|good|free|yes|touch|use|skip|avoid|keep|stay|leave|mind"
    r"|may|must|can|cannot|should|hands?|feet|foot|retry|retries|tries|goes|chances?|attempts?|lives|fastest|furthest|wins?|counts?)\b(?!-)"
    r"|n't\b|[.!?;]$",
    re.IGNORECASE,
)  # a thing that has one of them in its name is only looked at first
_BARE = re.compile(
    r"(?:the |all |any )?(?P<thing>(?:[\w'-]+,? ){0,9}?[\w'-]+):? "
    r"(?P<ruling>(?:not )?(?:allowed|permitted|okay|ok|fine)|(?:in|out)(?: of)?(?: play)?|off[- ]limits|forbidden|banned|prohibited|barred)"
    r"(?: everywhere)?[.!;]?",
    re.IGNORECASE,
)  # "mats out", "ropes allowed": a rule without a verb
_TWO_WAYS = re.compile(r"\b(?:not|no|never|hardly|but|except|without|in|out|you|they|we|is|are|may|can|must|will)\b", re.IGNORECASE)
_CALLS = re.compile(
    r"(?:look|watch|check|dug|dig|time|miss|opt|fall|move|sign|work|pass|get|come|go|join|jump|hop|way|keep|stay)", re.IGNORECASE
)
"""What is called and no thing: "look out"."""
_ALL_BUT = re.compile(r"\b(?:everything|anything|all)\b.*\b(?:but|except|bar|save)\b", re.IGNORECASE)
_HAND = r"(?:hands?|fingers?|gloves?|arms?|elbows?)"
_FOOT = r"(?:feet|foot|shoes?|boots?|trainers|soles?|toes?|heels?|knees?|legs?)"
_LIMB = rf"(?:{_HAND}|{_FOOT})"
_EVERY_LIMB = re.compile(
    rf"\b(?:{_HAND},? (?:and|or|nor) (?:no |your |the )?{_FOOT}|{_FOOT},? (?:and|or|nor) (?:no |your |the )?{_HAND})\b", re.IGNORECASE
)
_ENDS = (
    r"\b(?=[,.;:!?]|$| (?:on|off|in|onto|and|or|at|near|to|when|while|only|please|here|there|anywhere|may|can|must|should|not|allowed)\b)"
)
"""What stands behind a limb that is none: "foot rail"."""
_LIMBS_BARRED = re.compile(
    rf"(?:\b(?:no|not|never|nobody|without)\b|n't\b).*\b(?:with|by|using|use) (?:\w+ ){{0,2}}{_LIMB}{_ENDS}|"
    rf"\b(?:no (?:\w+ )?|not (?:one|a|any) |out for (?:the |your )?){_LIMB}{_ENDS}|\b(?:keep|take) (?:\w+ )?{_FOOT}{_ENDS}|"
    rf"(?:^|\bstation, )(?:your |the |any )?(?:{_LIMB} (?:\w+ )?(?:not\b|\w+n't\b)|{_FOOT} (?:stay )?off\b)|"
    rf"\b{_LIMB} on .*\b(?:not (?:allowed|permitted)|forbidden|out)\b",
    re.IGNORECASE,
)
"""What keeps some limbs off a thing and says nothing of the others: out for all would be more than was typed. "Hands off" is no such."""


_SAYS = re.compile(
    r"^(?:no|never|only)\b|^(?:keep|leave|stay|use|touch|skip)(?: off)? (?:the|a|an|all|any|your|to|out|away)\b|"
    r"\b(?:may|must|cannot|could|should|shall|will|gets?|has|have|is|are|do|does|not|if|when|you|they|nobody|everybody|everyone)\b|"
    r"\w can (?!of\b)\w|n't\b|[.!?]$|\b(?:in|out)(?:,|$)",
    re.IGNORECASE,
)
"""What no name of a thing has."""


@dataclass(frozen=True, slots=True)
class Typed:
    """`name` says that the text only names a thing; else it was read, and `left` are the sentences of which nothing was understood.

    A sentence of which a part was understood is not in `left`; what stands behind the last word that is read is. `may_be_name`: nothing was
    understood, and for all that is known it may be a thing's name.
    """

    rules: tuple[BlanketRule, ...] = ()
    format: RunFormat | None = None
    name: bool = False
    left: tuple[str, ...] = ()
    may_be_name: bool = False


def read_typed(text: str, names: Sequence[str] = (), divisions: Collection[str] = ()) -> Typed:
    """Read what was typed as a rule for every station.

    Parameters
    ----------
    text
        One sentence or several, with or without a full stop; only the first 200 words are read, the rest is `left`.
    names
        The names list of the course.
    divisions
        The classes of athletes that the course has. "Adults" is one where it is among them; where not, it may be everybody, and what is
        typed of adults is left.

    Returns
    -------
    Typed
        Rules without evidence, confidence or id: they were not said on the walk.

    Examples
    --------
    >>> [(rule.surface, rule.ruling) for rule in read_typed("Nobody may touch the scaffolding.").rules]
    [('scaffolding', 'out')]
    >>> read_typed("the post pads").name, read_typed("The floor is out. The sun shines today.").left
    (True, ('The sun shines today.',))
    """
    words = text.split()
    written, unread = " ".join(words[:MOST_WORDS]), " ".join(words[MOST_WORDS:])
    if not any(sign.isalpha() for sign in text):
        return Typed()
    typed = {_whole(piece): piece for piece in re.split(r"(?<=[.!?;])\s+", written) if piece}
    sentences = list(typed)
    plain = _lines(" ".join(sentences), names)
    placed = _lines(" ".join(f"{EVERYWHERE} {piece[:1].lower()}{piece[1:]}" for piece in sentences), names)
    run = find_format([(line.plain, line.said) for line in plain])
    lines, rules = max(((each, find_blanket(each, each)) for each in (plain, placed)), key=lambda read: len(read[1]))
    known = tuple(divisions)
    read = _in_turn(lines, rules, known)
    left_out = {line.said.start for line, mine in zip(lines, read, strict=True) if mine is None}
    understood = {line.said.start for line, mine in zip(lines, read, strict=True) if mine == [] and any(_of(rule, line) for rule in rules)}
    rules = tuple(rule for mine in read for rule in mine or ())
    if run is not None and any(names_classes(line, known) for line in plain if line.said.start in {said.start for said in run.said}):
        run = None  # how a run is counted is one for all
    if not rules and run is None and _is_name(written):
        return Typed(name=True, may_be_name=True)
    used = ({said.start for rule in rules for said in rule.said} | understood) - left_out
    used_by_run = {said.start for said in run.said} if run else set[float]()
    counts = {line.index for line in plain if line.said.start in used_by_run}
    not_used = [line.said.text for line in lines if line.said.start not in used and line.index not in counts]
    left = tuple(_as_typed(said.removeprefix(EVERYWHERE).strip(), typed) for said in not_used)
    left += (unread,) if unread else ()
    spelled = keys_of(divisions)
    bare = tuple(_without_words(rule, spelled) for rule in rules)
    classes = any(names_classes(line, known) or named_at(line) for line in (*plain, *placed))
    unlike = bool(bare) or run is not None or classes or _SAYS.search(written) is not None
    return Typed(bare, None if run is None else run.model_copy(update={"said": ()}), left=left, may_be_name=not unlike)


def _without_words(rule: BlanketRule, spelled: Mapping[str, str]) -> BlanketRule:
    """A rule that nobody said on the walk, with its classes as the course spells them."""
    told = {spelled.get(key, key): ruling for key, ruling in (rule.divisions or {}).items()}
    return rule.model_copy(update={"said": (), "confidence": None, "divisions": told or None})


def _whole(piece: str) -> str:
    """A rule without a verb as a sentence: "mats out" says that they are."""
    bare = _BARE.fullmatch(piece)
    if (
        bare is None
        or _TWO_WAYS.search(bare["thing"])
        or _CALLS.fullmatch(bare["thing"])
        or named_in(bare["thing"].split()[0])
        or (bare["ruling"].startswith("not ") and "allow" not in bare["ruling"])
    ):
        return piece
    thing = bare["thing"] if " and " in bare["thing"] else " and ".join(bare["thing"].rsplit(", ", 1))
    whole = f"The {thing} {'are' if thing.endswith('s') else 'is'} {bare['ruling']}."
    return piece if any(named_at(line) for line in _lines(f"{piece}. {whole}", ())) else whole


def _as_typed(said: str, typed: Mapping[str, str]) -> str:
    return next((piece for sentence, piece in typed.items() if sentence.lower() == said.lower()), said)


def _of(rule: BlanketRule, line: Line) -> bool:
    return any(said.start == line.said.start for said in rule.said)


def _in_turn(lines: Sequence[Line], rules: Sequence[BlanketRule], divisions: Collection[str]) -> list[list[BlanketRule] | None]:
    """For each sentence its rules, with what it says for classes; None where that is not understood."""
    out: list[list[BlanketRule] | None] = []
    before: list[BlanketRule] | None = None
    for line in lines:
        mine = [rule for rule in rules if min(said.start for said in rule.said) == line.said.start]
        read = as_for_classes(line, mine, before, divisions)
        read = None if any(rule.ruling == "out" and _is_unsure(line.said.text, rule.surface or "") for rule in mine) else read
        out.append(read)
        goes_on = before is not None and (read is None or (mine and not read))
        before = (read or []) if names_classes(line, divisions) else before if goes_on else None
    return out


def _is_unsure(text: str, thing: str) -> bool:
    """Whether what is read as out may be another rule: "everything but the mats out", "seniors ropes out"."""
    return _bars_limbs(text) or _ALL_BUT.search(text) is not None or bool(thing.partition(" ")[2] and named_in(thing.split()[0]))


def _bars_limbs(text: str) -> bool:
    """Whether a sentence keeps hands off and not feet, or the other way round."""
    return _EVERY_LIMB.search(text) is None and _LIMBS_BARRED.search(text) is not None


def _lines(text: str, names: Sequence[str]) -> tuple[Line, ...]:
    """Read at a steady pace, with a pause after each full stop."""
    words: list[Word] = []
    at = 0.0
    for piece in text.split():
        words.append(Word(start=at, end=at + _SECONDS_A_WORD, text=piece))
        at += _SECONDS_A_WORD + (_PAUSE_S if piece.endswith((".", "!", "?", ";")) else 0.0)
    return read_walk(words, names).lines


def _is_name(text: str) -> bool:
    """Whether a text of which nothing was understood is no sentence: few words, none that rules or does anything.

    What a thing is for ("climbing wall") does nothing.
    """
    if len(text.split()) > _A_NAME or _RULING.search(text):
        return False
    if len(text.split()) <= _SURELY:
        return True
    tokens = [token for line in _lines(text, ()) for token in line.skeleton.sentence.tokens]
    return not any(token.pos in ("VERB", "AUX") and token.tag not in ("VBG", "VBN") for token in tokens)
