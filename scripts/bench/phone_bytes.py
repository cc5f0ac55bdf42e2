"""What a phone fetches of a booklet of sixteen stations: the first view, and a station's page with its first still, as our server sends it.

    python scripts/bench/phone_bytes.py LIBRARY COURSE [--photographs FOLDER]

The course's stations stand again as often as sixteen need. With --photographs the stills are those pictures instead (jpg, 960 px or wider),
since a rendered demo compresses better than a camera's picture. Prints bytes, and seconds to write it cold and with the sizes kept.
"""

from __future__ import annotations

import argparse
import gzip
import re
import tempfile
import time
from itertools import cycle, islice
from pathlib import Path

from PIL import Image

from annotator.booklet import LANGUAGES, Wording, pages, write_single, write_site
from annotator.course import Still
from annotator.library import Library
from annotator.pipeline.pictures import pictures_of

STATIONS = 16


class Photographs:
    """The same few photographs for all stills, cut to each still's shape."""

    def __init__(self, files: list[Path], stills: list[Still], folder: Path) -> None:
        self._made = {}
        for still, file in zip(stills, cycle(files), strict=False):
            with Image.open(file) as image:
                wide = image.convert("RGB").resize((still.width, round(image.height * still.width / image.width)))
            picture = Image.new("RGB", (still.width, still.height))
            for top in range(0, still.height, wide.height):
                picture.paste(wide, (0, top))
            self._made[still.id] = folder / f"{still.id}.jpg"
            picture.save(self._made[still.id], quality=90)

    def jpeg(self, still_id: str) -> Path:
        """As a pipeline hands it over."""
        return self._made[still_id]


def sent(file: Path) -> int:
    """Bytes as sent: text compressed, the rest as it is."""
    data = file.read_bytes()
    return len(gzip.compress(data, 9)) if file.suffix in (".html", ".css", ".js", ".svg", ".json") else len(data)


def first_view(folder: Path, page: str, width: int) -> dict[str, int]:
    """Bytes by kind: the page, what it names, the fonts, thumbnails or the still of the width that a phone takes."""
    html = (folder / page).read_text("utf-8")
    shared = dict.fromkeys(re.findall(r'(?:href|src)="(assets/[^"]+)"', html))
    fonts = list((folder / "assets").glob("*latin-[47]00*.woff2"))
    pictures = [folder / name for name in re.findall(r'<source type="image/avif" srcset="([^" ]+)"', html)]
    for listed in re.findall(r'<source type="image/avif" srcset="([^"]+ \d+w)"', html)[:1]:
        sizes = [one.rsplit(" ", 1) for one in listed.split(", ")]
        pictures = [folder / next((name for name, wide in sizes if int(wide[:-1]) >= width), sizes[-1][0])]
    return {
        "page": sent(folder / page),
        "style, script, icon": sum(sent(folder / name) for name in shared),
        "fonts": sum(sent(font) for font in fonts),
        "pictures": sum(sent(picture) for picture in pictures),
    }


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("library", type=Path)
    asked.add_argument("course")
    asked.add_argument("--photographs", type=Path)
    told = asked.parse_args()
    library = Library(told.library)
    edition = library.editions(told.course)[-1]
    own = [at.doc for at in edition.stations]
    stations = [
        station.model_copy(update={"id": f"again{number}", "number": number})
        for number, station in enumerate(islice(cycle(own), STATIONS), 1)
    ]
    course = edition.course.doc.model_copy(update={"order": tuple(station.id for station in stations)})
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        stills = [still for station in own for still in station.stills]
        photographs = sorted(told.photographs.glob("*.jpg")) if told.photographs else []
        pictures = Photographs(photographs, stills, folder) if photographs else pictures_of(library, own)
        for state in ("cold", "sizes kept"):
            began = time.perf_counter()
            booklets = [pages(course, stations, edition, wording=Wording(language)) for language in LANGUAGES]
            write_site(booklets[0], pictures, folder / "site", others=booklets[1:], cache=folder / "kept")
            print(f"{state}: {STATIONS} stations in {len(LANGUAGES)} languages written in {time.perf_counter() - began:.1f} s")
        for page in ("index.html", *(f"station-{number}.html" for number in range(1, len(own) + 1))):
            parts = first_view(folder / "site", page, 960)
            print(
                f"{page}: {sum(parts.values()) / 1000:.1f} kB = " + ", ".join(f"{what} {size / 1000:.1f}" for what, size in parts.items())
            )
        for count in (1, len(LANGUAGES)):
            file = write_single(booklets[0], pictures, folder / "one.html", others=booklets[1:count], cache=folder / "kept")
            print(f"in one file, {count} language(s): {file.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
