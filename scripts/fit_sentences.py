"""Fit annotator/rules/sentences.safetensors: how the language model of rules/encoder.py reads a walk sentence by sentence.

    fit_sentences.py --scorer FILE FOLDER... --name read_ dev_ -o annotator/rules/sentences.safetensors
    fit_sentences.py ... --without K [-o FILE]  leaves out the K-th group of speakers and prints what it is worth on them

FOLDER holds walks with answers, as written and, where they have been heard, as recognised; `--name` picks those that may be learned from;
never name one that is to stay unread. How it learns is adapting.py; some ten minutes on a core that multiplies bfloat16.

A map each leads from the vectors of a sentence and its neighbours to what is asked: whether it is the first of a station, whether it
belongs to one, whether it rules something for the whole course, whether it tells that a demonstration was clear or failed, whether it puts
out what is unnamed or forbids skipping. Of the last two it is known only for which station, and for which walk, one of its sentences says
so: the sentences' odds are added up there.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules.encoder import MOST, Encoder
from annotator.rules.reading import Line, read_walk
from annotator.rules.sentences import HEADS, leanings_by, pieces_of
from scripts.adapting import DROPPED, Onto, Reader, adapt, plain_encoder, shuffled, write
from scripts.fit_confidence import load_scorer
from scripts.fit_weighed import group_of
from scripts.score_rules import read_folder

TIMES = 8  # that everything is read
AGAIN = 40  # walks of the rest that are read beside those that an earlier fit has not met
WINDOW = 400  # pieces that are read at once while learning
WORTH = {"begins": 5.0, "inside": 2.5, "course": 3.5, "shown": 0.5, "told": 0.5}
BEGUN = {"begins": -2.0, "inside": 1.5, "course": -3.0, "shown": -3.0, "told": -5.0}
"""Log odds from which learning starts: most sentences do none of these."""
ASKED = HEADS | {"told": 2}
"""What is asked while learning: also whether a sentence puts out what is unnamed, or forbids skipping. Patterns tell that better (F1 .96
and .70 on walks that neither had met; .68 and .49 by the model), so it is not written."""
SHOWN = (None, "clear", "fail")


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence by its pieces, with the station that it stands in and what it does; 0 or 1 for each of HEADS that is known."""

    ids: list[int]
    station: int | None
    does: dict[str, float]


@dataclass(frozen=True, slots=True)
class Walk:
    """A walk with its answers: the result of each station's demonstration, by its place in SHOWN; what is told once for all stations."""

    name: str
    lines: tuple[Line, ...]
    sentences: list[Sentence]
    shown: list[int]
    told: list[float]


def walks(folders: Sequence[Path], names: Sequence[str], encoder: Encoder, scorer: Any) -> Iterator[Walk]:
    """The walks of the folders whose names begin so."""
    for folder in folders:
        for name, _, words, listed, gold in read_folder(folder, None):
            if not name.startswith(tuple(names)):
                continue
            lines = read_walk(words, listed).lines
            stations = gold["stations"]
            rules = gold.get("blanket") or []
            within = [next((k for k, s in enumerate(stations) if s["start"] - 0.05 <= line.start_s < s["end"]), None) for line in lines]
            firsts = {within.index(k) for k in range(len(stations)) if k in within}
            things = [rule["surface"] for rule in rules if rule["rule"] == "surface"]
            sentences = []
            for at, line in enumerate(lines):
                own = stations[k].get("surfaces") or [] if (k := within[at]) is not None else []
                of_all = any(
                    scorer.likeness(thing, mention.name) >= 0.5 and not any(scorer.likeness(s["name"], mention.name) >= 0.5 for s in own)
                    for mention in line.mentions
                    for thing in things
                )
                does = {"begins": float(at in firsts), "inside": float(k is not None), "course": float(of_all)}
                sentences.append(Sentence(pieces_of(encoder, [t.text for t in line.skeleton.sentence.tokens]), k, does))
            kinds = {rule["rule"] for rule in rules}
            yield Walk(
                name,
                lines,
                sentences,
                [SHOWN.index(station.get("demonstration")) for station in stations],
                [float("unnamed-out" in kinds), float("no-skip" in kinds)],
            )


def windows(walk: Walk, first: int) -> list[Sequence[Sentence]]:
    """The walk cut into runs of sentences that are read at once, the first one `first` sentences long."""
    out: list[Sequence[Sentence]] = [walk.sentences[:first]] if first else []
    run: list[Sentence] = []
    for sentence in walk.sentences[first:]:
        if run and 2 + sum(len(each.ids) for each in (*run, sentence)) > WINDOW:
            out.append(run)
            run = []
        run.append(sentence)
    return [*out, run] if run else out


