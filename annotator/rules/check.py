"""Check a course as it stands now: what is missing, what contradicts, what is still a draft, what has no mark.

In: the course and its stations as people left them. Out: findings, those that block publication first within each station. Nothing here
reads words again: what the drafter heard comes along in `course.drafted`. Whether areas of marks cross is annotator/marks.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from annotator.course import BlanketRule, Course, Dismissal, Finding, FindingKind, Mark, Said, Severity, Station, Still, Surface
from annotator.rules.across import (
    about_blanket,
    about_class,
    about_kind,
    about_neighbour,
    about_ruled_twice,
    about_start_and_finish,
    against_blanket,
    against_neighbour,
    classes_against_blanket,
    kinds_against_blanket,
    limbs_known,
    named_alike,
    ruled_twice,
    same_name,
    start_and_finish,
)
from annotator.rules.again import told_before
from annotator.rules.announced import about_count, announced_in
from annotator.rules.wordings import be, called, counted, listing
from annotator.units import clock

SLACK_PX = 0.5  # a point drawn on the very border is inside
_RANK = {"blocks": 0, "warning": 1, "note": 2}
# How the drafter's sentences begin, and what they say of a station's place (annotator/rules/findings.py)
_OPENING = re.compile(r"^Station \d+(?: \(.*?\))?(?=: | is number )")
_IN_ORDER = re.compile(r" is number \d+ in order")
_SAID_NUMBER = re.compile(r"calls it number (\d+)\.")


def check(course: Course, stations: Sequence[Station], drawn: Sequence[Finding] = ()) -> tuple[Finding, ...]:
    """Every gap and contradiction of a course as things stand now.

    Parameters
    ----------
    course, stations
        The documents as they are; `stations` in any order, reported in the order of their numbers.
    drawn
        What annotator/marks found about the areas of marks; told with the rest of its station, and put aside like the rest.

    Returns
    -------
    tuple of Finding
        Those of the course as a whole first, then station by station; that it may be one with another station comes first, then what
        blocks publication. A finding that a person put aside (with a reason) is left out, except that drafts must be accepted.

    Examples
    --------
    >>> found = check(Course(name="c", title="C"), [Station(id="t1", number=1, start=0, end=9)])
    >>> [f.kind for f in found if f.severity == "blocks"]
    ['no-start', 'no-finish', 'no-contact', 'not-accepted']
    """
    ordered = sorted(stations, key=lambda s: (s.number, s.id))
    found = [f for f in _of_course(course, ordered) if not _put_aside(f, course.dismissed)]
    again = told_before(course, ordered)
    alike = dict(named_alike([(station.number, station.name) for station in ordered]))
    for before, station, following in zip([None, *ordered], ordered, [*ordered[1:], None], strict=False):  # no station, no neighbours
        told = [*_of_station(course, station, following), *_across(course, before, station)]
        told += [finding for finding in drawn if finding.station == station.number]
        if station.id in again:
            told.append(again[station.id])
        elif station.number in alike:
            told.append(_finding("name-for-two-things", station, "warning", alike[station.number]))
        mine = [f for f in told if not _put_aside(f, (*station.dismissed, *_own(course, station)))]
        found += sorted(mine, key=lambda f: (f.other is None, _RANK[f.severity]))  # what joining mends need not be mended first
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
    else:
        yield from _counted(course, len(stations))
    drafts = [rule for rule in course.blanket if rule.state == "draft"]
    named = [_rule_name(rule) for rule in drafts]
    if course.format is not None and not course.format_by_hand:
        named.append("how a run counts")
    if named:
        about = f"The rules for the whole course: {counted(len(named), 'rule')} still a draft ({listing(named)}). Accept or change them."
        yield Finding(kind="not-accepted", station=None, severity="blocks", about=about)
    for heard in course.heard:
        if heard.state == "proposed":
            when = f" (at {listing([clock(time) for time in heard.at[:3]])})" if heard.at else ""
            about = f"“{heard.heard}”{when} may be “{heard.name}” from the names list, heard wrong. Say yes or no to it."
            yield Finding(kind="name-heard-wrong", station=None, severity="warning", about=about)


def _counted(course: Course, count: int) -> Iterator[Finding]:
    """That another number of stations was announced than there are, as the stations are now."""
    for finding in course.drafted:
        if finding.station is None and finding.kind == "number-disagrees" and finding.said:
            announced = announced_in(finding.said[0].text)
            if announced is not None and (about := about_count(announced, count)) is not None:
                yield finding.model_copy(update={"about": about})


def _rule_name(rule: BlanketRule) -> str:
    if rule.rule == "unnamed-out":
        return "what is not named is out"
    what = f"{rule.part} of {rule.surface}" if rule.part else rule.surface or "?"
    return f"no skipping of {what}" if rule.rule == "no-skip" else f"{what}"


def _still_holds(finding: Finding, station: Station, following: Station | None) -> bool:
    """Whether something that the drafter noted about the words is true of the station as it stands."""
    match finding.kind:
        case "number-disagrees":
            said = _SAID_NUMBER.search(finding.about)
            return said is None or int(said[1]) != station.number  # moving the station may settle it; else a person may put it aside
        case "finish-is-not-next-start":
            return not any(s.role == "finish" and following and _starts_on(following, s) for s in station.surfaces)
        case "name-heard-wrong":
            return "name" not in station.by_hand and finding.surface is None  # else it is of a line; `_names_mended`
        case "no-start" | "no-finish":
            return _guessed_end(finding, station) is not None
    return False


def _as_numbered(about: str, station: Station) -> str:
    """A drafted sentence under the number and name that its station has now; it was written under those that it had then.

    >>> there = Station(id="t4", number=3, name="peg wall", start=0, end=9)
    >>> _as_numbered("Station 4 (pet wall) is number 4 in order, but the speaker calls it number 5.", there)
    'Station 3 (peg wall) is number 3 in order, but the speaker calls it number 5.'
    """
    about = _OPENING.sub(lambda _: called(station.number, station.name), about, count=1)
    return _IN_ORDER.sub(f" is number {station.number} in order", about, count=1)


def _guessed_end(finding: Finding, station: Station) -> Surface | None:
    """The start or finish that was drafted although nobody says it plainly, as long as no person has accepted it."""
    role = {"no-start": "start", "no-finish": "finish"}.get(finding.kind)
    guessed = (s for s in station.surfaces if s.role == role and s.state == "draft" and s.name.casefold() in finding.about.casefold())
    return next(guessed, None)


# One station


def _of_station(course: Course, station: Station, following: Station | None) -> Iterator[Finding]:
    who = called(station.number, station.name)
    yield from _gaps(course, station, who)
    yield from _clashes(course, station)
    yield from _names_mended(course, station, who)
    yield from _drafts(station, who)
    yield from _pictures(course, station, who)
    yield from _handover(station, following, who)
    for finding in course.drafted:
        if finding.station == station.number and station.state == "draft" and _still_holds(finding, station, following):
            end = _guessed_end(finding, station)
            now = {"severity": "note", "surface": end.id if end else finding.surface, "about": _as_numbered(finding.about, station)}
            yield finding.model_copy(update=now)
    if station.signed_by is None:
        yield Finding(kind="not-signed", station=station.number, severity="note", about=f"{who}: no second person has signed it yet.")


def _finding(
    kind: FindingKind, station: Station, severity: Severity, about: str, surface: str | None = None, said: Sequence[Said] = ()
) -> Finding:
    return Finding(kind=kind, station=station.number, severity=severity, about=about, surface=surface, said=tuple(said))


def _gaps(course: Course, station: Station, who: str) -> Iterator[Finding]:
    def gap(kind: FindingKind, about: str) -> Finding:
        return _finding(kind, station, "blocks", f"{who}: {about}", said=station.said[:1])

    if not any(s.role == "start" for s in station.surfaces):
        yield gap("no-start", "it is not said where the athlete starts. Add the start.")
    if not any(s.role == "finish" for s in station.surfaces):
        yield gap("no-finish", "it is not said where it ends. Add the finish.")
    if not limbs_known(station.contact, station.surfaces, course.blanket):
        yield gap("no-contact", "it is not said whether hands, feet or both may be used. Set the limbs.")


def _clashes(course: Course, station: Station) -> Iterator[Finding]:
    """Drafted contradictions that nobody has settled: by changing or removing one of the surfaces it is about."""
    for finding in course.drafted:
        if finding.kind != "contradiction" or finding.station != station.number or finding.across:
            continue
        about = [s for s in station.surfaces if _is_about(finding, s)]
        if finding.surface is not None and not any(s.id == finding.surface for s in station.surfaces):
            continue
        if any(note.what == "surface" and note.name and note.name.casefold() in finding.about.casefold() for note in station.settled):
            continue
        if not about:
            continue  # neither side stands any more
        now = {"surface": finding.surface or about[-1].id, "about": _as_numbered(finding.about, station)}
        yield finding.model_copy(update=now)


def _names_mended(course: Course, station: Station, who: str) -> Iterator[Finding]:
    """Accepted lines whose words read another spelling of their name since they were mended, as long as they have the old one."""
    old = {surface.id: f"“{surface.name}” was accepted" for surface in station.surfaces}
    for finding in course.drafted:
        mine = finding.kind == "name-heard-wrong" and finding.station == station.number and finding.surface in old
        if mine and old[finding.surface or ""] in finding.about:
            yield finding.model_copy(update={"about": f"{who}: {finding.about}"})


def _across(course: Course, before: Station | None, station: Station) -> Iterator[Finding]:
    """What does not fit the rules for the whole course, the station before, or the station's own names, as all of them stand now."""
    who = called(station.number, station.name)
    for surface, rule in against_blanket(station.surfaces, course.blanket):
        said = (*surface.said[:1], *rule.said[:1])
        yield _finding("contradiction", station, "blocks", about_blanket(who, surface, rule), surface.id, said)
    for surface, rule in kinds_against_blanket(station.surfaces, course.blanket):
        said = (*surface.said[:1], *rule.said[:1])
        yield _finding("not-as-everywhere", station, "warning", about_kind(who, surface, rule), surface.id, said)
    for surface, rule, division, ruling in classes_against_blanket(station.surfaces, course.blanket):
        said = (*surface.said[:1], *rule.said[:1])
        yield _finding("not-as-everywhere", station, "warning", about_class(who, surface, division, ruling), surface.id, said)
    for mine, yours in against_neighbour(before.surfaces, station.surfaces) if before else ():
        about = about_neighbour(who, called(before.number, before.name) if before else "", mine, yours)
        yield _finding("contradiction", station, "blocks", about, yours.id, (*mine.said[:1], *yours.said[:1]))
    for one, other in ruled_twice(station.surfaces):
        yield _finding("contradiction", station, "blocks", about_ruled_twice(who, one, other), other.id, (*one.said[:1], *other.said[:1]))
    for start, finish in start_and_finish(station.surfaces):
        about = about_start_and_finish(who, finish)
        yield _finding("name-for-two-things", station, "note", about, finish.id, (*start.said[:1], *finish.said[:1]))


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
        yield _finding("no-still", station, "warning", f"{who}: it has no still. Choose one from the walk.")
    marked = {mark.surface for mark in station.marks}
    for surface in station.surfaces:
        if surface.ruling == "in" and surface.id not in marked and station.stills:
            what = f"{surface.part} of the {surface.name}" if surface.part else surface.name
            about = f"{who}: no still has a mark for the {what} ({surface.role}), so nobody sees where that is."
            yield _finding("surface-without-mark", station, "warning", about, surface.id, surface.said[:1])
    known = {s.id for s in station.surfaces} | {rule.id for rule in course.blanket if rule.id}
    stills = {still.id: still for still in station.stills}
    for mark in station.marks:
        if mark.surface not in known:
            about = f"{who}: the mark {mark.id} on still {mark.still} belongs to no surface. Tie it to one or remove it."
            yield _finding("mark-without-surface", station, "warning", about, mark.surface)
        still = stills.get(mark.still)
        if still is None:
            about = f"{who}: the mark {mark.id} lies on a still that is not there any more ({mark.still}). Remove it or draw it anew."
            yield _finding("mark-outside-still", station, "warning", about, mark.surface)
        elif outside(mark, still):
            about = f"{who}: the mark {mark.id} reaches beyond the border of still {mark.still}. Draw it inside."
            yield _finding("mark-outside-still", station, "warning", about, mark.surface)


def outside(mark: Mark, still: Still) -> bool:
    """Whether a point of the mark lies beyond the still's border, by plain bounds."""
    points = [point for ring in mark.rings or () for point in ring] + list(mark.line or ())
    return any(not (-SLACK_PX <= x <= still.width + SLACK_PX and -SLACK_PX <= y <= still.height + SLACK_PX) for x, y in points)


def _handover(station: Station, following: Station | None, who: str) -> Iterator[Finding]:
    if following is None:
        return
    for surface in station.surfaces:
        if surface.role == "finish" and surface.overshoot is None and _starts_on(following, surface):
            about = f"{who}: the {surface.name} {be(surface.name)} also the next start, but it is not said whether one may go past it."
            yield _finding("no-overshoot", station, "note", about, surface.id, surface.said[:1])


def _starts_on(following: Station, finish: Surface) -> bool:
    return any(s.role == "start" and same_name(s.name, finish.name) for s in following.surfaces)
