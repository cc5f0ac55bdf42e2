"""Recognition: against read speech of Debian's pocketsphinx-testdata, and on sounds in which nobody speaks."""

from __future__ import annotations

import re
import wave
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import jiwer
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from annotator.course import Word
from annotator.errors import MissingWeights, Stopped
from annotator.speech import find_weights, recognise, weights_id
from annotator.speech.recognise import RATE_HZ, blocks, tidy

LIBRIVOX = Path("/usr/share/pocketsphinx/test/data/librivox")
needs_speech = pytest.mark.skipif(
    not LIBRIVOX.is_dir(),
    reason="Debian's pocketsphinx-testdata (read speech, BSD-2) is not installed: apt-get install pocketsphinx-testdata",
)


@dataclass(frozen=True)
class Piece:
    start_s: float
    samples: NDArray[np.float32]


def read_speech() -> list[tuple[str, NDArray[np.float32]]]:
    """What is said and how it sounds, for each clip of the package."""
    said = {}
    for line in (LIBRIVOX / "transcription").read_text().splitlines():
        found = re.fullmatch(r"<s> (.*) </s> \((.*)\)", line.strip())
        assert found is not None, line
        said[found[2]] = found[1]
    clips = []
    for name, text in said.items():
        with wave.open(str(LIBRIVOX / f"{name}.wav")) as file:
            assert (file.getframerate(), file.getnchannels()) == (RATE_HZ, 1)
            samples = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / np.float32(32768)
        clips.append((text, np.asarray(samples, np.float32)))
    return clips


def said_plainly(words: tuple[Word, ...]) -> str:
    text = " ".join(word.text for word in words).lower().replace("-", " ").replace("mr.", "mister")
    return " ".join(re.sub(r"[^a-z' ]", "", text).split())


@needs_speech
def test_read_speech_is_recognised_with_few_errors() -> None:
    # Word error rate by jiwer (Apache-2.0) over all clips together; the package's own recogniser makes 0.28 on them.
    clips = read_speech()
    heard = [said_plainly(recognise([Piece(0.0, samples)])) for _, samples in clips]
    assert jiwer.wer([text for text, _ in clips], heard) <= 0.20


@needs_speech
def test_words_lie_on_one_line_over_pieces_with_gaps_and_come_out_the_same_twice() -> None:
    clips = read_speech()[:2]
    first_s = len(clips[0][1]) / RATE_HZ
    pieces = [Piece(5.0, clips[0][1]), Piece(100.0, clips[1][1])]
    told: list[float] = []
    words = recognise(pieces, total_s=sum(len(samples) for _, samples in clips) / RATE_HZ, progress=told.append)
    assert words == recognise(pieces)
    assert all(5.0 <= word.start <= word.end <= 5.0 + first_s or word.start >= 100.0 for word in words)
    assert any(word.start >= 100.0 for word in words)
    assert all(word.end <= following.start for word, following in pairwise(words))
    assert told == sorted(told)
    assert told[-1] == 1.0


@needs_speech
def test_a_border_between_blocks_loses_and_splits_no_word() -> None:
    pause = np.zeros(RATE_HZ, np.float32)
    clips = read_speech()
    sound = np.concatenate([part for _, samples in clips for part in (samples, pause)])
    cut = list(blocks([Piece(0.0, sound)], block_s=12.0))
    assert len(cut) > 1
    whole = said_plainly(recognise([Piece(0.0, sound)]))
    apart = " ".join(said_plainly(recognise([block])) for block in cut)
    # Where the sound is cut changes what the recogniser sees, so that a few words come out otherwise; other ones on another processor.
    assert jiwer.wer(whole, apart) <= 0.12


@needs_speech
def test_stopping_ends_recognition_at_once() -> None:
    def stop(share: float) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        recognise([Piece(0.0, read_speech()[0][1])], total_s=7.1, progress=stop)


def _noise(level: float) -> Callable[[], NDArray[np.float64]]:
    return lambda: np.random.default_rng(1).normal(0, level, 20 * RATE_HZ)


