"""The demo walk's words as one machine heard them. Recognition rounds differently on another number of cores or another kind of processor,
and then hears a few words differently; the demo's decisions, and its tests, belong to the words kept here.

    .venv/bin/python -m scripts.heard          hears the demo walk here and keeps the words in sample_media/heard/

Do that, and look at the decisions again, when the recogniser's version or the packaged weights change: a test says so.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from annotator.library import Library
from annotator.media import read_audio
from annotator.pipeline import words_key
from annotator.speech import RECOGNISER_VERSION, recognise, weights_id, words_from_json, words_to_json

SAMPLE = Path(__file__).resolve().parent.parent / "sample_media"
HEARD = SAMPLE / "heard"
CLIPS = ("clip-1.mp4", "clip-2.mov")


def kept(clip: str) -> str:
    """The kept words of a clip, as the library keeps words."""
    return (HEARD / f"{clip}.json").read_text("utf-8")


def kept_for() -> dict[str, str]:
    """The recogniser and weights that heard the kept words."""
    return dict(json.loads((HEARD / "heard-by.json").read_text("utf-8")))


def heard_by() -> dict[str, str]:
    """The recogniser and weights of this program."""
    return {"recogniser": RECOGNISER_VERSION, "weights": weights_id()}


def same_words(library: Library, name: str) -> bool:
    """Whether the demo's course was heard word for word as the kept words are."""
    file = library.course(name).doc.words
    here = words_from_json(library.files.path(file).read_text("utf-8")) if file else ()
    there = [word.text for clip in CLIPS for word in words_from_json(kept(clip))]
    return [word.text for word in here] == there


def use_kept(library: Library, clips: Sequence[Path]) -> None:
    """Take the kept words for what was heard in these clips (the demo's, under any path), whatever was heard before."""
    for clip in clips:
        library.mark_done("hear", words_key(library.files.digest(clip), None, weights_id()), kept(clip.name).encode())


def main() -> None:
    """Hear both clips and keep their words."""
    HEARD.mkdir(exist_ok=True)
    for clip in CLIPS:
        (HEARD / f"{clip}.json").write_text(words_to_json(recognise(read_audio(SAMPLE / clip))), "utf-8")
    (HEARD / "heard-by.json").write_text(json.dumps(heard_by(), indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
