"""Captions: cues from words, WebVTT and SubRip, chapters, the station list, and marked clips."""

from annotator.captions.clips import write_clip, write_replay
from annotator.captions.cues import BrokenLimit, Cue, broken_limits, plan_cues, speed
from annotator.captions.write import chapter_spans, station_list, write_chapters, write_srt, write_vtt

__all__ = [
    "BrokenLimit",
    "Cue",
    "broken_limits",
    "chapter_spans",
    "plan_cues",
    "speed",
    "station_list",
    "write_chapters",
    "write_clip",
    "write_replay",
    "write_srt",
    "write_vtt",
]
