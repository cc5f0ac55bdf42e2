"""Marks that a machine carries: from one still to the others of its station, as drafts, and beside the stills through a clip.

What was carried is kept by what it was carried from and to, so that it is computed once.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from annotator.captions import Post, carry_beside_stills, certain_carry, stretch_of
from annotator.course import Clip, Course, Mark, Station, Still
from annotator.errors import InputError, NotFound
from annotator.library import Library, stage_key
from annotator.marks import Carried, carry, clipped
from annotator.media import probe, read_picture
from annotator.pipeline.changes import free_mark_number
from annotator.pipeline.originals import original
from annotator.pipeline.saving import Documents, change
from annotator.pipeline.steps import Steps, Watcher
from annotator.units import Progress

CARRYING_VERSION = "8"


@dataclass(frozen=True)
class CarriedOver:
    """What became of carrying a still's marks to one other still.

    `put` are the new drafts; `withheld` the marks whose place there is not certain (of the still they lie on), `there_already` those whose
    surface is marked on the other still, which is left as it is.
    """

    still: str
    put: tuple[Mark, ...]
    withheld: tuple[Mark, ...]
    there_already: tuple[Mark, ...]


def carry_over(
    library: Library, name: str, station: int, from_still: str, to_stills: Sequence[str] = (), *, who: str, progress: Watcher | None = None
) -> tuple[CarriedOver, ...]:
    """Put the marks of one still on other stills of its station, as drafts with how sure each is; all others where none is named.

    A mark whose match is not certain is left out. What somebody marked on the other still is never touched: a surface that has a mark there
    gets no second one.

    Raises
    ------
    NotFound
        No such station or still.
    InputError
        Nothing is marked on the still, or there is no other one to carry to.
    """
    results: list[CarriedOver] = []
    steps = Steps([("carrying marks", 1.0)], progress)

    def with_carried(course: Course, stations: tuple[Station, ...]) -> Documents:
        here = next((each for each in stations if each.number == station), None)
        if here is None:
            raise NotFound("station", str(station), [str(each.number) for each in stations])
        by_id = {still.id: still for still in here.stills}
        for wanted in (from_still, *to_stills):
            if wanted not in by_id:
                raise NotFound("still", wanted, list(by_id))
        marks = tuple(mark for mark in here.marks if mark.still == from_still)
        if not marks:
            raise InputError(f"Nothing is marked on the still {from_still} yet, so there is nothing to carry.")
        targets = [by_id[each] for each in to_stills or by_id if each != from_still]
        if not targets:
            raise InputError(f"Station {station} has no other still than {from_still}. Grab one first.")
        results.clear()
        number = free_mark_number(here)
        for at, target in enumerate(targets):
            found = _between_stills(library, marks, by_id[from_still], target)
            result = _put(marks, found, {mark.surface for mark in here.marks if mark.still == target.id}, target, number)
            number += len(result.put)
            results.append(result)
            steps.within("carrying marks")((at + 1) / len(targets))
        news = tuple(mark for result in results for mark in result.put)
        after = here.model_copy(update={"marks": (*here.marks, *news), "signed_by": None if news else here.signed_by})
        return course, tuple(after if each.id == here.id else each for each in stations)

    change(library, name, who, with_carried)
    return tuple(results)


def carried_to(library: Library, station: Station, from_still: str, to_still: str, marks: Sequence[str] | None = None) -> CarriedOver:
    """The marks of one still as they would lie on another one of the station, to be offered; nothing is put in.

    `marks` names some of them, all where it is None. Only what somebody would have to choose among is said: a surface that is marked on
    the other still already is told in `there_already` and not offered, unless its mark is named. Ids of what is `put` are those of the
    marks that they come from.

    Raises
    ------
    NotFound
        No such still, or no such mark on it.
    InputError
        Both are one still, or nothing is marked on the first.
    """
    by_id = {still.id: still for still in station.stills}
    for wanted in (from_still, to_still):
        if wanted not in by_id:
            raise NotFound("still", wanted, list(by_id))
    if from_still == to_still:
        raise InputError("A still's marks can be carried to another still only. Choose another one.")
    here = [mark for mark in station.marks if mark.still == from_still]
    if not here:
        raise InputError(f"Nothing is marked on the still {from_still} yet, so there is nothing to carry.")
    for named in marks or ():
        if named not in {mark.id for mark in here}:
            raise NotFound("mark", named, [mark.id for mark in here])
    chosen = [mark for mark in here if marks is None or mark.id in marks]
    found = _between_stills(library, chosen, by_id[from_still], by_id[to_still])
    taken = {mark.surface for mark in station.marks if mark.still == to_still} if marks is None else set()
    result = _put(chosen, found, taken, by_id[to_still], 1)
    kept = [mark for mark in chosen if mark not in (*result.withheld, *result.there_already)]
    named_alike = tuple(mark.model_copy(update={"id": source.id}) for source, mark in zip(kept, result.put, strict=True))
    return CarriedOver(to_still, named_alike, result.withheld, result.there_already)


def _put(marks: Sequence[Mark], found: Sequence[Carried | None], taken: set[str], target: Still, first: int) -> CarriedOver:
    put: list[Mark] = []
    withheld: list[Mark] = []
    there: list[Mark] = []
    for mark, carried in zip(marks, found, strict=True):
        if mark.surface in taken:
            there.append(mark)
            continue
        inside = None if carried is None else clipped(carried.mark, (target.width, target.height))
        if inside is None:
            withheld.append(mark)
        else:
            put.append(inside.model_copy(update={"id": f"m{first + len(put)}", "still": target.id}))
    return CarriedOver(target.id, tuple(put), tuple(withheld), tuple(there))


def _between_stills(library: Library, marks: Sequence[Mark], source: Still, target: Still) -> tuple[Carried | None, ...]:
    """The marks on the other still, from what was kept or carried now."""
    key = stage_key("carry", CARRYING_VERSION, source.file, target.file, [_shape(mark) for mark in marks])
    kept = library.done("carry", key)
    if kept is None:
        pictures = [read_picture(library.files.path(still.file)) for still in (source, target)]
        (found,) = carry(marks, pictures[0], pictures[1:])
        entries = [None if one is None else [_shape(one.mark), one.confidence, one.cycle, one.alike, one.shown] for one in found]
        kept = json.dumps(entries).encode()
        library.mark_done("carry", key, kept)
    return tuple(
        None if entry is None else Carried(_as_carried(mark, entry[0], entry[1], target.id), *entry[1:])
        for mark, entry in zip(marks, json.loads(kept), strict=True)
    )


def posts_of_clip(library: Library, station: Station, clip: Clip, *, drafts: bool, progress: Progress | None = None) -> list[Post]:
    """Where the marks of a station's stills lie through its stretch of a clip, from what was kept or carried now."""
    marked = [still for still in station.stills if any(mark.still == still.id for mark in station.marks)]
    path = original(library, clip)
    info = probe(path)
    stretch = stretch_of(station, path, clip.start_s, info.duration_s)
    marks = [mark for mark in station.marks if drafts or mark.state == "accepted"]
    parts: list[object] = [clip.original, stretch.start_s, stretch.end_s, clip.start_s]
    parts += [[still.id, still.file, still.time_s] for still in marked]
    parts += [[mark.id, mark.still, _shape(mark)] for mark in marks]
    key = stage_key("carry-clip", CARRYING_VERSION, *parts)
    kept = library.done("carry-clip", key)
    if kept is None:
        pictures = {still.id: read_picture(library.files.path(still.file)) for still in marked}
        size = (info.width, info.height)
        posts = carry_beside_stills(station, stretch, clip.start_s, size, pictures, drafts=drafts, carry=certain_carry, progress=progress)
        kept = json.dumps([[post.time_s, post.still, {mark.id: _shape(mark) for mark in post.marks}] for post in posts]).encode()
        library.mark_done("carry-clip", key, kept)
    by_id = {mark.id: mark for mark in marks}
    return [
        Post(time_s, still, tuple(_reshaped(by_id[mark], shape) for mark, shape in shapes.items()))
        for time_s, still, shapes in json.loads(kept)
    ]


def _shape(mark: Mark) -> dict[str, object]:
    return mark.model_dump(mode="json", include={"rings", "line", "width"})


def _reshaped(mark: Mark, shape: dict[str, object]) -> Mark:
    return Mark.model_validate({**mark.model_dump(mode="json"), **shape})


def _as_carried(mark: Mark, shape: dict[str, object], confidence: float, still: str) -> Mark:
    return _reshaped(mark, shape).model_copy(update={"state": "draft", "origin": "carried", "confidence": confidence, "still": still})
