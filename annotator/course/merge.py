"""Take a newly drafted sheet into a course, beside what people accepted and edited and never over it. Pure.

Drafts that nobody touched are replaced: what is proposed again keeps its id, what is not proposed any more goes. What a person
accepted, set, drew on or took out stays so; a proposal that says something new about it stands beside it as a draft. One that only spells
the name of the same words otherwise (a word was mended) is no news (course/respelt.py): the line keeps the name that a person accepted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

from annotator.course.borders import apart, has_own_span
from annotator.course.document import Course, Settled, Station, Surface
from annotator.course.edits import with_divisions
from annotator.course.find import key, same_name, spelt
from annotator.course.findings import Finding
from annotator.course.order import Documents, new_station_id, new_surface_id
from annotator.course.respelt import respelt, shared
from annotator.course.sheet import BlanketRule, Sheet, SheetStation, SheetSurface

T = TypeVar("T")


def merge_draft(course: Course, stations: Sequence[Station], sheet: Sheet) -> Documents:
    """The course and its stations, in order and with ids, after a draft. Merging the same sheet again changes nothing.

    Ids: stations "t1", "t2", ..., surfaces "u1", ... and blanket rules "b1", ...; none is given twice in a course.
    """
    sheet = apart(course, stations, sheet)
    homes = _homes(course, stations, sheet.stations)
    kept = [station for station in stations if _touched(station) or station.id in homes.values()]
    order = [station.id for station in kept]
    merged = {station.id: station for station in kept}
    before: str | None = None
    told_until = max((station.end for station in stations), default=0.0)
    for proposal in sheet.stations:
        home = homes.get(proposal.number)
        if home is None and proposal.number not in homes:  # nobody has it: a new station
            course, home = new_station_id(course, stations)
            homes[proposal.number] = home
            merged[home] = Station(id=home, number=proposal.number, start=proposal.start, end=proposal.end)
            later = proposal.start >= told_until  # than all that was there, as on a clip that was added: it comes last
            order.insert(len(order) if later else order.index(before) + 1 if before in order else 0, home)
        if home is not None:
            before = home
    told = dict[str, list[SheetStation]]()
    for proposal in sorted(sheet.stations, key=lambda one: list(homes).index(one.number)):
        home = homes[proposal.number]
        if home is not None:
            told.setdefault(home, []).append(proposal)
    for home, proposals in told.items():
        merged[home] = _head(merged[home], proposals, course.settled)
    mine = {name: _surfaces_for(name, merged, sheet, homes) for name in order}
    for name in order:
        course, merged[name] = _with_surfaces(course, merged[name], mine[name], [*stations, *merged.values()])
    after = tuple(
        merged[name] if merged[name].number == place else merged[name].model_copy(update={"number": place})
        for place, name in enumerate(order, start=1)
    )
    places = {station.id: station.number for station in after}
    course = course.model_copy(
        update={
            "order": tuple(order),
            "blanket": _blanket(course, after, sheet.blanket),
            "format": course.format if course.format_by_hand else sheet.format,
            "drafted": (
                *_findings(sheet, {number: places.get(home or "") for number, home in homes.items()}),
                *(finding for station in after for finding in _names_mended(station, mine[station.id])),
            ),
        }
    )
    return with_divisions(course, after), after


def _findings(sheet: Sheet, places: dict[int, int | None]) -> Iterator[Finding]:
    """The drafter's findings under the numbers that the stations have now; what is about a station that is not there is left out."""
    for finding in sheet.findings:
        place = None if finding.station is None else places.get(finding.station)
        if place is not None or finding.station is None:
            yield finding.model_copy(update={"station": place})


def _touched(station: Station) -> bool:
    """Whether a person did anything at this station."""
    states = [station.state, *(one.state for one in station.surfaces), *(one.state for one in station.stills)]
    settled = station.by_hand or station.settled or station.dismissed or station.signed_by is not None
    return bool("accepted" in states or settled or _hand_marked(station))


def _hand_marked(station: Station) -> set[str]:
    """The surfaces that a person drew, or agreed to, a mark for."""
    return {mark.surface for mark in station.marks if mark.state == "accepted" or mark.origin in ("drawn", "snapped")}


# Which station a proposal belongs to


