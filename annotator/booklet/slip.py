"""The change slip: what differs between two editions, in words and in pictures.

In: two booklets of one course. Out: the differences as values, an HTML page and a printed sheet. Rules are compared as the words that
readers saw, areas as the zones that the marks gave; nothing here looks at marks or surfaces.
"""

from __future__ import annotations

import difflib
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import shapely
from shapely.geometry.base import BaseGeometry

from annotator.booklet.ground import rings
from annotator.booklet.paper import booklet_data, refuse_missing_signs, render, size_of, words_data
from annotator.booklet.phrases import Phrase, Span, plain
from annotator.booklet.pictures import Pictures, Sizes, kept_jpeg, write_sizes
from annotator.booklet.site import STATIC, environment, page_name
from annotator.booklet.values import Booklet, Rule, Section, SectionKey, StationPage, StillPage
from annotator.booklet.wording import capital

SMALLEST_SHARE = 0.0002
"""A change of area below this share of the still is a redrawn line, not a rule: 184 square pixels at 1280 x 720."""
SLIVER_PX = 3.0
"""Strips thinner than twice this are redrawn edges; a hand draws within 2 to 4 pixels."""
SLIP_WIDTH_PX = 1280
PAGE, SHEET = "changes.html", "changes.pdf"


@dataclass(frozen=True)
class Change:
    """One rule that came, went or reads otherwise; a thing or a station that has another name, or a station another number.

    `section` is the heading it stands under. The spans are the same words with their languages, as in `Rule`.
    """

    kind: Literal["came", "went", "changed", "renamed", "moved"]
    section: str
    text: str
    was: str | None = None
    spans: tuple[Span, ...] = ()
    was_spans: tuple[Span, ...] = ()


@dataclass(frozen=True)
class AreaChange:
    """Where the area in play of one still came and went; for a division, or for everyone where `division` is ""."""

    still: str
    width: int
    height: int
    alt: str
    division: str
    came: BaseGeometry
    went: BaseGeometry


@dataclass(frozen=True)
class StationChanges:
    """What changed at one station, or (`number` None) in the course as a whole."""

    number: int | None
    title: str
    changes: tuple[Change, ...]
    areas: tuple[AreaChange, ...] = ()
    title_spans: tuple[Span, ...] = ()


@dataclass(frozen=True)
class Slip:
    """All that differs between two booklets, station by station; stations without a difference are not in it."""

    old_stamp: str
    new: Booklet
    stations: tuple[StationChanges, ...]


def compare(old: Booklet, new: Booklet) -> Slip:
    """What differs. Stations are told apart by their id, so that one that moved in the order is the same station."""
    before = {page.id: page for page in old.stations}
    found = [StationChanges(None, new.wording.say("slip-course"), tuple(_sections(old.sections, new.sections)))]
    for page in new.stations:
        found.append(_station(new, before.pop(page.id, None), page))
    for page in before.values():
        found.append(_station(new, page, None))
    return Slip(old.stamp_line, new, tuple(one for one in found if one.changes or one.areas))


def write_slip(
    old: Booklet,
    new: Booklet,
    pictures: Pictures,
    out_dir: Path,
    *,
    paper: str = "A5",
    address: str | None = None,
    pages_at: str | None = "",
    others: Sequence[tuple[Booklet, Booklet]] = (),
    cache: Path | None = None,
) -> tuple[Path, Path]:
    """Write `changes.html` (with what it needs beside it) and `changes.pdf`; returns both.

    The same in each other language stands in a folder of its code, as the booklet's pages do.

    Parameters
    ----------
    old, new : Booklet
        Of one course; the new one's words and stills are shown.
    pictures : Pictures
        Of the new booklet.
    paper : str
        As for the cards.
    address : str, optional
        Where the new booklet will be read; the page's links to stations are relative either way.
    pages_at : str
        The way from `out_dir` to the new booklet's pages, such as "../booklet/"; empty where they lie beside it, None where there are none.
    others : sequence of (Booklet, Booklet)
        The old and the new one in each further language.
    cache : Path, optional
        A folder in which pictures are kept in the sizes that are needed, as `write_site` does.
    """
    slip = compare(old, new)
    (out_dir / "pictures").mkdir(parents=True, exist_ok=True)
    for file in sorted(STATIC.iterdir()):
        shutil.copyfile(file, out_dir / file.name)
    sizes: dict[str, Sizes] = {}
    printed: dict[str, bytes] = {}
    for station in slip.stations:
        for number, area in enumerate(station.areas, start=1):
            if area.still not in sizes:
                sizes[area.still] = write_sizes(
                    pictures.jpeg(area.still), f"changed-{station.number}-{number}", out_dir / "pictures", cache
                )
                printed[area.still] = kept_jpeg(pictures.jpeg(area.still), SLIP_WIDTH_PX, "slip", cache)
    every = [(new, ""), *((each, f"{each.wording.language}/") for _, each in others)]
    slips = [slip, *(compare(before, after) for before, after in others)]
    for each, (_, folder) in zip(slips, every, strict=True):
        (out_dir / folder).mkdir(exist_ok=True)
        html = _page(each, folder, sizes, [told for told, _ in every], address, pages_at)
        (out_dir / folder / PAGE).write_text(html, encoding="utf-8", newline="\n")
        _write_pdf(each, printed, out_dir / folder / SHEET, paper)
    return out_dir / PAGE, out_dir / SHEET


