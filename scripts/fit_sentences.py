"""Fit annotator/rules/sentences.safetensors: how the language model of rules/encoder.py reads a walk sentence by sentence.

    fit_sentences.py --scorer FILE FOLDER... --name read_ dev_ --stations FILE... -o annotator/rules/sentences.safetensors
    fit_sentences.py ... --without K [-o FILE]  leaves out the K-th group of speakers and prints what it is worth on them

FOLDER holds walks with answers, as written and, where they have been heard, as recognised; `--name` picks those that may be learned from;
never name one that is to stay unread. `--stations` names files of single stations, of which those count that tell of classes or of the
whole course. How it learns is adapting.py, what it is taught sentence_answers.py; half an hour on a core that multiplies bfloat16.

A map each leads from the vectors of a sentence and its neighbours to what is asked: whether it is the first of a station, whether it
belongs to one, whether it rules something for the whole course, whether it tells that a demonstration was clear or failed, whether it puts
out what is unnamed or forbids skipping. Of the last two it is known only for which station, and for which walk, one of its sentences says
so: the sentences' odds are added up there. Further maps lead from words to whether they are of a thing's or a class's name, and from
phrases to what they are for all, and for a class that is named near them.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import torch
from torch import Tensor
from torch.nn import functional

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules import weighed
from annotator.rules.belonging import PLACES
from annotator.rules.encoder import MOST, Encoder, load_model
from annotator.rules.reach import NEAR
from annotator.rules.sentences import HEADS, WITHIN, listen_by
from scripts.adapting import DROPPED, Onto, Reader, adapt, plain_encoder, shuffled, write
from scripts.fit_confidence import load_scorer
from scripts.fit_weighed import group_of
from scripts.sentence_answers import RULED, UNASKED, Phrase, Sentence, Walk, singles, walks

TIMES = 8  # that everything is read
AGAIN = 40  # walks of the rest that are read beside those that an earlier fit has not met
TOGETHER = 8  # single stations that are read at once
WINDOW = 400  # pieces that are read at once while learning
WORTH = {"begins": 5.0, "inside": 2.5, "course": 3.5, "shown": 0.5, "told": 0.5}
WORTH_WITHIN = {
    "thing": 2.0 / 60,
    "class": 2.5 / 40,
    "all": 2.5 / 15,
    "for": 2.5 / 8,
    "kind": 2.0 / 10,
    "of": 2.0 / 10,
}
"""For a word, a phrase, a phrase beside a class; the sum is shared among a walk's windows. What a thing is counts by each of its phrases
and by their mean."""
BEGUN = {"begins": -2.0, "inside": 1.5, "course": -3.0, "shown": -3.0, "told": -5.0}
"""Log odds from which learning starts: most sentences do none of these."""
BEGUN_WITHIN = {"thing": 3.0, "class": 3.0, "all": 3.0, "for": 3.0, "of": -3.0}
"""The same of the first answer, for words and phrases."""
ASKED = HEADS | {"told": 2}
"""What is asked of sentences while learning: also whether one puts out what is unnamed, or forbids skipping. Patterns tell that better (F1
.96 and .70 on walks that neither had met; .68 and .49 by the model), so it is not written."""
WIDTHS = dict.fromkeys(ASKED, 3) | {"thing": 1, "class": 1, "all": 2, "for": 3, "kind": 2, "of": 3}
"""Of how many vectors each question is asked at once: a sentence and its neighbours; a word; a phrase and its sentence; a phrase, a class
or a whole, and the product of both."""
MORE = {"of": PLACES}
"""Figures beside these vectors."""


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


class Read:
    """Runs of sentences as the model reads them now."""

    def __init__(self, reader: Reader, runs: Sequence[Sequence[Sentence]]) -> None:
        texts = [[101, *(piece for each in run for piece in each.ids), 102][:MOST] for run in runs]
        size, most = len(runs), max(len(run) for run in runs)
        self.longest = max(len(text) for text in texts)
        ids = torch.zeros(size, self.longest, dtype=torch.long)
        there, pool = torch.zeros(size, self.longest, dtype=torch.bool), torch.zeros(size, most, self.longest)
        self.places: list[tuple[int, int, int]] = []
        """Run, place in it, and first piece of each sentence."""
        for r, (text, run) in enumerate(zip(texts, runs, strict=True)):
            ids[r, : len(text)], there[r, : len(text)] = torch.tensor(text), True
            end = 1
            for c, sentence in enumerate(run):
                begin, end = end, min(end + len(sentence.ids), MOST)
                self.places.append((r, c, begin))
                pool[r, c, begin:end] = 1 / max(1, end - begin)
        self.sentences = [sentence for run in runs for sentence in run]
        states = reader.states(ids, there, DROPPED)
        self.means = pool @ states
        self.whole = pool.sum(-1) > 0
        self.flat = states.reshape(-1, states.shape[-1])

    def pieces(self, at: int, pieces: Sequence[int]) -> list[int]:
        """The places in `flat` of pieces of a sentence."""
        r, _, begin = self.places[at]
        return [r * self.longest + begin + piece for piece in pieces if begin + piece < self.longest]

    def mean_of(self, places: Sequence[Sequence[int]]) -> Tensor:
        """The mean vectors of some pieces each."""
        share = torch.zeros(len(places), len(self.flat))
        for k, mine in enumerate(places):
            share[k, mine] = 1 / len(mine)
        return share @ self.flat


def loss(reader: Reader, group: tuple[Walk, Sequence[Sequence[Sentence]]]) -> Tensor:
    """How far the answers on a walk are from the truth."""
    walk, runs = group
    read = Read(reader, runs)
    off = torch.zeros(()) if walk.single else _off_by_sentence(reader, read, walk)
    return off + (_off_by_word(reader, read) + _off_by_phrase(reader, read)) / max(1, len(runs))


def _off_by_sentence(reader: Reader, read: Read, walk: Walk) -> Tensor:
    none = torch.zeros_like(read.means[:, :1])
    seen = torch.cat([read.means, torch.cat([none, read.means[:, :-1]], 1), torch.cat([read.means[:, 1:], none], 1)], -1)
    seen = functional.dropout(seen, 2 * DROPPED)
    mine = [(r, c, sentence) for (r, c, _), sentence in zip(read.places, read.sentences, strict=True) if read.whole[r, c]]
    rows, columns = torch.tensor([r for r, *_ in mine]), torch.tensor([c for _, c, _ in mine])
    sentences = [sentence for *_, sentence in mine]
    told = {name: reader.answer(seen, name)[rows, columns] for name in ASKED}
    off = torch.zeros(())
    for name in ("begins", "inside", "course"):
        truth = torch.tensor([sentence.does[name] for sentence in sentences])
        off = off + WORTH[name] * functional.binary_cross_entropy_with_logits(told[name][:, 0], truth)
    results = []
    for k in (None, *range(len(walk.shown))):
        within = [at for at, sentence in enumerate(sentences) if sentence.station == k]
        if within:
            odds = torch.cat([torch.zeros(1), told["shown"][within].logsumexp(0)])
            results.append(functional.cross_entropy(odds[None], torch.tensor([0 if k is None else walk.shown[k]])))
    once = functional.binary_cross_entropy_with_logits(told["told"].logsumexp(0), torch.tensor(walk.told))
    return off + WORTH["shown"] * torch.stack(results).mean() + WORTH["told"] * once


def _off_by_word(reader: Reader, read: Read) -> Tensor:
    off = torch.zeros(())
    for name in ("class", "thing"):
        places: list[int] = []
        answers: list[int] = []
        for at, sentence in enumerate(read.sentences):
            told = sentence.named if name == "class" else sentence.things
            asked = [piece for piece, answer in enumerate(told) if answer != UNASKED and read.pieces(at, [piece])]
            places += read.pieces(at, asked)
            answers += [told[piece] for piece in asked]
        if places:
            off = off + _off(reader, name, read.flat[places], answers)
    return off


def _off_by_phrase(reader: Reader, read: Read) -> Tensor:
    phrases = [(at, each, mine) for at, s in enumerate(read.sentences) for each in s.phrases if (mine := read.pieces(at, each.pieces))]
    classes = [(at, each, mine) for at, s in enumerate(read.sentences) for each in s.classes if (mine := read.pieces(at, each.pieces))]
    if not phrases:
        return torch.zeros(())
    vectors = read.mean_of([mine for *_, mine in phrases])
    within = read.means[torch.tensor([read.places[at][0] for at, *_ in phrases]), torch.tensor([read.places[at][1] for at, *_ in phrases])]
    seen = torch.cat([vectors, within], -1)
    off = _off(reader, "all", seen, [phrase.of_all for _, phrase, _ in phrases])
    off = off + _off_at_station(reader, seen, [phrase for _, phrase, _ in phrases]) + _off_by_whole(reader, read, phrases, vectors)
    pairs: list[tuple[int, int]] = []
    answers: list[int] = []
    for k, (at, phrase, _) in enumerate(phrases):
        for j, (there, named, _) in enumerate(classes):
            same = read.places[at][0] == read.places[there][0] and read.sentences[at].station == read.sentences[there].station
            if phrase.divisions is not None and same and abs(at - there) <= NEAR:
                pairs.append((k, j))
                answers.append(RULED.get(phrase.divisions.get(named.key, ""), 0))
    if not pairs:
        return off
    named_by = read.mean_of([mine for *_, mine in classes])
    one, other = vectors[[k for k, _ in pairs]], named_by[[j for _, j in pairs]]
    return off + _off(reader, "for", torch.cat([one, other, one * other], -1), answers)


def _off_at_station(reader: Reader, seen: Tensor, phrases: Sequence[Phrase]) -> Tensor:
    """What each phrase, and what each thing, is at its station."""
    told = reader.answer(functional.dropout(seen, 2 * DROPPED), "kind")
    kinds = torch.tensor([UNASKED if phrase.kind is None else weighed.CLASSES.index(phrase.kind) for phrase in phrases])
    apart = partial(functional.cross_entropy, ignore_index=UNASKED, reduction="sum")
    off = apart(told, kinds)
    things: dict[int, list[int]] = {}
    for k, phrase in enumerate(phrases):
        if phrase.thing is not None and phrase.kind is not None:
            things.setdefault(phrase.thing, []).append(k)
    if things:
        odds = torch.stack([told[mine].mean(0) for mine in things.values()])
        off = off + apart(odds, kinds[[mine[0] for mine in things.values()]])
    return WORTH_WITHIN["kind"] * off


def _off_by_whole(reader: Reader, read: Read, phrases: Sequence[tuple[int, Phrase, list[int]]], vectors: Tensor) -> Tensor:
    """Of which thing each phrase names a part, if of any."""
    places: list[list[int]] = []
    owners: list[int] = []
    where: list[int] = []
    right: list[bool] = []
    asked: list[list[int]] = []
    for k, (at, phrase, _) in enumerate(phrases):
        mine = []
        for there, pieces, place, yes in phrase.near or ():
            whole = read.pieces(at + there, pieces) if 0 <= at + there < len(read.sentences) else []
            if whole:
                mine.append(len(places))
                places.append(whole)
                owners.append(k)
                where.append(place)
                right.append(yes)
        if mine:
            asked.append(mine)
    if not asked:
        return torch.zeros(())
    part, whole = vectors[owners], read.mean_of(places)
    odds = reader.answer(functional.dropout(torch.cat([part, whole, part * whole, torch.eye(PLACES)[where]], -1), 2 * DROPPED), "of")[:, 0]
    off = torch.zeros(())
    for mine in asked:
        wholes = [k for k in mine if right[k]]
        every = torch.cat([torch.zeros(1), odds[mine]]).logsumexp(0)
        off = off + every - (odds[wholes].logsumexp(0) if wholes else 0.0)
    return WORTH_WITHIN["of"] * off


def _off(reader: Reader, name: str, vectors: Tensor, answers: Sequence[int]) -> Tensor:
    odds = reader.answer(functional.dropout(vectors, 2 * DROPPED), name)
    off = functional.cross_entropy(odds, torch.tensor(answers), ignore_index=UNASKED, reduction="sum")
    return WORTH_WITHIN[name] * off


def fit(material: Sequence[Walk], single: Sequence[Walk], encoder: Encoder, onto: Onto | None) -> dict[str, Tensor]:
    """Corrections and maps that fit the walks and single stations."""
    width = encoder.weights["embeddings.word_embeddings.weight"].shape[1]
    asked = ASKED | WITHIN
    reader = Reader(
        encoder, {name: (WIDTHS[name] * width + MORE.get(name, 0), number, BEGUN.get(name, 0.0)) for name, number in asked.items()}
    )
    with torch.no_grad():
        for name, odds in BEGUN_WITHIN.items():
            reader.fitted[f"{name}.bias"][0] = odds
    if onto:
        onto.begin(reader)
    names = [walk.name for walk in material]

    def groups(through: int) -> list[tuple[Walk, Sequence[Sequence[Sentence]]]]:
        dice = random.Random(through)
        now = onto.read(material, names, through, AGAIN) if onto else material
        out = [(walk, windows(walk, dice.randrange(12))) for walk in now]
        alone = shuffled(single, 77 + through)
        for at in range(0, len(alone), TOGETHER):
            some = alone[at : at + TOGETHER]
            out.append((some[-1], [run for each in some for run in windows(each, 0)]))
        return shuffled(out, through)

    if not onto:
        return adapt(reader, TIMES, groups, partial(loss, reader))
    return onto.halfway(adapt(reader, onto.TIMES, groups, partial(loss, reader), onto.RATE))


def worth(left: Sequence[Walk], fitted: Path) -> str:
    """What the fit is worth on walks that taught it nothing, sentence by sentence, in words."""
    hits = dict.fromkeys(("begins", "inside", "course"), 0)
    counts = dict(hits)
    right = shown = 0
    read_by = load_model(fitted, (*HEADS, *WITHIN))
    assert read_by is not None
    for walk in left:
        read = listen_by(read_by, [line.skeleton.sentence for line in walk.lines]).leanings
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
    parser.add_argument("--stations", nargs="*", type=Path, default=[], help="files of single stations to learn from")
    parser.add_argument("--without", type=int, help="leave out the speakers of this group")
    parser.add_argument("-o", "--out", type=Path, required=True)
    Onto.ask(parser)
    given = parser.parse_args()
    encoder = plain_encoder()
    scorer = load_scorer(given.scorer)
    material = list(walks(given.folders, given.name, encoder, scorer))
    single = [each for each in singles(given.stations, encoder, scorer) if given.without is None or group_of(each.name) != given.without]
    taught = [walk for walk in material if given.without is None or group_of(walk.name) != given.without]
    print(f"{len(taught)} walks, {sum(len(walk.sentences) for walk in taught)} sentences", flush=True)
    write(fit(taught, single, encoder, Onto.of(given)), [*HEADS, *WITHIN], given.out)
    if len(taught) < len(material):
        print(worth([walk for walk in material if group_of(walk.name) == given.without], given.out))
    return 0


if __name__ == "__main__":
    sys.exit(main())
