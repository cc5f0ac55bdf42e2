"""Which face has which sign. Reads the faces' own tables of characters, once."""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from pathlib import Path

from fontTools.ttLib import TTFont

_FOLDER = Path(__file__).parent
_FACES = {
    "bold": ("AtkinsonHyperlegible_700Bold.ttf", "NotoSans-Bold.ttf", "NotoSansHebrew-Bold.ttf", "NotoSansArabic-Bold.ttf"),
    "regular": ("AtkinsonHyperlegible_400Regular.ttf", "NotoSans-Regular.ttf", "NotoSansHebrew-Regular.ttf", "NotoSansArabic-Regular.ttf"),
}
_INVISIBLE = frozenset(map(chr, (0x17B4, 0x17B5, 0x180B, 0x180C, 0x180D, 0x180F, *range(0xFE00, 0xFE10))))
"""Of the signs that Unicode calls default ignorable those that are no format characters: variation selectors above all."""


def missing_signs(text: str) -> frozenset[str]:
    """The signs of a text that no face of ours has; PDF/UA refuses a document that holds one.

    >>> sorted(missing_signs("Zażółć „кот“ Ωμέγα חָתוּל قطة")), sorted(missing_signs("net \N{COLLISION SYMBOL}"))
    ([], ['💥'])
    """
    return frozenset(sign for sign in set(text) if not (_is_undrawn(sign) or _is_drawn(sign)))


@lru_cache(maxsize=4096)
def face_for(text: str) -> Path:
    """The bold face that has most of the signs of a text: our own wherever it has as many as any other.

    >>> face_for("OUT: top").name, face_for("القمة").name
    ('AtkinsonHyperlegible_700Bold.ttf', 'NotoSansArabic-Bold.ttf')
    """
    letters = {sign for sign in text if not sign.isspace()}
    return _FOLDER / max(_FACES["bold"], key=lambda face: len(letters & _signs(face)))


@cache
def common_signs() -> str:
    """Every sign that both weights of our own face draw, each once, in the order of their codes.

    >>> "ñ" in common_signs(), "ж" in common_signs(), " " in common_signs()
    (True, False, False)
    """
    both = _signs(_FACES["bold"][0]) & _signs(_FACES["regular"][0])
    return "".join(sign for sign in sorted(both) if not (_is_undrawn(sign) or unicodedata.category(sign) == "Cc"))


def _is_drawn(sign: str) -> bool:
    same = {sign, unicodedata.normalize("NFC", sign)}  # the sign of the ohm is the letter omega
    return any(same & _signs(face) for face in _FACES["regular"])


def _is_undrawn(sign: str) -> bool:
    """Spaces, and signs that only tell how their neighbours are written."""
    return sign in _INVISIBLE or sign.isspace() or unicodedata.category(sign) == "Cf"


@cache
def _signs(face: str) -> frozenset[str]:
    with TTFont(_FOLDER / face, lazy=True) as font:
        return frozenset(chr(code) for code in font.getBestCmap())
