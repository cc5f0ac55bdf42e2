"""Caption files: read back by pysrt, by Chromium's own text-track parser, and by our reader."""

from __future__ import annotations

import functools
import http.server
import shutil
import threading
from pathlib import Path
from typing import Any

import pysrt
from hypothesis import given
from hypothesis import strategies as st

from annotator.captions import Cue, chapter_spans, placed, station_list, write_chapters, write_srt, write_vtt
from annotator.course import Mark, Station, Still
from annotator.speech import read_timed_text
from annotator.speech.webvtt import parse_webvtt

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
PAGE = """<!doctype html><meta charset="utf-8"><video><track id="t" kind="%s" src="%s" default></video>"""
READ = """async () => {
  const track = document.getElementById('t').track; track.mode = 'hidden';
  const element = document.getElementById('t');
  if (element.readyState !== 2) await new Promise((done, fail) => { element.onload = done; element.onerror = fail; });
  return [...track.cues].map(c => [Math.round(c.startTime * 1000), Math.round(c.endTime * 1000), c.getCueAsHTML().textContent]);
}"""
PLACES = READ[: READ.index("return [")] + "return [...track.cues].map(c => c.line); }"

CUES = (
    Cue(0, 1334, ("You start on the blue box.",)),
    Cue(1334, 4000, ("A & B < C > D", "B --> C &amp; é 鉄 🙂")),
    Cue(5000, 7000, ("", "blank lines\n\n stay out ", " \t")),
    Cue(3_600_000, 3_601_500, ("<b>no tag</b> {\\an8}", "12")),
)
TEXTS = ["You start on the blue box.", "A & B < C > D\nB --> C &amp; é 鉄 🙂", "blank lines stay out", "<b>no tag</b> {\\an8}\n12"]


class _Quiet(http.server.SimpleHTTPRequestHandler):
    extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, ".vtt": "text/vtt"}  # noqa: RUF012  # as the base class has it

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


def chromium_reads(browser: Any, folder: Path, name: str, kind: str = "captions", read: str = READ) -> list[Any]:
    (folder / "page.html").write_text(PAGE % (kind, name))
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/page.html")
        told: list[Any] = page.evaluate(read)
        page.close()
        return told
    finally:
        server.shutdown()
        server.server_close()


def test_chromium_reads_our_captions_cue_for_cue(browser: Any, tmp_path: Path) -> None:
    (tmp_path / "captions.vtt").write_text(write_vtt(CUES), "utf-8")
    read = chromium_reads(browser, tmp_path, "captions.vtt")
    assert read == [[cue.start_ms, cue.end_ms, text] for cue, text in zip(CUES, TEXTS, strict=True)]


def test_captions_stand_at_the_top_where_marks_lie_at_the_bottom(browser: Any, tmp_path: Path) -> None:
    still = Still(id="s1", time_s=1.0, clip=1, pts=0, width=100, height=100, file="0" * 64)
    low = Mark(id="m1", still="s1", surface="u1", rings=(((10.0, 70.0), (90.0, 70.0), (90.0, 99.0), (10.0, 99.0)),))
    high = low.model_copy(update={"rings": (((10.0, 1.0), (90.0, 1.0), (90.0, 30.0), (10.0, 30.0)),)})
    first = Station(id="t1", number=1, start=0, end=2, stills=(still,), marks=(low,))
    second = Station(id="t2", number=2, start=2, end=9, stills=(still,), marks=(high,))
    cues = placed((Cue(0, 1334, ("Feet only.",)), Cue(3000, 5000, ("Hands only.",)), Cue(9500, 11000, ("Thanks.",))), (first, second))
    assert [cue.at_top for cue in cues] == [True, False, False]
    (tmp_path / "captions.vtt").write_text(write_vtt(cues), "utf-8")
    assert chromium_reads(browser, tmp_path, "captions.vtt", read=PLACES) == [20, "auto", "auto"], "below the labels of a film"
    assert [cue.text for cue in read_timed_text(tmp_path / "captions.vtt").cues] == ["Feet only.", "Hands only.", "Thanks."]


def test_chromium_reads_our_chapters_one_a_station(browser: Any, tmp_path: Path) -> None:
    (tmp_path / "chapters.vtt").write_text(write_chapters(STATIONS, 300.0), "utf-8")
    read = chromium_reads(browser, tmp_path, "chapters.vtt", "chapters")
    assert read == [
        [62_000, 98_500, "Station 1: stump & hop"],
        [98_500, 150_250, "Station 2"],
        [150_250, 300_000, "Station 3: B --> C <i>"],
    ]


def test_our_reader_reads_our_captions_cue_for_cue(tmp_path: Path) -> None:
    cues, broken = parse_webvtt(write_vtt(CUES))
    assert broken == ()
    assert [(round(cue.start_s * 1000), round(cue.end_s * 1000)) for cue in cues] == [(cue.start_ms, cue.end_ms) for cue in CUES]
    (tmp_path / "captions.vtt").write_text(write_vtt(CUES), "utf-8")
    read = read_timed_text(tmp_path / "captions.vtt")
    assert read.problems == ()
    assert " ".join(word.text for word in read.words) == " ".join(" ".join(TEXTS).split())


def test_pysrt_reads_our_subrip_cue_for_cue() -> None:
    read = pysrt.from_string(write_srt(CUES))
    assert [(item.start.ordinal, item.end.ordinal, item.text) for item in read] == [
        (cue.start_ms, cue.end_ms, text) for cue, text in zip(CUES, TEXTS, strict=True)
    ]


lines = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(st.lists(st.tuples(st.integers(0, 10**7), st.integers(1, 6000), st.lists(lines, min_size=1, max_size=2)), max_size=8))
def test_any_text_comes_back_as_it_was_shown(rows: list[tuple[int, int, list[str]]]) -> None:
    cues = [Cue(start, start + length, tuple(texts)) for start, length, texts in rows]
    read, broken = parse_webvtt(write_vtt(cues))
    assert broken == ()
    assert [(round(cue.start_s * 1000), round(cue.end_s * 1000)) for cue in read] == [(cue.start_ms, cue.end_ms) for cue in cues]


STATIONS = (
    Station(id="s02", number=2, start=98.5, end=140),
    Station(id="s01", number=1, name="stump & hop", start=62, end=98.5),
    Station(id="s03", number=3, name="B --> C <i>", start=150.25, end=200),
)


def test_chapters_never_overlap_even_where_stations_do() -> None:
    together = (Station(id="s01", number=1, start=10, end=50), Station(id="s02", number=2, start=10, end=40))
    assert chapter_spans(together, 60.0) == ((10_000, 10_001, "Station 1"), (10_001, 60_000, "Station 2"))


def test_a_walk_without_stations_has_a_chapter_file_without_chapters() -> None:
    assert parse_webvtt(write_chapters([], 60.0)) == ((), ())


def test_the_station_list_is_a_line_a_station_in_order() -> None:
    assert station_list(STATIONS) == "1:02 Station 1: stump & hop\n1:38 Station 2\n2:30 Station 3: B --> C <i>\n"
