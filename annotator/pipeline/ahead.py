"""What publishing will want, made before anybody waits for it: pictures in every size and, of a course that can be published, its pages.

Pages, cards and e-book pages are kept by content, without the edition's number (annotator/booklet/keeping.py), which publishing puts in.
So the outputs of the state as it is are written as the next edition would have them, and thrown away; what was kept on the way stays.
"""

from __future__ import annotations

from datetime import UTC, datetime

from annotator.booklet import LANGUAGES
from annotator.errors import AnnotatorError, Stopped
from annotator.library import Edition, Library, short_code
from annotator.pipeline.changes import findings
from annotator.pipeline.outputs import own_language, write_as_edition
from annotator.pipeline.pictures import make_sizes, prune_kept
from annotator.pipeline.publish import IN_EVERY_LANGUAGE, PLACE, blocking
from annotator.pipeline.steps import Watcher

ROUNDS = 3
"""Somebody who goes on editing asks for it again anyway."""
KEPT_BY_CONTENT = ("booklet", "cards", "epub")
"""The outputs of which the parts are kept from edition to edition."""


def make_ahead(library: Library, name: str, progress: Watcher | None = None) -> None:
    """Make what the next edition of a course needs, as far as it can be made now; over again where the course is changed meanwhile.

    Nothing is refused: what is not ready yet, or cannot be made, is publishing's to tell. `Stopped` ends it, with what was made kept.
    """
    make_sizes(library, name, progress)
    prune_kept(library)
    before = None
    for _ in range(ROUNDS):
        now = library.revisions(name)
        if now == before:
            return
        before = now
        try:
            _make_pages(library, name, progress)
        except Stopped:
            raise
        except (AnnotatorError, OSError):
            return


def _make_pages(library: Library, name: str, progress: Watcher | None) -> None:
    course, stations = library.whole(name)
    if not stations or blocking(findings(library, name)):
        return
    number = 1 + max((edition.number for edition in library.editions(name)), default=0)
    code = short_code(course.doc, [at.doc for at in stations])
    edition = Edition(number, code, course.who, datetime.now(UTC), course, stations)
    with library.unfinished() as folder:
        places = {kind: folder / PLACE[kind] for kind in KEPT_BY_CONTENT}
        kinds = [kind for kind in KEPT_BY_CONTENT if kind in IN_EVERY_LANGUAGE]
        others = [language for language in LANGUAGES if language != own_language(course.doc)]
        also = {language: {kind: folder / language / PLACE[kind] for kind in kinds} for language in others}
        write_as_edition(library, edition, places, also, progress)
