"""Where a clip was added behind stations that people agreed to: what is said on it is no more of the last of them. Pure.

A drafter reads the words of all clips as one text, and a station may well go on from one clip to the next. Where a person accepted the
station, or set its span, and that ends before a clip begins, it does not: what the clip says before it announces a station stands as a
station of its own.

Where the walk was closed before ("and that's the whole course"), nothing that a clip says behind that is heard as a station. Such a clip is
read by itself, and what comes of it stands behind the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.course.document import Clip, Course, Station
from annotator.course.find import spelt
from annotator.course.findings import Finding
from annotator.course.respelt import shared
from annotator.course.sheet import Sheet, SheetStation


def has_own_span(station: Station) -> bool:
    """Whether a person agreed to when the station begins and ends, or set it."""
    return station.state == "accepted" or "span" in station.by_hand


def apart(course: Course, stations: Sequence[Station], sheet: Sheet) -> Sheet:
    """The sheet with stations divided at the clips that lie behind the span a person gave them; the same one where there are none."""
    ends = [clip.start_s for clip in course.clips[1:]]
    parts: list[SheetStation] = []
    firsts: dict[int, tuple[int, float | None]] = {}  # by the number that a proposal had: its place now, and where it was divided
    for proposal in sheet.stations:
        at = next((at for at in ends if _is_over(proposal, stations, at)), None)
        firsts[proposal.number] = (len(parts) + 1, at)
        parts += [proposal] if at is None else _divided(proposal, at)
    if len(parts) == len(sheet.stations):
        return sheet
    numbered = tuple(part.model_copy(update={"number": number}) for number, part in enumerate(parts, start=1))
    return sheet.model_copy(update={"stations": numbered, "findings": tuple(_moved(sheet.findings, firsts))})


def tells_of(sheet: Sheet, clip: Clip) -> bool:
    """Whether a station of the sheet begins on a clip, or the last one before it goes on there; a remark about another one is neither."""
    before = [station for station in sheet.stations if station.start < clip.start_s]
    goes_on = (said for one in (before[-1].surfaces if before else ()) for said in one.said)
    return any(_on(station.start, clip) for station in sheet.stations) or any(_on(said.start, clip) for said in goes_on)


def with_clip(sheet: Sheet, clip: Clip, own: Sheet) -> Sheet:
    """The sheet with the stations that a clip tells by itself, and what it rules in place of what was heard on it before.

    The same sheet where the clip by itself tells of no station from its start or to its finish.
    """
    if not any(one.role in ("start", "finish") for station in own.stations for one in station.surfaces):
        return sheet
    before = [_without(station, clip) for station in sheet.stations]
    stations = sorted((*before, *own.stations), key=lambda one: one.start)
    places = {id(station): place for place, station in enumerate(stations, start=1)}
    numbers = [{station.number: places[id(station)] for station in each} for each in (before, own.stations)]
    rules = [rule for rule in sheet.blanket if not rule.said or not all(_on(said.start, clip) for said in rule.said)]
    known = {spelt(rule) for rule in rules}
    found = (
        finding.model_copy(update={"station": places_of.get(finding.station or 0)})
        for each, places_of in zip((sheet, own), numbers, strict=True)
        for finding in each.findings
        if finding.station is not None or each is sheet
    )
    return sheet.model_copy(
        update={
            "stations": tuple(station.model_copy(update={"number": place}) for place, station in enumerate(stations, start=1)),
            "blanket": (*rules, *(rule for rule in own.blanket if spelt(rule) not in known)),
            "findings": tuple(found),
        }
    )


def _without(station: SheetStation, clip: Clip) -> SheetStation:
    """A station without what was heard of it on a clip."""
    lines = []
    for one in station.surfaces:
        said = tuple(each for each in one.said if not _on(each.start, clip))
        lines += [one.model_copy(update={"said": said})] if said or not one.said else []
    return station.model_copy(update={"surfaces": tuple(lines)})


def _on(time_s: float, clip: Clip) -> bool:
    return clip.start_s <= time_s < clip.start_s + clip.duration_s


def _is_over(proposal: SheetStation, stations: Sequence[Station], at: float) -> bool:
    """Whether what is proposed here from `at` on comes after the end that a person gave the station that it began with."""
    if not proposal.start < at < proposal.end or not any(one.said and one.said[0].start >= at for one in proposal.surfaces):
        return False
    before = (one for one in stations if has_own_span(one) and one.end <= at)
    return any(shared(proposal.start, at, one.start, one.end) >= 0.5 for one in before)


def _divided(proposal: SheetStation, at: float) -> list[SheetStation]:
    late = tuple(one for one in proposal.surfaces if one.said and one.said[0].start >= at)
    early = tuple(one for one in proposal.surfaces if one not in late)
    said = tuple(one for one in proposal.said if one.start < at)
    return [
        proposal.model_copy(update={"end": at, "surfaces": early, "said": said}),
        SheetStation(number=proposal.number, start=at, end=proposal.end, surfaces=late, said=proposal.said[len(said) :]),
    ]


def _moved(findings: Sequence[Finding], firsts: dict[int, tuple[int, float | None]]) -> Iterator[Finding]:
    for finding in findings:
        place, at = firsts.get(finding.station or 0, (finding.station, None))
        late = at is not None and bool(finding.said) and finding.said[0].start >= at
        yield finding.model_copy(update={"station": place + 1 if late and place is not None else place})
