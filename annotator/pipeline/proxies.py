"""The proxy of each clip: the version that any browser plays, made after the draft can be read and never in its way."""

from __future__ import annotations

from annotator.course import Clip, Course, Station
from annotator.library import Library, stage_key
from annotator.media import write_proxy
from annotator.pipeline.saving import Change, change
from annotator.pipeline.steps import Steps, Watcher

PROXY_VERSION = "1"


def make_proxies(library: Library, name: str, *, who: str = "the drafter", progress: Watcher | None = None) -> None:
    """Make what is missing; a clip whose proxy was made before, for this course or another, costs nothing."""
    course = library.course(name).doc
    steps = Steps([(f"making the proxy of clip {clip.number}", clip.duration_s) for clip in course.clips], progress)
    for clip in course.clips:
        stage = f"making the proxy of clip {clip.number}"
        steps.begin(stage)
        key = stage_key("proxy", PROXY_VERSION, clip.original)
        kept = library.done("proxy", key)
        if kept is None:
            with library.unfinished() as folder:
                out = folder / "proxy.mp4"
                write_proxy(library.files.path(clip.original), out, progress=steps.within(stage))
                kept = library.files.put(out, ".mp4").encode()
            library.mark_done("proxy", key, kept)
        change(library, name, who, _with_proxy(clip, kept.decode()))
        steps.done(stage)


def _with_proxy(clip: Clip, proxy: str) -> Change:
    def add(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        clips = tuple(each.model_copy(update={"proxy": proxy}) if each.number == clip.number else each for each in course.clips)
        return course.model_copy(update={"clips": clips}), stations

    return add
