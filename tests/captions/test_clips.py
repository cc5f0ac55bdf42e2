"""Clips: what is written is looked at by ffprobe and by our decoder, against a scene whose motion is known exactly."""

from __future__ import annotations

import json
import shutil
import subprocess
import wave
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from annotator.captions import write_clip, write_replay
from annotator.captions.clips import CARRIED_LABEL
from annotator.captions.face_looks import FaceLook, FacesAt, faces_over, runs_over
from annotator.captions.film import film_size, labelled
from annotator.captions.overlaid import Post, ZoneTrack, between, certain_carry, lying_together
from annotator.captions.replay import MOST_ALONE, REPLAY_EVERY_S, UNMATCHED_LABEL
from annotator.captions.write import station_title
from annotator.captions.written_over import written_over
from annotator.course import Course, Mark, Station, Still, Surface, Word
from annotator.errors import InputError, Stopped
from annotator.media import ClipInfo, SoundSpan, grab, open_writer, probe, read_picture

Picture = NDArray[np.uint8]
WIDTH, HEIGHT, RATE, LENGTH_S = 640, 360, 10, 4.0
STILL_S = 2.0
PAN_PX_S = 12.0
FFPROBE = shutil.which("ffprobe")


def hall(seed: int) -> Picture:
    """A wide picture full of corners, soft enough to survive the codec."""
    rng = np.random.default_rng(seed)
    scene = np.full((HEIGHT + 80, WIDTH + 240, 3), 120, np.uint8)
    for _ in range(400):
        x, y = int(rng.integers(0, scene.shape[1])), int(rng.integers(0, scene.shape[0]))
        size = rng.integers(8, 50, 2)
        colour = tuple(int(value) for value in rng.integers(0, 255, 3))
        cv2.rectangle(scene, (x, y), (x + int(size[0]), y + int(size[1])), colour, -1)
    return np.asarray(cv2.GaussianBlur(scene, (0, 0), 0.8), dtype=np.uint8)


def seen(scene: Picture, shift_x: float, shift_y: float = 20.0, zoom: float = 1.0) -> Picture:
    matrix = np.array([[zoom, 0, -shift_x * zoom], [0, zoom, -shift_y * zoom]])
    return np.asarray(cv2.warpAffine(scene, matrix, (WIDTH, HEIGHT), flags=cv2.INTER_LINEAR), dtype=np.uint8)


def film(path: Path, scene: Picture, zoom: float = 1.0) -> Path:
    """A camera that pans over the scene at `PAN_PX_S`, with a tone."""
    tone = path.with_suffix(".wav")
    with wave.open(str(tone), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes((8000 * np.sin(np.arange(int(16_000 * LENGTH_S)) * 0.2)).astype("<i2").tobytes())
    with open_writer(path, WIDTH, HEIGHT, end_s=LENGTH_S, sound=[SoundSpan(tone, 0.0, LENGTH_S)]) as writer:
        for at in range(int(LENGTH_S * RATE)):
            writer.write(seen(scene, 40 + PAN_PX_S * at / RATE, zoom=zoom), at / RATE)
    return path


BOX = ((260.0, 140.0), (400.0, 140.0), (400.0, 230.0), (260.0, 230.0))


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Course, Station, dict[str, Picture]]:
    """A clip that begins at 100 s of the walk, with one station, one still in its middle and one accepted mark on it."""
    clip = film(tmp_path_factory.mktemp("walk") / "clip 1 é.mp4", hall(1))
    frame = grab(clip, STILL_S)
    still = Still(id="s01-1", time_s=100 + frame.time_s, clip=1, pts=frame.pts, width=WIDTH, height=HEIGHT, file="", state="accepted")
    station = Station(
        id="s01",
        number=1,
        name="blue boxes",
        start=100.5,
        end=103.5,
        surfaces=(Surface(id="u1", name="blue box", ruling="in", contact=("feet",), state="accepted"),),
        stills=(still,),
        marks=(Mark(id="m1", still="s01-1", surface="u1", rings=(BOX,), state="accepted"),),
        state="accepted",
    )
    return clip, Course(name="demo", title="Demo"), station, {"s01-1": frame.image}


def spoken(text: str, start_s: float) -> list[Word]:
    return [Word(start=start_s + at * 0.4, end=start_s + at * 0.4 + 0.3, text=word) for at, word in enumerate(text.split())]


