"""The rules of one station, and of the course, as lines of words: a rule a line.

In: models of the course. Out: sections in reading order. Stills, page titles and stamps are pages.py; the words are wording.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from annotator.booklet.english import ENGLISH
from annotator.booklet.phrases import Phrase, named, plain
from annotator.booklet.values import Heard, Rule, Section
from annotator.booklet.wording import Wording
from annotator.course import BlanketRule, Clip, Contact, Course, Ruling, Said, Station, Surface, name_key, named_in
from annotator.marks import RuleItem, rule_items
from annotator.units import clock


@dataclass(frozen=True)
class Teller:
    """Tells rules in one language; `drafts` says whether what nobody agreed to is told as well.

    `spoken` is the language of the walk and of every name in it; `names` are those that staff translated (see `named_in`).
    """

    wording: Wording
    clips: tuple[Clip, ...] = ()
    drafts: bool = True
    spoken: str = "en"
    names: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, course: Course, wording: Wording, *, drafts: bool) -> Teller:
        """The teller of a course in that language."""
        foreign = wording.language != course.language
        return cls(wording, course.clips, drafts, course.language, named_in(course, wording.language) if foreign else {})

    def heard(self, said: Iterable[Said]) -> tuple[Heard, ...]:
        """The evidence with its moment in the walk and in the clip, in time order, each once."""
        return tuple(self._moment(one) for one in sorted(set(said), key=lambda one: (one.start, one.end, one.text)))

    def _moment(self, said: Said) -> Heard:
        clip = next((clip for clip in reversed(self.clips) if clip.start_s <= said.start < clip.start_s + clip.duration_s), None)
        number, at = (None, None) if clip is None else (clip.number, round(said.start - clip.start_s, 3))
        foreign = self.spoken if self.spoken != self.wording.language else None
        return Heard(said.start, clock(said.start), " ".join(said.text.split()), number, at, foreign)

    def touch(self, contact: Contact) -> str:
        """Limbs in the middle of a line: "hands only"."""
        return self.wording.say(f"touch:{' '.join(contact)}")

    def named(self, said: str) -> Phrase:
        """A name as said; where staff translated it, the translation leads and what was said stands behind it in brackets."""
        text = " ".join(said.split())
        if self.spoken == self.wording.language:
            return named(text)
        translation = self.names.get(name_key(text))
        foreign = named(text, self.spoken)
        return foreign if translation is None else self.wording.phrase("name-translated", name=named(translation), said=foreign)

    def thing(self, name: str, part: str | None, contact: Contact | None = None, optional: bool = False) -> Phrase:
        """A surface in words, as it stands inside a line: "blue boxes, tops (feet only)"."""
        phrase = self.wording.phrase
        told = phrase("thing-part", name=self.named(name), part=self.named(part)) if part and part.strip() else self.named(name)
        if optional:
            told = phrase("thing-optional", thing=told)
        return phrase("thing-touch", thing=told, touch=self.touch(contact)) if contact else told

    def item(self, item: RuleItem, ruling: Ruling) -> Phrase:
        """A thing that can be marked, with the limbs that hold for it where it is in play."""
        return self.thing(item.name, item.part, item.limbs if ruling == "in" else None)

    def ruled(self, item: RuleItem, ruling: Ruling) -> str:
        """What holds for it, in a line: "In play: swing rungs (hands only)"."""
        return self.wording.say(f"everywhere:{ruling}", thing=self.item(item, ruling))

    def gap(self, key: str) -> Rule:
        """A line that says that nothing was said."""
        return Rule(self.wording.say(key), gap=True)

    # one station

    def station(self, course: Course, station: Station) -> tuple[Section, ...]:
        """The sections of a station in reading order; empty ones that say nothing are left out."""
        surfaces = [one for one in station.surfaces if self.drafts or one.state == "accepted"]
        starts = [one for one in surfaces if one.role == "start" and one.ruling == "in"]
        finishes = [one for one in surfaces if one.role == "finish" and one.ruling == "in"]
        routes = [one for one in surfaces if one.role == "route" and one.ruling == "in"]
        outs = [one for one in surfaces if one.ruling == "out"]
        say = self.wording.say

        def line(one: Surface) -> Rule:
            contact = one.contact if one.contact != station.contact and one.ruling == "in" else None
            return self._rule(self.thing(one.name, one.part, contact, one.optional).capital(), one)

        sections = [
            Section("start", say("start"), tuple(line(one) for one in starts) or (self.gap("start-gap"),)),
            Section("in", say("in"), tuple(line(one) for one in routes) or (self.gap("in-gap"),)),
            Section("out", say("out"), tuple(line(one) for one in outs), say("out-note")),
            Section("finish", say("finish"), self._finish(finishes, line) or (self.gap("finish-gap"),)),
            Section("divisions", say("divisions"), tuple(self._differences(course.divisions, surfaces))),
            Section("shown", say("shown"), self._shown(station)),
            Section("everywhere", say("everywhere"), tuple(self._blanket_here(course, station)), say("everywhere-note")),
        ]
        return tuple(section for section in sections if section.rules or section.note)

    def limbs(self, station: Station) -> Rule:
        """The line that stands at the top of a station."""
        if station.contact is None:
            return self.gap("limbs-gap")
        return Rule(self.wording.say(f"limbs:{' '.join(station.contact)}"), draft=station.state == "draft", heard=self.heard(station.said))

    def _rule(self, told: Phrase, one: Surface | BlanketRule, ruling: Ruling | None = None, division: str | None = None) -> Rule:
        rule = Rule(str(told), ruling or one.ruling, one.state == "draft", surface=one.id, heard=self.heard(one.said))
        return replace(rule, division=division, spans=told.marked)

    def _finish(self, finishes: Sequence[Surface], line: Callable[[Surface], Rule]) -> tuple[Rule, ...]:
        """Each finish, then whether an athlete may land past it; named again only where there are several."""
        rules = []
        for one in finishes:
            rules.append(line(one))
            if one.overshoot is None and not self.drafts:
                continue
            told = plain(self.wording.say(f"overshoot:{one.overshoot or 'gap'}"))
            if len(finishes) > 1:
                told = self.wording.phrase("overshoot-of", thing=self.thing(one.name, one.part).capital(), overshoot=told)
            rules.append(Rule(str(told), draft=one.state == "draft", gap=one.overshoot is None, surface=one.id, spans=told.marked))
        return tuple(rules)

    def _shown(self, station: Station) -> tuple[Rule, ...]:
        if station.demonstration is None:
            return ()
        return (Rule(self.wording.say(f"shown:{station.demonstration}"), draft=station.state == "draft"),)

    def _differences(self, divisions: Sequence[str], items: Sequence[Surface] | Sequence[BlanketRule]) -> Iterable[Rule]:
        named = dict.fromkeys(divisions)
        for name in (*named, *sorted({name for one in items for name in one.divisions or {}} - set(named))):
            for one in items:
                ruling = (one.divisions or {}).get(name)
                if ruling is not None and ruling != one.ruling:
                    yield self._difference(name, ruling, one)

    def _difference(self, division: str, ruling: Ruling, one: Surface | BlanketRule) -> Rule:
        thing = self.thing(one.surface or "" if isinstance(one, BlanketRule) else one.name, one.part)
        told = self.wording.phrase(f"division:{ruling}", division=self.named(division), thing=thing)
        return self._rule(told, one, ruling, division)

    # what holds everywhere

    def accepted(self, rules: Iterable[BlanketRule]) -> list[BlanketRule]:
        """The blanket rules that are told: all in a draft, the accepted ones in an edition."""
        return [one for one in rules if self.drafts or one.state == "accepted"]

    def blanket(self, course: Course) -> tuple[Section, ...]:
        """What holds at every station."""
        told = self.accepted(course.blanket)
        rules = (*(rule for one in told for rule in self._blanket(one)), *self._differences(course.divisions, _surfaces(told)))
        return (Section("everywhere", self.wording.say("everywhere"), rules, self.wording.say("everywhere-note")),)

    def _blanket(self, one: BlanketRule) -> Iterable[Rule]:
        """`unnamed-out` is the note under the heading: it stands on every output, said or not."""
        if one.rule == "no-skip":
            yield self._rule(self.wording.phrase("no-skip", surface=self.named(one.surface or "")), one)
        elif one.rule == "surface" and one.ruling is not None:
            thing = self.thing(one.surface or "", one.part, one.contact if one.ruling == "in" else None)
            yield self._rule(self.wording.phrase(f"everywhere:{one.ruling}", thing=thing), one)

    def _blanket_here(self, course: Course, station: Station) -> Iterable[Rule]:
        """The blanket rules that hold at a station: all that the station itself does not rule otherwise on."""
        hold = {item.id for item in rule_items(course, station, drafts=self.drafts) if item.blanket}
        here = [one for number, one in enumerate(course.blanket, start=1) if one.rule != "surface" or (one.id or f"b{number}") in hold]
        told = self.accepted(here)
        for one in told:
            yield from self._blanket(one)
        yield from self._differences(course.divisions, _surfaces(told))

    # the course

    def format(self, course: Course, stations: int) -> Section:
        """How a run counts: in lines, gaps shown only in a draft."""
        rules = [Rule(self.wording.count("station-count", stations))]
        run = course.format
        heard = self.heard(run.said) if run else ()
        if run is not None and run.retries is not None:
            rules.append(Rule(self.wording.count("retries", run.retries), heard=heard))
        elif self.drafts:
            rules.append(self.gap("retries-gap"))
        if run is not None and run.ranking:
            told = self.wording.phrase("ranking", ranking=self._ranking(" ".join(run.ranking.split())))
            rules.append(Rule(str(told), heard=heard, spans=told.marked))
        elif self.drafts:
            rules.append(self.gap("ranking-gap"))
        return Section("format", self.wording.say("format"), tuple(rules))

    def _ranking(self, ranking: str) -> Phrase:
        """The rankings that a draft tells have words of ours in each language; others are as somebody wrote them."""
        own = f"ranking:{ranking}"
        return plain(self.wording.say(own)) if own in ENGLISH else self.named(ranking)

    def divisions(self, course: Course, stations: Sequence[Station]) -> tuple[Section, ...]:
        """Each division with where a rule differs for it: at every station, or at which."""

        def differs(items: Iterable[Surface | BlanketRule], name: str) -> bool:
            return any((one.divisions or {}).get(name, one.ruling) != one.ruling for one in items)

        rules = []
        for name in course.divisions:
            told_at = {station.number: [one for one in station.surfaces if self.drafts or one.state == "accepted"] for station in stations}
            numbers = [self.wording.say("station", number=number) for number, surfaces in told_at.items() if differs(surfaces, name)]
            everywhere = differs(_surfaces(self.accepted(course.blanket)), name)
            key = ("division-differs-there-too" if everywhere else "division-differs") if numbers else "division-same"
            key = "division-differs-everywhere" if everywhere and not numbers else key
            values = {"stations": self.wording.list(numbers), "everywhere": self.wording.say("everywhere")}
            told = self.wording.phrase(key, division=self.named(name).capital(), **values)
            rules.append(Rule(str(told), spans=told.marked))
        return (Section("division-list", self.wording.say("division-list"), tuple(rules)),) if rules else ()


def _surfaces(rules: Iterable[BlanketRule]) -> list[BlanketRule]:
    return [one for one in rules if one.rule == "surface" and one.ruling is not None]
