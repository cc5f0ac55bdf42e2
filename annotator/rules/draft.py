"""The drafter: words in, drafted sheet out. The whole reading in one function, one step a line.

Pure: no file, no clock, no network; the same words and names give the same sheet every time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise

from annotator.course import Demonstration, Finding, Said, Sheet, SheetSurface, Word
from annotator.rules import reach
from annotator.rules.across import same_name
from annotator.rules.blanket import find_blanket, head_of
from annotator.rules.confidence import less_where_heard_badly
from annotator.rules.contradicted import Spoken, TwoWays, told_elsewhere, two_ways
from annotator.rules.demonstration import find_demonstration, shown_between, weighed_demonstration
from annotator.rules.ends import Clash
from annotator.rules.findings import count_findings, station_findings
from annotator.rules.freely import freely
from annotator.rules.gather import gather
from annotator.rules.groups import as_written
from annotator.rules.heard import heard
from annotator.rules.language import is_english
from annotator.rules.lexicon import NUMBER
from annotator.rules.names import Naming
from annotator.rules.naming import ASIDE, SURE, name_stations
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line, Reading
from annotator.rules.referents import Evidence
from annotator.rules.revised import Revised, revised
from annotator.rules.runformat import find_format
from annotator.rules.scope import everywhere
from annotator.rules.sentences import Leanings, Listened
from annotator.rules.sheet import Built, build
from annotator.rules.stations import Division, divide

DRAFTER_VERSION = "25"
"""Changes whenever the same words may give another sheet; a kept draft of another version is made anew."""


def draft(words: Sequence[Word], names: Sequence[str] = ()) -> Sheet:
    """Read a course walk like a careful listener and write down its rules.

    Parameters
    ----------
    words
        Recognised or imported words on the walk's time line, in seconds. Any order; punctuation may be missing or wrong.
    names
        The names list: stations and things as staff typed them in before the walk.

    Returns
    -------
    Sheet
        Stations in order with their surfaces, blanket rules, run format, and findings for what is missing or contradicts. What was not said
        is None. Where nothing could be read, an empty sheet with one finding that says why.

    Examples
    --------
    >>> said = "Station one, log walk. You start on the red box. Walk along the log, feet only. Finish on the blue mat."
    >>> sheet = draft([Word(start=i, end=i + 0.9, text=t) for i, t in enumerate(said.split())], ["log walk"])
    >>> [(s.name, s.role, s.ruling) for s in sheet.stations[0].surfaces]
    [('red box', 'start', 'in'), ('log', 'route', 'in'), ('blue mat', 'finish', 'in')]
    """
    if not any(c.isalpha() for word in words for c in word.text):
        return Sheet(
            findings=(
                _nothing(
                    "no-station",
                    "No words were heard in this walk, so no rules could be drafted. Check the sound of the recording, or bring captions.",
                ),
            )
        )
    if not is_english(words):
        return Sheet(
            findings=(
                _nothing(
                    "other-language",
                    "This walk does not seem to be spoken in English, the only language that rules can be drafted from. Type the "
                    "rules in, or bring English captions.",
                ),
            )
        )
    reading, listened = heard(words, names)
    read = listened.leanings if listened else None
    division = divide(reading.lines, read)
    if not division.stations:
        everything = reading.lines
        return Sheet(
            blanket=find_blanket(everything, everything),
            format=find_format([(line.plain, line.said) for line in everything]),
            findings=(
                _nothing(
                    "no-station",
                    "No station could be found in what is said. Add the stations by hand, or check that this is the right recording.",
                ),
            ),
        )
    return _with_hearing(_write(reading, division, listened), words)


def _with_hearing(sheet: Sheet, words: Sequence[Word]) -> Sheet:
    """The sheet with less confidence in surfaces whose name was heard badly."""
    rising = sorted(words, key=lambda word: word.start)
    starts = [word.start for word in rising]
    stations = [
        station.model_copy(update={"surfaces": tuple(less_where_heard_badly(each, rising, starts) for each in station.surfaces)})
        for station in sheet.stations
    ]
    return sheet.model_copy(update={"stations": tuple(stations)})


def _nothing(kind: str, about: str) -> Finding:
    return Finding(kind=kind, station=None, about=about, severity="blocks")


def _write(reading: Reading, division: Division, listened: Listened | None) -> Sheet:
    """From the divided reading to the sheet."""
    lines, read = reading.lines, listened.leanings if listened else None
    named = name_stations(lines, division.stations, reading.listed)
    owners = _owners(lines, division, named)
    of_all = _of_all(lines, read)
    blanket_lines = [line for line in lines if owners[line.index] is None or line.index in of_all]
    blanket = find_blanket(blanket_lines, lines, _of_no_station(blanket_lines, division, read) | of_all)
    blanket = reach.of_all(blanket, lines, listened)
    built: list[Built] = []
    again: list[Callable[[Mention], Built]] = []
    for k, (a, b) in enumerate(division.stations):
        mine = [line for line in lines if owners[line.index] == k and not (line.index in of_all and (_rules_things(line) or freely(line)))]
        own = [line for line in mine if a <= line.index < b]
        naming = named[k]
        words = (naming.name, naming.heard) if naming else ()
        watched = shown_between([line.skeleton for line in own])
        mine = [_only_watched(line) if line in own and own.index(line) in watched else line for line in mine]
        aside = frozenset(line.index for line in mine if not a <= line.index < b)
        told = revised(mine, built[-1].finishes if built else (), words, aside)
        gathered = gather(told.lines, built[-1].finishes if built else (), names=words, passing=told.passing)
        demonstration, shown = find_demonstration([line.skeleton for line in own])
        if read is not None:
            odds = read.shown[[line.index for line in own]]
            demonstration, shown = weighed_demonstration(demonstration, shown, [line.skeleton for line in own], odds)
        said = [line.said for line in _opening(own, naming)]
        said += [line.said for line in own if shown is not None and line.skeleton is shown]
        end = _end_of(own, lines, b)
        title, span, before = naming.name if naming else None, (lines[a].start_s, end), built[-1].finishes if built else ()
        built.append(build(k + 1, title, span, gathered, demonstration, tuple(said), told.likely))
        again.append(partial(_ending_on, k + 1, title, span, told, before, words, demonstration, tuple(said)))
    built = _ends_where_the_next_begins(built, again)
    built = _for_classes(built, lines, owners, listened)
    built = _classes_as_written(built)
    built = _said_two_ways(built, lines, owners, division)
    findings = [*count_findings(division.announced, len(built)), *station_findings(built, blanket, division.numbers)]
    findings += _heard_wrong(named)
    return Sheet(
        stations=tuple(item.station for item in built),
        blanket=blanket,
        format=find_format([(line.plain, line.said) for line in lines]),
        findings=tuple(findings),
    )


def _of_all(lines: Sequence[Line], read: Leanings | None) -> frozenset[int]:
    """The lines that speak for the whole course: by their words, and by what the language model makes of them where it has read.

    A line that begins a station, or is told aside of one, does not, whatever the model says.
    """
    said = everywhere(lines)
    if read is None:
        return said
    return said | {
        line.index
        for line in lines
        if read.course[line.index] > 0 > read.begins[line.index]
        and not ASIDE.search(line.plain)
        and not any(naming.listed and naming.score >= SURE for naming in line.names)
    }


def _of_no_station(lines: Sequence[Line], division: Division, read: Leanings | None) -> frozenset[int]:
    """Those of the lines before and behind all stations that tell of no station.

    Where such lines tell of two of a start, an end and limbs, a station was not found there; from the first of these on what they rule
    may be its own. Nor are those of all that the language model is sure rule nothing for the whole course.
    """
    first, last = division.stations[0][0], division.stations[-1][1]
    out: list[int] = []
    for run in ([line for line in lines if line.index < first], [line for line in lines if line.index >= last]):
        signs = [(line.index, _signs_of_a_station(line)) for line in run]
        told = {sign for _, found in signs for sign in found}
        begins = next((index for index, found in signs if found), first)
        out += [line.index for line in run if len(told) < _ENOUGH_SIGNS or line.index < begins]
    return frozenset(k for k in out if read is None or read.course[k] > NOT_OF_ALL or read.inside[k] > reach.OF_A_STATION)


NOT_OF_ALL = -2.0
"""Log odds below which a line that stands outside all stations rules nothing for all."""
_ENOUGH_SIGNS = 2
"""From so many kinds on. Chosen on walks that were read: of one, two, three, rules for all came out at .861, .879, .855."""


def _signs_of_a_station(line: Line) -> frozenset[str]:
    """What of a station a line tells: a start, an end, limbs for a thing."""
    acts = [a for a in line.acts if a.mention is not None and a.rule != "you are on x"]
    start = any(a.kind == "start" and a.weight >= 0.8 for a in acts)
    end = any(a.kind in ("finish", "arrive") and a.weight >= 0.6 for a in acts)
    limbs = any(limb.mention is not None for limb in line.limbs)
    return frozenset(sign for sign, told in (("start", start), ("end", end), ("limbs", limbs)) if told)


OPENING = 6  # lines in which a station is named
_NUMBERED = re.compile(r"\b(?:station|number|obstacle)\b")


def _opening(own: Sequence[Line], naming: Naming | None) -> Sequence[Line]:
    """The words that a station begins with: those that name it, else the first that are more than "Alright."."""
    early = own[:OPENING]
    named = [line for line in early if naming is not None and naming.heard.lower() in line.plain]
    full = [line for line in early if len(line.plain.split()) > 2 or _NUMBERED.search(line.plain)]
    return [*named, *full, *early][:1]


def _ending_on(
    number: int,
    title: str | None,
    span: tuple[float, float],
    told: Revised,
    before: Sequence[Mention],
    words: Sequence[str],
    demonstration: Demonstration | None,
    said: tuple[Said, ...],
    end: Mention,
) -> Built:
    """A station built again, ending on a thing of which it speaks."""
    gathered = gather(told.lines, before, names=words, passing=told.passing)
    entry = gathered.register.whole(end)
    if entry is not None and not entry.weight("start", "out"):
        evidence = entry.evidence[-1] if entry.evidence else Evidence("there", 0.5, entry.line, told.lines[0].said, "spoken of")
        entry.evidence.append(replace(evidence, kind="finish", weight=0.8, rule="the next one starts there", corrected=False))
    return build(number, title, span, gathered, demonstration, said, told.likely)


def _ends_where_the_next_begins(built: Sequence[Built], again: Sequence[Callable[[Mention], Built]]) -> list[Built]:
    """ "Over to the pallet.", then "you start on the pallet": a station that tells no finish ends where the next one starts."""
    out = list(built)
    for k, (this, following) in enumerate(pairwise(built)):
        if not this.finishes and following.starts:
            out[k] = again[k](following.starts[0])
    return out


def _for_classes(built: Sequence[Built], lines: Sequence[Line], owners: Sequence[int | None], listened: Listened | None) -> list[Built]:
    """The stations with the classes that the language model puts to their things."""
    if listened is None:
        return list(built)
    out = []
    for k, item in enumerate(built):
        mine = [at for at, owner in enumerate(owners) if owner == k]
        surfaces = reach.for_classes(item.station.surfaces, mine, lines, listened)
        out.append(replace(item, station=item.station.model_copy(update={"surfaces": surfaces})))
    return out


def _classes_as_written(built: Sequence[Built]) -> list[Built]:
    """The stations with each class as the words of its things write it, on all alike; no thing is for itself, and no class is a thing."""
    divided = [each for item in built for each in item.station.surfaces if each.divisions]
    text = " ".join(said.text for each in divided for said in each.said)
    written = {key: as_written(key, [text]) for key in dict.fromkeys(key for each in divided for key in each.divisions or {})}
    out = []
    for item in built:
        told = [_with_written_classes(each, written) for each in item.station.surfaces]
        classes = {key for each in told for key in each.divisions or {}}
        surfaces = [each for each in told if each.name not in classes or each.role != "route" or each.contact]
        out.append(replace(item, station=item.station.model_copy(update={"surfaces": tuple(surfaces)})))
    return out


def _with_written_classes(surface: SheetSurface, written: Mapping[str, str]) -> SheetSurface:
    if not surface.divisions:
        return surface
    head = head_of(surface.name)
    told = {written[key]: ruling for key, ruling in surface.divisions.items() if head_of(key) != head}
    ruling = surface.ruling if told else next(iter(surface.divisions.values()))
    return surface.model_copy(update={"divisions": told or None, "ruling": ruling})


def _said_two_ways(built: Sequence[Built], lines: Sequence[Line], owners: Sequence[int | None], division: Division) -> list[Built]:
    """The stations with what their sentences say two ways of a thing, or against an earlier station."""
    spans = [tuple(line for line in lines if owners[line.index] == k or a <= line.index < b) for k, (a, b) in enumerate(division.stations)]
    spoken = [Spoken(mine, item.station.name, item.station.surfaces) for mine, item in zip(spans, built, strict=True)]
    more: list[list[Clash]] = []
    for mine in spans:
        watched = shown_between([line.skeleton for line in mine])
        told = [line for at, line in enumerate(mine) if at not in watched]
        more.append([_clash(each) for each in two_ways(told)])
    for k, elsewhere in told_elsewhere(spoken):
        more[k].append(_clash(elsewhere))
    out = []
    for item, clashes in zip(built, more, strict=True):
        kept: list[Clash] = list(item.clashes)
        for clash in clashes:
            named = any(same_name(one, other) for each in kept for one in each.surfaces for other in clash.surfaces)
            if not named and not any(set(clash.said) & set(each.said[1:]) for each in kept):  # one sentence is asked about once
                kept.append(clash)
        out.append(replace(item, clashes=tuple(kept)))
    return out


def _clash(each: TwoWays) -> Clash:
    mention = each.mention
    what = f"{mention.part} of the {mention.name}" if mention.part else mention.name
    first, then = ("in play", "out of play") if each.first == "in" else ("out of play", "in play")
    return Clash(f"the {what} {_are(mention)} said to be {first}, and later {then}", each.said, (mention.name,))


def _are(mention: Mention) -> str:
    return "are" if (mention.part.endswith("s") if mention.part else mention.plural) else "is"


_SEEN = frozenset({"use", "there", "start"})
_SEEN_RULES = frozenset({"hands on x", "feet on x", "x with the hands"})


def _only_watched(line: Line) -> Line:
    """A line in which somebody is watched, without what she merely does: "there, foot on the floor" puts no floor in play."""
    acts = tuple(a for a in line.acts if a.kind not in _SEEN and a.rule.split(",")[0] not in _SEEN_RULES)
    return replace(line, acts=acts, limbs=tuple(x for x in line.limbs if x.how == "only"))


def _rules_things(line: Line) -> bool:
    return any(a.kind in ("in", "out") and a.weight >= 0.8 for a in line.acts)


def _end_of(own: Sequence[Line], lines: Sequence[Line], b: int) -> float:
    """A station lasts to the next one's first word; at the end of the walk to its own last."""
    if b < len(lines):
        return max(own[-1].end_s if own else 0.0, lines[b].start_s)
    return own[-1].end_s if own else lines[-1].end_s


