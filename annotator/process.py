"""How a process of the program is run: called once where one starts, by the command line and by what measures in its place."""

from __future__ import annotations

import gc


def settle() -> None:
    """Look for cycles among objects a hundred times as rarely as Python does by itself.

    Documents, pages and outlines are trees: they go when nobody has them any more. Python would look through some of them after every 700
    that are made, which takes a tenth of publishing in a process that starts.
    """
    gc.set_threshold(70_000, 10, 10)
