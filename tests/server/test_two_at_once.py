"""Two pages change one course at random, one over a line that drops; their own log is held against the library's history.

The pages' part runs in Node with the real model of the staff pages (web/live/two.test.ts) against a real server.
"""

from __future__ import annotations

import itertools
import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from annotator.course import Course, Station
from annotator.library import Library
from tests.server.browsing import served

WEB = Path(__file__).resolve().parents[2] / "web"

pytestmark = pytest.mark.skipif(
    shutil.which("node") is None or not (WEB / "node_modules" / "vitest").is_dir(),
    reason="the staff pages' tools are not there: npm ci in web/",
)


def change_at_random(library: Library, course: str, out: Path, **told: object) -> dict[str, Any]:
    """Let two pages change a course; what they did, saw and were told."""
    with served(library) as address:
        asked = {"ADDRESS": address, "COURSE": course, "OUT": str(out), **{name: str(value) for name, value in told.items()}}
        vitest = WEB / "node_modules" / "vitest" / "vitest.mjs"
        ran = subprocess.run(
            ["node", str(vitest), "run", "--config", "vitest.live.config.ts"],
            cwd=WEB,
            env={**os.environ, **asked},
            capture_output=True,
            text=True,
            check=False,
        )
    assert ran.returncode == 0, ran.stdout[-4000:] + ran.stderr[-2000:]
    log: dict[str, Any] = json.loads(out.read_text("utf-8"))
    return log


def value_at(doc: Course | Station, place: str) -> str | None:
    """What stands at a place, as the pages log it."""
    if isinstance(doc, Course):
        return doc.title
    if place == "name":
        return doc.name
    surface = next((one for one in doc.surfaces if one.id == place.removeprefix("surface ")), None)
    return None if surface is None else f"{surface.name}|{surface.part or ''}"


def wanted(deed: dict[str, Any], before: str | None) -> str | None:
    """What stands at the deed's place once it is done."""
    match deed["edit"]["do"]:
        case "remove-surface":
            return None
        case "add-surface":
            return f"{deed['value']}|"
        case "change-surface":
            return f"{(before or '').partition('|')[0]}|{deed['value']}"
    return str(deed["value"])


def hold_against_history(library: Library, course: str, log: dict[str, Any]) -> dict[str, int]:
    """Check the pages' log; how many deeds were saved, were let go, and how many places were changed by both.

    The library's revisions, read place by place, are the truth: each change of a value must be a deed of the one who is named with it, made
    while seeing what stood there before (or what they had put there themselves), and each deed that was taken must be among them.
    """
    deeds = log["deeds"]
    assert {deed["end"] for deed in deeds} <= {"saved", "let go"}
    places = sorted({deed["place"] for deed in deeds})
    changes, both = 0, 0
    for place in places:
        item, _, where = place.partition("/")
        history = library.history(course, "station" if item else "course", item)
        mine = [deed for deed in deeds if deed["place"] == place]
        authors = set()
        taken: list[str] = []
        for before, after in itertools.pairwise(history):
            was, became = value_at(before.doc, where), value_at(after.doc, where)
            if was == became:
                continue
            changes += 1
            authors.add(after.who)
            fits = [deed for deed in mine if deed["who"] == after.who and wanted(deed, was) == became]
            assert fits, f"{place}: nobody's log has the change from {was!r} to {became!r} by {after.who}"
            seen_by = {before_by(history, where, before.revision), None}
            saw = [deed for deed in fits if deed["saw"] == was or after.who in seen_by or deed["edit"]["do"] == "add-surface"]
            assert saw, f"{place}: {after.who} wrote {became!r} over {was!r} and saw {[deed['saw'] for deed in fits]}"
            taken += [deed["batch"] for deed in fits]
        both += len(authors) > 1
        for deed in mine:
            if deed["end"] == "saved" and deed["edit"]["do"] != "remove-surface":
                assert deed["batch"] in taken, f"{deed} was taken and is in no revision"
            if deed["end"] == "let go" and deed["edit"]["do"] != "remove-surface":
                assert deed["batch"] not in taken, f"{deed} was let go and was done all the same"
        assert value_at(history[-1].doc, where) == shown_at(log["shown"], item, where)
    ends = [deed["end"] for deed in deeds]
    return {"saved": ends.count("saved"), "let go": ends.count("let go"), "changes": changes, "places changed by both": both}


def before_by(history: Any, where: str, revision: int) -> str | None:
    """Who put the value there that stands at a place in a revision."""
    put = None
    for before, after in itertools.pairwise(history):
        if after.revision <= revision and value_at(before.doc, where) != value_at(after.doc, where):
            put = str(after.who)
    return put


def shown_at(shown: dict[str, Any], item: str, where: str) -> str | None:
    if not item:
        return str(shown["course"]["title"])
    doc = next(station for station in shown["stations"] if station["id"] == item)
    if where == "name":
        return str(doc["name"])
    surface = next((one for one in doc["surfaces"] if one["id"] == where.removeprefix("surface ")), None)
    return None if surface is None else f"{surface['name']}|{surface['part'] or ''}"


@pytest.mark.parametrize("seed", [1, 2])
def test_two_who_change_at_random_agree_at_the_end_and_miss_no_change_that_was_taken(
    library: Library, drafted: str, tmp_path: Path, seed: int
) -> None:
    log = change_at_random(library, drafted, tmp_path / "log.json", SEED=seed, EDITS=40)
    told = hold_against_history(library, drafted, log)
    assert told["saved"] > 0 and told["let go"] > 0 and told["places changed by both"] > 0, f"the run showed too little: {told}"
    drops = log["drops"][1]
    assert drops["requests"] > 0 and drops["answers"] > 0 and drops["tabs"] > 0 and drops["clashes"] > 0
