"""Cut the fallback faces down to the scripts that we claim, into annotator/fonts.

    apt-get download fonts-noto-core && dpkg -x fonts-noto-core_*.deb noto
    python scripts/fallback_faces.py noto/usr/share/fonts/truetype/noto

Noto Sans, Noto Sans Hebrew and Noto Sans Arabic, regular and bold, under the SIL Open Font License 1.1 without reserved names.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset

from annotator import fonts

SCRIPTS: dict[str, tuple[tuple[int, int], ...]] = {
    "NotoSans": (
        (0x20, 0x24F),  # Latin, with its extensions A and B
        (0x2B0, 0x36F),  # modifier letters, combining marks
        (0x370, 0x3FF),  # Greek
        (0x400, 0x52F),  # Cyrillic and its supplement
        (0x1E00, 0x1EFF),  # Latin, extended additional: Vietnamese
        (0x1F00, 0x1FFF),  # Greek, extended
        (0x2000, 0x206F),  # punctuation
        (0x20A0, 0x20BF),  # currencies
        (0x2116, 0x2122),  # № ™
    ),
    "NotoSansHebrew": ((0x591, 0x5F4), (0xFB1D, 0xFB4F), (0x20, 0x20)),
    "NotoSansArabic": ((0x600, 0x6FF), (0x750, 0x77F), (0x20, 0x20)),
}


def main(folder: Path) -> None:
    """Write each face and say how large it is."""
    options = subset.Options(layout_features=["*"], name_IDs=["*"], notdef_outline=True, hinting=False, drop_tables=["MATH"])
    for family, ranges in SCRIPTS.items():
        for style in ("Regular", "Bold"):
            font = subset.load_font(str(folder / f"{family}-{style}.ttf"), options)
            cutter = subset.Subsetter(options)
            cutter.populate(unicodes=[sign for first, last in ranges for sign in range(first, last + 1)])
            cutter.subset(font)
            out = fonts.FOLDER / f"{family}-{style}.ttf"
            subset.save_font(font, str(out), options)
            print(f"{out.name}: {out.stat().st_size / 1024:.0f} KB")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
