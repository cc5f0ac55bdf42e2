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
from annotator.course.document import (
    Clip,
    Course,
    CourseState,
    Dismissal,
    HeardName,
    Station,
    StationState,
    Still,
    Surface,
)
from annotator.course.findings import Finding, FindingKind, Severity
from annotator.course.marks import Mark, Point, Ring
from annotator.course.sheet import BlanketRule, RunFormat, Sheet, SheetStation, SheetSurface

__all__ = [
    "LIMBS",
    "BlanketRule",
    "Clip",
    "Contact",
    "Course",
    "CourseState",
    "Demonstration",
    "Dismissal",
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
    "Severity",
    "Sheet",
    "SheetStation",
    "SheetSurface",
    "State",
    "Station",
    "StationState",
    "Still",
    "Surface",
    "Word",
]
