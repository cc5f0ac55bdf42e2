"""The version for browsers, in a real one: it plays, stands upright, and shows at time t the very frame that grab finds. Peer: Chromium."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask, Response, send_from_directory
from werkzeug.serving import make_server

from annotator.media import grab, write_proxy
from tests.media.makers import make_clip, number_of, steady, uneven

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed; it drives the browser")
QUIET = ["--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"]

SHOWN_AT = """async ([address, moments]) => {
  const video = document.createElement("video");
  video.muted = true; video.preload = "auto"; video.src = address;
  await new Promise((good, bad) => { video.onloadeddata = good; video.onerror = () => bad(new Error(video.error.message)); });
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth; canvas.height = video.videoHeight;
  const context = canvas.getContext("2d", { willReadFrequently: true });
  const rows = [];
  for (const moment of moments) {
    const drawn = new Promise((good) => video.requestVideoFrameCallback((now, frame) => good(frame.mediaTime)));
    const sought = new Promise((good) => { video.onseeked = good; });
    video.currentTime = moment;
    await sought;
    await Promise.race([drawn, new Promise((good) => setTimeout(good, 1500))]);
    context.drawImage(video, 0, 0);
    const y = Math.floor(canvas.height / 8);
    rows.push([...context.getImageData(0, y, canvas.width, 1).data].filter((_, at) => at % 4 === 1));
  }
  return { width: canvas.width, height: canvas.height, length: video.duration, rows };
}"""


@pytest.fixture
def served(tmp_path: Path) -> Iterator[str]:
    app = Flask(__name__)

    @app.get("/<name>")
    def give(name: str) -> Response:
        if name == "page":
            return Response("<!doctype html><title>player</title>")
        return send_from_directory(tmp_path, name)

    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join(10)
    server.server_close()


CRISP = {"bf": "3", "g": "25", "crf": "12", "preset": "veryfast"}
VP9 = {"codec": "libvpx-vp9", "options": {"deadline": "realtime", "cpu-used": "8", "crf": "16"}, "sound": "libopus"}


@pytest.mark.parametrize(
    ("name", "times", "made", "again"),
    [
        pytest.param("a.mp4", uneven(60), {"options": CRISP}, False, id="copied-variable-rate"),
        pytest.param("a.mkv", steady(60), {"options": CRISP, "offset_ms": 3000}, False, id="copied-starts-at-3-s"),
        pytest.param("a.webm", uneven(60), VP9, True, id="encoded-variable-rate"),
    ],
)
def test_a_browser_shows_at_each_moment_the_frame_that_grab_finds(
    tmp_path: Path, browser: Any, served: str, name: str, times: list[int], made: dict[str, Any], again: bool
) -> None:
    source = make_clip(tmp_path / name, times, **made)
    assert write_proxy(source, tmp_path / "proxy.mp4") is again
    middles = [(times[at] + times[at + 1]) / 2000 for at in range(3, len(times) - 2, 11)]
    page = browser.new_page()
    page.goto(f"{served}/page")
    told = page.evaluate(SHOWN_AT, [f"{served}/proxy.mp4", middles])
    page.close()
    assert (told["width"], told["height"]) == (160, 96)
    seen = [sum(1 << bit for bit in range(10) if row[bit * 16 + 8] > 127) for row in told["rows"]]
    assert seen == [number_of(grab(source, moment).image) for moment in middles]


@pytest.mark.parametrize("again", [False, True], ids=["copied", "encoded"])
def test_a_browser_shows_a_turned_clip_upright(tmp_path: Path, browser: Any, served: str, again: bool) -> None:
    made: dict[str, Any] = {"options": CRISP, "sound": "pcm_s16le" if again else "aac"}
    source = make_clip(tmp_path / "a.mov", steady(30), rotation=270, **made)
    assert write_proxy(source, tmp_path / "proxy.mp4") is again
    page = browser.new_page()
    page.goto(f"{served}/page")
    told = page.evaluate(SHOWN_AT, [f"{served}/proxy.mp4", [0.5]])
    page.close()
    image = grab(source, 0.5).image
    assert (told["height"], told["width"]) == image.shape[:2] == (160, 96)
    row = image[160 // 8, :, 1].astype(int)
    assert sum(abs(int(theirs) - int(mine)) for theirs, mine in zip(told["rows"][0], row, strict=True)) / 96 < 12
