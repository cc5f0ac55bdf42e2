"""Films of a course: looked at from outside by ffprobe, made once for what they are made from, and whole after a kill."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from annotator import pipeline
from annotator.captions import ZoneTrack, canvas_of, walk_pieces
from annotator.course import BlanketRule, Clip, Course, Mark, Said, Station, Still, Surface
from annotator.errors import InputError, NotFound, Stopped
from annotator.library import Library
from annotator.marks import overlay
from annotator.media import grab, open_writer, probe
from annotator.pipeline import FilmWishes, StageProgress
from annotator.pipeline.films import for_division, seen_of
from annotator.speech import read_timed_text
from tests.killing import finish, kill_at
from tests.small_walk import draw_clip, write_captions

FFPROBE = shutil.which("ffprobe")
needs_ffprobe = pytest.mark.skipif(FFPROBE is None, reason="ffprobe is not installed: apt install ffmpeg")
SECONDS = 34.0
UPRIGHT_S = 3.0


def upright_clip(path: Path) -> Path:
    """An upright clip of one green, in the same walk."""
    with open_writer(path, 180, 320, end_s=UPRIGHT_S) as film:
        for at in range(int(UPRIGHT_S * 8)):
            film.write(np.full((320, 180, 3), (20, 160, 60), np.uint8), at / 8)
    return path


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library with a course of a lying and an upright clip, drafted from captions; faces may be seen in its films (there are none)."""
    folder = tmp_path_factory.mktemp("walk")
    with Library(folder / "library") as library:
        name = pipeline.take_in(
            library,
            [draw_clip(folder / "lying.mp4", SECONDS), upright_clip(folder / "upright.mp4")],
            title="Spring",
            captions=[write_captions(folder / "said.vtt"), nothing_said(folder / "end.vtt")],
            who="Ana",
        )
        pipeline.draft_course(library, name)
        pipeline.show_faces(library, name, "it is drawn by a program", who="Ana")
    return folder / "library"


def nothing_said(path: Path) -> Path:
    path.write_text("WEBVTT\n\n00:00:01.000 --> 00:00:02.000\nThat is all.\n", "utf-8")
    return path


