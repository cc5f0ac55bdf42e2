"""Sharp, steady, not two alike. Against: Brenner's measure in plain numpy, exact small cases, the published Laplacian of a Debian photo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from numpy.typing import NDArray

from annotator.errors import Stopped
from annotator.media import Window, grab, pick_each, pick_stills, sharpness
from annotator.media.stills import TREMBLE, Best, Scored, contrast, gist, likeness, measured, shift, shrink, speed
from tests.marks.photos import opencv_doc
from tests.media.makers import make_clip, steady, uneven

Gray = NDArray[np.uint8]


def step() -> Gray:
    image = np.zeros((8, 8), np.uint8)
    image[:, 4:] = 255
    return image


def checks(side: int) -> Gray:
    """A checkerboard of 8 x 8 pixels with fields of `side`."""
    return np.asarray((np.indices((8, 8)) // side).sum(axis=0) % 2 * 255, np.uint8)


@pytest.mark.parametrize(
    ("image", "value"),
    [
        pytest.param(step(), 2 * 8 * 255**2 / 64, id="vertical-step"),
        pytest.param(checks(2), 2 * 6 * 8 * 255**2 / 64, id="checkerboard-of-two"),
        pytest.param(checks(1), 0.0, id="checkerboard-of-one"),
        pytest.param(np.full((8, 8), 90, np.uint8), 0.0, id="one-grey"),
    ],
)
def test_sharpness_of_exact_cases(image: Gray, value: float) -> None:
    """By hand from Brenner's measure: squares of what pixels two apart differ by; what repeats every two pixels is not seen."""
    assert sharpness(image) == pytest.approx(value, rel=1e-12)


@given(arrays.arrays(np.uint8, st.tuples(st.integers(3, 20), st.integers(3, 20))))
def test_sharpness_is_brenners_measure_across_and_down(image: Gray) -> None:
    """Peer: the definition in plain numpy."""
    plain = image.astype(float)
    squares = ((plain[:, 2:] - plain[:, :-2]) ** 2).sum() + ((plain[2:] - plain[:-2]) ** 2).sum()
    assert sharpness(image) == pytest.approx(squares / image.size, rel=1e-9, abs=1e-9)


def test_sharpness_falls_with_blur_as_the_variance_of_the_laplacian_does() -> None:
    """Peer: the variance of the Laplacian of graf1.png, published as 685.50, 351.70, 88.15, 16.49, 3.09, 1.74 at these blurs."""
    plain = np.asarray(cv2.cvtColor(opencv_doc("graf1.png"), cv2.COLOR_RGB2GRAY), np.uint8)
    blurred = [plain, *(np.asarray(cv2.GaussianBlur(plain, (0, 0), sigma), np.uint8) for sigma in (0.5, 1, 2, 4, 8))]
    ours = [sharpness(image) for image in blurred]
    peer = [cv2.Laplacian(image, cv2.CV_64F, ksize=1).var() for image in blurred]
    assert peer == pytest.approx([685.50, 351.70, 88.15, 16.49, 3.09, 1.74], rel=0.01)
    assert ours == sorted(ours, reverse=True) and ours[0] > 5 * ours[-1]


@pytest.mark.parametrize("shape", [(8, 8, 3), (2, 9), (9, 2)])
def test_sharpness_refuses_what_is_no_plane(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="one plane"):
        sharpness(np.zeros(shape, np.uint8))


