"""Save a person's edits of documents that they were looking at: all or none, once, and never over what somebody else changed unseen.

Changes of different places go together silently; where a change meets somebody else's, it is refused with both sides. The edits and
places are pure (course/edits.py, course/places.py); the revisions are the library's. What only the program adds meanwhile (a clip's
proxy, a station's drafted stills, how far the course is) is nobody's change. An edit of one document may touch another (a station that
splits changes the course's order); those are taken as they stand at the moment of saving.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from annotator import pipeline
from annotator.course import Course, Edit, Station, agreed, apply, contents, differing, stations_of, taken_back
from annotator.errors import InvalidEdit, NotFound, StaleEdit
from annotator.library import Library, Revised

TRIES = 5
MOST_STEPS = 100  # a tab from last week is compared in one step; its own changes since then are told as somebody else's
BATCH, MADE = "batch of edits", "page that made the revision"  # stages of the library, in which both are kept


@dataclass(frozen=True)
class Sender:
    """Who sends a batch, from which page, and the batch's own name; a batch without a name is done as often as it comes."""

    who: str
    client: str | None = None
    batch: str | None = None


@dataclass(frozen=True)
class _Since:
    """What happened to a document since a revision: the places that others changed, and the numbers that a station had."""

    others: frozenset[str]
    numbers: frozenset[int]


def save_edits(library: Library, name: str, station_id: str | None, seen: Mapping[str, int], edits: Sequence[Edit], sender: Sender) -> None:
    """Apply edits of a station (or of the course itself, with None), and save.

    Parameters
    ----------
    seen
        The revisions that the person was looking at: by station id, "" for the course. At least of the document that is edited.

    Raises
    ------
    StaleEdit
        Somebody else changed since what one of the edits changes, vouches for or takes out; nothing is saved, and both sides come along.
    InvalidEdit
        One of the edits does not fit; nothing is saved.
    NotFound
        No such course, station or revision.
    """
    sound = pipeline.with_sound_stills(library, name, edits)
    for left in reversed(range(TRIES)):
        try:
            saved = _save(library, name, station_id, seen, sound, sender)
        except StaleEdit as stale:
            if stale.clashes or not left:
                raise
            continue  # somebody saved between reading and writing
        if saved:
            pipeline.after_edits(library, name, sound)
        return


def _done(library: Library, name: str, sender: Sender) -> bool:
    """Whether the batch was done before.

    Asked once the documents are read: a tab that is closed may leave a request under way, and the next one sends the batch again beside it.
    Where the first is saved before the reading it is known here, where after it the saving meets it.
    """
    return sender.batch is not None and library.done(BATCH, _key(name, sender.batch)) is not None


def _save(library: Library, name: str, station_id: str | None, seen: Mapping[str, int], edits: Sequence[Edit], sender: Sender) -> bool:
    """Save, where the batch was not done before; whether it was saved now."""
    course, stations = library.whole(name)
    if _done(library, name, sender):
        return False
    docs: dict[str, Revised[Course] | Revised[Station]] = {"": course, **{at.doc.id: at for at in stations}}
    if station_id is not None and station_id not in docs:
        docs[station_id] = library.station(name, station_id)
        everything = tuple((place, ()) for place in range(len(edits)))
        raise _stale(library, name, station_id, seen[station_id], docs[station_id], edits, sender, everything)
    since = {key: _since(library, name, key, base, docs[key], sender.client) for key, base in seen.items() if key in docs}
    if station_id is not None:
        here = docs[station_id].doc
        assert isinstance(here, Station)
        edits = [_renumbered(edit, since[station_id].numbers, here.number) for edit in edits]
    docs_after, met = _apply(course.doc, tuple(at.doc for at in stations), edits, sender.who, {key: at.others for key, at in since.items()})
    if met:
        key = next(iter(met))  # one document after the other, so that a person sees both sides of it
        raise _stale(library, name, key, seen[key], docs[key], edits, sender, met[key])
    note = _notes(name, sender)
    if not pipeline.save_differing(library, course, stations, *docs_after, sender.who, note):
        for kept in note({}):
            library.mark_done(*kept)
    return True


def _apply(
    course: Course, stations: tuple[Station, ...], edits: Sequence[Edit], who: str, others: Mapping[str, frozenset[str]]
) -> tuple[tuple[Course, tuple[Station, ...]], dict[str, list[tuple[int, tuple[str, ...]]]]]:
    """The documents after the edits; and by document those edits that meet what others changed there, with the places."""
    clashes: dict[str, list[tuple[int, tuple[str, ...]]]] = {}
    for place, edit in enumerate(edits):
        try:
            after, after_stations = apply(course, stations, edit, who)
        except InvalidEdit:
            changed = next((key for key, theirs in others.items() if theirs), None)
            if changed is None:
                raise
            clashes.setdefault(changed, []).append((place, ()))
            continue
        before_docs, after_docs = _by_key(course, stations), _by_key(after, after_stations)
        for key, theirs in others.items():
            met = theirs & _touched(edit, before_docs[key], after_docs.get(key)) if theirs and key in before_docs else frozenset()
            if met:
                clashes.setdefault(key, []).append((place, tuple(sorted(met))))
        course, stations = after, after_stations
    return (course, stations), clashes


def _by_key(course: Course, stations: Sequence[Station]) -> dict[str, Course | Station]:
    return {"": course, **{station.id: station for station in stations}}


def _touched(edit: Edit, before: Course | Station, after: Course | Station | None) -> frozenset[str]:
    if after is None:
        return frozenset(contents(before))
    touched = differing(before, after)
    if isinstance(before, Course):
        numbered = frozenset({"order"}) if stations_of(edit) else frozenset[str]()
        return touched | agreed(edit, before) | numbered
    return touched | agreed(edit, before) if before.number in stations_of(edit) else touched


