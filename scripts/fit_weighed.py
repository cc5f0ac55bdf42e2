"""Fit the weights of annotator/rules/weighed.py on walks that have been read, or show by leaving one walk out what they are worth.

    fit_weighed.py --scorer FILE FOLDER... --name read_ dev_ -o annotator/rules/weights.json     fits and writes
    fit_weighed.py --scorer FILE FOLDER... --name read_ dev_ --leave-one-out                     each walk drafted by what the others taught

A phrase of a sentence gets the class of the surface that the answers of its station know by that name (its ruling, or start or finish), or
`none`. Multinomial logistic regression with a ridge, by accelerated gradient descent from zero: the same walks give the same weights.
`--name` picks what may be learned from; never name a walk here that is to stay unread. Only totals are printed.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.course import Word
from annotator.rules import draft as draft_words
from annotator.rules import weighed
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line, read_walk
from scripts.fit_confidence import load_scorer
from scripts.score_rules import read_folder

RIDGE = 2.0
STEPS = 400
RAREST = 3  # a feature is kept where it occurs in so many phrases
Walk = tuple[str, str, list[Word], list[str], dict[str, Any]]
Example = tuple[list[str], str]


def _class_of(mention: Mention, surfaces: Sequence[dict[str, Any]], scorer: Any) -> str | None:
    """The class that the answers give a phrase; None where they give it two."""
    fits = [s for s in surfaces if scorer.likeness(s["name"], mention.name) >= 0.5 and scorer.colour_same(s, {"name": mention.name})]
    if mention.part:
        fits = [s for s in fits if set(scorer.toks(s.get("part"))) & set(scorer.toks(mention.part))]
    else:
        fits = [s for s in fits if not s.get("part")] or fits
    if not fits:
        return "none"
    best = max(scorer.likeness(s["name"], mention.name) for s in fits)
    kinds = {
        s["role"] if s["role"] in ("start", "finish") else s["ruling"] for s in fits if scorer.likeness(s["name"], mention.name) == best
    }
    return kinds.pop() if len(kinds) == 1 else None


def examples_of(walk: Walk, scorer: Any) -> Iterator[Example]:
    """Every phrase of a walk's stations with its class."""
    _, _, words, names, gold = walk
    lines = read_walk(words, names).lines
    before: list[Mention] = []
    for station in gold["stations"]:
        mine: list[Line] = [line for line in lines if station["start"] - 0.01 <= line.start_s < station["end"]]
        ended: list[Mention] = []
        for at, index, seen in weighed.phrases_of(mine):
            mention = mine[at].mentions[index]
            kind = _class_of(mention, station.get("surfaces") or [], scorer)
            if kind == "finish":
                ended.append(mention)
            if kind is not None and not mention.is_part:
                yield weighed.features_of(mine, at, index, seen, before), kind
        before = ended


def fit(examples: Sequence[Example]) -> weighed.Weights:
    """The weights that fit the examples best."""
    counts = Counter(feature for features, _ in examples for feature in features)
    names = sorted(feature for feature, count in counts.items() if count >= RAREST)
    place = {name: k for k, name in enumerate(names)}
    x: NDArray[np.float64] = np.zeros((len(examples), len(names)))
    y: NDArray[np.float64] = np.zeros((len(examples), len(weighed.CLASSES)))
    for row, (features, kind) in enumerate(examples):
        x[row, [place[f] for f in features if f in place]] = 1.0
        y[row, weighed.CLASSES.index(kind)] = 1.0
    pull = np.full((len(names), 1), RIDGE)
    pull[place["always"]] = 0.0
    step = 1.0 / (0.5 * float(np.linalg.norm(x, 2)) ** 2 + RIDGE)
    w = np.zeros((len(names), len(weighed.CLASSES)))
    ahead, pace = w, 1.0
    for _ in range(STEPS):
        z = x @ ahead
        p = np.exp(z - z.max(axis=1, keepdims=True))
        p /= p.sum(axis=1, keepdims=True)
        new = ahead - step * (x.T @ (p - y) + pull * ahead)
        faster = (1 + np.sqrt(1 + 4 * pace * pace)) / 2
        ahead, w, pace = new + (pace - 1) / faster * (new - w), new, faster
    return weighed.Weights({name: tuple(round(float(v), 3) for v in w[k]) for name, k in place.items()})


def _pooled(walks: Sequence[Walk], scorer: Any, weights: weighed.Weights | None) -> Counter[str]:
    plain = weighed.fitted
    weighed.fitted = lambda: weights or weighed.Weights({})  # type: ignore[assignment]
    total: Counter[str] = Counter()
    try:
        for _, _, words, names, gold in walks:
            total.update(scorer.score(gold, json.loads(draft_words(words, names).model_dump_json())))
    finally:
        weighed.fitted = plain
    return total


def _told(total: Counter[str], scorer: Any) -> str:
    rules = scorer.f1(total["hrule"], total["gsurf"], total["dsurf"])
    surfaces = scorer.f1(total["hsurf"], total["gsurf"], total["dsurf"])
    return f"surfaces {surfaces:.3f}, rules {rules:.3f}, contact {total['contact'] / max(1, total['gs']):.3f}"


def leave_one_out(walks: Sequence[Walk], scorer: Any) -> str:
    """What the weights are worth on a walk that taught them nothing, pooled over the walks."""
    taught = {id(walk): list(examples_of(walk, scorer)) for walk in walks}
    right: Counter[str] = Counter()
    with_it: Counter[str] = Counter()
    for walk in walks:
        weights = fit([example for other in walks if other[0] != walk[0] for example in taught[id(other)]])
        for features, kind in taught[id(walk)]:
            shares = weights.shares(features)
            right["all"] += 1
            right["right"] += max(shares, key=lambda c: shares[c]) == kind
        with_it.update(_pooled([walk], scorer, weights))
    without = _pooled(walks, scorer, None)
    return (
        f"phrases read right {right['right'] / max(1, right['all']):.3f} of {right['all']}\n"
        f"drafts without the weights: {_told(without, scorer)}\ndrafts with them: {_told(with_it, scorer)}"
    )


def main() -> int:
    """Fit and write, or leave one out and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--scorer", type=Path, required=True)
    parser.add_argument("--name", nargs="+", required=True, help="only walks whose name begins with one of these")
    parser.add_argument("--leave-one-out", action="store_true")
    parser.add_argument("-o", "--out", type=Path)
    given = parser.parse_args()
    scorer = load_scorer(given.scorer)
    walks = [w for folder in given.folders for w in read_folder(folder, "clean") if w[0].startswith(tuple(given.name))]
    if given.leave_one_out:
        print(leave_one_out(walks, scorer))
    if given.out:
        weights = fit([example for walk in walks for example in examples_of(walk, scorer)])
        rows = ",\n".join(f"  {json.dumps(name)}: {list(row)}" for name, row in weights.of.items())
        classes = json.dumps(list(weighed.CLASSES))
        given.out.write_text(f'{{\n "classes": {classes},\n "weights": {{\n{rows}\n }}\n}}\n', encoding="utf-8")
        print(f"{len(weights.of)} features")
    return 0


if __name__ == "__main__":
    sys.exit(main())
