"""Say walk files with the maker's voice, hear them with our own recogniser, and keep what was heard beside them.

    nice .venv/bin/python scripts/hear_walks.py WALK.yaml... [--again] [--keep-sound FOLDER]

Writes NAME.heard.json beside NAME.yaml: the true times of sections and sentences on the sound's time line, and the recognised words, one a
line. A walk that has been heard since it was written is passed over. The voice (piper-tts) and its data are tools, not part of the product.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.course import Word
from annotator.media import read_audio
from annotator.speech import RECOGNISER_VERSION, recognise
from scripts.sample_walk.answers import starts_of, write_sound
from scripts.sample_walk.speech import PiperTalker, Take, speak
from scripts.sample_walk.walkfile import Walk, read_walk


def heard_path(walk: Path) -> Path:
    """Where the recognised words of a walk file are kept."""
    return walk.with_suffix(".heard.json")


def said_id(walk: Walk) -> str:
    """An id of everything that is said in a walk; it changes when a sentence or a pause does, not with the answers."""
    said = [[s.text, s.pause_s] for section in walk.sections for s in section.say]
    return hashlib.sha256(json.dumps([walk.rate, walk.seed, said]).encode()).hexdigest()[:16]


def kept(walk: Walk, takes: tuple[Take, ...], words: tuple[Word, ...]) -> str:
    """The text of a heard file. Times in hundredths of a second; a word is "start length probability(%) text"."""
    starts = starts_of(takes)
    sentences: dict[int, list[list[int]]] = {}
    for take in takes:
        for each in take.sentences:
            at = starts[take.clip]
            sentences.setdefault(each.section, []).append([round(100 * (at + each.start_s)), round(100 * (at + each.end_s))])
    head: dict[str, Any] = {
        "said": said_id(walk),
        "recogniser": RECOGNISER_VERSION,
        "duration": round(100 * sum(take.duration_s for take in takes)),
        "sentences": [sentences[k] for k in sorted(sentences)],
    }
    lines = [
        json.dumps(
            f"{round(100 * w.start)} {round(100 * (w.end - w.start))} {round(100 * (w.probability or 0))} {w.text}", ensure_ascii=False
        )
        for w in words
    ]
    return json.dumps(head)[:-1] + ', "words": [\n' + ",\n".join(lines) + "\n]}\n"


def hear(path: Path, keep_sound: Path | None) -> str:
    """Say and hear one walk file; the text of its heard file."""
    walk = read_walk(path)
    takes = speak(walk, PiperTalker(walk.rate, walk.seed))
    with tempfile.TemporaryDirectory() as folder:
        sound = (keep_sound or Path(folder)) / f"{path.stem}.wav"
        write_sound(takes, sound)
        words = recognise(read_audio(sound))
    return kept(walk, takes, words)


def main() -> int:
    """One file after the other, each written as soon as it is heard."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("walks", nargs="+", type=Path)
    parser.add_argument("--again", action="store_true", help="hear walks that were heard before as well")
    parser.add_argument("--keep-sound", type=Path, help="folder to keep the sound in")
    given = parser.parse_args()
    for path in given.walks:
        out = heard_path(path)
        if not given.again and out.exists() and json.loads(out.read_text(encoding="utf-8"))["said"] == said_id(read_walk(path)):
            continue
        out.write_text(hear(path, given.keep_sound), encoding="utf-8")
        print(f"{out.name} is written", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
