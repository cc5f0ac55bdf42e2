"""The answers of a walk: its true rules with times, its text as timed captions, its words, its names list and its sound.

In: a walk, what was spoken, and where each clip begins on the walk's time line. Out: plain values ready to be written, and the writers.
"""

from __future__ import annotations

import json
import wave
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scripts.sample_walk.speech import Take, TimedSentence
from scripts.sample_walk.walkfile import Walk

Starts = Mapping[int, float]
"""Where each clip begins on the walk's time line, in seconds."""


def starts_of(takes: Sequence[Take]) -> dict[int, float]:
    """The clips one after the other, each as long as its sound."""
    starts, at = {}, 0.0
    for take in takes:
        starts[take.clip] = at
        at += take.duration_s
    return starts


def gold_of(walk: Walk, takes: Sequence[Take], starts: Starts, duration_s: float) -> dict[str, Any]:
    """The true rules with walk times. A station lasts from its first word to the first word of the next section (or its clip's end)."""
    spoken = [sentence for take in takes for sentence in take.sentences]
    begins = {index: _first(spoken, index, starts) for index in range(len(walk.sections))}
    stations = []
    for index, section in enumerate(walk.sections):
        if section.station is None:
            continue
        following = index + 1
        end = begins.get(following, duration_s)
        if following < len(walk.sections) and walk.sections[following].clip != section.clip:
            end = starts[walk.sections[following].clip]
        stations.append({"number": section.station, "start": round(begins[index], 3), "end": round(end, 3), **(section.gold or {})})
    return {
        "title": walk.title,
        "glossary": list(walk.glossary),
        "format": walk.format,
        "blanket": list(walk.blanket),
        "stations": stations,
        "gaps": list(walk.gaps),
        **({"settled": list(walk.settled)} if walk.settled else {}),
        "duration": round(duration_s, 3),
    }


def _first(spoken: Sequence[TimedSentence], section: int, starts: Starts) -> float:
    sentence = next(s for s in spoken if s.section == section)
    return float(starts[sentence.clip] + sentence.start_s)


def words_of(takes: Sequence[Take], starts: Starts) -> list[dict[str, Any]]:
    """The true words on the walk's time line; the probability is 1, for they are known."""
    return [
        {
            "start": round(starts[take.clip] + word.start_s, 3),
            "end": round(starts[take.clip] + word.end_s, 3),
            "text": word.text,
            "probability": 1.0,
        }
        for take in takes
        for sentence in take.sentences
        for word in sentence.words
    ]


def vtt_of(takes: Sequence[Take], starts: Starts) -> str:
    """The text as written, as WebVTT with a sentence a cue."""
    cues = ["WEBVTT"]
    for take in takes:
        for sentence in take.sentences:
            start, end = starts[take.clip] + sentence.start_s, starts[take.clip] + sentence.end_s
            cues.append(f"{clock(start)} --> {clock(end)}\n{sentence.text}")
    return "\n\n".join(cues) + "\n"


def clock(seconds: float) -> str:
    """WebVTT time.

    >>> clock(3723.0456)
    '01:02:03.046'
    """
    total_ms = round(seconds * 1000)
    minutes, ms = divmod(total_ms, 60_000)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{ms // 1000:02}.{ms % 1000:03}"


def write_answers(walk: Walk, takes: Sequence[Take], starts: Starts, duration_s: float, folder: Path, prefix: str = "") -> None:
    """Write gold.json, clean.vtt, words.json and names.txt into `folder`, each name after `prefix`."""
    folder.mkdir(parents=True, exist_ok=True)
    write_json(folder / f"{prefix}gold.json", gold_of(walk, takes, starts, duration_s))
    (folder / f"{prefix}clean.vtt").write_text(vtt_of(takes, starts), encoding="utf-8")
    words = words_of(takes, starts)
    lines = ",\n".join(json.dumps(word, ensure_ascii=False) for word in words)
    (folder / f"{prefix}words.json").write_text(f"[{lines}]\n", encoding="utf-8")
    (folder / f"{prefix}names.txt").write_text("\n".join(walk.glossary) + "\n", encoding="utf-8")


def write_json(path: Path, value: Any) -> None:
    """Write JSON that reads well in a diff."""
    path.write_text(json.dumps(value, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def write_sound(takes: Sequence[Take], path: Path) -> None:
    """All takes one after the other as one WAV, 16 bit, mono."""
    path.parent.mkdir(parents=True, exist_ok=True)
    samples = np.concatenate([take.samples for take in takes])
    with wave.open(str(path), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(takes[0].sample_rate)
        sound.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
