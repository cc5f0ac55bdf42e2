"""What a player shows of a clip's proxy: when each of its frames is on screen, and the frame of the clip as filmed that belongs to one."""

from __future__ import annotations

from annotator.course import Clip, Course, Still
from annotator.errors import NotFound
from annotator.library import Library
from annotator.media import frame_times, grab, write_picture
from annotator.pipeline.originals import original
from annotator.pipeline.pictures import faces_in

CHOSEN = "grabbed from the walk"
EARLY_S = 0.0005
"""A player tells a frame's time in whole microseconds, and a proxy may keep it on a coarser clock than the clip; no camera is this fast."""


def proxy_frames(library: Library, name: str, number: int, start_s: float, end_s: float) -> tuple[float, ...]:
    """The times of a proxy's frames in clip time, from the one on screen at `start_s` until `end_s`.

    Raises
    ------
    NotFound
        No such clip, or its proxy is not made yet.
    """
    clip = _clip(library.course(name).doc, number)
    if clip.proxy is None:
        raise NotFound("proxy of clip", clip.title)
    return frame_times(library.files.path(clip.proxy), start_s, end_s)


def grab_shown(library: Library, name: str, station_id: str, number: int, time_s: float) -> Still:
    """The frame whose presentation time is `time_s` in a clip's proxy, from the clip as filmed: upright, full size, kept without loss.

    Its id is the frame's at this station, so that grabbing it twice gives the same still; a still of the station that is this frame
    already keeps its id.

    Raises
    ------
    NotFound
        No such station or clip.
    InputError
        The clip as filmed is not in the library.
    """
    course = library.course(name).doc
    station = library.station(name, station_id).doc
    clip = _clip(course, number)
    frame = grab(original(library, clip), time_s + EARLY_S)
    height, width = frame.image.shape[:2]
    file = library.files.put(write_picture(frame.image, ".png"), ".png")
    there = next((still for still in station.stills if (still.clip, still.pts) == (clip.number, frame.pts)), None)
    return Still(
        id=f"{station.id}-{clip.number}-{frame.pts}" if there is None else there.id,
        time_s=clip.start_s + frame.time_s,
        clip=clip.number,
        pts=frame.pts,
        width=width,
        height=height,
        file=file,
        why=CHOSEN,
        faces=faces_in(library, file),
    )


def _clip(course: Course, number: int) -> Clip:
    found = next((clip for clip in course.clips if clip.number == number), None)
    if found is None:
        raise NotFound("clip", str(number), [str(clip.number) for clip in course.clips])
    return found
