"""Fit the weights of annotator/rules/confidence.py, or show how honest they are.

    fit_confidence.py --fit FILE                                            prints the weights fitted on a file of counts
    fit_confidence.py --scorer FILE FOLDER... --name unread_                prints the reliability table of the weights in the package

A drafted surface is right when the scorer says so: its station found, its name, part, role, ruling and overshoot as in the answers. Counts
are honest only where nothing had learnt from the speaker: scripts/unmet.json holds those of the single stations to which the patterns were
never fitted, each drafted by models that its speaker did not teach (fit_weighed.py --unmet). The weight of "name heard badly", which typed
text never shows, stays as it is. Logistic regression with a small ridge (Newton's method). Only totals are printed.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.course import Role, Sheet, SheetSurface, Word
from annotator.rules import confidence, sheet
from annotator.rules import draft as draft_words
from annotator.rules.referents import Entry
from scripts.score_rules import read_folder

RIDGE = 1.0  # pull of each weight but `always` towards 0
STEP = 1e-5
BINS = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 1.001)
drafter = sys.modules["annotator.rules.draft"]

Item = tuple[frozenset[str], float, bool, str]
"""Signs, confidence drafted, whether right, kind of text."""


def load_scorer(path: Path) -> Any:
    """The scorer as a module."""
    spec = importlib.util.spec_from_file_location("scorer", path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"{path} is no Python script; name the scorer.")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@contextmanager
def signs_kept() -> Iterator[list[frozenset[str]]]:
    """While it lasts, a drafted surface's confidence says at which place of the list its signs stand (`place_of`)."""
    seen: list[frozenset[str]] = []

    def remember(entry: Entry, role: Role, ruling: str, share: float | None = None) -> float:
        seen.append(confidence.signs_of(entry, role, ruling, share))
        return len(seen) * STEP

    plain = sheet.confidence, drafter.less_where_heard_badly  # type: ignore[attr-defined]
    sheet.confidence, drafter.less_where_heard_badly = remember, lambda surface, *_: surface  # type: ignore[attr-defined]
    try:
        yield seen
    finally:
        sheet.confidence, drafter.less_where_heard_badly = plain  # type: ignore[attr-defined]


def place_of(surface: SheetSurface) -> int:
    """Where in the list of `signs_kept` a surface's signs stand."""
    return round((surface.confidence or STEP) / STEP) - 1


def drafted_with_signs(words: Sequence[Word], names: Sequence[str]) -> tuple[Sheet, list[list[frozenset[str]]]]:
    """The sheet, and for each surface of each station the signs that its confidence is made of."""
    with signs_kept() as seen:
        drafted = draft_words(words, names)
    rising = sorted(words, key=lambda word: word.start)
    starts = [word.start for word in rising]

    def signs(surface: SheetSurface) -> frozenset[str]:
        badly = confidence.heard_badly(surface, rising, starts)
        own = seen[place_of(surface)] if place_of(surface) < len(seen) else frozenset[str]()  # some the language model puts down alone
        return own | (frozenset({"name heard badly"}) if badly else frozenset())

    return drafted, [[signs(surface) for surface in station.surfaces] for station in drafted.stations]


def items_of(walks: Sequence[tuple[str, str, list[Word], list[str], dict[str, Any]]], scorer: Any) -> Iterator[Item]:
    """Every drafted surface of the walks."""
    for _, kind, words, names, gold in walks:
        drafted, signs = drafted_with_signs(words, names)
        sure = [[surface.confidence or 0.0 for surface in station.surfaces] for station in draft_words(words, names).stations]
        stations = [station.model_dump() for station in drafted.stations]
        met = {j: i for i, j in scorer.assign(gold["stations"], [scorer.timed(s) for s in stations], scorer.overlap, 0.5)}
        for j, station in enumerate(stations):
            answers = (gold["stations"][met[j]].get("surfaces") or []) if j in met else []
            pairs = {b: a for a, b in scorer.assign(answers, station["surfaces"], scorer.surf_score, 0.4)}
            for b, surface in enumerate(station["surfaces"]):
                yield signs[j][b], sure[j][b], b in pairs and scorer.rule_same(answers[pairs[b]], surface), kind


def keep(items: Sequence[Item], path: Path) -> None:
    """Add items to the file of counts: for each set of signs how many there were, and how many of them right."""
    counts = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    for signs, _, right, _ in items:
        row = counts.setdefault(", ".join(sorted(signs)), [0, 0])
        counts[", ".join(sorted(signs))] = [row[0] + 1, row[1] + right]
    lines = ",\n".join(f" {json.dumps(signs)}: {counts[signs]}" for signs in sorted(counts))
    path.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")


def kept_items(path: Path) -> list[Item]:
    """The items of a file of counts; the confidence drafted is not kept there."""
    counts = json.loads(path.read_text(encoding="utf-8"))
    return [
        (frozenset(signs.split(", ")), 0.0, at < right, "kept") for signs, (number, right) in sorted(counts.items()) for at in range(number)
    ]


def fitted(items: Sequence[Item]) -> dict[str, float]:
    """The weights that fit the items best."""
    names = list(confidence.WEIGHTS)
    x = np.array([[float(name in signs) for name in names] for signs, *_ in items])
    y = np.array([float(right) for _, _, right, _ in items])
    ridge = np.diag([0.0 if name == "always" else RIDGE for name in names])
    w = np.zeros(len(names))
    for _ in range(50):
        p = 1 / (1 + np.exp(-x @ w))
        w += np.linalg.solve((x.T * (p * (1 - p))) @ x + ridge, x.T @ (y - p) - ridge @ w)
    met = set().union(*(signs for signs, *_ in items))
    return {name: round(float(value), 2) if name in met else confidence.WEIGHTS[name] for name, value in zip(names, w, strict=True)}


def table(items: Sequence[Item]) -> str:
    """The reliability table, and the mean distance of confidence and share right over the bins (weighted by count)."""
    lines, off = [f"{'confidence':>12} {'items':>6} {'mean':>6} {'right':>6}"], 0.0
    for low, high in pairwise(BINS):
        inside = [(sure, right) for _, sure, right, _ in items if low <= sure < high]
        if inside:
            mean, share = float(np.mean([s for s, _ in inside])), float(np.mean([r for _, r in inside]))
            off += abs(mean - share) * len(inside) / len(items)
            lines.append(f"{low:>5.2f}-{min(high, 1):.2f} {len(inside):>7} {mean:>6.2f} {share:>6.2f}")
    brier = float(np.mean([(sure - right) ** 2 for _, sure, right, _ in items]))
    return "\n".join([*lines, f"expected calibration error {off:.3f}, Brier score {brier:.3f}, {len(items)} items"])


def main() -> int:
    """Fit and print, or print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--scorer", type=Path)
    parser.add_argument("--name", nargs="+", default=[""], help="only walks whose name begins with one of these")
    parser.add_argument("--fit", type=Path, help="file of counts to fit the weights on")
    given = parser.parse_args()
    if given.fit:
        weights = fitted(kept_items(given.fit))
        print("\n".join(f'    "{name}": {value},' for name, value in weights.items()))
        return 0
    if not given.scorer:
        parser.error("name the --scorer that says what is right")
    walks = [w for folder in given.folders for w in read_folder(folder, None) if w[0].startswith(tuple(given.name))]
    items = list(items_of(walks, load_scorer(given.scorer)))
    for kind in ("clean", "asr"):
        if some := [item for item in items if item[3] == kind]:
            print(f"== {kind}\n{table(some)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
