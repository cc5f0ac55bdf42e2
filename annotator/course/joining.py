"""Two stations that are one: put together, or the new telling taken in place of the old. Pure.

The one that was first keeps its place, its id and its name. What is spoken of the other lies elsewhere in the walk where a clip was added,
so its span is noted with the station that it went to, and a new draft finds it there.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course.document import Course, Settled, Station, Still, Surface
from annotator.course.edit_kinds import MergeStations, RetellStation
from annotator.course.find import key, label, spelt, station_at
from annotator.course.marks import Mark
from annotator.errors import InvalidEdit


def the_two(stations: Sequence[Station], edit: MergeStations | RetellStation) -> tuple[Station, Station]:
    """The station that stays, and the one that goes into it: the next one where none is named."""
    first = station_at(stations, edit.station, edit.do)
    second = station_at(stations, edit.station + 1 if edit.other is None else edit.other, edit.do)
    if first is second:
        raise InvalidEdit(edit.do, f"station {label(first)} is named twice.")
    return first, second


def joined(course: Course, stations: Sequence[Station], first: Station, second: Station, who: str) -> tuple[Course, Station]:
    """One station of two: all lines, stills and marks; lines that say the same are one. The course notes where it is told."""
    stills, shown = _stills(first, second)
    surfaces, same = list(first.surfaces), dict[str, str]()
    for surface in second.surfaces:
        twin = next((one for one in surfaces if _rule(one) == _rule(surface)), None)
        if twin is None:
            surfaces.append(surface)
        else:
            same[surface.id] = twin.id
            both = twin.model_copy(update={"said": (*twin.said, *(said for said in surface.said if said not in twin.said))})
            surfaces[surfaces.index(twin)] = both
    given = [field for field in ("name", "contact", "demonstration") if getattr(second, field)]  # a new draft asks the first alone
    accepted = first.state == second.state == "accepted"
    whole = first.model_copy(
        update={
            "name": first.name or second.name,
            "contact": first.contact or second.contact,
            "demonstration": second.demonstration or first.demonstration,
            "said": tuple(sorted((*first.said, *second.said), key=lambda said: said.start)),
            "surfaces": tuple(surfaces),
            "stills": stills,
            "marks": _marks(first, second, shown, same),
            "state": "accepted" if accepted else "draft",
            "accepted_by": who if accepted else None,
            "signed_by": None,
            "dismissed": (*first.dismissed, *second.dismissed),
            "by_hand": tuple(dict.fromkeys((*first.by_hand, *second.by_hand, *given, "span"))),
            "settled": (*first.settled, *second.settled),
        }
    )
    start, end = min(first.start, second.start), max(first.end, second.end)
    others = (one for one in stations if one is not first and one is not second)
    if any(one.start < end and one.end > start for one in others):  # somebody else's part of the walk lies between
        return _noted(course, second, first.id), whole
    return _moved(course, second.id, first.id), whole.model_copy(update={"start": start, "end": end})


def retold(course: Course, old: Station, new: Station) -> tuple[Course, Station]:
    """The station as the new telling has it, a draft under the old one's place, id and name.

    Lines keep their id, and with it their marks, where the new telling speaks of the same thing in the same role; those that say the same
    stay accepted. What was only said the first time goes; what a person added, and every still, stays.
    """
    twins = _told_again(old.surfaces, new.surfaces)
    surfaces, same = list[Surface](), dict[str, str]()
    for surface in new.surfaces:
        there = twins.get(surface.id)
        if there is None:
            surfaces.append(surface)
            continue
        same[surface.id] = there.id
        agreed = there.state == "accepted" and spelt(there) == spelt(surface)
        surfaces.append(surface.model_copy(update={"id": there.id, "state": "accepted" if agreed else surface.state}))
    surfaces += [surface for surface in old.surfaces if not surface.said and surface not in twins.values()]
    kept = {surface.id for surface in surfaces} | {rule.id for rule in course.blanket if rule.id}
    # Of two old lines about one thing one may be told no more: what was marked for it shows that thing all the same.
    things = {_thing(surface): surface.id for surface in reversed(surfaces)}
    places = {surface.id: things.get(_thing(surface), surface.id) for surface in old.surfaces if surface.id not in kept}
    mine = (mark.model_copy(update={"surface": places.get(mark.surface, mark.surface)}) for mark in old.marks)
    stills, shown = _stills(old, new)
    marks = _marks(old.model_copy(update={"marks": tuple(mark for mark in mine if mark.surface in kept)}), new, shown, same)
    station = old.model_copy(
        update={
            "name": old.name or new.name,
            "start": new.start,
            "end": new.end,
            "contact": new.contact or old.contact,
            "demonstration": new.demonstration,
            "said": new.said,
            "surfaces": tuple(surfaces),
            "stills": stills,
            "marks": marks,
            "state": "draft",
            "accepted_by": None,
            "signed_by": None,
            "dismissed": new.dismissed,
            "by_hand": tuple(dict.fromkeys((*old.by_hand, *new.by_hand, "name", "contact", "span"))),
            "settled": new.settled,  # what was taken out of the old telling may stand in the new one
        }
    )
    drafted = tuple(finding for finding in course.drafted if finding.station != old.number)
    course = _moved(course.model_copy(update={"drafted": drafted}), old.id, None)
    course = _moved(course, new.id, old.id)
    return _noted(course, old, None), station


def _told_again(old: Sequence[Surface], new: Sequence[Surface]) -> dict[str, Surface]:
    """By the id of a new line the old one that it takes the place of: one that says the same, else one that was said of the same thing."""
    twins: dict[str, Surface] = {}
    for word_for_word in (True, False):
        for surface in new:
            free = (
                one for one in old if one not in twins.values() and (spelt(one) == spelt(surface) if word_for_word else _said(one, surface))
            )
            if surface.id not in twins and (found := next(free, None)) is not None:
                twins[surface.id] = found
    return twins


def _said(old: Surface, new: Surface) -> bool:
    return bool(old.said) and _thing(old) == _thing(new)


def _thing(surface: Surface) -> tuple[str, str, str]:
    return key(surface.name), key(surface.part), surface.role


def _rule(surface: Surface) -> dict[str, object]:
    return surface.model_dump(exclude={"id", "said", "confidence", "state"})


def _noted(course: Course, gone: Station, of: str | None) -> Course:
    """The course that remembers whose the span of a station is now; with None, that nothing of it counts any more."""
    # The words there are still read: without the note a new draft would make a station of them again.
    note = Settled(what="station", name=gone.name, start=gone.start, end=gone.end, of=of)
    course = course if of is None else _moved(course, gone.id, of)
    return course.model_copy(update={"settled": (*course.settled, note)})


def _moved(course: Course, gone: str, to: str | None) -> Course:
    """The course with spans that were noted with a station noted with the one that it went into, or with none."""
    # It may have been joined with another before: a note that names a station which is gone leads nowhere.
    if not any(note.of == gone for note in course.settled):
        return course
    return course.model_copy(
        update={"settled": tuple(note.model_copy(update={"of": to}) if note.of == gone else note for note in course.settled)}
    )


def _stills(first: Station, second: Station) -> tuple[tuple[Still, ...], dict[str, str]]:
    """The stills of both, and under which id each of the second's stands."""
    stills, shown, taken = list(first.stills), dict[str, str](), [still.id for still in first.stills]
    for still in second.stills:
        shown[still.id] = still.id if still in first.stills else _free(still.id, taken)
        if still not in first.stills:
            stills.append(still.model_copy(update={"id": shown[still.id]}))
    return tuple(stills), shown


def _marks(first: Station, second: Station, shown: dict[str, str], same: dict[str, str]) -> tuple[Mark, ...]:
    taken = [mark.id for mark in first.marks]
    return (
        *first.marks,
        *(
            mark.model_copy(
                update={
                    "id": _free(mark.id, taken),
                    "still": shown.get(mark.still, mark.still),
                    "surface": same.get(mark.surface, mark.surface),
                }
            )
            for mark in second.marks
        ),
    )


def _free(name: str, taken: list[str]) -> str:
    """The name, with letters behind it until nobody has it; then it is taken."""
    free, number = name, 2
    while free in taken:
        free, number = f"{name}-{number}", number + 1
    taken.append(free)
    return free
