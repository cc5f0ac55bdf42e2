"""The typefaces of all that we draw or print: Atkinson Hyperlegible (SIL OFL 1.1, OFL.txt beside this file), made for low vision.

Where it lacks a sign, Noto Sans stands in (SIL OFL 1.1 as well): Latin of every language, Greek and Cyrillic, Hebrew, Arabic. These are the
scripts that outputs can carry; scripts/fallback_faces.py cuts the faces to them. Imports nothing of ours.
"""

from __future__ import annotations

from pathlib import Path

from annotator.fonts.coverage import common_signs, face_for, missing_signs

FAMILY = "Atkinson Hyperlegible"
FOLDER = Path(__file__).parent
REGULAR = FOLDER / "AtkinsonHyperlegible_400Regular.ttf"
ITALIC = FOLDER / "AtkinsonHyperlegible_400Regular_Italic.ttf"
BOLD = FOLDER / "AtkinsonHyperlegible_700Bold.ttf"
BOLD_ITALIC = FOLDER / "AtkinsonHyperlegible_700Bold_Italic.ttf"
FALLBACKS = ("Noto Sans", "Noto Sans Hebrew", "Noto Sans Arabic")
"""Families that stand in, in this order, where the typeface lacks a sign."""

__all__ = ["BOLD", "BOLD_ITALIC", "FALLBACKS", "FAMILY", "FOLDER", "ITALIC", "REGULAR", "common_signs", "face_for", "missing_signs"]
