"""Proposing regions for words: boxes by eye on photos that nobody here made, and shaded blocks in a made hall whose places are known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from shapely.geometry import Polygon, box

from annotator.marks import propose, propose_among
from tests.marks.photos import Picture, opencv_doc

Box = tuple[float, float, float, float]


def overlap(ring: tuple[tuple[float, float], ...], there: Box) -> float:
    one, other = box(*Polygon(ring).bounds), box(*there)
    return float(one.intersection(other).area / one.union(other).area)


@pytest.mark.parametrize(
    ("photo", "words", "by_eye", "among"),
    [
        pytest.param("apple.jpg", "the red apple", (45, 72, 462, 495), 1, id="red-apple"),
        pytest.param("orange.jpg", "the orange", (25, 65, 490, 497), 3, id="orange"),
        pytest.param("fruits.jpg", "green lime on the right", (345, 122, 512, 300), 1, id="green-lime"),
        pytest.param("fruits.jpg", "green kiwi, lower left", (0, 280, 104, 480), 2, id="green-kiwi"),
        pytest.param("fruits.jpg", "yellow lemon", (325, 245, 512, 480), 3, id="yellow-lemon"),
        pytest.param("smarties.png", "the blue one above on the right", (350, 55, 404, 108), 1, id="blue-up-right"),
        pytest.param("smarties.png", "green one in the middle", (242, 91, 296, 145), 2, id="green-middle"),
        pytest.param("smarties.png", "left red one", (7, 204, 60, 254), 2, id="red-left"),
    ],
)
def test_the_thing_meant_is_among_the_first(photo: str, words: str, by_eye: Box, among: int) -> None:
    found = propose(opencv_doc(photo), words)
    assert max((overlap(one.rings[0], by_eye) for one in found[:among]), default=0.0) >= 0.5


COLOURS = {"red": (190, 40, 40), "orange": (235, 130, 30), "yellow": (230, 205, 50), "green": (40, 150, 70), "blue": (30, 90, 190)}
PLACES = {name: (60 + 230 * i, 380 - 40 * i, 210 + 230 * i, 520 + 20 * i) for i, name in enumerate(COLOURS)}


def hall(light: float = 1.0) -> Picture:
    """A grey hall with one block of each colour, each with a lit top and a face in shade, under noise."""
    rng = np.random.default_rng(9)
    picture = np.full((720, 1280, 3), 150, np.float32)
    picture[560:] = 120
    for name, (x0, y0, x1, y1) in PLACES.items():
        colour = np.array(COLOURS[name], np.float32)
        picture[y0:y1, x0:x1] = colour * np.linspace(0.9, 0.55, x1 - x0)[None, :, None]
        picture[y0 : y0 + 25, x0:x1] = np.minimum(255, colour * 1.15)
    noisy = cv2.GaussianBlur(picture, (0, 0), 1.2) * light + rng.normal(0, 6, picture.shape)
    return np.asarray(np.clip(noisy, 0, 255), np.uint8)


@pytest.mark.parametrize("name", list(COLOURS))
@pytest.mark.parametrize("light", [1.0, 0.55], ids=["lit", "half-dark"])
def test_in_a_hall_of_blocks_the_named_one_comes_first(name: str, light: float) -> None:
    found = propose(hall(light), f"the {name} block")
    assert (
        overlap(found[0].rings[0], PLACES[name]) >= 0.7
        if light == 1.0
        else max(overlap(one.rings[0], PLACES[name]) for one in found[:3]) >= 0.7
    )


def test_teal_may_be_green_or_blue() -> None:
    picture = hall()
    picture[100:200, 500:700] = (0, 140, 150)
    assert any(overlap(one.rings[0], (500, 100, 700, 200)) > 0.8 for one in propose(picture, "teal box"))


def wooden_hall() -> Picture:
    """A grey wall over a wooden floor whose hue is that of an orange thing, paler."""
    rng = np.random.default_rng(3)
    picture = np.full((540, 960, 3), 160, np.float32)
    picture[300:] = (214, 170, 120)
    picture[300:] += 8 * np.sin(np.arange(240) / 5)[:, None, None]
    return np.asarray(np.clip(picture + rng.normal(0, 4, picture.shape), 0, 255), np.uint8)


def painted(picture: Picture, shape: Box, colour: tuple[int, int, int]) -> Picture:
    x0, y0, x1, y1 = (int(value) for value in shape)
    found = picture.copy()
    found[y0:y1, x0:x1] = colour
    return found


def test_a_vivid_thing_is_told_from_a_floor_of_its_hue() -> None:
    there = (500, 330, 600, 410)
    found = propose(painted(wooden_hall(), there, (240, 130, 20)), "orange box")
    assert overlap(found[0].rings[0], there) >= 0.8


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        pytest.param("white rail", "bar", id="a-rail-is-long-and-thin"),
        pytest.param("white box", "box", id="a-box-is-compact"),
        pytest.param("small white box on the right", "small", id="small-and-right"),
    ],
)
def test_the_kind_of_thing_and_its_size_and_place_choose_among_things_of_one_colour(words: str, meant: str) -> None:
    places = {"bar": (180, 120, 620, 127), "box": (420, 300, 560, 400), "small": (800, 320, 850, 370)}
    picture = wooden_hall()
    for there in places.values():
        picture = painted(picture, there, (250, 250, 250))
    assert overlap(propose(picture, words)[0].rings[0], places[meant]) >= 0.7


def test_a_ring_is_proposed_with_its_hole() -> None:
    picture = wooden_hall()
    cv2.circle(picture, (480, 180), 60, (200, 30, 40), 14, cv2.LINE_AA)
    found = propose(painted(picture, (200, 100, 300, 200), (200, 30, 40)), "red ring")
    assert len(found[0].rings) == 2
    assert overlap(found[0].rings[0], (413, 113, 547, 247)) >= 0.9


def test_of_two_alike_the_one_that_the_camera_points_at_comes_first() -> None:
    picture = painted(painted(wooden_hall(), (40, 420, 140, 500), (30, 60, 200)), (430, 240, 530, 320), (30, 60, 200))
    assert overlap(propose(picture, "blue block")[0].rings[0], (430, 240, 530, 320)) >= 0.8


@pytest.mark.parametrize("cast", [pytest.param((1.0, 0.82, 0.6), id="warm"), pytest.param((0.7, 0.85, 1.0), id="cool")])
def test_under_a_cast_it_is_still_among_the_first(cast: tuple[float, float, float]) -> None:
    tinted = np.asarray(hall() * np.array(cast), np.uint8)
    for name in ("red", "yellow", "green", "blue"):
        assert max(overlap(one.rings[0], PLACES[name]) for one in propose(tinted, f"the {name} block")[:3]) >= 0.6, name


def test_of_several_stills_the_one_that_shows_it_best_comes_first() -> None:
    behind, before = wooden_hall(), painted(wooden_hall(), (430, 240, 530, 320), (30, 60, 200))
    aside = painted(wooden_hall(), (0, 440, 50, 480), (30, 60, 200))
    found = propose_among([behind, aside, before], "blue block")
    assert [at for at, _ in found][:2] == [2, 1]
    assert overlap(found[0][1].rings[0], (430, 240, 530, 320)) >= 0.8
    assert propose(behind, "blue block") == ()
    assert propose_among([], "blue block") == ()


def test_candidates_come_best_first_inside_the_picture_and_say_why() -> None:
    found = propose(opencv_doc("smarties.png"), "Small red, left", most=3)
    assert 1 < len(found) <= 3
    scores = [one.score for one in found]
    assert scores == sorted(scores, reverse=True)
    assert all(0 < score < 1 for score in scores)
    assert {one.why for one in found} == {"red small left"}
    assert all(0 <= x <= 413 and 0 <= y <= 356 for one in found for ring in one.rings for x, y in ring)


@pytest.mark.parametrize(
    ("picture", "words"),
    [
        pytest.param(hall(), "the cargo net", id="no-colour-word"),
        pytest.param(hall(), "", id="no-words"),
        pytest.param(hall(), "purple mat", id="a-colour-that-is-not-there"),
        pytest.param(np.zeros((300, 400, 3), np.uint8), "red mat", id="black"),
        pytest.param(np.full((300, 400, 3), 255, np.uint8), "red mat", id="white"),
        pytest.param(np.random.default_rng(0).integers(0, 256, (300, 400, 3)).astype(np.uint8), "red mat", id="noise"),
        pytest.param(np.zeros((4, 4, 3), np.uint8), "black mat", id="tiny"),
    ],
)
def test_nothing_is_proposed_where_there_is_nothing_to_go_by(picture: Picture, words: str) -> None:
    assert propose(picture, words) == ()
