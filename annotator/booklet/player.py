"""The page that plays the walk: the film with captions, stations and speed, and beside it the rules of the station that is being played.

In: a `Booklet` and the names of the films and texts in the same folder. Out: `index.html`, style sheets, a script, fonts. The rules are
those of pages.py, word for word; nothing is loaded from elsewhere, and without the script everything is there to read and to play.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from annotator.booklet.site import STATIC, environment
from annotator.booklet.values import Booklet
from annotator.units import clock

OWN = Path(__file__).parent / "player_static"
SHARED = ("booklet.css", "icon.svg", "OFL.txt")
SPEEDS = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)


@dataclass(frozen=True)
class FilmText:
    """A WebVTT file beside the film: its name, how it is called (a wording of ours, or anything), its language (BCP 47), what stands in it.

    The page holds the text as well: browsers refuse to read such a file for a page that is opened from a folder.
    """

    file: str
    label: str
    language: str
    content: str


@dataclass(frozen=True)
class WalkFilm:
    """The film of a walk. All names are files of the page's own folder; times are seconds of the film.

    `chosen` is the file of the captions that are shown at first, None for none. `stations` tells from when until when each station's number
    is played, in order; `films` the short film of each station.
    """

    video: str
    size: tuple[int, int]
    captions: Sequence[FilmText]
    chosen: str | None
    chapters: FilmText
    stations: Mapping[int, tuple[float, float]]
    films: Mapping[int, str]


def write_player(booklet: Booklet, film: WalkFilm, out_dir: Path) -> Path:
    """Write the page into the folder where the film lies, and return it. The same values give the same bytes."""
    out_dir.mkdir(parents=True, exist_ok=True)
    fonts = sorted(file for file in STATIC.iterdir() if file.suffix == ".woff2")
    for file in (*(STATIC / name for name in SHARED), *fonts, *sorted(OWN.iterdir())):
        shutil.copyfile(file, out_dir / file.name)
    say = booklet.wording.say

    def label(text: FilmText) -> str:
        return say(f"wording:{text.label}") if f"wording:{text.label}" in booklet.wording.messages else text.label

    html = (
        environment()
        .get_template("player.html")
        .render(
            booklet=booklet,
            film=film,
            say=say,
            label=label,
            speeds=[f"{speed:g}" for speed in SPEEDS],
            texts=[*film.captions, film.chapters],
            clock=clock,
            address=None,
        )
    )
    page = out_dir / "index.html"
    page.write_text(html, encoding="utf-8", newline="\n")
    return page
