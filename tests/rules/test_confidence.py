"""How sure a drafted surface is: what moves it, that it stays a share, and that the fit is the one an outside optimiser finds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from annotator.course import Word
from annotator.rules import draft
from annotator.rules.confidence import LEAST, MOST, WEIGHTS, share_of
from scripts.fit_confidence import RIDGE, fitted, table
from tests.rules.reading_of import station_of, words_of

OTHERS = sorted(set(WEIGHTS) - {"always"})
WALK = "Station one, the log walk. Start on the red box. The log is in, feet only. Finish on the blue mat."


def _sure(text: str, name: str) -> float:
    surface = next(s for s in station_of(text).surfaces if s.name == name)
    assert surface.confidence is not None
    return surface.confidence


@pytest.mark.parametrize(
    ("surer", "less_sure", "name"),
    [
        pytest.param("Start on the red box. The beam is in.", "Start on the red box. There is a beam.", "beam", id="ruled, only spoken of"),
        pytest.param("The barrel is in.", "The frobble is in.", "barrel", id="a usual thing, an unknown one"),
    ],
)
def test_what_is_said_outright_of_a_usual_thing_is_surer(surer: str, less_sure: str, name: str) -> None:
    other = name if name in less_sure else "frobble"
    assert _sure(surer, name) > _sure(less_sure, other)


def _heard(badly: str | None) -> list[Word]:
    return [w.model_copy(update={"probability": 0.2 if badly and badly in w.text else 0.97}) for w in words_of(WALK)]


def test_a_name_heard_badly_makes_its_surface_less_sure_and_no_other() -> None:
    well, badly = draft(_heard(None)), draft(_heard("mat"))
    pairs = zip(well.stations[0].surfaces, badly.stations[0].surfaces, strict=True)
    assert {a.name for a, b in pairs if (b.confidence or 0) < (a.confidence or 0)} == {"blue mat"}


@given(st.sets(st.sampled_from(OTHERS)), st.sampled_from(OTHERS))
def test_it_is_a_share_and_each_sign_moves_it_the_way_of_its_weight(signs: set[str], one: str) -> None:
    without = share_of(frozenset({"always", *signs} - {one}))
    with_it = share_of(frozenset({"always", *signs, one}))
    assert LEAST <= without <= MOST
    assert (with_it - without) * WEIGHTS[one] >= 0


# scipy.optimize minimises the same penalised likelihood by another method
def test_the_fit_is_the_one_that_an_outside_optimiser_finds() -> None:
    drawn = np.random.default_rng(5)
    signs = [frozenset({"always", *(s for s in OTHERS if drawn.random() < 0.4)}) for _ in range(300)]
    items = [(each, 0.0, bool(drawn.random() < (0.9 if "said outright" in each else 0.5)), "clean") for each in signs]
    names = list(WEIGHTS)
    x = np.array([[float(name in each) for name in names] for each in signs])
    y = np.array([float(right) for _, _, right, _ in items])
    pull = np.array([0.0 if name == "always" else RIDGE for name in names])

    def loss(w: np.ndarray) -> float:
        odds = x @ w
        return float(np.sum(np.logaddexp(0, odds) - y * odds) + 0.5 * np.sum(pull * w**2))

    outside = minimize(loss, np.zeros(len(names)), method="BFGS").x
    assert list(fitted(items).values()) == pytest.approx(list(outside), abs=0.02)


def test_the_table_gives_the_share_right_in_each_bin_and_how_far_off_it_is() -> None:
    items = [(frozenset({"always"}), sure, right, "clean") for sure, right in [(0.96, True)] * 3 + [(0.96, False)] + [(0.3, False)] * 4]
    shown = table(items)
    rows = [line.split() for line in shown.splitlines()[1:-1]]
    assert rows == [["0.00-0.50", "4", "0.30", "0.00"], ["0.95-1.00", "4", "0.96", "0.75"]]
    assert "calibration error 0.255" in shown  # (0.96 - 0.75) / 2 + 0.3 / 2, by hand
