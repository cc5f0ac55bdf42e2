"""A file of decisions, as YAML or JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from annotator.errors import UnreadableText
from annotator.library import read_decisions

YAML = """
who: Robin
decisions:
  - {do: accept-name, heard: swing runs, name: swing rungs}
  - do: change-surface
    station: 6
    surface: orange block
    set: {ruling: out}
signed_by: Kim
"""


def test_a_file_is_the_turns_of_its_people(tmp_path: Path) -> None:
    path = tmp_path / "decisions.yaml"
    path.write_text(YAML, "utf-8")
    read = read_decisions(path)
    assert (read.who, [edit.do for edit in read.decisions]) == ("Robin", ["accept-name", "change-surface"])
    assert [(step.who, [edit.do for edit in step.decisions]) for step in read.steps] == [
        ("Robin", ["accept-name", "change-surface"]),
        ("Kim", ["sign"]),
    ]


def test_json_says_the_same(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(YAML, "utf-8")
    data = {
        "who": "Robin",
        "decisions": [
            {"do": "accept-name", "heard": "swing runs", "name": "swing rungs"},
            {"do": "change-surface", "station": 6, "surface": "orange block", "set": {"ruling": "out"}},
        ],
        "signed_by": "Kim",
    }
    (tmp_path / "a.json").write_text("\ufeff" + json.dumps(data), "utf-8")
    assert read_decisions(tmp_path / "a.json") == read_decisions(tmp_path / "a.yaml")


def test_several_people_take_turns(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("steps:\n- {who: Robin, decisions: [{do: accept-course}]}\n- {who: Kim, decisions: [{do: sign}]}\n", "utf-8")
    assert [step.who for step in read_decisions(path).steps] == ["Robin", "Kim"]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        pytest.param("", "start with “who", id="empty"),
        pytest.param("- a list", "start with “who", id="a-list"),
        pytest.param("who: [", "neither YAML nor JSON", id="broken"),
        pytest.param("decisions: []", "say who decides", id="nobody"),
        pytest.param("who: Robin\ndecisions: accept all", "has to be a list", id="no-list"),
        pytest.param("who: Robin\ndecisions: [accept]", r"decision 1 \('accept'\)", id="no-form"),
        pytest.param("who: Robin\ndecisions: [{do: accept-course}, {do: fly}]", "decision 2: .*fly", id="unknown-decision"),
        pytest.param("who: Robin\ndecisions: [{do: accept}]", "decision 1: .*station: Field required", id="field-missing"),
        pytest.param("who: Robin\nsigned: Kim", "nobody knows what signed means", id="unknown-key"),
        pytest.param("who: Robin\nsigned_by: 3", "“signed_by” has to be a name", id="signed-by-a-number"),
        pytest.param("steps: []", "“steps” has to be a list", id="no-steps"),
        pytest.param("steps: [{who: A}]\nwho: B", "nothing else may stand beside", id="steps-and-more"),
        pytest.param("steps: [A]", "is not a step", id="a-step-of-text"),
        pytest.param("!!python/object/apply:os.system ['true']", "neither YAML nor JSON", id="code"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(tmp_path: Path, content: str, reason: str) -> None:
    path = tmp_path / "decisions.yaml"
    path.write_text(content, "utf-8")
    with pytest.raises(UnreadableText, match=reason) as caught:
        read_decisions(path)
    assert caught.value.path == path


def test_a_file_that_is_missing_or_no_text_says_so(tmp_path: Path) -> None:
    with pytest.raises(UnreadableText, match="no such file"):
        read_decisions(tmp_path / "nothing.yaml")
    (tmp_path / "a.yaml").write_bytes(b"who: \xe9")
    with pytest.raises(UnreadableText, match="UTF-8"):
        read_decisions(tmp_path / "a.yaml")
