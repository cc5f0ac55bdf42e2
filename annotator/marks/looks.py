"""What a mark looks like: lines, fills, hatch and plate of each style, in screen pixels. Colour is never the only sign.

Blue and vermillion are of the Okabe-Ito palette and stay apart for every kind of colour vision; the dash, the hatch, the doubled line and
the words on the plate say the same without any colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Style = Literal["in play", "out of play", "start", "finish", "excepted part"]

IN_PLAY = "#0072B2"
OUT_OF_PLAY = "#D55E00"
INK = "#1D2329"
WHITE = "#FFFFFF"


@dataclass(frozen=True)
class Stroke:
    """A line along an outline; `dash` is on and off."""

    colour: str
    width: float
    dash: tuple[float, float] | None = None


@dataclass(frozen=True)
class Look:
    """Strokes from the bottom up, a fill with its opacity, hatch or none, and the plate's ground and text."""

    strokes: tuple[Stroke, ...]
    fill: str | None
    fill_opacity: float
    hatch: bool
    ground: str
    text: str


@dataclass(frozen=True)
class Hatch:
    """Lines at 45 degrees: a line of `width` every `period`, on a wider and lighter one of ink, so that it shows on any picture."""

    period: float = 9.0
    width: float = 2.0
    colour: str = OUT_OF_PLAY
    under_width: float = 3.4
    under_colour: str = INK
    under_opacity: float = 0.5


HATCH = Hatch()
LOOKS: dict[Style, Look] = {
    "in play": Look((Stroke(WHITE, 6), Stroke(IN_PLAY, 3)), IN_PLAY, 0.18, False, IN_PLAY, WHITE),
    "out of play": Look((Stroke(INK, 6), Stroke(OUT_OF_PLAY, 3, (7, 4))), None, 0, True, INK, WHITE),
    "start": Look((Stroke(WHITE, 12), Stroke(IN_PLAY, 9), Stroke(WHITE, 3)), IN_PLAY, 0.18, False, IN_PLAY, WHITE),
    "finish": Look((Stroke(WHITE, 12), Stroke(IN_PLAY, 9), Stroke(WHITE, 3)), IN_PLAY, 0.18, False, IN_PLAY, WHITE),
    "excepted part": Look((Stroke(INK, 6), Stroke(OUT_OF_PLAY, 3, (7, 4))), None, 0, True, INK, WHITE),
}
DRAFT_IN = Look((Stroke(WHITE, 6), Stroke(IN_PLAY, 3, (3, 4))), None, 0, False, WHITE, INK)
DRAFT_OUT = Look((Stroke(INK, 6), Stroke(OUT_OF_PLAY, 3, (3, 4))), None, 0, False, WHITE, INK)

PLATE_TEXT = 14.0
PLATE_LINE = 18.0
PLATE_PAD = 6.0
PLATE_FRAME = 1.5
LEADER = 2.0


def look_of(style: Style, ruling: Literal["in", "out"], draft: bool) -> Look:
    """The look of a style; a draft has its own, dotted and unfilled, whatever it will be."""
    if draft:
        return DRAFT_IN if ruling == "in" else DRAFT_OUT
    return LOOKS[style]


@dataclass(frozen=True)
class PlateWords:
    """The words on plates; another language hands in its own."""

    in_play: str = "IN"
    out_of_play: str = "OUT"
    start: str = "START"
    finish: str = "FINISH"
    overshoot_allowed: str = "MAY LAND PAST"
    overshoot_not_allowed: str = "DO NOT LAND PAST"
    hands: str = "hands"
    feet: str = "feet"
    draft: str = "?"
    nothing: str = "Nothing is marked on this still."
    """Told in place of the marks where there are none."""
