"""Clips and pictures: what they are, their frames and sound with true times, the stills worth showing, versions for browsers.

Only this folder imports the codec library. Images are (H, W, 3) uint8 RGB, upright; times are seconds of clip time, the first frame at 0.
"""

from annotator.media.audio import AudioPiece, read_audio
from annotator.media.decode import Frame, PlanesFrame, frame_times, grab, read_frames, read_planes
from annotator.media.joined import CaptionTrack, FilmPiece, encoder_id, join_films
from annotator.media.mp4 import TimedLine, fit_720
from annotator.media.pictures import read_picture, write_picture
from annotator.media.probe import ClipInfo, probe
from annotator.media.proxy import write_proxy
from annotator.media.scan import Pick, Window, pick_each, pick_stills
from annotator.media.stills import sharpness
from annotator.media.writer import SoundSpan, VideoWriter, open_writer

__all__ = [
    "AudioPiece",
    "CaptionTrack",
    "ClipInfo",
    "FilmPiece",
    "Frame",
    "Pick",
    "PlanesFrame",
    "SoundSpan",
    "TimedLine",
    "VideoWriter",
    "Window",
    "encoder_id",
    "fit_720",
    "frame_times",
    "grab",
    "join_films",
    "open_writer",
    "pick_each",
    "pick_stills",
    "probe",
    "read_audio",
    "read_frames",
    "read_picture",
    "read_planes",
    "sharpness",
    "write_picture",
    "write_proxy",
]
