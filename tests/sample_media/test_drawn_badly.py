"""The person whom the benches of snapping play: outlines of things, drawn badly."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import Polygon

from scripts.bench.snap import SCALES, drawn_badly, outline

BLOCK = np.zeros((90, 120), bool)
BLOCK[20:60, 30:100] = True
ROW = np.zeros((90, 120), bool)
ROW[40, 20:90] = True
SLANT = np.zeros((90, 120), bool)
SLANT[np.arange(10, 70), np.arange(30, 90)] = True


@pytest.mark.parametrize("thing", [pytest.param(BLOCK, id="block"), pytest.param(ROW, id="row"), pytest.param(SLANT, id="slant")])
def test_every_thing_has_an_outline_even_one_of_a_pixels_thickness(thing: NDArray[np.bool_]) -> None:
    rings, diagonal = outline(thing)
    rows, columns = np.nonzero(thing)
    assert diagonal == pytest.approx(np.hypot(np.ptp(rows) + 1, np.ptp(columns) + 1))
    assert Polygon(rings[0]).area > 0
    assert np.abs(rings[0].min(axis=0) - (columns.min(), rows.min())).max() <= 1
    assert np.abs(rings[0].max(axis=0) - (columns.max() + 1, rows.max() + 1)).max() <= 1
    for seed in range(3):
        drawn = np.array(drawn_badly(thing, np.random.default_rng(seed))[0])
        assert drawn.shape == rings[0].shape
        most = (SCALES[1] - 1) * diagonal + 5 * 0.03 * diagonal
        assert np.abs(drawn - rings[0]).max() <= most


def test_holes_worth_drawing_are_drawn() -> None:
    frame = BLOCK.copy()
    frame[32:48, 50:80] = False
    frame[25, 40] = False
    rings, _ = outline(frame)
    assert len(rings) == 2
    assert Polygon(rings[1]).area == pytest.approx(16 * 30, rel=0.1)
