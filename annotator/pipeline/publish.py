"""Publish a course: refuse while something blocks it, freeze a numbered edition, write every output of it into the library."""

from __future__ import annotations

from pathlib import Path

from annotator.course import Finding
from annotator.errors import NotFound, NotReady
from annotator.library import Edition, Library
from annotator.pipeline.changes import findings
from annotator.pipeline.outputs import write_output
from annotator.pipeline.saving import change
from annotator.pipeline.steps import Steps, Watcher

# what an edition's folder holds, with the seconds it takes a small course, for the forecast only
EDITION_OUTPUTS = (("booklet", 6.0), ("cards", 2.0), ("print", 2.0), ("epub", 1.0), ("captions", 1.0), ("slip", 1.0))


def blocking(found: tuple[Finding, ...]) -> tuple[str, ...]:
    """The findings that keep a course from being published, each as a line for a person."""
    return tuple(_line(finding) for finding in found if finding.severity == "blocks")


def _line(finding: Finding) -> str:
    where = f"station {finding.station}: " if finding.station is not None else ""
    return where + finding.about


def publish(library: Library, name: str, *, who: str, address: str | None = None, progress: Watcher | None = None) -> Edition:
    """Freeze the course as a numbered edition and write its outputs; nothing new where nothing changed since the last one.

    `address` is where the edition will be read; it goes into QR codes. An edition whose outputs were cut short by a kill gets them now.

    Raises
    ------
    NotReady
        Something still blocks it; nothing is written.
    """
    reasons = blocking(findings(library, name))
    if not library.stations(name):
        reasons = ("there is no station yet", *reasons)
    if reasons:
        raise NotReady(name, reasons)
    edition = library.freeze(name, who)
    _write_outputs(library, name, edition, address, progress)
    change(library, name, who, lambda course, stations: (course.model_copy(update={"state": "published"}), stations))
    return edition


def _write_outputs(library: Library, name: str, edition: Edition, address: str | None, progress: Watcher | None) -> None:
    if has_outputs(library, name, edition.number):
        return
    steps = Steps([(f"writing the {kind}", seconds) for kind, seconds in EDITION_OUTPUTS], progress)
    with library.outputs_writer(name, edition.number) as folder:
        for kind, _ in EDITION_OUTPUTS:
            if kind != "slip" or edition.number > 1:
                write_output(library, name, kind, folder / PLACE[kind], edition=edition.number, address=address)
            steps.done(f"writing the {kind}")


PLACE = {
    "booklet": "booklet",
    "cards": "judge-cards.pdf",
    "print": "booklet.pdf",
    "epub": "booklet.epub",
    "captions": "captions",
    "slip": "change-slip",
}


def has_outputs(library: Library, name: str, number: int) -> bool:
    """Whether an edition's folder of outputs is there and whole (it is renamed into place when it is)."""
    try:
        folder = library.outputs(name, number)
    except NotFound:
        return False
    return Path(folder).is_dir()
