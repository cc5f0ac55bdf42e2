"""Small things that take a while to make, kept in a folder by all that goes into them.

In: a name made of the inputs, and how to make it. Out: the thing. A folder of None keeps nothing. Who empties the folder loses only time.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path


def stage_name(*parts: object) -> str:
    """SHA-256 over the parts: numbers, text, None, lists and dicts of such, with text as keys.

    >>> stage_name("1", None) == stage_name("1", None), stage_name("ab", "c") == stage_name("a", "bc")
    (True, False)
    """
    return hashlib.sha256(json.dumps(parts, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def kept_bytes(folder: Path | None, name: str, make: Callable[[], bytes]) -> bytes:
    """What is kept under that name, else what `make` makes, kept from then on."""
    if folder is None:
        return make()
    place = folder / name
    try:
        return place.read_bytes()
    except FileNotFoundError:
        made = make()
        folder.mkdir(parents=True, exist_ok=True)
        part = place.with_name(f"{name}.{os.getpid()}.part")
        part.write_bytes(made)
        part.replace(place)
        return made


def kept_text(folder: Path | None, name: str, make: Callable[[], str]) -> str:
    """As `kept_bytes`, for text."""
    return kept_bytes(folder, name, lambda: make().encode()).decode()
