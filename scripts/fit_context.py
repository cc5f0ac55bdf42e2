"""Fit annotator/rules/context.safetensors: how the language model of rules/encoder.py reads a station, taught by talks with answers.

    fit_context.py --scorer FILE FOLDER... --name read_ dev_ --stations FILE... -o annotator/rules/context.safetensors
    fit_context.py ... --without K -o FILE      the same with the K-th group of speakers left out, for fit_weighed.py --context

FOLDER, `--name`, `--stations` and `--sentences` are those of fit_weighed.py; never name a walk or a file here that is to stay unread. How
it learns is adapting.py; some ten minutes on a core that multiplies bfloat16.

Three maps lead from a phrase's vector and the station's mean to what is asked: what it is (weighed.CLASSES), whether hands and feet are
tied to it, what is said of going past it. What a thing is counts by each of its phrases and by their mean, as the drafter takes it. Some
things are called by another's word in each reading; a single station counts twice, as there.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules import landing, limbed, weighed
from annotator.rules.context import HEADS
from annotator.rules.encoder import MOST, Encoder
from scripts.adapting import DROPPED, Onto, Reader, adapt, plain_encoder, write
from scripts.fit_confidence import load_scorer
from scripts.fit_weighed import Told, by_own_word, class_of, group_of, material, material_parser, parts_named

TIMES = 6  # that everything is read
AGAIN = 600  # stations of the rest that are read beside those that an earlier fit has not met
BUDGET = 1024  # pieces in a batch, filling included
WORTH = {"kind": 1.0, "limbs": 0.5, "past": 1.0, "of": 0.3}
OF_THINGS = 1.0
"""What a thing's mean over its phrases counts, beside each phrase."""
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
    """A station as it was said, with its answers. `things`: the phrases of each thing by their places, and what it is."""

    words: list[str]
    phrases: list[Phrase]
    things: list[tuple[list[int], str | None]]
    weight: float


@dataclass(frozen=True, slots=True)
class Example:
    """A station as the model reads it: `places` are each phrase's pieces, empty where it is past the last that is read."""

    ids: list[int]
    station: Station
    places: list[list[int]]


def station(told: Told, scorer: Any) -> Station:
    """A station with its answers, phrase by phrase and thing by thing."""
    words: list[str] = []
    starts: list[int] = []
    for line in told.lines:
        starts.append(len(words))
        words += [token.text for token in line.skeleton.sentence.tokens]
    surfaces = told.gold.get("surfaces") or []
    phrases: list[Phrase] = []
    place: dict[tuple[int, int], int] = {}
    for at, index, _ in weighed.phrases_of(told.lines):
        mention = told.lines[at].mentions[index]
        fits = [s for s in surfaces if scorer.likeness(s["name"], mention.name) >= 0.5 and scorer.colour_same(s, {"name": mention.name})]
        fits = fits or by_own_word(mention, surfaces, scorer)
        limbs = past = None
        if len(fits) == 1 and fits[0]["ruling"] == "in":
            contact = fits[0].get("contact") or ()
            limbs = ("hands" in contact, "feet" in contact)
            past = (fits[0].get("overshoot") or "none") if fits[0]["role"] == "finish" else None
        part = bool(parts_named(mention, surfaces, scorer)) and not any(not s.get("part") for s in fits)
        whole = not mention.is_part and not mention.part and any(s.get("part") for s in fits)
        own = (starts[at] + mention.first, starts[at] + mention.last + 1)
        place[at, index] = len(phrases)
        phrases.append(Phrase(own, class_of(mention, surfaces, scorer), limbs, past, (part, whole), mention.plural))
    things = []
    for thing in weighed.things_of(told.lines):
        at, index, _ = thing[0]
        mention = told.lines[at].mentions[index]
        if not mention.is_part and mention.head != "one":
            things.append(([place[at, index] for at, index, _ in thing], class_of(mention, surfaces, scorer)))
    return Station(words, phrases, things, told.weight)


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
    places = [
        [k for k, word in enumerate(of_word) if word is not None and phrase.words[0] <= word < phrase.words[1]]
        for phrase in station.phrases
    ]
    return Example(ids, station, places)


def answers(reader: Reader, batch: dict[str, Tensor]) -> dict[str, Tensor]:
    """What is asked of every phrase, and of every thing what it is."""
    there = batch["there"]
    x = reader.states(batch["ids"], there, DROPPED)
    phrases = functional.dropout(batch["pool"] @ x, 2 * DROPPED)
    share = there[..., None] / there.sum(1)[:, None, None]
    seen = torch.cat([phrases, (x * share).sum(1, keepdim=True).expand_as(phrases)], -1)
    told = {name: reader.answer(seen, name) for name in ASKED}
    return told | {"thing": batch["of_thing"] @ told["kind"]}


