"""What the last reading of the rules found otherwise than the one before: kept with the course until a person puts it away.

Two people, or the same one tomorrow, see the same news. Only the revisions of the stations before and after the reading are kept; what
differs between them, and what of it still waits for somebody, is compared where it is shown (web/src/listening/news.ts).
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from annotator.course import Station
from annotator.library import Library

READ = "reading that is news"  # a stage of the library, by the course's name


@dataclass(frozen=True)
class News:
    """The stations before and after a reading, which has an id of its own."""

    reading: str
    before: tuple[Station, ...]
    after: tuple[Station, ...]


def reading_begins(library: Library, name: str) -> None:
    """Keep how the stations stand before the rules of a drafted course are read again.

    News that nobody has put away stays: then the older state is what the new reading is compared with. So does what a reading that was
    killed had kept.
    """
    if library.course(name).doc.state != "taken in" and _kept(library, name) is None:
        _keep(library, name, {"reading": secrets.token_hex(8), "before": _revisions(library, name), "after": None})


def reading_ended(library: Library, name: str) -> None:
    """Keep how the stations stand after it."""
    kept = _kept(library, name)
    if kept is None:
        return
    after = _revisions(library, name)
    nothing = after == kept["before"]
    _keep(library, name, None if nothing else {**kept, "reading": secrets.token_hex(8), "after": after})


def news(library: Library, name: str) -> News | None:
    """The news of a course; None where there is none, or where the reading has not ended yet."""
    library.course(name)
    kept = _kept(library, name)
    if kept is None or kept["after"] is None:
        return None
    return News(kept["reading"], _stations(library, name, kept["before"]), _stations(library, name, kept["after"]))


def put_away(library: Library, name: str, reading: str) -> None:
    """Forget the news of that reading; a newer one, which the person has not seen, stays."""
    kept = _kept(library, name)
    if kept is not None and kept["reading"] == reading:
        _keep(library, name, None)


def _revisions(library: Library, name: str) -> dict[str, int]:
    return {at.doc.id: at.revision for at in library.stations(name)}


def _stations(library: Library, name: str, revisions: Mapping[str, int]) -> tuple[Station, ...]:
    found = (library.revision(name, "station", key, number).doc for key, number in revisions.items())
    return tuple(doc for doc in found if isinstance(doc, Station))


def _kept(library: Library, name: str) -> dict[str, Any] | None:
    value = library.done(READ, name)
    note: dict[str, Any] | None = None if value is None else json.loads(value)
    return note


def _keep(library: Library, name: str, note: Mapping[str, object] | None) -> None:
    library.mark_done(READ, name, json.dumps(note).encode())
