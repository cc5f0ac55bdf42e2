"""The booklet for phones: static pages that open from a folder and from any web server, with nothing loaded from elsewhere.

In: a `Booklet` and the published pictures. Out: `index.html`, `station-N.html`, one style sheet, one small script, fonts and pictures.
The words are pages.py's; the templates stand in templates/.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from annotator.booklet.pictures import Pictures, Sizes, write_sizes
from annotator.booklet.values import Booklet, StationPage
from annotator.units import Progress

STATIC = Path(__file__).parent / "static"
_TEXT_IN_SCRIPT = {ord("<"): "\\u003c", ord(">"): "\\u003e", ord("&"): "\\u0026", 0x2028: "\\u2028", 0x2029: "\\u2029"}


@dataclass(frozen=True)
class WalkClip:
    """A clip that lies beside the pages: `video` and `captions` are relative addresses such as "walk/clip-1.mp4"."""

    video: str
    captions: str | None = None


def environment() -> Environment:
    """The templates, with escaping on for every kind of page and an error for a name that is not given."""
    made = Environment(
        loader=PackageLoader("annotator.booklet", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["script"] = as_script_data
    return made


def as_script_data(value: Any) -> Markup:
    """A value as JSON that cannot end the script element it stands in.

    >>> as_script_data("</script>")
    Markup('"\\\\u003c/script\\\\u003e"')
    """
    return Markup(json.dumps(value, ensure_ascii=False, separators=(",", ":")).translate(_TEXT_IN_SCRIPT))


def write_site(
    booklet: Booklet,
    pictures: Pictures,
    out_dir: Path,
    *,
    walk: Mapping[int, WalkClip] | None = None,
    address: str | None = None,
    cache: Path | None = None,
    progress: Progress | None = None,
) -> Path:
    """Write the phone booklet into a folder and return its first page.

    Parameters
    ----------
    booklet : Booklet
    pictures : Pictures
        Published JPEGs; smaller sizes are made here, kept in `cache` where one is given.
    out_dir : Path
        Made where missing; files of the same names are replaced, others are left alone.
    walk : mapping of clip number to WalkClip, optional
        Clips that lie beside the pages; without it the time in the walk is told, but not linked.
    address : str, optional
        Where the booklet will be read; becomes the canonical link.

    Raises
    ------
    StageError
        A picture is missing or damaged; the message names it.
    """
    (out_dir / "pictures").mkdir(parents=True, exist_ok=True)
    for file in sorted(STATIC.iterdir()):
        shutil.copyfile(file, out_dir / file.name)
    templates = environment()
    sizes: dict[str, Sizes] = {}
    for done, page in enumerate(booklet.stations, start=1):
        for at, still in enumerate(page.stills, start=1):
            stem = f"station-{page.number}-{at}"
            sizes[still.id] = write_sizes(pictures.jpeg(still.id), stem, out_dir / "pictures", cache)
        before, after = booklet.neighbours(page)
        clip = next((one.clip for one in page.heard if one.clip in (walk or {})), None)
        html = templates.get_template("station.html").render(
            booklet=booklet, page=page, before=before, after=after, sizes=sizes, walk=walk or {}, say=booklet.wording.say,
            link=page_name, clip=clip, asked=_asked(booklet, page), address=_below(address, page_name(page)),
        )  # fmt: skip
        (out_dir / page_name(page)).write_text(html, encoding="utf-8", newline="\n")
        if progress is not None:
            progress(done / (len(booklet.stations) + 1))
    html = templates.get_template("course.html").render(
        booklet=booklet, sizes=sizes, say=booklet.wording.say, link=page_name, walk=walk or {}, address=_below(address, "")
    )
    first = out_dir / "index.html"
    first.write_text(html, encoding="utf-8", newline="\n")
    if progress is not None:
        progress(1.0)
    return first


def page_name(page: StationPage) -> str:
    """The file of a station's page; also the end of its address in a QR code."""
    return f"station-{page.number}.html"


def _below(address: str | None, name: str) -> str | None:
    return None if address is None else f"{address.rstrip('/')}/{name}"


def _asked(booklet: Booklet, page: StationPage) -> dict[str, Any]:
    """What the script needs to answer taps on this page, with its sentences."""
    say = booklet.wording.say
    return {
        "stills": [{"size": [still.width, still.height], "answers": still.answers} for still in page.stills],
        "words": {
            "in": say("answer:in", thing="{thing}"),
            "out": say("answer:out", thing="{thing}"),
            "unnamed": say("answer:unnamed"),
            "close": say("answer:close"),
        },
    }
