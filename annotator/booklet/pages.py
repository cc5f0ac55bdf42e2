"""One rendering of a course's rules into words and stills. Every output lays out what this makes; none rewords it.

In: a course, its stations and, for a published one, the edition. Out: a `Booklet`. The lines of words are lines.py, the stills stills.py;
how it looks is site.py, paper.py, epub.py and slip.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.booklet.divided import divided_at, divided_everywhere, divisions_of
from annotator.booklet.keeping import program, stage_name
from annotator.booklet.lines import Teller
from annotator.booklet.phrases import plain
from annotator.booklet.stills import still_page
from annotator.booklet.values import Booklet, Edition, Heard, Section, Stamp, StationPage
from annotator.booklet.wording import Wording
from annotator.course import Course, Station
from annotator.errors import NotReady
from annotator.recent import Recent


def pages(
    course: Course,
    stations: Sequence[Station],
    edition: Edition | None = None,
    *,
    wording: Wording | None = None,
    drawn: Path | None = None,
) -> Booklet:
    """The booklet of a course.

    Parameters
    ----------
    course, stations : Course, sequence of Station
        Stations in the order of `course.order`; the edition's revisions where there is an edition.
    edition : Edition, optional
        With `number`, `code` and `at`. None tells a draft: every line that nobody agreed to is marked, what was not said shows as a gap,
        and `stamp_line` reads "Draft, not an edition". In an edition only accepted surfaces, marks, stills and blanket rules are told.
    wording : Wording, optional
        The language; English.
    drawn : Path, optional
        A folder in which overlays are kept, so that a mark is drawn once and not once an output.

    Raises
    ------
    NotReady
        An edition with a station that nobody accepted: its name and limbs are not agreed.

    Examples
    --------
    >>> draft = pages(Course(name="c", title="Spring course"), [Station(id="s1", number=1, start=0, end=9)])
    >>> draft.stamp_line, [rule.text for rule in draft.stations[0].rules()]
    ('Draft, not an edition', ['Hands or feet: not said', 'Not said.', 'Nothing named.', 'Not said.'])
    """
    told = wording or Wording()
    key = _key(course, told, drafts=edition is None)
    teller = Teller.of(course, told, drafts=edition is None)
    if edition is not None:
        open_ones = [f"Station {station.number} is not accepted." for station in stations if station.state == "draft"]
        if open_ones:
            raise NotReady(course.title, open_ones)
    return Booklet(
        name=course.name,
        title=course.title,
        stamp=None if edition is None else Stamp(edition.number, edition.code, edition.at),
        stamp_line=stamp_line(edition, told),
        default_rule=told.say("default-rule"),
        caution=told.say("caution"),
        sections=(teller.format(course, len(stations)), *teller.blanket(course), *teller.divisions(course, stations)),
        stations=tuple(_told_lately(teller, course, station, drawn, key) for station in stations),
        wording=told,
        spoken=course.language,
        division_names={name: teller.named(name).capital() for name in course.divisions},
        divisions=divisions_of(course, stations),
        divided=divided_everywhere(teller, course),
        key=key,
    )


_stations: Recent[StationPage] = Recent(400)
"""A large course in all languages; a page holds what was asked of it so far."""
_NOT_TOLD = {"state", "order", "drafted", "dismissed", "settled", "last_station", "last_surface"}
"""What no page shows and an edition may change: how far the work on the course is; the order, which the stations' numbers tell."""


def _key(course: Course, told: Wording, *, drafts: bool) -> str:
    return stage_name(program(), course.model_dump_json(exclude=_NOT_TOLD), told.language, told.fingerprint, drafts)


def stamp_line(edition: Edition | None, wording: Wording) -> str:
    """What every page carries: which edition it is, or that it is none."""
    if edition is None:
        return wording.say("draft")
    return wording.say("edition", number=edition.number, code=edition.code, date=wording.date(edition.at.date()))


def _told_lately(teller: Teller, course: Course, station: Station, drawn: Path | None, course_key: str) -> StationPage:
    """A station's page, the same one as long as nothing changes that it tells."""
    key = stage_name(course_key, station.model_dump_json())
    return _stations.get(f"{key} {drawn}", lambda: _station(teller, course, station, drawn, key))


def _station(teller: Teller, course: Course, station: Station, drawn: Path | None, key: str) -> StationPage:
    say = teller.wording.say
    called = teller.named(station.name).capital() if station.name and station.name.strip() else plain(say("no-name"))
    name = str(called)
    entitled = teller.wording.phrase("station-named", number=station.number, name=called)
    title = str(entitled)
    sections = teller.station(course, station)
    stills = (still for still in station.stills if teller.drafts or still.state == "accepted")
    return StationPage(
        id=station.id,
        number=station.number,
        name=name,
        name_spans=called.marked,
        title=title,
        title_spans=entitled.marked,
        limbs=teller.limbs(station),
        stills=tuple(still_page(teller, course, station, still, title, drawn) for still in stills),
        sections=sections,
        heard=_all_heard(teller, station, sections),
        divided=divided_at(teller, course, station),
        key=key,
    )


def _all_heard(teller: Teller, station: Station, sections: Sequence[Section]) -> tuple[Heard, ...]:
    """The station's words in the order in which they were said. Those of blanket rules stand on the course page."""
    found = {*teller.heard(station.said)}
    found |= {heard for section in sections if section.key != "everywhere" for rule in section.rules for heard in rule.heard}
    return tuple(sorted(found, key=lambda one: (one.time_s, one.text)))
