"""Speech to words with times and probabilities.

In: pieces of sound (16 kHz mono) in order, each with its place on the walk's time line. Out: words on that one line. A recording of any
length is worked on in blocks that are cut where nobody speaks, so that memory stays bounded and no word is split. Only stretches with a
voice in them reach the recogniser: small models invent words on silence. Decoding a file to sound is annotator/media.
"""

from __future__ import annotations

import os
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from annotator.course import Word
from annotator.speech.times import Span, settle
from annotator.speech.weights import find_weights
from annotator.units import Progress

RECOGNISER_VERSION = "1"
"""Changes whenever the same sound and weights would give other words; the stage cache keys on it."""

RATE_HZ = 16_000
BLOCK_S = 600.0
CUT_WITHIN_S = 60.0  # how far back from a block's end a pause is looked for
JOIN_S = 0.05  # pieces that follow each other closer than this are one stretch of sound
BEAM = 3
BATCH = 4  # windows decoded together; more gains nothing on two cores and costs memory
REPEATS = 2.4  # zlib ratio above which a text is a loop, from Whisper's own rules
NO_SPEECH = 0.6  # the same source: with a mean log probability below LOW it is no speech
LOW = -1.0
UNHEARD_S = 0.8  # so much voice without a word is worth a second look
LAST_S = 0.3  # the recogniser cuts last words short
EDGE_S = 0.2
ONSET_S = 0.35

Samples = NDArray[np.float32]


class AudioPiece(Protocol):
    """A stretch of sound: float32 mono at 16 kHz, -1 to 1, beginning at `start_s` of the walk."""

    @property
    def start_s(self) -> float: ...
    @property
    def samples(self) -> Samples: ...


@dataclass(frozen=True)
class Block:
    """What is recognised at one go. `cut_s` of walk time, `samples` as in `AudioPiece`."""

    start_s: float
    samples: Samples


def recognise(
    pieces: Iterable[AudioPiece],
    *,
    weights: str | None = None,
    total_s: float | None = None,
    progress: Progress | None = None,
) -> tuple[Word, ...]:
    """The words spoken in a walk, in order of time; the same sound and weights give the same words every time.

    Parameters
    ----------
    pieces
        Sound in order of time; a gap between two pieces (another clip) is kept as a gap.
    weights
        See `find_weights`.
    total_s
        Length of all sound in seconds, for `progress`; without it only the end is told.
    progress
        Told the share of the sound that is done. What it raises (`Stopped`) goes through.

    Returns
    -------
    tuple of Word
        Starts rise, no word overlaps the next; empty where nobody speaks.

    Raises
    ------
    MissingWeights
        No weights on this machine.
    """
    model = load(find_weights(weights))
    words: list[Word] = []
    done_s = 0.0
    for block in blocks(pieces):
        tell = _Told(progress, done_s, total_s)
        words.extend(_moved(_recognised(model, block.samples, tell), block.start_s))
        done_s += len(block.samples) / RATE_HZ
        tell(len(block.samples) / RATE_HZ)
    if progress:
        progress(1.0)
    return tidy(sorted(words, key=lambda word: word.start))


def blocks(pieces: Iterable[AudioPiece], block_s: float = BLOCK_S) -> Iterator[Block]:
    """Cut sound into blocks of about `block_s`, in the longest pause near each border; every sample comes out once, in order.

    Memory holds one block, one piece and nothing else. Where a block has no pause at all near its border, it is cut at its quietest moment.
    """
    start_s, held = 0.0, np.zeros(0, np.float32)
    for piece in pieces:
        samples = np.asarray(piece.samples, np.float32)
        if len(held) and abs(start_s + len(held) / RATE_HZ - piece.start_s) > JOIN_S:
            yield Block(start_s, held)
            held = np.zeros(0, np.float32)
        if not len(held):
            start_s = piece.start_s
        held = np.concatenate((held, samples)) if len(held) else samples
        while len(held) > block_s * RATE_HZ:
            cut = _cut(held[: round(block_s * RATE_HZ)])
            yield Block(start_s, held[:cut])
            start_s, held = start_s + cut / RATE_HZ, held[cut:].copy()
    if len(held):
        yield Block(start_s, held)


