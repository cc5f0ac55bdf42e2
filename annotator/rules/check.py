"""Check a course as it stands now: what is missing, what contradicts, what is still a draft, what has no mark.

In: the course and its stations as people left them. Out: findings, those that block publication first within each station. Nothing here
reads words again: what the drafter heard comes along in `course.drafted`. Whether areas of marks cross is annotator/marks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.course import BlanketRule, Course, Dismissal, Finding, Mark, Station, Still, Surface
from annotator.rules.wordings import called, counted, listing

SLACK_PX = 0.5  # a point drawn on the very border is inside
EVERYTHING = frozenset({"everything", "anything", "all", "all obstacles", "all stations", "everywhere"})
_RANK = {"blocks": 0, "warning": 1, "note": 2}
_STILL_SAID = frozenset({"number-disagrees", "finish-is-not-next-start"})
"""What the drafter noted about the words that no edit settles; a person may put it aside."""


def check(course: Course, stations: Sequence[Station]) -> tuple[Finding, ...]:
    """Every gap and contradiction of a course as things stand now.

    Parameters
    ----------
    course, stations
        The documents as they are; `stations` in any order, reported in the order of their numbers.

    Returns
    -------
    tuple of Finding
        Those of the course as a whole first, then station by station; what blocks publication before the rest. A finding that a person
        put aside (with a reason) is left out, except that drafts must be accepted.

    Examples
    --------
    >>> found = check(Course(name="c", title="C"), [Station(id="t1", number=1, start=0, end=9)])
    >>> [f.kind for f in found if f.severity == "blocks"]
    ['no-start', 'no-finish', 'no-contact', 'not-accepted']
    """
    ordered = sorted(stations, key=lambda s: (s.number, s.id))
    found = [f for f in _of_course(course, ordered) if not _put_aside(f, course.dismissed)]
    for station, following in zip(ordered, [*ordered[1:], None], strict=False):  # a course without stations has no pair
        mine = [f for f in _of_station(course, station, following) if not _put_aside(f, (*station.dismissed, *_own(course, station)))]
        found += sorted(mine, key=lambda f: _RANK[f.severity])
    return tuple(found)


def _own(course: Course, station: Station) -> tuple[Dismissal, ...]:
    """Dismissals kept with the course that name one of the station's surfaces."""
    ids = {surface.id for surface in station.surfaces}
    return tuple(one for one in course.dismissed if one.surface in ids)


def _put_aside(finding: Finding, dismissed: Sequence[Dismissal]) -> bool:
    if finding.kind in ("not-accepted", "not-signed"):
        return False
    return any(one.kind == finding.kind and one.surface in (None, finding.surface) for one in dismissed)


# The course as a whole


def _of_course(course: Course, stations: Sequence[Station]) -> Iterator[Finding]:
    if not stations:
        yield from (f for f in course.drafted if f.station is None and f.kind in ("no-station", "other-language"))
    drafts = [rule for rule in course.blanket if rule.state == "draft"]
    named = [_rule_name(rule) for rule in drafts]
    if course.format is not None and not course.format_by_hand:
        named.append("how a run counts")
    if named:
        about = f"The rules for the whole course: {counted(len(named), 'rule')} still a draft ({listing(named)}). Accept or change them."
        yield Finding(kind="not-accepted", station=None, severity="blocks", about=about)
    for heard in course.heard:
        if heard.state == "proposed":
            about = f"“{heard.heard}” may be “{heard.name}” from the names list, heard wrong. Say yes or no to it."
            yield Finding(kind="name-heard-wrong", station=None, severity="warning", about=about)


def _rule_name(rule: BlanketRule) -> str:
    if rule.rule == "unnamed-out":
        return "what is not named is out"
    what = f"{rule.part} of {rule.surface}" if rule.part else rule.surface or "?"
    return f"no skipping of {what}" if rule.rule == "no-skip" else f"{what}"


# One station


def _of_station(course: Course, station: Station, following: Station | None) -> Iterator[Finding]:
    who = called(station.number, station.name)
    yield from _gaps(course, station, who)
    yield from _clashes(course, station)
    yield from _drafts(station, who)
    yield from _pictures(course, station, who)
    yield from _handover(station, following, who)
    for finding in course.drafted:
        if finding.station == station.number and finding.kind in _STILL_SAID and station.state == "draft":
            yield finding
        if (
            finding.station == station.number
            and finding.kind == "name-heard-wrong"
            and station.state == "draft"
            and "name" not in station.by_hand
        ):
            yield finding.model_copy(update={"severity": "note"})
    if station.signed_by is None:
        yield Finding(kind="not-signed", station=station.number, severity="note", about=f"{who}: no second person has signed it yet.")


def _gaps(course: Course, station: Station, who: str) -> Iterator[Finding]:
    def gap(kind: str, about: str) -> Finding:
        return Finding.model_validate(
            {"kind": kind, "station": station.number, "severity": "blocks", "about": f"{who}: {about}", "said": station.said[:1]}
        )

    if not any(s.role == "start" for s in station.surfaces):
        yield gap("no-start", "it is not said where the athlete starts. Add the start.")
    if not any(s.role == "finish" for s in station.surfaces):
        yield gap("no-finish", "it is not said where it ends. Add the finish.")
    if not _limbs_known(course, station):
        yield gap("no-contact", "it is not said whether hands, feet or both may be used. Set the limbs.")


