"""Fit annotator/rules/weights.json on what has been read, or show by leaving speakers out what the weights are worth.

    fit_weighed.py --scorer FILE FOLDER... --name read_ dev_ --stations FILE... --context FILE FILE FILE -o annotator/rules/weights.json
                    prints what the weights are worth on speakers left out by turns and, with -o, fits on all and writes
    fit_weighed.py --scorer FILE --score FILE
                    scores a file of single stations with the weights in the package, pooled

FOLDER holds walks with answers, `--stations` names files of single stations (tests/rules/monologues_*.yaml). `--name` picks the walks that
may be learned from; never name a walk or a file here that is to stay unread. `--context`: what fit_context.py wrote without the speakers of
group 0 (and 1, and 2): one group is enough to tell what patterns are worth. With `--sentences`, which fit_sentences.py wrote without group
0, its opinions count as they do in drafting, and phrases are made of the words that it spots. Only totals are printed.

Four models. "things": what a phrase of a sentence is by the answers of its station (in, out, start, finish, none). "overshoot": what is
said of going past a finish. "limbs": whether hands (or feet) are tied to a thing. "told": what it is worth that the patterns make this or
that of a thing, beside the other two and the language model, fitted on speakers that taught none of them. Multinomial logistic regression
with a ridge, by accelerated gradient descent from zero: the same material gives the same weights. A single station counts twice, since the
patterns were made on the walks and would be trusted too much by them.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np
import yaml
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import svds

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from annotator.rules import context, landing, limbed, revised, sentences, sheet, weighed
from annotator.rules.encoder import Model, load_model
from annotator.rules.gather import gather, union
from annotator.rules.heard import heard
from annotator.rules.linear import Weights
from annotator.rules.linear import fitted as in_package
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line
from annotator.rules.sentences import HEADS, WITHIN
from scripts.fit_confidence import Item, keep, load_scorer, place_of, signs_kept
from scripts.score_rules import read_folder, spread

STEPS = 250
RAREST = 4  # a feature is kept where it occurs in so many examples
RIDGE = {"things": 3.0, "overshoot": 3.0, "limbs": 3.0, "told": 5.0}
CLASSES = {"things": weighed.CLASSES, "overshoot": landing.CLASSES, "limbs": limbed.CLASSES, "told": weighed.CLASSES}
FOLDS = 3
"""Groups of speakers that are left out by turns."""
Example = tuple[list[str], str, float]
"""Features, class, how much it counts."""


@dataclass(frozen=True, slots=True)
class Told:
    """A station as it was said, with its answers and what the one before ended on."""

    speaker: str
    lines: tuple[Line, ...]
    gold: dict[str, Any]
    before: tuple[Mention, ...]
    weight: float

    @property
    def single(self) -> bool:
        """Whether it was told alone, not cut from a walk."""
        return self.weight > 1.0


def group_of(speaker: str) -> int:
    """The group of speakers that is left out with this one, 0 to FOLDS - 1."""
    return crc32(speaker.encode()) % FOLDS


def single_stations(path: Path) -> Iterator[Told]:
    """The stations of a file of single ones."""
    for station in yaml.safe_load(path.read_text(encoding="utf-8")):
        text = " ".join(each["text"] if isinstance(each, dict) else each for each in station["say"])
        lines = heard(spread(0.0, 0.3 * len(text.split()), text), ())[0].lines
        yield Told(station["speaker"], lines, station["gold"], (), 2.0)


def stations_of(folder: Path, names: Sequence[str]) -> Iterator[Told]:
    """The stations of a folder's walks whose names begin so."""
    for name, _, words, listed, gold in read_folder(folder, "clean"):
        if not name.startswith(tuple(names)):
            continue
        lines = heard(words, listed)[0].lines
        before: tuple[Mention, ...] = ()
        for station in gold["stations"]:
            mine = tuple(line for line in lines if station["start"] - 0.01 <= line.start_s < station["end"])
            yield Told(name, mine, station, before, 1.0)
            ends = [s for s in station.get("surfaces") or [] if s["role"] == "finish"]
            before = tuple(m for line in mine for m in line.mentions if any(m.name == s["name"] for s in ends))


