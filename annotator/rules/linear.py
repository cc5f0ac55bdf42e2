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

    def shares(self, features: Sequence[str]) -> dict[str, float]:
        """How likely each class is; the shares sum to 1.

        >>> Weights(("no", "yes"), {"wet": (0.0, 2.0)}).shares(["wet", "unheard of"])["yes"] > 0.8
        True
        """
        sums = [0.0] * len(self.classes)
        for feature in features:
            for k, weight in enumerate(self.of.get(feature, ())):
                sums[k] += weight
        top = max(sums)
        raised = [math.exp(each - top) for each in sums]
        return dict(zip(self.classes, (each / sum(raised) for each in raised), strict=True))


@lru_cache(maxsize=8)
def fitted(model: str) -> Weights:
    """The weights of a model in the package: "things", "overshoot" or "limbs"."""
    kept = json.loads(files("annotator.rules").joinpath("weights.json").read_text(encoding="utf-8"))[model]
    return Weights(tuple(kept["classes"]), {feature: tuple(row) for feature, row in kept["weights"].items()})
