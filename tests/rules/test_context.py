"""The language model that reads a station: the encoder against what its makers publish, and what is done where it is missing or full."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from annotator.rules import context as context_module
from annotator.rules import draft, encoder
from annotator.rules.context import HEADS, SECOND, context
from annotator.rules.encoder import MOST, NEEDED, Encoder, Floats, find_folder, merged
from annotator.rules.heard import heard
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


NAMES = (
    "attention.self.query",
    "attention.self.key",
    "attention.self.value",
    "attention.output.dense",
    "intermediate.dense",
    "output.dense",
)


def by_the_book(plain: Encoder, maps: dict[str, tuple[Floats, Floats]], ids: list[int]) -> NDArray[np.float64]:
    """A text's reading as published (Vaswani et al. 2017, arXiv:1706.03762; Devlin et al. 2018, arXiv:1810.04805), in 53-bit floats."""
    w = {name: rows.astype(np.float64) for name, rows in plain.weights.items()}
    each = 384 // plain.heads

    def normed(x: NDArray[np.float64], name: str) -> NDArray[np.float64]:
        spread = np.sqrt(x.var(-1, keepdims=True) + 1e-12)
        return np.asarray((x - x.mean(-1, keepdims=True)) / spread * w[f"{name}.weight"] + w[f"{name}.bias"])

    x = w["embeddings.word_embeddings.weight"][ids] + w["embeddings.position_embeddings.weight"][: len(ids)]
    x = normed(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
    for at in (f"layer.{layer}" for layer in range(plain.layers)):
        query, key, value, out, wide, narrow = (tuple(part.astype(np.float64) for part in maps[f"{at}.{name}"]) for name in NAMES)
        heads = []
        for own in (slice(head * each, (head + 1) * each) for head in range(plain.heads)):
            q, k, v = (x @ matrix[:, own] + bias[own] for matrix, bias in (query, key, value))
            looks = np.exp(q @ k.T / math.sqrt(each))
            heads.append(looks / looks.sum(-1, keepdims=True) @ v)
        x = normed(x + np.concatenate(heads, -1) @ out[0] + out[1], f"encoder.{at}.attention.output.LayerNorm")
        inner = x @ wide[0] + wide[1]
        inner *= (1 + np.vectorize(math.erf)(inner / math.sqrt(2))) / 2
        x = normed(x + inner @ narrow[0] + narrow[1], f"encoder.{at}.output.LayerNorm")
    return x


def made_up_corrections() -> dict[str, Floats]:
    """Corrections of two maps, of the kind that learning comes to."""
    dice = np.random.default_rng(7)
    maps = {"layer.4.attention.self.query": (384, 384), "layer.0.intermediate.dense": (384, 1536)}
    out: dict[str, Floats] = {}
    for name, (rows, columns) in maps.items():
        for part, size in (("down", (rows, 8)), ("up", (8, columns)), ("bias", (columns,))):
            out[f"{name}.{part}"] = dice.normal(0, 0.1, size).astype(np.float32)
    return out


@pytest.mark.parametrize("corrections", [pytest.param({}, id="as it came"), pytest.param(made_up_corrections(), id="corrected")])
@pytest.mark.parametrize("pieces", [1, 40, 512])
def test_a_text_is_read_as_the_paper_writes_it(plain: Encoder, corrections: dict[str, Floats], pieces: int) -> None:
    ids = (plain.pieces(SAID.split())[0] * 20)[:pieces]
    read = Encoder(plain.folder, corrections).read(ids)
    assert read.shape == (pieces, 384)
    assert read == pytest.approx(by_the_book(plain, merged(plain.folder, corrections), ids), abs=2e-4)


def test_the_same_text_is_read_the_same_each_time(plain: Encoder) -> None:
    """Also by another reader, and whatever was read in between."""
    ids = plain.pieces(SAID.split())[0]
    first = plain.read(ids)
    plain.read(ids * 9)
    assert np.array_equal(first, plain.read(ids))
    assert np.array_equal(first, Encoder(plain.folder).read(ids))


def test_corrections_add_their_product_to_a_map(plain: Encoder) -> None:
    name, fitted = "layer.4.attention.self.query", made_up_corrections()
    as_it_came, mended = merged(plain.folder), merged(plain.folder, fitted)
    (before, bias), (after, more) = as_it_came[name], mended[name]
    assert after - before == pytest.approx(fitted[f"{name}.down"] @ fitted[f"{name}.up"], abs=1e-4)
    assert more - bias == pytest.approx(fitted[f"{name}.bias"], abs=1e-6)
    assert np.array_equal(as_it_came["layer.3.output.dense"][0], mended["layer.3.output.dense"][0])


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


def test_the_opinion_of_who_read_the_whole_walk_counts_beside_the_stations_own() -> None:
    """Log odds are mixed; by arithmetic."""
    lines = heard(words_of(SAID), ())[0].lines
    assert all({(m.first, m.last) for m in line.mentions} == set(line.opinions) for line in lines)
    alone, both = context([replace(line, opinions={}) for line in lines]), context(lines)
    assert alone.leanings.keys() == both.leanings.keys()
    for (at, index), told in both.leanings.items():
        mention = lines[at].mentions[index]
        opinion = lines[at].opinions[mention.first, mention.last]
        own = alone.leanings[at, index]
        assert {**told, "kind": ()} == {**own, "kind": ()}
        assert told["kind"] == pytest.approx((1 - SECOND) * np.array(own["kind"]) + SECOND * np.array(opinion), abs=1e-6)
