"""Lay a station's zones over a judge's own clip of an attempt, where the match is certain."""

from __future__ import annotations

from pathlib import Path

from annotator.captions import write_replay
from annotator.errors import InputError, NotFound
from annotator.library import Library
from annotator.media import read_picture
from annotator.pipeline.changes import documents
from annotator.pipeline.places import file_place
from annotator.pipeline.steps import Steps, Watcher


def replay(
    library: Library, name: str, station: int, clip: Path, out: Path, *, edition: int | None = None, progress: Watcher | None = None
) -> str:
    """Write the marked clip to `out` and say in a sentence how much of it could be matched.

    Raises
    ------
    NotFound
        No such station.
    InputError
        The station has no marked still, or no frame of the clip matches one: nothing is written then.
    """
    course, stations = documents(library, name, edition)
    here = next((each for each in stations if each.number == station), None)
    if here is None:
        raise NotFound("station", str(station), [str(each.number) for each in stations])
    marked = {mark.still for mark in here.marks}
    pictures = {still.id: read_picture(library.files.path(still.file)) for still in here.stills if still.id in marked}
    if not pictures:
        raise InputError(f"Station {station} has no marks yet, so there are no zones to lay over a clip.")
    file_place(out)
    steps = Steps([("matching the clip", 1.0)], progress)
    return write_replay(course, here, pictures, clip, out, progress=steps.within("matching the clip"))
