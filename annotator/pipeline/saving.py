"""Save a pure change of a course: read it whole, apply, save what differs at once, and do it over where somebody came between."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from annotator.course import Course, Station
from annotator.errors import StaleEdit
from annotator.library import Library, Revised

Documents = tuple[Course, tuple[Station, ...]]
Change = Callable[[Course, tuple[Station, ...]], Documents]
Note = Callable[[Mapping[str, int]], Sequence[tuple[str, str, bytes]]]
_TRIES = 5


def _no_notes(_made: Mapping[str, int]) -> Sequence[tuple[str, str, bytes]]:
    return ()


def change(library: Library, name: str, who: str, step: Change) -> None:
    """Apply a pure change to a course as it stands now; where somebody saved in between, do it over on what they saved."""
    for left in reversed(range(_TRIES)):
        course, stations = library.whole(name)
        after, after_stations = step(course.doc, tuple(at.doc for at in stations))
        try:
            save_differing(library, course, stations, after, after_stations, who)
            return
        except StaleEdit:
            if not left:
                raise


def save_differing(
    library: Library,
    course: Revised[Course],
    stations: Sequence[Revised[Station]],
    after: Course,
    after_stations: Sequence[Station],
    who: str,
    note: Note = _no_notes,
) -> bool:
    """Save what differs from the course and stations as they were read, in one transaction; whether anything did.

    `note` makes what the library keeps beside it from the revisions that come to be, by station id ("" for the course).

    Raises
    ------
    StaleEdit
        Somebody saved one of the documents since they were read; nothing is saved.
    """
    before = {at.doc.id: at for at in stations}
    changed = [
        (station, before[station.id].revision if station.id in before else None)
        for station in after_stations
        if station.id not in before or before[station.id].doc != station
    ]
    pair = (after, course.revision) if after != course.doc else None
    if pair is None and not changed:
        return False
    made = {station.id: (base or 0) + 1 for station, base in changed}
    if pair is not None:
        made[""] = course.revision + 1
    library.save_all(course.doc.name, pair, changed, who, note(made))
    return True