def answers(reader: Reader, runs: Sequence[Sequence[Sentence]]) -> tuple[dict[str, Tensor], Tensor]:
    """What is asked of each sentence of the runs, and which places hold a sentence."""
    texts = [[101, *(piece for each in run for piece in each.ids), 102][:MOST] for run in runs]
    size, n, most = len(runs), max(len(text) for text in texts), max(len(run) for run in runs)
    ids, there, pool = torch.zeros(size, n, dtype=torch.long), torch.zeros(size, n, dtype=torch.bool), torch.zeros(size, most, n)
    for r, (text, run) in enumerate(zip(texts, runs, strict=True)):
        ids[r, : len(text)], there[r, : len(text)] = torch.tensor(text), True
        end = 1
        for c, sentence in enumerate(run):
            begin, end = end, min(end + len(sentence.ids), MOST)
            pool[r, c, begin:end] = 1 / max(1, end - begin)
    means = pool @ reader.states(ids, there, DROPPED)
    none = torch.zeros_like(means[:, :1])
    seen = torch.cat([means, torch.cat([none, means[:, :-1]], 1), torch.cat([means[:, 1:], none], 1)], -1)
    seen = functional.dropout(seen, 2 * DROPPED)
    return {name: reader.answer(seen, name) for name in ASKED}, pool.sum(-1) > 0


def loss(reader: Reader, group: tuple[Walk, Sequence[Sequence[Sentence]]]) -> Tensor:
    """How far the answers on a walk are from the truth."""
    walk, runs = group
    told, there = answers(reader, runs)
    rows = [(r, c) for r, run in enumerate(runs) for c in range(len(run)) if there[r, c]]
    sentences = [runs[r][c] for r, c in rows]
    by_sentence = {name: torch.stack([told[name][r, c] for r, c in rows]) for name in ASKED}
    off = torch.zeros(())
    for name in ("begins", "inside", "course"):
        truth = torch.tensor([sentence.does[name] for sentence in sentences])
        off = off + WORTH[name] * functional.binary_cross_entropy_with_logits(by_sentence[name][:, 0], truth)
    results = []
    for k in (None, *range(len(walk.shown))):
        mine = [at for at, sentence in enumerate(sentences) if sentence.station == k]
        if mine:
            odds = torch.cat([torch.zeros(1), by_sentence["shown"][mine].logsumexp(0)])
            results.append(functional.cross_entropy(odds[None], torch.tensor([0 if k is None else walk.shown[k]])))
    once = functional.binary_cross_entropy_with_logits(by_sentence["told"].logsumexp(0), torch.tensor(walk.told))
    return off + WORTH["shown"] * torch.stack(results).mean() + WORTH["told"] * once


def fit(material: Sequence[Walk], encoder: Encoder, onto: Onto | None) -> dict[str, Tensor]:
    """Corrections and maps that fit the walks."""
    width = 3 * encoder.weights["embeddings.word_embeddings.weight"].shape[1]
    reader = Reader(encoder, {name: (width, number, BEGUN[name]) for name, number in ASKED.items()})
    if onto:
        onto.begin(reader)
    names = [walk.name for walk in material]

    def groups(through: int) -> list[tuple[Walk, Sequence[Sequence[Sentence]]]]:
        dice = random.Random(through)
        now = onto.read(material, names, through, AGAIN) if onto else material
        return [(walk, windows(walk, dice.randrange(12))) for walk in shuffled(now, through)]

    if not onto:
        return adapt(reader, TIMES, groups, partial(loss, reader))
    return onto.halfway(adapt(reader, onto.TIMES, groups, partial(loss, reader), onto.RATE))


def worth(left: Sequence[Walk], fitted: Path) -> str:
    """What the fit is worth on walks that taught it nothing, sentence by sentence, in words."""
    hits = dict.fromkeys(("begins", "inside", "course"), 0)
    counts = dict(hits)
    right = shown = 0
    for walk in left:
        read = leanings_by(fitted, walk.lines)
        for name in hits:
            for sentence, odds in zip(walk.sentences, getattr(read, name), strict=True):
                hits[name] += int(sentence.does[name] > 0 and odds > 0)
                counts[name] += int(sentence.does[name] > 0) + int(odds > 0)
        for k, result in enumerate(walk.shown):
            mine = [at for at, sentence in enumerate(walk.sentences) if sentence.station == k]
            if mine:
                odds = torch.cat([torch.zeros(1), torch.from_numpy(read.shown[mine]).logsumexp(0).float()])
                right, shown = right + int(int(odds.argmax()) == result), shown + 1
    scores = ", ".join(f"{name} F1 {2 * hits[name] / max(1, counts[name]):.3f}" for name in hits)
    return f"{len(left)} walks: {scores}, demonstrations {right / max(1, shown):.3f}"


def main() -> int:
    """Fit, print what it is worth, write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--scorer", type=Path, required=True)
    parser.add_argument("--name", nargs="+", default=["read_", "dev_"], help="only walks whose name begins with one of these")
    parser.add_argument("--without", type=int, help="leave out the speakers of this group")
    parser.add_argument("-o", "--out", type=Path, required=True)
    Onto.ask(parser)
    given = parser.parse_args()
    encoder = plain_encoder()
    material = list(walks(given.folders, given.name, encoder, load_scorer(given.scorer)))
    taught = [walk for walk in material if given.without is None or group_of(walk.name) != given.without]
    print(f"{len(taught)} walks, {sum(len(walk.sentences) for walk in taught)} sentences", flush=True)
    write(fit(taught, encoder, Onto.of(given)), list(HEADS), given.out)
    if len(taught) < len(material):
        print(worth([walk for walk in material if group_of(walk.name) == given.without], given.out))
    return 0


if __name__ == "__main__":
    sys.exit(main())