def loss(reader: Reader, group: Sequence[Example]) -> Tensor:
    """How far the answers are from the truth, by phrase and by thing."""
    batch = filled(group)
    told = answers(reader, batch)
    yes_or_no = partial(functional.binary_cross_entropy_with_logits, reduction="none")
    off = {
        "kind": -(told["kind"].log_softmax(-1) * batch["kind"]).sum(-1),
        "past": -(told["past"].log_softmax(-1) * batch["past"]).sum(-1),
        "limbs": (yes_or_no(told["limbs"], batch["limbs"]) * batch["limbed"]).sum(-1),
        "of": yes_or_no(told["of"], batch["of"]).sum(-1),
    }
    things = -(told["thing"].log_softmax(-1) * batch["thing"]).sum(-1) * batch["things"]
    by_phrase = torch.stack([(WORTH[name] * each * batch["weight"]).sum() for name, each in off.items()]).sum() / batch["weight"].sum()
    return by_phrase + OF_THINGS * things.sum() / batch["things"].sum().clamp(min=1.0)


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
    """A batch as arrays: stations x pieces, phrases or things."""
    size, n = len(group), max(len(e.ids) for e in group)
    most, things = max(len(e.station.phrases) for e in group), max(1, *(len(e.station.things) for e in group))
    out = {
        "ids": torch.zeros(size, n, dtype=torch.long),
        "there": torch.zeros(size, n, dtype=torch.bool),
        "pool": torch.zeros(size, most, n),
        "weight": torch.zeros(size, most),
        "limbed": torch.zeros(size, most, 1),
        "of_thing": torch.zeros(size, things, most),
        "thing": torch.zeros(size, things, len(weighed.CLASSES)),
        "things": torch.zeros(size, things),
        **{name: torch.zeros(size, most, answers) for name, answers in ASKED.items()},
    }
    for r, each in enumerate(group):
        out["ids"][r, : len(each.ids)] = torch.tensor(each.ids)
        out["there"][r, : len(each.ids)] = True
        for c, (phrase, pieces) in enumerate(zip(each.station.phrases, each.places, strict=True)):
            if not pieces:
                continue
            out["pool"][r, c, pieces] = 1 / len(pieces)
            out["weight"][r, c] = each.station.weight
            out["of"][r, c] = torch.tensor(phrase.of).float()
            if phrase.kind is not None:
                out["kind"][r, c, weighed.CLASSES.index(phrase.kind)] = 1
            if phrase.limbs is not None:
                out["limbs"][r, c], out["limbed"][r, c] = torch.tensor(phrase.limbs).float(), 1
            if phrase.past is not None:
                out["past"][r, c, landing.CLASSES.index(phrase.past)] = 1
        for c, (phrases, kind) in enumerate(each.station.things):
            read = [k for k in phrases if each.places[k]]
            if read and kind is not None:
                out["of_thing"][r, c, read] = 1 / len(read)
                out["thing"][r, c, weighed.CLASSES.index(kind)] = 1
                out["things"][r, c] = each.station.weight
    return out


def fit(stations: Sequence[Station], speakers: Sequence[str], encoder: Encoder, onto: Onto | None) -> dict[str, Tensor]:
    """Corrections and maps that fit the stations of these speakers."""
    width = 2 * encoder.weights["embeddings.word_embeddings.weight"].shape[1]
    reader = Reader(encoder, {name: (width, answers, 0.0) for name, answers in ASKED.items()})
    if onto:
        onto.begin(reader)
    things = things_said(stations)

    def groups(through: int) -> list[list[Example]]:
        dice = random.Random(1000 + through)
        now = onto.read(stations, speakers, through, AGAIN) if onto else stations
        return batches([example(each, renamed(each, things, dice), encoder) for each in now], random.Random(through))

    if not onto:
        return adapt(reader, TIMES, groups, partial(loss, reader))
    return onto.halfway(adapt(reader, onto.TIMES, groups, partial(loss, reader), onto.RATE))


def main() -> int:
    """Fit and write."""
    parser = material_parser(__doc__)
    parser.add_argument("--without", type=int, help="leave out the speakers of this group")
    parser.add_argument("-o", "--out", type=Path, required=True)
    Onto.ask(parser)
    given = parser.parse_args()
    encoder = plain_encoder()
    told = material(given)
    if given.without is not None:
        told = [each for each in told if group_of(each.speaker) != given.without]
    scorer = load_scorer(given.scorer)
    made = [(each.speaker, station(each, scorer)) for each in told]
    speakers, stations = [speaker for speaker, each in made if each.phrases], [each for _, each in made if each.phrases]
    print(f"{len(stations)} stations, {sum(len(each.phrases) for each in stations)} phrases", flush=True)
    write(fit(stations, speakers, encoder, Onto.of(given)), list(HEADS), given.out)
    return 0


assert limbed.SIDES == ("hands", "feet")  # the order of the answers of "limbs"

if __name__ == "__main__":
    sys.exit(main())
