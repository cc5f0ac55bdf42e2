"""What captions take for a long walk, and how they read on walks with words: shares of cues at or under each speed, before and after.

    .venv/bin/python scripts/bench/captions.py WORDS.json [WORDS.json ...] [--names FILE] [--hours H]

The time is for the first walk's words repeated to H hours (3); it is also given as a ratio to reading the same words from JSON, in one run.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

from annotator.captions import WORDINGS, Setting, broken_limits, plan_cues, reading, rule_spans
from annotator.course import Word
from annotator.rules import draft
from annotator.speech import read_names
from annotator.speech.timedtext import words_from_json, words_to_json


def repeated(words: Sequence[Word], hours: float) -> list[Word]:
    """The words over and over until the hours are full."""
    length_s = words[-1].end + 1.0
    times = max(1, round(hours * 3600 / length_s))
    return [
        word.model_copy(update={"start": word.start + at * length_s, "end": word.end + at * length_s})
        for at in range(times)
        for word in words
    ]


def seconds(step: str, words: Sequence[Word], setting: Setting) -> float:
    """Seconds of one step over all words."""
    began = time.perf_counter()
    if step == "plan":
        plan_cues(words, setting=setting, spans=[(word.start, word.end) for word in words[::40]])
    else:
        words_from_json(words_to_json(words))
    return time.perf_counter() - began


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="+", type=Path)
    parser.add_argument("--names", type=Path)
    parser.add_argument("--hours", type=float, default=3.0)
    given = parser.parse_args()
    walks = [words_from_json(path.read_text("utf-8")) for path in given.words]
    names = read_names(given.names) if given.names else ()
    print(f"{'wording':12} {'cues':>6} {'broken':>6}  share of cues at or under 180, 160, 130 words a minute")
    for wording in WORDINGS:
        setting = Setting(wording)
        counts, cues, broken = [0, 0, 0], 0, 0
        for words in walks:
            sheet = draft(words, names)
            planned = plan_cues(words, setting=setting, spans=rule_spans(sheet.stations, sheet.blanket, sheet.format))
            cues += len(planned)
            broken += len(broken_limits(planned))
            counts = [a + each.kept for a, each in zip(counts, [one for one in reading(planned, setting).limits if one.wish], strict=True)]
        print(f"{wording:12} {cues:6} {broken:6}  {'  '.join(f'{count / cues:.2f}' for count in counts)}")
    long = repeated(walks[0], given.hours)
    plain_s = seconds("read", long, Setting())
    for wording in WORDINGS:
        took = seconds("plan", long, Setting(wording))
        print(f"{given.hours:g} h, {len(long)} words, {wording}: {took:.2f} s, {took / plain_s:.1f} times reading the words from JSON")


if __name__ == "__main__":
    main()
