"""What people decide about the faces on a still: which boxes are its faces, and whether it may be published without blurring. Pure.

The program finds faces; a person looks and says which are there. Only `show_faces`, with who and why, lifts the blurring: putting a still
never does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.course import edit_kinds as kinds
from annotator.course.document import Box, FacesShown, Station, Still
from annotator.course.find import label
from annotator.course.findings import Finding
from annotator.errors import InvalidEdit
from annotator.units import clock

LEAST_SIDE_PX = 1.0


def change_faces(station: Station, edit: kinds.OfFaces, who: str) -> Station:
    """The station after an edit of one still's faces.

    Raises
    ------
    InvalidEdit
        There is no such still, a box has no area inside the picture, or nothing was found yet that could be confirmed.
    """
    still = next((one for one in station.stills if one.id == edit.still), None)
    if still is None:
        there = ", ".join(one.id for one in station.stills) or "none"
        raise InvalidEdit(edit.do, f"station {station.number} has no still {edit.still!r}. There is: {there}.")
    match edit:
        case kinds.SetFaces():
            update: dict[str, object] = {"faces": _boxes(still, edit), "faces_by": who}
        case kinds.ShowFaces():
            update = {"faces_shown": FacesShown(by=who, because=" ".join(edit.because.split()))}
        case kinds.BlurFaces():
            update = {"faces_shown": None}
    return station.model_copy(update={"stills": tuple(one.model_copy(update=update) if one is still else one for one in station.stills)})


def with_known_faces(new: Still, stills: Sequence[Still]) -> Still:
    """A still that is put, with what was decided about its faces: what was said of this very picture, or nothing."""
    old = next((one for one in stills if (one.id, one.file) == (new.id, new.file)), None)
    if old is None:
        return new.model_copy(update={"faces_by": None, "faces_shown": None})
    return new.model_copy(update={"faces": old.faces, "faces_by": old.faces_by, "faces_shown": old.faces_shown})


def faces_to_look_at(station: Station) -> Iterator[Finding]:
    """A finding where nobody confirmed the faces of some of a station's stills."""
    unseen = [still for still in station.stills if still.faces_by is None and still.faces_shown is None]
    if not unseen:
        return
    # A still is told by its moment; its id, which decisions files use, keeps the number that the station had when it was picked.
    found = [f"the still at {clock(still.time_s)} ({still.id}, {len(still.faces or ()) or 'none'} found)" for still in unseen]
    on = " and ".join(filter(None, (", ".join(found[:-1]), found[-1])))
    about = (
        f"Station {label(station)}: nobody has looked at the faces on {on}. What the program found is blurred, but it "
        "misses some, and it could not be tried on children. Look at each still, add or take out boxes, and confirm."
    )
    yield Finding(kind="faces-not-looked-at", station=station.number, severity="warning", about=about)


def _boxes(still: Still, edit: kinds.SetFaces) -> tuple[Box, ...]:
    if edit.faces is None:
        if still.faces is None:
            raise InvalidEdit(edit.do, f"nothing was looked for on the still {still.id!r} yet; give the boxes.")
        return still.faces
    boxes = []
    for x0, y0, x1, y1 in edit.faces:
        left, right = max(0.0, min(x0, x1)), min(float(still.width), max(x0, x1))
        top, bottom = max(0.0, min(y0, y1)), min(float(still.height), max(y0, y1))
        if right - left < LEAST_SIDE_PX or bottom - top < LEAST_SIDE_PX:
            where = f"{x0:g}, {y0:g}, {x1:g}, {y1:g}"
            raise InvalidEdit(
                edit.do,
                f"the box {where} covers nothing of the still {still.id!r}, which is {still.width} x {still.height} pixels; "
                "draw it around the face, or leave it out.",
            )
        boxes.append((left, top, right, bottom))
    return tuple(dict.fromkeys(boxes))
