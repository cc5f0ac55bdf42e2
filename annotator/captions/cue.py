"""A caption, and the limits that every one keeps.

1.333 to 6 s (DCMP Captioning Key, "Text"); two lines of 37 characters, 25 in portrait (BBC Subtitle Guidelines 1.2.5, 3.1); no gap or at
least 1 s (4.5).
"""

from __future__ import annotations

from dataclasses import dataclass

LEAST_MS, MOST_MS, GAP_MS = 1334, 6000, 1000
LINE, LINE_PORTRAIT, LINES = 37, 25, 2


@dataclass(frozen=True)
class Cue:
    """One caption: times in whole milliseconds of the walk, and its lines of plain text."""

    start_ms: int
    end_ms: int
    lines: tuple[str, ...]
    at_top: bool = False
    """It stands at the top of the picture, since marks lie where captions are (placing.py)."""

    @property
    def start_s(self) -> float:
        return self.start_ms / 1000

    @property
    def end_s(self) -> float:
        return self.end_ms / 1000

    @property
    def text(self) -> str:
        return " ".join(self.lines)
