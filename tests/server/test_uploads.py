"""Files on their way in: resumed, refused with a sentence, and never outside their folder."""

from __future__ import annotations

import hashlib
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.errors import LibraryTrouble, NotFound
from annotator.library import Library
from annotator.server.uploads import LONGEST_NAME, Uploads, clean_name

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON

OFFSET = "application/octet-stream"


def send(client: Client, path: Path, kind: str = "clip", name: str | None = None, piece: int = 40_000) -> dict[str, Any]:
    """Send a whole file in pieces, as the page does, and finish it."""
    content = path.read_bytes()
    begun = client.post("/api/uploads", json={"kind": kind, "name": name or path.name, "size": len(content)})
    assert begun.status_code == 201, begun.text
    address = f"/api/uploads/{begun.json['id']}"
    offset = 0
    while offset < len(content):
        answer = client.patch(address, data=content[offset : offset + piece], headers={"Upload-Offset": str(offset)}, content_type=OFFSET)
        assert answer.status_code == 200, answer.text
        offset = answer.json["offset"]
    finished = client.post(f"{address}/finish", json={})
    return {"status": finished.status_code, **finished.json}


def test_a_clip_arrives_in_pieces_and_is_looked_at(client: Client, walk_clip: Path) -> None:
    upload = send(client, walk_clip)
    assert (upload["status"], upload["width"], upload["height"], upload["has_audio"]) == (200, 320, 180, False)
    assert upload["duration_s"] == pytest.approx(34, abs=0.2)
    assert upload["already"] == []


def test_a_clip_that_was_cut_off_is_taken_with_a_word_about_it(client: Client, half_clip: Path) -> None:
    upload = send(client, half_clip)
    assert upload["status"] == 200 and upload["duration_s"] < 25
    (remark,) = upload["remarks"]
    assert re.match(r"half walk\.mp4 was cut off: only its first 0:[12]\d can be used\. ", remark)


def test_a_dropped_upload_goes_on_from_where_it_stands_and_nothing_is_written_twice(
    client: Client, library: Library, walk_clip: Path
) -> None:
    content = walk_clip.read_bytes()
    upload = client.post("/api/uploads", json={"kind": "clip", "name": "a.mp4", "size": len(content)}).json
    address = f"/api/uploads/{upload['id']}"
    client.patch(address, data=content[:5000], headers={"Upload-Offset": "0"}, content_type=OFFSET)
    again = client.patch(address, data=content[:5000], headers={"Upload-Offset": "0"}, content_type=OFFSET)
    assert again.status_code == 409
    assert again.json["offset"] == 5000
    early = client.post(f"{address}/finish", json={})
    assert (early.status_code, early.json["offset"]) == (409, 5000)
    # Another server on the same library, as after a restart, knows where it stands.
    stands = Uploads(library.root / "uploads").get(upload["id"])
    assert stands.offset == 5000
    client.patch(address, data=content[5000:], headers={"Upload-Offset": "5000"}, content_type=OFFSET)
    assert client.post(f"{address}/finish", json={}).status_code == 200
    sealed = Uploads(library.root / "uploads").get(upload["id"])
    assert sealed.sha == hashlib.sha256(content).hexdigest()


def test_more_bytes_than_announced_are_refused(client: Client) -> None:
    upload = client.post("/api/uploads", json={"kind": "clip", "name": "a.mp4", "size": 3}).json
    answer = client.patch(f"/api/uploads/{upload['id']}", data=b"four", headers={"Upload-Offset": "0"}, content_type=OFFSET)
    assert answer.status_code == 422
    assert "more arrived" in answer.json["sentence"]


def sound_only(path: Path) -> Path:
    """A file with sound and no picture, by ffmpeg as the outside maker."""
    command = ["ffmpeg", "-loglevel", "error", "-f", "lavfi", "-i", "sine=duration=1", "-c:a", "aac", str(path)]
    try:
        subprocess.run(command, check=True)
    except FileNotFoundError:
        pytest.skip("ffmpeg is not installed; it makes the file without a picture")
    return path


@pytest.mark.parametrize(
    ("name", "make", "words"),
    [
        pytest.param("rules.mp4", lambda path: path.write_text("These are the rules.\n" * 40), r"rules\.mp4", id="a-text-file-named-mp4"),
        pytest.param("sound.m4a", sound_only, r"no picture, only sound", id="sound-only"),
        pytest.param("half.mp4", lambda path: path.write_bytes(b"\0\0\0\x18ftypmp42" + b"\0" * 500), r"half\.mp4", id="cut-off"),
    ],
)
def test_a_file_that_is_no_clip_is_refused_by_name_and_thrown_away(
    client: Client, library: Library, tmp_path: Path, name: str, make: Callable[[Path], object], words: str
) -> None:
    path = tmp_path / name
    make(path)
    answer = send(client, path)
    assert answer["status"] == 422
    assert answer["kind"] == "unreadable-video"
    assert re.search(words, str(answer["sentence"]))
    assert list((library.root / "uploads").iterdir()) == []


