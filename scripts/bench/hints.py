"""What the names list is worth to the recogniser: word errors and head nouns with and without it.

    .venv/bin/python scripts/bench/hints.py FOLDER...
    .venv/bin/python scripts/bench/hints.py --kept FOLDER...     of walk files already heard (scripts/hear_walks.py); totals alone

A folder holds what the maker of test walks writes without pictures: NAME.wav, NAME.words.json (what was truly said), NAME.gold.json and
NAME.names.txt. Each sound is recognised bare, with the names as words to look out for (`hotwords`), and with them as the text before
(`initial_prompt`). Word errors are jiwer's, of words in lower case without punctuation. A head noun counts as there when the last word of
an answer's surface, singular or plural, is among the words heard while its station lasts.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jiwer

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.course import Word
from annotator.media import read_audio
from annotator.speech import recognise
from scripts.score_rules import read_heard, read_walk_file

recogniser = sys.modules["annotator.speech.recognise"]  # the name in the package is the function
NEAR_S = 3.0  # a rule may be told just outside its station's span


class Hinted:
    """The loaded recogniser, given the names with each piece of sound."""

    def __init__(self, model: Any, hints: dict[str, str]) -> None:
        self._model, self._hints = model, hints
        self.model = Hinted(model.model, hints) if hasattr(model, "model") and hasattr(model.model, "transcribe") else model.model

    def transcribe(self, *sound: Any, **settings: Any) -> Any:
        """As faster-whisper's."""
        return self._model.transcribe(*sound, **settings, **self._hints)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._model, name)


def hear(sound: Path, hints: dict[str, str]) -> tuple[Word, ...]:
    """The words of a sound, the recogniser given the hints."""
    plain = recogniser.load
    recogniser.load = lambda folder: Hinted(plain(folder), hints)  # type: ignore[attr-defined]
    try:
        return recognise(read_audio(sound))
    finally:
        recogniser.load = plain  # type: ignore[attr-defined]


def plain_text(words: Sequence[str]) -> str:
    """Words in lower case without punctuation."""
    return " ".join(re.sub(r"[^a-z0-9' ]", "", " ".join(words).lower().replace("-", " ")).split())


def head_nouns(words: Sequence[Word], gold: dict[str, Any]) -> tuple[int, int]:
    """How many of the answers' surfaces have their head noun among the words of their station, and how many surfaces there are."""
    there = total = 0
    for station in gold["stations"]:
        heard = {
            _stem(piece)
            for word in words
            if station["start"] - NEAR_S <= word.start <= station["end"] + NEAR_S
            for piece in plain_text([word.text]).split()
        }
        heads = [_stem(plain_text([surface["name"]]).split()[-1]) for surface in station["surfaces"]]
        there += sum(head in heard for head in heads)
        total += len(heads)
    return there, total


def _stem(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def of_kept(folders: Sequence[Path]) -> str:
    """The figures of all kept words of walk files, those kept apart by themselves."""
    lines = []
    for kind in ("read_", "unread_"):
        said, heard, there, total = [], [], 0, 0
        for path in sorted(path for folder in folders for path in folder.glob(f"{kind}*.yaml")):
            if words := read_heard(path):
                truth, gold, _ = read_walk_file(path)
                said.append(plain_text([w.text for w in truth]))
                heard.append(plain_text([w.text for w in words]))
                found, surfaces = head_nouns(words, gold)
                there, total = there + found, total + surfaces
        if said:
            lines.append(f"{kind} {len(said)} walks  WER {jiwer.wer(said, heard):.3f}  head nouns {there}/{total} {there / total:.3f}")
    return "\n".join(lines)


def main() -> int:
    """One line a walk and way."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--kept", action="store_true", help="measure the words kept beside walk files, hear nothing")
    given = parser.parse_args()
    if given.kept:
        print(of_kept(given.folders))
        return 0
    for sound in sorted(path for folder in given.folders for path in folder.glob("*.wav")):
        truth = [w["text"] for w in json.loads(sound.with_suffix(".words.json").read_text("utf-8"))]
        gold = json.loads(sound.with_suffix(".gold.json").read_text("utf-8"))
        names = ", ".join(sound.with_suffix(".names.txt").read_text("utf-8").split("\n")).strip(", ")
        listed = set(plain_text([names]).split())
        for way, hints in (
            ("bare", {}),
            ("hotwords", {"hotwords": names}),
            ("text before", {"initial_prompt": names + "."}),
        ):
            words = hear(sound, hints)
            said, heard = plain_text(truth), plain_text([w.text for w in words])
            there, total = head_nouns(words, gold)
            kept = sum(min(said.split().count(w), heard.split().count(w)) for w in listed) / max(
                1, sum(said.split().count(w) for w in listed)
            )
            print(
                f"{sound.stem:<10} {way:<12} {len(words):>5} words  WER {jiwer.wer(said, heard):.3f}  head nouns {there}/{total} "
                f"{there / total:.3f}  words of the names list {kept:.3f}",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
