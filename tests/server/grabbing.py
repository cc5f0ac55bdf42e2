"""Grab stills by the listening page's own keys in a real browser, and compare the number on screen with the one in the still.

The clips carry their frame number as a bar code in the picture (tests/media/makers.py). The number on screen is read from the video element
by way of a canvas; the one in the still from the stored picture. Used by a short test and by the long run in scripts/bench/grab.py.
"""

from __future__ import annotations

import base64
import io
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from tests.media.makers import make_clip, number_of, steady, uneven

How = Literal["sought", "stepped", "playing"]
SIZE = (320, 192)
FRAMES = 240
CRISP = {"bf": "3", "g": "25", "crf": "12", "preset": "veryfast"}
HEVC = {"preset": "ultrafast", "crf": "12", "x265-params": "bframes=3:log-level=none"}
KINDS: dict[str, dict[str, Any]] = {
    "constant rate, landscape": {"times": steady(FRAMES)},
    "variable rate, landscape": {"times": uneven(FRAMES), "codec": "libx265", "options": HEVC},
    "constant rate, portrait": {"times": steady(FRAMES, 33), "codec": "libx265", "options": HEVC, "rotation": 90},
    "variable rate, portrait": {"times": uneven(FRAMES), "rotation": 90},
}
"""Two are copied into their proxy packet by packet, two are encoded anew."""

SHOWN = """() => {
  const video = document.querySelector(".screen video");
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth; canvas.height = video.videoHeight;
  canvas.getContext("2d").drawImage(video, 0, 0);
  return canvas.toDataURL("image/png").split(",")[1];
}"""


@dataclass(frozen=True)
class Grabbed:
    """One grab: how the page came to the frame, the number on screen, and the number in the still."""

    kind: str
    how: How
    shown: int
    kept: int


def make_walk(library: Library, folder: Path) -> str:
    """A course whose walk has one clip of each kind, each one a station, with proxies; its name."""
    clips = []
    for place, made in enumerate(KINDS.values(), start=1):
        wishes = {key: value for key, value in made.items() if key != "times"}
        clips.append(make_clip(folder / f"clip {place}.mp4", made["times"], size=SIZE, **{"options": CRISP, **wishes}))
    name = pipeline.take_in(library, clips, title="Numbered frames", who="Ana")
    pipeline.make_proxies(library, name)
    for clip in library.course(name).doc.clips:
        end = clip.start_s + clip.duration_s
        pipeline.decide(library, name, [read_edit({"do": "add-station", "start": clip.start_s, "end": end})], who="Ana")
    return name


def grabs(page: Any, library: Library, address: str, name: str, each: int, seed: int = 1) -> Iterator[Grabbed]:
    """`each` grabs a kind at random times: sought on the strip, sought and stepped, and while the walk plays, in turn."""
    chance = random.Random(seed)
    page.goto(f"{address}/course/{name}/walk")
    page.locator(".open-piece").wait_for()
    length = sum(clip.duration_s for clip in library.course(name).doc.clips)
    for number, kind in enumerate(KINDS):
        clip = library.course(name).doc.clips[number]
        for turn in range(each):
            how: How = ("sought", "stepped", "playing")[turn % 3]
            latest = clip.duration_s - (2.0 if how == "playing" else 0.3)
            _seek(page, (clip.start_s + chance.uniform(0.1, latest)) / length)
            if how == "stepped":
                for _ in range(chance.randint(1, 3)):
                    page.keyboard.press(chance.choice("bn"))
            elif how == "playing":
                page.keyboard.press("Space")
                page.wait_for_timeout(chance.uniform(150, 900))
            with page.expect_response(lambda response: response.url.endswith("/grab")) as answered:
                page.keyboard.press("p")
            still = answered.value.json()
            shown = page.evaluate(SHOWN)
            _wait_until_kept(page, library, name, still["id"])
            picture = np.asarray(Image.open(library.files.path(still["file"])).convert("RGB"))
            screen = np.asarray(Image.open(io.BytesIO(base64.b64decode(shown))).convert("RGB"))
            yield Grabbed(kind, how, _number(screen), _number(picture))


def _seek(page: Any, share: float) -> None:
    """Tap on the strip, and wait until the sought frame is on screen."""
    strip = page.locator(".strip-line")
    box = strip.bounding_box()
    strip.click(position={"x": max(1.0, min(box["width"] - 1, share * box["width"])), "y": box["height"] / 2})
    page.evaluate("document.activeElement.blur()")
    page.wait_for_function("() => { const v = document.querySelector('.screen video'); return v && v.readyState >= 2 && !v.seeking; }")


def _wait_until_kept(page: Any, library: Library, name: str, still: str) -> None:
    """The page puts the still to its station and tells so."""
    for _ in range(3000):
        if any(one.id == still for at in library.stations(name) for one in at.doc.stills):
            page.locator(".told p", has_text="still of station").wait_for()
            page.locator(".take:enabled").wait_for()
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"the still {still} was never put")


def _number(image: NDArray[np.uint8]) -> int:
    portrait = image.shape[0] > image.shape[1]
    return number_of(np.ascontiguousarray(np.rot90(image, -1)) if portrait else image)
