"""The drafter on pieces about classes of athletes and rules for the whole course, told by speakers that nobody has read.

Answers were written before the drafter first ran on them. The measure is a plain one (last word of the name, part, ruling); gates lie a
little under the figures measured.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import yaml

from annotator.rules.blanket import find_blanket
from annotator.rules.gather import gather
from annotator.rules.reading import Line, read_walk
from annotator.rules.revised import revised
from annotator.rules.runformat import find_format
from annotator.rules.scope import everywhere
from annotator.rules.sheet import build
from tests.rules.reading_of import words_of

UNREAD = Path(__file__).parent / "monologues_unread_f.yaml"
LEAST = {"rules": 0.73, "divisions": 0.03, "blanket": 0.31, "retries": 0.19}


def _last(name: str | None) -> str:
    return (name or "").replace("-", " ").split(" ")[-1].rstrip("s")


def _row(surface: dict[str, Any]) -> tuple[str, ...]:
    return (_last(surface["name"]), _last(surface.get("part")), surface["role"], surface["ruling"])


def _divided(surface: dict[str, Any]) -> tuple[Any, ...]:
    return (_last(surface["name"]), _last(surface.get("part")), tuple(sorted((surface.get("divisions") or {}).items())))


def _rule(rule: dict[str, Any]) -> tuple[str, ...]:
    return (rule["rule"], _last(rule.get("surface")), _last(rule.get("part")), rule.get("ruling") or "")


def _f1(hit: int, told: int, drafted: int) -> float:
    return 2 * hit / (told + drafted)


def _surfaces(lines: tuple[Line, ...], name: str) -> list[dict[str, Any]]:
    told = revised(lines, (), (name,))
    station = build(1, None, (0.0, 99.0), gather(told.lines, names=(name,), passing=told.passing), None, (), told.likely).station
    return [surface.model_dump() for surface in station.surfaces]


def _measured() -> dict[str, float]:
    count: Counter[str] = Counter()
    for piece in yaml.safe_load(UNREAD.read_text(encoding="utf-8")):
        lines = read_walk(words_of(" ".join(piece["say"])), ()).lines
        answers = piece["gold"].get("surfaces") or []
        drafted = _surfaces(lines, piece["gold"].get("name") or "") if answers else []
        told, got = Counter(map(_row, answers)), Counter(map(_row, drafted))
        count.update(rules=(told & got).total(), told=told.total(), got=got.total())
        apart = [each for each in answers if each.get("divisions")]
        count.update(apart=len(apart), divisions=len({*map(_divided, apart)} & {*map(_divided, drafted)}))
        of_all = everywhere(lines)
        rules = find_blanket([line for line in lines if line.index in of_all or not answers], lines)
        known, found = Counter(map(_rule, piece.get("blanket") or [])), Counter(_rule(each.model_dump()) for each in rules)
        count.update(blanket=(known & found).total(), known=known.total(), found=found.total())
        if "format" in piece:
            run = find_format([(line.plain, line.said) for line in lines])
            count.update(formats=1, retries=(piece["format"] or {}).get("retries") == (run.retries if run else None))
    return {
        "rules": _f1(count["rules"], count["told"], count["got"]),
        "divisions": count["divisions"] / count["apart"],
        "blanket": _f1(count["blanket"], count["known"], count["found"]),
        "retries": count["retries"] / count["formats"],
    }


def test_pieces_about_classes_and_the_whole_course_are_read_as_well_as_measured() -> None:
    measured = _measured()
    assert {kind: share for kind, share in measured.items() if share < LEAST[kind]} == {}