@pytest.mark.parametrize(
    "sound",
    [
        pytest.param(lambda: np.zeros(40 * RATE_HZ), id="silence"),
        pytest.param(_noise(0.001), id="a quiet room"),
        pytest.param(_noise(0.1), id="loud noise"),
        pytest.param(lambda: 0.3 * np.sin(np.arange(20 * RATE_HZ) * 0.17), id="a tone"),
        pytest.param(lambda: np.zeros(7), id="shorter than anything"),
        pytest.param(lambda: np.zeros(0), id="nothing"),
    ],
)
def test_where_nobody_speaks_there_are_no_words(sound: Callable[[], NDArray[np.float64]]) -> None:
    assert recognise([Piece(0.0, sound().astype(np.float32))]) == ()


def test_no_sound_at_all_gives_no_words() -> None:
    assert recognise([]) == ()


@settings(max_examples=40, deadline=None)
@given(
    lengths=st.lists(st.integers(0, 4000), max_size=8),
    gaps=st.lists(st.sampled_from([0.0, 0.0, 3.0]), min_size=8, max_size=8),
    block=st.floats(0.05, 0.4),
)
def test_blocks_hand_on_every_sample_once_and_in_place(lengths: list[int], gaps: list[float], block: float) -> None:
    pieces, at, made = [], 0.0, 0
    for length, gap in zip(lengths, gaps, strict=False):
        at += gap
        pieces.append(Piece(at, np.arange(made, made + length, dtype=np.float32)))
        at += length / RATE_HZ
        made += length
    out = list(blocks(pieces, block_s=block))
    joined = np.concatenate([part.samples for part in out]) if out else np.zeros(0, np.float32)
    assert np.array_equal(joined, np.arange(made, dtype=np.float32))
    starts = {float(sample): piece.start_s + at / RATE_HZ for piece in pieces for at, sample in enumerate(piece.samples)}
    for part in out:
        assert 0 < len(part.samples) <= block * RATE_HZ + 1
        assert part.start_s == pytest.approx(starts[float(part.samples[0])], abs=0.05)


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), max_size=20))
def test_tidy_words_never_overlap_and_keep_their_order(times: list[tuple[float, float]]) -> None:
    words = [Word(start=start, end=end, text=str(place)) for place, (start, end) in enumerate(times)]
    mended = tidy(words)
    assert [word.text for word in mended] == [word.text for word in words]
    assert all(word.start <= word.end for word in mended)
    assert all(word.end <= following.start for word, following in pairwise(mended))


def test_the_packaged_weights_are_found_without_a_name() -> None:
    assert (find_weights() / "model.bin").is_file()
    assert find_weights("tiny.en") == find_weights()


def test_a_folder_of_ones_own_comes_first(tmp_path: Path) -> None:
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (tmp_path / name).touch()
    assert find_weights(str(tmp_path)) == tmp_path


def test_weights_are_known_by_their_content_not_by_their_name(tmp_path: Path) -> None:
    for folder, model in (("one", b"model"), ("two", b"model"), ("three", b"another")):
        (tmp_path / folder).mkdir()
        for name in ("model.bin", "config.json", "tokenizer.json"):
            (tmp_path / folder / name).write_bytes(model if name == "model.bin" else b"{}")
    one, two, three = (weights_id(str(tmp_path / folder)) for folder in ("one", "two", "three"))
    assert one == two != three
    assert weights_id() == weights_id("tiny.en")


def test_a_folder_without_a_model_says_what_it_lacks(tmp_path: Path) -> None:
    with pytest.raises(MissingWeights, match=r"lacks model\.bin, config\.json, tokenizer\.json"):
        find_weights(str(tmp_path))


def test_an_unreachable_hub_says_everything_that_was_tried() -> None:
    def offline(name: str, local_only: bool) -> str:
        raise ConnectionError("no route")

    with pytest.raises(MissingWeights) as caught:
        find_weights("small.en", fetch=offline)
    assert len(caught.value.tried) == 3
    assert "the hub itself for 'small.en' (no route)" in str(caught.value)


def test_the_hub_is_asked_for_what_is_on_the_machine_first(tmp_path: Path) -> None:
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (tmp_path / name).touch()
    asked: list[bool] = []

    def fetch(name: str, local_only: bool) -> str:
        asked.append(local_only)
        if local_only:
            raise FileNotFoundError(name)
        return str(tmp_path)

    assert find_weights("small.en", fetch=fetch) == tmp_path
    assert asked == [True, False]
