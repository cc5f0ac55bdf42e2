"""Draft every walk of a folder and score the sheets against their answers.

    score_rules.py FOLDER... [--scorer FILE] [--verbose] [--only clean|asr] [-o FOLDER]

A walk is NAME.gold.json with NAME.clean.vtt and/or NAME.asr.words.json and NAME.names.txt beside it, or a walk file NAME.yaml. Where
NAME.heard.json (scripts/hear_walks.py) stands beside a walk file its times are the voice's, and the recognised words are scored as well;
where not, sentences are timed at a steady pace. `--scorer` names a script that is called with pairs of answers and drafts; without it the
drafts are only written.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import yaml

from annotator.course import Word
from annotator.rules import draft

_TIMES = re.compile(r"(?:(\d+):)?(\d+):(\d+[.,]\d+)\s+-->\s+(?:(\d+):)?(\d+):(\d+[.,]\d+)")
SECONDS_A_WORD = 0.36
BREATH_S = 0.15


def spread(start_s: float, end_s: float, text: str) -> list[Word]:
    """A cue's words with times in proportion to their length."""
    pieces = text.split()
    total = sum(len(p) + 1 for p in pieces) or 1
    words, at = [], start_s
    for piece in pieces:
        after = at + (end_s - start_s) * (len(piece) + 1) / total
        words.append(Word(start=at, end=after, text=piece))
        at = after
    return words


def read_vtt(path: Path) -> list[Word]:
    """The words of a caption file."""
    words: list[Word] = []
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        match = _TIMES.search(block)
        if match:
            h, m, s, h2, m2, s2 = (float((g or "0").replace(",", ".")) for g in match.groups())
            words += spread(h * 3600 + m * 60 + s, h2 * 3600 + m2 * 60 + s2, " ".join(block[match.end() :].split()))
    return words


def heard_beside(path: Path) -> dict[str, Any] | None:
    """The heard file of a walk file, None where there is none."""
    beside = path.with_suffix(".heard.json")
    return json.loads(beside.read_text(encoding="utf-8")) if beside.exists() else None


def read_heard(path: Path) -> list[Word]:
    """The recognised words of a walk file; empty where it has not been heard."""
    words = []
    for line in (heard_beside(path) or {"words": []})["words"]:
        start, length, share, text = line.split(" ", 3)
        words.append(Word(start=int(start) / 100, end=(int(start) + int(length)) / 100, text=text, probability=int(share) / 100))
    return words


def read_walk_file(path: Path) -> tuple[list[Word], dict[str, Any], list[str]]:
    """Words, answers and names list of a walk file, timed as the voice said it or, where it has not been said, at a steady pace."""
    walk = yaml.safe_load(path.read_text(encoding="utf-8"))
    heard = heard_beside(path)
    words: list[Word] = []
    stations: list[dict[str, Any]] = []
    begins: list[float] = []
    at = 0.0
    for k, section in enumerate(walk["sections"]):
        for i, sentence in enumerate(section["say"]):
            text, pause = (sentence["text"], float(sentence.get("pause", 0))) if isinstance(sentence, dict) else (sentence, 0.0)
            begin, end = at, at + SECONDS_A_WORD * len(text.split())
            if heard:
                begin, end = (t / 100 for t in heard["sentences"][k][i])
            if i == 0:
                begins.append(begin)
            words += spread(begin, end, text)
            at = end + BREATH_S + pause
    duration = heard["duration"] / 100 if heard else at
    for begin, end, section in zip(begins, [*begins[1:], duration], walk["sections"], strict=True):
        if section["kind"] == "station":
            stations.append({"number": len(stations) + 1, "start": begin, "end": end, **section["gold"]})
    gold = {"stations": stations, "duration": duration, "title": walk["title"], **{k: walk.get(k) for k in ("format", "blanket", "gaps")}}
    return words, gold, list(walk.get("glossary") or [])


def window_diff(gold: Sequence[float], draft_starts: Sequence[float], duration_s: float, k: int | None = None) -> float:
    """WindowDiff (Pevzner & Hearst 2002) of station starts on a one-second grid, the first start left out; 0 is perfect.

    `k` is half the mean length of a station where it is not given. Divides by the N - k + 1 windows that there are.
    """
    return _share_of_windows(gold, draft_starts, duration_s, k, lambda one, other: one != other)


