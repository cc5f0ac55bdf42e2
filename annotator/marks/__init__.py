"""Marks on stills: outlines, the zones and rulings that follow from them, drawing, and what vision proposes."""

from annotator.marks.alike import alike
from annotator.marks.carry import LEAST_CONFIDENCE, Carried, carry, clipped
from annotator.marks.clashes import clashes
from annotator.marks.face_track import FaceTrack, Look
from annotator.marks.faces import blur, blur_planes, find_faces
from annotator.marks.follow import follow
from annotator.marks.items import RuleItem, rule_items
from annotator.marks.looks import PlateWords
from annotator.marks.outlines import area
from annotator.marks.overlays import Overlay, OverlayItem, overlay, overlay_items, overlay_of
from annotator.marks.paint import paint
from annotator.marks.paint_planes import paint_planes
from annotator.marks.parts import part_named, part_of
from annotator.marks.planes import Planes, Tile, planes_of
from annotator.marks.plates import Plate
from annotator.marks.propose import Candidate, propose, propose_among
from annotator.marks.read import FileMark, FileStill, MarksFile, Tied, read_marks, tie_marks
from annotator.marks.shapes import is_hollow
from annotator.marks.snap import Snapped, snap
from annotator.marks.svg import SVG_VERSION, overlay_svg, svg_of
from annotator.marks.zones import Marked, PointRuling, PointVerdict, Zones, ruling_along, ruling_at, zones

__all__ = [
    "LEAST_CONFIDENCE",
    "SVG_VERSION",
    "Candidate",
    "Carried",
    "FaceTrack",
    "FileMark",
    "FileStill",
    "Look",
    "Marked",
    "MarksFile",
    "Overlay",
    "OverlayItem",
    "Planes",
    "Plate",
    "PlateWords",
    "PointRuling",
    "PointVerdict",
    "RuleItem",
    "Snapped",
    "Tied",
    "Tile",
    "Zones",
    "alike",
    "area",
    "blur",
    "blur_planes",
    "carry",
    "clashes",
    "clipped",
    "find_faces",
    "follow",
    "is_hollow",
    "overlay",
    "overlay_items",
    "overlay_of",
    "overlay_svg",
    "paint",
    "paint_planes",
    "part_named",
    "part_of",
    "planes_of",
    "propose",
    "propose_among",
    "read_marks",
    "rule_items",
    "ruling_along",
    "ruling_at",
    "snap",
    "svg_of",
    "tie_marks",
    "zones",
]