def _homes(course: Course, stations: Sequence[Station], proposals: Sequence[SheetStation]) -> dict[int, str | None]:
    """The id of the station that each proposal is about, by the proposal's number, best fits first; None where a person took it out.

    One to one where spans (or a name that only these two have) agree; what is left over and lies in the span that a person gave a
    station, belongs to that one too: it was one station to the machine, or two, and a person decided otherwise.
    """
    pairs = sorted(
        (tuple(-like for like in _likeness(proposal, station)), proposal.number, place)
        for proposal in proposals
        for place, station in enumerate(stations)
    )
    homes: dict[int, str | None] = {}
    for likeness, number, place in pairs:
        if likeness[0] <= -0.5 and number not in homes and stations[place].id not in homes.values():
            homes[number] = stations[place].id
    for proposal in proposals:
        if proposal.number in homes:
            continue
        around = [station for station in stations if has_own_span(station) and _overlap(proposal, station, of=proposal) >= 0.5]
        gone = [one for one in course.settled if one.what == "station" and one.start is not None and one.end is not None]
        if around:
            homes[proposal.number] = around[0].id
        elif note := next((one for one in gone if shared(proposal.start, proposal.end, one.start or 0.0, one.end or 0.0) >= 0.5), None):
            homes[proposal.number] = note.of if any(station.id == note.of for station in stations) else None
    return homes


def _likeness(proposal: SheetStation, station: Station) -> tuple[float, float]:
    """0 to 1 for the span that both share, of the shorter one; 1 more where the name is the same and the spans touch at all.

    Then, to tell equals apart, the same of the longer one.
    """
    both_share = shared(proposal.start, proposal.end, station.start, station.end)
    same = proposal.name is not None and same_name(proposal.name, station.name)
    longer = max(proposal.end - proposal.start, station.end - station.start)
    both = max(0.0, min(proposal.end, station.end) - max(proposal.start, station.start))
    return (both_share + 1 if same and both_share > 0 else both_share), both / longer if longer > 0 else both_share


def _overlap(proposal: SheetStation, station: Station, *, of: SheetStation) -> float:
    length = of.end - of.start
    both = min(proposal.end, station.end) - max(proposal.start, station.start)
    return max(0.0, both / length) if length > 0 else float(both >= 0)


# What is proposed for one station


def _head(station: Station, proposals: Sequence[SheetStation], settled: Sequence[Settled]) -> Station:
    """The station as its proposals tell it, the best fit first; one with borders of its own also where it goes on elsewhere."""
    if station.state == "accepted":
        return station
    best = proposals[0]
    fields = [field for field in ("name", "contact", "demonstration") if field not in station.by_hand]
    if "span" not in station.by_hand:
        return station.model_copy(
            update={field: getattr(best, field) for field in fields} | {"said": best.said, "start": best.start, "end": best.end}
        )
    spans = [(station.start, station.end), *((one.start or 0.0, one.end or 0.0) for one in settled if one.of == station.id)]
    told = [one for proposal in proposals for one in proposal.said if any(start <= one.start < end for start, end in spans)]
    update: dict[str, object] = {field: next(filter(None, (getattr(one, field) for one in proposals)), None) for field in fields}
    return station.model_copy(update=update | {"said": tuple(sorted(told, key=lambda one: one.start))})


def _surfaces_for(name: str, stations: dict[str, Station], sheet: Sheet, homes: dict[int, str | None]) -> list[SheetSurface]:
    """The surfaces proposed for a station: those of its proposals; but where a person drew borders, each where the words for it fall."""
    bordered = [other for other in stations.values() if has_own_span(other)]
    mine = []
    for proposal in sheet.stations:
        home = homes[proposal.number]
        for surface in proposal.surfaces if home is not None else ():
            at = surface.said[0].start if surface.said else None
            inside = at is None or _holds(stations[home or ""], at)
            there = None if at is None or inside else next((other.id for other in bordered if _holds(other, at)), None)
            if name == (there or home):
                mine.append(surface)
    return mine


def _holds(station: Station, time_s: float) -> bool:
    return station.start <= time_s < station.end


def _with_surfaces(
    course: Course, station: Station, proposals: Sequence[SheetSurface], everything: Sequence[Station]
) -> tuple[Course, Station]:
    marked = _hand_marked(station)
    firm = [one for one in station.surfaces if one.state == "accepted" or one.id in marked]
    news = _news(proposals, [one for one in firm if one.state == "accepted"], station.settled, "surface")
    loose = [one for one in station.surfaces if one.state == "draft"]
    twins = _twins(news, loose, proposals)
    surfaces: list[Surface] = [one for one in station.surfaces if one in firm or one.id in twins.values()]
    before: int | None = None
    for place, proposal in enumerate(news):
        if place in twins:
            old = next(one for one in surfaces if one.id == twins[place])
            before = surfaces.index(old)
            surfaces[before] = _drafted(proposal, old.id)
            continue
        course, name = new_surface_id(course, everything)
        before = len(surfaces) if before is None else before + 1
        surfaces.insert(before, _drafted(proposal, name))
    gone = {one.id for one in station.surfaces} - {one.id for one in surfaces}
    marks = tuple(mark for mark in station.marks if mark.surface not in gone)
    return course, station.model_copy(update={"surfaces": tuple(surfaces), "marks": marks})