def class_of(mention: Mention, surfaces: Sequence[dict[str, Any]], scorer: Any) -> str | None:
    """The class that the answers give a phrase; None where they give it two. A phrase that names a part has the part's."""
    if mention.is_part:
        fits = parts_named(mention, surfaces, scorer)
    else:
        fits = [s for s in surfaces if scorer.likeness(s["name"], mention.name) >= 0.5 and scorer.colour_same(s, {"name": mention.name})]
        if mention.part:
            fits = [s for s in fits if set(scorer.toks(s.get("part"))) & set(scorer.toks(mention.part))]
        else:
            fits = [s for s in fits if not s.get("part")] or fits or parts_named(mention, surfaces, scorer)
    fits = fits or by_own_word(mention, surfaces, scorer)
    if not fits:
        return "none"
    best = max(scorer.likeness(s["name"], mention.name) for s in fits)
    closest = [s for s in fits if scorer.likeness(s["name"], mention.name) == best]
    kinds = {s["role"] if s["role"] in ("start", "finish") else s["ruling"] for s in closest}
    return kinds.pop() if len(kinds) == 1 else None


_BORDERS = frozenset(["above", "below", "past", "beyond", "over", "under", "behind", "between", "but", "except", "without", "from", "to"])
"""Words of a part that is told by another thing ("above the tape"), which is no name of the part itself."""


def by_own_word(mention: Mention, surfaces: Sequence[dict[str, Any]], scorer: Any) -> list[dict[str, Any]]:
    """The answers that call a part by its own word only: "rim" for "the rim of the tyre". Careful listeners differ in this."""
    part = mention.name if mention.is_part else mention.part
    if not part:
        return []
    return [s for s in surfaces if not s.get("part") and scorer.likeness(s["name"], part) >= 0.5 and scorer.colour_same(s, {"name": part})]


def parts_named(mention: Mention, surfaces: Sequence[dict[str, Any]], scorer: Any) -> list[dict[str, Any]]:
    """The answers of which a phrase names only the part ("the rim", of a tyre that was named before)."""
    head = scorer.toks(mention.name)[-1:]
    return [
        s
        for s in surfaces
        if s.get("part")
        and head
        and head[0] in scorer.toks(s["part"])
        and not _BORDERS.intersection(scorer.toks(s["part"]))
        and scorer.likeness(s["name"], mention.name) < 0.5
    ]


def things(told: Told, scorer: Any) -> Iterator[Example]:
    """Every phrase of a station with its class."""
    for at, index, seen in weighed.phrases_of(told.lines):
        mention = told.lines[at].mentions[index]
        kind = class_of(mention, told.gold.get("surfaces") or [], scorer)
        if kind is not None and not mention.is_part:
            yield weighed.features_of(told.lines, at, index, seen, told.before), kind, told.weight


def overshoots(told: Told, scorer: Any) -> Iterator[Example]:
    """Every finish of a station with what is said of going past it."""
    for surface in told.gold.get("surfaces") or []:
        named = [
            (at, index)
            for at, line in enumerate(told.lines)
            for index, mention in enumerate(line.mentions)
            if scorer.likeness(surface["name"], mention.name) >= 0.5 and f"@{index}" in line.skeleton.items
        ]
        if surface["role"] == "finish" and named:
            ends = [
                (at, index)
                for at, index in named
                if any(a.mention == index and a.kind in ("finish", "arrive") for a in told.lines[at].acts)
            ]
            at, index = ends[0] if ends else named[-1]
            features = landing.features_of(told.lines[at:], told.lines[at].skeleton.items.index(f"@{index}"))
            yield features, surface.get("overshoot") or "none", told.weight


