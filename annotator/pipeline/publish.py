"""Publish a course: refuse while something blocks it, freeze a numbered edition, write every output of it into the library."""

from __future__ import annotations

from pathlib import Path

from annotator.booklet import LANGUAGES
from annotator.course import Finding
from annotator.errors import NotFound, NotReady
from annotator.library import Edition, Library
from annotator.pipeline.changes import findings
from annotator.pipeline.draft import course_words
from annotator.pipeline.outputs import own_language, write_outputs
from annotator.pipeline.pictures import prune_kept
from annotator.pipeline.saving import change
from annotator.pipeline.steps import Watcher


def blocking(found: tuple[Finding, ...]) -> tuple[str, ...]:
    """The findings that keep a course from being published, each as a sentence for a person."""
    return tuple(finding.about for finding in found if finding.severity == "blocks")


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
    prune_kept(library)
    change(library, name, who, lambda course, stations: (course.model_copy(update={"state": "published"}), stations))
    return edition


def _write_outputs(library: Library, name: str, edition: Edition, address: str | None, progress: Watcher | None) -> None:
    if address is None and has_outputs(library, name, edition.number):
        return  # with an address they are written again: their QR codes are to lead there
    there = {"slip": edition.number > 1, "captions": bool(course_words(library, edition.course.doc)), "wall": address is not None}
    with library.outputs_writer(name, edition.number) as folder:
        places = {kind: folder / place for kind, place in PLACE.items() if there.get(kind, True)}
        others = [language for language in LANGUAGES if language != own_language(edition.course.doc)]
        also = {language: {kind: folder / language / PLACE[kind] for kind in IN_EVERY_LANGUAGE} for language in others}
        write_outputs(library, name, places, also=also, edition=edition.number, address=address, linked=True, progress=progress)


PLACE = {
    "booklet": "booklet",
    "single": "booklet.html",
    "cards": "judge-cards.pdf",
    "wall": "wall-sheet.pdf",
    "print": "booklet.pdf",
    "epub": "booklet.epub",
    "captions": "captions",
    "slip": "change-slip",
}


IN_EVERY_LANGUAGE = ("cards", "print", "epub")
"""What is a file of its own in each language, in a folder of the language's code; the phone booklet holds all of them itself."""


def has_outputs(library: Library, name: str, number: int) -> bool:
    """Whether an edition's folder of outputs is there and whole (it is renamed into place when it is)."""
    try:
        folder = library.outputs(name, number)
    except NotFound:
        return False
    return Path(folder).is_dir()
