"""How a process of the program is run: called once where one starts, by the command line and by what measures in its place."""

from __future__ import annotations

import gc
import os

_BLAS_THREADS = "OPENBLAS_NUM_THREADS"


def settle() -> None:
    """Look for cycles among objects a hundred times as rarely as Python does by itself, and multiply matrices on one thread.

    Documents, pages and outlines are trees: they go when nobody has them any more. Python would look through some of them after every 700
    that are made, which takes a tenth of publishing in a process that starts. Matrices here are small; where another process is at work
    too, the threads of both wait for each other most of the time (measured: two that read a walk took five times as long). Who set the
    number of threads keeps it. Numpy reads it when it is imported, so this comes first.
    """
    gc.set_threshold(70_000, 10, 10)
    os.environ.setdefault(_BLAS_THREADS, "1")