def pk(gold: Sequence[float], draft_starts: Sequence[float], duration_s: float, k: int | None = None) -> float:
    """Pk (Beeferman, Berger & Lafferty 1999) over the same windows: wrong where only one of the two has any border in the window."""
    return _share_of_windows(gold, draft_starts, duration_s, k, lambda one, other: bool(one) != bool(other))


def _share_of_windows(
    gold: Sequence[float], draft_starts: Sequence[float], duration_s: float, k: int | None, wrong: Callable[[int, int], bool]
) -> float:
    size = int(duration_s) + 1

    def grid(starts: Sequence[float]) -> list[int]:
        marks = [0] * size
        for start in starts[1:]:
            marks[min(size - 1, max(0, int(start)))] = 1
        return marks

    a, b = grid(gold), grid(draft_starts)
    width = k or max(2, round(size / (2 * max(1, len(gold)))))
    windows = range(size - width + 1)
    return sum(wrong(sum(a[i : i + width]), sum(b[i : i + width])) for i in windows) / max(1, len(windows))


def read_folder(folder: Path, only: str | None) -> list[tuple[str, str, list[Word], list[str], dict[str, Any]]]:
    """All walks of a folder as (name, kind, words, names list, answers)."""
    walks = []
    for gold_path in sorted(folder.glob("*.gold.json")):
        name = gold_path.name.removesuffix(".gold.json")
        gold = json.loads(gold_path.read_text(encoding="utf-8"))
        names_path = folder / f"{name}.names.txt"
        names = names_path.read_text(encoding="utf-8").splitlines() if names_path.exists() else []
        clean, heard = folder / f"{name}.clean.vtt", folder / f"{name}.asr.words.json"
        if clean.exists() and only != "asr":
            walks.append((name, "clean", read_vtt(clean), names, gold))
        if heard.exists() and only != "clean":
            walks.append((name, "asr", [Word(**w) for w in json.loads(heard.read_text(encoding="utf-8"))], names, gold))
    for path in sorted(folder.glob("*.yaml")):
        if not (folder / f"{path.stem}.gold.json").exists():
            words, gold, names = read_walk_file(path)
            heard_words = read_heard(path)
            if only != "asr":
                walks.append((path.stem, "clean", words, names, gold))
            if heard_words and only != "clean":
                walks.append((path.stem, "asr", heard_words, names, gold))
    return walks


def main() -> int:
    """Draft, write, score."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--scorer", type=Path)
    parser.add_argument("--verbose", action="store_true")
    parser.add_argument("--only", choices=("clean", "asr"))
    parser.add_argument("--name", nargs="+", default=[""], help="only walks whose name begins with one of these")
    parser.add_argument("-o", "--out", type=Path)
    args = parser.parse_args()
    out = args.out or Path(tempfile.mkdtemp(prefix="score_rules_"))
    out.mkdir(parents=True, exist_ok=True)
    pairs: dict[str, list[str]] = {}
    borders: dict[str, list[tuple[float, float]]] = {}
    for folder in args.folders:
        for name, kind, words, names, gold in read_folder(folder, args.only):
            if not name.startswith(tuple(args.name)):
                continue
            sheet = draft(words, names)
            gold_path, draft_path = out / f"{name}.{kind}.gold.json", out / f"{name}.{kind}.draft.json"
            gold_path.write_text(json.dumps(gold), encoding="utf-8")
            draft_path.write_text(sheet.model_dump_json(indent=1), encoding="utf-8")
            pairs.setdefault(kind, []).extend([str(gold_path), str(draft_path)])
            told, drafted = [s["start"] for s in gold["stations"]], [s.start or 0.0 for s in sheet.stations]
            borders.setdefault(kind, []).append((window_diff(told, drafted, gold["duration"]), pk(told, drafted, gold["duration"])))
    for kind, files in pairs.items():
        diffs, pks = zip(*borders[kind], strict=True)
        count = len(diffs)
        print(f"== {kind}: {count} walks, WindowDiff {sum(diffs) / count:.3f}, Pk {sum(pks) / count:.3f}", flush=True)
        if args.scorer:
            subprocess.run([sys.executable, str(args.scorer), *files, *(["--verbose"] if args.verbose else [])], check=True)
    print(f"drafts are in {out}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
