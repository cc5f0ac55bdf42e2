"""A small linear model: features in, the share of each class out. Multinomial logistic regression; its weights stand in weights.json.

Each weight can be looked up by the feature's name, so that what a decision rests on can be told. scripts/fit_weighed.py fits them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Weights:
    """A weight for each feature and class."""

    classes: tuple[str, ...]
    of: Mapping[str, tuple[float, ...]]

    def sums(self, features: Sequence[str]) -> list[float]:
        """What the features add up to for each class, in log odds up to a constant."""
        sums = [0.0] * len(self.classes)
        for feature in features:
            for k, weight in enumerate(self.of.get(feature, ())):
                sums[k] += weight
        return sums

    def shares(self, features: Sequence[str], leaning: Sequence[float] | None = None) -> dict[str, float]:
        """How likely each class is; the shares sum to 1. `leaning`: what the language model says of each class, in log odds.

        >>> Weights(("no", "yes"), {"wet": (0.0, 2.0)}).shares(["wet", "unheard of"])["yes"] > 0.8
        True
        """
        return dict(zip(self.classes, softmax(together(self.sums(features), leaning)), strict=True))


WORDS, CONTEXT = 0.35, 0.65
"""How much the word classes and the language model (context.py) count: chosen on speakers that taught neither."""


def together(sums: Sequence[float], leaning: Sequence[float] | None) -> list[float]:
    """What word classes and language model come to, in log odds; the word classes alone where the model has not read."""
    if leaning is None:
        return list(sums)
    return [WORDS * each + CONTEXT * other for each, other in zip(sums, leaning, strict=True)]


def softmax(sums: Sequence[float]) -> list[float]:
    """Shares that sum to 1, from log odds."""
    top = max(sums)
    raised = [math.exp(each - top) for each in sums]
    return [each / sum(raised) for each in raised]


@lru_cache(maxsize=8)
def fitted(model: str) -> Weights:
    """The weights of a model in the package: "things", "overshoot", "limbs" or "told"."""
    kept = json.loads(files("annotator.rules").joinpath("weights.json").read_text(encoding="utf-8"))[model]
    return Weights(tuple(kept["classes"]), {feature: tuple(row) for feature, row in kept["weights"].items()})