def _since(library: Library, name: str, key: str, base: int, now: Revised[Course] | Revised[Station], client: str | None) -> _Since:
    before = _revision(library, name, key, base)
    others: set[str] = set()
    numbers = {now.doc.number, before.number} if isinstance(now.doc, Station) and isinstance(before, Station) else set[int]()
    steps = range(base + 1, now.revision + 1) if now.revision - base <= MOST_STEPS else (now.revision,)
    for number in steps:
        after = now.doc if number == now.revision else _revision(library, name, key, number)
        mine = client is not None and library.done(MADE, _key(name, key, str(number))) == client.encode()
        if mine:
            others -= differing(before, after)  # who changed it after them chose so, with both sides in view
        else:
            others |= differing(before, after) - _drafted_stills(before, after)
        if isinstance(after, Station):
            numbers.add(after.number)
        before = after
    return _Since(frozenset(others), frozenset(numbers))


def _drafted_stills(before: Course | Station, after: Course | Station) -> frozenset[str]:
    """The places of stills that the program put in."""
    if isinstance(before, Course) or isinstance(after, Course):
        return frozenset()
    known = {still.id for still in before.stills}
    return frozenset(f"still {still.id}" for still in after.stills if still.id not in known and still.state == "draft")


def _renumbered(edit: Edit, numbers: frozenset[int], number: int) -> Edit:
    """The edit with the number that its station has now, whatever number it had when the person looked."""
    return edit.model_copy(update={"station": number}) if getattr(edit, "station", None) in numbers else edit


def _revision(library: Library, name: str, key: str, number: int) -> Course | Station:
    return library.revision(name, "station" if key else "course", key, number).doc


def _key(*parts: str) -> str:
    return " ".join(parts)


def _notes(name: str, sender: Sender) -> pipeline.Note:
    """What is kept with a save: which page made each revision, and what the batch made, so that it can be known again and taken back."""

    def note(made: Mapping[str, int]) -> Sequence[tuple[str, str, bytes]]:
        kept = [] if sender.batch is None else [(BATCH, _key(name, sender.batch), json.dumps(dict(made)).encode())]
        if sender.client is not None:
            kept += [(MADE, _key(name, key, str(number)), sender.client.encode()) for key, number in made.items()]
        return kept

    return note


def take_back(library: Library, name: str, of: str, sender: Sender) -> None:
    """Take a batch that was saved back; what others changed elsewhere since stays. Taking that back again does the batch once more.

    Raises
    ------
    NotFound
        No batch of that name was saved in this course.
    InvalidEdit
        Something that the batch touched was changed again since; nothing is saved.
    """
    made = library.done(BATCH, _key(name, of))
    if made is None:
        raise NotFound("change", of, [])
    for left in reversed(range(TRIES)):
        try:
            _take_back(library, name, json.loads(made), sender)
            return
        except StaleEdit:
            if not left:
                raise


def _take_back(library: Library, name: str, made: Mapping[str, int], sender: Sender) -> None:
    course, stations = library.whole(name)
    if _done(library, name, sender):
        return
    now = {at.doc.id: at for at in stations}
    after = course.doc
    if "" in made:
        after = taken_back(*_around(library, name, "", made[""], Course), course.doc)
    for key in after.order:
        if key not in now:
            now[key] = library.station(name, key)
    docs: list[Station] = []
    for number, key in enumerate(after.order, start=1):
        doc = now[key].doc
        if made.get(key, 1) > 1:
            doc = taken_back(*_around(library, name, key, made[key], Station), doc)
        docs.append(doc if doc.number == number else doc.model_copy(update={"number": number}))
    note = _notes(name, sender)
    if not pipeline.save_differing(library, course, tuple(now.values()), after, docs, sender.who, note):
        for kept in note({}):
            library.mark_done(*kept)
    if after.heard != course.doc.heard:
        pipeline.read_again(library, name)


def _around(library: Library, name: str, key: str, number: int, kind: type[Any]) -> tuple[Any, Any]:
    before, after = _revision(library, name, key, number - 1), _revision(library, name, key, number)
    assert isinstance(before, kind) and isinstance(after, kind)
    return before, after


def _stale(
    library: Library,
    name: str,
    key: str,
    base: int,
    now: Revised[Course] | Revised[Station],
    edits: Sequence[Edit],
    sender: Sender,
    clashes: Sequence[tuple[int, Sequence[str]]],
) -> StaleEdit:
    theirs = now.doc.model_dump(mode="json")
    mine = _mine(library, name, key, base, edits, sender.who)
    return StaleEdit("station" if key else "course", key or name, base, now.revision, mine, theirs, clashes)


def _mine(library: Library, name: str, key: str, base: int, edits: Sequence[Edit], who: str) -> dict[str, object]:
    """What the person would have had: their edits on the revision that they were looking at."""
    course, stations = library.whole(name)
    seen = _revision(library, name, key, base)
    docs = tuple(seen if isinstance(seen, Station) and at.doc.id == key else at.doc for at in stations)
    if isinstance(seen, Station):
        docs = tuple(doc.model_copy(update={"number": place}) for place, doc in enumerate(docs, start=1))
    mine: Course | Station | None = seen
    try:
        after, after_stations = pipeline.apply_all(seen if isinstance(seen, Course) else course.doc, docs, edits, who)
        mine = next((each for each in after_stations if each.id == key), None) if key else after
    except InvalidEdit:
        mine = None
    return (mine or seen).model_dump(mode="json")
