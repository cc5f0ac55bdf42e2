"""What captions may leave out and how fast they should read: the choices that a person makes for a set of captions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Wording = Literal["as spoken", "clean", "children"]

WORDINGS: tuple[Wording, ...] = ("as spoken", "clean", "children")
WISHED_WPM: dict[Wording, int] = {"as spoken": 160, "clean": 160, "children": 130}
"""Words a minute: BBC Subtitle Guidelines 1.2.5, section 4 (160 to 180); DCMP Captioning Key, lower level (130)."""
HURRIED_WPM: dict[Wording, int] = {"as spoken": 180, "clean": 180, "children": 140}
"""Above this a cue is read in a hurry. Directors talk at 190 to 220, so it is a wish and no limit."""


@dataclass(frozen=True)
class Setting:
    """How captions are worded and laid out.

    wording
        `as spoken`: every word. `clean`: without fillers and false starts, and without turns of phrase and asides where the speaker is too
        fast to read; never without a rule word. `children`: the same at 130 words a minute.
    portrait
        Lines of 25 characters instead of 37.
    numerals
        Numbers that count (stations, times, points, tries) as numerals.
    """

    wording: Wording = "as spoken"
    portrait: bool = False
    numerals: bool = True

    @property
    def wished_wpm(self) -> int:
        return WISHED_WPM[self.wording]

    @property
    def hurried_wpm(self) -> int:
        return HURRIED_WPM[self.wording]


AS_SPOKEN = Setting()
