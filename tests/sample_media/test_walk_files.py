"""The walk file: what is read from it, what is refused, and that the demo's true rules are those of its script."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from scripts.sample_walk.walkfile import SENTENCE_PAUSE_S, WalkFileError, parse_walk, read_walk
from tests.sample_media.agreement import SAMPLE, load

DEMO = read_walk(SAMPLE / "walk.yaml")


def spoken() -> str:
    return " ".join(sentence.text for section in DEMO.sections for sentence in section.say).lower()


def test_the_demo_gold_is_its_script_with_times() -> None:
    gold = load("truth/gold.json")
    script = yaml.safe_load((SAMPLE / "walk.yaml").read_text(encoding="utf-8"))
    written = [section["gold"] for section in script["sections"] if section["kind"] == "station"]
    timed = [{key: value for key, value in station.items() if key not in ("number", "start", "end")} for station in gold["stations"]]
    assert timed == written
    for key in ("title", "glossary", "format", "blanket", "gaps"):
        assert gold[key] == script[key]


def test_the_demo_stations_follow_each_other_within_the_walk() -> None:
    gold = load("truth/gold.json")
    assert [s["number"] for s in gold["stations"]] == list(range(1, 9))
    for before, after in zip(gold["stations"][:-1], gold["stations"][1:], strict=True):
        assert before["start"] < before["end"] <= after["start"]
    assert gold["stations"][-1]["end"] < gold["duration"]


def test_the_demo_says_every_surface_it_rules_on() -> None:
    for section in DEMO.stations():
        said = " ".join(sentence.text for sentence in section.say).lower()
        assert section.gold is not None
        for surface in section.gold["surfaces"]:
            assert surface["name"].split()[-1] in said, surface


@pytest.mark.parametrize(
    "present",
    [
        pytest.param(lambda s: s.get("divisions") == {"under-tens": "in"}, id="a-division-that-differs"),
        pytest.param(lambda s: s["role"] == "finish" and s.get("overshoot") == "not allowed", id="a-finish-not-to-be-passed"),
        pytest.param(lambda s: s["role"] == "finish" and s.get("overshoot") == "allowed", id="a-landing-only-finish"),
        pytest.param(lambda s: s["name"] == "yellow frame" and s["ruling"] == "out", id="hardware-out-of-play"),
        pytest.param(lambda s: s.get("part") == "tops" and s["ruling"] == "in", id="a-part-in-play"),
    ],
)
def test_the_demo_holds_what_a_drafter_must_cope_with(present: Any) -> None:
    assert any(present(surface) for section in DEMO.stations() for surface in (section.gold or {})["surfaces"])


def test_the_demo_has_every_kind_of_limbs_and_demonstration() -> None:
    gold = [section.gold or {} for section in DEMO.stations()]
    assert {tuple(g["contact"]) for g in gold} == {("hands",), ("feet",), ("hands", "feet")}
    assert {g["demonstration"] for g in gold} == {"clear", "fail", None}
    assert {gap["kind"] for gap in DEMO.gaps} == {"no-finish", "contradiction"}
    assert {"um,", "uh,", "sorry,"} <= set(spoken().split())


def test_a_plain_walk_file_needs_no_camera() -> None:
    walk = parse_walk(
        {"title": "T", "sections": [{"kind": "opening", "say": ["Hello."]}, {"kind": "station", "say": [{"text": "One.", "pause": 2}]}]}
    )
    assert walk.clips == ()
    assert [section.station for section in walk.sections] == [None, 1]
    assert walk.sections[1].say[0].pause_s == 2.0
    assert walk.sections[0].say[0].look is None


def test_sentences_of_one_section_get_the_usual_pause() -> None:
    walk = parse_walk({"title": "T", "sections": [{"kind": "opening", "say": ["Hello.", "You."]}]})
    assert walk.sections[0].say[0].pause_s == SENTENCE_PAUSE_S


@pytest.mark.parametrize(
    ("document", "told"),
    [
        pytest.param([], "title and sections", id="not-a-mapping"),
        pytest.param({"title": "T", "sections": []}, "title and sections", id="no-sections"),
        pytest.param({"title": "T", "sections": [{"kind": "stage", "say": ["x"]}]}, "'stage'", id="unknown-kind"),
        pytest.param({"title": "T", "sections": [{"kind": "link", "say": []}]}, "section 1 says nothing", id="nothing-said"),
        pytest.param({"title": "T", "sections": [{"kind": "link", "say": [{"pause": 1}]}]}, "sentence 1 has no text", id="no-text"),
    ],
)
def test_a_faulty_walk_file_is_refused_with_its_place(document: Any, told: str) -> None:
    with pytest.raises(WalkFileError, match=told):
        parse_walk(document)


def test_text_that_is_not_yaml_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "walk.yaml"
    path.write_text("title: [", encoding="utf-8")
    with pytest.raises(WalkFileError, match="line"):
        read_walk(path)
