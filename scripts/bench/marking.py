"""Measure dragging a point of a mark on a still with many marks, in a real browser.

    .venv/bin/python scripts/bench/marking.py [--marks 200] [--points 100] [--seconds 4]

A still of 1920 x 1080 with the marks is opened on the station page, one mark is chosen and one of its points is dragged in
circles, an event a frame. From the browser's trace: time in script, style and layout a frame. From the page: intervals between frames,
held against the same drag on a still with that one mark only, in the same run. Times are of this machine; on a busy one only the
comparison says anything.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import numpy as np
from playwright.sync_api import CDPSession, Page, sync_playwright
from werkzeug.serving import make_server

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from annotator.server import Config, close, create_app
from tests.small_walk import write_captions

WIDTH, HEIGHT = 1920, 1080
SCRIPT = frozenset(
    {"FunctionCall", "EventDispatch", "RunMicrotasks", "FireAnimationFrame", "TimerFire", "EvaluateScript", "v8.callFunction"}
)
STYLE = frozenset({"UpdateLayoutTree", "RecalculateStyles", "ScheduleStyleRecalculation"})
LAYOUT = frozenset({"Layout", "PrePaint"})
PAINT = frozenset({"Paint", "Layerize", "Commit", "RasterTask"})
CATEGORIES = "devtools.timeline,devtools.timeline.frame,disabled-by-default-devtools.timeline.frame"
SLOW_MS = 25.0
BROWSER = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@dataclass(frozen=True)
class Dragged:
    """What a drag took: milliseconds a frame by kind of work, and the intervals between frames."""

    work_ms: list[float]
    script_ms: list[float]
    paint_ms: list[float]
    intervals_ms: list[float]

    @property
    def slow_share(self) -> float:
        """Frames that came later than `SLOW_MS` after the one before."""
        return sum(each > SLOW_MS for each in self.intervals_ms) / max(1, len(self.intervals_ms))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--marks", type=int, default=200)
    parser.add_argument("--points", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=4.0)
    parser.add_argument("--pages", type=Path, help="the folder of the built staff pages; the package's own where it is left out")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder, Library(Path(folder) / "library") as library:
        name = course_of(library, Path(folder), given.marks, given.points)
        with served(library, given.pages) as address, sync_playwright() as player:
            browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=BROWSER)
            page = browser.new_context(viewport={"width": 1600, "height": 1000}, reduced_motion="reduce").new_page()
            runs = {}
            for title, still in (("one mark", "alone"), (f"{given.marks} marks of {given.points} points", "full")):
                runs[title] = dragged(page, f"{address}/course/{name}/1", still, given.seconds)
            browser.close()
        for title, run in runs.items():
            report(title, run)
        few, many = runs.values()
        print(f"frames later than {SLOW_MS:g} ms: {100 * (many.slow_share - few.slow_share):+.1f} points with the marks")


def course_of(library: Library, folder: Path, marks: int, points: int) -> str:
    """A course whose first station has two stills of full HD: one with a single mark, one with all."""
    rng = np.random.default_rng(5)
    film = folder / "walk.mp4"
    grey = rng.integers(60, 200, (HEIGHT // 30, WIDTH // 30, 1), dtype=np.uint8)  # no colour, so that nothing is proposed
    hall = grey.repeat(30, axis=0).repeat(30, axis=1).repeat(3, axis=2)
    with av.open(str(film), "w") as out:
        stream = out.add_stream("mpeg4", rate=1)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        for at in range(35):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(np.roll(hall, at, axis=1), format="rgb24")))
        out.mux(stream.encode())
    name = pipeline.take_in(library, [film], title="Many marks", captions=[write_captions(folder / "walk.vtt")], who="bench")
    pipeline.draft_course(library, name)
    course, station = library.course(name).doc, library.stations(name)[0].doc
    edits: list[dict[str, Any]] = []
    for still_id, time_s, count in (("alone", station.start + 1, 1), ("full", station.start + 3, marks)):
        still = pipeline.grab_still(library, course, time_s, still_id, "for the bench")
        edits.append({"do": "put-still", "station": 1, "still": still.model_dump(mode="json")})
        for number in range(count):
            # The first one lies free in the middle; the others around it in a grid.
            x, y = (960.0, 540.0) if number == 0 else (60.0 + 95 * (number % 20), 50.0 + 100 * (number // 20))
            size = 40.0 if number else 45.0
            ring = [wave(x, y, size, at, points) for at in range(points)]
            surface = station.surfaces[number % len(station.surfaces)].id
            edits.append(
                {
                    "do": "put-mark",
                    "station": 1,
                    "mark": {"id": f"{still_id}-{number}", "still": still_id, "surface": surface, "rings": [ring]},
                }
            )
    pipeline.decide(library, name, [read_edit(edit) for edit in edits], who="bench")
    return name


def wave(x: float, y: float, size: float, at: int, points: int) -> tuple[float, float]:
    turn = 2 * math.pi * at / points
    radius = size * (1 + 0.12 * math.sin(9 * turn))
    return x + radius * math.cos(turn), y + radius * math.sin(turn)


@contextmanager
def served(library: Library, pages: Path | None) -> Iterator[str]:
    app = create_app(Config(library, work=False) if pages is None else Config(library, work=False, pages=pages))
    server = make_server("127.0.0.1", 0, app, threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        close(app)


def dragged(page: Page, address: str, still: str, seconds: float) -> Dragged:
    """Open the still for marking, take hold of the first point of its free mark and lead it in circles."""
    page.goto(address)
    page.locator(".other-stills img").first.wait_for()
    page.locator(f".other-stills img[src*='/{still}/']").click()
    page.get_by_role("button", name="Mark on this still").click()
    board = page.locator(".board.marking")
    board.wait_for()
    page.wait_for_timeout(1500)
    page.locator("input[type=radio][name^=way]").last.check()  # nothing is drawn, marks are changed
    board.scroll_into_view_if_needed()
    shown = board.bounding_box()
    assert shown is not None

    def at(x: float, y: float) -> tuple[float, float]:
        return shown["x"] + x * shown["width"] / WIDTH, shown["y"] + y * shown["height"] / HEIGHT

    page.mouse.click(*at(960, 540))
    page.locator(".hand-layer [data-mark]").wait_for()
    page.wait_for_timeout(500)
    before = page.locator(".hand-layer .point").first.get_attribute("d")
    session = page.context.new_cdp_session(page)
    events: list[dict[str, Any]] = []
    session.on("Tracing.dataCollected", lambda data: events.extend(data["value"]))
    x, y = at(*wave(960, 540, 45, 0, 100))
    page.mouse.move(x, y)
    page.mouse.down()
    page.evaluate(
        "() => { window.frames_ = []; const look = (t) => { window.frames_.push(t); window.raf_ = requestAnimationFrame(look); };"
        " window.raf_ = requestAnimationFrame(look); }"
    )
    session.send(
        "Tracing.start",
        {
            "categories": CATEGORIES,
            "transferMode": "ReportEvents",
        },
    )
    lead(session, x, y, seconds)
    moved = page.locator(".hand-layer .point").first.get_attribute("d")
    frames = page.evaluate("() => { cancelAnimationFrame(window.raf_); return window.frames_; }")
    done: list[bool] = []
    session.on("Tracing.tracingComplete", lambda _: done.append(True))
    session.send("Tracing.end")
    while not done:
        page.wait_for_timeout(50)
    page.keyboard.press("Escape")
    page.mouse.up()
    assert moved != before, "the point was not dragged"
    work, script, paint = by_frame(events)
    return Dragged(work, script, paint, [float(step) for step in np.diff(frames)])


def lead(session: CDPSession, x: float, y: float, seconds: float) -> None:
    for step in range(int(seconds * 60)):
        turn = step / 12
        session.send(
            "Input.dispatchMouseEvent",
            {"type": "mouseMoved", "x": x + 60 * math.sin(turn), "y": y + 60 * (1 - math.cos(turn)), "button": "left", "buttons": 1},
        )


def by_frame(events: list[dict[str, Any]]) -> tuple[list[float], list[float], list[float]]:
    """Milliseconds a frame, from one frame's begin on the main thread to the next: script with style and layout, script alone, painting.

    Only frames in which the pointer moved.
    """
    begins = [event for event in events if event.get("name") == "BeginMainThreadFrame"]
    if not begins:
        raise SystemExit("The trace has no frames.")
    thread = max({(event["pid"], event["tid"]) for event in begins}, key=lambda one: sum((e["pid"], e["tid"]) == one for e in begins))
    own = [event for event in events if (event.get("pid"), event.get("tid")) == thread and event.get("ph") == "X"]
    starts = sorted(event["ts"] for event in begins if (event["pid"], event["tid"]) == thread)
    moves = [event for event in own if event["name"] == "EventDispatch" and event["args"].get("data", {}).get("type") == "pointermove"]
    moved = {int(np.searchsorted(starts, event["ts"], side="right")) - 1 for event in moves}
    work, script, paint = (spent(own, starts, names) for names in (SCRIPT | STYLE | LAYOUT, SCRIPT, PAINT))
    kept = [frame for frame in range(len(work)) if frame in moved]
    return [work[frame] for frame in kept], [script[frame] for frame in kept], [paint[frame] for frame in kept]


def spent(events: list[dict[str, Any]], starts: list[float], names: frozenset[str]) -> list[float]:
    """Milliseconds in which any of these was at work, frame by frame; what lies inside another is counted once."""
    spans = sorted((event["ts"], event["ts"] + event.get("dur", 0)) for event in events if event["name"] in names)
    merged: list[list[float]] = []
    for start, end in spans:
        if merged and start <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], end)
        else:
            merged.append([start, end])
    edges = np.array(starts)
    sums = np.zeros(len(edges))
    for start, end in merged:
        frame = int(np.searchsorted(edges, start, side="right")) - 1
        if frame >= 0:
            sums[frame] += (end - start) / 1000
    return [float(each) for each in sums[:-1]]


def report(title: str, run: Dragged) -> None:
    def p95(values: list[float]) -> float:
        return float(np.percentile(values, 95)) if values else math.nan

    print(
        f"{title}: {len(run.work_ms)} frames; script, style and layout a frame {np.median(run.work_ms):.1f} ms at the median, "
        f"{p95(run.work_ms):.1f} at the 95th percentile (script alone {p95(run.script_ms):.1f}), painting {p95(run.paint_ms):.1f}; "
        f"between frames {np.median(run.intervals_ms):.1f} ms, {100 * run.slow_share:.1f} % later than {SLOW_MS:g} ms"
    )


if __name__ == "__main__":
    main()