def limbs(told: Told, scorer: Any) -> Iterator[Example]:
    """Every thing in play with whether hands, and whether feet, are tied to it."""
    gathered = gather(told.lines, names=(told.gold.get("name") or "",))
    entries = [entry for entry in gathered.register.entries if not entry.dropped]
    loose = union(limb for limb, _ in gathered.loose_limbs)
    surfaces = [s for s in told.gold.get("surfaces") or [] if s["ruling"] == "in"]
    route = [s for s in surfaces if s["role"] == "route"]
    drafted = [{"name": entry.name, "part": entry.part, "role": "route", "ruling": "in"} for entry in entries]
    for i, j in sorted(scorer.assign(surfaces, drafted, scorer.surf_score, 0.4)):
        entry, surface = entries[j], surfaces[i]
        thing = limbed.Thing(entry.mention, entry.part, union(entry.limbs), loose, surface["role"], route == [surface])
        for limb in limbed.SIDES:
            told_so = "yes" if limb in (surface.get("contact") or ()) else "no"
            yield limbed.features_of(told.lines, thing, limb), told_so, told.weight


EXAMPLES = {"things": things, "overshoot": overshoots, "limbs": limbs}


def fit(examples: Sequence[Example], classes: Sequence[str], ridge: float, beside: Sequence[Sequence[float]] = ()) -> Weights:
    """The weights that fit the examples best. `beside`: log odds of each class that something else gives to each example."""
    counts = Counter(feature for features, *_ in examples for feature in features)
    names = sorted(feature for feature, count in counts.items() if count >= RAREST)
    place = {name: k for k, name in enumerate(names)}
    rows = [row for row, (features, *_) in enumerate(examples) for feature in features if feature in place]
    columns = [place[feature] for features, *_ in examples for feature in features if feature in place]
    x = csr_matrix((np.ones(len(rows)), (rows, columns)), shape=(len(examples), len(names)))
    y: NDArray[np.float64] = np.zeros((len(examples), len(classes)))
    y[range(len(examples)), [list(classes).index(kind) for _, kind, _ in examples]] = 1.0
    counted = np.array([[weight] for *_, weight in examples])
    weighty = x.multiply(np.sqrt(counted)).tocsr()
    steepest = float(svds(weighty, k=1, return_singular_vectors=False, v0=np.ones(min(x.shape)))[0])
    step, turned = 1.0 / (0.5 * steepest**2 + ridge), x.T.tocsr()
    offsets = np.array(beside) if len(beside) else np.zeros(y.shape)
    w = np.zeros((len(names), len(classes)))
    ahead, pace = w, 1.0
    for _ in range(STEPS):
        z = x @ ahead + offsets
        p = np.exp(z - z.max(axis=1, keepdims=True))
        p /= p.sum(axis=1, keepdims=True)
        new = ahead - step * (turned @ ((p - y) * counted) + ridge * ahead)
        faster = (1 + np.sqrt(1 + 4 * pace * pace)) / 2
        ahead, w, pace = new + (pace - 1) / faster * (new - w), new, faster
    return Weights(tuple(classes), {name: tuple(round(float(v), 3) for v in w[k]) for name, k in place.items()})


def all_fitted(examples: dict[str, list[Example]]) -> dict[str, Weights]:
    """Each model fitted on its examples."""
    return {model: fit(some, CLASSES[model], RIDGE[model]) for model, some in examples.items()}


def use(models: dict[str, Weights]) -> None:
    """Let the drafter of this process read by these weights."""
    for module in (revised, landing, limbed):
        module.fitted = models.__getitem__  # type: ignore[attr-defined]