def _drafted(proposal: SheetSurface, name: str) -> Surface:
    return Surface(id=name, **{field: getattr(proposal, field) for field in SheetSurface.model_fields})


def _news(proposals: Sequence[T], firm: Sequence[Any], settled: Sequence[Settled], what: str) -> list[T]:
    """The proposals, each once, that say something which is neither accepted, be it under another spelling, nor was settled by a person."""
    unsettled = _unsettled(proposals, firm, settled, what)
    same = respelt(unsettled.values(), firm, _told(proposals))
    return [proposal for line, proposal in unsettled.items() if line not in same]


def _unsettled(proposals: Iterable[T], firm: Iterable[Any], settled: Sequence[Settled], what: str) -> dict[str, T]:
    """The proposals, each once and by what it says, that are neither accepted word for word nor were settled by a person."""
    known = {spelt(one) for one in firm} | {one.proposal for one in settled if one.what == what}
    out = {(key(one.name), key(one.part)) for one in settled if one.what == what and one.proposal is None}
    found: dict[str, T] = {}
    for proposal in proposals:
        line = spelt(proposal)  # type: ignore[arg-type]  # surfaces and blanket rules
        if line not in known and _place(proposal)[:2] not in out:
            found.setdefault(line, proposal)
    return found


def _names_mended(station: Station, proposals: Sequence[SheetSurface]) -> Iterator[Finding]:
    """A note on each accepted line whose words give its name in another spelling now; a person decides whether it is renamed."""
    accepted = [one for one in station.surfaces if one.state == "accepted"]
    unsettled = _unsettled(proposals, accepted, station.settled, "surface")
    for says, line in respelt(unsettled.values(), accepted, _told(proposals)).items():
        now = unsettled[says]
        yield Finding(
            kind="name-heard-wrong",
            station=station.number,
            about=f"“{line.name}” was accepted; where it is told of, the words read “{now.name}” now. Rename it if that is its name.",
            severity="note",
            said=now.said[:1],
            surface=line.id,
            instead=now.name,
        )


def _told(proposals: Iterable[Any]) -> set[str]:
    return {_place(proposal)[0] for proposal in proposals}


def _place(item: Any) -> tuple[str, str, str]:
    """What a surface or a rule is about: its name, its part, and its role or kind."""
    if isinstance(item, BlanketRule):
        return key(item.surface or item.rule), key(item.part), item.rule
    return key(item.name), key(item.part), item.role


def _twins(news: Sequence[Any], loose: Sequence[Any], proposals: Iterable[Any]) -> dict[int, str]:
    """Which loose draft each piece of news stands in for: one that says the same, or else one about the same thing, or else that one
    under another spelling."""
    twins: dict[int, str] = {}
    for alike in (spelt, _place):
        for place, proposal in enumerate(news):
            free = (one.id for one in loose if one.id not in twins.values() and alike(one) == alike(proposal))
            found = None if place in twins else next(free, None)
            if found is not None:
                twins[place] = found
    left = [one for one in loose if one.id not in twins.values()]
    same = respelt([proposal for place, proposal in enumerate(news) if place not in twins], left, _told(proposals))
    return twins | {place: same[spelt(proposal)].id for place, proposal in enumerate(news) if spelt(proposal) in same}


# Blanket rules


def _blanket(course: Course, stations: Sequence[Station], proposals: Sequence[BlanketRule]) -> tuple[BlanketRule, ...]:
    marked = {name for station in stations for name in _hand_marked(station)}
    firm = [rule for rule in course.blanket if rule.state == "accepted" or rule.id in marked]
    news = _news(proposals, [rule for rule in firm if rule.state == "accepted"], course.settled, "blanket")
    twins = _twins(news, [rule for rule in course.blanket if rule.state == "draft"], proposals)
    rules = [rule for rule in course.blanket if rule in firm or rule.id in twins.values()]
    used = [int(name[1:]) for name in (*(rule.id or "" for rule in course.blanket), *marked) if name[:1] == "b" and name[1:].isdigit()]
    last = max(used, default=0)
    for place, proposal in enumerate(news):
        if place in twins:
            at = next(at for at, rule in enumerate(rules) if rule.id == twins[place])
            rules[at] = proposal.model_copy(update={"id": twins[place], "state": "draft"})
        else:
            last += 1
            rules.append(proposal.model_copy(update={"id": f"b{last}", "state": "draft"}))
    return tuple(rules)
