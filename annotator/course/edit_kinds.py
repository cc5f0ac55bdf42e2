"""The edits that a person makes to a course, on the staff pages or in a decisions file: one small model each, told apart by `do`.

    {"do": "accept", "station": 3}
    {"do": "change-surface", "station": 3, "surface": "blue platform", "set": {"ruling": "out"}}

A station is named by its number as it stands. A surface is named by its id or by its name; `part` is needed only where two surfaces
share a name. What each edit does is edits.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from annotator.course.base import Contact, Demonstration, Ident, Model, Overshoot, Role, Ruling, Seconds
from annotator.course.document import Box, Language, Still
from annotator.course.findings import FindingKind
from annotator.course.marks import Mark
from annotator.errors import InvalidEdit

Number = Annotated[int, Field(ge=1)]
Text = Annotated[str, Field(min_length=1, max_length=200, pattern=r"\S")]


class SurfaceFields(Model):
    """What may be set of a surface; a field that is not given stays as it is (or as it is by default)."""

    name: Text | None = None
    part: Text | None = None
    role: Role = "route"
    ruling: Ruling = "in"
    contact: Contact | None = None
    overshoot: Overshoot | None = None
    divisions: dict[Text, Ruling] | None = None
    optional: bool = False


class BlanketFields(Model):
    """What may be set of a blanket rule."""

    rule: Literal["unnamed-out", "no-skip", "surface"] = "surface"
    surface: Text | None = None
    part: Text | None = None
    ruling: Ruling | None = None
    contact: Contact | None = None
    divisions: dict[Text, Ruling] | None = None


class AcceptName(Model):
    """Take a name for what was heard, everywhere."""

    do: Literal["accept-name"]
    heard: Text
    name: Text | None = None


class DeclineName(Model):
    """Leave what was heard as it is."""

    do: Literal["decline-name"]
    heard: Text
    name: Text | None = None


class Accept(Model):
    """Accept all of a station: its sheet, surfaces, stills and marks."""

    do: Literal["accept"]
    station: Number


class AcceptItem(Model):
    """Accept one surface, still or mark of a station, by its id; or one blanket rule, with no station."""

    do: Literal["accept-item"]
    station: Number | None = None
    id: Text


class AcceptCourse(Model):
    """Accept what holds for the whole course: blanket rules and format."""

    do: Literal["accept-course"]


class RenameCourse(Model):
    """Give the course another title; its short name stays."""

    do: Literal["rename-course"]
    title: Annotated[str, Field(min_length=1, max_length=120, pattern=r"\S")]


class SetFormat(Model):
    """Say how a run is counted; what is not given stays."""

    do: Literal["set-format"]
    retries: Annotated[int, Field(ge=0, le=99)] | None = None
    ranking: Text | None = None


class Translate(Model):
    """Say what a name of the course (of a surface, part, station, division or ranking) is called in a language; null takes it back."""

    do: Literal["translate"]
    said: Text
    language: Language
    translation: Text | None


class AddBlanket(Model):
    """Add a rule that holds at every station."""

    do: Literal["add-blanket"]
    rule: BlanketFields
    id: Ident | None = None
    """An id of the page's own making, beginning with "b-": what is changed in the rule before the server answers finds it by this."""


class ChangeBlanket(Model):
    """Change a blanket rule, named by its id or by its surface (or its kind, "unnamed-out")."""

    do: Literal["change-blanket"]
    blanket: Text
    part: Text | None = None
    set: BlanketFields


class RemoveBlanket(Model):
    """Take a blanket rule out, with the marks that are tied to it."""

    do: Literal["remove-blanket"]
    blanket: Text
    part: Text | None = None


class RenameStation(Model):
    """Give a station another name, or none."""

    do: Literal["rename-station"]
    station: Number
    name: Text | None


class SetLimbs(Model):
    """Say which limbs may touch at a station; null where nothing was said."""

    do: Literal["set-limbs"]
    station: Number
    limbs: Contact | None


class SetSpan(Model):
    """Say from when to when the walk is at a station, in seconds of the walk."""

    do: Literal["set-span"]
    station: Number
    start: Seconds
    end: Seconds


class SetDemonstration(Model):
    """Say how the demonstration at a station ended; null where there was none."""

    do: Literal["set-demonstration"]
    station: Number
    demonstration: Demonstration | None


class AddSurface(Model):
    """Add a surface that the draft does not have."""

    do: Literal["add-surface"]
    station: Number
    surface: SurfaceFields
    id: Ident | None = None
    """An id of the page's own making: what is drawn for the surface before the server answers finds it by this."""


class ChangeSurface(Model):
    """Change what holds for a surface; only the fields in `set`."""

    do: Literal["change-surface"]
    station: Number
    surface: Text
    part: Text | None = None
    set: SurfaceFields


