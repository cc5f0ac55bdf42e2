"""Captions: cues from words, WebVTT and SubRip, chapters, the station list, and marked clips."""

from annotator.captions.clips import carry_beside_stills, station_span, stretch_of, write_clip
from annotator.captions.cue import Cue
from annotator.captions.cues import plan_cues
from annotator.captions.evidence import Evidence, evidence_in, write_evidence
from annotator.captions.face_looks import FaceLook, FacesAt, looks_of_run, runs_over, told_within
from annotator.captions.film import Stretch
from annotator.captions.overlaid import Post, ZoneTrack, certain_carry
from annotator.captions.placing import placed
from annotator.captions.replay import write_replay
from annotator.captions.report import BrokenLimit, Kept, Reading, Worst, broken_limits, late_starts, reading, reading_as_text, speed
from annotator.captions.setting import WORDINGS, Setting, Wording
from annotator.captions.translated import lay_in
from annotator.captions.walk import WalkPiece, canvas_of, draw_piece, over_piece, walk_pieces
from annotator.captions.wording import rule_spans
from annotator.captions.write import chapter_spans, station_list, write_chapters, write_srt, write_vtt

__all__ = [
    "WORDINGS",
    "BrokenLimit",
    "Cue",
    "Evidence",
    "FaceLook",
    "FacesAt",
    "Kept",
    "Post",
    "Reading",
    "Setting",
    "Stretch",
    "WalkPiece",
    "Wording",
    "Worst",
    "ZoneTrack",
    "broken_limits",
    "canvas_of",
    "carry_beside_stills",
    "certain_carry",
    "chapter_spans",
    "draw_piece",
    "evidence_in",
    "late_starts",
    "lay_in",
    "looks_of_run",
    "over_piece",
    "placed",
    "plan_cues",
    "reading",
    "reading_as_text",
    "rule_spans",
    "runs_over",
    "speed",
    "station_list",
    "station_span",
    "stretch_of",
    "told_within",
    "walk_pieces",
    "write_chapters",
    "write_clip",
    "write_evidence",
    "write_replay",
    "write_srt",
    "write_vtt",
]
