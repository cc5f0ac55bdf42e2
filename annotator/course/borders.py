"""Where a clip was added behind stations that people agreed to: what is said on it is no more of the last of them. Pure.

A drafter reads the words of all clips as one text, and a station may well go on from one clip to the next. Where a person accepted the
station, or set its span, and that ends before a clip begins, it does not: what the clip says before it announces a station stands as a
station of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.course.document import Course, Station
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
