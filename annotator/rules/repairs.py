"""Take out what the speaker took back: fillers, stumbles, and self-corrections.

The frame is the classical one: reparandum, interregnum, repair (Shriberg 1994). "the red, sorry, the orange box" keeps the orange box.
In and out: cleaned words, so that nothing after this step ever sees the replaced side. A correction that merely follows in another
sentence ("forget the sheet, the handrail is out") is no repair; the sheet lets the later word win there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from annotator.rules.lexicon import COLOURS, FILLERS, NUMBER, SIZES, words
from annotator.rules.text import Heard

_EDITS = (
    "no i'm telling you a lie", "i'm telling you a lie", "no one minute", "one minute", "no one second", "one second",
    "let me see", "let me look", "let me check", "i must look",
    "no moment", "no one moment", "no tell a lie", "tell a lie", "i tell a lie", "no hold up", "hold up", "nah sorry", "nah", "nope",
    "no wait a minute", "no hang on", "no hold on", "no wait", "no sorry", "no scratch that", "i beg your pardon", "beg your pardon",
    "scratch that", "let me correct that", "correction", "my mistake", "my bad", "or rather", "i should say", "make that", "excuse me",
    "pardon me", "sorry", "hang on", "hold on", "wait no", "wait", "no no", "no", "actually no", "actually", "i mean", "what am i saying",
    "not that", "strike that",
)  # fmt: skip
_WEAK = frozenset({"no", "nah", "nope", "actually", "i mean", "wait", "no no", "hang on", "hold on", "sorry", "excuse me"})
_ASIDES = (
    "what d'you call it", "what do you call it", "what do you call them", "how do you say", "what is it", "what are they", "how to say",
    "let me get this right", "you know what i mean", "what's it called", "let me think", "let me see", "where do they end up",
)  # fmt: skip
_DETERMINERS = words(
    """
    the a an this that these those your our any one all some
    """
)
_STOP_BACK = words(
    """
    on onto to at from off is it's are and then over by in you use touch land start finish take through of for with along across
    under up down that's there's use grab hold not be
    """
)
SILENCE_S = 1.0  # a gap that stays a silence even where an "um" after it was taken out
REACH = 7  # words back and ahead within which a correction replaces


def mend(words: Sequence[Heard]) -> tuple[Heard, ...]:
    """The words without fillers, stumbles and replaced sides; the rest keeps its order and its times.

    >>> said = "on the red box, ah, sorry, not red, the pink box"
    >>> " ".join(w.text for w in mend([Heard(t, 0, 0) for t in said.split()]))
    'on the pink box'
    """
    numbered = [Heard(word.text, word.start_s, word.end_s, i) for i, word in enumerate(words)]
    plain = _without_repeats(_without_asides([w for w in numbered if w.bare not in FILLERS]))
    kept = _without_repeats(_without_corrections(plain))
    mended = []
    ends = [*(k.order for k in kept[1:]), len(numbered)]
    for word, after in zip(kept, ends[: len(kept)], strict=True):
        # speech that was taken out is no silence
        end_s = word.end_s
        for dropped in numbered[word.order + 1 : after]:
            if dropped.start_s - end_s > SILENCE_S:
                break
            end_s = max(end_s, dropped.end_s)
        mended.append(word if end_s == word.end_s else replace(word, end_s=end_s))
    return tuple(mended)


def _by_first(phrases: Sequence[str]) -> dict[str, list[tuple[str, ...]]]:
    """Phrases by their first word, the longest first."""
    index: dict[str, list[tuple[str, ...]]] = {}
    for phrase in sorted((tuple(p.split()) for p in phrases), key=len, reverse=True):
        index.setdefault(phrase[0], []).append(phrase)
    return index


_EDITS_AT = _by_first(_EDITS)
_ASIDES_AT = _by_first(_ASIDES)


def _matches(words: Sequence[Heard], at: int, phrase: tuple[str, ...]) -> bool:
    return at + len(phrase) <= len(words) and all(words[at + k].bare == w for k, w in enumerate(phrase))


def _without_asides(words: list[Heard]) -> list[Heard]:
    out: list[Heard] = []
    i = 0
    while i < len(words):
        size = next((len(p) for p in _ASIDES_AT.get(words[i].bare, ()) if _matches(words, i, p)), 0)
        if size:
            i += size
        else:
            out.append(words[i])
            i += 1
    return out


def _without_repeats(words: list[Heard]) -> list[Heard]:
    """Drop the first of two equal runs of 1 to 5 words that follow each other ("there's a, there's a knot")."""
    out: list[Heard] = []
    said: list[str] = []  # the same words bare, since each is looked at many times
    for word in words:
        bare = word.bare
        if (
            len(out) > 1
            and said[-1] in ("or", "are", "a", "er")
            and bare in _DETERMINERS
            and said[-2] in _DETERMINERS
            and out[-2].text[-1] == ","
        ):
            del out[-2:], said[-2:]  # "on the, er, the platform", with the filler heard as a word
        out.append(word)
        said.append(bare)
        for size in (5, 4, 3, 2, 1):
            if len(out) < 2 * size or said[-size - 1] != bare or said[-2 * size : -size] != said[-size:]:
                continue
            last = out[-size - 1]
            broken = bare in _BROKEN_OFF
            if size < 4 and ((last.text[-1] in ".?!" and not broken) or bare not in _REPEATABLE):
                continue
            del out[-2 * size : -size], said[-2 * size : -size]
            break
    return out


_BROKEN_OFF = words("the a an on onto to in of your and or")
_REPEATABLE = words(
    """
    the a an you it it's there's is and to on of in they your this that that's we i so but if for with those then from then's are or
    """
)


def _without_corrections(words: list[Heard]) -> list[Heard]:
    out: list[Heard] = []
    i = 0
    while i < len(words):
        phrase = next((p for p in _EDITS_AT.get(words[i].bare, ()) if _matches(words, i, p)), None)
        if phrase is not None and " ".join(phrase) in _ANSWERS and _asking(out):
            phrase = None  # "may you push off against the legs, no, the legs are out" is an answer and no correction
        fenced = bool(out) and out[-1].text[-1] in ",.;:-" and not out[-1].text.endswith("?")
        if phrase is None or not fenced:
            out.append(words[i])
            i += 1
            continue
        after = _end_of_interregnum(words, i + len(phrase))
        back = _reparandum(out, words, after, weak=" ".join(phrase) in _WEAK and after == i + len(phrase))
        if back is None:
            out.append(words[i])
            i += 1
            continue
        del out[back:]
        i = after
    return out


_ANSWERS = frozenset({"no", "nope", "nah", "no no"})
_ASKS = frozenset({"can", "may", "could", "shall", "do", "are", "is", "does"})
_ASKED = frozenset({"you", "we", "i", "they", "one", "she", "he"})
BACK = 12  # words back in which a question opens


def _asking(words: Sequence[Heard]) -> bool:
    """Whether the words before, back to a stop, ask something: "can you", "may they"."""
    near = list(words[-BACK:])
    for k in range(len(near) - 1, 0, -1):
        if near[k - 1].text[-1] in ".?!" and k < len(near) - 1 and near[k - 1] is not near[-1]:
            return False
        opens = k == 1 or near[k - 2].text[-1] in ",.;?!" or near[k - 2].bare in ("and", "so", "but", "was", "is", "asked")
        if near[k].bare in _ASKED and near[k - 1].bare in _ASKS and opens:
            return True
    return False


def _end_of_interregnum(words: Sequence[Heard], at: int) -> int:
    """Past further editing words, "not red", "it's" and the like."""
    while at < len(words):
        phrase = next((p for p in _EDITS_AT.get(words[at].bare, ()) if _matches(words, at, p)), None)
        if phrase:
            at += len(phrase)
        elif words[at].bare == "not" and at + 1 < len(words):
            stop = next((k for k in range(at + 1, min(at + 5, len(words))) if words[k].text[-1] in ",.;"), None)
            if stop is None:
                return at
            at = stop + 1
        elif (
            words[at].bare in ("it's", "that's", "it", "is", "i")
            and at + 1 < len(words)
            and words[at + 1].bare in _DETERMINERS | {"is"} | COLOURS
        ):
            at += 1
        else:
            return at
    return at


def _reparandum(out: Sequence[Heard], words: Sequence[Heard], after: int, *, weak: bool) -> int | None:
    """Where the replaced side begins in `out`, None where the repair does not answer to anything before it."""
    ahead = _phrase(words[after : after + REACH])
    if not ahead:
        return None
    first = ahead[0]
    if first in NUMBER or first.rstrip("s") in NUMBER:
        last = out[-1].bare
        return len(out) - 1 if last in NUMBER else None
    lowest = max(0, len(out) - REACH)
    if not weak and set(ahead) & COLOURS:
        told = next((k for k in range(len(out) - 2, lowest - 1, -1) if _coloured_thing(out, k, ahead)), None)
        if told is not None:
            return told  # "orange holds are out, no, scratch that, white holds are out"
    begin = None
    for k in range(len(out) - 1, lowest - 1, -1):
        if k < len(out) - 1 and out[k].text[-1] in ".?!":
            break
        if out[k].bare in _DETERMINERS:
            begin = k
            break
        if out[k].bare in _STOP_BACK:
            begin = k + 1 if k + 1 < len(out) else None
            break
    if begin is None or begin >= len(out):
        return None
    behind = [w.bare for w in out[begin:]]
    if len(behind) > 5:
        return None
    # a phrase answers to a phrase: same head, or a colour against a colour, or one broken off
    heads = {_stem(ahead[-1])} & {_stem(w) for w in behind}
    coloured = bool(set(behind) & COLOURS) and bool(set(ahead) & COLOURS)
    same_opening = ahead[0] == behind[0] and ahead[0] in _DETERMINERS
    broken_off = same_opening and all(w in SIZES | COLOURS for w in behind[1:])
    if heads or coloured or broken_off or (same_opening and not weak):
        if behind[0] in _DETERMINERS and ahead[0] not in _DETERMINERS:
            return begin + 1
        return begin
    return None


def _coloured_thing(out: Sequence[Heard], k: int, ahead: Sequence[str]) -> bool:
    """Whether word k is a colour before the thing that the repair names in another colour."""
    bare = out[k].bare
    head = next((w for w in ahead if w not in COLOURS and w not in _DETERMINERS), "")
    return bare in COLOURS and bare not in ahead and _stem(out[k + 1].bare) == _stem(head)


def _phrase(words: Sequence[Heard]) -> list[str]:
    """The words up to the first comma or stop, at most to the next small word after a noun has begun."""
    said: list[str] = []
    for word in words:
        bare = word.bare
        if (len(said) > 1 and bare in _STOP_BACK | {"is", "are", "the", "that", "which", "was", "you"}) or (
            bare.endswith("'s") and said and bare not in ("it's",)
        ):
            if bare.endswith("'s"):
                said.append(bare[:-2])
            break
        said.append(bare)
        if word.text[-1] in ",.;:?!":
            break
    return said


def _stem(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