_NEXT = re.compile(r"\b(?:for|on|at) the next (?:one|station|obstacle)\b")

_LAST = re.compile(r"\b(?:for|on|at) the (?:very )?(?:last|final) (?:one|station|obstacle)\b")


def _owners(lines: Sequence[Line], division: Division, named: Sequence[Naming | None]) -> list[int | None]:
    """The station that each line speaks about: the one it stands in, unless it says another; None for opening, closing and asides."""
    owners: list[int | None] = [None] * len(lines)
    for k, (a, b) in enumerate(division.stations):
        for i in range(a, b):
            owners[i] = k
    by_name = {n.name: k for k, n in enumerate(named) if n is not None}
    aside: int | None = None  # the station that a sentence before announced that it will speak of
    left = 0
    for i, line in enumerate(lines):
        here = owners[i]
        left -= 1
        meant = None
        if ASIDE.search(line.plain):
            meant = _spoken_of(line, by_name, here, len(named))
            if meant is None and here and _SAID_BEFORE.search(line.plain):
                meant = _where_named(line, lines, division, here)
        if meant is not None:
            owners[i] = meant
            aside, left = (None, 0) if _rules_things(line) else (meant, 2)
        elif aside is not None and left >= 0 and _rules_things(line):
            owners[i] = aside
        elif here is None and _rules_things(line) and (meant := _spoken_of(line, by_name, here, len(named))) is not None:
            owners[i] = meant
        elif _LAST.search(line.plain) and here is not None and here + 1 < len(division.stations) and _rules_things(line):
            owners[i] = len(division.stations) - 1
        elif _NEXT.search(line.plain) and here is not None and here + 1 < len(division.stations) and _rules_things(line):
            owners[i] = here + 1
    return owners