class RemoveSurface(Model):
    """Take a surface out, with its marks."""

    do: Literal["remove-surface"]
    station: Number
    surface: Text
    part: Text | None = None


class PutMark(Model):
    """Add a mark, or put it in place of the one with its id; a person drew or agreed to it."""

    do: Literal["put-mark"]
    station: Number
    mark: Mark


class RemoveMark(Model):
    """Take a mark off its still."""

    do: Literal["remove-mark"]
    station: Number
    id: Text


class PutStill(Model):
    """Add a still, or put it in place of the one with its id; a person chose it."""

    do: Literal["put-still"]
    station: Number
    still: Still


class RemoveStill(Model):
    """Take a still out, with its marks."""

    do: Literal["remove-still"]
    station: Number
    id: Text


class SetAlt(Model):
    """Write the words for those who cannot see a still, in one language; null has them made from its marks again."""

    do: Literal["set-alt"]
    station: Number
    still: Ident
    language: Language
    text: Annotated[str, Field(min_length=1, max_length=1000, pattern=r"\S")] | None


class SetFaces(Model):
    """Say which boxes are the faces on a still, all of them: a person looked. Without `faces`, those that were found are right."""

    do: Literal["set-faces"]
    station: Number
    still: Ident
    faces: Annotated[tuple[Box, ...], Field(max_length=500)] | None = None


class ShowFaces(Model):
    """Publish a still with the faces as they are, and say why that may be."""

    do: Literal["show-faces"]
    station: Number
    still: Ident
    because: Text


class BlurFaces(Model):
    """Blur the faces on a still again."""

    do: Literal["blur-faces"]
    station: Number
    still: Ident


class Dismiss(Model):
    """Put a finding aside, with the reason; of a station, or of the course as a whole (null)."""

    do: Literal["dismiss"]
    station: Number | None
    kind: FindingKind
    surface: Text | None = None
    because: Text


class Sign(Model):
    """Sign a station as the second person; all of them where the station is null."""

    do: Literal["sign"]
    station: Number | None = None


class SplitStation(Model):
    """Make two stations of one, at a time of the walk: what was said, and seen, from then on belongs to the second."""

    do: Literal["split-station"]
    station: Number
    at: Seconds
    name: Text | None = None


class MergeStations(Model):
    """Make one station of this one and another, the next where none is named; it keeps this one's place and name."""

    do: Literal["merge-stations"]
    station: Number
    other: Number | None = None


class RetellStation(Model):
    """Take what another station says in place of what this one says; it keeps its place, name, stills, and marks of the same things."""

    do: Literal["retell-station"]
    station: Number
    other: Number


class MoveStation(Model):
    """Give a station another place in the order."""

    do: Literal["move-station"]
    station: Number
    to: Number


class AddStation(Model):
    """Add a station that the draft does not have, at a place in the order (at the end where none is given)."""

    do: Literal["add-station"]
    number: Number | None = None
    name: Text | None = None
    start: Seconds
    end: Seconds


class RemoveStation(Model):
    """Take a station out of the course; its document is kept in the library's history."""

    do: Literal["remove-station"]
    station: Number


OfNames = AcceptName | DeclineName
OfCourse = AcceptCourse | RenameCourse | SetFormat | Translate
OfBlanket = AddBlanket | ChangeBlanket | RemoveBlanket
OfOrder = SplitStation | MergeStations | RetellStation | MoveStation | AddStation | RemoveStation
OfSurface = AddSurface | ChangeSurface | RemoveSurface
OfFaces = SetFaces | ShowFaces | BlurFaces
OfPicture = PutMark | RemoveMark | PutStill | RemoveStill | SetAlt
OfHead = RenameStation | SetLimbs | SetSpan | SetDemonstration
OfState = Accept | AcceptItem | Dismiss | Sign

Edit = Annotated[
    OfNames | OfCourse | OfBlanket | OfOrder | OfSurface | OfPicture | OfFaces | OfHead | OfState,
    Field(discriminator="do"),
]

_EDIT: TypeAdapter[Edit] = TypeAdapter(Edit)


def read_edit(data: Mapping[str, Any]) -> Edit:
    """One edit from plain data; `InvalidEdit` says which field is wrong and why, or which edits there are.

    >>> read_edit({"do": "rename-station", "station": 3, "name": "ring row"}).name
    'ring row'
    """
    try:
        return _EDIT.validate_python(dict(data))
    except ValidationError as exc:
        what = str(data.get("do", "an edit without “do”"))
        reasons = []
        for error in exc.errors(include_url=False, include_input=False):
            where = ".".join(str(part) for part in error["loc"] if part != what)
            reasons.append(f"{where}: {error['msg']}" if where else error["msg"])
        raise InvalidEdit(what, "; ".join(reasons) + ".") from exc
