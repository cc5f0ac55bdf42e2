"""Save a person's edits of one document that they were looking at: all or none, and refused where somebody changed it since.

What only the program adds meanwhile (a clip's proxy, a station's drafted stills, how far the course is) is nobody's change. The edits are
pure (course/edits.py); the revisions are the library's. An edit of one document may touch another (a station that splits changes the
course's order); those are taken as they stand at the moment of saving.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator import pipeline
from annotator.course import Course, Edit, Station
from annotator.errors import InvalidEdit, StaleEdit
from annotator.library import Library


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
    edits = pipeline.with_sound_stills(library, name, edits)
    course, stations = library.whole(name)
    seen = course if station_id is None else library.station(name, station_id)
    if seen.revision != base and not _ours_alone(_revision(library, name, station_id, base), seen.doc):
        raise StaleEdit(
            "course" if station_id is None else "station",
            name if station_id is None else station_id,
            base,
            seen.revision,
            _mine(library, name, station_id, base, edits, who),
            seen.doc.model_dump(mode="json"),
        )
    after, after_stations = pipeline.apply_all(course.doc, tuple(at.doc for at in stations), edits, who)
    if pipeline.save_differing(library, course, stations, after, after_stations, who):
        pipeline.after_edits(library, name, edits)


def _revision(library: Library, name: str, station_id: str | None, number: int) -> Course | Station:
    return library.revision(name, "course" if station_id is None else "station", station_id or "", number).doc


def _ours_alone(seen: Course | Station, now: Course | Station) -> bool:
    """Whether a document differs from what a person saw only in what the program added by itself."""
    if isinstance(seen, Course) and isinstance(now, Course):
        return _without_ours(seen) == _without_ours(now)
    if isinstance(seen, Station) and isinstance(now, Station):
        added = now.stills[len(seen.stills) :]
        return all(still.state == "draft" for still in added) and now == seen.model_copy(update={"stills": (*seen.stills, *added)})
    return False


def _without_ours(course: Course) -> Course:
    clips = tuple(clip.model_copy(update={"proxy": None}) for clip in course.clips)
    return course.model_copy(update={"clips": clips, "state": "taken in"})


def _mine(library: Library, name: str, station_id: str | None, base: int, edits: Sequence[Edit], who: str) -> dict[str, object]:
    """What the person would have had: their edits on the revision that they were looking at."""
    course, stations = library.whole(name)
    seen = _revision(library, name, station_id, base)
    docs = tuple(seen if isinstance(seen, Station) and at.doc.id == station_id else at.doc for at in stations)
    mine: Course | Station | None
    try:
        after, after_stations = pipeline.apply_all(seen if isinstance(seen, Course) else course.doc, docs, edits, who)
        mine = after if station_id is None else next((each for each in after_stations if each.id == station_id), None)
    except InvalidEdit:
        mine = None
    return (mine or seen).model_dump(mode="json")