@pytest.fixture(scope="module")
def made(drafted: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The films of that course, the whole walk with captions in the picture among them."""
    out = tmp_path_factory.mktemp("films, für alle")
    with Library(drafted) as library:
        page = pipeline.write_films(library, "spring", out, FilmWishes(whole_walk=True, in_picture=True))
    assert page == out / "index.html"
    return out


def told(path: Path) -> dict[str, Any]:
    assert FFPROBE is not None
    command = [FFPROBE, "-v", "error", "-show_streams", "-show_format", "-show_chapters", "-of", "json", str(path)]
    found: dict[str, Any] = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    return found


@needs_ffprobe
def test_the_walk_is_one_film_with_captions_and_a_chapter_a_station(made: Path) -> None:
    found = told(made / "walk.mp4")
    streams = {stream["codec_type"]: stream for stream in found["streams"]}
    assert (streams["video"]["codec_name"], streams["subtitle"]["codec_name"]) == ("h264", "mov_text")
    assert "audio" not in streams, "neither clip has sound"
    assert (streams["video"]["width"], streams["video"]["height"]) == (320, 180)
    assert float(streams["video"]["duration"]) == pytest.approx(SECONDS + UPRIGHT_S, abs=0.05)
    assert int(streams["video"]["nb_frames"]) == (SECONDS + UPRIGHT_S) * 8
    chapters = [(round(float(one["start_time"]), 1), one["tags"]["title"]) for one in found["chapters"]]
    assert chapters == [(0.0, "Before the first station"), (8.5, "Station 1: stump hop"), (21.5, "Station 2: rung bridge")]
    tags = {key.lower() for part in (found["format"], *found["streams"]) for key in part.get("tags", {})}
    assert tags <= {"major_brand", "minor_version", "compatible_brands", "language", "handler_name", "vendor_id"}
    assert found["format"]["tags"]["major_brand"] == "isom"


def test_soft_captions_in_the_film_are_those_beside_it(made: Path) -> None:
    with av.open(str(made / "walk.mp4")) as film:
        packets = [packet for packet in film.demux(film.streams.subtitles[0]) if packet.size > 2]
        inside = [(round(float((packet.pts or 0) * packet.time_base), 3), bytes(packet)[2:].decode()) for packet in packets]
    beside = read_timed_text(made / "captions.vtt").cues
    assert inside == [(round(cue.start_s, 3), cue.text) for cue in beside]


def test_the_report_of_the_captions_lies_beside_the_film_with_a_link_for_each_cue(made: Path) -> None:
    html = (made / "reading.html").read_text("utf-8")
    files = [path.name for path in made.glob("captions*.vtt")]
    assert html.count("begins within 0.2 s of its speech") == len(files)
    for link in re.findall(r'href="index.html#t=([0-9.]+)&amp;captions=([^"]+)"', html):
        cues = read_timed_text(made / link[1]).cues
        assert float(link[0]) in [round(cue.start_s, 3) for cue in cues]


def test_an_upright_clip_stands_in_the_middle_of_the_canvas(made: Path) -> None:
    frame = grab(made / "walk.mp4", SECONDS + 0.3).image.astype(int)
    middle, side = frame[60:100, 150:170], frame[60:100, 5:80]
    assert np.abs(middle - (20, 160, 60)).max() < 30
    assert side.max() < 30


def test_captions_in_the_picture_stand_on_a_plate_while_they_are_said(made: Path) -> None:
    cue = read_timed_text(made / "captions.vtt").cues[0]
    with_it, without = (grab(made / "walk.mp4", at_s).image for at_s in ((cue.start_s + cue.end_s) / 2, 0.2))
    plate = np.abs(with_it[150:172, 120:200].astype(int) - (29, 35, 41)).max(axis=2) < 25
    assert plate.mean() > 0.4
    assert (with_it[150:172, 120:200] > 200).all(axis=2).any(), "letters"
    assert (np.abs(without[150:172, 120:200].astype(int) - (29, 35, 41)).max(axis=2) < 25).mean() < 0.01


def test_each_rule_can_be_addressed_in_its_stations_film(made: Path, drafted: Path) -> None:
    with Library(drafted) as library:
        station = library.stations("spring")[0].doc
    start_s = station.start - 0.4
    cues = read_timed_text(made / "station-1.rules.vtt").cues
    found = [json.loads(cue.text) for cue in cues]
    for surface in station.surfaces:
        for said in surface.said:
            ours = [one for one in found if one["surface"] == surface.id and one["text"] == said.text]
            assert len(ours) == 1
            film, times = ours[0]["at"].split("#t=")
            first, last = map(float, times.split(","))
            assert film == "station-1.mp4"
            assert first == pytest.approx(max(0.0, said.start - start_s), abs=0.002)
            assert 0 <= first < last <= probe(made / film).duration_s + 0.05
            assert (ours[0]["name"], ours[0]["ruling"]) == (surface.name, surface.ruling)


def test_what_was_made_is_not_made_again_and_other_wishes_are(drafted: Path, made: Path, tmp_path: Path) -> None:
    def kept(library: Library) -> set[str]:
        return set(library.files.all())

    with Library(drafted) as library:
        before = kept(library)
        pipeline.write_films(library, "spring", tmp_path / "again", FilmWishes(whole_walk=True, in_picture=True))
        assert kept(library) == before
        pipeline.write_films(library, "spring", tmp_path / "other", FilmWishes(in_picture=False))
        assert len(kept(library)) > len(before)
    for name in ("station-1.mp4", "walk.mp4", "index.html"):
        assert (tmp_path / "again" / name).read_bytes() == (made / name).read_bytes(), name


def test_a_stop_keeps_the_films_that_were_done(drafted: Path, tmp_path: Path) -> None:
    root = shutil.copytree(drafted, tmp_path / "library")

    def stop_at(stage: str) -> Callable[[StageProgress], None]:
        def told(at: StageProgress) -> None:
            if at.stage == stage:
                raise Stopped

        return told

    with Library(root) as library:
        wishes = FilmWishes(wording="children")
        with pytest.raises(Stopped):
            pipeline.write_films(library, "spring", tmp_path / "out", wishes, progress=stop_at("drawing station 2"))
        assert (tmp_path / "out" / "station-1.mp4").is_file()
        assert not (tmp_path / "out" / "station-2.mp4").exists()
        files = set(library.files.all())
        with pytest.raises(Stopped):
            pipeline.write_films(library, "spring", tmp_path / "more", wishes, progress=stop_at("drawing station 2"))
        assert set(library.files.all()) == files, "station 1 was not drawn again"


def test_a_kill_loses_at_most_the_film_that_was_being_made(drafted: Path, tmp_path: Path) -> None:
    root = Path(shutil.copytree(drafted, tmp_path / "library"))
    clips = ("clips", "spring", "--walk", "-o", tmp_path / "out")
    kill_at(root, "drawing the walk, part 2 of 4", *clips)
    with Library(root) as library:
        assert library.verify() == ()
        kept = {path: path.stat().st_mtime_ns for path in (root / "files").rglob("*") if path.is_file()}
    assert (tmp_path / "out" / "station-2.mp4").is_file() and not (tmp_path / "out" / "walk.mp4").exists()
    assert finish(root, *clips).strip() == str(tmp_path / "out" / "index.html")
    after = {path: path.stat().st_mtime_ns for path in (root / "files").rglob("*") if path.is_file()}
    assert kept.items() <= after.items()
    assert len(after) - len(kept) == 3, "the pieces 2, 3 and 4; nothing that was there"


def test_showing_faces_is_recorded_with_who_and_why(drafted: Path, tmp_path: Path) -> None:
    root = shutil.copytree(drafted, tmp_path / "library")
    with Library(root) as library:
        chosen = library.course("spring").doc.faces_shown
        assert chosen is not None
        assert (chosen.by, chosen.because) == ("Ana", "it is drawn by a program")
        with pytest.raises(InputError, match="Say in a few words why"):
            pipeline.show_faces(library, "spring", "  ", who="Ben")
        pipeline.show_faces(library, "spring", None, who="Ben")
        assert library.course("spring").doc.faces_shown is None
        assert [at.who for at in library.history("spring")][-1] == "Ben"


@pytest.mark.parametrize(
    ("wishes", "error", "words"),
    [
        pytest.param(FilmWishes(lines=1080), InputError, "1080 lines cannot be made. Choose 480 or 720", id="lines"),
        pytest.param(FilmWishes(division="giants"), NotFound, "There is no division 'giants'", id="division"),
    ],
)
def test_films_that_cannot_be_made_are_refused_before_any_work(
    drafted: Path, tmp_path: Path, wishes: FilmWishes, error: type[Exception], words: str
) -> None:
    with Library(drafted) as library, pytest.raises(error, match=words):
        pipeline.write_films(library, "spring", tmp_path / "out", wishes)
    assert not (tmp_path / "out").exists()


def test_a_course_without_stations_says_so(tmp_path: Path) -> None:
    with Library(tmp_path / "library") as library:
        library.add_course(Course(name="bare", title="Bare"))
        with pytest.raises(InputError, match="has no station yet"):
            pipeline.write_films(library, "bare", tmp_path / "out", FilmWishes(whole_walk=True))


def test_a_walk_without_words_is_filmed_without_captions(drafted: Path, tmp_path: Path) -> None:
    root = shutil.copytree(drafted, tmp_path / "library")
    with Library(root) as library:
        pipeline.change(library, "spring", "Ana", lambda course, stations: (course.model_copy(update={"words": None}), stations[:1]))
        pipeline.write_films(library, "spring", tmp_path / "out", FilmWishes(whole_walk=True))
    assert not list((tmp_path / "out").glob("captions*"))
    assert "No words were heard" in (tmp_path / "out" / "index.html").read_text("utf-8")
    with av.open(str(tmp_path / "out" / "walk.mp4")) as film:
        assert not film.streams.subtitles


def clip(number: int, start_s: float, length_s: float, size: tuple[int, int] = (1280, 720)) -> Clip:
    width, height = size
    return Clip(
        number=number, title="c", original="0" * 64, start_s=start_s, duration_s=length_s, width=width, height=height, has_audio=True
    )


def test_pieces_cover_the_walk_without_gap_or_overlap_and_none_is_long() -> None:
    clips = [clip(1, 0.0, 400.0), clip(2, 400.0, 50.0)]
    stations = [
        Station(id=f"t{at}", number=at, start=start, end=start + 20) for at, start in ((1, 30.0), (2, 300.0), (3, 399.5), (4, 420.0))
    ]
    pieces = walk_pieces(clips, stations)
    assert pieces[0].at_s == 0.0
    for earlier, later in pairwise(pieces):
        assert earlier.at_s + earlier.end_s - earlier.start_s == pytest.approx(later.at_s)
    assert pieces[-1].at_s + pieces[-1].end_s - pieces[-1].start_s == pytest.approx(450.0)
    assert max(piece.end_s - piece.start_s for piece in pieces) <= 90.0
    numbers = [piece.station.number if piece.station else None for piece in pieces]
    assert numbers == [None, 1, 1, 1, 2, 2, 3, 4]


@pytest.mark.parametrize(
    ("sizes", "canvas"),
    [
        pytest.param([(1920, 1080)], (1280, 720), id="lying"),
        pytest.param([(1080, 1920)], (720, 1280), id="upright"),
        pytest.param([(1080, 1920), (1920, 1080)], (1280, 720), id="both"),
        pytest.param([(640, 480), (1920, 1080)], (1280, 720), id="small and large"),
    ],
)
def test_the_canvas_is_that_of_the_largest_lying_clip(sizes: list[tuple[int, int]], canvas: tuple[int, int]) -> None:
    assert canvas_of([clip(at, 0.0, 5.0, size) for at, size in enumerate(sizes, 1)], 720) == canvas


def test_zones_for_a_division_are_those_of_its_overlay() -> None:
    still = Still(id="s1", time_s=1.0, clip=1, pts=0, width=640, height=360, file="0" * 64, state="accepted")
    said = (Said(start=1, end=2, text="not for the little ones"),)
    surfaces = (
        Surface(id="u1", name="blue box", ruling="in", divisions={"under-tens": "out"}, said=said, state="accepted"),
        Surface(id="u2", name="red box", ruling="out", state="accepted"),
    )
    marks = tuple(
        Mark(id=f"m{at}", still="s1", surface=of, rings=(((x, 90.0), (x + 90, 90.0), (x + 90, 190.0), (x, 190.0)),), state="accepted")
        for at, (of, x) in enumerate((("u1", 100.0), ("u2", 300.0), ("b1", 450.0)))
    )
    blanket = (BlanketRule(rule="surface", surface="pads", ruling="out", divisions={"under-tens": "in"}, id="b1", state="accepted"),)
    course = Course(name="c", title="C", divisions=("under-tens",), blanket=blanket, order=("t1",))
    station = Station(id="t1", number=1, start=0, end=9, surfaces=surfaces, stills=(still,), marks=marks, state="accepted")
    there, (here,) = for_division(course, [station], "under-tens")
    ours, wanted = overlay(there, here, "s1"), overlay(course, station, "s1", division="under-tens")
    assert [(item.surface, item.ruling, item.polygons) for item in ours.items] == [
        (item.surface, item.ruling, item.polygons) for item in wanted.items
    ]
    assert ours.items != overlay(course, station, "s1").items
    assert for_division(course, [station], None) == (course, (station,))
    assert ZoneTrack(there, here, [], (640, 360), drafts=False).at(1.0) is None


def test_who_accepted_a_station_is_not_seen_in_its_film() -> None:
    station = Station(id="t1", number=1, start=0, end=9)
    assert seen_of(station) == seen_of(station.model_copy(update={"accepted_by": "Ana", "signed_by": "Kim"}))
    assert seen_of(station) != seen_of(station.model_copy(update={"name": "rings"}))
