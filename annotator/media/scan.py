"""Go through a clip's windows once, at the decoder's speed, and hand back the best frames of each.

Scores are taken on the stored luma without any conversion; only frames that are picked become pictures.
What makes a frame good is stills.py's business.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from annotator.media.decode import frames_from
from annotator.media.opening import Start, open_container, picture_track, start_of
from annotator.media.stills import Best, Gray, Scored, measured
from annotator.media.upright import Image, to_image, to_luma
from annotator.units import Progress

SKIP_S = 4.0  # a gap between windows longer than this is jumped over, a shorter one decoded through


@dataclass(frozen=True)
class Window:
    """A span of clip time, `start_s` <= t <= `end_s`, from which at most `count` stills are wanted."""

    start_s: float
    end_s: float
    count: int = 1


@dataclass(frozen=True)
class Pick:
    """A picked frame: the index of its window, its time and pts, why in words, and the upright picture."""

    window: int
    time_s: float
    pts: int
    why: str
    image: Image


def pick_stills(path: Path, windows: Sequence[Window], *, progress: Progress | None = None) -> tuple[Pick, ...]:
    """The sharpest steady frames of each window, in the order of the windows, the best first.

    Fewer than a window's `count` where its frames look alike; a window without any frame of its own gets the frame on screen at its start.

    Raises
    ------
    UnreadableVideo
        The file is no film that can be decoded.
    ValueError
        A window ends before it starts, or wants no still.

    Examples
    --------
    >>> pick_stills(Path("walk.mp4"), [Window(62.0, 66.5, 2)])[0].why  # doctest: +SKIP
    'sharper and steadier than 118 of 134 other frames within 4 s, the camera still'
    """
    return tuple(sorted(pick_each(path, windows, progress=progress), key=lambda pick: pick.window))


def pick_each(path: Path, windows: Sequence[Window], *, progress: Progress | None = None) -> Iterator[Pick]:
    """What `pick_stills` gives, each pick as soon as its window is past; a window's picks come together, the best first.

    Takes memory for the windows that run at one time, however many there are.
    """
    for at, window in enumerate(windows):
        if window.end_s < window.start_s or window.count < 1:
            raise ValueError(
                f"window {at + 1} runs from {window.start_s} to {window.end_s} s for {window.count} stills; give it a span and one"
            )
    if not windows:
        return
    start = start_of(path)
    spans = _spans(windows)
    todo_s = sum(end_s - start_s for start_s, end_s in spans) or 1.0
    done_s = 0.0
    first: Scored[Any] | None = None  # seen at all
    latest: Scored[Any] | None = None
    empty: list[int] = []
    for start_s, end_s in spans:
        here = {at: Best[Any](window.count) for at, window in enumerate(windows) if start_s <= window.start_s <= window.end_s <= end_s}
        coming = sorted(here, key=lambda at: windows[at].start_s, reverse=True)
        running: list[int] = []
        for seen in measured(_lumas(path, start, start_s, end_s)):
            first = first or seen
            while coming and windows[coming[-1]].start_s <= seen.time_s:
                running.append(coming.pop())
            for at in [at for at in running if windows[at].end_s < seen.time_s]:
                running.remove(at)
                yield from _picks(at, _filled(here.pop(at), latest or seen), start)
            for at in running:
                here[at].add(seen)
            latest = seen
            if progress is not None:
                progress(min(1.0, (done_s + max(0.0, seen.time_s - start_s)) / todo_s))
        for at, best in here.items():
            if best.kept or latest is not None:
                yield from _picks(at, _filled(best, latest), start)
            else:
                empty.append(at)
        done_s += end_s - start_s
    for at in empty:
        yield from _picks(at, _filled(Best[Any](windows[at].count), first), start)
    if progress is not None:
        progress(1.0)


def _filled(best: Best[Any], shown: Scored[Any] | None) -> Best[Any]:
    """A window that had no frame of its own gets the one that is on screen in it."""
    if not best.kept and shown is not None:
        best.add(shown)
    return best


def _picks(at: int, best: Best[Any], start: Start) -> Iterator[Pick]:
    for each in best.chosen():
        image = to_image(each.thing, start.turn, start.width, start.height)
        yield Pick(at, each.time_s, each.thing.pts, best.why(each), image)


def _spans(windows: Sequence[Window]) -> list[tuple[float, float]]:
    """The windows' spans in order, joined where they touch or nearly do."""
    spans: list[tuple[float, float]] = []
    for window in sorted(windows, key=lambda each: (each.start_s, each.end_s)):
        if spans and window.start_s - spans[-1][1] < SKIP_S:
            spans[-1] = (spans[-1][0], max(spans[-1][1], window.end_s))
        else:
            spans.append((window.start_s, window.end_s))
    return spans


def _lumas(path: Path, start: Start, start_s: float, end_s: float) -> Iterator[tuple[float, Gray, Any]]:
    """The frames of a span with their times and lumas, the one on screen at its start among them."""
    with open_container(path) as container:
        track = picture_track(container, path)
        entry: tuple[float, Any] | None = None
        for time_s, frame in frames_from(path, container, track, start, start_s):
            if time_s <= start_s:
                entry = time_s, frame
                continue
            if entry is not None:
                yield entry[0], to_luma(entry[1]), entry[1]
                entry = None
            if time_s > end_s:
                return
            yield time_s, to_luma(frame), frame
        if entry is not None:
            yield entry[0], to_luma(entry[1]), entry[1]
