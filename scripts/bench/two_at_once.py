"""Let two pages change one small course at random for a minute, one over a line that drops, and hold their log against the history.

    .venv/bin/python scripts/bench/two_at_once.py [SECONDS] [SEED]

The short form of it, by number of changes, is tests/server/test_two_at_once.py. Prints what was done; fails where anything is missing.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator import pipeline
from annotator.library import Library
from tests.server.test_two_at_once import change_at_random, hold_against_history
from tests.small_walk import draw_clip, write_captions


def main(seconds: float = 60, seed: int = 1) -> None:
    """Run it on a course that is made for it, in a folder that is thrown away."""
    with tempfile.TemporaryDirectory() as folder, Library(Path(folder) / "library") as library:
        clip, captions = draw_clip(Path(folder) / "walk.mp4", 34), write_captions(Path(folder) / "walk.vtt")
        name = pipeline.take_in(library, [clip], title="Spring course", captions=[captions], names=["stump hop", "rung bridge"], who="Ana")
        pipeline.draft_course(library, name)
        log = change_at_random(library, name, Path(folder) / "log.json", SEED=seed, SECONDS=seconds)
        print(hold_against_history(library, name, log), log["drops"])


if __name__ == "__main__":
    told = sys.argv[1:]
    main(float(told[0]) if told else 60, int(told[1]) if len(told) > 1 else 1)