def _limbs_known(course: Course, station: Station) -> bool:
    """The station, its route, or a blanket rule says the limbs. A blanket rule counts for everything, or for each surface it covers."""
    if station.contact is not None:
        return True
    stated = [rule for rule in course.blanket if rule.rule == "surface" and rule.contact is not None and rule.part is None]
    if any((rule.surface or "").casefold() in EVERYTHING for rule in stated):
        return True
    covered = {(rule.surface or "").casefold() for rule in stated}
    route = [s for s in station.surfaces if s.role == "route" and s.ruling == "in"]
    return bool(route) and all(s.contact is not None or s.name.casefold() in covered for s in route)


def _clashes(course: Course, station: Station) -> Iterator[Finding]:
    """Drafted contradictions that nobody has settled: by changing or removing one of the surfaces it is about."""
    for finding in course.drafted:
        if finding.kind != "contradiction" or finding.station != station.number:
            continue
        about = [s for s in station.surfaces if _is_about(finding, s)]
        if finding.surface is not None and not any(s.id == finding.surface for s in station.surfaces):
            continue
        if any(note.what == "surface" and note.name and note.name.casefold() in finding.about.casefold() for note in station.settled):
            continue
        if not about:
            continue  # neither side stands any more
        yield finding if finding.surface else finding.model_copy(update={"surface": about[-1].id})


def _is_about(finding: Finding, surface: Surface) -> bool:
    """Whether a drafted contradiction is about a surface: it is named in its sentence, or rests on the same words."""
    if finding.surface is not None:
        return finding.surface == surface.id
    return surface.name.casefold() in finding.about.casefold() or bool(set(finding.said) & set(surface.said))


def _drafts(station: Station, who: str) -> Iterator[Finding]:
    counts = [
        (sum(item.state == "draft" for item in station.surfaces), "surface"),
        (sum(item.state == "draft" for item in station.marks), "mark"),
        (sum(item.state == "draft" for item in station.stills), "still"),
    ]
    parts = [counted(n, what) for n, what in counts if n]
    if station.state == "draft":
        parts.append("its name and limbs")
    if parts:
        one = len(parts) == 1 and parts[0].startswith("1 ")
        tail = "is still a draft" if one else "are still drafts"
        about = f"{who}: {listing(parts)} {tail}. Look at them and accept or change them."
        yield Finding(kind="not-accepted", station=station.number, severity="blocks", about=about)


def _pictures(course: Course, station: Station, who: str) -> Iterator[Finding]:
    if not station.stills:
        yield Finding(
            kind="no-still", station=station.number, severity="warning", about=f"{who}: it has no still. Choose one from the walk."
        )
    marked = {mark.surface for mark in station.marks}
    for surface in station.surfaces:
        if surface.ruling == "in" and surface.id not in marked and station.stills:
            what = f"{surface.part} of the {surface.name}" if surface.part else surface.name
            about = f"{who}: no still has a mark for the {what} ({surface.role}), so nobody sees where that is."
            yield Finding(
                kind="surface-without-mark",
                station=station.number,
                severity="warning",
                about=about,
                surface=surface.id,
                said=surface.said[:1],
            )
    known = {s.id for s in station.surfaces} | {rule.id for rule in course.blanket if rule.id}
    stills = {still.id: still for still in station.stills}
    for mark in station.marks:
        if mark.surface not in known:
            about = f"{who}: the mark {mark.id} on still {mark.still} belongs to no surface. Tie it to one or remove it."
            yield Finding(kind="mark-without-surface", station=station.number, severity="warning", about=about, surface=mark.surface)
        still = stills.get(mark.still)
        if still is None:
            about = f"{who}: the mark {mark.id} lies on a still that is not there any more ({mark.still}). Remove it or draw it anew."
            yield Finding(kind="mark-outside-still", station=station.number, severity="warning", about=about, surface=mark.surface)
        elif outside(mark, still):
            about = f"{who}: the mark {mark.id} reaches beyond the border of still {mark.still}. Draw it inside."
            yield Finding(kind="mark-outside-still", station=station.number, severity="warning", about=about, surface=mark.surface)


def outside(mark: Mark, still: Still) -> bool:
    """Whether a point of the mark lies beyond the still's border, by plain bounds."""
    points = [point for ring in mark.rings or () for point in ring] + list(mark.line or ())
    return any(not (-SLACK_PX <= x <= still.width + SLACK_PX and -SLACK_PX <= y <= still.height + SLACK_PX) for x, y in points)


def _handover(station: Station, following: Station | None, who: str) -> Iterator[Finding]:
    if following is None:
        return
    starts = {s.name.casefold() for s in following.surfaces if s.role == "start"}
    for surface in station.surfaces:
        if surface.role == "finish" and surface.overshoot is None and surface.name.casefold() in starts:
            about = f"{who}: the {surface.name} is also the next start, but it is not said whether one may go past it."
            yield Finding(
                kind="no-overshoot", station=station.number, severity="note", about=about, surface=surface.id, said=surface.said[:1]
            )
