"""The marks of the demo walk against its masks: the ruling at a point must be the same either way, and no surface may be missing.

The outside check is shapely's own point-in-polygon on the marks; the masks come from the drawing library, the marks from projected corners.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.sample_media.agreement import SAMPLE, compare, load, rulings_at, shape_of

STILLS = load("truth/stills.json")["stills"]
GOLD = load("truth/gold.json")
MARKS = load("marks.json")


def marks_on(still: str) -> list[dict[str, Any]]:
    return [mark for mark in MARKS["marks"] if mark["still"] == still]


@pytest.mark.parametrize("still", STILLS, ids=[s["still"] for s in STILLS])
def test_marks_and_masks_rule_alike_at_points_off_the_edges(still: dict[str, Any]) -> None:
    rulings = rulings_at(GOLD, still["station"])
    found = compare(still, marks_on(still["still"]), rulings, points=2000, far_px=6.0, seed=5)
    assert found.different == ()
    assert 200 < found.in_play < 1800  # both rulings are among the points


@pytest.mark.parametrize("station", GOLD["stations"], ids=[s["name"] for s in GOLD["stations"]])
def test_every_surface_of_a_station_is_marked_and_seen_on_one_of_its_stills(station: dict[str, Any]) -> None:
    marked = {(m["surface"], m["part"]) for m in MARKS["marks"] if m["station"] == station["number"]}
    seen: dict[tuple[str, str | None], int] = {}
    for still in (s for s in STILLS if s["station"] == station["number"]):
        mask = np.asarray(Image.open(SAMPLE / "truth" / still["file"]))
        for number, thing in still["objects"].items():
            count = int((mask == int(number)).sum())
            for key in ((thing["name"], thing["part"]), (thing["name"], None)):
                seen[key] = max(seen.get(key, 0), count)
    for surface in station["surfaces"]:
        key = (surface["name"], surface.get("part"))
        assert key in marked
        assert seen.get(key, 0) > 400, (key, seen.get(key))


def test_blanket_surfaces_are_marked_at_stations_too() -> None:
    keys = {(m["surface"], m["part"]) for m in MARKS["marks"]}
    assert {("post pads", None), ("post pads", "top")} <= keys


def test_marks_are_well_formed_and_lie_on_their_stills() -> None:
    sizes = {s["still"]: (s["width"], s["height"]) for s in STILLS}
    assert [(s["still"], s["station"], s["time_s"]) for s in MARKS["stills"]] == [(s["still"], s["station"], s["time_s"]) for s in STILLS]
    for mark in MARKS["marks"]:
        assert ("rings" in mark) != ("line" in mark)
        shape = shape_of(mark)
        assert shape.is_valid and shape.area > 0
        width, height = sizes[mark["still"]]
        reach = mark.get("width", 0) / 2
        x0, y0, x1, y1 = shape.bounds
        assert -reach <= x0 < x1 <= width + reach and -reach <= y0 < y1 <= height + reach
