"""Captions: cues from words, WebVTT and SubRip, chapters, the station list, and marked clips."""

from annotator.captions.clips import write_clip, write_replay
from annotator.captions.cues import Cue, plan_cues
from annotator.captions.placing import placed
from annotator.captions.report import BrokenLimit, Kept, Reading, Worst, broken_limits, reading, reading_as_text, speed
from annotator.captions.setting import WORDINGS, Setting, Wording
from annotator.captions.translated import lay_in
from annotator.captions.wording import rule_spans
from annotator.captions.write import chapter_spans, station_list, write_chapters, write_srt, write_vtt

__all__ = [
    "WORDINGS",
    "BrokenLimit",
    "Cue",
    "Kept",
    "Reading",
    "Setting",
    "Wording",
    "Worst",
    "broken_limits",
    "chapter_spans",
    "lay_in",
    "placed",
    "plan_cues",
    "reading",
    "reading_as_text",
    "rule_spans",
    "speed",
    "station_list",
    "write_chapters",
    "write_clip",
    "write_replay",
    "write_srt",
    "write_vtt",
]
