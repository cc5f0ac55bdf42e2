"""What the drafter points at: what a station does not say, and what is said two ways. Every finding is one sentence for a volunteer."""

from __future__ import annotations

from collections.abc import Sequence

from annotator.course import BlanketRule, Finding, SheetStation
from annotator.rules.sheet import Built
from annotator.rules.wordings import called


def station_findings(built: Sequence[Built], blanket: Sequence[BlanketRule], numbers: Sequence[int | None]) -> tuple[Finding, ...]:
    """Gaps and contradictions of all stations, in order."""
    out: list[Finding] = []
    everywhere = any(
        rule.rule == "surface" and rule.contact and not rule.part and (rule.surface or "") in ("everything", "anything") for rule in blanket
    )
    last = len(built) - 1
    for k, item in enumerate(built):
        station = item.station
        who = called(station.number, station.name)
        out.extend(_gaps(station, who, everywhere))
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
        out.extend(_against_blanket(station, who, blanket))
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


def _gaps(station: SheetStation, who: str, limbs_everywhere: bool) -> list[Finding]:
    out = []
    said = station.said[:1]
    if not any(s.role == "start" for s in station.surfaces):
        out.append(
            Finding(
                kind="no-start",
                station=station.number,
                severity="blocks",
                said=said,
                about=f"{who}: nobody says where the athlete starts. Add the start.",
            )
        )
    if not any(s.role == "finish" for s in station.surfaces):
        out.append(
            Finding(
                kind="no-finish",
                station=station.number,
                severity="blocks",
                said=said,
                about=f"{who}: nobody says where it ends. Add the finish.",
            )
        )
    if station.contact is None and not limbs_everywhere and not any(s.contact for s in station.surfaces if s.role == "route"):
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


def _against_blanket(station: SheetStation, who: str, blanket: Sequence[BlanketRule]) -> list[Finding]:
    """A station that rules against a blanket rule: an exception perhaps, which a person has to say."""
    out = []
    for surface in station.surfaces:
        for rule in blanket:
            if (
                rule.rule == "surface"
                and rule.surface == surface.name
                and rule.part == surface.part
                and rule.ruling
                and rule.ruling != surface.ruling
                and not surface.divisions
            ):
                here, there = (f"{r} play" if r == "in" else "out of play" for r in (surface.ruling, rule.ruling))
                out.append(
                    Finding(
                        kind="contradiction",
                        station=station.number,
                        severity="blocks",
                        said=(*surface.said[:1], *rule.said[:1]),
                        about=f"{who}: the {surface.name} is {here} here, but {there} everywhere by the rules said for the whole course.",
                    )
                )
    return out


def _handover(this: Built, following: Built, who: str) -> list[Finding]:
    """What should be known where one station's finish is the next one's start."""
    out = []
    finishes = {s.name: s for s in this.station.surfaces if s.role == "finish"}
    starts = {s.name for s in following.station.surfaces if s.role == "start"}
    shared = next((finishes[n] for n in finishes if n in starts), None)
    if shared is not None and shared.overshoot is None:
        out.append(
            Finding(
                kind="no-overshoot",
                station=this.station.number,
                severity="note",
                said=shared.said[:1],
                about=f"{who}: the {shared.name} is also the next start, but nobody says whether one may go past it.",
            )
        )
    if this.next_start_said and starts and finishes and shared is None:
        out.append(
            Finding(
                kind="finish-is-not-next-start",
                station=this.station.number,
                severity="note",
                said=following.station.surfaces[0].said[:1],
                about=f"{who}: its finish is said to be the next start, but the next station starts somewhere else.",
            )
        )
    return out
