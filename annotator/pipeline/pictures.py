"""The pictures that may leave the library: a still as JPEG, without metadata, faces blurred unless a person lifted that for this still.

Each is made once for a still's content, its face boxes and that choice, and kept.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from annotator.booklet import encode_sizes, prune
from annotator.course import Box, Station, Still
from annotator.errors import AnnotatorError, InputError
from annotator.library import Library, stage_key
from annotator.marks import blur, find_faces
from annotator.media import read_picture, write_picture
from annotator.pipeline.steps import Steps, Watcher

PICTURES_VERSION = "2"
FACES_VERSION = "1"
QUALITY = 85
_ENCODING = "making the pictures ready"


@dataclass(frozen=True)
class LibraryPictures:
    """The published pictures of a course's stills, by the still's id."""

    library: Library
    stills: dict[str, Still]
    _found: dict[str, Path] = field(default_factory=dict, repr=False, compare=False)

    def jpeg(self, still_id: str) -> Path:
        """The full-size published picture of a still; made now if it was not made before."""
        if still_id not in self._found:  # every output asks, in every language
            self._found[still_id] = self._made(self.stills[still_id])
        return self._found[still_id]

    def _made(self, still: Still) -> Path:
        key = picture_key(still)
        kept = self.library.done("picture", key)
        if kept is None or not self.library.files.has(kept.decode()):
            kept = self.library.files.put(_publishable(self.library, still), ".jpg").encode()
            self.library.mark_done("picture", key, kept)
        return self.library.files.path(kept.decode())

    def size(self, still_id: str) -> tuple[int, int]:
        """Width and height in pixels of the full-size still."""
        still = self.stills[still_id]
        return still.width, still.height


def picture_key(still: Still) -> str:
    """The key under which the published picture of a still is kept."""
    return stage_key("picture", PICTURES_VERSION, still.file, still.faces, still.faces_shown is not None, QUALITY)


def pictures_of(library: Library, stations: Iterable[Station]) -> LibraryPictures:
    """The pictures of all stills of these stations."""
    return LibraryPictures(library, {still.id: still for station in stations for still in station.stills})


def refuse_gone(library: Library, stations: Iterable[Station]) -> None:
    """Make every published picture of these stations, before anything that needs one is written.

    Raises
    ------
    InputError
        A picture is gone or no picture any more; the message names every still, and nothing was written.
    """
    told, gone = tuple(stations), []
    pictures = pictures_of(library, told)
    for station in told:
        for still in station.stills:
            try:
                pictures.jpeg(still.id)
            except (AnnotatorError, OSError):
                gone.append(f"station {station.number}, still {still.id}")
    if gone:
        names = "; ".join(gone)
        raise InputError(f"The picture is gone or damaged: {names}. Bring it back from a pack, or take the still out; nothing was written.")


def sizes_folder(library: Library) -> Path:
    """Where published pictures are kept in the sizes of screens, by their content."""
    return library.root / "sizes"


MOST_KEPT_BYTES = {
    "sizes": 2_000_000_000,
    "sizes/pages": 400_000_000,
    "sizes/cards": 200_000_000,
    "sizes/leaves": 100_000_000,
    "sizes/joined": 200_000_000,
    "drawn": 100_000_000,
}
"""What may be kept, by folder. A course of 16 stations in five languages takes some 26, 8, 3, 4 and 2 MB, each change a part of it more;
of what is joined, all of it."""


def prune_kept(library: Library) -> None:
    """Throw away kept pictures, pages, cards and overlays that were of no use for the longest time, where there are too many.

    No edition needs them: its outputs are files of their own, and what is asked for again is made again.
    """
    for place, most in MOST_KEPT_BYTES.items():
        prune(library.root / place, most)


def drop_kept(library: Library) -> None:
    """Throw away everything that `prune_kept` looks after."""
    for place in MOST_KEPT_BYTES:
        prune(library.root / place, 0)


def make_sizes(library: Library, name: str, progress: Watcher | None = None) -> None:
    """Encode the pictures of a course's stills as outputs need them, ahead of the first output, so that publishing is quick.

    What is kept is not made again, and each picture is kept as soon as it is made: a run that is stopped or killed loses none. A picture
    that is gone or damaged is left for publishing, which names it.
    """
    stations = tuple(at.doc for at in library.stations(name))
    pictures = pictures_of(library, stations)
    ids = [still.id for station in stations for still in station.stills]
    steps = Steps([(_ENCODING, float(len(ids)))], progress)
    for done, still in enumerate(ids, start=1):
        with suppress(OSError, AnnotatorError):
            encode_sizes(pictures.jpeg(still), sizes_folder(library))
        steps.within(_ENCODING)(done / len(ids))


def faces_in(library: Library, file: str) -> tuple[Box, ...]:
    """The faces that are found in a picture of the library, looked for once."""
    key = stage_key("faces", FACES_VERSION, file)
    kept = library.done("faces", key)
    if kept is None:
        found = find_faces(read_picture(library.files.path(file)))
        library.mark_done("faces", key, json.dumps(found).encode())
        return found
    return tuple((x0, y0, x1, y1) for x0, y0, x1, y1 in json.loads(kept))


def _publishable(library: Library, still: Still) -> bytes:
    image = read_picture(library.files.path(still.file))
    if still.faces_shown is None:
        image = blur(image, faces_in(library, still.file) if still.faces is None else still.faces)
    return write_picture(image, ".jpg", quality=QUALITY)