def texture(seed: int, height: int = 360, width: int = 640) -> Gray:
    grain = np.random.default_rng(seed).integers(0, 256, (height // 8, width // 8)).astype(np.uint8)
    return np.asarray(cv2.resize(grain, (width, height), interpolation=cv2.INTER_CUBIC), np.uint8)


@pytest.mark.parametrize("pixels", [0, 8, 24])
def test_a_shift_is_measured_as_a_share_of_the_width(pixels: int) -> None:
    wide = texture(1, 360, 800)
    here, there = shrink(wide[:, 50:690]), shrink(wide[:, 50 + pixels : 690 + pixels])
    before = here.copy(), there.copy()
    assert shift(here, there) == pytest.approx(pixels / 640, abs=0.002)
    assert np.array_equal(here, before[0]) and np.array_equal(there, before[1]), "what is compared stays as it is"


def view(gray: Gray) -> NDArray[np.float32]:
    return gist(shrink(gray))


def test_likeness_tells_a_hands_tremble_from_another_view() -> None:
    wide = texture(1, 360, 800)
    assert likeness(view(wide[:, :640]), view(wide[:, 2:642])) > 0.95
    assert likeness(view(wide[:, :640]), view(texture(2))) < 0.5
    assert likeness(view(wide[:, :640]), view(wide[:, 160:])) < 0.5
    assert likeness(view(np.zeros((90, 160), np.uint8)), view(np.full((90, 160), 9, np.uint8))) == 1.0
    assert likeness(view(np.zeros((90, 160), np.uint8)), view(texture(2))) == 0.0


@given(arrays.arrays(np.uint8, (90, 160), elements=st.integers(0, 255)), st.integers(0, 2**31))
@settings(max_examples=20, deadline=None)
def test_likeness_is_the_correlation_of_the_coarse_pictures(one: Gray, seed: int) -> None:
    """Peer: numpy's own coefficient of correlation."""
    other = np.random.default_rng(seed).integers(0, 256, (90, 160)).astype(np.uint8)
    coarse = [np.asarray(cv2.resize(shrink(gray), (40, 22), interpolation=cv2.INTER_AREA)).ravel() for gray in (one, other)]
    if coarse[0].std() > 0.5:
        assert likeness(view(one), view(other)) == pytest.approx(np.corrcoef(np.stack(coarse).astype(float))[0, 1], abs=1e-3)


def test_what_blur_and_noise_alone_would_look_like_is_no_speed() -> None:
    here = shrink(texture(1))
    assert speed(here, here + np.random.default_rng(1).normal(0, 3, here.shape).astype(np.float32), 1 / 30) == 0
    assert speed(here, np.roll(here, 8, axis=1), 0.5) == pytest.approx((8 / 160 - TREMBLE) / 0.5, abs=0.02)


def test_speed_is_taken_over_steps_and_a_frame_between_two_has_the_faster() -> None:
    wide = texture(1, 360, 900)
    places = [0, 0, 0, 0, 16, 32, 48, 48, 48, 48]  # at 30 frames a second: still, then 48 px in a tenth of a second, then still
    frames = [(at / 30, np.ascontiguousarray(wide[:, 50 + place : 690 + place]), at) for at, place in enumerate(places)]
    speeds = [frame.speed for frame in measured(frames)]
    fast = pytest.approx((48 / 640 - TREMBLE) * 10, abs=0.03)
    assert speeds == [0, 0, 0, fast, fast, fast, fast, 0, 0, 0]
    assert [frame.thing for frame in measured(frames)] == list(range(10))


def test_sharpness_is_held_against_the_contrast_of_the_step_that_a_frame_lies_in() -> None:
    """A step's frames are compared by sharpness alone; one of one grey has none, and what follows in the next step has its own again."""
    grays = [texture(1), texture(2), texture(3), texture(4), np.full((360, 640), 9, np.uint8), texture(5), texture(6)]
    found = [frame.sharp for frame in measured((at * 0.04, gray, at) for at, gray in enumerate(grays))]
    against = [contrast(shrink(grays[at])) for at in (0, 0, 0, 3, 3, 3, 6)]
    assert found == pytest.approx([sharpness(gray) / each for gray, each in zip(grays, against, strict=True)])
    black = [(at * 0.5, np.zeros((360, 640), np.uint8), at) for at in range(3)]
    assert [(frame.sharp, frame.speed) for frame in measured(black)] == [(0.0, 0.0)] * 3
    assert list(measured([])) == []


def made(time_s: float, sharp: float, seed: int, speed: float = 0.0) -> Scored[int]:
    return Scored(time_s, sharp, speed, texture(seed), seed)


def test_of_two_equally_good_frames_that_look_alike_the_earlier_is_taken() -> None:
    best: Best[int] = Best(2)
    for time_s in (1.0, 2.0):
        best.add(made(time_s, 5.0, seed=7))
    assert [each.time_s for each in best.chosen()] == [1.0]


def test_a_steady_frame_wins_over_a_little_sharper_one_in_motion() -> None:
    best: Best[int] = Best(1)
    best.add(made(1.0, 5.0, seed=1, speed=0.5))
    best.add(made(2.0, 4.0, seed=2, speed=0.0))
    assert [each.time_s for each in best.chosen()] == [2.0]


@given(st.lists(st.tuples(st.floats(0.01, 10), st.integers(0, 5)), min_size=1, max_size=40), st.integers(1, 4))
@settings(max_examples=40, deadline=None)
def test_no_two_chosen_are_alike_or_neighbours_and_the_best_of_all_is_among_them(frames: list[tuple[float, int]], count: int) -> None:
    best: Best[int] = Best(count)
    for at, (sharp, seed) in enumerate(frames):
        best.add(made(at * 0.3, sharp, seed))
    chosen = best.chosen()
    assert 1 <= len(chosen) <= count
    assert len({each.thing for each in chosen}) == len(chosen)
    assert chosen[0].score == max(sharp for sharp, _ in frames)
    assert [each.score for each in chosen] == sorted((each.score for each in chosen), reverse=True)


def film(path: Path, blurs: list[float], views: list[int], rotation: int = 0) -> Path:
    """A clip of 25 frames a second: frame n shows view `views[n]`, blurred by `blurs[n]` pixels."""
    with av.open(str(path), "w") as made:
        track: Any = made.add_stream("libx264", rate=25, options={"crf": "18", "preset": "veryfast"})
        track.width, track.height, track.pix_fmt = 640, 360, "yuv420p"
        if rotation:
            track.set_display_rotation(rotation)
        for at, (blur, view) in enumerate(zip(blurs, views, strict=True)):
            gray = texture(view) if blur == 0 else np.asarray(cv2.GaussianBlur(texture(view), (0, 0), blur), np.uint8)
            frame = av.VideoFrame.from_ndarray(np.repeat(gray[..., None], 3, axis=2), "rgb24")
            frame.pts = at
            made.mux(track.encode(frame))
        made.mux(track.encode(None))
    return path


def test_the_sharp_frame_of_each_window_is_picked_in_one_pass(tmp_path: Path) -> None:
    blurs = [4.0] * 100
    blurs[31] = blurs[77] = 0.0
    path = film(tmp_path / "a.mp4", blurs, [1] * 100)
    picks = pick_stills(path, [Window(2.5, 3.5), Window(0.5, 1.9), Window(3.6, 3.9)])
    assert [pick.window for pick in picks] == [0, 1, 2]
    assert [round(pick.time_s * 25) for pick in picks[:2]] == [77, 31]
    for pick in picks:
        again = grab(path, pick.time_s)
        assert again.pts == pick.pts and np.array_equal(again.image, pick.image)


def test_several_stills_of_a_window_show_different_things(tmp_path: Path) -> None:
    path = film(tmp_path / "a.mp4", [1.0] * 90, [1] * 30 + [2] * 30 + [3] * 30)
    three = pick_stills(path, [Window(0.0, 3.6, 3)])
    assert sorted(int(pick.time_s * 25) // 30 for pick in three) == [0, 1, 2]
    assert len(pick_stills(path, [Window(0.0, 1.1, 3)])) == 1, "one view only, so one still only"


def test_why_says_what_was_compared(tmp_path: Path) -> None:
    blurs = [3.0] * 50
    blurs[20] = 0.0
    (pick,) = pick_stills(film(tmp_path / "a.mp4", blurs, [1] * 50), [Window(0.0, 1.9)])
    assert pick.why == "sharper and steadier than 47 of 47 other frames within 2 s, the camera still"


def test_windows_far_apart_and_turned_clips_give_upright_frames_of_their_own_span(tmp_path: Path) -> None:
    path = film(tmp_path / "a.mp4", [1.0] * 400, [1] * 400, rotation=90)
    picks = pick_stills(path, [Window(1.0, 1.5), Window(14.0, 14.5)])
    assert [pick.image.shape for pick in picks] == [(640, 360, 3)] * 2
    assert 1.0 <= picks[0].time_s <= 1.5 and 14.0 <= picks[1].time_s <= 14.5


@pytest.mark.parametrize(
    ("window", "number"),
    [
        pytest.param(Window(1.05, 1.06), 26, id="between-two-frames"),
        pytest.param(Window(90.0, 99.0), 74, id="after-the-end"),
        pytest.param(Window(0.0, 0.0), 0, id="the-first-frame"),
    ],
)
def test_a_window_without_a_frame_of_its_own_gets_what_is_on_screen(tmp_path: Path, window: Window, number: int) -> None:
    (pick,) = pick_stills(make_clip(tmp_path / "a.mp4", steady(75)), [window])
    assert round(pick.time_s * 25) == number
    assert pick.why == "the only frame there"


def test_progress_rises_to_the_end_and_a_stop_goes_through(tmp_path: Path) -> None:
    path = make_clip(tmp_path / "a.mp4", uneven(60))
    told: list[float] = []
    pick_stills(path, [Window(0.2, 1.0), Window(3.0, 4.0)], progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 5

    def stop(share: float) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        pick_stills(path, [Window(0.2, 1.0)], progress=stop)


def test_a_pick_comes_as_soon_as_its_window_is_past(tmp_path: Path) -> None:
    path, windows = make_clip(tmp_path / "a.mp4", uneven(60)), [Window(3.0, 4.0), Window(0.2, 1.0), Window(0.9, 1.5)]
    told: list[float] = []
    picks = []
    for pick in pick_each(path, windows, progress=told.append):
        picks.append((pick.window, told[-1] if told else 0.0))
    assert [window for window, _ in picks] == [1, 2, 0] and picks[0][1] < 0.6, "while the rest was still to be read"
    assert [pick.window for pick in pick_stills(path, windows)] == [0, 1, 2]


@pytest.mark.parametrize("window", [Window(2.0, 1.0), Window(0.0, 1.0, 0)], ids=["ends-before-it-starts", "wants-none"])
def test_a_window_that_cannot_be_is_refused(tmp_path: Path, window: Window) -> None:
    with pytest.raises(ValueError, match="window 1"):
        pick_stills(make_clip(tmp_path / "a.mp4", steady(5)), [window])
    assert pick_stills(tmp_path / "not opened", []) == ()
