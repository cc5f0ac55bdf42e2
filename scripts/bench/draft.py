"""How long a walk takes to become a readable draft, as a ratio to bare recognition of the same sound in the same run.

    .venv/bin/python scripts/bench/draft.py CLIP [CLIP ...] [--names FILE]

Bare recognition is faster-whisper alone with the same weights: sound decoded beforehand, default settings, word times. The draft is timed
from nothing (an empty library) to the saved sheet, then to the stills, then to the proxies.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np
from faster_whisper import WhisperModel

from annotator import pipeline
from annotator.library import Library
from annotator.media import read_audio
from annotator.pipeline import StageProgress
from annotator.speech import find_weights, read_names


def bare_recognition_s(clips: list[Path]) -> float:
    """Seconds that faster-whisper alone takes for the clips' sound; loading its weights counts, as it does for the draft."""
    sounds = [np.concatenate([piece.samples for piece in read_audio(clip)]) for clip in clips]
    began = time.perf_counter()
    model = WhisperModel(str(find_weights(None)), device="cpu", compute_type="int8")
    for sound in sounds:
        segments, _ = model.transcribe(sound, language="en", word_timestamps=True)
        for _segment in segments:
            pass
    return time.perf_counter() - began


def draft_s(clips: list[Path], names: list[str]) -> tuple[float, float, float]:
    """Seconds from an empty library to the saved sheet, to the stills, and for the proxies after that."""
    with tempfile.TemporaryDirectory() as folder, Library(Path(folder)) as library:
        began = time.perf_counter()
        read: list[float] = []

        def watch(at: StageProgress) -> None:
            if at.stage == "picking stills" and not read:
                read.append(time.perf_counter() - began)

        name = pipeline.take_in(library, clips, title="bench", names=names)
        pipeline.draft_course(library, name, progress=watch)
        stills = time.perf_counter() - began
        pipeline.make_proxies(library, name)
        return read[0], stills, time.perf_counter() - began - stills


def main() -> None:
    """Print one line a figure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("clips", nargs="+", type=Path)
    parser.add_argument("--names", type=Path)
    given = parser.parse_args()
    names = list(read_names(given.names)) if given.names else []
    bare = bare_recognition_s(given.clips)
    sheet, stills, proxy = draft_s(given.clips, names)
    print(f"bare recognition   {bare:7.1f} s")
    print(f"to the sheet       {sheet:7.1f} s   {sheet / bare:.2f} of bare recognition")
    print(f"to the stills      {stills:7.1f} s   {stills / bare:.2f}")
    print(f"proxies            {proxy:7.1f} s")


if __name__ == "__main__":
    main()