def score_station(told: Told, scorer: Any) -> Counter[str]:
    """What of a single station's answers is drafted."""
    name = told.gold.get("name") or ""
    told_so = revised.revised(told.lines, (), (name,))
    station = sheet.build(
        1, None, (0.0, 99.0), gather(told_so.lines, names=(name,), passing=told_so.passing), None, (), told_so.likely
    ).station
    gold, got = told.gold.get("surfaces") or [], [surface.model_dump() for surface in station.surfaces]
    pairs = scorer.assign(gold, got, scorer.surf_score, 0.4)
    right = sorted(told.gold.get("contact") or []) == sorted(station.contact or [])
    return Counter(
        gold=len(gold),
        got=len(got),
        surfaces=len(pairs),
        rules=sum(scorer.rule_same(gold[a], got[b]) for a, b in pairs),
        limbed=sum(bool(s.get("contact")) for s in gold),
        limbs=sum(scorer.limbs(gold[a]) == scorer.limbs(got[b]) for a, b in pairs if gold[a].get("contact")),
        divided=sum(bool(s.get("divisions")) for s in gold),
        divisions=sum(gold[a]["divisions"] == got[b]["divisions"] for a, b in pairs if gold[a].get("divisions")),
        stations=1,
        contact=int(right),
    )


def line_of(c: Counter[str]) -> str:
    """The shares of a total, in words."""
    both = c["gold"] + c["got"]
    return (
        f"{c['stations']} stations: surfaces {2 * c['surfaces'] / both:.3f}, rules {2 * c['rules'] / both:.3f}, limbs "
        f"{c['limbs'] / max(1, c['limbed']):.3f}, divisions {c['divisions'] / max(1, c['divided']):.3f}, contact "
        f"{c['contact'] / c['stations']:.3f}"
    )


def told_examples(told: Told, scorer: Any) -> Iterator[tuple[Example, list[float]]]:
    """Every thing of a station with what patterns make of it, and what the other models make of it, in log odds."""
    names = (told.gold.get("name") or "",)
    for thing in revised.weigh(told.lines, told.before, names, context.context(told.lines), Weights(weighed.CLASSES, {})):
        kind = class_of(thing.mention, told.gold.get("surfaces") or [], scorer)
        acts = [act for at, index in thing.places for act in told.lines[at].acts if act.mention == index]
        if kind is not None:
            odds = [math.log(max(1e-9, share)) for share in thing.shares.values()]
            yield (revised.told_features(thing.told, acts, part=bool(thing.mention.part)), kind, told.weight), odds


def fit_told(pairs: Sequence[tuple[Example, list[float]]]) -> Weights:
    """What patterns are worth beside the other models."""
    return fit([example for example, _ in pairs], CLASSES["told"], RIDGE["told"], [odds for _, odds in pairs])


def items_of(told: Told, scorer: Any) -> Iterator[Item]:
    """Every surface drafted of a single station with the signs that its confidence is made of, and whether it is right."""
    names = (told.gold.get("name") or "",)
    with signs_kept() as seen:
        told_so = revised.revised(told.lines, (), names)
        surfaces = sheet.build(
            1, None, (0.0, 99.0), gather(told_so.lines, names=names, passing=told_so.passing), None, (), told_so.likely
        ).station.surfaces
    gold, got = told.gold.get("surfaces") or [], [surface.model_dump() for surface in surfaces]
    pairs = {b: a for a, b in scorer.assign(gold, got, scorer.surf_score, 0.4)}
    for b, surface in enumerate(surfaces):
        yield seen[place_of(surface)], 0.0, b in pairs and scorer.rule_same(gold[pairs[b]], got[b]), "clean"


