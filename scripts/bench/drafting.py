"""How long the drafter takes once it is loaded, as a ratio to spaCy's own parse of the same words, and whether that grows in proportion.

    .venv/bin/python scripts/bench/drafting.py FOLDER [--minutes 15 45 180] [--rounds 3]

The walk files of FOLDER are said one after the other, again from the first where they run out, until the walk is so long; times are the
steady pace of scripts/score_rules.py. The peer is the loaded English model given the sentences that the drafter gives it, in the same run;
of the rounds the fastest counts, for both. One line a length.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.course import Word
from annotator.rules import draft, text
from scripts.score_rules import read_walk_file


def walk_of(files: Sequence[Path], minutes: float, few: bool = False) -> tuple[list[Word], list[str]]:
    """Words of a walk that is so long, and the names lists of all that is in it; with `few` that of its first file alone."""
    words: list[Word] = []
    names: list[str] = []
    begin = 0.0
    read = [read_walk_file(path) for path in files]
    while True:
        for said, gold, listed in read:
            names += [] if few and names else listed
            for word in said:
                words.append(word.model_copy(update={"start": begin + word.start, "end": begin + word.end}))
                if words[-1].end >= minutes * 60:
                    return words, list(dict.fromkeys(names))
            begin += gold["duration"] + 2.0


class Overheard:
    """The tagger, and the texts it was given."""

    def __init__(self, tagger: Any) -> None:
        self._tagger = tagger
        self.texts: list[str] = []

    def pipe(self, texts: Sequence[str], batch_size: int) -> Any:
        """As spaCy's."""
        self.texts = list(texts)
        return self._tagger.pipe(texts, batch_size=batch_size)


def fastest_s(work: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Seconds of the fastest round: on the clock, and of this process's processor time."""
    clock, busy = [], []
    for _ in range(rounds):
        began, used = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - began)
        busy.append(time.process_time() - used)
    return min(clock), min(busy)


def main() -> None:
    """One line a length."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--minutes", type=float, nargs="+", default=[15, 45, 180])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--few", action="store_true", help="the same names list for every length")
    given = parser.parse_args()
    files = sorted(given.folder.glob("read_*.yaml"))
    if not files:
        parser.error(f"{given.folder} has no walk files (read_*.yaml); name tests/rules/walks.")
    tagger = text.tagger()
    overheard = Overheard(tagger)
    text.tagger = lambda: overheard  # type: ignore[assignment]
    draft(*walk_of(files, 1, given.few))
    for minutes in given.minutes:
        words, names = walk_of(files, minutes, given.few)
        clock, busy = fastest_s(lambda words=words, names=names: draft(words, names), given.rounds)  # type: ignore[misc]
        parse, parse_busy = fastest_s(lambda: list(tagger.pipe(overheard.texts, batch_size=128)), given.rounds)
        print(
            f"{minutes:>5.0f} min {len(words):>6} words {len(names):>4} names  draft {clock:7.2f} s ({busy:7.2f} s of processor)  "
            f"parse {parse:7.2f} s ({parse_busy:7.2f} s)  ratio {clock / parse:5.2f} ({busy / parse_busy:5.2f})  "
            f"{1000 * busy / len(words):6.3f} ms a word",
            flush=True,
        )


if __name__ == "__main__":
    main()
