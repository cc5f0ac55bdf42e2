"""The maker's command line: any walk file to speech and answers; the demo walk to its films and truth as well."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from scripts.sample_walk.answers import starts_of, write_answers, write_sound
from scripts.sample_walk.speech import PiperTalker, speak
from scripts.sample_walk.walkfile import WalkFileError, read_walk

HOME = Path(__file__).resolve().parents[2] / "sample_media"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the maker; returns the exit code."""
    parser = argparse.ArgumentParser(prog="make_sample_walk", description="Make a test walk from a walk file.")
    parser.add_argument("walk", nargs="?", type=Path, default=HOME / "walk.yaml", help="the walk file (default: the demo walk)")
    parser.add_argument("-o", "--out", type=Path, help="folder to write into (default: beside the walk file)")
    parser.add_argument("--no-picture", action="store_true", help="speech, words and answers only")
    parser.add_argument("--keep-films", action="store_true", help="the clips are there already: make truth and marks again only")
    chosen = parser.parse_args(arguments)
    try:
        walk = read_walk(chosen.walk)
    except (OSError, WalkFileError) as exc:
        print(f"make_sample_walk: {exc}", file=sys.stderr)
        return 2
    out = chosen.out or chosen.walk.parent
    takes = speak(walk, PiperTalker(walk.rate, walk.seed), lambda line: print(f"\r{line}   ", end="", file=sys.stderr, flush=True))
    print(file=sys.stderr)
    if chosen.no_picture or not walk.clips:
        starts = starts_of(takes)
        duration_s = sum(take.duration_s for take in takes)
        write_sound(takes, out / f"{chosen.walk.stem}.wav")
        write_answers(walk, takes, starts, duration_s, out, f"{chosen.walk.stem}.")
        return 0
    from scripts.sample_walk.film import film_walk

    film_walk(walk, takes, out, keep_films=chosen.keep_films)
    return 0