def leave_out(told: Sequence[Told], scorer: Any, contexts: Sequence[Path]) -> tuple[str, Weights, list[Item]]:
    """What the weights are worth on speakers that taught them nothing, single stations and stations of walks each pooled.

    Also "told", and every surface drafted of single stations so.
    """
    taught = [{model: list(make(each, scorer)) for model, make in EXAMPLES.items()} for each in told]
    groups = [group_of(each.speaker) for each in told]
    models = []
    folds = range(len(contexts) or FOLDS)
    for fold in folds:
        rest = [each for each, group in zip(taught, groups, strict=True) if group != fold]
        models.append(all_fitted({model: [e for each in rest for e in each[model]] for model in EXAMPLES}))
    readers = [load_model(path, context.HEADS) for path in contexts] or [None] * FOLDS
    pairs: list[list[tuple[Example, list[float]]]] = []
    for fold in folds:
        read_with(models[fold], readers[fold])
        pairs.append([pair for each, group in zip(told, groups, strict=True) if group == fold for pair in told_examples(each, scorer)])
    totals: dict[bool, Counter[str]] = {True: Counter(), False: Counter()}
    items: list[Item] = []
    for fold in folds:
        others = fit_told([pair for k, some in enumerate(pairs) if k != fold or len(folds) == 1 for pair in some])
        read_with({**models[fold], "told": others}, readers[fold])
        for each, group in zip(told, groups, strict=True):
            if group == fold:
                totals[each.single].update(score_station(each, scorer))
                items += items_of(each, scorer) if each.single else ()
    said = "\n".join(f"{'single' if single else 'of walks'}: {line_of(total)}" for single, total in totals.items() if total)
    return said, fit_told([pair for some in pairs for pair in some]), items


def read_with(models: dict[str, Weights], reader: Model | None) -> None:
    """Let the drafter of this process read by these weights and this language model."""
    use(models)
    context._read.cache_clear()
    context.model = lambda: reader  # type: ignore[assignment]


def material_parser(description: str | None) -> argparse.ArgumentParser:
    """A parser that asks for what is learnt from; `material` reads it."""
    parser = argparse.ArgumentParser(description=description, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--scorer", type=Path, required=True)
    parser.add_argument("--name", nargs="+", default=["read_", "dev_"], help="only walks whose name begins with one of these")
    parser.add_argument("--stations", nargs="*", type=Path, default=[], help="files of single stations to learn from")
    parser.add_argument("--sentences", type=Path, help="what fit_sentences.py wrote without group 0: phrases are made as it spots them")
    return parser


def material(given: argparse.Namespace) -> list[Told]:
    """The stations to learn from: those of files of single ones, then those of walks."""
    spots = load_model(given.sentences, (*HEADS, *WITHIN)) if given.sentences else None
    sentences.model = lambda: spots  # type: ignore[assignment]
    single = [each for path in given.stations for each in single_stations(path)]
    return single + [each for folder in given.folders for each in stations_of(folder, given.name)]


def main() -> int:
    """Fit and write, or leave out and print."""
    parser = material_parser(__doc__)
    parser.add_argument(
        "--context", nargs="+", type=Path, default=[], help="the language model's fits without group 0, 1, ...; one will do"
    )
    parser.add_argument("--score", type=Path, help="a file of single stations to score with the weights in the package, pooled")
    parser.add_argument("--unmet", type=Path, help="file of counts for fit_confidence.py --fit, of the single stations left out by turns")
    parser.add_argument("--keep", nargs="*", default=[], choices=CLASSES, help="models that stay as they are in the package")
    parser.add_argument("-o", "--out", type=Path)
    given = parser.parse_args()
    scorer = load_scorer(given.scorer)
    if given.score:
        total: Counter[str] = Counter()
        for each in single_stations(given.score):
            total.update(score_station(each, scorer))
        print(line_of(total))
        return 0
    told = material(given)
    said, worth, items = leave_out(told, scorer, given.context)
    print(said)
    if given.unmet:
        given.unmet.unlink(missing_ok=True)
        keep(items, given.unmet)
    if given.out:
        models = all_fitted({model: [e for each in told for e in make(each, scorer)] for model, make in EXAMPLES.items()})
        models |= {"told": worth} | {model: in_package(model) for model in given.keep}
        kept = []
        for model, weights in models.items():
            rows = ",\n".join(f"  {json.dumps(name)}: {list(row)}" for name, row in weights.of.items())
            kept.append(f' {json.dumps(model)}: {{"classes": {json.dumps(list(weights.classes))}, "weights": {{\n{rows}\n }}}}')
        given.out.write_text("{\n" + ",\n".join(kept) + "\n}\n", encoding="utf-8")
        print(", ".join(f"{model} {len(weights.of)} features" for model, weights in models.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
