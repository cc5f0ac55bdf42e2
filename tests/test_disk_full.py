"""A disk that runs full while the program works: a clear sentence, a whole library, and it goes on once there is room."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotator.cli import main
from annotator.library import Library
from tests.small_walk import draw_clip, write_captions

SIZE = 12_000_000
LEFT_TO_ADD, LEFT_TO_PUBLISH = 8_000, 300_000  # less than what the command writes


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of its own that holds 12 MB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root can make a small file system to fill up")
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "tmpfs", str(disk)], capture_output=True, text=True)
    if made.returncode:
        pytest.skip(f"this machine lets nobody make a small file system: {made.stderr.strip()}")
    try:
        yield disk
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)


def run(root: Path, *arguments: object) -> Result:
    return CliRunner().invoke(main, ["--library", str(root), *map(str, arguments)])


def fill(disk: Path, left: int) -> Path:
    filler = disk / "filler"
    filler.write_bytes(b"\0" * max(0, shutil.disk_usage(disk).free - left))
    return filler


def whole(root: Path) -> None:
    with Library(root) as library:
        assert library.verify() == ()
    assert not list(root.rglob(".unfinished-*"))


def test_a_full_disk_costs_nothing_but_time(small_disk: Path, tmp_path: Path) -> None:
    root = small_disk / "library"
    clip, captions = draw_clip(tmp_path / "walk.mp4", 34), write_captions(tmp_path / "walk.vtt")
    assert clip.stat().st_size > LEFT_TO_ADD
    add = ("add", clip, "--captions", captions, "--title", "Spring", "--by", "Ana")
    with Library(root):
        pass
    filler = fill(small_disk, LEFT_TO_ADD)
    refused = run(root, *add)
    assert refused.exit_code == 2 and "disk is full" in refused.stderr
    filler.unlink()
    whole(root)
    assert run(root, *add).exit_code == 0
    assert run(root, "accept", "spring", "--by", "Ana").exit_code == 0

    filler = fill(small_disk, LEFT_TO_PUBLISH)
    refused = run(root, "publish", "spring", "--by", "Ben")
    assert refused.exit_code == 2 and "disk is full" in refused.stderr
    assert run(root, "list").exit_code == 0, "what is there can be read all the same"
    filler.unlink()
    whole(root)
    done = run(root, "publish", "spring", "--by", "Ben")
    assert done.exit_code == 0 and done.stdout.startswith("Edition 1, ")
    whole(root)
