"""The proxy of each clip: the version that any browser plays, made after the draft can be read and never in its way."""

from __future__ import annotations

from annotator.course import Clip, Course, Station
from annotator.library import Library, stage_key
from annotator.media import write_proxy
from annotator.pipeline.originals import original
from annotator.pipeline.saving import Change, change
from annotator.pipeline.steps import Steps, Watcher

PROXY_VERSION = "2"
_WAITING = "waiting for another program that makes them"


def make_proxies(library: Library, name: str, *, who: str = "the drafter", progress: Watcher | None = None) -> None:
    """Make what is missing; a clip whose proxy was made before, for this course or another, costs nothing."""
    course = library.course(name).doc
    plan = [(f"making the proxy of clip {clip.number}", clip.duration_s) for clip in course.clips]
    steps = Steps([(_WAITING, 0.0), *plan], progress)
    with library.turn(name, "proxies", lambda: steps.begin(_WAITING)):
        _make(library, course, who, steps)


def _make(library: Library, course: Course, who: str, steps: Steps) -> None:
    for clip in course.clips:
        stage = f"making the proxy of clip {clip.number}"
        steps.begin(stage)
        key = stage_key("proxy", PROXY_VERSION, clip.original)
        kept = library.done("proxy", key)
        if kept is None and clip.proxy is not None and library.files.has(clip.proxy) and not library.files.has(clip.original):
            kept = clip.proxy.encode()  # it came in a pack with this one and without what it was made from
        elif kept is None:
            with library.unfinished() as folder:
                out = folder / "proxy.mp4"
                write_proxy(original(library, clip), out, progress=steps.within(stage))
                kept = library.files.put(out, ".mp4").encode()
            library.mark_done("proxy", key, kept)
        change(library, course.name, who, _with_proxy(clip, kept.decode()))
        steps.done(stage)


def _with_proxy(clip: Clip, proxy: str) -> Change:
    def add(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        clips = tuple(each.model_copy(update={"proxy": proxy}) if each.number == clip.number else each for each in course.clips)
        return course.model_copy(update={"clips": clips}), stations

    return add
