"""Captions on the server: how they read, and translated files that staff lay in and take out again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from annotator import pipeline
from annotator.library import Library
from tests.server.test_uploads import send

Client = Any
SPANISH = "1\n00:00:00,500 --> 00:00:04,300\nBienvenidos. Lo que no se nombra está fuera.\n"


def lay_in(client: Client, course: str, language: str, file: Path) -> Any:
    upload = send(client, file, kind="captions")
    assert upload["status"] == 200
    return client.put(f"/api/courses/{course}/captions/{language}", json={"upload": upload["id"]})


def test_how_each_wording_reads_is_told_with_what_to_look_at(client: Client, drafted: str) -> None:
    told = client.get(f"/api/courses/{drafted}/captions").json["captions"]
    assert [(each["language"], each["wording"]) for each in told] == [("en", "as spoken"), ("en", "clean"), ("en", "children")]
    for each in told:
        assert each["problems"] == [] and each["cues"] > 3
        assert all(limit["kept"] == limit["of"] == each["cues"] for limit in each["limits"] if not limit["wish"])
        assert all(0 <= cue["start"] < cue["end"] for cue in each["worst"])


def test_a_translated_file_is_kept_read_and_taken_out_again(client: Client, library: Library, drafted: str, tmp_path: Path) -> None:
    file = tmp_path / "walk.es.srt"
    file.write_text(SPANISH + "\n2\n00:00:0x,000 --> 00:00:06,000\nSolo los pies.\n\n3\n00:09:00,000 --> 00:09:03,000\nFin.\n", "utf-8")
    answer = lay_in(client, drafted, "es", file)
    assert answer.status_code == 200
    assert [each["language"] for each in answer.json["course"]["translations"]] == ["es"]
    spanish = client.get(f"/api/courses/{drafted}/captions").json["captions"][-1]
    assert (spanish["language"], spanish["wording"], spanish["cues"]) == ("es", None, 3)
    assert [("6" in problem, "after the walk ends (0:34)" in problem) for problem in spanish["problems"]] == [(True, False), (False, True)]
    out = pipeline.write_output(library, drafted, "captions", tmp_path / "captions")
    assert "Lo que no se nombra" in (out / "captions.es.vtt").read_text("utf-8").replace("\n", " ")
    assert client.delete(f"/api/courses/{drafted}/captions/es", json={}).json["course"]["translations"] == []
    assert client.delete(f"/api/courses/{drafted}/captions/es", json={}).status_code == 404


@pytest.mark.parametrize(
    ("language", "sentence"),
    [pytest.param("Espanol", "no language tag", id="no tag"), pytest.param("e" * 300, "no language tag", id="long")],
)
def test_what_is_no_language_is_refused_and_the_file_may_be_laid_in_anew(
    client: Client, drafted: str, tmp_path: Path, language: str, sentence: str
) -> None:
    file = tmp_path / "walk.srt"
    file.write_text(SPANISH, "utf-8")
    upload = send(client, file, kind="captions")["id"]
    refused = client.put(f"/api/courses/{drafted}/captions/{language}", json={"upload": upload})
    assert refused.status_code == 422 and sentence in refused.json["sentence"]
    assert client.put(f"/api/courses/{drafted}/captions/es", json={"upload": upload}).status_code == 200
    assert client.put(f"/api/courses/{drafted}/captions/es", json={"upload": upload}).status_code == 404  # used up


def test_a_clip_is_no_caption_file(client: Client, drafted: str, walk_clip: Path) -> None:
    upload = send(client, walk_clip)["id"]
    refused = client.put(f"/api/courses/{drafted}/captions/es", json={"upload": upload})
    assert refused.status_code == 422 and "came as clip" in refused.json["sentence"]