def _page(slip: Slip, folder: str, sizes: dict[str, Sizes], every: Sequence[Booklet], address: str | None, pages_at: str | None) -> str:
    """The page of one language, in its folder ("" or "es/")."""
    new, up = slip.new, "../" if folder else ""
    to = None if pages_at is None else f"{up}{pages_at}{folder}"
    languages = [
        (one.wording.language, capital(one.wording.own_name), f"{up}{one.wording.language + '/' if at else ''}{PAGE}")
        for at, one in enumerate(every)
        if one.wording.language != new.wording.language
    ]
    return environment().get_template("slip.html").render(
        booklet=new, slip=slip, sizes=sizes, say=new.wording.say, svg=area_svg, up=up, languages=languages, was=_was, division=_division,
        links={} if to is None else {page.number: to + page_name(page) for page in new.stations},
        home=None if to is None else f"{to}index.html",
        address=None if address is None else f"{address.rstrip('/')}/{folder}{PAGE}",
    )  # fmt: skip


def _was(slip: Slip, one: Change) -> Phrase:
    """How a line read before, as it stands behind what it reads now: "was: Feet only"."""
    before = Phrase(one.was_spans) if one.was_spans else plain(one.was or "")
    return slip.new.wording.phrase("slip-was", rule=before)


def _division(slip: Slip, name: str) -> Phrase:
    """What a division is called in the slip's language."""
    return slip.new.division_names.get(name) or plain(capital(name))


def area_svg(area: AreaChange) -> str:
    """The area that came (solid, blue) and went (dashed, hatched) as an SVG to lay over the still."""
    wide = max(2.0, area.width / 250)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {area.width} {area.height}">',
        f'<path d="{_path(area.came)}" fill="#0072b2" fill-opacity="0.3" fill-rule="evenodd" stroke="#fff" stroke-width="{2 * wide:g}"/>',
        f'<path d="{_path(area.came)}" fill="none" stroke="#0072b2" stroke-width="{wide:g}"/>',
        f'<path d="{_path(area.went)}" fill="none" stroke="#1d2329" stroke-width="{2 * wide:g}"/>',
        *_hatch(area, wide),
        f'<path d="{_path(area.went)}" fill="none" stroke="#d55e00" stroke-width="{wide:g}" '
        f'stroke-dasharray="{2.4 * wide:g} {1.4 * wide:g}"/>',
        "</svg>",
    ]
    return "".join(parts)


