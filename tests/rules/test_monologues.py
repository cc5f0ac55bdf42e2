"""Single stations told by many mouths, read one by one: how much of what a careful listener writes down is drafted.

The stations in monologues_read.yaml are our own; gates lie a little under the figures measured.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from tests.rules.reading_of import station_of

STATIONS: list[dict[str, Any]] = yaml.safe_load(Path(__file__).with_name("monologues_read.yaml").read_text(encoding="utf-8"))["stations"]


def _row(surface: dict[str, Any]) -> tuple[str, str, str, str]:
    last = surface["name"].replace("-", " ").split()[-1].rstrip("s")
    return last, (surface.get("part") or "").split(" ")[-1].rstrip("s"), surface["role"], surface["ruling"]


def test_stations_told_by_many_mouths_are_drafted_as_well_as_measured() -> None:
    hit = told = limbs = 0
    for station in STATIONS:
        drafted = station_of(station["say"])
        gold, got = [_row(s) for s in station["surfaces"]], [_row(s.model_dump()) for s in drafted.surfaces]
        hit += sum(min(gold.count(row), got.count(row)) for row in set(gold))
        told += len(gold) + len(got)
        limbs += sorted(station["contact"] or []) == sorted(drafted.contact or [])
    assert 2 * hit / told >= 0.8
    assert limbs / len(STATIONS) >= 0.75
