"""Stations in their order: split, join, move, add, take out, and the numbers that follow from it. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from annotator.course.document import Course, Settled, Station
from annotator.course.edit_kinds import AddStation, MergeStations, MoveStation, OfOrder, RemoveStation, RetellStation, SplitStation
from annotator.course.find import station_at
from annotator.course.findings import Finding
from annotator.course.joining import joined, retold, the_two
from annotator.errors import InvalidEdit

Documents = tuple[Course, tuple[Station, ...]]


def reorder(course: Course, stations: Sequence[Station], edit: OfOrder, who: str) -> Documents:
    """Do one edit of the order. What a person made of a station that was accepted is accepted by that person, and unsigned."""
    match edit:
        case SplitStation():
            return _split(course, stations, edit, who)
        case MergeStations() | RetellStation():
            return _merge(course, stations, edit, who)
        case AddStation():
            return _add(course, stations, edit)
        case MoveStation():
            moved = station_at(stations, edit.station, edit.do)
            if edit.to > len(stations):
                raise InvalidEdit(edit.do, f"there are {len(stations)} stations, so none can become number {edit.to}.")
            rest = [station for station in stations if station is not moved]
            return settle(course, stations, [*rest[: edit.to - 1], moved, *rest[edit.to - 1 :]])
        case RemoveStation():
            gone = station_at(stations, edit.station, edit.do)
            note = Settled(what="station", name=gone.name, start=gone.start, end=gone.end)
            course = course.model_copy(update={"settled": (*course.settled, note)})
            return settle(course, stations, [station for station in stations if station is not gone])


def settle(
    course: Course, before: Sequence[Station], after: Iterable[Station], home: Callable[[Finding], str | None] | None = None
) -> Documents:
    """The course with these stations in this order: numbered 1 and on, the drafter's findings moved along with them.

    `home` may tell the id of the station that a finding now belongs to; findings of a station that is gone go with it.
    """
    numbered = tuple(
        station if station.number == place else station.model_copy(update={"number": place}) for place, station in enumerate(after, start=1)
    )
    ids = {station.number: station.id for station in before}
    places = {station.id: station.number for station in numbered}
    drafted = []
    for finding in course.drafted:
        if finding.station is None:
            drafted.append(finding)
            continue
        place = places.get((home and home(finding)) or ids.get(finding.station, ""))
        if place is not None:
            drafted.append(finding if place == finding.station else finding.model_copy(update={"station": place}))
    order = tuple(station.id for station in numbered)
    return course.model_copy(update={"order": order, "drafted": tuple(drafted)}), numbered


def new_station_id(course: Course, stations: Iterable[Station]) -> tuple[Course, str]:
    """An id that no station of this course ever had, and the course that remembers it."""
    last = max([course.last_station, *(_number(name, "t") for name in (*course.order, *(one.id for one in stations)))])
    return course.model_copy(update={"last_station": last + 1}), f"t{last + 1}"


def new_surface_id(course: Course, stations: Iterable[Station]) -> tuple[Course, str]:
    """An id that no surface of this course ever had, and the course that remembers it."""
    used = [_number(surface.id, "u") for station in stations for surface in station.surfaces]
    last = max([course.last_surface, *used])
    return course.model_copy(update={"last_surface": last + 1}), f"u{last + 1}"


def _number(name: str, letter: str) -> int:
    digits = name.removeprefix(letter)
    return int(digits) if name.startswith(letter) and digits.isascii() and digits.isdigit() else 0


def _split(course: Course, stations: Sequence[Station], edit: SplitStation, who: str) -> Documents:
    whole = station_at(stations, edit.station, edit.do)
    if not whole.start < edit.at < whole.end:
        raise InvalidEdit(edit.do, f"{edit.at:g} s is not inside station {whole.number}: {whole.start:g} to {whole.end:g} s.")
    course, second_id = new_station_id(course, stations)
    late = {surface.id for surface in whole.surfaces if surface.said and surface.said[0].start >= edit.at}
    halves = []
    for second in (False, True):
        surfaces = tuple(surface for surface in whole.surfaces if (surface.id in late) == second)
        ids = {surface.id for surface in surfaces}
        mine = {still.id for still in whole.stills if (still.time_s >= edit.at) == second}
        others = {surface.id for surface in whole.surfaces} - ids
        # A mark goes with its surface, and takes a copy of its still along where the still belongs to the other half.
        marks = tuple(mark for mark in whole.marks if mark.surface in ids or (mark.surface not in others and mark.still in mine))
        shown = mine | {mark.still for mark in marks}
        update: dict[str, object] = {
            "surfaces": surfaces,
            "stills": tuple(still for still in whole.stills if still.id in shown),
            "marks": marks,
            "said": tuple(said for said in whole.said if (said.start >= edit.at) == second),
            "by_hand": tuple(dict.fromkeys((*whole.by_hand, "span", "demonstration"))),
            "accepted_by": who if whole.state == "accepted" else whole.accepted_by,
            "signed_by": None,
        }
        if second:
            update |= {"id": second_id, "name": edit.name, "start": edit.at, "dismissed": (), "settled": ()}
        else:
            update |= {"end": edit.at, "demonstration": None}  # it comes at the end of a station
        halves.append(whole.model_copy(update=update))
    after = [half for station in stations for half in (halves if station is whole else [station])]

    def home(finding: Finding) -> str | None:
        late_words = bool(finding.said) and finding.said[0].start >= edit.at
        return second_id if finding.station == whole.number and (late_words or finding.surface in late) else None

    return settle(course, stations, after, home)


def _merge(course: Course, stations: Sequence[Station], edit: MergeStations | RetellStation, who: str) -> Documents:
    first, second = the_two(stations, edit)
    if isinstance(edit, MergeStations):
        noted, whole = joined(course, stations, first, second, who)
    else:
        noted, whole = retold(course, first, second)
    after = [whole if station is first else station for station in stations if station is not second]
    return settle(noted, stations, after, lambda finding: first.id if finding.station == second.number else None)


def _add(course: Course, stations: Sequence[Station], edit: AddStation) -> Documents:
    if edit.end < edit.start:
        raise InvalidEdit(edit.do, f"it would end ({edit.end:g} s) before it starts ({edit.start:g} s).")
    place = len(stations) + 1 if edit.number is None else edit.number
    if place > len(stations) + 1:
        raise InvalidEdit(edit.do, f"there are {len(stations)} stations, so the new one can be number {len(stations) + 1} at most.")
    course, name = new_station_id(course, stations)
    by_hand = ("name", "contact", "demonstration", "span")
    made = Station(id=name, number=place, name=edit.name, start=edit.start, end=edit.end, by_hand=by_hand)
    return settle(course, stations, [*stations[: place - 1], made, *stations[place - 1 :]])