_OF_NUMBER = re.compile(r"\b(?:(?:to|on|at|with|for|about|in|by|back) )?(?:station|number|obstacle) (?:number )?(\w+)")


_SAID_BEFORE = re.compile(r"\b(?:should(?:'ve| have)|never (?:said|told|mentioned)|forgot(?:ten)?|back (?:on|at|with|to)|meant to)\b")


def _where_named(line: Line, lines: Sequence[Line], division: Division, here: int) -> int | None:
    """The nearest earlier station in which the first thing of a late remark was spoken of ("I should have said on the log, ...")."""
    heads = [mention.head for mention in line.mentions[:1]]
    now = {m.head for a, b in division.stations[here : here + 1] for one in lines[a:b] if one is not line for m in one.mentions}
    for head in heads:
        if head in now:
            continue
        for k in range(here - 1, -1, -1):
            a, b = division.stations[k]
            if any(m.head == head for one in lines[a:b] for m in one.mentions):
                return k
    return None


def _spoken_of(line: Line, by_name: dict[str, int], here: int | None, count: int) -> int | None:
    """The other station that a sentence names, by its listed name or its number."""
    for naming in line.names:
        if naming.listed and naming.score >= 0.86 and by_name.get(naming.name, here) != here:
            return by_name[naming.name]
    told = _OF_NUMBER.search(line.plain)
    number = NUMBER.get(told[1]) if told and ASIDE.search(line.plain) else None
    return number - 1 if number and number <= count and number - 1 != here else None


def _heard_wrong(named: Sequence[Naming | None]) -> list[Finding]:
    out = []
    for k, naming in enumerate(named):
        if naming is not None and naming.listed and re.sub(r"\W", "", naming.heard.lower()) != re.sub(r"\W", "", naming.name.lower()):
            about = (
                f"Station {k + 1}: heard “{naming.heard}”, drafted as “{naming.name}” from the names list. Check that it is the right one."
            )
            out.append(Finding(kind="name-heard-wrong", station=k + 1, severity="note", about=about))
    return out
