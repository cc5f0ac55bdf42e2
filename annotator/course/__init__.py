"""The course document: models of words, sheets, stations, marks and findings. Pure data; imports nothing of ours but errors and units."""

from annotator.course.base import (
    LIMBS,
    Contact,
    Demonstration,
    Limb,
    Model,
    Overshoot,
    Role,
    Ruling,
    Said,
    State,
    Word,
)
from annotator.course.borders import tells_of, with_clip
from annotator.course.document import (
    Box,
    Clip,
    Course,
    CourseState,
    Dismissal,
    FacesShown,
    HeardName,
    Settled,
    Station,
    StationState,
    Still,
    Surface,
    TranslatedCaptions,
    TranslatedName,
)
from annotator.course.edit_kinds import Edit, read_edit
from annotator.course.edits import apply
from annotator.course.faces import faces_to_look_at
from annotator.course.find import key as name_key
from annotator.course.findings import Finding, FindingKind, Severity
from annotator.course.marks import Mark, Point, Ring
from annotator.course.merge import merge_draft
from annotator.course.order import settle
from annotator.course.places import agreed, contents, differing, stations_of, taken_back
from annotator.course.sheet import BlanketRule, RunFormat, Sheet, SheetStation, SheetSurface
from annotator.course.translations import named_in

__all__ = [
    "LIMBS",
    "BlanketRule",
    "Box",
    "Clip",
    "Contact",
    "Course",
    "CourseState",
    "Demonstration",
    "Dismissal",
    "Edit",
    "FacesShown",
    "Finding",
    "FindingKind",
    "HeardName",
    "Limb",
    "Mark",
    "Model",
    "Overshoot",
    "Point",
    "Ring",
    "Role",
    "Ruling",
    "RunFormat",
    "Said",
    "Settled",
    "Severity",
    "Sheet",
    "SheetStation",
    "SheetSurface",
    "State",
    "Station",
    "StationState",
    "Still",
    "Surface",
    "TranslatedCaptions",
    "TranslatedName",
    "Word",
    "agreed",
    "apply",
    "contents",
    "differing",
    "faces_to_look_at",
    "merge_draft",
    "name_key",
    "named_in",
    "read_edit",
    "settle",
    "stations_of",
    "taken_back",
    "tells_of",
    "with_clip",
]