def changed(one: Picture, other: Picture) -> NDArray[np.bool_]:
    return np.asarray(np.abs(one.astype(int) - other.astype(int)).max(axis=2) > 40)


def test_a_station_clip_shows_its_zone_where_the_thing_moved_to(
    walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    clip, course, station, stills = walk
    with_zones, bare = tmp_path / "zones.mp4", tmp_path / "bare.mp4"
    write_clip(course, station, clip, 100.0, with_zones, stills=stills, show_faces=True)
    write_clip(course, station, clip, 100.0, bare, show_faces=True)
    scale = film_size(probe(clip))[0] / WIDTH
    for later_s in (-1.2, 0.0, 1.1):
        at_s = STILL_S + later_s - (0.5 - 0.4)
        ys, xs = np.nonzero(changed(grab(with_zones, at_s).image, grab(bare, at_s).image))
        # The zone's outline, not its plate nor the label: columns that changed over most of the box's height.
        tall = [x for x in np.unique(xs) if np.ptp(ys[xs == x]) > 0.9 * 90 * scale]
        assert min(tall) == pytest.approx((260 - PAN_PX_S * later_s) * scale, abs=8), later_s
        assert max(tall) >= (400 - PAN_PX_S * later_s) * scale - 8


@pytest.mark.skipif(
    FFPROBE is None, reason="ffprobe is not installed (apt-get install ffmpeg), so the file cannot be looked at from outside"
)
def test_ffprobe_sees_h264_aac_soft_captions_and_no_metadata(
    walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    clip, course, station, stills = walk
    out = tmp_path / "station 1.mp4"
    told: list[float] = []
    words = spoken("You stand on the blue box, feet only.", 101.0) + spoken("Not of this station.", 200.0)
    write_clip(course, station, clip, 100.0, out, words=words, stills=stills, progress=told.append)
    assert FFPROBE is not None
    command = [FFPROBE, "-v", "error", "-show_streams", "-show_format", "-of", "json", str(out)]
    found: dict[str, Any] = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    kinds = {stream["codec_type"]: stream for stream in found["streams"]}
    assert (kinds["video"]["codec_name"], kinds["audio"]["codec_name"], kinds["subtitle"]["codec_name"]) == ("h264", "aac", "mov_text")
    assert (kinds["video"]["width"], kinds["video"]["height"]) == (640, 360)
    assert float(found["format"]["duration"]) == pytest.approx(3.8, abs=0.1)
    tags = {key.lower() for part in (found["format"], *found["streams"]) for key in part.get("tags", {})}
    assert not tags & {"location", "creation_time", "com.apple.quicktime.location.iso6709", "make", "model"}
    assert told == sorted(told)
    assert told[-1] == 1.0
    command = ["ffmpeg", "-v", "error", "-i", str(out), "-map", "0:s:0", "-f", "srt", "-"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    assert "00:00:00,900 --> " in text
    assert "You stand on the blue box," in text
    assert "Not of this station" not in text


def test_a_stopped_clip_leaves_no_file(walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path) -> None:
    clip, course, station, stills = walk

    def stop(share: float) -> None:
        if share > 0.1:
            raise Stopped

    with pytest.raises(Stopped):
        write_clip(course, station, clip, 100.0, tmp_path / "out.mp4", stills=stills, show_faces=True, progress=stop)
    assert list(tmp_path.iterdir()) == []


def test_a_station_outside_the_clip_is_refused(walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path) -> None:
    clip, course, station, _ = walk
    with pytest.raises(InputError, match=r"Station 1: blue boxes .1:40 to 1:43. does not lie in the clip"):
        write_clip(course, station, clip, 300.0, tmp_path / "out.mp4")


def test_a_judges_clip_of_the_same_place_gets_the_zones(walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path) -> None:
    _, course, station, stills = walk
    attempt = film(tmp_path / "attempt.mp4", hall(1), zoom=1.1)
    said = write_replay(course, station, stills, attempt, tmp_path / "replay.mp4", show_faces=True)
    assert said.startswith("Zones of Station 1: blue boxes are shown over ")
    assert probe(tmp_path / "replay.mp4").duration_s == pytest.approx(LENGTH_S, abs=0.1)
    assert said.endswith("Stills: replay-1.jpg, replay-2.jpg, replay-3.jpg, replay-4.jpg.")
    assert {path.name for path in tmp_path.iterdir()} >= {f"replay-{number}.jpg" for number in (1, 2, 3, 4)}
    marked, bare = read_picture(tmp_path / "replay-2.jpg"), grab(attempt, 1.2).image
    ys, xs = np.nonzero(changed(marked, bare)[60:])
    # The camera is nearer by a tenth and pans: the zone's left edge lies where the box went.
    tall = [x for x in np.unique(xs) if np.ptp(ys[xs == x]) > 0.9 * 90 * 1.1]
    edge = (260 + PAN_PX_S * (STILL_S - 1.2)) * 1.1
    assert any(abs(x - edge) < 8 for x in tall)


def test_a_moment_that_no_still_shows_is_matched_to_the_moment_before_it_but_not_for_long(
    walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    _, course, station, stills = walk
    attempt = film(tmp_path / "attempt.mp4", hall(1))
    own = stills["s01-1"]
    asked: list[int] = []

    def carried(marks: Sequence[Mark], source: Picture, targets: Sequence[Picture]) -> Sequence[tuple[Mark, ...]]:
        """The still matches the first two moments only, every moment matches the one before it."""
        if source is own:
            return [tuple(marks) if at < 2 else () for at in range(len(targets))]
        asked.append(len(targets))
        return [tuple(marks) for _ in targets]

    said = write_replay(course, station, stills, attempt, tmp_path / "replay.mp4", show_faces=True, carry=carried)
    assert len(asked) == MOST_ALONE
    assert f"over {(1 + MOST_ALONE) * REPLAY_EVERY_S:.1f} of" in said


@pytest.mark.parametrize("shown", ["another place", "black", "noise"])
def test_a_clip_of_another_place_or_of_nothing_is_not_matched_and_nothing_is_written(
    shown: str, walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    _, course, station, stills = walk
    other = hall(2)
    nothing = {"another place": other, "black": np.zeros_like(other), "noise": np.random.default_rng(4).integers(0, 256, other.shape)}
    attempt = film(tmp_path / "attempt.mp4", np.asarray(nothing[shown], np.uint8))
    with pytest.raises(InputError, match=r"Cannot match 'attempt.mp4' to the stills of Station 1"):
        write_replay(course, station, stills, attempt, tmp_path / "replay.mp4", show_faces=True)
    assert [path.name for path in tmp_path.iterdir() if path.stem.startswith("replay")] == []


def test_a_station_without_accepted_marks_has_nothing_to_replay(
    walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    clip, course, station, stills = walk
    drafted = station.model_copy(update={"marks": tuple(mark.model_copy(update={"state": "draft"}) for mark in station.marks)})
    with pytest.raises(InputError, match="no accepted marks"):
        write_replay(course, drafted, stills, clip, tmp_path / "replay.mp4")


def test_where_one_moment_does_not_match_its_frames_stay_bare(walk: tuple[Path, Course, Station, dict[str, Picture]]) -> None:
    _, course, station, _ = walk
    marks = station.marks
    posts = [Post(0.0, "s01-1", marks), Post(1.0, "s01-1", marks), Post(2.0, "s01-1", ()), Post(3.0, "s01-1", marks)]
    track = ZoneTrack(course, station, posts, (WIDTH, HEIGHT), drafts=False)
    assert [track.at(time_s) is not None for time_s in (-0.5, 0.0, 0.5, 1.5, 2.0, 2.5, 3.0, 3.5)] == [
        False,
        True,
        True,
        False,
        False,
        False,
        True,
        False,
    ]
    assert track.shown_s == 1.0


def test_marks_that_lie_on_each_other_come_together_or_not_at_all() -> None:
    def box(name: str, x: float, size: float) -> Mark:
        ring = ((x, 10.0), (x + size, 10.0), (x + size, 10 + size), (x, 10 + size))
        return Mark(id=name, still="s", surface=name, rings=(ring,))

    pad, top, apart = box("pad", 10, 100), box("top", 20, 30), box("apart", 300, 40)
    groups = lying_together([pad, apart, top], np.zeros((HEIGHT, WIDTH, 3), np.uint8))
    assert [[mark.id for mark in group] for group in groups] == [["apart"], ["pad", "top"]]


def test_marks_keep_their_state_on_a_frame_and_are_left_out_of_another_place() -> None:
    still = seen(hall(1), 40)
    mark = Mark(id="m1", still="s01-1", surface="u1", rings=(BOX,), state="accepted")
    near, other = certain_carry([mark], still, [seen(hall(1), 52), seen(hall(2), 40)])
    assert near[0].state == "accepted"
    assert near[0].rings is not None
    assert np.allclose(np.array(near[0].rings[0]), np.array(BOX) - (12, 0), atol=1.0)
    assert other == ()


def test_what_has_left_the_picture_takes_nothing_else_with_it() -> None:
    still = seen(hall(1), 40)
    inside = Mark(id="m1", still="s01-1", surface="u1", rings=(BOX,), state="accepted")
    gone = inside.model_copy(update={"id": "m2", "rings": (tuple((x - 700, y) for x, y in BOX),)})
    (near,) = certain_carry([inside, gone], still, [seen(hall(1), 52)])
    assert [mark.id for mark in near] == ["m1"]


def test_plates_stand_where_nothing_is_written(walk: tuple[Path, Course, Station, dict[str, Picture]]) -> None:
    _, course, station, _ = walk
    posts = [Post(time_s, "s01-1", station.marks) for time_s in (0.0, 0.5, 1.0)]
    canvas = (WIDTH, HEIGHT)
    plain = ZoneTrack(course, station, posts, canvas, drafts=False).at(0.7)
    assert plain is not None
    first = plain.items[0].plates[0].box
    clear = ZoneTrack(course, station, posts, canvas, drafts=False, kept_free=(first,)).at(0.7)
    assert clear is not None
    assert all(plate.box.intersection(first).area == 0 for item in clear.items for plate in item.plates)
    label, captions = written_over(canvas, canvas, canvas, (station_title(station), CARRIED_LABEL), at_top=False)
    assert label.bounds[:2] == (0.0, 0.0) and label.bounds[3] < HEIGHT / 4
    assert captions.bounds[1] > HEIGHT * 0.7 and captions.bounds[3] < HEIGHT


def test_zones_that_hardly_moved_are_drawn_where_they_were(walk: tuple[Path, Course, Station, dict[str, Picture]]) -> None:
    _, course, station, _ = walk
    moved = station.marks[0].model_copy(update={"rings": (tuple((x + 40, y) for x, y in BOX),)})
    posts = [Post(0.0, "s01-1", station.marks), Post(1.0, "s01-1", (moved,))]
    track = ZoneTrack(course, station, posts, (WIDTH, HEIGHT), drafts=False)
    first = track.at(0.0)
    assert track.at(0.003) is first
    later = track.at(0.1)
    assert first is not None and later is not None and later is not first
    assert later.items[0].polygons[0][0][0][0] - first.items[0].polygons[0][0][0][0] == pytest.approx(4.0)


def test_between_two_posts_every_point_is_on_its_straight_way() -> None:
    one = Mark(id="m", still="s", surface="u", rings=(BOX,))
    moved = tuple((x + 8, y - 4) for x, y in BOX)
    half = between(one, one.model_copy(update={"rings": (moved,)}), 0.25)
    assert half.rings == (tuple((x + 2, y - 1) for x, y in BOX),)


@pytest.mark.parametrize(
    ("size", "made"),
    [
        pytest.param((1920, 1080), (854, 480), id="landscape"),
        pytest.param((1080, 1920), (480, 854), id="portrait"),
        pytest.param((321, 241), (320, 240), id="small and odd"),
        pytest.param((480, 480), (480, 480), id="square"),
    ],
)
def test_a_film_is_480_lines_at_most_and_even(size: tuple[int, int], made: tuple[int, int]) -> None:
    info = ClipInfo(
        width=size[0],
        height=size[1],
        duration_s=1.0,
        start_pts_s=0.0,
        rotation=0,
        video_codec="h264",
        audio_codec=None,
        frame_count=None,
        average_rate=None,
        variable_rate=False,
        has_audio=False,
    )
    assert film_size(info) == made


def test_a_label_lies_in_the_corner_and_changes_nothing_else() -> None:
    picture = np.full((480, 854, 3), 60, np.uint8)
    marked = labelled(picture, (UNMATCHED_LABEL,))
    assert (picture == 60).all()
    ys, xs = np.nonzero(changed(picture, marked))
    assert ys.max() < 48
    assert xs.max() < 600
    assert labelled(picture, ()) is picture


def test_a_label_that_is_wider_than_an_upright_film_goes_on_in_the_next_row() -> None:
    narrow, wide = (np.full((854, width, 3), 60, np.uint8) for width in (480, 1200))
    one, two = (np.nonzero(changed(picture, labelled(picture, (CARRIED_LABEL,)))) for picture in (wide, narrow))
    assert two[1].max() < 480
    assert two[0].max() > 45, "two rows of letters of 20 pixels"
    assert one[0].max() < 64, "one row of letters of 35"
    right = labelled(narrow, (CARRIED_LABEL,))[:, -4:]
    assert not (right < 60).any(), "no letter is cut off"


def test_each_moment_hides_the_faces_found_before_and_after_it(walk: tuple[Path, Course, Station, dict[str, Picture]]) -> None:
    searched: list[bool] = []

    def one_box(image: Picture, turned: bool) -> tuple[tuple[float, float, float, float], ...]:
        searched.append(turned)
        return ((float(len(searched) - 1), 0.0, 5.0, 5.0),)

    faces = faces_over(walk[0], 0.0, 1.6, find=one_box)
    # A look every 0.3 s until the clip ends at 3.9; every third, and the one at the end, also search turned pictures, and hold for all
    # moments until the next of that kind.
    assert searched == [at % 3 == 0 for at in range(14)] + [True]
    hidden = [{int(box[0]) for box in faces.at(at / 10)} for at in (0, 1, 3, 6, 9, 12, 15)]
    assert hidden == [{0, 1, 3}, {0, 1, 3}, {0, 1, 2, 3}, {0, 2, 3}, {3, 4, 6}, {3, 4, 5, 6}, {3, 5, 6}]


def test_looking_for_faces_stops_after_the_look_at_which_it_is_told_to(walk: tuple[Path, Course, Station, dict[str, Picture]]) -> None:
    looked: list[bool] = []

    def none_there(image: Picture, turned: bool) -> tuple[tuple[float, float, float, float], ...]:
        looked.append(turned)
        return ()

    def stop(share: float) -> None:
        if len(looked) == 2:
            raise Stopped

    with pytest.raises(Stopped):
        faces_over(walk[0], 0.0, 1.6, find=none_there, progress=stop)
    assert len(looked) == 2


def test_looks_for_faces_are_the_same_whatever_stretch_asks_for_them() -> None:
    looks = [FaceLook(at * 0.3, at % 3 == 0, ((10.0 * at, 0.0, 10.0 * at + 8, 8.0),) if at != 4 else ()) for at in range(10)]
    faces = FacesAt(looks)
    assert faces.at(1.2) == FacesAt(looks[::-1]).at(1.2)
    assert (50.0, 0.0, 58.0, 8.0) in faces.at(1.25)
    assert FacesAt([]).at(1.0) == ()
    assert runs_over(8.0, 20.0) == range(3)


def test_a_films_faces_are_hidden_where_they_are_in_its_own_size(
    walk: tuple[Path, Course, Station, dict[str, Picture]], tmp_path: Path
) -> None:
    clip, course, station, _ = walk
    box = (200.0, 100.0, 260.0, 160.0)
    hiding = FacesAt([FaceLook(0.0, True, (box,)), FaceLook(4.0, True, (box,))])
    write_clip(course, station, clip, 100.0, tmp_path / "hidden.mp4", faces=hiding, short_side=180)
    write_clip(course, station, clip, 100.0, tmp_path / "shown.mp4", show_faces=True, short_side=180)
    hidden, shown = (grab(tmp_path / f"{name}.mp4", 1.0).image.astype(int) for name in ("hidden", "shown"))
    assert hidden.shape == (180, 320, 3)
    ys, xs = np.nonzero(np.abs(hidden - shown).max(axis=2) > 60)
    # Half the size, grown by three tenths to each side.
    assert 89 <= xs.min() <= xs.max() <= 141
    assert 39 <= ys.min() <= ys.max() <= 91
    assert len(xs) > 300
