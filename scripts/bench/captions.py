"""What captions take for a long walk, and how they read on walks with words: every limit with its share, each wording of each walk.

    .venv/bin/python scripts/bench/captions.py WORDS.json [WORDS.json ...] [--names FILE] [--hours H]

Names are looked for beside a file of words too (`dev_1.names.txt` for `dev_1.asr.words.json`). A file may hold several clips' words joined
by a comma: `clip-1.json,clip-2.json`, the second laid behind the first. Rule words lost by shortening are those that may say a rule and
are not in the captions any more, as tests/captions/test_wording.py counts them.

The time is for the first walk's words repeated to H hours (3); it is also given as a ratio to reading the same words from JSON, in one run.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from annotator.captions import WORDINGS, Cue, Setting, plan_cues, reading, rule_spans
from annotator.captions.breaks import plain
from annotator.captions.wording import shown_words
from annotator.course import Word
from annotator.rules import draft, taken_back
from annotator.speech import read_names
from annotator.speech.timedtext import words_from_json, words_to_json

NEVER_LAST = {"a", "an", "the", "your", "my", "our", "every", "of", "from", "with", "to", "into", "onto", "at", "for"}
"""Without a sign after them: what follows belongs to them (BBC Subtitle Guidelines 1.2.5, 3.4)."""
RULE_WORDS = {"out", "only", "not", "no", "hands", "feet", "hand", "foot", "start", "finish", "both", "all", "under", "never", "may", "can"}


def repeated(words: Sequence[Word], hours: float) -> list[Word]:
    """The words over and over until the hours are full."""
    length_s = words[-1].end + 1.0
    times = max(1, round(hours * 3600 / length_s))
    return [
        word.model_copy(update={"start": word.start + at * length_s, "end": word.end + at * length_s})
        for at in range(times)
        for word in words
    ]


def walk_of(part: str) -> list[Word]:
    """The words of a walk; several clips' one behind the other."""
    walk: list[Word] = []
    for path in part.split(","):
        later_s = walk[-1].end + 1.0 if walk else 0.0
        read = words_from_json(Path(path).read_text("utf-8"))
        walk += [word.model_copy(update={"start": word.start + later_s, "end": word.end + later_s}) for word in read]
    return walk


def names_of(part: str) -> tuple[str, ...]:
    """The names beside a file of words, if there are any."""
    path = Path(part.split(",")[0])
    beside = path.with_name(f"{path.name.split('.')[0]}.names.txt")
    return tuple(read_names(beside)) if beside.is_file() else ()


def lost_words(part: str, words: Sequence[Word], names: Sequence[str], setting: Setting) -> int | None:
    """How many words that a true rule is made of (names, parts, limbs, in and out) a wording leaves out; None where the truth is not known.

    Words that the speaker takes back are none: nobody means them.
    """
    path = Path(part.split(",")[0])
    gold = path.with_name(f"{path.name.split('.')[0]}.gold.json")
    if not gold.is_file():
        return None
    truth = json.loads(gold.read_text("utf-8"))
    things = [thing for station in truth["stations"] for thing in station["surfaces"]]
    texts = [*names, *(text for thing in things for text in (thing["name"], thing.get("part") or ""))]
    told = {plain(word) for text in texts for word in text.split()} | RULE_WORDS
    sheet = draft(words, names)
    shown = shown_words(words, setting, rule_spans(sheet.stations, sheet.blanket, sheet.format))
    back = taken_back(words)
    meant = Counter(plain(word.text) for at, word in enumerate(words) if at not in back)
    kept = Counter(plain(word.text) for word in shown)
    return sum(max(0, meant[word] - kept[word]) for word in told)


def start_off_s(cue: Cue, words: Sequence[Word]) -> float:
    """Seconds from a cue's beginning to the nearest beginning of a word."""
    return min(abs(word.start - cue.start_s) for word in words)


def seconds(step: str, words: Sequence[Word], setting: Setting) -> float:
    """Processor seconds of one step over all words: it runs on one core, so that on a quiet machine it takes as long."""
    began = time.process_time()
    if step == "plan":
        plan_cues(words, setting=setting, spans=[(word.start, word.end) for word in words[::40]])
    else:
        words_from_json(words_to_json(words))
    return time.process_time() - began


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="+")
    parser.add_argument("--names", type=Path)
    parser.add_argument("--hours", type=float, default=3.0)
    given = parser.parse_args()
    walks = [walk_of(part) for part in given.words]
    listed = [names_of(part) or (read_names(given.names) if given.names else ()) for part in given.words]
    for wording in WORDINGS:
        setting = Setting(wording)
        planned = []
        for words, names in zip(walks, listed, strict=True):
            sheet = draft(words, names)
            planned.append(plan_cues(words, setting=setting, spans=rule_spans(sheet.stations, sheet.blanket, sheet.format)))
        reports = [reading(cues, setting, words=words).limits for cues, words in zip(planned, walks, strict=True)]
        print(f"{wording}: {', '.join(str(len(cues)) for cues in planned)} cues")
        for limits in zip(*reports, strict=True):
            share = sum(each.kept for each in limits) / sum(each.of for each in limits)
            each_walk = "  ".join(f"{each.share:.2f}" for each in limits)
            print(f"    {'wish ' if limits[0].wish else 'limit'} {limits[0].limit:42} all {share:.3f}   each {each_walk}")
        off = [start_off_s(cue, words) for cues, words in zip(planned, walks, strict=True) for cue in cues]
        print(f"    start from the nearest word, s: median {np.median(off):.3f}, 95 % {np.percentile(off, 95):.3f}, most {max(off):.3f}")
        ends = [line.split()[-1].lower() for cues in planned for cue in cues for line in cue.lines if line.split()]
        print(f"    lines that end on an article or a preposition: {sum(word in NEVER_LAST for word in ends)} of {len(ends)}")
        lost = [lost_words(part, words, names, setting) for part, words, names in zip(given.words, walks, listed, strict=True)]
        print(f"    words of true rules lost by shortening: {', '.join('no truth' if each is None else str(each) for each in lost)}")
    long = repeated(walks[0], given.hours)
    plain_s = seconds("read", long, Setting())
    for wording in WORDINGS:
        took = seconds("plan", long, Setting(wording))
        print(f"{given.hours:g} h, {len(long)} words, {wording}: {took:.2f} s, {took / plain_s:.1f} times reading the words from JSON")


if __name__ == "__main__":
    main()
