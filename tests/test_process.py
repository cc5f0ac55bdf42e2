"""How a process is run that the command line starts."""

from __future__ import annotations

import os
import subprocess
import sys

ASKED = "from annotator.process import settle; settle(); import gc, os; print(gc.get_threshold()[0], os.environ['OPENBLAS_NUM_THREADS'])"


def told(**environment: str) -> str:
    return subprocess.run([sys.executable, "-c", ASKED], env=environment, check=True, capture_output=True, text=True).stdout


def test_who_set_the_number_of_threads_keeps_it() -> None:
    path = os.environ.get("PATH", "")
    assert told(PATH=path) == "70000 1\n"
    assert told(PATH=path, OPENBLAS_NUM_THREADS="4") == "70000 4\n"


def test_the_command_line_imports_no_numbers_before_it_is_settled() -> None:
    asked = "import sys, annotator.cli; print('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", asked], check=True, capture_output=True, text=True).stdout == "False\n"
