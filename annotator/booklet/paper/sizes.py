"""Papers and how many cards stand on a sheet. Sizes in millimetres, by name; nothing here knows what is printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from annotator.errors import InvalidEdit

MM = 72 / 25.4
"""Points in a millimetre."""
PAPERS_MM: Mapping[str, tuple[float, float]] = {
    "A3": (297, 420),
    "A4": (210, 297),
    "A5": (148, 210),
    "A6": (105, 148),
    "Letter": (215.9, 279.4),
    "half Letter": (139.7, 215.9),
}
"""ISO 216 and ANSI/ASME Y14.1 sizes, upright."""


@dataclass(frozen=True)
class Sheet:
    """What goes through the printer: its size, and how many cards of one size stand side by side on it."""

    name: str
    width_mm: float
    height_mm: float
    cards: int = 1

    @property
    def card_mm(self) -> tuple[float, float]:
        """Width and height of one card: an exact share of the sheet."""
        return self.width_mm / self.cards, self.height_mm


SHEETS: Mapping[str, Sheet] = {
    **{name: Sheet(name, *size) for name, size in PAPERS_MM.items() if name != "A3"},
    **{f"{name} two up": Sheet(f"{name} two up", PAPERS_MM[name][1], PAPERS_MM[name][0], 2) for name in ("A4", "Letter")},
}
"""Where cards can be printed: one a page, or two side by side on a sheet that is turned and cut in half."""


def sheet_of(paper: str) -> Sheet:
    """The sheet of that name. Upper and lower case, and blanks more or less, do not matter.

    Raises
    ------
    InvalidEdit
        No such size.

    Examples
    --------
    >>> sheet_of("a4 TWO up").card_mm, sheet_of("A5").card_mm
    ((148.5, 210), (148.0, 210))
    """
    return SHEETS[_known(paper, SHEETS)]


def size_of(paper: str) -> tuple[float, float]:
    """Width and height of a paper, upright; errors as `sheet_of`.

    >>> size_of("a5")
    (148, 210)
    """
    return PAPERS_MM[_known(paper, PAPERS_MM)]


def _known(paper: str, names: Mapping[str, object]) -> str:
    asked = " ".join(paper.casefold().split())
    for name in names:
        if name.casefold() == asked:
            return name
    raise InvalidEdit(f"paper {paper}", f"there is no such size. Choose one of: {', '.join(names)}.")
