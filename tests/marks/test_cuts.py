"""The closed path of most gain, against every path there is; and pixels of outlines, against a finer count."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from annotator.marks.cuts import best_round


@pytest.mark.parametrize("width", [pytest.param(4, id="even way round"), pytest.param(5, id="a column more"), pytest.param(6, id="odd")])
@pytest.mark.parametrize("bend_cost", [0.0, 0.2, 5.0])
def test_the_path_round_is_the_one_of_most_gain(width: int, bend_cost: float) -> None:
    gain = np.random.default_rng(width).random((3, width))
    quarter = width // 4
    around = [column % width for column in range(width + 2 * quarter)]
    steady = [rows for rows in itertools.product(range(3), repeat=len(around)) if np.abs(np.diff(rows)).max() <= 1]
    best = max(steady, key=lambda rows: gain[list(rows), around].sum() - bend_cost * np.abs(np.diff(rows)).sum())
    expected = [*best[width : width + quarter], *best[quarter:width]]
    assert best_round(gain, bend_cost).tolist() == expected
