"""Kill a command at a moment that is the same on every machine: when it says a line, or when it touches the library the nth time.

The command is the real one in a process of its own, and the SIGKILL is a real one, sent by the process to itself; nothing here waits for a
clock. Touches are Python's audit events for opening a file to write, renaming, removing, making folders and opening the database.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

KILLED = -signal.SIGKILL

_RUN = textwrap.dedent(
    """
    import io, os, runpy, signal, sys

    root, say, touch = sys.argv[1], sys.argv[2], int(sys.argv[3])
    sys.argv = ["annotator", *sys.argv[4:]]
    touches = 0

    class Told(io.TextIOWrapper):
        def write(self, text):
            written = super().write(text)
            if say and say in text:
                self.flush()
                os.kill(os.getpid(), signal.SIGKILL)
            return written

    def changes(event, arguments):
        if event == "open":
            path, mode, flags = arguments
            return isinstance(path, str) and root in path and bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
        return event in ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "sqlite3.connect") and root in str(arguments[0])

    def watch(event, arguments):
        global touches
        if changes(event, arguments):
            touches += 1
            if touches == touch:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.stderr = Told(sys.stderr.buffer, encoding="utf-8", errors="backslashreplace", line_buffering=True)
    sys.addaudithook(watch)
    runpy.run_module("annotator.cli", run_name="__main__", alter_sys=True)
    """
)

# Stands in the way of a library that must not be loaded again: importing it ends the command.
_TRIPWIRE = "raise RuntimeError('this was done already and must not be done again')\n"


def command(
    root: Path, *arguments: object, say: str = "", touch: int = 0, without: tuple[str, ...] = ()
) -> subprocess.CompletedProcess[str]:
    """Run a command on the library at `root`; it dies as soon as it says a line with `say` in it, or before its `touch`th touch (from 1).

    `without` names libraries that it must not load this time.
    """
    env = {**os.environ, "ANNOTATOR_LIBRARY": str(root)}
    if without:
        traps = root.parent / "traps"
        for name in without:
            (traps / name).mkdir(parents=True, exist_ok=True)
            (traps / name / "__init__.py").write_text(_TRIPWIRE)
        env["PYTHONPATH"] = os.pathsep.join([str(traps), *filter(None, [os.environ.get("PYTHONPATH")])])
    words = [sys.executable, "-c", _RUN, str(root), say, str(touch), *map(str, arguments)]
    return subprocess.run(words, capture_output=True, text=True, env=env, check=False)


def finish(root: Path, *arguments: object, without: tuple[str, ...] = ()) -> str:
    """Let it run to its end, which must be a good one; what it printed as its result."""
    done = command(root, *arguments, without=without)
    assert done.returncode == 0, done.stderr
    return done.stdout


def kill_at(root: Path, line: str, *arguments: object, without: tuple[str, ...] = ()) -> None:
    """Run it until it says `line`, which it must."""
    done = command(root, *arguments, say=line, without=without)
    assert done.returncode == KILLED, f"it never said {line!r}: {done.stderr}"
