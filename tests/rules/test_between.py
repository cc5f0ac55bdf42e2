"""Mixtures of two fits: exact by arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from scripts.between import Fit, between, sooner

DICE = np.random.default_rng(0)


def fit(*, more: bool = False) -> Fit:
    shapes = {"layer.0.x.down": (6, 2), "layer.0.x.up": (2, 5), "layer.0.x.bias": (5,), "asked.weight": (5, 3), "asked.bias": (3,)}
    shapes |= {"new.weight": (5, 1)} if more else {}
    return {name: DICE.normal(size=shape).astype(np.float16) for name, shape in shapes.items()}


def correction(of: Fit) -> np.ndarray:
    return of["layer.0.x.down"].astype(np.float64) @ of["layer.0.x.up"].astype(np.float64)


@pytest.mark.parametrize("share", [0.0, 0.25, 1.0])
def test_a_mixture_corrects_by_the_mean_of_both(share: float) -> None:
    one, other = fit(), fit(more=True)
    mixed = between(one, other, share)
    assert correction(mixed) == pytest.approx((1 - share) * correction(one) + share * correction(other), abs=0.01)
    for name in ("layer.0.x.bias", "asked.weight", "asked.bias"):
        assert mixed[name] == pytest.approx((1 - share) * one[name].astype(np.float64) + share * other[name], abs=0.005)
    assert np.array_equal(mixed["new.weight"], other["new.weight"])


def test_odds_are_added_to_the_answers_of_one_map() -> None:
    one = fit()
    mixed = sooner(one, "asked", [1.0, 0.0, -1.0])
    assert mixed["asked.bias"] - one["asked.bias"] == pytest.approx([1.0, 0.0, -1.0], abs=0.005)
    assert all(np.array_equal(mixed[name], one[name]) for name in one if name != "asked.bias")
