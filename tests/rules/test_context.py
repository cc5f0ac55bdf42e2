"""The language model that reads a station: the encoder against what its makers publish, and what is done where it is missing or full."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest

from annotator.rules import context as context_module
from annotator.rules import draft, encoder
from annotator.rules.context import HEADS, context
from annotator.rules.encoder import MOST, NEEDED, Encoder, Floats, find_folder
from annotator.rules.landing import CLASSES as PAST
from annotator.rules.reading import Line, read_walk
from annotator.rules.weighed import CLASSES
from tests.rules.reading_of import words_of

SAID = (
    "Station one, log walk. You start on the red box. Walk along the log, feet only. The rope is out. Finish on the blue mat, and you may"
    " run past it."
)


@pytest.fixture(scope="module")
def plain() -> Encoder:
    folder = find_folder()
    assert folder is not None, "run scripts/test, which installs the language model"
    return Encoder(folder)


@pytest.fixture
def no_model(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(context_module, "model", lambda: None)
    yield


def meaning(plain: Encoder, text: str) -> Floats:
    """A sentence's vector as the model's makers take it: the mean over its pieces, of length 1."""
    ids, _ = plain.pieces(text.split())
    mean = plain.read(ids).mean(0)
    return np.asarray(mean / np.linalg.norm(mean))


def test_likenesses_are_those_that_the_makers_publish(plain: Encoder) -> None:
    """Sentence Transformers' documentation, quickstart: all-MiniLM-L6-v2 gives these sentences .6660, .1046, .1411 (from memory)."""
    a, b, c = (meaning(plain, text) for text in ("The weather is lovely today .", "It ' s so sunny outside !", "He drove to the stadium ."))
    assert (float(a @ b), float(a @ c), float(b @ c)) == pytest.approx((0.6660, 0.1046, 0.1411), abs=5e-4)


def test_gelu_is_x_times_the_normal_share_below_x() -> None:
    x = np.linspace(-6, 6, 1201, dtype=np.float32)
    outside = [v * 0.5 * (1 + math.erf(v / math.sqrt(2))) for v in x.tolist()]
    assert encoder._gelu(x) == pytest.approx(outside, abs=2e-6)


def test_corrections_add_their_product_to_a_map(plain: Encoder) -> None:
    dice = np.random.default_rng(7)
    down, up = dice.normal(size=(384, 8)).astype(np.float32), dice.normal(size=(8, 384)).astype(np.float32)
    name = "layer.4.attention.self.query"
    folder = find_folder()
    assert folder is not None
    mended = Encoder(folder, {f"{name}.down": down, f"{name}.up": up, f"{name}.bias": np.ones(384, np.float32)})
    (before, bias), (after, more) = plain.maps[name], mended.maps[name]
    assert after - before == pytest.approx(down @ up, abs=1e-4)
    assert more - bias == pytest.approx(np.ones(384), abs=1e-6)
    assert np.array_equal(plain.maps["layer.3.output.dense"][0], mended.maps["layer.3.output.dense"][0])


def station(text: str) -> tuple[Line, ...]:
    return read_walk(words_of(text), ()).lines


def test_every_phrase_is_read_also_in_a_station_longer_than_the_model() -> None:
    lines = station(" ".join([SAID] * 30))
    read = context(lines)
    phrases = {(at, index) for at, line in enumerate(lines) for index in range(len(line.mentions))}
    assert len(phrases) > 100
    assert set(read.leanings) == phrases
    for first, last in context_module._windows(lines):
        assert sum(len(line.skeleton.sentence.tokens) for line in lines[first:last]) <= MOST
    assert [first for first, _ in context_module._windows(lines)[1:]] == [last for _, last in context_module._windows(lines)[:-1]]


def test_answers_are_those_that_the_other_modules_ask_for() -> None:
    assert {"kind": len(CLASSES), "limbs": 2, "past": len(PAST)} == HEADS
    read = context(station(SAID))
    assert {name: len(told) for name, told in read.leanings[(1, 0)].items()} == HEADS


USUAL = (
    "Station one. You get going from the crate. Make use of the bars. The netting I would rather you admired from afar. The job is over"
    " once you stand on the slab."
)


def test_what_no_word_list_knows_is_read() -> None:
    """Plain English, no published source: what one admires from afar a listener leaves alone."""
    surfaces = draft(words_of(USUAL)).stations[0].surfaces
    assert [(s.name, s.role, s.ruling) for s in surfaces] == [
        ("crate", "start", "in"), ("bars", "route", "in"), ("netting", "route", "out"), ("slab", "finish", "in"),
    ]  # fmt: skip


def test_it_is_the_model_that_reads_it(no_model: None) -> None:
    assert "netting" not in {s.name for s in draft(words_of(USUAL)).stations[0].surfaces}


def test_without_the_model_the_word_lists_decide(no_model: None) -> None:
    surfaces = draft(words_of(SAID)).stations[0].surfaces
    assert [(s.name, s.role, s.ruling) for s in surfaces] == [
        ("red box", "start", "in"), ("log", "route", "in"), ("rope", "route", "out"), ("blue mat", "finish", "in"),
    ]  # fmt: skip


def test_a_folder_that_lacks_a_file_is_none(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("weights")
    for name in NEEDED[:-1]:
        (folder / name).write_text("{}", encoding="utf-8")
    monkeypatch.setenv(encoder.FOLDER, str(folder))
    assert find_folder() is None


def test_a_draft_read_without_the_model_is_not_taken_for_one_read_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = context_module.read_by.__wrapped__
    with_it = asked()
    monkeypatch.setattr(context_module, "find_folder", lambda: None)
    assert (len(with_it), asked()) == (64, "word lists")


@pytest.mark.parametrize("text", ["", "\x00\x07", "a" * 20_000, "the box " * 2_000, "的 盒子 🟥", "<b>box</b>"])
def test_odd_words_are_read_or_left_and_never_stop_it(text: str) -> None:
    lines = read_walk(words_of(text), ()).lines if text.strip() else ()
    read = context(lines)
    assert all(math.isfinite(v) for told in read.leanings.values() for row in told.values() for v in row)
