"""Contrast and colour vision, against published formulas and values worked from them.

WCAG 2.2 relative luminance and contrast (not rounded); Machado, Oliveira and Fernandes 2009 (IEEE TVCG 15(6)), severity 1.0, on linear RGB.
"""

from __future__ import annotations

import numpy as np
import pytest

from annotator.marks import overlay, paint
from annotator.marks.looks import DRAFT_IN, DRAFT_OUT, INK, LOOKS, Look
from tests.marks.makers import course, mark, square, station, surface

MACHADO = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
Colour = tuple[float, ...]


def rgb(code: str) -> Colour:
    return tuple(int(code[i : i + 2], 16) / 255 for i in (1, 3, 5))


def linear(colour: Colour | np.ndarray) -> np.ndarray:
    found = np.asarray(colour)
    return np.where(found <= 0.04045, found / 12.92, ((found + 0.055) / 1.055) ** 2.4)


def encoded(values: np.ndarray) -> Colour:
    clipped = np.clip(values, 0, 1)
    return tuple(np.where(clipped <= 0.0031308, clipped * 12.92, 1.055 * clipped ** (1 / 2.4) - 0.055).tolist())


def luminance(colour: Colour) -> float:
    return float(linear(colour) @ [0.2126, 0.7152, 0.0722])


def contrast(one: Colour, other: Colour) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def seen(colour: Colour, kind: str) -> Colour:
    return colour if kind == "full" else encoded(np.asarray(MACHADO[kind]) @ linear(colour))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [("#777777", "#FFFFFF", 4.4781), ("#767676", "#FFFFFF", 4.5422), ("#0072B2", "#FFFFFF", 5.185), ("#D55E00", "#000000", 5.430)],
)
def test_our_contrast_is_the_published_one(one: str, other: str, expected: float) -> None:
    assert contrast(rgb(one), rgb(other)) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("code", "kind", "expected"),
    [
        ("#D55E00", "protan", (129, 113, 0)),
        ("#D55E00", "deutan", (158, 140, 0)),
        ("#D55E00", "tritan", (235, 64, 80)),
        ("#0072B2", "protan", (83, 117, 181)),
        ("#0072B2", "deutan", (59, 103, 177)),
        ("#0072B2", "tritan", (0, 130, 137)),
    ],
)
def test_our_simulation_is_the_published_one(code: str, kind: str, expected: tuple[int, int, int]) -> None:
    assert [round(255 * value) for value in seen(rgb(code), kind)] == pytest.approx(expected, abs=1)


ALL = [pytest.param(look, id=name) for name, look in [*LOOKS.items(), ("draft in", DRAFT_IN), ("draft out", DRAFT_OUT)]]


@pytest.mark.parametrize("kind", ["full", "protan", "deutan", "tritan"])
@pytest.mark.parametrize("look", ALL)
def test_each_line_stands_out_from_the_line_under_it(look: Look, kind: str) -> None:
    """WCAG 2.2 SC 1.4.11: parts of a graphic needed to understand it, at least 3:1 against what they touch."""
    for under, over in zip(look.strokes, look.strokes[1:], strict=False):
        assert contrast(seen(rgb(under.colour), kind), seen(rgb(over.colour), kind)) >= 3


@pytest.mark.parametrize("kind", ["full", "protan", "deutan", "tritan"])
@pytest.mark.parametrize("look", ALL)
def test_on_no_grey_do_all_lines_of_an_outline_vanish(look: Look, kind: str) -> None:
    """Two lines 3:1 apart cannot both be near one ground: the farther one keeps at least the root of 3, and the pair its 3:1."""
    for level in range(256):
        ground = (level / 255,) * 3
        assert max(contrast(seen(rgb(stroke.colour), kind), ground) for stroke in look.strokes) >= 3**0.5


@pytest.mark.parametrize("look", ALL)
def test_the_text_of_a_plate_is_read_on_its_ground(look: Look) -> None:
    """WCAG 2.2 SC 1.4.3: 4.5:1."""
    assert contrast(rgb(look.ground), rgb(look.text)) >= 4.5


def test_in_and_out_differ_without_colour() -> None:
    inside, outside = LOOKS["in play"], LOOKS["out of play"]
    assert inside.strokes[-1].dash is None and outside.strokes[-1].dash is not None
    assert not inside.hatch and outside.hatch
    assert inside.strokes[0].colour != INK and outside.strokes[0].colour == INK


GROUNDS = [pytest.param(level, id=name) for level, name in ((0, "black"), (90, "dark"), (150, "grey"), (255, "white"))]


def pictured(what: np.ndarray, kind: str) -> np.ndarray:
    """Relative luminance of every pixel as it is seen, the picture made grey for a printer without colour."""
    light = linear(what.astype(float) / 255)
    if kind in MACHADO:
        light = np.clip(light @ np.asarray(MACHADO[kind]).T, 0, 1)
    return np.asarray(light @ [0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("kind", ["grey", "protan", "deutan", "tritan"])
@pytest.mark.parametrize("level", GROUNDS)
@pytest.mark.parametrize("ruling", ["in", "out"])
def test_a_painted_outline_is_seen_on_any_ground_by_light_alone(ruling: str, level: int, kind: str) -> None:
    """WCAG 2.2 SC 1.4.11 (3:1), between pixels of the outline: the drawn thing, not its codes."""
    there = station([surface("u1", "platform", ruling)], [mark("m1", "u1", square(80, 60, 320, 240))])
    ground = np.full((300, 400, 3), level, np.uint8)
    seen_light = pictured(paint(ground, overlay(course(), there, "s1", plates=False)), kind)
    across = seen_light[150, 60:100]  # over the left edge of the mark
    along = seen_light[70:230, 80]  # on the edge: a dash shows as light and dark, a solid line as one
    assert (across.max() + 0.05) / (across.min() + 0.05) >= 3
    swing = (along.max() + 0.05) / (along.min() + 0.05)
    assert swing >= 1.5 if ruling == "out" else swing < 1.1


@pytest.mark.parametrize("kind", ["grey", "protan", "deutan", "tritan"])
@pytest.mark.parametrize("level", GROUNDS)
def test_a_painted_hatch_is_seen_on_any_ground_and_only_where_it_is_out(level: int, kind: str) -> None:
    ground = np.full((300, 400, 3), level, np.uint8)
    swings = {}
    for ruling in ("in", "out"):
        there = station([surface("u1", "platform", ruling)], [mark("m1", "u1", square(80, 60, 320, 240))])
        inside = pictured(paint(ground, overlay(course(), there, "s1", plates=False)), kind)[100:200, 120:280]
        swings[ruling] = float((inside.max() + 0.05) / (inside.min() + 0.05))
    assert swings["out"] >= 1.7  # two of the three tones of a hatch; common practice, no published source
    assert swings["in"] < 1.02
