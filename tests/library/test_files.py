"""Files by content: the same bytes once, whole or not at all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.errors import NotFound
from annotator.library import Library
from annotator.library.files import plain_suffix


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def test_what_is_put_in_comes_back_under_its_sha256(tmp_path: Path) -> None:
    files = Library(tmp_path / "l").files
    source = tmp_path / "ein Lauf 🏃.MP4"
    source.write_bytes(b"walk" * 1_000_000)
    sha = files.put(source, source.suffix)
    assert sha == hashlib.sha256(source.read_bytes()).hexdigest()
    assert files.path(sha).read_bytes() == source.read_bytes()
    assert files.path(sha).suffix == ".mp4"
    assert files.damaged(sha) is None


def test_the_same_content_twice_is_one_file(tmp_path: Path) -> None:
    files = Library(tmp_path / "l").files
    (tmp_path / "copy").write_bytes(b"same")
    assert files.put(b"same", ".png") == files.put(tmp_path / "copy", ".jpg") == files.put_stream(iter([b"sa", b"me"]))
    assert len(names(files.root)) == 1
    assert list(files.all()) == [hashlib.sha256(b"same").hexdigest()]


@pytest.mark.parametrize(
    "sha",
    [
        pytest.param("0" * 64, id="never-put"),
        pytest.param("../library.sqlite3", id="a-path"),
        pytest.param("", id="empty"),
        pytest.param("*" * 64, id="a-pattern"),
    ],
)
def test_what_is_not_there_is_not_found(tmp_path: Path, sha: str) -> None:
    files = Library(tmp_path).files
    files.put(b"something")
    assert not files.has(sha)
    with pytest.raises(NotFound):
        files.path(sha)


def test_a_source_that_is_missing_or_breaks_leaves_nothing(tmp_path: Path) -> None:
    files = Library(tmp_path / "l").files
    with pytest.raises(NotFound, match="no file"):
        files.put(tmp_path / "nothing.mp4")

    def breaks() -> Iterator[bytes]:
        yield b"first"
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        files.put_stream(breaks())
    assert names(files.root) == []


def test_damage_is_told(tmp_path: Path) -> None:
    files = Library(tmp_path).files
    sha = files.put(b"as it was")
    files.path(sha).write_bytes(b"as it is!")
    assert files.damaged(sha) == "its content changed"
    assert files.damaged("0" * 64) == "missing"


def test_leftovers_are_swept_when_nobody_else_is_at_work(tmp_path: Path) -> None:
    first = Library(tmp_path)
    leftover = first.files.root / ".unfinished-0123"
    leftover.write_bytes(b"half")
    second = Library(tmp_path)
    assert leftover.exists(), "it could be the first one's"
    first.close()
    second.close()
    Library(tmp_path)
    assert not leftover.exists()


@given(st.text(max_size=20))
def test_a_suffix_never_leads_out_of_the_folder(wish: str) -> None:
    suffix = plain_suffix(wish)
    assert suffix == "" or (suffix.startswith(".") and suffix.replace(".", "").isalnum() and suffix.isascii())
