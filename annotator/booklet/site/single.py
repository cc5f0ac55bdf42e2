"""The whole booklet in one HTML file, to pass round in a chat: every station, every picture, everything that works without a network.

In: a `Booklet`, its other languages and the published pictures. Out: one file that loads nothing. The pages are those of the folder.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from pathlib import Path

from markupsafe import Markup

from annotator.booklet.pictures import Pictures, inline_picture
from annotator.booklet.site.folder import languages
from annotator.booklet.site.told import PhoneSite, Shown
from annotator.booklet.site.weaving import Asset, environment, fonts, icon, script, style
from annotator.booklet.values import Booklet
from annotator.units import Progress

WIDTH_PX, SMALL_PX = 960, 192
_NOTHING = "data:image/gif;base64,R0lGODlhAQABAAAAACw="
_FONTS = ("latin-400", "latin-700")
"""Letters beyond Latin-1 come in the phone's own typeface."""


def write_single(
    booklet: Booklet,
    pictures: Pictures,
    out: Path,
    *,
    others: Sequence[Booklet] = (),
    address: str | None = None,
    cache: Path | None = None,
    progress: Progress | None = None,
) -> Path:
    """Write the booklet as one file. Pictures come as WebP, at most `WIDTH_PX` wide, each once for all languages.

    `address`, where the newest edition is read, becomes a link. Raises StageError for a picture that is missing or damaged.
    """
    first: dict[str, tuple[Shown, Shown]] = {}
    again: dict[str, tuple[Shown, Shown]] = {}
    stills = [still for page in booklet.stations for still in page.stills]
    for done, still in enumerate(stills, start=1):
        source = pictures.jpeg(still.id)
        names = (f"small {still.id}", f"large {still.id}")
        small, large = (_inline("image/webp", inline_picture(source, width, cache)) for width in (SMALL_PX, WIDTH_PX))
        first[still.id] = (Shown(small, copy=names[0]), Shown(large, copy=names[1]))
        again[still.id] = (Shown(_NOTHING, copy=names[0]), Shown(_NOTHING, copy=names[1]))
        if progress is not None:
            progress(done / (len(stills) + 1))
    every = languages((booklet, *others))
    sites = [
        PhoneSite(booklet=each, here=here, every=every, pictures=again if at else first, newest=address, single=True)
        for at, (each, here) in enumerate(zip((booklet, *others), every, strict=True))
    ]
    html = environment().get_template("phone-single.html").render(
        sites=sites, style=Markup(_style()), script=Markup(script()), icon=_inline("image/svg+xml", icon().data)
    )  # fmt: skip
    out.write_text(html, "utf-8", newline="\n")
    if progress is not None:
        progress(1.0)
    return out


def _inline(mime: str, data: bytes) -> str:
    return f"data:{mime};base64,{base64.b64encode(data).decode()}"


def _style() -> str:
    """The style sheet with the letters that most names need inside it."""
    text = style().data.decode()
    for font in fonts():
        text = text.replace(f'url("{font.name}")', f'url("{_inline("font/woff2", font.data)}")') if _needed(font) else _without(text, font)
    return text


def _needed(font: Asset) -> bool:
    return any(name in font.name for name in _FONTS)


def _without(text: str, font: Asset) -> str:
    return re.sub(r"@font-face \{[^}]*" + re.escape(font.name) + r"[^}]*\}\n?", "", text)
