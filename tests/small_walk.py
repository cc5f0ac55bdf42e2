"""A small walk of our own: a drawn clip, and what is said on it as captions. Quick to take in, since nothing need be heard."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from annotator.media import open_writer

SAID = (
    ("Welcome to the walk of the spring course. What we do not name is out of play.", 4.0),
    ("You may try one failed station again, and the furthest, then fastest wins.", 4.0),
    ("Station one is the stump hop. You start on the blue platform.", 4.0),
    ("Feet only on the stumps.", 2.5),
    ("The red frame is out.", 2.5),
    ("You finish on the green platform, and you may not land past it.", 4.0),
    ("Station two is the rung bridge. You start on the green platform.", 4.0),
    ("Hands only on the rungs.", 2.5),
    ("You finish on the landing mat.", 3.0),
)
LATER = (
    ("Station three is the tall wall. You start on the yellow box.", 4.0),
    ("Hands and feet on the wall.", 3.0),
    ("You finish at the white line.", 3.0),
)
"""What is said on a further clip of the same walk."""


def draw_clip(path: Path, seconds: float, *, shade: int = 210, rate: int = 8) -> Path:
    """A hall of three coloured blocks with something that moves, `seconds` long, without sound."""
    height, width = 180, 320
    hall = np.full((height, width, 3), shade, np.uint8)
    hall[120:, :] = (150, 140, 120)
    hall[95:130, 20:90] = (20, 60, 190)
    hall[95:130, 230:300] = (30, 140, 60)
    hall[30:60, 120:200] = (190, 40, 40)
    with open_writer(path, width, height) as film:
        for at in range(int(seconds * rate)):
            image = hall.copy()
            left = 40 + at % 200
            image[70:95, left : left + 12] = (240, 200, 150)
            film.write(image, at / rate)
    return path


def write_captions(path: Path, said: Sequence[tuple[str, float]] = SAID) -> Path:
    """What is said on the walk, as WebVTT."""
    lines, start = ["WEBVTT", ""], 0.5
    for text, seconds in said:
        lines += [f"{_stamp(start)} --> {_stamp(start + seconds - 0.2)}", text, ""]
        start += seconds
    path.write_text("\n".join(lines), "utf-8")
    return path


def _stamp(seconds: float) -> str:
    return f"00:{int(seconds // 60):02}:{seconds % 60:06.3f}"
