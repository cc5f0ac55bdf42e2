"""From the library's documents to the views of courses, stations, editions and jobs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from urllib.parse import quote

from annotator import pipeline
from annotator.course import Course, Finding, Station
from annotator.library import Edition, Library, Revised, same_for_readers
from annotator.server.config import Desk
from annotator.server.jobs import Job
from annotator.server.views import CourseRow, CourseStanding, CourseView, EditionView, JobView, OutputView, PlateView, StationView


def job_view(desk: Desk, job: Job) -> JobView:
    """A job for a page."""
    shown = {name: getattr(job, name) for name in JobView.model_fields if name != "stopping"}
    return JobView(stopping=desk.jobs.stopping(job), **shown)


def _job_of(desk: Desk, course: str) -> JobView | None:
    job = desk.jobs.of(course)
    return None if job is None else job_view(desk, job)


def is_open(finding: Finding) -> bool:
    """Whether a finding wants a look. That a station is not accepted yet is said by its standing."""
    return finding.severity != "note" and finding.kind != "not-accepted"


def plates(stations: Sequence[Revised[Station]], findings: Sequence[Finding]) -> list[PlateView]:
    """The row of plates, each with how many findings of its station want a look."""
    return [
        PlateView(
            id=at.doc.id,
            number=at.doc.number,
            name=at.doc.name,
            standing=at.doc.standing(),
            findings=sum(finding.station == at.doc.number and is_open(finding) for finding in findings),
        )
        for at in stations
    ]


def length_s(course: Course) -> float:
    """How long the walk is."""
    return sum(clip.duration_s for clip in course.clips)


def course_row(desk: Desk, name: str) -> CourseRow:
    """A course for the list of courses."""
    course, stations = desk.library.whole(name)
    findings = pipeline.findings(desk.library, name)
    editions = desk.library.editions(name)
    shown = next(((at.doc, still) for at in stations for still in at.doc.stills), None)
    return CourseRow(
        name=name,
        title=course.doc.title,
        standing=_standing(course.doc, stations, findings, _unpublished(editions, course.doc, stations)),
        length_s=length_s(course.doc),
        plates=plates(stations, findings),
        edition=editions[-1].number if editions else None,
        picture=None if shown is None else f"/api/courses/{quote(name)}/stations/{quote(shown[0].id)}/stills/{quote(shown[1].id)}/picture",
        job=_job_of(desk, name),
    )


def course_view(desk: Desk, name: str) -> CourseView:
    """A course for its page."""
    course, stations = desk.library.whole(name)
    findings = pipeline.findings(desk.library, name)
    editions = desk.library.editions(name)
    unpublished = _unpublished(editions, course.doc, stations)
    return CourseView(
        course=course.doc,
        revision=course.revision,
        who=course.who,
        at=course.at,
        length_s=length_s(course.doc),
        plates=plates(stations, findings),
        findings=list(findings),
        editions=edition_views(desk.library, name, editions),
        languages=list(pipeline.languages_of(course.doc)),
        unpublished=unpublished,
        standing=_standing(course.doc, stations, findings, unpublished),
        job=_job_of(desk, name),
    )


def _unpublished(editions: Sequence[Edition], course: Course, stations: Sequence[Revised[Station]]) -> bool:
    """Whether publishing now would give another edition."""
    return not editions or not same_for_readers(editions[-1], course, [at.doc for at in stations])


def _standing(course: Course, stations: Sequence[Revised[Station]], findings: Sequence[Finding], unpublished: bool) -> CourseStanding:
    if course.state == "taken in":
        return "taken in"
    if not unpublished:
        return "published"
    return "ready" if stations and not pipeline.blocking(tuple(findings)) else "drafted"


def station_view(at: Revised[Station]) -> StationView:
    """A station for its page."""
    return StationView(station=at.doc, revision=at.revision, who=at.who, at=at.at, standing=at.doc.standing())


def edition_views(library: Library, name: str, editions: Sequence[Edition]) -> list[EditionView]:
    """Editions with what lies in their folders of outputs: the booklet is one output, so is each file that a person opens.

    The newest booklet's address is the one without a number: who was sent there is told when there is a newer one.
    """
    whole = [edition.number for edition in editions if pipeline.has_outputs(library, name, edition.number)]
    newest = max(whole, default=None)
    return [_edition_view(library, name, edition, newest=edition.number == newest) for edition in editions]


def _edition_view(library: Library, name: str, edition: Edition, *, newest: bool) -> EditionView:
    outputs = []
    if pipeline.has_outputs(library, name, edition.number):
        folder = library.outputs(name, edition.number)
        here = f"/editions/{quote(name)}/{edition.number}/"
        for place in sorted(folder.iterdir()):
            if place.is_file():
                outputs.append(OutputView(kind=place.name, address=here + quote(place.name), size_bytes=place.stat().st_size))
            elif place.name == "booklet":
                place_of = f"/booklet/{quote(name)}/" if newest else f"/booklet/{quote(name)}/{edition.number}/"
                outputs.append(OutputView(kind="booklet", address=place_of, size_bytes=None))
            else:
                outputs += [
                    OutputView(
                        kind=f"{place.name}/{file.name}", address=here + quote(f"{place.name}/{file.name}"), size_bytes=file.stat().st_size
                    )
                    for file in _to_open(place)
                ]
    films = pipeline.films_folder(library, name, edition.number)
    if films.is_dir():
        there = f"/films/{quote(name)}/{edition.number}/"
        pages = (("films", "index.html", ""), ("films/reading.html", "reading.html", "reading.html"))
        outputs += [OutputView(kind=kind, address=there + at, size_bytes=None) for kind, page, at in pages if (films / page).is_file()]
        outputs += [
            OutputView(kind=f"films/{film.name}", address=there + quote(film.name), size_bytes=film.stat().st_size)
            for film in sorted(films.glob("*.mp4"))
        ]
    return EditionView(number=edition.number, code=edition.code, who=edition.who, at=edition.at, outputs=outputs)


def _to_open(folder: Path) -> list[Path]:
    """The files of a folder that a person opens: beside a page, its style, script and fonts are none."""
    files = [file for file in sorted(folder.iterdir()) if file.is_file()]
    if any(file.suffix == ".html" for file in files):
        return [file for file in files if file.suffix in (".html", ".pdf")]
    return files
