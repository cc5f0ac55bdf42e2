"""What the drafter points at: what a station does not say, and what is said two ways. Every finding is one sentence for a volunteer."""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course import BlanketRule, Finding, Role, Said, SheetStation
from annotator.rules.across import (
    about_blanket,
    about_neighbour,
    about_start_and_finish,
    against_blanket,
    against_neighbour,
    limbs_known,
    same_name,
    start_and_finish,
)
from annotator.rules.announced import Counted, about_count
from annotator.rules.sheet import Built
from annotator.rules.wordings import be, called


def station_findings(built: Sequence[Built], blanket: Sequence[BlanketRule], numbers: Sequence[int | None]) -> tuple[Finding, ...]:
    """Gaps and contradictions of all stations, in order."""
    out: list[Finding] = []
    last = len(built) - 1
    for k, item in enumerate(built):
        station = item.station
        who = called(station.number, station.name)
        out.extend(_gaps(station, who, blanket, item.suspected))
        for clash in item.clashes:
            out.append(
                Finding(
                    kind="contradiction",
                    station=station.number,
                    severity="blocks",
                    said=clash.said,
                    about=f"{who}: {clash.about}. Decide which holds: change it, or put this aside with the reason.",
                )
            )
        out.extend(_across(item, built[k - 1] if k else None, who, blanket))
        said_number = numbers[k]
        if said_number is not None and said_number != station.number:
            out.append(
                Finding(
                    kind="number-disagrees",
                    station=station.number,
                    severity="note",
                    said=station.said[:1],
                    about=f"{who} is number {station.number} in order, but the speaker calls it number {said_number}.",
                )
            )
        if k < last:
            out.extend(_handover(item, built[k + 1], who))
    return tuple(out)


def count_findings(announced: Counted, found: int) -> tuple[Finding, ...]:
    """One finding where another number of stations was announced than was found: a part of the course may not be in this recording."""
    if announced.total is None or announced.line is None or (about := about_count(announced.total, found)) is None:
        return ()
    return (Finding(kind="number-disagrees", station=None, severity="note", said=(announced.line.said,), about=about),)


def _gaps(station: SheetStation, who: str, blanket: Sequence[BlanketRule], suspected: frozenset[Role]) -> list[Finding]:
    out = []
    taken = {s.role: s.name for s in station.surfaces if s.role in suspected}
    said = station.said[:1]
    if "start" in taken or not any(s.role == "start" for s in station.surfaces):
        out.append(
            Finding(
                kind="no-start",
                station=station.number,
                severity="blocks",
                said=said,
                about=f"{who}: nobody says plainly where the athlete starts; it may be the {taken['start']}. Check the start."
                if "start" in taken
                else f"{who}: nobody says where the athlete starts. Add the start.",
            )
        )
    if "finish" in taken or not any(s.role == "finish" for s in station.surfaces):
        out.append(
            Finding(
                kind="no-finish",
                station=station.number,
                severity="blocks",
                said=said,
                about=f"{who}: nobody says plainly where it ends; it may be on the {taken['finish']}. Check the finish."
                if "finish" in taken
                else f"{who}: nobody says where it ends. Add the finish.",
            )
        )
    if not limbs_known(station.contact, station.surfaces, blanket):
        out.append(
            Finding(
                kind="no-contact",
                station=station.number,
                severity="blocks",
                said=said,
                about=f"{who}: nobody says whether hands, feet or both may be used. Set the limbs.",
            )
        )
    return out


def _across(item: Built, before: Built | None, who: str, blanket: Sequence[BlanketRule]) -> list[Finding]:
    """What does not fit the rules for the whole course, the station before, or its own names."""
    station = item.station

    def told(kind: str, severity: str, about: str, *said: Said) -> Finding:
        finding = {"kind": kind, "station": station.number, "severity": severity, "about": about, "said": said, "across": True}
        return Finding.model_validate(finding)

    out = [
        told("contradiction", "blocks", about_blanket(who, surface, rule), *surface.said[:1], *rule.said[:1])
        for surface, rule in against_blanket(station.surfaces, blanket)
    ]
    if before is not None:
        their = called(before.station.number, before.station.name)
        out += [
            told("contradiction", "blocks", about_neighbour(who, their, mine, yours), *mine.said[:1], *yours.said[:1])
            for mine, yours in against_neighbour(before.station.surfaces, station.surfaces)
        ]
    out += [
        told("name-for-two-things", "note", about_start_and_finish(who, finish), *start.said[:1], *finish.said[:1])
        for start, finish in start_and_finish(station.surfaces)
    ]
    return out


def _handover(this: Built, following: Built, who: str) -> list[Finding]:
    """What should be known where one station's finish is the next one's start."""
    out = []
    finishes = [s for s in this.station.surfaces if s.role == "finish"]
    starts = [s for s in following.station.surfaces if s.role == "start"]
    shared = next((f for f in finishes if any(same_name(f.name, s.name) for s in starts)), None)
    if shared is not None and shared.overshoot is None:
        out.append(
            Finding(
                kind="no-overshoot",
                station=this.station.number,
                severity="note",
                said=shared.said[:1],
                about=f"{who}: the {shared.name} {be(shared.name)} also the next start, but nobody says whether one may go past it.",
            )
        )
    if this.next_start_said and starts and finishes and shared is None:
        out.append(
            Finding(
                kind="finish-is-not-next-start",
                station=this.station.number,
                severity="note",
                said=starts[0].said[:1],
                about=f"{who}: its finish is said to be the next start, but the next station starts somewhere else.",
            )
        )
    return out
