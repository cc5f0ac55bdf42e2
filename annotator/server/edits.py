"""Save a person's edits of one document that they were looking at: all or none, and refused where somebody changed it since.

The edits are pure (course/edits.py); the revisions are the library's. An edit of one document may touch another (a station that splits
changes the course's order); those are taken as they stand at the moment of saving.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course import Course, Edit, Station, apply
from annotator.errors import InvalidEdit, StaleEdit
from annotator.library import Library
from annotator.pipeline import read_again

Documents = tuple[Course, tuple[Station, ...]]


def save_edits(library: Library, name: str, station_id: str | None, base: int, edits: Sequence[Edit], who: str) -> None:
    """Apply edits that were made looking at revision `base` of a station (or of the course itself, with None), and save.

    Raises
    ------
    StaleEdit
        That document has another revision by now; nothing is saved, and both sides come along.
    InvalidEdit
        One of the edits does not fit; nothing is saved.
    NotFound
        No such course or station.
    """
    course, stations = library.whole(name)
    seen = course if station_id is None else library.station(name, station_id)
    if seen.revision != base:
        raise StaleEdit(
            "course" if station_id is None else "station",
            name if station_id is None else station_id,
            base,
            seen.revision,
            _mine(library, name, station_id, base, edits, who),
            seen.doc.model_dump(mode="json"),
        )
    after, after_stations = _applied((course.doc, tuple(at.doc for at in stations)), edits, who)
    before = {at.doc.id: at for at in stations}
    changed = [
        (station, before[station.id].revision if station.id in before else None)
        for station in after_stations
        if station.id not in before or before[station.id].doc != station
    ]
    pair = (after, course.revision) if after != course.doc else None
    if pair is not None or changed:
        library.save_all(name, pair, changed, who)
        if any(edit.do in ("accept-name", "decline-name") for edit in edits):
            read_again(library, name)


def _applied(documents: Documents, edits: Sequence[Edit], who: str) -> Documents:
    for edit in edits:
        documents = apply(*documents, edit, who)
    return documents


def _mine(library: Library, name: str, station_id: str | None, base: int, edits: Sequence[Edit], who: str) -> dict[str, object]:
    """What the person would have had: their edits on the revision that they were looking at."""
    course, stations = library.whole(name)
    seen = library.revision(name, "course" if station_id is None else "station", station_id or "", base).doc
    docs = tuple(seen if isinstance(seen, Station) and at.doc.id == station_id else at.doc for at in stations)
    mine: Course | Station | None
    try:
        after, after_stations = _applied((seen if isinstance(seen, Course) else course.doc, docs), edits, who)
        mine = after if station_id is None else next((each for each in after_stations if each.id == station_id), None)
    except InvalidEdit:
        mine = None
    return (mine or seen).model_dump(mode="json")
