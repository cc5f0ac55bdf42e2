"""Names of stations: from the names list, heard rightly or nearly, and from the ways in which a speaker gives a name.

In: sentences and the names that staff typed in. Out: for a sentence, the name it gives and how sure that is. Names are compared by spelling
without blanks and, where that leaves a doubt, by sound.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import jellyfish
from rapidfuzz import fuzz

from annotator.rules.lexicon import APPARATUS, PARTS, words

_NUM = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|\d{1,2})"
_ORD = r"(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|last|final|next)"
_SLOTS: tuple[tuple[re.Pattern[str], float], ...] = tuple(
    (re.compile(pattern), strength)
    for pattern, strength in (
        (
            r"\b(?:called|we call it|we call this|calling (?:this |it )?(?:one )?|known as|goes by|has the name|the name is|by "
            r"the name of|named)(?: the| a)? (?P<x>.+)",
            1.0,
        ),
        (
            rf"\b(?:station|obstacle|number|event|element|challenge)(?: number)? {_NUM}\b(?! starts| begins| takes)(?:,| then| "
            rf"is| here| and| this is| we have| it's| that's| which is| super \w+)*(?: the| our| your)? (?P<x>.+)",
            1.0,
        ),
        (
            rf"^(?:so |now |okay |and |then |right |, )*(?:we go to |we have |it comes |comes )?(?:the )?{_NUM}(?:,| is| it's| "
            rf"this is| it has| here)+(?: the| name)* (?P<x>.+)",
            0.9,
        ),
        (
            rf"\b(?:the |our |your )?{_ORD}(?: and \w+)? (?:one|station|obstacle|element|event)(?:,| is| here| it's| we're| this "
            rf"is| \w+ one| called| I promise| i promise)*(?: called)?(?: the| calling the)? (?P<x>.+)",
            0.8,
        ),
        (r"\bnext (?:up|along|one|is)(?:,| here| we have| we got| comes| is| it's| station \w+)*(?: the| our)? (?P<x>.+)", 0.8),
        (r"^(?:and |so |okay |right |,)*now,? (?:for |on to |we have |comes )?(?:the|our) (?P<x>[a-z -]+)(?:,|\.|$)", 0.8),
        (
            r"\b(?:we (?:got|have|come to|reach|move to|go to)|you(?:'ve)? got|you have|this is|it's|going into|straight into|"
            r"brings us to|on to|onto|moving on to|take off for|set off for|up is|here is|here's|welcome to|now for|the one "
            r"after that is|then it's|then comes)(?: the| your| our)? (?P<x>.+)",
            0.5,
        ),
        (r"^(?:so |now |okay |alright |right |and |then |, )*(?:the )?(?P<x>.+)", 0.3),
        (r"\bthen,? (?P<x>.+)", 0.3),
    )
)
ALONE = 1.0  # strength of a name that is all a sentence says
_LITTLE = frozenset(
    [
        "the",
        "a",
        "an",
        "and",
        "so",
        "then",
        "now",
        "next",
        "is",
        "it's",
        "that's",
        "this",
        "our",
        "your",
        "yon's",
        "here",
        "here's",
        "first",
        "last",
        "okay",
        "ok",
        "right",
        "well",
        "on",
        "to",
        "we",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "number",
        "station",
        "obstacle",
        "first's",
        "one's",
        "two's",
        "three's",
        "four's",
        "five's",
        "six's",
        "seven's",
        "eight's",
        "nine's",
    ]
)
AT_FRONT = 12  # characters into a sentence; farther on, "the first one" is seldom followed by a name
_TAIL = re.compile(r"[,.;:?!]| (?:and|which|where|because|that|is|it's|who|you|this|so|here|with|we|but|i|starts?|to bring)\b")


@dataclass(frozen=True, slots=True)
class Naming:
    """A name given in a sentence: as the names list spells it (or as heard), the words heard, and 0..1."""

    name: str
    heard: str
    listed: bool
    score: float
    slot: float


@lru_cache(maxsize=65536)
def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.lower())


def alike(heard: str, name: str) -> float:
    """0..1: how much two names read or sound the same. Spelling without blanks, or sound (Metaphone), whichever is closer.

    >>> alike("rope run up", "rope run-up") == 1.0, alike("lead shuffle", "ledge shuffle") > 0.8
    (True, True)
    """
    a, b = _plain(heard), _plain(name)
    if not a or not b:
        return 0.0
    spelt = fuzz.ratio(a, b) / 100
    if spelt > 0.9 or spelt < 0.35:
        return spelt
    sounds = fuzz.ratio(jellyfish.metaphone(heard), jellyfish.metaphone(name)) / 100
    return max(spelt, 0.5 * spelt + 0.5 * sounds)


FAR = 3  # letters that what was heard may be longer or shorter than a name


class NamesList:
    """The names that staff typed in, ready to be looked for."""

    def __init__(self, names: Sequence[str]) -> None:
        kept = [" ".join(n.split()) for n in names if _plain(n)]
        self.names = tuple(dict.fromkeys(kept))
        self._sizes = sorted({len(n.replace("-", " ").split()) for n in self.names})
        self._plain = {n: _plain(n) for n in self.names}
        self.plain = frozenset(self._plain.values())
        """The names in small letters without blanks."""
        self._of_about: dict[int, list[tuple[str, str]]] = {}

    def spotted(self, words: Sequence[str], least: float = 0.86) -> tuple[tuple[str, int, str], ...]:
        """Names that stand anywhere in the words, as (name, index, words heard), best first for each place."""
        found: dict[str, tuple[float, int, str]] = {}
        for size in self._sizes:
            for width in {size, max(1, size - 1)}:
                for i in range(len(words) - width + 1):
                    heard = " ".join(words[i : i + width])
                    plain = _plain(heard)
                    for name, sought in self._about(len(plain)):
                        score = fuzz.ratio(plain, sought, score_cutoff=least * 100) / 100
                        if score and (name not in found or found[name][0] < score):
                            found[name] = (score, i, heard)
        return tuple((name, i, heard) for name, (score, i, heard) in sorted(found.items(), key=lambda f: (f[1][1], -f[1][0])))

    def _about(self, letters: int) -> list[tuple[str, str]]:
        """Names about so long, each also in small letters without blanks."""
        if letters not in self._of_about:
            self._of_about[letters] = [(name, plain) for name, plain in self._plain.items() if abs(len(plain) - letters) <= FAR]
        return self._of_about[letters]

    def nearest(self, heard: str) -> tuple[str, float] | None:
        """The listed name most like the words heard, with its likeness."""
        scored = [(alike(heard, name), name) for name in self.names]
        return (max(scored)[1], max(scored)[0]) if scored else None


def namings(text: str, words: Sequence[str], listed: NamesList) -> tuple[Naming, ...]:
    """The names that a sentence gives, surest first. `text`: the sentence as said in lower case; `words`: its words without punctuation."""
    out: list[Naming] = []
    for name, _, heard in listed.spotted(words):
        slot = max((s for p, s in _SLOTS for m in [p.search(text)] if m and heard in re.sub(r"[^a-z0-9' -]", "", m["x"])), default=0.2)
        rest = [word for word in words if word not in heard.split() and word not in _LITTLE]
        out.append(Naming(name, heard, True, 1.0, slot if rest else max(slot, ALONE)))
    guesses: list[Naming] = []
    if not out:
        for pattern, strength in _SLOTS:
            match = pattern.search(text)
            if not match:
                continue
            said = _TAIL.split(match["x"].strip(" ,"))[0].strip()
            pieces = said.split()[:4]
            if not pieces:
                continue
            best = None
            for size in range(1, len(pieces) + 1):
                near = listed.nearest(" ".join(pieces[:size]))
                if near and (best is None or near[1] > best[1]):
                    best = (near[0], near[1], " ".join(pieces[:size]))
            if best and strength >= 0.5:
                guesses.append(Naming(best[0], best[2], True, round(best[1] * 0.5, 3), strength))
            if best and best[1] >= {1.0: 0.6, 0.9: 0.6, 0.8: 0.62, 0.5: 0.72}.get(strength, 0.8):
                out.append(Naming(best[0], best[2], True, best[1], strength))
            elif strength >= 0.8 and match.start() <= AT_FRONT and not listed.names and len(pieces) <= 3:
                out.append(Naming(said, said, False, 0.6, strength))
    if not out:
        out = guesses  # far from any name: worth something only where nothing else is left
    return tuple(sorted(out, key=lambda n: (-n.score * (0.5 + n.slot), n.name)))


_OWN_WORDS = words(
    """
    banker barre beard becket bellow bellows belly builder bullock bunch china choir clump fennel flour hitch hookah house hummock hutch
    leader loader lodge nodule pellet pillory plait pleat porch puddle pullet sitar slate sloop sloper stamp stoep stole strip strop tabby
    wader waiter
    """
)
"""Things (and people) by words of their own that sound like a piece of equipment."""


@lru_cache(maxsize=4096)
def heard_as(word: str, lemma: str) -> str:
    """The piece of equipment that a word sounds exactly like, if it is none itself: "palette" is a pallet, "hand drill" is no word of ours.

    >>> heard_as("palette", "palette"), heard_as("beam", "beam"), heard_as("strips", "strip")
    ('pallet', 'beam', 'strip')
    """
    if lemma in APPARATUS or lemma in PARTS or lemma in _OWN_WORDS or len(word) < 5:
        return lemma
    sound = jellyfish.metaphone(word)
    fits = sorted(
        known
        for known in APPARATUS
        if known[0] == word[0]
        and abs(len(known) - len(word)) <= 2
        and jellyfish.metaphone(known) == sound
        and fuzz.ratio(known, word) >= 75
    )
    return fits[0] if fits else lemma
