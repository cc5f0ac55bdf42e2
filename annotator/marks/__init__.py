"""Marks on stills: outlines, the zones and rulings that follow from them, drawing, and what vision proposes."""

from annotator.marks.items import RuleItem, rule_items
from annotator.marks.outlines import area
from annotator.marks.read import FileMark, FileStill, MarksFile, Tied, read_marks, tie_marks
from annotator.marks.zones import Marked, PointRuling, PointVerdict, Zones, ruling_along, ruling_at, zones

__all__ = [
    "FileMark",
    "FileStill",
    "Marked",
    "MarksFile",
    "PointRuling",
    "PointVerdict",
    "RuleItem",
    "Tied",
    "Zones",
    "area",
    "read_marks",
    "rule_items",
    "ruling_along",
    "ruling_at",
    "tie_marks",
    "zones",
]
