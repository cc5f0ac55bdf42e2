"""scripts/start: what it takes and hands on to the server, tried where everything that it calls only tells how it was called."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

START = Path(__file__).resolve().parents[1] / "scripts" / "start"
pytestmark = pytest.mark.skipif(os.name == "nt" or shutil.which("bash") is None, reason="a script for bash")


def started(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    (folder / "scripts").mkdir()
    (folder / ".venv" / "bin").mkdir(parents=True)
    shutil.copy(START, folder / "scripts" / "start")
    (folder / "scripts" / "environment").write_text('make_environment() { echo "made"; }\n', "utf-8")
    for name in ("python", "annotator"):
        tool = folder / ".venv" / "bin" / name
        tool.write_text(f'#!/usr/bin/env bash\necho "{name} $*"\n', "utf-8")
        tool.chmod(0o755)
    return subprocess.run(["bash", str(folder / "scripts" / "start"), *words], capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("words", "served"),
    [
        pytest.param([], ["annotator serve"], id="plain"),
        pytest.param(["--port", "8020"], ["annotator serve --port 8020"], id="port"),
        pytest.param(["--port=8020"], ["annotator serve --port 8020"], id="port in one word"),
        pytest.param(["--once", "--port", "8020"], [], id="once"),
    ],
)
def test_the_port_is_handed_on_to_the_server(tmp_path: Path, words: list[str], served: list[str]) -> None:
    ran = started(tmp_path, *words)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines() == ["made", "python scripts/demo.py", *served]


@pytest.mark.parametrize("words", [["--port"], ["--port", "nine"], ["--port", "65536"], ["--port="], ["--port", "--once"], ["--ports"]])
def test_what_is_no_port_is_refused_before_anything_is_made(tmp_path: Path, words: list[str]) -> None:
    ran = started(tmp_path, *words)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "--port" in ran.stderr
