"""What each mechanism of the drafter is worth: the walks drafted again with one switched off at a time.

    ablation.py --scorer FILE FOLDER... [--name read_ dev_] [--patterns]

Prints, for each mechanism and each kind of text, by how much the F1 of rules, stations and blanket rules, limbs and contact fall without it
(a minus means that the drafter is better without it). `--patterns` takes out the patterns of acts one by one instead and lists those that
change nothing; what is of use only to other speakers stands there as well, so the list is read and not obeyed.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator.rules import draft as draft_words
from annotator.rules import gather, reading, repairs, sheet, stations, text
from scripts.fit_confidence import load_scorer
from scripts.score_rules import read_folder

acts = sys.modules["annotator.rules.acts"]
drafter = sys.modules["annotator.rules.draft"]
Walks = Sequence[tuple[str, str, list[Any], list[str], dict[str, Any]]]


def _nothing(*_: Any, **__: Any) -> None:
    return None


def _false(*_: Any, **__: Any) -> bool:
    return False


def _same(value: Any, *_: Any, **__: Any) -> Any:
    return value


def _in_place(lines: Any, division: Any, _: Any) -> list[int | None]:
    owners: list[int | None] = [None] * len(lines)
    for k, (a, b) in enumerate(division.stations):
        owners[a:b] = [k] * (b - a)
    return owners


Switch = tuple[Any, str, Any]
MECHANISMS: dict[str, tuple[Switch, ...]] = {
    "corrections replace what they correct": ((repairs, "_without_corrections", _same),),
    "stumbles and repeats go": ((repairs, "_without_repeats", _same),),
    "asides of searching for a word go": ((repairs, "_without_asides", _same),),
    "speech without punctuation is cut at openers": ((text, "_stops", text._pauses),),
    "pieces are joined to their sentence": ((text, "_completes", _false),),
    "spoken forms are read as written": ((text, "as_written", _same), (reading, "as_written", _same)),
    "questions are answered": ((reading, "answered", lambda *_: ()),),
    "questions rule nothing": ((acts, "asks", _false),),
    "so is x": ((reading, "_same_as_before", lambda found, _: tuple(found)),),
    "hearsay counts little": ((acts, "_only_heard", _false),),
    "what stands under a negation is no use": ((acts, "_blocked", _false),),
    "things listed share a ruling": ((acts, "_alike", lambda *_: ()),),
    "a fuller name replaces": ((acts, "_renamed", lambda _, found: found),),
    "phrases inside a phrase are not ruled": ((acts, "_modifying", lambda *_: set()),),
    "pronouns": ((gather, "_take_pronoun", _nothing),),
    "a sentence goes back to its topic": ((gather, "_return_to_topic", _nothing),),
    "the ones are what was spoken of": ((gather, "_one_of", lambda _, mention: mention),),
    "the finish before is the start": ((gather, "_old_finish_is_start", _nothing),),
    "classes of age and skill": ((gather, "take_division", _nothing), (gather, "carried_key", _nothing)),
    "overshoot": ((gather, "take_overshoot", _nothing),),
    "above a border is a part": ((gather, "above", _nothing),),
    "a part that is only a place": ((gather, "place_only", _false),),
    "groups give way to their members": ((sheet, "_drop_groups", _nothing),),
    "a part stands for its whole": ((sheet, "_only_parts", _nothing),),
    "parts that add nothing go": ((sheet, "_drop_redundant", _nothing),),
    "a bell at the end is the finish": ((sheet, "_strike_to_stop", _nothing),),
    "the last arrival is the finish": ((sheet, "_last_arrival", _nothing),),
    "the number of stations said": ((stations, "_count_said", _nothing),),
    "rules told out of place": ((drafter, "_owners", _in_place),),
    "names by elimination": ((drafter, "_by_elimination", _nothing),),
}


class Remembered:
    """The tagger, which reads the same sentence once only."""

    def __init__(self, tagger: Any) -> None:
        self._tagger = tagger
        self._known: dict[str, Any] = {}

    def pipe(self, texts: Sequence[str], batch_size: int) -> Iterator[Any]:
        """As spaCy's."""
        new = [each for each in dict.fromkeys(texts) if each not in self._known]
        self._known.update(zip(new, self._tagger.pipe(new, batch_size=batch_size), strict=True))
        return iter([self._known[each] for each in texts])


@contextmanager
def without(switches: Sequence[Switch]) -> Iterator[None]:
    """Functions replaced for a while."""
    before = [(where, name, getattr(where, name)) for where, name, _ in switches]
    for where, name, other in switches:
        setattr(where, name, other)
    try:
        yield
    finally:
        for where, name, plain in before:
            setattr(where, name, plain)


def measured(walks: Walks, scorer: Any) -> dict[str, float]:
    """The pooled figures by "text figure"."""
    totals: dict[str, dict[str, float]] = {}
    for _, kind, words, names, gold in walks:
        found = scorer.score(gold, json.loads(draft_words(words, names).model_dump_json()))
        total = totals.setdefault(kind, {})
        for key, value in found.items():
            total[key] = total.get(key, 0) + value
    out: dict[str, float] = {}
    for kind, c in totals.items():
        out[f"{kind} rules"] = scorer.f1(c["hrule"], c["gsurf"], c["dsurf"])
        out[f"{kind} stations"] = scorer.f1(c["hs"], c["gs"], c["ds"])
        out[f"{kind} blanket"] = scorer.f1(c["hb"], c["gb"], c["db"])
        out[f"{kind} contact"] = c["contact"] / max(1, c["gs"])
        out[f"{kind} limbs"] = c["hlimb"] / max(1, c["glimb"])
    return out


def main() -> int:
    """One row a mechanism."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--scorer", type=Path, required=True)
    parser.add_argument("--name", nargs="+", default=[""])
    parser.add_argument("--patterns", action="store_true")
    given = parser.parse_args()
    scorer = load_scorer(given.scorer)
    walks = [w for folder in given.folders for w in read_folder(folder, None) if w[0].startswith(tuple(given.name))]
    tagger = Remembered(text.tagger())
    with without(((text, "tagger", lambda: tagger),)):
        whole = measured(walks, scorer)
        print("whole: " + ", ".join(f"{key} {value:.3f}" for key, value in whole.items()))
        if given.patterns:
            for k, row in enumerate(acts.PATTERNS):
                with without(((acts, "PATTERNS", (*acts.PATTERNS[:k], *acts.PATTERNS[k + 1 :])),)):
                    worth = {key: whole[key] - value for key, value in measured(walks, scorer).items()}
                if max(worth.values()) <= 0:
                    print(f"{row[2]:<40} {sum(worth.values()):+.4f}", flush=True)
            return 0
        print(f"{'without':<46}" + "".join(f"{key:>16}" for key in whole))
        for name, switches in MECHANISMS.items():
            with without(switches):
                fallen = measured(walks, scorer)
            print(f"{name:<46}" + "".join(f"{whole[key] - fallen[key]:>+16.3f}" for key in whole), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
