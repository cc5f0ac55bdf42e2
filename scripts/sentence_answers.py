"""What fit_sentences.py teaches the language model: the sentences of walks with, for each, what its walk's answers make of it.

The answers name things and classes; where these stand in the words is found here. A thing stands where a phrase is like its name or, where
none is, where all words of the name stand together. A class stands where patterns find its key or, where they do not, likewise.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any

import yaml

from annotator.rules import lexicon, weighed
from annotator.rules.belonging import wholes_near
from annotator.rules.called import named_at
from annotator.rules.encoder import Encoder
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line, read_walk
from annotator.rules.sentences import pieces_of
from scripts.fit_weighed import by_own_word, class_of, parts_named
from scripts.score_rules import read_folder, spread

SHOWN = (None, "clear", "fail")
RULED = {"in": 1, "out": 2}
"""The place of a ruling among the answers; 0: nothing is ruled."""
UNASKED = -1
"""Of a word or phrase of which the answers say neither."""
FIRST, LATER = 1, 2
"""Of a word that begins a name, and of one that goes on with it."""
_SMALL = lexicon.words("the a an of in on with and or who is are are's for to our your those")
_LONGER = 3
"""So many words may stand between those of a name."""

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase by its pieces: what it is for all stations, and for which classes it is what (None: not asked).

    `kind`: what it is at its station, as fit_context.py asks it (None: not asked).
    `thing`: a number that phrases of one thing share. `near`: each phrase that may name a whole of this one, by sentences from here, its
    pieces, where it stands, and whether it does (None: not asked).
    """

    pieces: list[int]
    of_all: int
    divisions: Mapping[str, str] | None
    kind: str | None = None
    thing: int | None = None
    near: Sequence[tuple[int, list[int], int, bool]] | None = None