def _hatch(area: AreaChange, wide: float) -> Iterator[str]:
    """Lines at 45 degrees within the area that went; cut here, since not every drawer of SVG knows clip paths."""
    left, top, right, bottom = area.went.bounds if not area.went.is_empty else (0.0, 0.0, 0.0, 0.0)
    step, height = 5 * wide, bottom - top
    start = left - height
    while not area.went.is_empty and start < right:
        cut = shapely.LineString([(start, bottom), (start + height, top)]).intersection(area.went)
        for line in getattr(cut, "geoms", [cut]):
            if line.geom_type == "LineString" and not line.is_empty:
                (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
                yield f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="#d55e00" stroke-width="{wide:g}"/>'
        start += step


def _path(shape: BaseGeometry) -> str:
    return "".join("M" + "L".join(f"{x:g} {y:g}" for x, y in ring) + "Z" for polygon in rings(shape) for ring in polygon)


def _station(new: Booklet, old_page: StationPage | None, page: StationPage | None) -> StationChanges:
    """One station on both sides; None on the side where it is not."""
    shown = page or old_page
    assert shown is not None
    if page is None:
        gone = Change("went", new.wording.say("stations"), shown.title, spans=shown.title_spans)
        return StationChanges(shown.number, shown.title, (gone,), title_spans=shown.title_spans)
    limbs = _rules(new.wording.say("station", number=shown.number), _limbs(old_page), _limbs(page))
    sections = _sections(old_page.sections if old_page else (), page.sections)
    changes = [*limbs, *_turned(tuple(sections))]
    if old_page and old_page.title != page.title:
        kind: Literal["renamed", "moved"] = "moved" if old_page.name == page.name else "renamed"
        named = Change(kind, new.wording.say("stations"), page.title, old_page.title, page.title_spans, old_page.title_spans)
        changes.insert(0, named)
    elif old_page is None:
        changes.insert(0, Change("came", new.wording.say("stations"), shown.title, spans=shown.title_spans))
    areas = tuple(_areas(old_page, page)) if old_page else ()
    return StationChanges(shown.number, shown.title, tuple(changes), areas, shown.title_spans)


def _limbs(page: StationPage | None) -> tuple[Rule, ...]:
    return (page.limbs,) if page else ()


def _sections(old: Sequence[Section], now: Sequence[Section]) -> Iterator[Change]:
    """The rules of both sides, heading by heading; what holds everywhere is told once, with the course."""
    before = {section.key: section for section in old}
    after = {section.key: section for section in now}
    course = any(section.key == "format" for section in (*old, *now))
    keys: list[SectionKey] = list(dict.fromkeys((*after, *before)))
    for key in keys:
        if key == "everywhere" and not course:
            continue
        title = (after.get(key) or before[key]).title
        yield from _rules(title, before[key].rules if key in before else (), after[key].rules if key in after else ())


def _rules(title: str, old: Sequence[Rule], now: Sequence[Rule]) -> Iterator[Change]:
    """Lines that came and went; a line about the same surface (or, like the run's format, about none) that reads otherwise changed.

    "Not said" is no rule: what a gap replaces is told as gone, what replaces it as new.
    """
    old, now = [rule for rule in old if not rule.gap], [rule for rule in now if not rule.gap]
    before, after = [rule.text for rule in old], [rule.text for rule in now]
    gone = [rule for rule in old if rule.text not in after]
    for rule in (rule for rule in now if rule.text not in before):
        about = (rule.surface, rule.division)
        same = next((one for one in gone if (one.surface, one.division) == about and (rule.surface or _alike(one, rule))), None)
        if same is None:
            yield Change("came", title, rule.text, spans=rule.spans)
        else:
            gone.remove(same)
            kind: Literal["renamed", "changed"] = "renamed" if _renamed(same, rule) else "changed"
            yield Change(kind, title, rule.text, same.text, rule.spans, same.spans)
    yield from (Change("went", title, rule.text, spans=rule.spans) for rule in gone)


def _renamed(was: Rule, now: Rule) -> bool:
    """Whether a line names the same thing otherwise: what stands before its part and its limbs differs."""
    names = [re.split(r"[,(]", rule.text)[0].strip() for rule in (was, now)]
    return now.plate is not None and now.plate == was.plate and now.division is None and names[0] != names[1]


def _alike(one: Rule, other: Rule) -> bool:
    return difflib.SequenceMatcher(None, one.text, other.text).ratio() > 0.4


def _turned(changes: Sequence[Change]) -> Iterator[Change]:
    """The same changes, but a line that left one heading for another (out of play, now in play) is one change, not two."""
    went = {one.text: one for one in changes if one.kind == "went"}
    came = {one.text for one in changes if one.kind == "came"}
    for one in changes:
        if one.kind == "came" and one.text in went:
            yield Change("changed", one.section, one.text, went[one.text].section, one.spans)
        elif not (one.kind == "went" and one.text in came):
            yield one


def _areas(old: StationPage, new: StationPage) -> Iterator[AreaChange]:
    """The stills that both have, and where their area in play differs by more than a redrawn edge."""
    before = {still.id: still for still in old.stills}
    for still in new.stills:
        was = before.get(still.id)
        if was is None or (was.width, was.height) != (still.width, still.height):
            continue
        for_everyone = _difference(was, still, "")
        for division in dict.fromkeys(("", *still.areas, *was.areas)):
            came, went = for_everyone if not division else _difference(was, still, division)
            same = division and came.equals(for_everyone[0]) and went.equals(for_everyone[1])
            if not same and not (came.is_empty and went.is_empty):
                yield AreaChange(still.id, still.width, still.height, still.alt, division, came, went)


def _difference(was: StillPage, now: StillPage, division: str) -> tuple[BaseGeometry, BaseGeometry]:
    before, after = (shapely.from_wkb(one.areas.get(division, one.areas[""])) for one in (was, now))
    frame = shapely.box(0, 0, now.width, now.height)
    least = SMALLEST_SHARE * now.width * now.height
    came, went = (_large(one.intersection(frame), least) for one in (after.difference(before), before.difference(after)))
    if not came.is_empty:
        came = _large(came.difference(_in_play_all_along(now, was, division)), least)
    if not went.is_empty:
        went = _large(went.difference(_in_play_all_along(was, now, division)), least)
    return came, went


def _in_play_all_along(marked: StillPage, bare: StillPage, division: str) -> BaseGeometry:
    """The area of what is in play in both and has a mark on one only: that it was marked, or its mark taken off, changes no rule."""
    told, known = (one.answers.get(division, one.answers[""]) for one in (marked, bare))
    rings = [rings for one in told["things"] if one["ruling"] == "in" and one["text"] in known["unmarked"] for rings in one["area"]]
    return shapely.union_all([shapely.Polygon(outline, holes) for outline, *holes in rings])


def _large(shape: BaseGeometry, least_px2: float) -> BaseGeometry:
    """The parts that are no slivers: opened by `SLIVER_PX` and not tiny."""
    opened = shape.buffer(-SLIVER_PX).buffer(SLIVER_PX, join_style="mitre").intersection(shape)
    parts: Iterable[BaseGeometry] = getattr(opened, "geoms", [opened])
    return shapely.union_all([part for part in parts if part.area >= least_px2])


def _write_pdf(slip: Slip, printed: Mapping[str, bytes], out: Path, paper: str) -> Path:
    booklet, say = slip.new, slip.new.wording.say
    width, height = size_of(paper)
    files: dict[str, bytes] = {}
    stations = []
    for station in slip.stations:
        areas = []
        for number, area in enumerate(station.areas, start=1):
            name = f"s{station.number}-{number}"
            files[f"{name}.jpg"] = printed[area.still]
            files[f"{name}.svg"] = area_svg(area).encode()
            told = say("slip-area", station=station.title)
            areas.append(
                {
                    "file": f"{name}.jpg", "overlay": f"{name}.svg", "alt": told, "width": area.width, "height": area.height,
                    "division": _words(_division(slip, area.division)), "came": not area.came.is_empty, "went": not area.went.is_empty,
                }
            )  # fmt: skip
        changes = [
            {
                "kind": one.kind,
                "label": say(f"slip-{one.kind}"),
                "section": say("slip-under", section=one.section),
                **words_data(one.text, one.spans),
                "was": None if one.was is None else _words(_was(slip, one)),
            }
            for one in station.changes
        ]
        title = words_data(station.title, station.title_spans)
        stations.append({"number": station.number, "name": title, "changes": changes, "areas": areas})
    head = say("slip-from", old=slip.old_stamp, new=booklet.stamp_line)
    refuse_missing_signs(
        booklet.title,
        [booklet.title, head, *(text for one in slip.stations for c in one.changes for text in (c.section, c.text, c.was or ""))],
    )
    data = {
        **booklet_data(booklet), "paper": {"width": width, "height": height}, "stations": stations, "head": head,
        "slip": say("slip"), "none": say("slip-none"), "came": say("slip-area-in"), "went": say("slip-area-out"),
    }  # fmt: skip
    when = None if booklet.stamp is None else int(booklet.stamp.at.timestamp())
    out.write_bytes(render("slip.typ", data, files, when))
    return out


def _words(phrase: Phrase) -> dict[str, Any]:
    return words_data(str(phrase), phrase.marked)
