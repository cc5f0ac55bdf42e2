"""Whether one may land past the finish, where no pattern says: what the words said of the end make of it, weighed.

In: the lines from the one that tells the finish on. Out: allowed, not allowed, or None. The patterns of overshoot.py go first; the model
(linear.py) only fills what they leave open.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from annotator.course import Overshoot
from annotator.rules.linear import Weights, fitted
from annotator.rules.overshoot import BADLY, FINE, GOES_PAST, OVER, STOP
from annotator.rules.reading import Line

CLASSES = ("none", "allowed", "not allowed")
LEAST = 0.66
"""Share from which the model is believed."""
AHEAD = 3  # sentences after the finish that may still speak of it
_PAST = frozenset(
    {"past", "over", "beyond", "through", "further", "farther", "off", "on", "across", "out", "overshoot", "overrun", "momentum"}
)


def features_of(lines: Sequence[Line], item: int) -> list[str]:
    """What is said from item `item` of the first line on, and in up to three sentences after it that tell no other thing's place."""
    out = ["always"]
    for far, line in enumerate(lines[: AHEAD + 1]):
        items = line.skeleton.items[item + 1 :] if far == 0 else line.skeleton.items
        if far and any(a.kind in ("start", "use") and a.weight >= 0.7 and a.mention is not None for a in line.acts):
            break
        words = ["@" if i.startswith("@") else i for i in items]
        text, plain = " ".join(items), line.plain if far else " ".join(words)
        where = "here" if far == 0 else "after"
        said = [name for name, row in (("over", OVER), ("fine", FINE), ("badly", BADLY), ("stop", STOP)) if row.search(plain)]
        said += ["past"] if GOES_PAST.search(text) or any(w in _PAST for w in words) else []
        out += [f"{where} {name}" for name in said]
        out.append(f"{where} all: {' '.join(said)}")
        denied = any(w in ("not", "no", "never", "nobody", "without") for w in words)
        for w in words:
            out += [f"{where} {w}", f"any {w}"]
            if denied:
                out.append(f"denied {w}")
        out += [f"any {a} {b}" for a, b in pairwise(words)]
        out.append(f"{where}, denied {denied}, past {'past' in said or 'over' in said}")
        if re.search(r"\bif\b|\bwho\b|\bshould\b|\banybody\b|\banyone\b", plain):
            out.append(f"{where} if, past {'past' in said or 'over' in said}, denied {denied}")
    return list(dict.fromkeys(out))


def weighed_overshoot(
    lines: Sequence[Line], item: int, leaning: Sequence[float] | None = None, weights: Weights | None = None
) -> Overshoot | None:
    """Whether one may land past what the first line tells at `item`; None where that is not said, or not clearly.

    `leaning`: what the language model makes of the finish, for each of CLASSES.
    """
    shares = (weights or fitted("overshoot")).shares(features_of(lines, item), leaning)
    for kind in ("allowed", "not allowed"):
        if shares[kind] >= LEAST:
            return "allowed" if kind == "allowed" else "not allowed"
    return None