def _cut(samples: Samples) -> int:
    """Where to cut, in samples from the start: the middle of the longest pause near the end, else the quietest moment there."""
    near = min(len(samples) // 2, round(CUT_WITHIN_S * RATE_HZ))
    first = len(samples) - near
    tail = samples[first:]
    speech = _speech_spans(tail)
    edges = [0, *(edge for span in speech for edge in span), len(tail)]
    pauses = [(end - start, start, end) for start, end in zip(edges[::2], edges[1::2], strict=True) if end > start]
    if pauses:
        _, start, end = max(pauses)
        return first + max(1, (start + end) // 2)
    frame = RATE_HZ // 50
    loud = np.abs(tail[: len(tail) // frame * frame]).reshape(-1, frame).sum(axis=1)
    return first + max(1, int(np.argmin(loud)) * frame + frame // 2)


def _speech_spans(samples: Samples) -> list[tuple[int, int]]:
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    options = VadOptions(min_silence_duration_ms=100, speech_pad_ms=0)
    return [(span["start"], min(span["end"], len(samples))) for span in get_speech_timestamps(samples, options)]


@lru_cache(maxsize=1)
def load(folder: Path) -> Any:
    """The model in memory, kept for the next walk: loading takes longer than a short clip."""
    from faster_whisper import BatchedInferencePipeline, WhisperModel

    threads = min(8, os.cpu_count() or 1)
    return BatchedInferencePipeline(WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=threads))


class _Told:
    """Passes on how far a block is, as a share of the whole."""

    def __init__(self, progress: Progress | None, before_s: float, total_s: float | None) -> None:
        self.progress, self.before_s, self.total_s = progress, before_s, total_s
        self.furthest_s = 0.0

    def __call__(self, at_s: float) -> None:
        self.furthest_s = max(self.furthest_s, at_s)
        if self.progress and self.total_s:
            self.progress(min(1.0, (self.before_s + self.furthest_s) / self.total_s))


def _recognised(model: Any, samples: Samples, tell: _Told) -> list[Word]:
    """The words of one block, window after window, times from its start."""
    settings: dict[str, Any] = {
        "language": None if model.model.model.is_multilingual else "en",
        "beam_size": BEAM,
        "temperature": 0.0,  # the only setting that draws no random numbers
        "word_timestamps": True,
    }
    segments, _ = model.transcribe(samples, batch_size=BATCH, vad_filter=True, **settings)
    words: list[Word] = []
    for segment in segments:
        if _is_speech(segment):
            words.extend(_words(segment.words, 0.0))
        elif segment.compression_ratio > REPEATS:
            words.extend(_again(model, samples, (segment.start, segment.end), settings))
        tell(segment.end)
    speech = [(first / RATE_HZ, last / RATE_HZ) for first, last in _speech_spans(samples)]
    # The decoder sometimes ends a window early and leaves whole sentences out: look where somebody speaks and no word stands.
    for span in unheard(speech, words):
        words.extend(_again(model, samples, span, settings))
        tell(span[1])
    return begin_with_the_voice(sorted(words, key=lambda word: word.start), speech)


def begin_with_the_voice(words: Sequence[Word], speech: Sequence[Span]) -> list[Word]:
    """Words that follow a pause, moved by up to `ONSET_S` to where the voice sets in: the detector knows it better than the recogniser.

    On synthetic speech with known times the recogniser is off by 0.05 to 0.07 s at the median, the detector by 0.01 s.

    >>> begin_with_the_voice([Word(start=1.2, end=1.6, text="Feet")], [(1.05, 1.7)])[0].start
    1.05
    """
    moved = list(words)
    starts = [word.start for word in words]
    for onset, _ in speech:
        after = bisect_left(starts, onset)
        near = min(range(max(0, after - 1), min(len(starts), after + 1)), key=lambda at: abs(starts[at] - onset), default=None)
        if near is None or abs(starts[near] - onset) > ONSET_S:
            continue
        earliest = moved[near - 1].start + 0.04 if near else 0.0
        if onset >= earliest and (near + 1 == len(starts) or onset < starts[near + 1]):
            moved[near] = moved[near].model_copy(update={"start": onset, "end": max(onset, moved[near].end)})
    return moved


def unheard(speech: Sequence[Span], words: Sequence[Word]) -> list[Span]:
    """Stretches of at least `UNHEARD_S` seconds of voice in which no word stands. Both in order of time, seconds.

    >>> unheard([(0.0, 2.0), (3.0, 4.0), (4.2, 5.0)], [Word(start=0.1, end=1.9, text="feet")])
    [(3.0, 5.0)]
    """
    stretches: list[list[Span]] = [[]]
    for start, end in speech:
        if any(word.start < end and word.end + LAST_S > start for word in words):
            stretches.append([])
        elif stretches[-1] and start - stretches[-1][-1][1] > 1.0:
            stretches.append([(start, end)])
        else:
            stretches[-1].append((start, end))
    return [(stretch[0][0], stretch[-1][1]) for stretch in stretches if sum(end - start for start, end in stretch) >= UNHEARD_S]


def _again(model: Any, samples: Samples, span: Span, settings: dict[str, Any]) -> tuple[Word, ...]:
    """One stretch by itself, with loops forbidden; nothing where it still goes round in circles or is no speech."""
    first, last = max(0, round((span[0] - EDGE_S) * RATE_HZ)), round((span[1] + EDGE_S) * RATE_HZ)
    calmer, _ = model.model.transcribe(
        samples[first:last], vad_filter=False, condition_on_previous_text=False, no_repeat_ngram_size=5, **settings
    )
    return tuple(word for part in calmer if _is_speech(part) for word in _words(part.words, first / RATE_HZ))


def _is_speech(segment: Any) -> bool:
    silent = segment.no_speech_prob > NO_SPEECH and segment.avg_logprob < LOW
    return not silent and segment.compression_ratio <= REPEATS


def _words(heard: Iterable[Any], offset_s: float) -> tuple[Word, ...]:
    return tuple(
        Word(
            start=max(0.0, word.start + offset_s),
            end=max(0.0, word.start + offset_s, word.end + offset_s),
            text=word.word.strip(),
            probability=min(1.0, max(0.0, round(float(word.probability), 3))),
        )
        for word in heard
        if word.word.strip()
    )


def _moved(words: Iterable[Word], by_s: float) -> Iterator[Word]:
    for word in words:
        yield word.model_copy(update={"start": word.start + by_s, "end": word.end + by_s})


def tidy(words: Sequence[Word]) -> tuple[Word, ...]:
    """The words with times that `settle` mended; the recogniser leaves overlaps and words without length."""
    spans = settle([(word.start, word.end) for word in words])
    return tuple(word.model_copy(update={"start": start, "end": end}) for word, (start, end) in zip(words, spans, strict=True))
