"""How alike two words are, in spelling and in sound; words without punctuation, and in the singular."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import jellyfish
import numpy as np
from rapidfuzz import process
from rapidfuzz.distance import Indel, Levenshtein

_SIGN = re.compile(r"[^a-z0-9' -]+")


def word_likeness(one: str, other: str) -> float:
    """Half spelling, half sound, 0 to 1."""
    return 0.5 * Indel.normalized_similarity(one, other) + 0.5 * Indel.normalized_similarity(sound(one), sound(other))


def likeness(texts: Sequence[str], names: Sequence[str]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """`word_likeness` of each text with each name, shape (texts, names)."""
    spelt = process.cdist(texts, names, scorer=Indel.normalized_similarity, dtype=np.float64)
    heard = process.cdist(
        [sound(text) for text in texts], [sound(name) for name in names], scorer=Indel.normalized_similarity, dtype=np.float64
    )
    return np.asarray(0.5 * spelt + 0.5 * heard)


@lru_cache(maxsize=65536)
def sound(text: str) -> str:
    return jellyfish.metaphone(text)


@lru_cache(maxsize=65536)
def _vowels(word: str) -> str:
    """The vowels of a word as letters, a silent e at the end and doubles left out."""
    silent = re.sub(r"(?<=[^aeiouy])e(?=s?$)", "", word)
    return re.sub(r"(.)\1+", r"\1", "".join(sign for sign in silent.replace("y", "i") if sign in "aeiou"))


def sounds_alike(one: str, other: str) -> bool:
    """Whether two single words may be one heard wrong: the same first sound, and all consonants or all but one letter alike."""
    first, second = sound(one), sound(other)
    if not first or not second or first[0] != second[0]:
        return False
    if one[0] != other[0] and not {one[0], other[0]} <= set("ckq"):
        return False
    same_vowels = _vowels(one) == _vowels(other)
    return (first == second and (same_vowels or len(first) >= 3)) or (same_vowels and Levenshtein.distance(one, other) <= 1)


def how_alike(heard: str, name: str) -> str:
    return "sound the same" if sound(heard) == sound(name) else "sound and look alike"


def plainly(text: str) -> str:
    """A word in lower case, no punctuation, a hyphen as a blank; may hold several words or none."""
    return " ".join(_SIGN.sub("", text.lower().replace("’", "'")).replace("-", " ").replace("'s ", " ").removesuffix("'s").split())


def stem(word: str) -> str:
    """Singular of a word, well enough to see that two are one word in two numbers."""
    if len(word) > 4 and word.endswith(("sses", "shes", "ches", "xes")):
        return word[:-2]
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
