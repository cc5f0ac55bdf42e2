"""The typeface of all that we draw or print: Atkinson Hyperlegible (SIL OFL 1.1, OFL.txt beside this file), made for low vision.

Paths only; who draws text opens the files. Imports nothing of ours.
"""

from __future__ import annotations

from pathlib import Path

FAMILY = "Atkinson Hyperlegible"
FOLDER = Path(__file__).parent
REGULAR = FOLDER / "AtkinsonHyperlegible_400Regular.ttf"
ITALIC = FOLDER / "AtkinsonHyperlegible_400Regular_Italic.ttf"
BOLD = FOLDER / "AtkinsonHyperlegible_700Bold.ttf"
BOLD_ITALIC = FOLDER / "AtkinsonHyperlegible_700Bold_Italic.ttf"

__all__ = ["BOLD", "BOLD_ITALIC", "FAMILY", "FOLDER", "ITALIC", "REGULAR"]
