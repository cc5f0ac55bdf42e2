"""The drafter on whole walks with answers, and the measure of its boundaries against an outside one.

The walks in walks/ are our own, as spoken by several kinds of speaker; their answers were written before the drafter first ran on them.
Gates lie a little under the figures measured. The measure of surfaces here is a plain one (the name's last word, part, role, ruling);
scripts/score_rules.py takes a fuller scorer.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nltk.metrics.segmentation import pk as nltk_pk
from nltk.metrics.segmentation import windowdiff

from annotator.course import Sheet
from annotator.rules import draft
from scripts.score_rules import pk, read_heard, read_walk_file, window_diff

WALKS = Path(__file__).parent / "walks"
READ = sorted(WALKS.glob("read_[1-9].yaml"))
SEEN_ONCE = sorted([*WALKS.glob("read_1[0-9].yaml"), *WALKS.glob("read_2[0-3].yaml")])
UNREAD = sorted(WALKS.glob("unread_[12].yaml"))
STRANGERS = sorted([*WALKS.glob("unread_[3-9].yaml"), *WALKS.glob("unread_1[0-8].yaml")])
HARDER = sorted([WALKS / "unread_19.yaml", *WALKS.glob("unread_2[0-4].yaml")])
NEWEST = sorted(WALKS.glob("unread_2[56].yaml"))
FRESH = sorted([*WALKS.glob("unread_2[7-9].yaml"), *WALKS.glob("unread_3[01].yaml")])
IN_PART = sorted([WALKS / "read_29.yaml", *WALKS.glob("read_4[1-4].yaml")])
HEARD = frozenset(path.name.removesuffix(".heard.json") for path in WALKS.glob("*.heard.json"))


def _row(surface: dict[str, Any]) -> tuple[str, str, str, str]:
    words = surface["name"].replace("-", " ").split()
    return (words[-1].rstrip("s"), (surface.get("part") or "").split(" ")[-1].rstrip("s"), surface["role"], surface["ruling"])


def _f1(pairs: Sequence[tuple[list[Any], list[Any]]]) -> float:
    hit = sum(sum(min(gold.count(row), got.count(row)) for row in set(gold)) for gold, got in pairs)
    total = sum(len(gold) + len(got) for gold, got in pairs)
    return 2 * hit / total


def _met(told: Sequence[dict[str, Any]], drafted: Sequence[dict[str, Any]]) -> list[tuple[dict[str, Any] | None, dict[str, Any] | None]]:
    """Answers and drafted stations that overlap by half of the longer, and each that met none."""

    def overlaps(a: dict[str, Any], b: dict[str, Any]) -> bool:
        return bool(2 * (min(a["end"], b["end"]) - max(a["start"], b["start"])) >= max(a["end"] - a["start"], b["end"] - b["start"]))

    pairs: list[tuple[dict[str, Any] | None, dict[str, Any] | None]] = [
        (a, next((b for b in drafted if overlaps(a, b)), None)) for a in told
    ]
    met = [id(b) for _, b in pairs]
    return [*pairs, *((None, b) for b in drafted if id(b) not in met)]


def _measured(paths: Sequence[Path], *, heard: bool = False) -> dict[str, float]:
    rows, rules, boundaries, contacts, demonstrations, found, planted, alarms, stations = [], [], [], 0, 0, 0, 0, 0, 0
    for path in paths:
        words, gold, names = read_walk_file(path)
        sheet: Sheet = draft(read_heard(path) if heard else words, names)
        got = sheet.model_dump()
        boundaries.append(window_diff([s["start"] for s in gold["stations"]], [s["start"] for s in got["stations"]], gold["duration"]))
        for told, drafted in _met(gold["stations"], got["stations"]):
            rows.append(([_row(s) for s in (told or {}).get("surfaces", ())], [_row(s) for s in (drafted or {}).get("surfaces", ())]))
            if told and drafted:
                contacts += sorted(told["contact"] or []) == sorted(drafted["contact"] or [])
                demonstrations += told["demonstration"] == drafted["demonstration"]
        stations += len(gold["stations"])
        rules.append(([r["rule"] for r in gold["blanket"]], [r["rule"] for r in got["blanket"]]))
        faults = {(g["station"], g["kind"]) for g in gold["gaps"] or ()}
        reported = {(f.station, f.kind) for f in sheet.findings if f.severity == "blocks"}
        planted += len(faults)
        found += len(faults & reported)
        alarms += len(reported - faults)
    return {
        "rules": _f1(rows),
        "blanket": _f1(rules),
        "boundary": sum(boundaries) / len(boundaries),
        "contact": contacts / stations,
        "demonstration": demonstrations / stations,
        "gaps": found / planted if planted else 1.0,
        "alarms": alarms / stations,
    }


READ_LEAST = {"rules": 0.94, "blanket": 0.95, "contact": 0.96, "demonstration": 0.97, "gaps": 0.95}
SEEN_ONCE_LEAST = {"rules": 0.93, "blanket": 0.92, "contact": 0.98, "demonstration": 0.98, "gaps": 0.85}
UNREAD_LEAST = {"rules": 0.92, "blanket": 0.98, "contact": 0.89, "demonstration": 0.98, "gaps": 0.95}
STRANGERS_LEAST = {"rules": 0.89, "blanket": 0.91, "contact": 0.97, "demonstration": 0.98, "gaps": 0.95}
HARDER_LEAST = {"rules": 0.795, "blanket": 0.92, "contact": 0.84, "demonstration": 0.95, "gaps": 0.85}
NEWEST_LEAST = {"rules": 0.865, "blanket": 0.98, "contact": 0.98, "demonstration": 0.94, "gaps": 0.6}
FRESH_LEAST = {"rules": 0.84, "blanket": 0.69, "contact": 0.9, "demonstration": 0.95, "gaps": 0.85}
IN_PART_LEAST = {"rules": 0.91, "blanket": 0.92, "contact": 0.93, "demonstration": 0.98, "gaps": 0.95}
READ_HEARD_LEAST = {"rules": 0.79, "blanket": 0.85, "contact": 0.75, "demonstration": 0.95}
STRANGERS_HEARD_LEAST = {"rules": 0.72, "blanket": 0.7, "contact": 0.8, "demonstration": 0.8}
GATES = [
    pytest.param(READ, READ_LEAST, 0.05, 0.15, id="walks read while building"),
    pytest.param(SEEN_ONCE, SEEN_ONCE_LEAST, 0.08, 0.3, id="walks that were kept apart at first and read since"),
    pytest.param(UNREAD, UNREAD_LEAST, 0.02, 0.1, id="short walks kept apart"),
    pytest.param(STRANGERS, STRANGERS_LEAST, 0.02, 0.25, id="walks of speakers nobody has read"),
    pytest.param(IN_PART, IN_PART_LEAST, 0.02, 0.3, id="walks read while building that hold a part of their course"),
    pytest.param(HARDER, HARDER_LEAST, 0.045, 0.4, id="harder walks of speakers nobody has read"),
    pytest.param(NEWEST, NEWEST_LEAST, 0.05, 0.6, id="newer walks of speakers nobody has read"),
    pytest.param(FRESH, FRESH_LEAST, 0.03, 0.4, id="newest walks of speakers nobody has read"),
]
HEARD_GATES = [
    pytest.param([p for p in READ if p.stem in HEARD], READ_HEARD_LEAST, 0.08, 0.5, id="walks read while building, recognised"),
    pytest.param([p for p in STRANGERS if p.stem in HEARD], STRANGERS_HEARD_LEAST, 0.15, 1.0, id="speakers nobody has read, recognised"),
]


@pytest.mark.parametrize(("paths", "least", "boundary", "alarms"), GATES)
def test_whole_walks_are_drafted_as_well_as_measured(paths: list[Path], least: dict[str, float], boundary: float, alarms: float) -> None:
    measured = _measured(paths)
    assert {k: v for k, v in measured.items() if k in least and v < least[k]} == {}
    assert measured["boundary"] <= boundary
    assert measured["alarms"] <= alarms


@pytest.mark.parametrize(("paths", "least", "boundary", "alarms"), HEARD_GATES)
def test_recognised_walks_are_drafted_as_well_as_measured(
    paths: list[Path], least: dict[str, float], boundary: float, alarms: float
) -> None:
    measured = _measured(paths, heard=True)
    assert {k: v for k, v in measured.items() if k in least and v < least[k]} == {}
    assert measured["boundary"] <= boundary
    assert measured["alarms"] <= alarms


def test_without_the_names_list_the_stations_are_found_but_for_one_at_most() -> None:
    for path in READ:
        words, gold, _ = read_walk_file(path)
        assert abs(len(draft(words).stations) - len(gold["stations"])) <= 1


def _starts(bits: str) -> list[float]:
    return [-1.0, *(float(i) for i, bit in enumerate(bits) if bit == "1")]  # the first station's start is no boundary


# windows and values: nltk.metrics.segmentation, its docstring's example; it divides by N - k + 1 windows, and so do we
@pytest.mark.parametrize(
    ("reference", "hypothesis", "expected"),
    [
        pytest.param("000100000010", "000100000010", 0.0, id="the same"),
        pytest.param("000100000010", "000010000100", 0.3, id="near misses"),
        pytest.param("000010000100", "100000010000", 0.8, id="far off"),
        pytest.param("000100000010", "100000010000", 0.9, id="farther"),
    ],
)
def test_the_measure_of_boundaries_agrees_with_nltk(reference: str, hypothesis: str, expected: float) -> None:
    ours = window_diff(_starts(reference), _starts(hypothesis), len(reference) - 1, k=3)
    assert ours == pytest.approx(windowdiff(reference, hypothesis, 3)) == pytest.approx(expected)


# values: nltk.metrics.segmentation, the docstring of pk
@pytest.mark.parametrize(
    ("hypothesis", "expected"),
    [
        pytest.param("1" * 400, 0.5, id="a border everywhere"),
        pytest.param("0" * 400, 0.5, id="no border at all"),
        pytest.param("0100" * 100, 0.0, id="the same"),
    ],
)
def test_pk_has_the_values_that_nltk_gives(hypothesis: str, expected: float) -> None:
    ours = pk(_starts("0100" * 100), _starts(hypothesis), 399, k=2)
    assert ours == pytest.approx(nltk_pk("0100" * 100, hypothesis, 2))
    assert ours == pytest.approx(expected, abs=0.005)


@given(st.lists(st.tuples(st.booleans(), st.booleans()), min_size=12, max_size=60), st.integers(2, 9))
def test_both_measures_of_boundaries_agree_with_nltk_on_any_division(marks: list[tuple[bool, bool]], k: int) -> None:
    reference, hypothesis = ("".join("1" if bit else "0" for bit in column) for column in zip(*marks, strict=True))
    seconds = len(marks) - 1
    assert window_diff(_starts(reference), _starts(hypothesis), seconds, k) == pytest.approx(windowdiff(reference, hypothesis, k))
    assert pk(_starts(reference), _starts(hypothesis), seconds, k) == pytest.approx(nltk_pk(reference, hypothesis, k))