@pytest.mark.parametrize(
    ("size", "status", "words"),
    [
        pytest.param(0, 422, "is empty", id="empty"),
        pytest.param(65 * 2**30, 422, "Cut it into several clips", id="too-large"),
    ],
)
def test_a_size_that_cannot_be_taken_is_refused_before_a_byte_is_sent(client: Client, size: int, status: int, words: str) -> None:
    answer = client.post("/api/uploads", json={"kind": "clip", "name": "walk.mp4", "size": size})
    assert answer.status_code == status
    assert words in answer.json["sentence"]


def test_a_full_disk_is_told_before_a_byte_is_sent(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    uploads = Uploads(tmp_path / "uploads")
    monkeypatch.setattr("shutil.disk_usage", lambda _: type("Usage", (), {"free": 10 * 2**20})())
    with pytest.raises(LibraryTrouble, match="Make room and choose it again"):
        uploads.begin("clip", "walk.mp4", 2**30)


def test_captions_are_read_at_once_and_broken_ones_refused(client: Client, walk_captions: Path, tmp_path: Path) -> None:
    told = send(client, walk_captions, "captions")
    assert (told["status"], told["cues"]) == (200, 9)
    broken = tmp_path / "notes.vtt"
    broken.write_text("WEBVTT\n\nNOTE nothing here\n", "utf-8")
    refused = send(client, broken, "captions")
    assert refused["status"] == 422
    assert "notes.vtt" in str(refused["sentence"])


def test_a_clip_that_is_in_the_library_already_is_noticed(client: Client, drafted: str, walk_clip: Path) -> None:
    assert send(client, walk_clip, name="other name.mp4")["already"] == [{"name": drafted, "title": "Spring course"}]


@pytest.mark.parametrize(
    "name",
    ["../../evil.mp4", "/etc/cron.d/evil.mp4", "..\\..\\evil.mp4", "evil.mp4\0.txt", "...", "", "a" * 5000 + ".mp4", "🏃‍♀️ Läufe.mov"],
)
def test_no_name_of_a_file_leads_out_of_its_folder(client: Client, library: Library, name: str) -> None:
    upload = client.post("/api/uploads", json={"kind": "clip", "name": name, "size": 5}).json
    files = [path for path in (library.root / "uploads").rglob("*") if path.is_file() and path.name != "told.json"]
    assert [path.parent for path in files] == [library.root / "uploads" / upload["id"] / "data"]


@given(st.text())
def test_every_cleaned_name_is_one_short_plain_name_and_cleaning_it_again_changes_nothing(name: str) -> None:
    clean = clean_name(name)
    assert clean and clean not in (".", "..")
    assert not set(clean) & set('/\\\0:*?"<>|')
    assert len(clean.encode()) <= LONGEST_NAME
    assert clean_name(clean) == clean


def test_an_upload_that_nobody_went_on_with_is_forgotten_after_three_days_unless_a_job_wants_it(tmp_path: Path) -> None:
    uploads = Uploads(tmp_path)
    left, wanted = uploads.begin("clip", "a.mp4", 5), uploads.begin("clip", "b.mp4", 5)
    now = (tmp_path / left.id / "told.json").stat().st_mtime
    uploads.sweep(now_s=now + 2 * 24 * 3600)
    assert uploads.get(left.id) == left
    uploads.sweep(keep={wanted.id}, now_s=now + 4 * 24 * 3600)
    with pytest.raises(NotFound):
        uploads.get(left.id)
    assert uploads.get(wanted.id) == wanted


@pytest.mark.parametrize("upload", ["0" * 16, "..", "%2e%2e", "told.json"])
def test_an_upload_that_there_is_not_is_not_found(client: Client, upload: str) -> None:
    assert client.get(f"/api/uploads/{upload}").status_code == 404


def test_a_dropped_file_is_gone(client: Client, library: Library) -> None:
    upload = client.post("/api/uploads", json={"kind": "clip", "name": "a.mp4", "size": 3}).json
    assert client.delete(f"/api/uploads/{upload['id']}").status_code == 204
    assert list((library.root / "uploads").iterdir()) == []
    assert library.courses() == ()