@dataclass(frozen=True, slots=True)
class Class:
    """A class of athletes by the pieces of its name."""

    pieces: list[int]
    key: str


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence by its pieces, with the station that it stands in and what it does; 0 or 1 for each head of sentences that is known.

    `things`, `named`: for each piece whether it is of a thing's, or a class's, name.
    """

    ids: list[int]
    station: int | None
    does: dict[str, float]
    phrases: list[Phrase]
    classes: list[Class]
    things: list[int]
    named: list[int]


@dataclass(frozen=True, slots=True)
class Walk:
    """A walk with its answers: the result of each station's demonstration, by its place in SHOWN; what is told once for all stations.

    `single`: one station told alone, of which nothing is asked of whole sentences.
    """

    name: str
    lines: tuple[Line, ...]
    sentences: list[Sentence]
    shown: list[int]
    told: list[float]
    single: bool = False


def walks(folders: Sequence[Path], names: Sequence[str], encoder: Encoder, scorer: Any) -> Iterator[Walk]:
    """The walks of the folders whose names begin so."""
    for folder in folders:
        for name, _, words, listed, gold in read_folder(folder, None):
            if name.startswith(tuple(names)):
                lines, stations = read_walk(words, listed).lines, gold["stations"]
                within = [next((k for k, s in enumerate(stations) if s["start"] - 0.05 <= line.start_s < s["end"]), None) for line in lines]
                yield _walk(name, lines, stations, within, gold.get("blanket") or [], encoder, scorer)


def singles(paths: Sequence[Path], encoder: Encoder, scorer: Any) -> Iterator[Walk]:
    """Those of the stations in files of single ones that tell of classes or of the whole course."""
    for path in paths:
        for told in yaml.safe_load(path.read_text(encoding="utf-8")):
            text = " ".join(each["text"] if isinstance(each, dict) else each for each in told["say"])
            lines = read_walk(spread(0.0, 0.3 * len(text.split()), text), ()).lines
            rules, surfaces = told.get("blanket") or [], told["gold"].get("surfaces") or []
            if rules or any(surface.get("divisions") for surface in surfaces) or any(named_at(line) for line in lines):
                yield _walk(told["speaker"], lines, [told["gold"]], [0] * len(lines), rules, encoder, scorer, single=True)


def _walk(
    name: str,
    lines: tuple[Line, ...],
    stations: Sequence[Answer],
    within: Sequence[int | None],
    rules: Sequence[Answer],
    encoder: Encoder,
    scorer: Any,
    *,
    single: bool = False,
) -> Walk:
    things = [rule for rule in rules if rule["rule"] == "surface"]
    firsts = {within.index(k) for k in range(len(stations)) if k in within}
    classes: dict[int, list[tuple[int, int, str, bool]]] = {}
    loose: dict[int, list[tuple[int, int, str]]] = {}
    for k in (None, *range(len(stations))):
        mine = [at for at in range(len(lines)) if within[at] == k]
        surfaces = [] if k is None else stations[k].get("surfaces") or []
        classes |= _classes_in(mine, lines, {key for s in (*surfaces, *things) for key in s.get("divisions") or {}})
        loose |= _loose_in(mine, lines, {*(s["name"] for s in surfaces), *(rule["surface"] for rule in things)}, scorer)
    thing_of = _things_in(lines, within)
    pieces = [pieces_of(encoder, [token.text for token in line.skeleton.sentence.tokens]) for line in lines]
    owners_of, mentions = [owners for _, owners in pieces], [line.mentions for line in lines]
    sentences = []
    for at, line in enumerate(lines):
        station = within[at]
        own = [] if station is None else stations[station].get("surfaces") or []
        ids, owners = pieces[at]
        phrases = [_phrase(mention, owners, own, things, scorer) for mention in line.mentions]
        if station is not None:
            phrases = [
                replace(
                    phrase,
                    kind=class_of(mention, own, scorer),
                    thing=thing_of.get((at, index)),
                    near=_wholes(mentions, at, index, within, owners_of, own, scorer),
                )
                for index, (phrase, mention) in enumerate(zip(phrases, line.mentions, strict=True))
            ]
        of_things = _of_things(line, own, things, loose.get(at, ()), scorer)
        sure = [each for each in classes.get(at, ()) if each[3]]
        told = [each for each in classes.get(at, ()) if each[3] or not any(each[0] <= b and a <= each[1] for a, b, *_ in sure)]
        of_classes = [0] * len(ids)
        for first, last, _, asked in told:
            for piece in _pieces(owners, first, last):
                of_classes[piece] = (FIRST if owners[piece] == first else LATER) if asked else UNASKED
        does = {
            "begins": float(at in firsts),
            "inside": float(station is not None),
            "course": float(any(_only_for_all(mention, own, things, scorer) for mention in line.mentions)),
        }
        named = [Class(mine, key) for first, last, key, _ in told if (mine := _pieces(owners, first, last))]
        sentences.append(Sentence(ids, station, does, phrases, named, [of_things[word] if word >= 0 else 0 for word in owners], of_classes))
    kinds = {rule["rule"] for rule in rules}
    shown = [SHOWN.index(station.get("demonstration")) for station in stations]
    return Walk(name, lines, sentences, shown, [float("unnamed-out" in kinds), float("no-skip" in kinds)], single)


def _classes_in(at: Sequence[int], lines: Sequence[Line], asked: set[str]) -> dict[int, list[tuple[int, int, str, bool]]]:
    """Where these lines name classes: first and last word, key, whether the answers tell of it."""
    places: dict[str, list[tuple[int, int, int]]] = {}
    for k in at:
        for first, last, key in named_at(lines[k]):
            places.setdefault(key, []).append((k, first, last))
    for key in sorted(asked - set(places)):
        found = [(k, *place) for k in at if (place := _together(key, _lows(lines[k])))]
        if found:
            places[key] = found
    out: dict[int, list[tuple[int, int, str, bool]]] = {}
    for key, found in places.items():
        for k, first, last in found:
            out.setdefault(k, []).append((first, last, key, key in asked))
    return out


def _loose_in(at: Sequence[int], lines: Sequence[Line], names: set[str], scorer: Any) -> dict[int, list[tuple[int, int, str]]]:
    """Where the names stand of which no phrase of these lines is one."""
    out: dict[int, list[tuple[int, int, str]]] = {}
    for name in sorted(names):
        if any(scorer.likeness(name, mention.name) >= 0.5 for k in at for mention in lines[k].mentions):
            continue
        for k in at:
            if place := _together(name, _lows(lines[k])):
                out.setdefault(k, []).append((*place, name))
    return out


def _phrase(mention: Mention, owners: Sequence[int], own: Sequence[Answer], things: Sequence[Answer], scorer: Any) -> Phrase:
    fits = _meant(mention, own, scorer)
    alike = _ruled_for_all(mention, things, scorer)
    of_all = 0
    if alike and _only_for_all(mention, own, things, scorer):
        best = max(scorer.likeness(rule["surface"], mention.name) for rule in alike)
        alike = [rule for rule in alike if scorer.likeness(rule["surface"], mention.name) == best and not rule.get("part")]
        rulings = {rule["ruling"] for rule in alike}
        of_all = RULED[rulings.pop()] if len(rulings) == 1 else UNASKED
    elif alike or (mention.is_part and any(set(scorer.toks(r.get("part"))) & set(scorer.toks(mention.name)) for r in things)):
        of_all = UNASKED
    told = [each.get("divisions") or {} for each in fits or (alike if of_all > 0 else [])]
    divisions = None if any(each != told[0] for each in told) else told[0] if told else {}
    return Phrase(_pieces(owners, mention.first, mention.last), of_all, divisions)


_NUMBERS = count()


def _things_in(lines: Sequence[Line], within: Sequence[int | None]) -> dict[tuple[int, int], int]:
    """For each phrase that is said at a station, by line and index, the number of its thing."""
    out: dict[tuple[int, int], int] = {}
    for station in {k for k in within if k is not None}:
        mine = [at for at in range(len(lines)) if within[at] == station]
        for thing in weighed.things_of([lines[at] for at in mine]):
            mention = lines[mine[thing[0][0]]].mentions[thing[0][1]]
            if not mention.is_part and mention.head != "one":
                out |= dict.fromkeys([(mine[k], index) for k, index, _ in thing], next(_NUMBERS))
    return out


def _wholes(
    mentions: Sequence[Sequence[Mention]],
    at: int,
    index: int,
    within: Sequence[int | None],
    owners: Sequence[Sequence[int]],
    own: Sequence[Answer],
    scorer: Any,
) -> list[tuple[int, list[int], int, bool]] | None:
    """What may be the whole of a phrase, and what is; None where the answers do not say, or patterns know that it is a part."""
    mention = mentions[at][index]
    fits = _meant(mention, own, scorer)
    if mention.part or mention.is_part or not fits:
        return None
    parts = [s for s in fits if s.get("part") and scorer.likeness(s["name"], mention.name) < 0.5]
    if parts and len(parts) < len(fits):
        return None
    out = [
        (
            there - at,
            _pieces(owners[there], whole.first, whole.last),
            place,
            within[there] == within[at]
            and any(scorer.likeness(s["name"], whole.name) >= 0.5 and scorer.colour_same(s, {"name": whole.name}) for s in parts),
        )
        for there, whole, place in wholes_near(mentions, at, index)
    ]
    return out if not parts or any(right for *_, right in out) else None


def _ruled_for_all(mention: Mention, things: Sequence[Answer], scorer: Any) -> list[Answer]:
    return [
        rule
        for rule in things
        if scorer.likeness(rule["surface"], mention.name) >= 0.5 and scorer.colour_same({"name": rule["surface"]}, {"name": mention.name})
    ]


def _only_for_all(mention: Mention, own: Sequence[Answer], things: Sequence[Answer], scorer: Any) -> bool:
    """Whether a phrase names a thing that is ruled for all, and none of its own station."""
    return bool(_ruled_for_all(mention, things, scorer)) and not any(scorer.likeness(s["name"], mention.name) >= 0.5 for s in own)


def _meant(mention: Mention, surfaces: Sequence[Answer], scorer: Any) -> list[Answer]:
    """The answers that a phrase names."""
    if mention.is_part:
        return list(parts_named(mention, surfaces, scorer) or by_own_word(mention, surfaces, scorer))
    fits = [s for s in surfaces if scorer.likeness(s["name"], mention.name) >= 0.5 and scorer.colour_same(s, {"name": mention.name})]
    if mention.part:
        fits = [s for s in fits if set(scorer.toks(s.get("part"))) & set(scorer.toks(mention.part))]
        return fits or by_own_word(mention, surfaces, scorer)
    fits = [s for s in fits if not s.get("part")] or fits or list(parts_named(mention, surfaces, scorer))
    best = max((scorer.likeness(s["name"], mention.name) for s in fits), default=0.0)
    return fits if len(fits) < 2 else [s for s in fits if scorer.likeness(s["name"], mention.name) == best]


def _of_things(
    line: Line, own: Sequence[Answer], things: Sequence[Answer], loose: Sequence[tuple[int, int, str]], scorer: Any
) -> list[int]:
    """For each word whether it is of a thing's name. Of phrases that the answers do not name nothing is asked."""
    tokens, lows = line.skeleton.sentence.tokens, _lows(line)
    out = [0] * len(tokens)
    names = [*(s["name"] for s in own), *(rule["surface"] for rule in things)]
    for mention in line.mentions:
        out[mention.first : mention.last + 1] = [UNASKED] * (mention.last + 1 - mention.first)
    for mention in line.mentions:
        places = range(mention.first, mention.last + 1)
        if mention.is_part:
            if parts_named(mention, own, scorer):
                words = [k for k in places if lows[k] not in _SMALL and tokens[k].pos != "DET"] or [mention.last]
                out[words[0] : mention.last + 1] = [FIRST, *[LATER] * (mention.last - words[0])]
            continue
        wanted = {stem for name in names if scorer.likeness(name, mention.name) >= 0.5 for stem in _stems(name)}
        words = [k for k in places if _stem(lows[k]) in wanted]
        for k in places if words else ():
            if k in words:
                out[k] = FIRST if k == words[0] else LATER
            elif k > words[-1] and not mention.part and lows[k] not in _SMALL:
                out[k] = 0
    for first, last, name in loose:
        wanted, begun = set(_stems(name)), False
        for k in range(first, last + 1):
            mine = {_stem(word) for word in _words(lows[k])} & wanted
            out[k] = UNASKED if not mine else LATER if begun else FIRST
            begun = begun or bool(mine)
    return out


def _pieces(owners: Sequence[int], first: int, last: int) -> list[int]:
    return [piece for piece, word in enumerate(owners) if first <= word <= last]


def _lows(line: Line) -> list[str]:
    return [token.low for token in line.skeleton.sentence.tokens]


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9']+", text.lower().replace("’", "'"))


def _stem(word: str) -> str:
    word = word.lower().replace("’", "'").removesuffix("'s").rstrip("'")
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("es") and word[:-2].endswith(("x", "ss", "ch", "sh")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 3 else word


def _stems(name: str) -> list[str]:
    return [_stem(word) for word in _words(name) if word not in _SMALL]


def _together(name: str, lows: Sequence[str]) -> tuple[int, int] | None:
    """The shortest run of words that holds all of a name's."""
    wanted, stems = set(_stems(name)), [{_stem(word) for word in _words(low)} for low in lows]
    longest, best = len(_words(name)) + _LONGER, None
    for first in range(len(lows)) if wanted else ():
        if not stems[first] & wanted:
            continue
        met: set[str] = set()
        for last in range(first, min(len(lows), first + longest)):
            met |= stems[last]
            if wanted <= met:
                best = (first, last) if best is None or last - first < best[1] - best[0] else best
                break
    return best
